/* Search over the whole handbook. The index is a script beside this one, fetched when the field is first used:
   so it works from a folder, where a page may load scripts but not read files. */
(function () {
  "use strict";

  const tell = window.handbookTell;

  const base = window.handbookParts.base, element = window.handbookParts.element;
  const MOST_SHOWN = 25, NEAR_WORDS = 40;
  /* Weight of a page of tables, which contains every word, relative to a method. */
  const PAGE = 0.6;
  let index = null;

  /* ---- Words, by the rules in the index ---- */

  function plain(text) {
    return text.toLowerCase().normalize("NFKD").replace(/\p{M}/gu, "")
      .replace(/\p{L}/gu, (letter) => index.letters[letter] || letter);
  }

  function stem(word) {
    index.endings.forEach((group) => {
      group.some((rule) => {
        const ending = rule[0], left = word.length - ending.length;
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
    index.spelling.forEach((word, number) => { index.byStem.set(stem(word), number); });
    index.units = new Map(Object.entries(data.units));
    index.unpacked = [];
    index.values = new Map([...data.digits].map((letter, value) => [letter, value]));
  }

  /* [entry, place, entry, place, ...] of one word */
  function postings(number) {
    if (index.unpacked[number]) { return index.unpacked[number]; }
    const found = [];
    let value = 0, entry = 0;
    for (const letter of index.packed[number]) {
      const digit = index.values.get(letter);
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

  /* Words without information on the search. */
  const EMPTY = "a an and at by can do does for from have how i if in is it my of on or should the to what when with".split(" ");

  /* A weight of food in the query, such as "3 kg": the batch with which a found method is opened. */
  function batchOf(query) {
    const found = /(\d+(?:[.,]\d+)?)\s*(kg|g|lb|oz)\b/i.exec(query);
    return found ? found[1].replace(",", ".") + found[2].toLowerCase() : "";
  }

  /* Amounts of food or brine do not identify a method. */
  const AMOUNTS = /(\d+(?:[.,]\d+)?(?:\s*\/\s*\d+)?|[¼½¾])\s*(kg|g|lbs?|oz|l|ml|gal|gallons?|quarts?|qt|pints?|cups?|litres?|liters?)\b/gi;

  function parse(query) {
    const asked = [];
    query = query.replace(AMOUNTS, " ");
    const rest = query.toLowerCase().replace(/(\d+(?:[.,]\d+)?)\s*(%|°\s?[cf]\b|"|\p{L}+)?/gu, (all, number, unit) => {
      const value = parseFloat(number.replace(",", "."));
      const known = index.units.get((unit || "").replace(/\s/g, ""));
      if (known) { asked.push({ figure: value * known[1] + known[2], unit: known[0], said: all.trim() }); return " "; }
      asked.push({ figure: value, unit: "", said: number });
      return " " + (unit || "") + " ";
    });
    const words = plain(rest).match(/\p{L}+/gu) || [];
    words.forEach((word, number) => {
      const isLast = number === words.length - 1 && /\p{L}$/u.test(query);
      if (word.length > 1 && (words.length === 1 || !EMPTY.includes(word))) { asked.push({ word, stem: stem(word), isLast, said: word }); }
    });
    return asked;
  }

  /* Words of the index that match one word of the query, with a score: the same word, its beginning, then a misspelling. */
  function answers(asked) {
    const found = new Map();
    const same = index.byStem.get(asked.stem);
    if (same !== undefined) { found.set(same, index.spelling[same] === asked.word ? 1 : 0.95); }
    if (asked.word.length > 2 || asked.isLast) {
      for (let at = firstFrom(asked.word); at < index.spelling.length && index.spelling[at].startsWith(asked.word) && found.size < 200; at += 1) {
        if (!found.has(at)) { found.set(at, 0.4 + 0.5 * asked.word.length / index.spelling[at].length); }
      }
    }
    return found.size ? found : slips(asked);
  }

  function firstFrom(word) {
    let low = 0, high = index.spelling.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (index.spelling[middle] < word) { low = middle + 1; } else { high = middle; }
    }
    return low;
  }

  function slips(asked) {
    const found = [], most = asked.word.length < 4 ? 0 : asked.word.length < 7 ? 1 : 2;
    if (!most) { return new Map(); }
    index.spelling.forEach((word, number) => {
      if (word.length < asked.word.length - most || (!asked.isLast && word.length > asked.word.length + most)) { return; }
      const far = distance(asked.word, word, most, asked.isLast);
      if (far <= most) { found.push([number, (far === 1 ? 0.5 : 0.3) - 0.01 * Math.abs(word.length - asked.word.length)]); }
    });
    found.sort((one, other) => other[1] - one[1]);
    return new Map(found.slice(0, NEAR_WORDS));
  }

  /* Number of letters added, omitted, changed or swapped; for a word still being typed, relative to the beginning of the other. */
  function distance(one, other, most, isBeginning) {
    let before = null, row = [...Array(other.length + 1).keys()];
    for (let at = 1; at <= one.length; at += 1) {
      const next = [at];
      for (let column = 1; column <= other.length; column += 1) {
        const cost = one[at - 1] === other[column - 1] ? 0 : 1;
        let far = Math.min(row[column] + 1, next[column - 1] + 1, row[column - 1] + cost);
        if (at > 1 && column > 1 && one[at - 1] === other[column - 2] && one[at - 2] === other[column - 1]) { far = Math.min(far, before[column - 2] + 1); }
        next.push(far);
      }
      if (Math.min(...next) > most) { return most + 1; }
      before = row;
      row = next;
    }
    return isBeginning ? Math.min(...row.slice(Math.max(1, one.length - most))) : row[other.length];
  }

  /* Entries with a word of the query: entry -> [score, place, number of the word, whether misspelt] */
  function holders(asked) {
    const found = new Map();
    answers(asked).forEach((quality, number) => {
      const list = postings(number), rarity = Math.log(1 + 2 * index.entries.length / list.length);
      for (let at = 0; at < list.length; at += 2) {
        const score = quality * weight(list[at + 1]) * rarity, held = found.get(list[at]);
        if (!held) { found.set(list[at], { score, best: score, quality, place: list[at + 1], word: number }); continue; }
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
    const found = new Map();
    index.entries.forEach((entry, number) => {
      entry[6].forEach((figure) => {
        if (asked.unit && figure[0] !== asked.unit) { return; }
        const away = Math.max(figure[1] - asked.figure, asked.figure - figure[2], 0);
        const room = figure[0] === "°C" ? 4 : Math.max(0.3 * asked.figure, 0.2);
        if (away > room) { return; }
        const isNamed = words.some((word) => figure[3].toLowerCase().includes(word.word)), held = found.get(number);
        const score = (isNamed ? 1.5 : 1) * (asked.unit ? 18 : 6) / (1 + Math.pow(4 * away / room, 2));
        if (!held || score > held.score) { found.set(number, { score, figure }); }
      });
    });
    return found;
  }

  /* Best first: matches of the whole query before partial ones. */
  function find(query) {
    const asked = parse(query), words = asked.filter((each) => each.word);
    const found = new Map();
    if (!asked.length && batchOf(query)) {
      return index.entries.filter((entry) => entry[2] !== "page").map((entry) => ({ entry, score: 0, reasons: [], missing: [] }));
    }
    asked.forEach((each, place) => {
      (each.word ? holders(each) : figures(each, words)).forEach((held, number) => {
        if (!found.has(number)) { found.set(number, { entry: index.entries[number], score: 0, reasons: [], missing: asked.map((one) => one.word || one.unit ? one.said : "") }); }
        const result = found.get(number);
        result.score += held.score * (result.entry[2] === "page" && (held.figure || held.place >= index.places.length) ? PAGE : 1);
        result.reasons.push(reason(index.entries[number], held));
        result.missing[place] = "";
      });
    });
    const results = [...found.values()];
    results.forEach((result) => { result.missing = result.missing.filter(Boolean); result.part = partOf(result); });
    const least = Math.min(...results.map((result) => result.missing.length));
    return results.filter((result) => result.missing.length === least).sort((one, other) => other.score - one.score || one.entry[1].localeCompare(other.entry[1]));
  }

  /* The part of the page that matches all words, or all words not in the page's name and kind; "": the page itself. */
  function partOf(result) {
    const open = result.reasons.filter((each) => each.anchor);
    const isOne = open.length === result.reasons.length && open.every((each) => each.anchor === open[0].anchor);
    return isOne && open.length ? open[0].anchor : partOfTitle(result, open);
  }
  function partOfTitle(result, open) {
    const found = open.length && result.entry[5].find((section) => {
      const stems = (plain(section[1]).match(/\p{L}+/gu) || []).map(stem);
      return open.every((each) => stems.includes(stem(plain(each.said))));
    });
    return found ? found[0] : "";
  }

  function reason(entry, held) {
    if (held.figure) { return { place: "", said: held.figure[3], anchor: held.figure[4] }; }
    const said = index.spelling[held.word], fixed = index.places[held.place];
    if (fixed) { return { place: fixed[0], said, anchor: fixed[2] }; }
    const section = entry[5][Math.floor((held.place - index.places.length) / 2)];
    return { place: section[1] ? tell("under “%(section)s”", { section: section[1] }) : tell("in the text"), said, anchor: section[0] };
  }

  /* ---- The slip of results under the masthead ---- */

  /* A part of a further page is named with its page: "why#off" of x.html is in x.why.html. */
  function address(entry, anchor, batch) {
    const parts = anchor.split("#"), layer = parts.length === 2 ? "." + parts[0] : "", id = parts[parts.length - 1];
    return base + entry[0].replace(/\.html$/, layer + ".html") + (batch && entry[2] !== "page" ? "?batch=" + batch : "") + (id ? "#" + id : "");
  }

  function row(result, batch) {
    const entry = result.entry, item = element("li", "find-result",
      element("a", { class: "find-link", href: address(entry, result.part || "", batch) }, entry[1]),
      element("span", "find-kind", [entry[2], entry[3]].filter(Boolean).join(" · ")));
    if (entry[4]) { item.append(element("p", "find-summary", entry[4])); }
    const why = element("ul", "find-why", ...result.reasons.map((each) => {
      const words = [each.place ? each.place + ": " : "", element("mark", "", each.said)];
      return element("li", "", each.anchor ? element("a", { href: address(entry, each.anchor, batch) }, ...words) : element("span", "", ...words));
    }));
    if (result.missing.length) { why.append(element("li", "find-missing", tell("not found here: %(words)s", { words: result.missing.join(", ") }))); }
    item.append(why);
    return item;
  }

  function fit(form) {
    const field = form.querySelector("input"), slip = document.getElementById("find-slip");
    const list = slip.querySelector("ol"), count = slip.querySelector("[role=status]");
    let asked = false;

    function show() {
      const query = field.value.trim();
      slip.hidden = !query;
      if (!query) { list.replaceChildren(); count.textContent = ""; return; }
      if (!index) { count.textContent = tell("Opening the index"); return; }
      const results = find(query);
      const batch = batchOf(query);
      list.replaceChildren(...results.slice(0, MOST_SHOWN).map((each) => row(each, batch)));
      count.textContent = results.length === 0 ? tell("Nothing found. The list of methods has filters.") :
        results.length > MOST_SHOWN ? tell("%(count)s found, the first %(shown)s shown", { count: results.length, shown: MOST_SHOWN }) : tell("%(count)s found", { count: results.length });
    }
    function fetchIndex() {
      if (asked) { return; }
      asked = true;
      const script = document.createElement("script");
      script.src = base + "assets/search_index.js";
      script.onload = () => { open(window.handbookIndex); show(); };
      script.onerror = () => { asked = false; slip.hidden = false; count.textContent = tell("The index is missing from this copy. The list of methods has filters."); };
      document.head.append(script);
    }
    /* Arrow keys walk through field and results; Escape empties the field. */
    function walk(event) {
      const stops = [field, ...list.querySelectorAll(".find-link")], at = stops.indexOf(document.activeElement);
      if (event.key === "Escape" && !slip.hidden) { field.value = ""; show(); field.focus(); event.preventDefault(); }
      if (at < 0 || (event.key !== "ArrowDown" && event.key !== "ArrowUp")) { return; }
      const next = stops[at + (event.key === "ArrowDown" ? 1 : -1)];
      if (next) { next.focus(); event.preventDefault(); }
    }
    field.addEventListener("focus", fetchIndex);
    form.addEventListener("pointerenter", fetchIndex);
    field.addEventListener("input", () => { fetchIndex(); show(); });
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      const first = list.querySelector(".find-link");
      if (first) { first.click(); }
    });
    form.addEventListener("keydown", walk);
    slip.addEventListener("keydown", walk);
    if (field.value) { fetchIndex(); }
  }

  document.querySelectorAll("form[data-find]").forEach(fit);
  window.handbookSearch = { open, find, plain, stem };
}());
