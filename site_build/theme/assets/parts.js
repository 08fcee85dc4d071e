/* Small tools of the scripts. `base` is the address of the site's root. */
(function () {
  "use strict";

  const base = document.currentScript.src.replace(/assets\/[^/]*$/, "");

  window.handbookParts = {
    base,
    two(number) { return String(number).padStart(2, "0"); },
    /* An element with its class, or its attributes by name, and what is in it. */
    element(name, about = "", ...inside) {
      const made = document.createElement(name);
      Object.entries(typeof about === "string" ? { class: about } : about).forEach(([key, value]) => { if (value) { made.setAttribute(key, value); } });
      made.append(...inside);
      return made;
    },
    /* Puts values into the address, so that it can be shared and restored; an empty one is taken out. Returns the query. */
    keepInAddress(values) {
      const query = new URLSearchParams(location.search);
      Object.entries(values).forEach(([name, value]) => { if (value) { query.set(name, value); } else { query.delete(name); } });
      const text = query.toString().replace(/^(?=.)/, "?").replace(/%3A/g, ":");
      try { history.replaceState(history.state, "", location.pathname + text + location.hash); } catch { /* refused: this page only */ }
      return text;
    },
    /* A moment in ms as the calendar's form in UTC (RFC 5545, 3.3.5). */
    stamp(moment) { return new Date(moment).toISOString().replace(/[-:]/g, "").replace(/\.\d+/, ""); },
    /* Gives the reader a file to keep. */
    offer(name, kind, text) {
      const link = document.createElement("a");
      link.href = URL.createObjectURL(new Blob([text], { type: kind + ";charset=utf-8" }));
      link.download = name;
      link.click();
      setTimeout(() => { URL.revokeObjectURL(link.href); }, 1000);
    },
  };
}());
