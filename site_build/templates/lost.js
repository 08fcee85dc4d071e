/* A server shows this page at any address that it does not know, so the page cannot say where the handbook's own files
   are. They are in the nearest folder above this address that holds the handbook's mark. */
(function () {
  "use strict";

  const DEEPEST = 60; // folders

  function above(up) { return new URL("../".repeat(up) || "./", location.href.replace(/[?#].*$/, "")).href; }

  function near(root) {
    const style = document.createElement("link");
    style.rel = "stylesheet";
    style.href = root + "assets/css/sheet.css";
    document.head.append(style);
    document.querySelector("link[rel=icon]").href = root + "assets/mark.svg";
    document.querySelectorAll("a[data-page]").forEach((link) => {
      link.href = root + link.getAttribute("data-page");
    });
    document.querySelectorAll("[data-when-found]").forEach((part) => { part.hidden = false; });
  }

  function look(up) {
    const root = above(up);
    const mark = new Image();
    mark.onload = function () { near(root); };
    mark.onerror = function () { if (up < DEEPEST && above(up + 1) !== root) { look(up + 1); } };
    mark.src = root + "assets/mark.svg";
  }

  document.addEventListener("DOMContentLoaded", () => { look(0); });
}());
