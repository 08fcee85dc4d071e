/* By the clock: the steps' clock times from a start or back from a finish, and a calendar file of them. The same arithmetic as
   handbook/page/clock.py and the same bytes as site_build/html/calendar.py. Without it the built example remains. */
(function () {
  "use strict";

  const tell = window.handbookTell, rules = window.handbookRules;
  const element = window.handbookParts.element;

  /* Wall-clock moments are whole minutes counted as if the kitchen had no time zone, so that no browser shifts them. */
  function parseMoment(text) {
    const found = /^(\d{4})-(\d\d)-(\d\d)T(\d\d):(\d\d)/.exec(text);
    return found ? Date.UTC(+found[1], +found[2] - 1, +found[3], +found[4], +found[5]) / 60000 : null;
  }
  function parseTime(text) {
    const found = /^(\d\d):(\d\d)/.exec(text);
    return found ? +found[1] * 60 + +found[2] : null;
  }
  function written(moment) { return new Date(moment * 60000).toISOString().slice(0, 16); }
  function clock(moment) { return written(moment).slice(11); }
  function day(moment) {
    const at = new Date(moment * 60000);
    if (!tell.isPlain) { return tell.date(at, { weekday: "short", day: "numeric", month: "short", timeZone: "UTC" }); }
    const [weekday, date, month] = at.toUTCString().replace(",", "").split(" ");
    return weekday + " " + Number(date) + " " + month;
  }
  function moment(at) { return day(at) + " " + clock(at); }
  function now() { return Math.floor(Date.now() / 60000) - new Date().getTimezoneOffset(); }
  function minutes(seconds) { return Math.floor(seconds / 60 + 0.5); }

  function isNight(moment, night) {
    const at = moment % 1440;
    return night[0] <= night[1] ? night[0] <= at && at < night[1] : at >= night[0] || at < night[1];
  }
  function touchesNight(start, end, night) {
    if (night[0] === night[1]) { return false; }
    if (isNight(start, night)) { return true; }
    let falls = Math.floor(start / 1440) * 1440 + night[0];
    if (falls < start) { falls += 1440; }
    return falls < end;
  }

  function plan(data, anchor, isFinish, night) {
    const total = data.total.map(minutes), begin = isFinish ? anchor - total[1] : anchor, end = begin + total[1];
    const steps = data.steps.map((step) => {
      const start = begin + minutes(step.start), done = begin + minutes(step.end);
      const inNight = step.hands_on ? (touchesNight(start, done, night) ? "hands-on" : "") : (isNight(start, night) ? "begins" : "");
      const reminders = step.repeats.map((offset) => {
        const at = begin + minutes(step.start + offset);
        return { at, inNight: isNight(at, night) };
      });
      return { step, start, end: done, night: inNight, reminders };
    });
    return {
      steps, start: begin, finish: end, finishLow: begin + total[0], finishHigh: begin + total[2],
      startEarly: end - total[2], isOpen: data.is_open,
    };
  }

  /* Another time without work in the night: handbook/page/clock.py, nearest_shift and night_advice. */

  function isUp(each, by, night, handsOnOnly) {
    if (each.step.hands_on && touchesNight(each.start + by, each.end + by, night)) { return true; }
    if (handsOnOnly) { return false; }
    return isNight(each.start + by, night) || each.reminders.some((one) => isNight(one.at + by, night));
  }
  function nearestShift(made, night, handsOnOnly, earliest) {
    function spares(shift) {
      return !(earliest !== null && made.start + shift < earliest)
        && !made.steps.some((each) => isUp(each, shift, night, handsOnOnly));
    }
    for (const step of [rules.roundStep, 1]) {
      for (let far = 0; far <= rules.farthest; far += step) {
        if (spares(far)) { return far; }
        if (spares(-far)) { return -far; }
      }
    }
    return null;
  }
  /* The advice, and the shift to the suggested time in minutes, or null. */
  function nightAdvice(made, isFinish, night, now) {
    const up = made.steps.filter((each) => isUp(each, 0, night, false)).map((each) => each.step.number);
    if (!up.length) { return { said: tell("Nobody has to be up in the night."), shift: null }; }
    const earliest = now === null || made.start < now ? null : now;
    const advice = (words, shift) => ({ said: tell("Somebody is up in the night for step %(steps)s.", { steps: up.join(", ") }) + " " + words, shift });
    const moved = (shift) => ({ moment: moment((isFinish ? made.finish : made.start) + shift) });
    const free = nearestShift(made, night, false, earliest);
    if (free !== null) {
      return advice(isFinish ? tell("The nearest time that spares the night: served %(moment)s.", moved(free))
        : tell("The nearest time that spares the night: start %(moment)s.", moved(free)), free);
    }
    const handsFree = nearestShift(made, night, true, earliest);
    if (handsFree === null) { return advice(tell("No time within two days either way keeps the hands-on steps out of the night."), null); }
    if (handsFree === 0) { return advice(tell("No time within two days either way spares the night; no hands-on step falls in it."), null); }
    return advice(isFinish
      ? tell("No time within two days either way spares the night; the nearest with no hands-on step in it: served %(moment)s.", moved(handsFree))
      : tell("No time within two days either way spares the night; the nearest with no hands-on step in it: start %(moment)s.", moved(handsFree)), handsFree);
  }

  /* ---- Calendar file, RFC 5545 ---- */

  function escape(text) { return tell.bare(text).replace(/[\\;,]/g, "\\$&").replace(/\n/g, "\\n"); }
  function fold(line) {
    const encoder = new TextEncoder(), pieces = [];
    let piece = "", size = 0;
    [...line].forEach((character) => {
      const octets = encoder.encode(character).length;
      if (size + octets > rules.lineOctets) { pieces.push(piece); piece = " "; size = 1; }
      piece += character;
      size += octets;
    });
    return pieces.concat(piece).join("\r\n");
  }
  function stampOf(moment) { return written(moment).replace(/[-:]/g, ""); }
  function calendarFile(kind, events) {
    return ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Cook-method handbook//" + kind + "//EN", "CALSCALE:GREGORIAN", ...events, "END:VCALENDAR"]
      .map((line) => fold(line) + "\r\n").join("");
  }
  function calendar(made, data, stamp) {
    const lines = [];
    function event(key, start, end, summary, description, place, isBusy) {
      lines.push("BEGIN:VEVENT", "UID:" + data.name + "-" + stampOf(made.start) + "-" + key + "@handbook.invalid",
        "DTSTAMP:" + stamp, "DTSTART:" + stampOf(start) + "00");
      if (end > start) { lines.push("DTEND:" + stampOf(end) + "00"); }
      lines.push("SUMMARY:" + escape(summary), "DESCRIPTION:" + escape(description));
      if (place) { lines.push("LOCATION:" + escape(place)); }
      lines.push("TRANSP:" + (isBusy ? "OPAQUE" : "TRANSPARENT"), "BEGIN:VALARM", "ACTION:DISPLAY", "TRIGGER:PT0S",
        "DESCRIPTION:" + escape(summary), "END:VALARM", "END:VEVENT");
    }
    const night = (kind) => data.night_words[kind] ? " " + data.night_words[kind] : "";
    made.steps.forEach((each) => {
      const step = each.step;
      event(String(step.number), each.start, each.end, step.summary, step.description + night(each.night), step.place, step.hands_on);
      each.reminders.forEach((one, index) => {
        event(step.number + "-" + (index + 1), one.at, one.at, step.number + ". " + step.repeat_do,
          data.title + ". " + tell("%(count)s of %(all)s.", { count: index + 1, all: each.reminders.length }) + (one.inNight ? night("hands-on") : ""), step.place, true);
      });
    });
    event("end", made.finish, made.finish, tell("Ready: %(title)s", { title: data.title }), data.caution, "", false);
    return calendarFile("Plan", lines);
  }

  /* Hours in which nobody is up, in minutes of the day: the reader's own, else the engine's. */
  function night() {
    const kept = (window.handbookKept.get("night") || "").split(" ").map(parseTime);
    return kept.length === 2 && kept[0] !== null && kept[1] !== null ? kept : rules.night;
  }

  window.handbookPlanner = { plan, calendar, nightAdvice, parseMoment, parseTime, moment, now, night, escape, calendarFile };

  /* ---- In the page ---- */

  function times(each) {
    const shown = each.reminders.map((one) => one.inNight ? tell("%(time)s (night)", { time: clock(one.at) }) : clock(one.at));
    return shown.length > rules.mostTimes ? tell("%(num)s times, %(first)s to %(last)s", { num: shown.length, first: shown[0], last: shown.at(-1) }) : shown.join(", ");
  }
  function fill(body, made) {
    body.replaceChildren(...made.steps.map((each) => {
      const head = element("th", { scope: "row" }, each.step.number + ". " + each.step.do);
      if (each.reminders.length) { head.append(" ", element("span", "row-note", each.step.repeat_do + ": " + times(each))); }
      if (each.night) { head.append(" ", element("span", "flag flag-off", each.night === "hands-on" ? tell("hands-on in the night") : tell("begins in the night"))); }
      const figure = (label, text) => element("td", { class: "num", "data-label": label }, text);
      return element("tr", "", head, element("td", "step-place", each.step.place + ", " + (each.step.hands_on ? tell("hands-on") : tell("waiting"))),
        figure(tell("takes"), each.step.takes), figure(tell("begins"), moment(each.start)), figure(tell("done"), moment(each.end)));
    }));
  }
  function words(made, isFinish, advice) {
    const start = { moment: moment(made.start), early: moment(made.startEarly) };
    const finish = { moment: moment(made.finish), first: moment(made.finishLow), last: moment(made.finishHigh) };
    const said = [isFinish
      ? (made.isOpen ? tell("Begin %(moment)s, or earlier: how long a slow piece takes is not known.", start) : made.startEarly < made.start ? tell("Begin %(moment)s; to be sure, if every step takes its longest, %(early)s.", start) : tell("Begin %(moment)s.", start))
      : (made.isOpen ? tell("Ready %(moment)s, at the soonest %(first)s; slow pieces later.", finish) : made.finishHigh > made.finishLow ? tell("Ready %(moment)s, between %(first)s and %(last)s.", finish) : tell("Ready %(moment)s.", finish))];
    const unknown = made.steps.filter((each) => each.step.isUnknown).map((each) => each.step.number).join(", ");
    if (unknown) { said.unshift(tell("Not computed for this piece: the time of step %(steps)s. The plan takes that of the page's own piece.", { steps: unknown })); }
    said.push(advice.said);
    if (made.start < now()) { said.push(tell("That start has passed.")); }
    const offset = (moment) => new Date(written(moment)).getTimezoneOffset(); // without a zone: the reader's own
    if (offset(made.start) !== offset(made.finish)) { said.push(tell("The clocks change in between: check the hour.")); }
    return said.join(" ");
  }

  function fit(form, data) {
    const field = form.elements["plan-moment"], way = form.elements["plan-way"];
    const from = form.elements["night-from"], to = form.elements["night-to"];
    const status = document.getElementById("plan-status"), button = form.querySelector("[data-plan-download]");
    const body = document.getElementById("plan-cap").closest("table").tBodies[0];
    const take = form.querySelector("[data-plan-take]");
    let made = null, suggested = null;

    field.value = window.handbookSheet.state.ready;
    [from.value, to.value] = night().map(clock);

    function draw() {
      const anchor = parseMoment(field.value), night = [parseTime(from.value), parseTime(to.value)];
      button.disabled = anchor === null;
      if (anchor === null) { return; }
      window.handbookKept.set("night", from.value + " " + to.value);
      const isFinish = way.value === "finish";
      const hours = night[0] === null || night[1] === null ? [0, 0] : night;
      made = plan(data, anchor, isFinish, hours);
      const advice = nightAdvice(made, isFinish, hours, now());
      suggested = advice.shift === null ? null : anchor + advice.shift;
      take.hidden = suggested === null;
      fill(body, made);
      document.getElementById("plan-words").textContent = isFinish ? tell("Served %(moment)s", { moment: moment(anchor) }) : tell("Started %(moment)s", { moment: moment(anchor) });
      status.textContent = words(made, isFinish, advice);
    }
    form.addEventListener("input", () => {
      draw();
      window.handbookSheet.setReady(way.value === "finish" ? field.value : "");
    });
    form.addEventListener("submit", (event) => { event.preventDefault(); });
    button.addEventListener("click", () => {
      window.handbookParts.offer(data.name + "-" + stampOf(made.start) + ".ics", "text/calendar", calendar(made, data, window.handbookParts.stamp(Date.now())));
    });
    take.addEventListener("click", () => {
      field.value = written(suggested);
      draw();
      field.focus(); // the button with the focus is hidden now
    });
    draw();
  }

  document.addEventListener("DOMContentLoaded", () => {
    const block = document.getElementById("method-data"), form = document.getElementById("plan-form");
    if (block && form) { fit(form, window.handbookSheet.data()); }
  });
}());
