"""Ids that the author's words must not use: those of the page's frame, and those that scripts look up.

A browser gives a script the first element with an id, so an author's element could replace a computed part.
"""

#: Ids on every page: site_build/theme.
FRAME_IDS = frozenset(["find-field", "find-slip", "sheet", "sheets"])
#: Ids on method pages: those that scripts look up, and that of the history, which is made later.
METHOD_IDS = frozenset(
    {"bar", "batch", "batch-form", "batch-status", "further-words", "history", "history-cap", "history-h", "kitchen"}
    | {"method-data", "need", "plan-cap", "plan-form", "plan-status", "plan-words", "running", "standing", "thick-cap"}
)
