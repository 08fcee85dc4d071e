/* Small additions to a page that also works without them: the lamp (light or dark) and the filters of a list. */
(function () {
  "use strict";

  /* Lamp: as the device -> day -> night. Set before the first paint; not remembered where storage is refused. */
  const tell = window.handbookTell;
  const words = { device: tell("as the device"), day: tell("day"), night: tell("night") }, order = Object.keys(words);
  const root = document.documentElement;

  function light() {
    if (lamp === "device") { delete root.dataset.lamp; } else { root.dataset.lamp = lamp; }
  }
  const kept = window.handbookKept.get("lamp");
  let lamp = order.includes(kept) ? kept : "device";
  light();

  function fitLamp(button) {
    const word = button.querySelector("[data-lamp-word]");
    word.textContent = words[lamp];
    button.hidden = false;
    button.addEventListener("click", () => {
      lamp = order[(order.indexOf(lamp) + 1) % order.length];
      light();
      window.handbookKept.set("lamp", lamp);
      word.textContent = words[lamp];
    });
  }

  /* Filters: each control hides the items of one list by their data attributes. */
  function wordsOf(item, name) { return (item.getAttribute("data-" + name) || "").split(/\s+/).filter(Boolean); }

  function fits(item, control) {
    const has = (key) => control.hasAttribute("data-filter-" + key), name = (key) => control.getAttribute("data-filter-" + key);
    const value = control.value;
    if (has("without")) { return !control.checked || !wordsOf(item, name("without")).includes(value); }
    if (value.trim() === "") { return true; }
    if (has("text")) {
      const text = item.textContent.toLowerCase();
      return value.toLowerCase().split(/\s+/).every((word) => text.includes(word));
    }
    if (has("at-most") || has("at-least")) {
      const figure = parseFloat(item.getAttribute("data-" + (name("at-most") || name("at-least"))));
      return has("at-most") ? figure <= parseFloat(value) : figure >= parseFloat(value);
    }
    const wanted = control.getAttribute("data-filter");
    return !wanted || wordsOf(item, wanted).includes(value);
  }

  function fitFilters(form) {
    const id = form.getAttribute("data-filters");
    const list = document.getElementById(id);
    if (!list) { return; }
    const items = [...list.children];
    const controls = [...form.querySelectorAll("select, input")];
    const count = form.querySelector(".filters-count");
    const none = document.querySelector('[data-filters-none="' + id + '"]');
    function apply() {
      items.forEach((item) => { item.hidden = !controls.every((control) => fits(item, control)); });
      const shown = items.filter((item) => !item.hidden).length;
      if (count) { count.textContent = tell("%(count)s of %(all)s", { count: shown, all: items.length }); }
      if (none) { none.hidden = shown > 0; }
    }
    /* The choice is kept in the address, so that it can be shared and restored by going back. */
    function read() {
      const query = new URLSearchParams(location.search);
      const asked = controls.filter((control) => query.has(control.name));
      asked.forEach((control) => {
        if (control.type === "checkbox") { control.checked = true; } else { control.value = query.get(control.name); }
      });
      asked.forEach((control) => { if (control.closest("details")) { control.closest("details").open = true; } });
    }
    function write() {
      const chosen = (control) => control.type !== "checkbox" ? control.value : control.checked ? "1" : "";
      window.handbookParts.keepInAddress(Object.fromEntries(controls.filter((each) => each.name).map((each) => [each.name, chosen(each)])));
    }
    form.hidden = false;
    form.addEventListener("input", () => { apply(); write(); });
    form.addEventListener("reset", () => { setTimeout(() => { apply(); write(); }, 0); });
    form.addEventListener("submit", (event) => { event.preventDefault(); });
    read();
    apply();
  }

  document.addEventListener("DOMContentLoaded", () => {
    document.querySelectorAll("[data-lamp-switch]").forEach(fitLamp);
    document.querySelectorAll("form[data-filters]").forEach(fitFilters);
  });
}());
