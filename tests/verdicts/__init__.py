"""The verdict table: method pages with the verdict that a process authority gives, and the document behind it.

Each family of food has a file here, ``<family>.yml``. ``documents.yml`` holds every printed limit that a case rests on,
with its source, section and how it is known: read, second-hand, from memory or common practice. ``parts.yml`` holds
steps that many pages share. Figures are copied from the documents; nothing outside this folder is read.

How to add a case
-----------------
Write it under ``cases`` of its family's file. All values are text, as on a page::

    sausage-smoked-cool:             # id, used once in the whole table
      title: Smoked sausage at 63 °C
      hazard: cooking                # one of HAZARDS in cases.py
      verdict: stop                  # stop: not published. act: published, and told to do something. clear: neither
      finds: [core, "160 °F"]        # one of these words stands in the decisive finding
      why: 63 °C is the limit of whole cuts; minced meat needs 71 °C.
      by: [fsis-chart-mince]         # ids in documents.yml
      audience: home                 # home, retail or commercial
      place: United States           # left out: none named
      base: smoked sausage           # a page under ``bases`` of this file or another case's id
      page:                          # what differs from the base, key by key
        steps: {cook: {core: 63 °C}, chill: left out}

``left out`` takes a key away. A step with ``before: NAME`` is put there, one with ``part: NAME`` begins as that part of
``parts.yml``; other new steps come last. ``saltings`` and ``glazes`` are mappings of name to mixture with ``items`` of
ingredient to amount; the short names of ingredients are in pages.py. A case that stops is also rewritten three ways
(rewrite.py), and the verdict must stay:

``names``      other names of kind, stages and saltings.
``split``      every salting, or a step, in two with the same totals. ``split: saltings`` or a step's name says which.
``facts``      facts left out that show the danger. ``leave_out: [keeping.temperature, steps.*.core]`` says which.

A rewriting that cannot apply is named with its reason: ``cannot: {split: one instant, nothing to split}``.
``fault: yes`` says that the page may also be refused as a fault of the page that holds one of the words.
For ``clear`` the words of ``about`` are looked for in rule, topic and title of acts; no such act may stand.

``python -m tests.verdicts.judge_table`` prints what the engine says of each page.
"""
