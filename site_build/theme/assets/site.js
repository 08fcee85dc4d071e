/* Small helps for a page that already stands without them: the lamp (light or dark) and the filters of a list. */
(function () {
  "use strict";

  /* Lamp: as the device -> day -> night. Set before the first paint; storage may be refused, then it is not remembered. */
  var words = { device: "as the device", day: "day", night: "night" };
  var order = ["device", "day", "night"];
  var root = document.documentElement;

  function light(lamp) {
    if (lamp === "day" || lamp === "night") { root.setAttribute("data-lamp", lamp); } else { root.removeAttribute("data-lamp"); }
  }
  var kept = window.handbookKept.get("lamp");
  var lamp = order.indexOf(kept) >= 0 ? kept : "device";
  light(lamp);

  function fitLamp(button) {
    var word = button.querySelector("[data-lamp-word]");
    word.textContent = words[lamp];
    button.hidden = false;
    button.addEventListener("click", function () {
      lamp = order[(order.indexOf(lamp) + 1) % order.length];
      light(lamp);
      window.handbookKept.set("lamp", lamp);
      word.textContent = words[lamp];
    });
  }

  /* Filters: each control hides the items of one list by their data attributes. */
  function wordsOf(item, name) { return (item.getAttribute("data-" + name) || "").split(/\s+/).filter(Boolean); }

  function fits(item, control) {
    var has = function (key) { return control.hasAttribute("data-filter-" + key); };
    var name = function (key) { return control.getAttribute("data-filter-" + key); };
    var value = control.value;
    if (has("without")) { return !control.checked || wordsOf(item, name("without")).indexOf(value) < 0; }
    if (value.trim() === "") { return true; }
    if (has("text")) {
      var text = item.textContent.toLowerCase();
      return value.toLowerCase().split(/\s+/).every(function (word) { return text.indexOf(word) >= 0; });
    }
    if (has("at-most") || has("at-least")) {
      var figure = parseFloat(item.getAttribute("data-" + (name("at-most") || name("at-least"))));
      return has("at-most") ? figure <= parseFloat(value) : figure >= parseFloat(value);
    }
    var wanted = control.getAttribute("data-filter");
    return !wanted || wordsOf(item, wanted).indexOf(value) >= 0;
  }

  function fitFilters(form) {
    var id = form.getAttribute("data-filters");
    var list = document.getElementById(id);
    if (!list) { return; }
    var items = Array.prototype.slice.call(list.children);
    var controls = Array.prototype.slice.call(form.querySelectorAll("select, input"));
    var count = form.querySelector(".filters-count");
    var none = document.querySelector('[data-filters-none="' + id + '"]');
    function apply() {
      var shown = 0;
      items.forEach(function (item) {
        item.hidden = !controls.every(function (control) { return fits(item, control); });
        if (!item.hidden) { shown += 1; }
      });
      if (count) { count.textContent = shown + " of " + items.length; }
      if (none) { none.hidden = shown > 0; }
    }
    form.hidden = false;
    form.addEventListener("input", apply);
    form.addEventListener("reset", function () { setTimeout(apply, 0); });
    form.addEventListener("submit", function (event) { event.preventDefault(); });
    apply();
  }

  document.addEventListener("DOMContentLoaded", function () {
    Array.prototype.forEach.call(document.querySelectorAll("[data-lamp-switch]"), fitLamp);
    Array.prototype.forEach.call(document.querySelectorAll("form[data-filters]"), fitFilters);
  });
}());
