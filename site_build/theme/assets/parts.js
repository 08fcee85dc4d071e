/* Small tools of the scripts. `base` is the address of the site's root. */
(function () {
  "use strict";

  const base = document.currentScript.src.replace(/assets\/[^/]*$/, "");

  window.handbookParts = {
    base: base,
    two: function (number) { return String(number).padStart(2, "0"); },
    element: function (name, className, text) {
      const made = document.createElement(name);
      if (className) { made.className = className; }
      if (text) { made.textContent = text; }
      return made;
    },
    /* A moment in ms as the calendar's form in UTC (RFC 5545, 3.3.5). */
    stamp: function (moment) { return new Date(moment).toISOString().replace(/[-:]/g, "").replace(/\.\d+/, ""); },
    /* Gives the reader a file to keep. */
    offer: function (name, kind, text) {
      const link = document.createElement("a");
      link.href = URL.createObjectURL(new Blob([text], { type: kind + ";charset=utf-8" }));
      link.download = name;
      link.click();
      setTimeout(function () { URL.revokeObjectURL(link.href); }, 1000);
    },
  };
}());
