/* Two methods in one table. The address keeps the choice (#one=…&other=…), so that it can be shared. */
(function () {
  "use strict";

  const tell = window.handbookTell;

  const form = document.querySelector("form[data-side-by-side]"), place = document.querySelector("[data-side-by-side-table]");
  const methods = window.handbookMethods;
  if (!form || !methods || methods.length === 0) { return; }

  /* Text is marked with its language. */
  function element(name, about, ...inside) {
    return window.handbookParts.element(name, about, ...inside.flatMap((each) => typeof each === "string" ? tell.nodes(each) : each));
  }

  function row(name, one, other) {
    const made = element("tr", "", element("th", { scope: "row" }, name), element("td", "", one), element("td", "", other));
    if (one === other) {
      made.setAttribute("data-alike", "");
      made.hidden = one === "–";
      made.firstChild.append(element("span", "row-note", tell("alike")));
    }
    return made;
  }

  function group(name, rows) {
    return element("tbody", "", element("tr", "group", element("th", { scope: "rowgroup", colspan: "3" }, name)), ...rows);
  }

  function groupRows(one, other) {
    return one.groups.map(([name, pairs], at) => group(name, pairs.map((pair, number) => row(pair[0], pair[1], other.groups[at][1][number][1]))));
  }

  function ingredientRows(one, other) {
    const first = new Map(one.per_kg), second = new Map(other.per_kg);
    const names = [...new Set([...first.keys(), ...second.keys()])];
    return group(tell("For 1 kg of food"), names.map((name) => row(name, first.get(name) || "–", second.get(name) || "–")));
  }

  function picture(method) {
    return element("figure", "", element("img", { src: method.picture, alt: tell("Timing of %(title)s", { title: method.title }).replace(/[\ufdd0\ufdd1]/g, ""), width: "1200", height: "630" }),
      element("figcaption", "", method.title));
  }

  function show() {
    const one = methods[form.elements.one.selectedIndex], other = methods[form.elements.other.selectedIndex];
    const head = element("thead", "", element("tr", "", element("th", { scope: "col" }, tell("Figure")),
      element("th", { scope: "col" }, element("a", { href: one.url }, one.title)), element("th", { scope: "col" }, element("a", { href: other.url }, other.title))));
    const caption = element("caption", { id: "both" }, tell("%(one)s and %(other)s", { one: one.title, other: other.title }));
    const table = element("table", "data compact both-table", caption, head, ...groupRows(one, other), ingredientRows(one, other));
    if (form.elements.differing.checked) { table.setAttribute("data-only-differing", ""); }
    place.replaceChildren(element("div", "side-by-side-pictures", picture(one), picture(other)),
      element("div", { class: "table-region", role: "region", "aria-labelledby": "both", tabindex: "0" }, table));
  }

  function read() {
    const asked = new URLSearchParams(location.hash.slice(1));
    function number(name, otherwise) { return Math.max(methods.findIndex((each) => each.name === asked.get(name)), otherwise); }
    form.elements.one.selectedIndex = number("one", 0);
    form.elements.other.selectedIndex = number("other", asked.get("one") === methods[methods.length > 1 ? 1 : 0].name ? 0 : Math.min(1, methods.length - 1));
    show();
  }

  ["one", "other"].forEach((name) => {
    form.elements[name].append(...methods.map((each) => element("option", { value: each.name }, each.title)));
  });
  form.addEventListener("input", () => {
    history.replaceState(null, "", "#" + new URLSearchParams({ one: form.elements.one.value, other: form.elements.other.value }));
    show();
  });
  window.addEventListener("hashchange", read);
  form.addEventListener("submit", (event) => { event.preventDefault(); });
  form.hidden = false;
  read();
}());
