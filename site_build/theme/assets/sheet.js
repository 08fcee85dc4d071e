/* The reader's batch and piece are the state of a method's pages. They are kept in the address, survive a reload, are
   passed from page to page, and change amounts, containers, times, the kitchen view and the print. */
(function () {
  "use strict";

  const tell = window.handbookTell, rules = window.handbookRules;

  const tools = window.handbookBatch, element = window.handbookParts.element, root = document.documentElement;
  const block = document.getElementById("method-data");
  const written = block ? JSON.parse(block.textContent) : null;
  const state = { batch: null, piece: null, container: "", ready: "" };

  /* ---- The address ---- */

  /* A number above 0 with its unit, such as "7.3 kg" or "1 1/2 in"; without one it is in `own`. Null: not understood. */
  function measured(text, units, own) {
    const found = /^(.*?)\s*([a-z]*)$/i.exec((text || "").trim()), unit = found[2].toLowerCase() || own;
    const number = Object.hasOwn(units, unit) ? tools.parseNumber(found[1]) : null;
    return number === null ? null : { number, unit, value: number * units[unit] };
  }
  function readAddress() {
    const query = new URLSearchParams(location.search);
    state.batch = measured(query.get("batch"), rules.masses, "kg");
    if (state.batch && state.batch.value > rules.mostBatch) { state.batch = null; }
    state.piece = measured(query.get("piece"), rules.lengths, "mm");
    state.container = query.get("container") || "";
    state.ready = /^\d{4}-\d\d-\d\dT\d\d:\d\d$/.test(query.get("ready") || "") ? query.get("ready") : "";
  }
  function writeAddress() {
    const written = (each) => each && each.number + each.unit;
    const text = window.handbookParts.keepInAddress({ ...state, batch: written(state.batch), piece: written(state.piece) });
    const own = [...document.querySelectorAll(".layers a")].map((link) => link.pathname);
    document.querySelectorAll(".layers a, .bar-parts a, .doors a, .standing a, .work-limit a, #sheet a[data-state]").forEach((link) => {
      if (link.search !== text && own.includes(link.pathname)) { link.search = text; }
    });
  }

  /* ---- The page's data for the state ---- */

  function food() { return state.batch ? state.batch.value : written.written_for; }
  function thickness() { return state.piece ? state.piece.value : null; }
  function data() { return { ...written, ...tools.stepsFor(written, thickness()), food: food() }; }
  function massText(kg) { return root.dataset.units === "pounds" ? tools.formatPounds(kg) : tools.formatMass(kg); }
  function said(value, alternative) { return value ? value.number + " " + value.unit : alternative; }

  /* Whole pieces for this batch, such as "6 leaves", to the nearest half. */
  function piecesText(pieces) {
    const count = Math.round(2 * pieces[0] * food() / written.written_for) / 2, name = pieces[1].replace(/^[\d.\s]+/, "");
    return count < 0.5 ? tell("less than half of one") : String(count).replace(/\.5$/, "½").replace(/^0½/, "½") + " " + name;
  }
  /* The amount of one row of a mixture: its mass, and its spoons where they are near enough. */
  function amount(each) {
    const hasSpoons = each.household && !each.cupSpread && !each.spoonsOff;
    return [element("span", "mass", massText(each.kg)), ...(hasSpoons ? [" ", element("span", "household", each.household)] : [])];
  }
  function drawMixture(table, mixture) {
    const made = tools.column(mixture, food(), written, state.container);
    [...table.tBodies[0].rows].forEach((row, index) => {
      const each = made.rows[index], pieces = mixture.parts[index].pieces, parts = amount(each);
      if (pieces) { parts.push(" ", element("span", "pieces", piecesText(pieces))); }
      if (each.roundingOff) { parts.push(" ", element("span", "flag flag-off", each.roundingOff)); }
      row.cells[1].replaceChildren(...parts);
    });
    return made;
  }
  function drawVessel(place, fill) {
    if (!place || !fill) { return; }
    place.replaceChildren(...tell.around(tell("In the %(vessel)s"), { vessel: element("b", "", fill.name) }));
    if (fill.overflows) { place.append(": ", element("span", "flag flag-over", tell("runs over"))); }
    else if (!fill.covers) { place.append(": ", element("span", "flag flag-off", tell("the brine does not cover"))); }
  }
  function drawAmounts() {
    const words = [];
    written.mixtures.forEach((mixture, index) => {
      const table = document.querySelector('[data-mixture="' + index + '"]');
      if (!table) { return; }
      const made = drawMixture(table, mixture), use = document.querySelector('[data-use="' + index + '"]');
      drawVessel(document.querySelector('[data-vessel="' + index + '"]'), made.fill);
      if (use) {
        use.querySelector(".mass").textContent = massText(made.kg);
        if (use.querySelector(".household")) { use.querySelector(".household").textContent = made.volume; }
      }
      const values = { mixture: mixture.name + " " + massText(made.kg), vessel: made.fill ? made.fill.name : "" };
      words.push(!made.fill ? values.mixture : made.fill.overflows ? tell("%(mixture)s, %(vessel)s runs over", values)
        : made.fill.covers ? tell("%(mixture)s, %(vessel)s fits", values) : tell("%(mixture)s, %(vessel)s: not covered", values));
    });
    return words;
  }
  function drawSteps(now) {
    const planner = window.handbookPlanner;
    const plan = state.ready && !now.unknown.length ? planner.plan(now, planner.parseMoment(state.ready), true, planner.night()) : null;
    const late = plan ? plan.steps.filter((each) => each.night).map((each) => each.step.number) : [];
    now.steps.forEach((step, index) => {
      const item = document.querySelector('[data-step="' + step.number + '"]');
      if (!item) { return; }
      item.querySelector("[data-takes]").textContent = step.takes;
      const typical = item.querySelector("[data-typical]");
      if (typical) { typical.textContent = step.isUnknown ? "" : tell("typically %(typical)s", { typical: tools.formatTimeRange(step.typical, step.typical, step.typical) }); }
      item.querySelector("[data-when]").textContent = plan ? tell("Begin %(moment)s.", { moment: planner.moment(plan.steps[index].start) }) : "";
    });
    document.querySelectorAll("[data-total]").forEach((place) => {
      place.textContent = now.unknown.length ? tell("an unknown time") : tools.formatTimeRange(now.total[0], now.total[1], now.total[2], now.is_open);
    });
    document.querySelectorAll("[data-said-ready]").forEach((place) => {
      const times = plan ? { finish: planner.moment(plan.finish), start: planner.moment(plan.start), steps: late.join(", ") } : {};
      place.textContent = !plan ? "" : (late.length ? tell("Ready %(finish)s: begin %(start)s; up in the night for step %(steps)s.", times)
        : tell("Ready %(finish)s: begin %(start)s.", times))
        + (plan.start < planner.now() ? " " + tell("That beginning has passed.") : "") + " ";
    });
  }
  /* The safety verdicts are for the page's own piece. Another piece is mentioned at the standing. */
  function pieceWords() {
    const place = document.querySelector("[data-said-piece][data-low]"), piece = thickness();
    const own = written ? written.piece : place && { low: Number(place.dataset.low), high: Number(place.dataset.high), text: place.dataset.written };
    if (piece === null || !own || (piece >= own.low * 0.999 && piece <= own.high * 1.001)) { return ""; }
    const isThick = piece > own.high;
    const sizes = { piece: said(state.piece), own: own.text };
    return (isThick
      ? tell("%(piece)s is thicker than the %(own)s that this sheet is judged for: the core warms and cools more slowly and the centre takes less salt.", sizes)
      : tell("%(piece)s is thinner than the %(own)s that this sheet is judged for: it salts and dries faster.", sizes))
      + " " + tell("No limit is judged for this piece: measure each yourself, or give it a sheet of its own.") + " ";
  }
  /* For another piece the page does not show any limit as met. */
  function drawJudged() {
    const words = pieceWords();
    root.toggleAttribute("data-unjudged", Boolean(words));
    document.querySelectorAll("[data-piece-said]").forEach((place) => { place.textContent = words; place.hidden = !words; });
    document.querySelectorAll("[data-limit], .limit-verdict").forEach((place) => {
      place.dataset.limit = place.dataset.limit || place.textContent;
      place.textContent = !words ? place.dataset.limit : place.matches("a") ? tell("Limit, not judged for this piece:") : tell("not judged for this piece");
    });
  }
  /* The wall card: one column for the reader's batch in place of those of the sheet, and the times of the reader's piece. */
  function drawCard(now) {
    document.querySelectorAll("[data-card]").forEach((table) => {
      const built = table.handbookRows || (table.handbookRows = [...table.rows].map((row) => [...row.cells]));
      const made = state.batch ? tools.column(written.mixtures[table.dataset.card], food(), written, state.container) : null;
      built.forEach((cells, index) => {
        const row = cells[0].parentElement;
        if (!made) { row.replaceChildren(...cells); return; }
        const cell = cells[1].cloneNode(false);
        cell.append(...(index ? amount(made.rows[index - 1]) : [massText(food())]));
        row.replaceChildren(cells[0], cell);
      });
    });
    document.querySelectorAll("[data-card-step]").forEach((row, index) => {
      const step = now.steps[index], cells = row.cells;
      cells[2].textContent = step.takes;
      cells[3].textContent = step.begins;
    });
    document.querySelectorAll("[data-card-portions]").forEach((place) => { place.hidden = Boolean(state.batch); });
  }
  function draw() {
    document.querySelectorAll("[data-said-batch]").forEach((place) => {
      if (state.batch || written) { place.textContent = massText(state.batch ? state.batch.value : food()); }
    });
    document.querySelectorAll("[data-said-piece]").forEach((place) => {
      place.textContent = said(state.piece, place.dataset.written || (place.dataset.written = place.textContent));
    });
    drawJudged();
    if (!written) { return; }
    const now = data(), words = drawAmounts();
    document.querySelectorAll("[data-food]").forEach((place) => { place.textContent = massText(food()); });
    drawSteps(now);
    drawCard(now);
    markRows();
    return words;
  }
  function markRows() {
    const caption = document.getElementById("thick-cap");
    if (!caption) { return; }
    const rows = [...caption.closest("table").tBodies[0].rows];
    const found = thickness() === null ? [] : tools.thicknessRows(thickness(), written.thicknesses);
    rows.forEach((row, index) => { row.classList.toggle("my-row", found.includes(index)); row.cells[0].dataset.mine = tell("my piece:") + " "; });
  }

  /* ---- The form ---- */

  function say(field, text) {
    const note = document.getElementById(field.id + "-note");
    field.setAttribute("aria-invalid", text ? "true" : "false");
    note.textContent = text;
    note.hidden = !text;
  }
  function shown(value, digits) { return String(Number(value.toPrecision(digits))); }

  function fitForm(form) {
    const field = (name) => form.elements[name];
    const status = document.getElementById("batch-status");
    let saying = 0, isTyped = false;
    /* The live text waits until the typing stops, so that a screen reader does not announce every digit. */
    function changed() {
      writeAddress();
      const words = draw();
      clearTimeout(saying);
      saying = setTimeout(() => { status.textContent = tell("For %(mass)s of food: %(amounts)s.", { mass: massText(food()), amounts: words.join("; ") }); }, 500);
    }
    function showWeight() {
      const unit = field("batch-unit").value;
      field("batch-weight").value = state.batch && state.batch.unit === unit ? state.batch.number : shown(food() / rules.masses[unit], 6);
      say(field("batch-weight"), "");
      isTyped = false;
    }
    function showPortions() { field("batch-portions").value = shown(food() / written.written_for * written.portions, 3); say(field("batch-portions"), ""); }
    function take(number, unit, from, refresh) {
      if (number === null) { say(from, from === field("batch-weight") ? tell("Write a number above 0 in kg, g, lb or oz, such as 2.5 kg; for thousands no comma.") : tell("Write a number above 0, such as 22.")); return; }
      if (number * rules.masses[unit] > rules.mostBatch) { say(from, tell("More than this sheet counts with: at most %(most)s.", { most: massText(rules.mostBatch) })); return; }
      say(from, "");
      state.batch = { number, unit, value: number * rules.masses[unit] };
      refresh.forEach((each) => { each(); });
      changed();
    }
    function showAll() {
      if (state.batch) { field("batch-unit").value = state.batch.unit; }
      showWeight(); showPortions();
      if (field("batch-container")) { field("batch-container").value = state.container; }
      field("piece-thickness").value = state.piece ? state.piece.number : "";
      if (state.piece) { field("piece-unit").value = state.piece.unit; }
      field("ready-by").value = state.ready;
      say(field("piece-thickness"), "");
    }
    function takePiece() {
      const input = field("piece-thickness"), piece = measured(input.value, rules.lengths, field("piece-unit").value);
      const isEmpty = input.value.trim() === "";
      say(input, isEmpty || piece ? "" : tell("Write a number above 0, such as 22."));
      if (!isEmpty && !piece) { return; }
      if (piece) { field("piece-unit").value = piece.unit; }
      state.piece = piece;
      changed();
    }
    function takeWeight() {
      const mass = measured(field("batch-weight").value, rules.masses, field("batch-unit").value);
      isTyped = true;
      if (mass) { field("batch-unit").value = mass.unit; }
      take(mass && mass.number, mass && mass.unit, field("batch-weight"), [showPortions]);
    }
    field("batch-weight").addEventListener("input", takeWeight);
    /* A number that was just typed gets the unit picked after it; a number written by the sheet is converted. */
    field("batch-unit").addEventListener("change", () => {
      if (isTyped && tools.parseNumber(field("batch-weight").value) !== null) { takeWeight(); } else { showWeight(); }
    });
    field("batch-portions").addEventListener("input", () => {
      const number = tools.parseNumber(field("batch-portions").value);
      take(number === null ? null : Number(shown(written.written_for * number / written.portions, 6)), "kg", field("batch-portions"), [showWeight]);
    });
    form.querySelectorAll("[data-size]").forEach((button) => {
      button.addEventListener("click", () => {
        const kg = Number(button.dataset.size), isSmall = kg < 1;
        field("batch-unit").value = isSmall ? "g" : "kg";
        take(isSmall ? Number(shown(kg * 1000, 6)) : kg, isSmall ? "g" : "kg", field("batch-weight"), [showWeight, showPortions]);
      });
    });
    if (field("batch-container")) {
      field("batch-container").addEventListener("change", () => {
        const picked = written.containers.find((each) => each.name === field("batch-container").value);
        state.container = picked ? picked.name : "";
        if (!picked) { changed(); return; }
        const most = written.mixtures.filter((each) => each.holds_food).map((each) => tools.mostFood(picked, each, written));
        field("batch-unit").value = "kg";
        take(Math.min(...most) || null, "kg", field("batch-weight"), [showWeight, showPortions]);
      });
    }
    field("piece-thickness").addEventListener("input", takePiece);
    field("piece-unit").addEventListener("change", takePiece);
    field("ready-by").addEventListener("input", () => { state.ready = field("ready-by").value; changed(); });
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      form.closest("details").open = false;
      form.closest("details").querySelector("summary").focus({ preventScroll: true });
      document.getElementById("need").scrollIntoView({ block: "start" });
    });
    form.addEventListener("reset", () => {
      Object.assign(state, { batch: null, piece: null, container: "", ready: "" });
      setTimeout(() => { showAll(); changed(); }, 0);
    });
    form.closest("details").addEventListener("toggle", () => {
      if (form.closest("details").open && matchMedia("(pointer: fine)").matches === false) { field("batch-weight").select(); }
    });
    showAll();
  }

  /* ---- Panels of the bar; old links to a part on another page ---- */

  function fitPanels() {
    const panels = [...document.querySelectorAll(".bar-tool")], bar = document.getElementById("bar");
    function close(but) { panels.forEach((each) => { if (each !== but) { each.open = false; } }); }
    panels.forEach((panel) => {
      panel.addEventListener("toggle", () => {
        if (!panel.open) { return; }
        close(panel);
        // A panel opens below the bar: on a small screen there is room for it only when the bar is at the top.
        const top = bar.getBoundingClientRect().top;
        if (top > 0 && innerWidth < 768) { scrollBy(0, top); }
      });
      panel.addEventListener("keydown", (event) => {
        if (event.key === "Escape" && panel.open) { panel.open = false; panel.querySelector("summary").focus(); }
      });
    });
    document.addEventListener("click", (event) => {
      if (!event.target.closest(".bar-tool") || event.target.closest(".bar-parts a")) { close(null); }
    });
  }
  function leadOn() {
    const found = location.hash.length > 1 ? document.getElementById(decodeURIComponent(location.hash.slice(1))) : null;
    if (found && found.hasAttribute("data-elsewhere")) { location.replace(found.href); }
    else if (found && found.matches("details.words")) { found.open = true; found.scrollIntoView(); }
  }

  window.handbookSheet = {
    data, state, draw, massText,
    setReady(text) { state.ready = text; writeAddress(); draw(); },
  };
  document.addEventListener("DOMContentLoaded", () => {
    readAddress();
    fitPanels();
    const form = document.getElementById("batch-form"), hasState = location.search.length > 1;
    if (form && written) { fitForm(form); }
    writeAddress();
    if (hasState || root.dataset.units === "pounds") { draw(); }
    leadOn();
    // A desk screen has room for the keeper's words; on a phone they open on request.
    if (matchMedia("(min-width: 64rem)").matches) { document.querySelectorAll(".work-right details.words").forEach((each) => { each.open = true; }); }
  });
  window.addEventListener("hashchange", leadOn);
  window.addEventListener("popstate", () => { readAddress(); draw(); });
}());
