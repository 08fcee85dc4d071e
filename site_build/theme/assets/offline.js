/* Over http(s): offers to keep the handbook on the device, and shows which copy is open. From a folder: nothing. */
(function () {
  "use strict";

  const tell = window.handbookTell;

  const { base, element } = window.handbookParts;
  if (!/^https?:$/.test(location.protocol)) { return; }

  document.head.append(element("link", { rel: "manifest", href: base + "manifest.webmanifest" }));
  if (!("serviceWorker" in navigator)) { return; }

  const PAUSE = 2000; // ms after the page is loaded
  const workers = navigator.serviceWorker;
  // A handbook in a folder above may answer requests for this one's pages: its cache is not a copy of this one.
  function isOwn(worker) { return Boolean(worker) && worker.scriptURL === base + "service-worker.js"; }
  let hadCopy = isOwn(workers.controller);

  function date(since) { return tell.date(new Date(since), { dateStyle: "long", timeStyle: "short" }); }

  function say(place, text, link) {
    document.querySelectorAll(place).forEach((note) => {
      note.textContent = text;
      if (link) { note.append(" ", link); }
      note.hidden = false;
    });
  }

  workers.addEventListener("message", (event) => {
    if (!isOwn(event.source)) { return; }
    const copy = event.data && event.data.handbookCopy, since = event.data && event.data.since;
    if (!copy || !since) { return; }
    if (event.data.isFromCopy) { say("[data-copy-note]", tell("No network. This copy is from %(date)s; a newer one may say otherwise.", { date: date(since) })); }
    say("[data-copy-foot]", tell("Kept on this device: this copy is from %(date)s.", { date: date(since) }));
  });
  /* A newer copy was fetched in the background: the open page does not change. */
  workers.addEventListener("controllerchange", () => {
    if (!isOwn(workers.controller)) { return; }
    if (hadCopy) {
      const again = element("a", { href: location.href }, tell("Open this page anew"));
      say("[data-copy-note]", tell("A newer copy of the handbook is on this device."), again);
      again.addEventListener("click", (event) => { event.preventDefault(); location.reload(); });
    } else {
      ask();
    }
    hadCopy = true;
  });

  function ask() { if (isOwn(workers.controller)) { workers.controller.postMessage("which copy"); } }

  window.addEventListener("load", () => {
    ask();
    // The copy is the whole handbook: it waits, so that it does not slow down the page that is being opened.
    setTimeout(() => {
      workers.register(base + "service-worker.js").catch(() => { /* refused or missing: the pages work without */ });
    }, PAUSE);
  });
}());
