/* Display choices of a sheet: measures of amounts, the first scale of degrees, the printed part. A limit's own printed
   unit always remains. Loaded in the head, so that the layout does not jump; the text is changed once it is loaded. */
(function () {
  "use strict";

  const ALLOWED = { units: ["both", "metric", "pounds", "household"], degrees: ["c", "f"] };
  const DEGREES = "([−\\d.,]*\\d(?:–[−\\d.,]*\\d)?)";
  const CELSIUS = new RegExp(DEGREES + "\\s°C \\(" + DEGREES + "\\s°F\\)", "g");
  const FAHRENHEIT = new RegExp(DEGREES + "\\s°F \\(" + DEGREES + "\\s°C\\)", "g");
  const root = document.documentElement;

  Object.keys(ALLOWED).forEach((name) => {
    const kept = window.handbookKept.get(name);
    /* Until a reader chooses, the house's own scale of degrees comes first. */
    const first = name === "degrees" && root.dataset.first || ALLOWED[name][0];
    root.dataset[name] = ALLOWED[name].includes(kept) ? kept : first;
  });
  root.dataset.scripts = "on";

  /* Both scales are in the page; the reader's own comes first. */
  function turnDegrees(within) {
    const isFahrenheit = root.dataset.degrees === "f";
    const walker = document.createTreeWalker(within, NodeFilter.SHOW_TEXT);
    for (let node = walker.nextNode(); node; node = walker.nextNode()) {
      if (!node.data.includes("°") || /^(SCRIPT|STYLE)$/.test(node.parentElement.tagName)) { continue; }
      node.data = isFahrenheit ? node.data.replace(CELSIUS, "$2\u00a0°F ($1\u00a0°C)") : node.data.replace(FAHRENHEIT, "$2\u00a0°C ($1\u00a0°F)");
    }
  }
  /* Built masses in pounds and ounces, and back; scripts draw their masses in the chosen unit. */
  function turnMasses() {
    if (!window.handbookBatch) { return; }
    const isPounds = root.dataset.units === "pounds";
    document.querySelectorAll(".mass").forEach((place) => {
      const said = place.dataset.built || place.textContent, found = /^([\d.,]+) (g|kg)$/.exec(said);
      if (!found) { return; }
      place.dataset.built = said;
      place.textContent = isPounds ? window.handbookBatch.formatPounds(Number(found[1].replace(",", ".")) * (found[2] === "g" ? 0.001 : 1)) : said;
    });
  }
  function turn(name) {
    if (name === "degrees") { turnDegrees(document.getElementById("sheet")); return; }
    turnMasses();
    if (window.handbookSheet) { window.handbookSheet.draw(); }
  }
  function fitChoice(field) {
    const name = field.dataset.choice;
    field.querySelectorAll("input").forEach((choice) => {
      choice.checked = choice.value === root.dataset[name];
      choice.addEventListener("change", () => {
        root.dataset[name] = choice.value;
        window.handbookKept.set(name, choice.value);
        turn(name);
      });
    });
  }

  /* Paper: without a choice the browser's own print gives the working sheet. */
  function fitPaper(button) {
    button.addEventListener("click", () => {
      root.dataset.paper = button.dataset.print;
      window.print();
    });
  }

  window.handbookUnits = { turnDegrees };
  window.addEventListener("afterprint", () => { delete root.dataset.paper; });
  document.addEventListener("DOMContentLoaded", () => {
    document.querySelectorAll("[data-choice]").forEach(fitChoice);
    document.querySelectorAll("[data-print]").forEach(fitPaper);
    if (root.dataset.degrees === "f") { turn("degrees"); }
    if (root.dataset.units === "pounds") { turnMasses(); }
  });
}());
