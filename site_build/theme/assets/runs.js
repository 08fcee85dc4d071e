/* Runs of this kitchen, on every page of the handbook: stored on the device, with their timers and due steps.
   A run: {id, name, url, title, mark, on, food, piece, at, steps, total, ticks, begun, ended, read, rung}. `steps` are those
   of the page when the run began, so that an update of the page does not change them. Moments are in ms since 1970. */
(function () {
  "use strict";

  const tell = window.handbookTell;

  const KEY = "runs", base = window.handbookParts.base;
  let sound = null;

  function isRun(each) {
    return each && typeof each.id === "string" && typeof each.name === "string" && Array.isArray(each.steps) && each.steps.length > 0
      && each.steps.every((step) => step && isFinite(step.low) && isFinite(step.high) && typeof step.do === "string")
      && Array.isArray(each.ticks) && each.begun && each.ended && each.read && each.rung && each.steps[each.at] && /^[^:]*\.html$/.test(each.url);
  }
  function all() {
    try { const kept = JSON.parse(window.handbookKept.get(KEY)); return Array.isArray(kept) ? kept.filter(isRun) : []; } catch { return []; }
  }
  /* One run is merged into the stored ones, so that two open pages do not lose each other's. */
  function save(run) {
    const kept = all(), own = kept.find((each) => each.id === run.id), others = kept.filter((each) => each !== own);
    run.rung = { ...own && own.rung, ...run.rung };  // an alarm that rang on any page has rung
    window.handbookKept.set(KEY, JSON.stringify(others.concat([run])));
  }
  function drop(run) { window.handbookKept.set(KEY, JSON.stringify(all().filter((each) => each.id !== run.id))); }

  /* The coming alarms of steps begun and not done: [time, step, words], in order. */
  function dues(run) {
    const found = [];
    run.steps.forEach((step) => {
      const begun = run.begun[step.number];
      if (!begun || run.ticks.includes(step.number)) { return; }
      (step.repeats || []).forEach((offset) => { if (offset < step.high) { found.push([begun + 1000 * offset, step.number, step.repeat_do]); } });
      if (step.isUnknown) { return; }
      found.push([begun + 1000 * step.low, step.number, tell("step %(number)s: the shortest time has passed", { number: step.number })]);
      if (step.high > step.low) { found.push([begun + 1000 * step.high, step.number, tell("step %(number)s: the longest time has passed", { number: step.number })]); }
    });
    return found.sort((one, other) => one[0] - other[0]);
  }
  /* Several runs may have the same name: the method distinguishes them. */
  function called(run) { return run.name + ", " + run.title; }
  function linkTo(run, words) {
    return window.handbookParts.element("a", { href: base + run.url + "?run=" + encodeURIComponent(run.id) + "#kitchen" }, words);
  }
  function keyOf(due) { return due[1] + " " + due[0]; }
  function next(run) { return dues(run).find((due) => due[0] > Date.now()) || null; }

  /* ---- Ringing: sound where a touch has allowed it, vibration, a notice where allowed, words on every open page ---- */

  function wake() {
    sound = sound || new AudioContext();
    if (sound.state === "suspended") { sound.resume(); }
  }
  function beep() {
    if (sound?.state !== "running") { return; }
    [0, 0.4, 0.8, 1.6, 2, 2.4].forEach((start) => {
      const tone = sound.createOscillator(), volume = sound.createGain();
      tone.frequency.value = 880;
      volume.gain.value = 0.4;
      tone.connect(volume).connect(sound.destination);
      tone.start(sound.currentTime + start);
      tone.stop(sound.currentTime + start + 0.25);
    });
  }
  function notice(run, words) {
    if (!("Notification" in window) || Notification.permission !== "granted") { return; }
    const options = { body: window.handbookTell.bare(words), tag: run.id + words, requireInteraction: true };
    const workers = navigator.serviceWorker;
    if (workers && workers.controller) { workers.ready.then((ready) => { ready.showNotification(called(run), options); }); } else { new Notification(called(run), options); }
  }
  function ring(run, due) {
    const words = called(run) + ": " + due[2];
    document.querySelectorAll("[data-copy-note]").forEach((place) => {
      place.replaceChildren(linkTo(run, words));
      place.hidden = false;
    });
    beep();
    if (navigator.vibrate) { navigator.vibrate([400, 200, 400, 200, 800]); }
    notice(run, due[2]);
    document.dispatchEvent(new CustomEvent("handbook-rung", { detail: { run: run.id, words: due[2], step: due[1] } }));
  }
  /* Each alarm rings once on the device; one that was due while every page was closed rings at the next opening. */
  function look() {
    all().forEach((run) => {
      const late = dues(run).filter((due) => due[0] <= Date.now() && !run.rung[keyOf(due)]);
      if (!late.length) { return; }
      late.forEach((due) => { run.rung[keyOf(due)] = 1; });
      save(run);
      ring(run, late[late.length - 1]);
    });
  }

  /* ---- The list on the home page ---- */

  function when(moment) {
    const at = new Date(moment), far = moment - Date.now() > 20 * 3600000;
    return tell.date(at, far ? { weekday: "short", day: "numeric", month: "short", hour: "2-digit", minute: "2-digit" } : { hour: "2-digit", minute: "2-digit" });
  }
  function list() {
    const place = document.getElementById("running"), runs = all();
    if (!place) { return; }
    place.hidden = runs.length === 0;
    const due = (run) => (next(run) || [Infinity])[0];
    runs.sort((one, other) => due(one) - due(other));
    place.querySelector("ul").replaceChildren(...runs.map((run) => {
      const item = document.createElement("li"), found = next(run);
      item.append(linkTo(run, called(run)), ": " + (found ? tell("%(words)s at %(moment)s", { words: found[2], moment: when(found[0]) }) : run.ticks.length === run.steps.length ? tell("all done") : tell("step %(number)s, %(do)s", { number: run.steps[run.at].number, do: run.steps[run.at].do })));
      return item;
    }));
  }

  window.handbookRuns = { all, save, drop, dues, wake, when, called };
  document.addEventListener("DOMContentLoaded", () => {
    list();
    look();
    setInterval(look, 1000);
    setInterval(list, 30000);
  });
  document.addEventListener("pointerdown", () => { if (all().length) { wake(); } });
}());
