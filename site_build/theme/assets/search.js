/* Search over the whole handbook. The index is a script beside this one, fetched when the field is first used:
   so it works from a folder, where a page may load scripts but not read files. */
(function () {
  "use strict";

  var tell = window.handbookTell;

  var base = window.handbookParts.base, element = window.handbookParts.element;
  var MOST_SHOWN = 25, NEAR_WORDS = 40;
  /* Weight of a page of tables, which contains every word, relative to a method. */
  var PAGE = 0.6;
  var index = null;

  /* ---- Words, by the rules in the index ---- */

  function plain(text) {
    return text.toLowerCase().normalize("NFKD").replace(/\p{M}/gu, "")
      .replace(/\p{L}/gu, function (letter) { return index.letters[letter] || letter; });
  }

  function stem(word) {
    index.endings.forEach(function (group) {
      group.some(function (rule) {
        var ending = rule[0], left = word.length - ending.length;
        if (left < rule[2] || !word.endsWith(ending)) { return false; }
        word = word.slice(0, left) + rule[1];
        if (rule[3] && word.length > 3 && word.at(-1) === word.at(-2) && !index.doubled.includes(word.at(-1))) { word = word.slice(0, -1); }
        return true;
      });
    });
    return word;
  }

  /* ---- The index, prepared once ---- */

  function open(data) {
    index = data;
    index.spelling = data.words.split(" ");
    index.packed = data.postings.split(" ");
    index.byStem = new Map();
    index.spelling.forEach(function (word, number) { index.byStem.set(stem(word), number); });
    index.unpacked = [];
    index.values = new Map(Array.from(data.digits).map(function (letter, value) { return [letter, value]; }));
  }

  /* [entry, place, entry, place, ...] of one word */
  function postings(number) {
    if (index.unpacked[number]) { return index.unpacked[number]; }
    var found = [], value = 0, entry = 0, text = index.packed[number];
    for (var at = 0; at < text.length; at += 1) {
      var digit = index.values.get(text[at]);
      value = value * 32 + digit % 32;
      if (digit >= 32) {
        if (found.length % 2 === 0) { entry += value; found.push(entry); } else { found.push(value); }
        value = 0;
      }
    }
    index.unpacked[number] = found;
    return found;
  }

  function weight(place) {
    return place < index.places.length ? index.places[place][1] : index.weights[(place - index.places.length) % 2];
  }

  /* ---- The query: words, and figures with a unit ---- */

  var UNITS = [
    [/^(%|percent)$/, "%", 1, 0], [/^(°c|c|celsius)$/, "°C", 1, 0], [/^(°f|f|fahrenheit)$/, "°C", 5 / 9, -160 / 9],
    [/^mm$/, "mm", 1, 0], [/^cm$/, "mm", 10, 0], [/^(in|inch|inches|")$/, "mm", 25.4, 0],
    [/^(h|hr|hrs|hour|hours)$/, "h", 1, 0], [/^(min|minutes?)$/, "h", 1 / 60, 0], [/^(d|days?)$/, "h", 24, 0], [/^weeks?$/, "h", 168, 0]
  ];

  /* Words without information on the search. */
  var EMPTY = "a an and at by can do does for from have how i if in is it my of on or should the to what when with".split(" ");

  /* A weight of food in the query, such as "3 kg": the batch with which a found method is opened. */
  function batchOf(query) {
    var found = /(\d+(?:[.,]\d+)?)\s*(kg|g|lb|oz)\b/i.exec(query);
    return found ? found[1].replace(",", ".") + found[2].toLowerCase() : "";
  }

  /* Amounts of food or brine do not identify a method. */
  var AMOUNTS = /(\d+(?:[.,]\d+)?(?:\s*\/\s*\d+)?|[¼½¾])\s*(kg|g|lbs?|oz|l|ml|gal|gallons?|quarts?|qt|pints?|cups?|litres?|liters?)\b/gi;

  function parse(query) {
    var asked = [];
    query = query.replace(AMOUNTS, " ");
    var rest = query.toLowerCase().replace(/(\d+(?:[.,]\d+)?)\s*(%|°\s?[cf]\b|"|\p{L}+)?/gu, function (all, number, unit) {
      var value = parseFloat(number.replace(",", "."));
      var known = UNITS.find(function (each) { return each[0].test((unit || "").replace(/\s/g, "")); });
      if (known) { asked.push({ figure: value * known[2] + known[3], unit: known[1], said: all.trim() }); return " "; }
      asked.push({ figure: value, unit: "", said: number });
      return " " + (unit || "") + " ";
    });
    var words = plain(rest).match(/\p{L}+/gu) || [];
    words.forEach(function (word, number) {
      var isLast = number === words.length - 1 && /\p{L}$/u.test(query);
      if (word.length > 1 && (words.length === 1 || EMPTY.indexOf(word) < 0)) { asked.push({ word: word, stem: stem(word), isLast: isLast, said: word }); }
    });
    return asked;
  }

  /* Words of the index that match one word of the query, with a score: the same word, its beginning, then a misspelling. */
  function answers(asked) {
    var found = new Map();
    var same = index.byStem.get(asked.stem);
    if (same !== undefined) { found.set(same, index.spelling[same] === asked.word ? 1 : 0.95); }
    if (asked.word.length > 2 || asked.isLast) {
      for (var at = firstFrom(asked.word); at < index.spelling.length && index.spelling[at].startsWith(asked.word) && found.size < 200; at += 1) {
        if (!found.has(at)) { found.set(at, 0.4 + 0.5 * asked.word.length / index.spelling[at].length); }
      }
    }
    return found.size ? found : slips(asked);
  }

  function firstFrom(word) {
    var low = 0, high = index.spelling.length;
    while (low < high) {
      var middle = (low + high) >> 1;
      if (index.spelling[middle] < word) { low = middle + 1; } else { high = middle; }
    }
    return low;
  }

  function slips(asked) {
    var found = [], most = asked.word.length < 4 ? 0 : asked.word.length < 7 ? 1 : 2;
    if (!most) { return new Map(); }
    index.spelling.forEach(function (word, number) {
      if (word.length < asked.word.length - most || (!asked.isLast && word.length > asked.word.length + most)) { return; }
      var far = distance(asked.word, word, most, asked.isLast);
      if (far <= most) { found.push([number, (far === 1 ? 0.5 : 0.3) - 0.01 * Math.abs(word.length - asked.word.length)]); }
    });
    found.sort(function (one, other) { return other[1] - one[1]; });
    return new Map(found.slice(0, NEAR_WORDS));
  }

  /* Number of letters added, omitted, changed or swapped; for a word still being typed, relative to the beginning of the other. */
  function distance(one, other, most, isBeginning) {
    var before = null, row = [], next, least, at, column;
    for (column = 0; column <= other.length; column += 1) { row.push(column); }
    for (at = 1; at <= one.length; at += 1) {
      next = [at];
      least = at;
      for (column = 1; column <= other.length; column += 1) {
        var cost = one[at - 1] === other[column - 1] ? 0 : 1;
        var far = Math.min(row[column] + 1, next[column - 1] + 1, row[column - 1] + cost);
        if (at > 1 && column > 1 && one[at - 1] === other[column - 2] && one[at - 2] === other[column - 1]) { far = Math.min(far, before[column - 2] + 1); }
        next.push(far);
        if (far < least) { least = far; }
      }
      if (least > most) { return most + 1; }
      before = row;
      row = next;
    }
    return isBeginning ? Math.min.apply(null, row.slice(Math.max(1, one.length - most))) : row[other.length];
  }

  /* Entries with a word of the query: entry -> [score, place, number of the word, whether misspelt] */
  function holders(asked) {
    var found = new Map();
    answers(asked).forEach(function (quality, number) {
      var list = postings(number), rarity = Math.log(1 + 2 * index.entries.length / list.length);
      for (var at = 0; at < list.length; at += 2) {
        var score = quality * weight(list[at + 1]) * rarity, held = found.get(list[at]);
        if (!held) { found.set(list[at], { score: score, best: score, quality: quality, place: list[at + 1], word: number }); continue; }
        /* The reason shown is the word of the query, where it occurs; a rarer longer word may have a higher score. */
        held.score = Math.max(held.score, score);
        if (quality > held.quality || (quality === held.quality && score > held.best)) {
          held.best = score; held.quality = quality; held.place = list[at + 1]; held.word = number;
        }
      }
    });
    return found;
  }

  /* Entries with a figure near that of the query: the nearer the better, and better if another word of the query names it. */
  function figures(asked, words) {
    var found = new Map();
    index.entries.forEach(function (entry, number) {
      entry[6].forEach(function (figure) {
        if (asked.unit && figure[0] !== asked.unit) { return; }
        var away = Math.max(figure[1] - asked.figure, asked.figure - figure[2], 0);
        var room = figure[0] === "°C" ? 4 : Math.max(0.3 * asked.figure, 0.2);
        if (away > room) { return; }
        var score = (asked.unit ? 18 : 6) / (1 + Math.pow(4 * away / room, 2)), held = found.get(number);
        if (words.some(function (word) { return figure[3].toLowerCase().includes(word.word); })) { score *= 1.5; }
        if (!held || score > held.score) { found.set(number, { score: score, figure: figure }); }
      });
    });
    return found;
  }

  /* Best first: matches of the whole query before partial ones. */
  function find(query) {
    var asked = parse(query), words = asked.filter(function (each) { return each.word; });
    var found = new Map();
    if (!asked.length && batchOf(query)) {
      return index.entries.filter(function (entry) { return entry[2] !== "page"; }).map(function (entry) { return { entry: entry, score: 0, reasons: [], missing: [] }; });
    }
    asked.forEach(function (each, place) {
      (each.word ? holders(each) : figures(each, words)).forEach(function (held, number) {
        if (!found.has(number)) { found.set(number, { entry: index.entries[number], score: 0, reasons: [], missing: asked.map(function (one) { return one.word || one.unit ? one.said : ""; }) }); }
        var result = found.get(number);
        result.score += held.score * (result.entry[2] === "page" && (held.figure || held.place >= index.places.length) ? PAGE : 1);
        result.reasons.push(reason(index.entries[number], held));
        result.missing[place] = "";
      });
    });
    var results = Array.from(found.values());
    results.forEach(function (result) { result.missing = result.missing.filter(Boolean); result.part = partOf(result); });
    var least = Math.min.apply(null, results.map(function (result) { return result.missing.length; }));
    return results.filter(function (result) { return result.missing.length === least; }).sort(function (one, other) {
      return other.score - one.score || one.entry[1].localeCompare(other.entry[1]);
    });
  }

  /* The part of the page that matches all words, or all words not in the page's name and kind; "": the page itself. */
  function partOf(result) {
    var open = result.reasons.filter(function (each) { return each.anchor; });
    var isOne = open.length === result.reasons.length && open.every(function (each) { return each.anchor === open[0].anchor; });
    return isOne && open.length ? open[0].anchor : partOfTitle(result, open);
  }
  function partOfTitle(result, open) {
    var found = open.length && result.entry[5].find(function (section) {
      var stems = (plain(section[1]).match(/\p{L}+/gu) || []).map(stem);
      return open.every(function (each) { return stems.indexOf(stem(plain(each.said))) >= 0; });
    });
    return found ? found[0] : "";
  }

  function reason(entry, held) {
    if (held.figure) { return { place: "", said: held.figure[3], anchor: held.figure[4] }; }
    var said = index.spelling[held.word], fixed = index.places[held.place];
    if (fixed) { return { place: fixed[0], said: said, anchor: fixed[2] }; }
    var section = entry[5][Math.floor((held.place - index.places.length) / 2)];
    return { place: section[1] ? tell("under “%(section)s”", { section: section[1] }) : tell("in the text"), said: said, anchor: section[0] };
  }

  /* ---- The slip of results under the masthead ---- */

  /* A part of a further page is named with its page: "why#off" of x.html is in x.why.html. */
  function address(entry, anchor, batch) {
    var parts = anchor.split("#"), layer = parts.length === 2 ? "." + parts[0] : "", id = parts[parts.length - 1];
    return base + entry[0].replace(/\.html$/, layer + ".html") + (batch && entry[2] !== "page" ? "?batch=" + batch : "") + (id ? "#" + id : "");
  }

  function row(result, batch) {
    var entry = result.entry, item = element("li", "find-result"), link = element("a", "find-link", entry[1]);
    link.href = address(entry, result.part || "", batch);
    item.append(link, element("span", "find-kind", [entry[2], entry[3]].filter(Boolean).join(" · ")));
    if (entry[4]) { item.append(element("p", "find-summary", entry[4])); }
    var why = element("ul", "find-why");
    result.reasons.forEach(function (each) {
      var line = element("li"), words = element(each.anchor ? "a" : "span");
      if (each.anchor) { words.href = address(entry, each.anchor, batch); }
      words.append(each.place ? each.place + ": " : "", element("mark", "", each.said));
      line.append(words);
      why.append(line);
    });
    if (result.missing.length) { why.append(element("li", "find-missing", tell("not found here: %(words)s", { words: result.missing.join(", ") }))); }
    item.append(why);
    return item;
  }

  function fit(form) {
    var field = form.querySelector("input"), slip = document.getElementById("find-slip");
    var list = slip.querySelector("ol"), count = slip.querySelector("[role=status]");
    var asked = false;

    function show() {
      var query = field.value.trim();
      slip.hidden = !query;
      if (!query) { list.replaceChildren(); count.textContent = ""; return; }
      if (!index) { count.textContent = tell("Opening the index"); return; }
      var results = find(query);
      var batch = batchOf(query);
      list.replaceChildren.apply(list, results.slice(0, MOST_SHOWN).map(function (each) { return row(each, batch); }));
      count.textContent = results.length === 0 ? tell("Nothing found. The list of methods has filters.") :
        results.length > MOST_SHOWN ? tell("%(count)s found, the first %(shown)s shown", { count: results.length, shown: MOST_SHOWN }) : tell("%(count)s found", { count: results.length });
    }
    function fetchIndex() {
      if (asked) { return; }
      asked = true;
      var script = document.createElement("script");
      script.src = base + "assets/search_index.js";
      script.onload = function () { open(window.handbookIndex); show(); };
      script.onerror = function () { asked = false; slip.hidden = false; count.textContent = tell("The index is missing from this copy. The list of methods has filters."); };
      document.head.append(script);
    }
    /* Arrow keys walk through field and results; Escape empties the field. */
    function walk(event) {
      var stops = [field].concat(Array.from(list.querySelectorAll(".find-link"))), at = stops.indexOf(document.activeElement);
      if (event.key === "Escape" && !slip.hidden) { field.value = ""; show(); field.focus(); event.preventDefault(); }
      if (at < 0 || (event.key !== "ArrowDown" && event.key !== "ArrowUp")) { return; }
      var next = stops[at + (event.key === "ArrowDown" ? 1 : -1)];
      if (next) { next.focus(); event.preventDefault(); }
    }
    field.addEventListener("focus", fetchIndex);
    form.addEventListener("pointerenter", fetchIndex);
    field.addEventListener("input", function () { fetchIndex(); show(); });
    form.addEventListener("submit", function (event) {
      event.preventDefault();
      var first = list.querySelector(".find-link");
      if (first) { first.click(); }
    });
    form.addEventListener("keydown", walk);
    slip.addEventListener("keydown", walk);
    if (field.value) { fetchIndex(); }
  }

  Array.prototype.forEach.call(document.querySelectorAll("form[data-find]"), fit);
  window.handbookSearch = { open: open, find: find, plain: plain, stem: stem };
}());
