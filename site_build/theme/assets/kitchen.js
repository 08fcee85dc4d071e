/* Kitchen view: one step at a time in large type, its running time since it was begun, ticks kept on this device. */
(function () {
  "use strict";

  function text(seconds) {
    const whole = Math.max(Math.floor(seconds), 0);
    const two = function (number) { return String(number).padStart(2, "0"); };
    return Math.floor(whole / 3600) + ":" + two(Math.floor(whole / 60) % 60) + ":" + two(whole % 60);
  }
  /* How far a step begun `passed` seconds ago is: before its shortest time, inside its range, or past its longest. */
  function phase(step, passed) { return passed < step.low ? "early" : passed < step.high ? "inside" : "over"; }
  const PHASES = { early: "", inside: "The shortest time has passed.", over: "The longest time has passed." };

  function store(data) {
    const key = "steps " + data.name;
    const fresh = { edition: data.edition, at: 0, ticks: [], begun: {} };
    return {
      load: function () {
        try {
          const kept = JSON.parse(window.handbookKept.get(key));
          // Ticks of an earlier wording of the steps mean nothing for this one.
          return kept && kept.edition === data.edition && data.steps[kept.at] ? kept : fresh;
        } catch (spoilt) { return fresh; }
      },
      save: function (state) { window.handbookKept.set(key, JSON.stringify(state)); },
    };
  }

  /* The screen is kept lit while the view is open and in front, where the browser allows it. */
  function lamp(say) {
    let held = null, wanted = false;
    function ask() {
      if (!wanted || held || document.visibilityState !== "visible") { return; }
      if (!navigator.wakeLock) { say(false); return; }
      navigator.wakeLock.request("screen").then(function (lock) {
        held = lock;
        lock.addEventListener("release", function () { held = null; });
        if (!wanted) { lock.release(); }
        say(true);
      }, function () { say(false); });
    }
    document.addEventListener("visibilitychange", ask);
    return {
      on: function () { wanted = true; ask(); },
      off: function () { wanted = false; if (held) { held.release(); } },
    };
  }

  function fit(dialog, opener, data) {
    const part = function (name) { return dialog.querySelector("[data-kitchen-" + name + "]"); };
    const kept = store(data);
    const boxes = Array.from(dialog.querySelectorAll("[data-kitchen-tick]"));
    let state = kept.load(), ticking = null, said = "", due = -1;
    const light = lamp(function (isLit) {
      part("lamp").textContent = isLit ? "The screen stays lit while this view is open." : "This browser may let the screen go dark.";
    });
    const current = function () { return data.steps[state.at]; };

    function showStep() {
      const step = current();
      part("count").textContent = "Step " + step.number + " of " + data.steps.length;
      part("do").textContent = step.do;
      part("facts").textContent = step.place + ", " + (step.hands_on ? "hands-on" : "waiting") + ". Takes " + step.takes
        + "; planned to begin at " + step.begins + " running time.";
      part("notes").replaceChildren.apply(part("notes"), step.notes.map(function (note) {
        const item = document.createElement("li");
        item.textContent = note;
        return item;
      }));
      part("done").checked = state.ticks.indexOf(step.number) >= 0;
      // Not "disabled": a button that has the focus would lose it.
      part("back").setAttribute("aria-disabled", String(state.at === 0));
      part("next").setAttribute("aria-disabled", String(state.at === data.steps.length - 1));
      boxes.forEach(function (box, index) {
        box.checked = state.ticks.indexOf(data.steps[index].number) >= 0;
        box.closest("li").toggleAttribute("data-current", index === state.at);
      });
      said = ""; due = -1;
      part("status").textContent = "";
      showTime();
    }
    function showTime() {
      const step = current(), begun = state.begun[step.number];
      part("begin").textContent = begun ? "Begin this step again" : "Begin this step now";
      if (!begun) { part("time").textContent = "Not begun"; part("left").textContent = ""; return; }
      const passed = (Date.now() - begun) / 1000, now = phase(step, passed);
      part("time").textContent = text(passed);
      part("left").textContent = [["shortest", step.low], ["usual", step.typical], ["longest", step.high]]
        .filter(function (each, index, all) { return each[1] > passed && (index === 0 || each[1] !== all[index - 1][1]); })
        .map(function (each) { return each[0] + " time in " + text(each[1] - passed + 0.999); }).join(" · ") || PHASES.over;
      const last = step.repeats.filter(function (offset) { return offset <= passed; }).length - 1;
      const next = step.repeats[last + 1];
      if (next !== undefined && passed < step.high) { part("left").textContent += " · " + step.repeat_do + " in " + text(next - passed + 0.999); }
      // Said once, when it becomes so; not on looking back at a step that passed it long ago.
      const word = due >= 0 && last + 1 > due ? "Now: " + step.repeat_do : said && now !== said ? PHASES[now] : "";
      if (word) { part("status").textContent = word; }
      said = now; due = last + 1;
    }
    function go(index) {
      if (!data.steps[index]) { return; }
      state.at = index;
      kept.save(state);
      showStep();
    }
    function tick(number, isDone) {
      state.ticks = state.ticks.filter(function (each) { return each !== number; }).concat(isDone ? [number] : []);
      kept.save(state);
      showStep();
    }

    opener.addEventListener("click", function () {
      data = window.handbookSheet.data();
      dialog.showModal();
      document.documentElement.dataset.kitchen = "open";
      showStep();
      ticking = setInterval(showTime, 1000);
      light.on();
    });
    dialog.addEventListener("close", function () {
      clearInterval(ticking);
      delete document.documentElement.dataset.kitchen;
      light.off();
      // Browsers give the focus back themselves, unless a click did not take it; by now the reader may have moved on.
      if (document.activeElement === document.body) { opener.focus(); }
    });
    part("close").addEventListener("click", function () { dialog.close(); });
    part("back").addEventListener("click", function () { go(state.at - 1); });
    part("next").addEventListener("click", function () { go(state.at + 1); });
    part("begin").addEventListener("click", function () {
      state.begun[current().number] = Date.now();
      kept.save(state);
      showStep();
    });
    part("fresh").addEventListener("click", function () {
      state = { edition: data.edition, at: 0, ticks: [], begun: {} };
      kept.save(state);
      showStep();
      part("status").textContent = "All ticks and times are cleared.";
    });
    part("done").addEventListener("change", function () { tick(current().number, part("done").checked); });
    boxes.forEach(function (box, index) {
      box.addEventListener("change", function () { tick(data.steps[index].number, box.checked); });
    });
    dialog.querySelectorAll("[data-kitchen-show]").forEach(function (button, index) {
      button.addEventListener("click", function () { go(index); dialog.scrollTop = 0; part("step").focus(); });
    });
    dialog.addEventListener("keydown", function (event) {
      if (event.key === "ArrowRight") { go(state.at + 1); } else if (event.key === "ArrowLeft") { go(state.at - 1); }
    });
  }

  window.handbookKitchen = { phase: phase, text: text };
  document.addEventListener("DOMContentLoaded", function () {
    const block = document.getElementById("method-data"), dialog = document.getElementById("kitchen");
    const opener = document.querySelector("[data-kitchen-open]");
    if (block && dialog && dialog.showModal && opener) { fit(dialog, opener, window.handbookSheet.data()); }
  });
}());
