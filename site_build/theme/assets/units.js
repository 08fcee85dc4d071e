/* What a sheet shows: which measures of amounts, which part goes on paper. A limit's own printed unit always stands:
   only the amounts of the brine tables have two measures to choose from. Loaded in the head, so that nothing jumps. */
(function () {
  "use strict";

  const KEY = "units", ALLOWED = ["both", "metric", "household"];
  const root = document.documentElement;
  let units = window.handbookKept.get(KEY) || "both";
  if (ALLOWED.indexOf(units) < 0) { units = "both"; }
  root.dataset.units = units;
  root.dataset.scripts = "on";

  function fitUnits(field) {
    field.querySelectorAll("input").forEach(function (choice) {
      choice.checked = choice.value === units;
      choice.addEventListener("change", function () {
        units = choice.value;
        root.dataset.units = units;
        window.handbookKept.set(KEY, units);
      });
    });
  }

  /* Paper: without a choice the browser's own print gives sheet, wall card and batch sheet one after the other. */
  function fitPaper(button) {
    button.addEventListener("click", function () {
      root.dataset.paper = button.dataset.print;
      window.print();
    });
  }

  window.addEventListener("afterprint", function () { delete root.dataset.paper; });
  document.addEventListener("DOMContentLoaded", function () {
    document.querySelectorAll("[data-units-choice]").forEach(fitUnits);
    document.querySelectorAll("[data-print]").forEach(fitPaper);
  });
}());
