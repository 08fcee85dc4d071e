/* The order of the list of methods. An item without the figure for sorting comes last. */
(function () {
  "use strict";

  function arrange(choice) {
    const list = document.getElementById(choice.getAttribute("data-order"));
    const written = [...list.children];
    choice.form.addEventListener("input", order);
    choice.form.addEventListener("reset", () => { setTimeout(order, 0); });
    order();

    function order() {
      const name = choice.value, sign = choice.selectedOptions[0].hasAttribute("data-falling") ? -1 : 1;
      if (name === "name") {
        list.append(...written.slice().sort((one, other) => one.dataset.name.localeCompare(other.dataset.name)));
        return;
      }
      function figure(item) {
        const value = parseFloat(item.getAttribute("data-" + name));
        return isNaN(value) ? Infinity : sign * value;
      }
      const wanted = name ? written.slice().sort((one, other) => figure(one) - figure(other) || 0) : written;
      if (wanted.some((item, at) => list.children[at] !== item)) { list.append(...wanted); }
    }
  }

  document.querySelectorAll("select[data-order]").forEach(arrange);
}());
