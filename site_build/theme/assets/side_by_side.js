/* Two methods in one table. The address keeps the choice (#one=…&other=…), so that it can be shared. */
(function () {
  "use strict";

  var tell = window.handbookTell;

  var form = document.querySelector("form[data-side-by-side]"), place = document.querySelector("[data-side-by-side-table]");
  var methods = window.handbookMethods;
  if (!form || !methods || methods.length === 0) { return; }

  function element(name, attributes) {
    var made = document.createElement(name);
    Object.keys(attributes || {}).forEach(function (key) { made.setAttribute(key, attributes[key]); });
    Array.prototype.slice.call(arguments, 2).forEach(function (each) {
      if (typeof each === "string") { made.append.apply(made, tell.nodes(each)); } else { made.append(each); }
    });
    return made;
  }

  function heading(name) { return element("tr", { class: "group" }, element("th", { scope: "rowgroup", colspan: "3" }, name)); }

  function row(name, one, other) {
    var made = element("tr", {}, element("th", { scope: "row" }, name), element("td", {}, one), element("td", {}, other));
    if (one === other) {
      made.setAttribute("data-alike", "");
      made.hidden = one === "–";
      made.firstChild.append(element("span", { class: "row-note" }, tell("alike")));
    }
    return made;
  }

  function groupRows(one, other) {
    return one.groups.map(function (group, at) {
      return element.apply(null, ["tbody", {}, heading(group[0])].concat(group[1].map(function (pair, number) {
        return row(pair[0], pair[1], other.groups[at][1][number][1]);
      })));
    });
  }

  function ingredientRows(one, other) {
    var first = new Map(one.per_kg), second = new Map(other.per_kg);
    var names = Array.from(new Set(Array.from(first.keys()).concat(Array.from(second.keys()))));
    return element.apply(null, ["tbody", {}, heading(tell("For 1 kg of food"))].concat(names.map(function (name) {
      return row(name, first.get(name) || "–", second.get(name) || "–");
    })));
  }

  function picture(method) {
    return element("figure", {}, element("img", { src: method.picture, alt: tell("Timing of %(title)s", { title: method.title }).replace(/[\ufdd0\ufdd1]/g, ""), width: "1200", height: "630" }),
      element("figcaption", {}, method.title));
  }

  function show() {
    var one = methods[form.elements.one.selectedIndex], other = methods[form.elements.other.selectedIndex];
    var head = element("thead", {}, element("tr", {}, element("th", { scope: "col" }, tell("Figure")),
      element("th", { scope: "col" }, element("a", { href: one.url }, one.title)), element("th", { scope: "col" }, element("a", { href: other.url }, other.title))));
    var table = element.apply(null, ["table", { class: "data compact both-table" }, element("caption", { id: "both" }, tell("%(one)s and %(other)s", { one: one.title, other: other.title })), head]
      .concat(groupRows(one, other), [ingredientRows(one, other)]));
    if (form.elements.differing.checked) { table.setAttribute("data-only-differing", ""); }
    place.replaceChildren(element("div", { class: "side-by-side-pictures" }, picture(one), picture(other)),
      element("div", { class: "table-region", role: "region", "aria-labelledby": "both", tabindex: "0" }, table));
  }

  function read() {
    var asked = new URLSearchParams(location.hash.slice(1));
    function number(name, otherwise) { return Math.max(methods.findIndex(function (each) { return each.name === asked.get(name); }), otherwise); }
    form.elements.one.selectedIndex = number("one", 0);
    form.elements.other.selectedIndex = number("other", asked.get("one") === methods[methods.length > 1 ? 1 : 0].name ? 0 : Math.min(1, methods.length - 1));
    show();
  }

  ["one", "other"].forEach(function (name) {
    form.elements[name].append.apply(form.elements[name], methods.map(function (each) { return element("option", { value: each.name }, each.title); }));
  });
  form.addEventListener("input", function () {
    history.replaceState(null, "", "#" + new URLSearchParams({ one: form.elements.one.value, other: form.elements.other.value }));
    show();
  });
  window.addEventListener("hashchange", read);
  form.addEventListener("submit", function (event) { event.preventDefault(); });
  form.hidden = false;
  read();
}());
