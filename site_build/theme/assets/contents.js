/* The order of the list of methods. An item without the figure for sorting comes last. */
(function () {
  "use strict";

  function arrange(choice) {
    var list = document.getElementById(choice.getAttribute("data-order"));
    var written = Array.from(list.children);
    choice.form.addEventListener("input", order);
    choice.form.addEventListener("reset", function () { setTimeout(order, 0); });
    order();

    function order() {
      var name = choice.value, sign = choice.selectedOptions[0].hasAttribute("data-falling") ? -1 : 1;
      if (name === "name") {
        list.append.apply(list, written.slice().sort(function (one, other) { return one.getAttribute("data-name").localeCompare(other.getAttribute("data-name")); }));
        return;
      }
      function figure(item) {
        var value = parseFloat(item.getAttribute("data-" + name));
        return isNaN(value) ? Infinity : sign * value;
      }
      var wanted = name ? written.slice().sort(function (one, other) { return figure(one) - figure(other) || 0; }) : written;
      if (wanted.some(function (item, at) { return list.children[at] !== item; })) { list.append.apply(list, wanted); }
    }
  }

  Array.prototype.forEach.call(document.querySelectorAll("select[data-order]"), arrange);
}());
