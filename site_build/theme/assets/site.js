/* Small additions to a page that also works without them: the lamp (light or dark) and the filters of a list. */
(function () {
  "use strict";

  /* Lamp: as the device -> day -> night. Set before the first paint; not remembered where storage is refused. */
  var tell = window.handbookTell;
  var words = { device: tell("as the device"), day: tell("day"), night: tell("night") };
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
      if (count) { count.textContent = tell("%(count)s of %(all)s", { count: shown, all: items.length }); }
      if (none) { none.hidden = shown > 0; }
    }
    /* The choice is kept in the address, so that it can be shared and restored by going back. */
    function read() {
      var query = new URLSearchParams(location.search);
      controls.forEach(function (control) {
        if (!control.name || !query.has(control.name)) { return; }
        if (control.type === "checkbox") { control.checked = true; } else { control.value = query.get(control.name); }
      });
      var more = form.querySelector("details");
      if (more && controls.some(function (control) { return control.closest("details") && query.has(control.name); })) { more.open = true; }
    }
    function write() {
      var query = new URLSearchParams(location.search);
      controls.forEach(function (control) {
        if (!control.name) { return; }
        var value = control.type === "checkbox" ? (control.checked ? "1" : "") : control.value;
        if (value) { query.set(control.name, value); } else { query.delete(control.name); }
      });
      var text = query.toString();
      try { history.replaceState(history.state, "", location.pathname + (text ? "?" + text : "") + location.hash); } catch (refused) { /* this page only */ }
    }
    form.hidden = false;
    form.addEventListener("input", function () { apply(); write(); });
    form.addEventListener("reset", function () { setTimeout(function () { apply(); write(); }, 0); });
    form.addEventListener("submit", function (event) { event.preventDefault(); });
    read();
    apply();
  }

  document.addEventListener("DOMContentLoaded", function () {
    Array.prototype.forEach.call(document.querySelectorAll("[data-lamp-switch]"), fitLamp);
    Array.prototype.forEach.call(document.querySelectorAll("form[data-filters]"), fitFilters);
  });
}());
