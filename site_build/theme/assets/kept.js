/* Data that a browser stores for its reader. Handbooks at one host, and all that are opened from folders, share one storage:
   each keeps what is its own under the place where it stands. Storage may be refused: then nothing is kept. */
(function () {
  "use strict";

  const place = new URL(window.handbookParts.base).pathname;
  const key = (name) => "handbook " + place + " " + name;

  window.handbookKept = {
    get(name) { try { return localStorage.getItem(key(name)); } catch { return null; } },
    set(name, value) { try { localStorage.setItem(key(name), value); } catch { /* for this page only */ } },
  };
}());
