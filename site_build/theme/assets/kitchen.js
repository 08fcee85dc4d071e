/* Kitchen view: a run of the method, one step at a time in large type, with its timer and readings. */
(function () {
  "use strict";

  const tell = window.handbookTell, rules = window.handbookRules;
  const two = window.handbookParts.two, offer = window.handbookParts.offer;

  function text(seconds) {
    const whole = Math.max(Math.floor(seconds), 0);
    return Math.floor(whole / 3600) + ":" + two(Math.floor(whole / 60) % 60) + ":" + two(whole % 60);
  }
  /* Phase of a step that began `passed` seconds ago: before its shortest time, inside its range, or past its longest. */
  function phase(step, passed) { return step.isUnknown || passed < step.low ? "early" : passed < step.high ? "inside" : "over"; }
  /* The end of a step's time: within a day as the remaining time, later as a date and time. */
  const LEFT = {
    shortest: [(at) => tell("shortest time in %(time)s", at), (at) => tell("shortest time on %(moment)s", at)],
    usual: [(at) => tell("usual time in %(time)s", at), (at) => tell("usual time on %(moment)s", at)],
    longest: [(at) => tell("longest time in %(time)s", at), (at) => tell("longest time on %(moment)s", at)],
  };
  const PHASES = { early: "", inside: tell("The shortest time has passed."), over: tell("The longest time has passed.") };

  /* A moment by the reader's clock, such as 2026-11-28 10:05. */
  function written(moment) { return new Date(moment - 60000 * new Date(moment).getTimezoneOffset()).toISOString().slice(0, 16).replace("T", " "); }
  function dayOf(moment) { return written(moment).slice(0, 10); }
  function beganAt(run) {
    const moments = [...Object.values(run.begun), ...Object.values(run.ended)];
    return moments.length ? Math.min(...moments) : run.made || Date.now();
  }
  /* A run that begins now. It is stored from its first action on. */
  function fresh(data, url) {
    const state = window.handbookSheet.state, now = Date.now(), others = window.handbookRuns.all().filter((each) => each.url === url);
    const day = tell.bare(tell("Batch of %(day)s", { day: dayOf(now) })), names = others.map((each) => each.name);
    let name = day;
    for (let number = 2; names.includes(name); number += 1) { name = day + ", " + number; }
    return {
      id: now.toString(36) + Math.random().toString(36).slice(2, 8), name, url, title: data.title, mark: data.mark, method: data.name, made: now, file: data.batch_file,
      on: dayOf(now), food: data.food, piece: state.piece ? state.piece.number + " " + state.piece.unit : "", at: 0, steps: data.steps,
      ticks: [], begun: {}, ended: {}, read: {}, rung: {},
    };
  }

  /* The file of this run's batch (batches/<year>/<lot>.yml): its start, then a line for each event. */
  function record(run) {
    const file = run.file || { lot: run.method, method: run.method, amounts: [], lines: [] };
    const start = beganAt(run), lot = lotOf(run), { entries, notes } = events(run, start);
    const lines = [
      rules.batchHead, "lot: " + lot, "method: " + file.method, "title: " + quote(run.title), "version: " + run.mark, "begun: " + written(start),
      "batch: " + Number(run.food.toPrecision(6)) + " kg", ...(/mm|cm/.test(run.piece) ? ["thickness: " + run.piece] : []),
      "notes: " + quote([run.name, ...notes].join("; ").slice(0, 900)),
      ...(file.amounts.length ? ["amounts:", ...file.amounts.map((each) => amountLine(each, run.food))] : []),
      "plan:", ...run.steps.map((step) => planLine(step, start)), ...file.lines, ...(entries.length ? ["entries:", ...entries] : []),
    ];
    return { lot, text: lines.join("\n") + "\n" };
  }
  function quote(words) { return JSON.stringify(words); }
  function amountLine([item, share, stay, allergen], food) {
    const grams = (kg) => (kg < 0.02 ? (kg * 1000).toFixed(1) : Math.round(kg * 1000)) + " g", mass = share * food, stays = stay * food;
    return "- {item: " + item + ", amount: " + grams(mass) + (stays < mass * 0.999 ? ", in_food: " + grams(stays) : "") + (allergen ? ", allergen: " + allergen : "") + "}";
  }
  function planLine(step, start) {
    const [low, high] = [step.low, step.high].map((end) => Math.max(Math.round(end / 60), 1));
    return "- {step: " + step.number + ", from: " + written(start + 1000 * (step.start || 0)) + ", to: " + written(start + 1000 * (step.end || step.high))
      + ", takes: " + (low === high ? low : low + "-" + high) + " min, " + (step.asked || "") + "do: " + quote(step.do) + "}";
  }
  /* Each beginning, end and reading as a line, in order. Text without a key in the file goes into its notes, as written. */
  function events(run, start) {
    const isMass = /^\d+(\.\d+)? ?(kg|g|lb|oz)$/i, isHeat = /^-?\d+(\.\d+)? ?°?[CF]$/i;
    const mass = (words) => words.toLowerCase().replace(/ ?(kg|g|lb|oz)$/, " $1");
    const heat = (words) => words.replace(/ ?°?([CF])$/i, (all, scale) => " °" + scale.toUpperCase());
    const plain = (words) => (words || "").trim().replace(/^([-−]?\d+),(\d+)/, "$1.$2").replace("−", "-");
    const entries = [], notes = [];
    run.steps.forEach((step) => {
      const read = run.read[step.number] || {}, begun = run.begun[step.number], ended = run.ended[step.number], parts = ended ? ["is: done"] : [];
      const note = (words) => { if (words) { notes.push(tell.bare(tell("Step %(number)s", { number: step.number })) + ": " + words); } };
      const put = (words, key, fits, write) => {
        if (key && fits.test(plain(words))) { parts.push(key + ": " + write(plain(words))); } else { note(words); }
      };
      put(read.weight, "weight", isMass, mass);
      put(read.heat, step.surroundings, isHeat, heat);
      put(read.core, step.has_core && "core", isHeat, heat);
      note(read.note);
      if (begun) { entries.push([begun, step.number, "is: begun"]); }
      if (parts.length) { entries.push([ended || begun || start, step.number, parts.join(", ")]); }
    });
    entries.sort((one, other) => one[0] - other[0]);
    return { notes, entries: entries.map(([at, number, words]) => "- {at: " + written(at) + ", step: " + number + ", " + words + "}") };
  }
  /* The lot number: method, day, and a letter from b on for further runs of the method that this device began on that day. */
  function lotOf(run) {
    const day = dayOf(beganAt(run)), others = window.handbookRuns.all().filter((each) => each.method === run.method && dayOf(beganAt(each)) === day);
    const at = others.findIndex((each) => each.id === run.id);
    return (run.file ? run.file.lot : run.method) + "-" + day.slice(2).replace(/-/g, "") + (at > 0 ? String.fromCharCode(97 + at) : "");
  }
  /* Alarms of due steps, for a calendar, which also rings when every page is closed (RFC 5545). */
  function alarms(run) {
    const { escape, calendarFile } = window.handbookPlanner, { stamp } = window.handbookParts, runs = window.handbookRuns;
    return calendarFile("Run", runs.dues(run).filter((due) => due[0] > Date.now()).flatMap(([at, step, words]) => [
      "BEGIN:VEVENT", "UID:" + run.id + "-" + step + "-" + at + "@handbook.invalid", "DTSTAMP:" + stamp(Date.now()), "DTSTART:" + stamp(at),
      "SUMMARY:" + escape(runs.called(run) + ", " + words), "BEGIN:VALARM", "ACTION:AUDIO", "TRIGGER:PT0S", "END:VALARM",
      "BEGIN:VALARM", "ACTION:DISPLAY", "TRIGGER:PT0S", "DESCRIPTION:" + escape(words), "END:VALARM", "END:VEVENT",
    ]));
  }

  /* The screen is kept lit while the view is open and in front, where the browser allows it. */
  function lamp(say) {
    let held = null, wanted = false;
    function ask() {
      if (!wanted || held || document.visibilityState !== "visible") { return; }
      if (!navigator.wakeLock) { say(false); return; }
      navigator.wakeLock.request("screen").then((lock) => {
        held = lock;
        lock.addEventListener("release", () => { held = null; });
        if (!wanted) { lock.release(); }
        say(true);
      }, () => { say(false); });
    }
    document.addEventListener("visibilitychange", ask);
    return {
      on() { wanted = true; ask(); },
      off() { wanted = false; if (held) { held.release(); } },
    };
  }

  function fit(dialog, opener) {
    const part = (name) => dialog.querySelector("[data-kitchen-" + name + "]");
    // The address of this page as stored with a run: from the site's root.
    const runs = window.handbookRuns, url = location.pathname.slice(new URL(window.handbookParts.base).pathname.length);
    const list = dialog.querySelector(".kitchen-list"), pattern = list.children[0].cloneNode(true);
    let run = null, ticking = null, said = "", due = -1;
    const light = lamp((isLit) => {
      part("lamp").textContent = isLit ? tell("The screen stays lit while this view is open.") : tell("This browser may let the screen go dark.");
    });
    const current = () => run.steps[run.at];
    const own = () => runs.all().filter((each) => each.url === url);

    function keep() { runs.save(run); showRuns(); }
    function showRuns() {
      const choice = part("run"), found = own();
      const shown = found.some((each) => each.id === run.id) ? found : [...found, run];
      choice.replaceChildren(...shown.map((each) => new Option(each.name, each.id)), new Option(tell("a new run"), "new"));
      choice.value = run.id;
      if (document.activeElement !== part("name")) { part("name").value = run.name; }
      const made = { batch: window.handbookSheet.massText(run.food) + (run.piece ? ", " + run.piece : ""), mark: run.mark };
      part("batch").textContent = run.mark === window.handbookSheet.data().mark ? tell("For %(batch)s, version %(mark)s.", made)
        : tell("For %(batch)s, version %(mark)s: the sheet has changed since; this run keeps its own steps.", made);
    }
    function showList() {
      list.replaceChildren(...run.steps.map((step, index) => {
        const item = pattern.cloneNode(true), box = item.querySelector("input"), button = item.querySelector("button");
        item.querySelector("label > span").textContent = step.number + ". " + step.do;
        button.querySelector("span").textContent = " " + tell("step %(number)s", { number: step.number });
        box.checked = run.ticks.includes(step.number);
        item.toggleAttribute("data-current", index === run.at);
        box.addEventListener("change", () => { tick(step.number, box.checked); });
        button.addEventListener("click", () => { go(index); dialog.scrollTop = 0; part("step").focus(); });
        return item;
      }));
    }
    function showStep() {
      const step = current(), read = run.read[step.number] || {};
      part("count").textContent = tell("Step %(number)s of %(all)s", { number: step.number, all: run.steps.length });
      part("do").textContent = step.do;
      part("facts").textContent = step.place + ", " + (step.hands_on ? tell("hands-on") : tell("waiting")) + ". "
        + (step.isUnknown ? tell("How long it takes is not computed for this piece: measure its end yourself.")
          : tell("Takes %(time)s; planned to begin at %(begins)s running time.", { time: step.takes, begins: step.begins }));
      part("notes").replaceChildren(...step.notes.map((note) => window.handbookParts.element("li", "", note)));
      if (document.documentElement.dataset.degrees === "f") { window.handbookUnits.turnDegrees(dialog); }
      part("done").checked = run.ticks.includes(step.number);
      // Not "disabled", which would take the focus from the button.
      part("back").setAttribute("aria-disabled", String(run.at === 0));
      part("next").setAttribute("aria-disabled", String(run.at === run.steps.length - 1));
      part("undo").setAttribute("aria-disabled", String(!run.begun[step.number]));
      dialog.querySelectorAll("[data-kitchen-read]").forEach((field) => { field.value = read[field.dataset.kitchenRead] || ""; });
      [...list.children].forEach((item, index) => {
        item.querySelector("input").checked = run.ticks.includes(run.steps[index].number);
        item.toggleAttribute("data-current", index === run.at);
      });
      said = ""; due = -1;
      part("status").textContent = "";
      showTime();
    }
    function showTime() {
      const step = current(), begun = run.begun[step.number];
      part("begin").textContent = begun ? tell("Begin this step again") : tell("Begin this step now");
      if (!begun) { part("time").textContent = tell("Not begun"); part("left").textContent = ""; return; }
      const ended = run.ended[step.number], passed = ((ended || Date.now()) - begun) / 1000, now = phase(step, passed);
      part("time").textContent = text(passed);
      if (ended) { part("left").textContent = tell("Done."); return; }
      part("left").textContent = step.isUnknown ? "" : [["shortest", step.low], ["usual", step.typical], ["longest", step.high]]
        .filter((each, index, all) => each[1] > passed && (index === 0 || each[1] !== all[index - 1][1]))
        .map((each) => {
          const left = each[1] - passed;
          return LEFT[each[0]][left > 20 * 3600 ? 1 : 0]({ moment: runs.when(begun + 1000 * each[1]), time: text(left + 0.999) });
        }).join(" · ") || PHASES.over;
      const last = step.repeats.filter((offset) => offset <= passed).length - 1;
      const next = step.repeats[last + 1];
      if (next !== undefined && passed < step.high) { part("left").textContent += " · " + tell("%(do)s in %(time)s", { do: step.repeat_do, time: text(next - passed + 0.999) }); }
      // Announced once, at the change; not when returning to a step that changed long ago.
      const word = due >= 0 && last + 1 > due ? tell("Now: %(do)s", { do: step.repeat_do }) : said && now !== said ? PHASES[now] : "";
      if (word) { part("status").textContent = word; }
      said = now; due = last + 1;
    }
    function go(index) {
      if (!run.steps[index]) { return; }
      run.at = index;
      if (own().some((each) => each.id === run.id)) { keep(); }
      showStep();
    }
    function tick(number, isDone) {
      run.ticks = run.ticks.filter((each) => each !== number).concat(isDone ? [number] : []);
      if (isDone && run.begun[number]) { run.ended[number] = Date.now(); } else { delete run.ended[number]; }
      keep();
      showStep();
    }
    function open(chosen) {
      run = chosen || fresh(window.handbookSheet.data(), url);
      showRuns();
      showList();
      showStep();
    }
    function start(wanted) {
      const found = own();
      dialog.showModal();
      document.documentElement.dataset.kitchen = "open";
      open(found.find((each) => each.id === wanted) || found[found.length - 1]);
      ticking = setInterval(showTime, 1000);
      light.on();
    }

    opener.addEventListener("click", () => { start(""); });
    dialog.addEventListener("close", () => {
      clearInterval(ticking);
      delete document.documentElement.dataset.kitchen;
      light.off();
      // Browsers restore the focus themselves, unless a click did not move it; the reader may have moved on since.
      if (document.activeElement === document.body) { opener.focus(); }
    });
    part("close").addEventListener("click", () => { dialog.close(); });
    part("back").addEventListener("click", () => { go(run.at - 1); });
    part("next").addEventListener("click", () => { go(run.at + 1); });
    part("run").addEventListener("change", () => {
      open(own().find((each) => each.id === part("run").value));
    });
    part("name").addEventListener("change", () => { run.name = part("name").value.trim() || run.name; keep(); });
    part("begin").addEventListener("click", () => {
      runs.wake();
      run.begun[current().number] = Date.now();
      delete run.ended[current().number];
      run.ticks = run.ticks.filter((each) => each !== current().number);
      keep();
      showStep();
    });
    part("undo").addEventListener("click", () => {
      const number = current().number;
      if (!run.begun[number]) { return; }
      if (run.ended[number]) { tick(number, false); part("status").textContent = tell("The end of this step is taken back; its timer goes on."); return; }
      delete run.begun[number];
      keep();
      showStep();
      part("status").textContent = tell("The beginning of this step is taken back.");
    });
    part("fresh").addEventListener("click", () => {
      runs.drop(run);
      open(own()[0]);
      part("status").textContent = tell("The run is deleted.");
    });
    part("done").addEventListener("change", () => { tick(current().number, part("done").checked); });
    part("alarms").addEventListener("click", () => { offer(run.method + "-alarms.ics", "text/calendar", alarms(run)); });
    part("export").addEventListener("click", () => { const made = record(run); offer(made.lot + ".yml", "text/yaml", made.text); });
    dialog.querySelectorAll("[data-kitchen-read]").forEach((field) => {
      field.addEventListener("change", () => {
        const number = current().number;
        run.read[number] = { ...run.read[number] };
        run.read[number][field.dataset.kitchenRead] = field.value.trim();
        keep();
      });
    });
    const notify = part("notify");
    if ("Notification" in window && Notification.permission === "default") {
      notify.hidden = false;
      notify.addEventListener("click", () => { Notification.requestPermission().then(() => { notify.hidden = true; }); });
    }
    document.addEventListener("handbook-rung", (event) => {
      if (run && dialog.open && event.detail.run !== run.id) { part("status").textContent = tell("Another run: %(words)s", { words: event.detail.words }); }
    });
    // Another page of the handbook may show the same run.
    window.addEventListener("storage", () => {
      const found = run && dialog.open ? own().find((each) => each.id === run.id) : null;
      if (!found || dialog.querySelector("input[data-kitchen-read]:focus")) { return; }
      run = Object.assign(found, { at: Math.min(run.at, found.steps.length - 1) });
      showRuns(); showList(); showStep();
    });
    dialog.addEventListener("keydown", (event) => {
      if (event.target.matches("input, select")) { return; }
      if (event.key === "ArrowRight") { go(run.at + 1); } else if (event.key === "ArrowLeft") { go(run.at - 1); }
    });
    if (location.hash === "#kitchen") { start(new URLSearchParams(location.search).get("run")); }
  }

  window.handbookKitchen = { record, alarms };
  document.addEventListener("DOMContentLoaded", () => {
    const block = document.getElementById("method-data"), dialog = document.getElementById("kitchen");
    const opener = document.querySelector("[data-kitchen-open]");
    if (block && dialog && dialog.showModal && opener) { fit(dialog, opener); }
  });
}());
