/* My batch: the brine table for the reader's own amount of food, worked out in the page from the build's own numbers.
   Each step is the engine's (handbook/measures.py, container.py, formats.py), in the same order of operations, so that
   the figures agree to the last digit shown. The page stands without it. */
(function () {
  "use strict";

  const MOST_FOOD = 5000; // kg, the largest batch that a page may state

  /* ---- Numbers: halves go to the even digit, as at build time; toFixed alone takes them up ---- */

  function fixed(value, digits) {
    const plain = value.toFixed(digits);
    const exact = Math.abs(value).toFixed(digits + 40);
    const tail = exact.slice(exact.length - 40);
    if (!/^50*$/.test(tail)) { return plain; }
    const kept = exact.slice(0, exact.length - 40).replace(/\.$/, "");
    const even = "02468".indexOf(kept[kept.length - 1]) >= 0;
    return even ? (value < 0 ? "-" : "") + kept : plain;
  }
  function formatNumber(value, digits) {
    let text = fixed(value, digits);
    if (Number(text) === 0) { text = text.replace(/^-/, ""); }
    return text.replace("-", "−");
  }
  function halfEven(value) { return Number(fixed(value, 0)); }
  function rounded(value, digits) { return Number(fixed(value, digits)); }

  function formatMass(kg) {
    const grams = kg * 1000;
    if (grams < 20) { return formatNumber(grams, 1) + " g"; }
    if (grams < 999.5) { return formatNumber(grams, 0) + " g"; }
    return formatNumber(kg, kg < 10 ? 2 : 1) + " kg";
  }
  function formatVolume(m3) {
    const litres = m3 * 1000;
    return litres < 0.9995 ? formatNumber(litres * 1000, 0) + " mL" : formatNumber(litres, litres < 10 ? 2 : 1) + " L";
  }
  function formatLength(m) { return m < 0.1 ? formatNumber(m * 1000, 0) + " mm" : formatNumber(m * 100, 0) + " cm"; }
  function formatSignedPercent(fraction) {
    const text = formatNumber(fraction * 100, 0);
    return text[0] === "−" || Number(text) === 0 ? text + " %" : "+" + text + " %";
  }
  function sum(values) { return values.reduce(function (total, value) { return total + value; }, 0); }

  /* ---- Scale, cups and spoons ---- */

  function weighed(mass, scale) {
    const step = mass < scale.fine_limit ? scale.fine_step : scale.step;
    const shown = halfEven(mass / step) * step;
    return { mass: shown, error: mass ? (shown - mass) / mass : 0 };
  }
  /* Measures in spoons, as the build lists them, and those in cups near the volume: [pieces, vessel, volume, words]. */
  function candidates(volume, data) {
    const found = data.spoons.slice(), near = Math.floor(volume / data.measures.cup);
    for (let whole = Math.max(near - 1, 0); whole < near + 2; whole += 1) {
      data.cup_parts.forEach(function (each) {
        const cups = whole + each[0], name = (each[1] ? (whole || "") + each[1] : whole) + (cups <= 1 ? " cup" : " cups");
        for (let spoons = 0; cups && spoons < 4; spoons += 1) {
          found.push([spoons ? 2 : 1, 0, cups * data.measures.cup + spoons * data.measures.tbsp,
            name + (spoons ? " + " + spoons + " tbsp" : "")]);
        }
      });
    }
    return found;
  }
  function isBefore(one, other) {
    for (let place = 0; place < one.length; place += 1) {
      if (one[place] !== other[place]) { return one[place] < other[place]; }
    }
    return false;
  }
  function nearestMeasure(volume, data) {
    if (volume < data.measures.tsp / 16) { return { text: "less than ⅛ tsp", error: 0 }; }
    let best = null, bestRank = null;
    candidates(volume, data).forEach(function (each) {
      const error = rounded(Math.abs(each[2] / volume - 1), 9);
      const rank = error <= data.good_enough ? [0, each[0], each[1], error] : [1, error, each[0], each[1]];
      if (best === null || isBefore(rank, bestRank)) { best = each; bestRank = rank; }
    });
    return { text: best[3], error: best[2] / volume - 1 };
  }

  /* ---- Container ---- */

  function filled(container, foodVolume, brineVolume, data) {
    const bed = foodVolume / data.packing_fraction / container.area;
    const level = (brineVolume + foodVolume) / container.area;
    const cover = container.area * (bed + data.cover) - foodVolume;
    return {
      container: container, cover: cover, covers: brineVolume >= cover, level: level,
      overflows: Math.max(level, bed) * container.area > container.volume,
    };
  }
  function chosen(named, foodVolume, brineVolume, data) {
    const fills = data.containers.filter(function (each) { return !named || each.name === named; })
      .map(function (each) { return filled(each, foodVolume, brineVolume, data); })
      .sort(function (one, other) { return one.container.volume - other.container.volume; });
    return fills.find(function (each) { return !each.overflows; }) || fills[fills.length - 1] || null;
  }
  /* Food in kg that a container takes with its share of brine, two figures, rounded down. */
  function mostFood(container, mixture, data) {
    const brine = sum(mixture.parts.map(function (part) { return part.mass; }));
    const perFood = Math.max(1 / data.food_density + brine / data.written_for / mixture.density,
      1 / (data.packing_fraction * data.food_density));
    const most = container.volume / perFood;
    if (!(most > 0)) { return 0; }
    const place = Math.pow(10, Math.floor(Math.log10(most)) - 1);
    return Number((Math.floor(most / place * (1 - 1e-12)) * place).toPrecision(2));
  }

  /* ---- One mixture for an amount of food: the cells of a column of the built table ---- */

  function column(mixture, food, data, named) {
    const factor = food / data.written_for;
    const masses = mixture.parts.map(function (part) { return part.mass * factor; });
    const rows = mixture.parts.map(function (part, index) {
      const scaled = masses[index];
      const onScale = weighed(scaled, data.scale);
      const spoons = part.density !== null && scaled > 0 ? nearestMeasure(scaled / part.density, data) : null;
      return {
        name: part.name, note: part.note, cupSpread: part.cup_spread, mass: formatMass(onScale.mass),
        household: spoons ? spoons.text : "",
        spoonsOff: spoons && Math.abs(spoons.error) > data.tolerance ? "spoons " + formatSignedPercent(spoons.error) : "",
        roundingOff: Math.abs(onScale.error) >= 0.02 ? "rounding " + formatSignedPercent(onScale.error) : "",
      };
    });
    const mass = sum(masses);
    const volume = mixture.density ? mass / mixture.density : null;
    const fill = mixture.holds_food && volume
      ? chosen(named || mixture.container, food / data.food_density, volume, data) : null;
    return {
      food: formatMass(food), rows: rows, total: formatMass(mass), volume: volume ? formatVolume(volume) : "",
      toFood: mixture.is_wet ? formatNumber(mass / food, 2) + " : 1" : "",
      fill: fill && {
        name: fill.container.name, cover: formatVolume(fill.cover), covers: fill.covers,
        level: formatLength(fill.level) + " of " + formatLength(fill.container.height), overflows: fill.overflows,
      },
    };
  }

  /* ---- What the reader types ---- */

  /* A number above 0 or null. One comma counts as the decimal sign, unless it may stand for thousands. */
  function parseNumber(text) {
    const plain = text.trim();
    if (/^\d{1,6},\d{1,2}$/.test(plain)) { return parseNumber(plain.replace(",", ".")); }
    return /^(\d{1,6}(\.\d{0,6})?|\.\d{1,6})$/.test(plain) && Number(plain) > 0 ? Number(plain) : null;
  }
  /* The rows of the table of times that a thickness in m falls on: one, or the two beside it. */
  function thicknessRows(thickness, rows) {
    const exact = rows.findIndex(function (row) { return Math.abs(row.thickness - thickness) < 5e-5; });
    if (exact >= 0) { return [exact]; }
    const above = rows.findIndex(function (row) { return row.thickness > thickness; });
    return above > 0 ? [above - 1, above] : [];
  }

  window.handbookBatch = {
    column: column, mostFood: mostFood, parseNumber: parseNumber, thicknessRows: thicknessRows,
    formatNumber: formatNumber, formatMass: formatMass,
  };

  /* ---- The table in the page ---- */

  function node(name, attributes, children) {
    const made = document.createElement(name);
    Object.keys(attributes || {}).forEach(function (key) { made.setAttribute(key, attributes[key]); });
    (children || []).forEach(function (child) { if (child) { made.append(child); } });
    return made;
  }
  function flag(kind, text) { return text ? node("span", { "class": "flag flag-" + kind }, [text]) : null; }
  function spaced(parts) {
    return parts.filter(Boolean).reduce(function (all, part) { return all.concat(all.length ? [" ", part] : [part]); }, []);
  }
  function row(label, cell, kind) {
    return node("tr", kind ? { "class": kind } : {}, [
      node("th", { scope: "row" }, spaced(label)), node("td", { "class": "num" }, spaced(cell))]);
  }
  function table(mixture, made, id) {
    const body = made.rows.map(function (each) {
      return row([each.name, each.note && node("span", { "class": "row-note" }, [each.note]),
        flag("off flag-spoons", each.cupSpread && "a cup may be off by " + each.cupSpread + ": weigh")],
      [node("span", { "class": "mass" }, [each.mass]),
        each.household && node("span", { "class": "household" }, [each.household]),
        flag("off flag-spoons", each.spoonsOff), flag("off", each.roundingOff)]);
    });
    body.push(row([mixture.is_wet ? "Brine, total" : "Mixture, total"], [node("span", { "class": "mass" }, [made.total]),
      made.volume && node("span", { "class": "household" }, [made.volume])], "total"));
    if (mixture.is_wet) { body.push(row(["Brine : food"], [made.toFood])); }
    if (made.fill) {
      body.push(node("tr", { "class": "group" }, [node("th", { scope: "rowgroup", colspan: "2" }, ["In the container"])]));
      body.push(row(["Container"], [made.fill.name]));
      body.push(row(["Brine needed to cover"], [made.fill.cover, made.fill.covers ? null : flag("off", "not covered")]));
      body.push(row(["Level with the food in"],
        [made.fill.level, made.fill.overflows ? flag("over", "runs over") : flag("ok", "fits")]));
    }
    const name = mixture.name.charAt(0).toUpperCase() + mixture.name.slice(1);
    return node("div", { "class": "table-region", role: "region", "aria-labelledby": id, tabindex: "0" }, [
      node("table", { "class": "data" }, [
        node("caption", { id: id }, [name + " for my batch"]),
        node("thead", {}, [node("tr", {}, [node("th", { scope: "col" }, ["Ingredient"]),
          node("th", { scope: "col", "class": "num" }, [made.food])])]),
        node("tbody", {}, body)])]);
  }

  function say(field, text) {
    const note = document.getElementById(field.id + "-note");
    field.setAttribute("aria-invalid", text ? "true" : "false");
    note.textContent = text;
    note.hidden = !text;
  }
  function shown(value, digits) { return String(Number(value.toPrecision(digits))); }

  function fitBatch(form, data) {
    const weight = form.elements["batch-weight"], unit = form.elements["batch-unit"];
    const portions = form.elements["batch-portions"], container = form.elements["batch-container"];
    const tables = document.getElementById("batch-tables"), status = document.getElementById("batch-status");
    let food = data.written_for, saying = 0;

    /* The live words wait until the typing stops, so that a screen reader is not told every digit. */
    function tell(text) {
      clearTimeout(saying);
      saying = setTimeout(function () { status.textContent = text; }, 500);
    }
    function draw() {
      const named = container ? container.value : "";
      tables.replaceChildren();
      const verdicts = [];
      data.mixtures.forEach(function (mixture, index) {
        const made = column(mixture, food, data, named);
        tables.append(table(mixture, made, "batch-cap-" + index));
        verdicts.push(mixture.name + " " + made.total
          + (made.fill ? ", " + made.fill.name + (made.fill.overflows ? " runs over" : made.fill.covers ? " fits" : ": not covered") : ""));
      });
      tell("For " + formatMass(food) + " of food: " + verdicts.join("; ") + ".");
    }
    function showWeight() { weight.value = shown(food / data.food_units[unit.value], 6); say(weight, ""); }
    function showPortions() { portions.value = shown(food / data.written_for * data.portions, 3); say(portions, ""); }
    function take(mass, field, refresh) {
      if (mass === null || mass > MOST_FOOD) {
        say(field, "Write a number above 0, such as 2.5; for thousands no comma.");
        return;
      }
      say(field, "");
      food = mass;
      refresh.forEach(function (each) { each(); });
      draw();
    }
    function times(number, factor) { return number === null ? null : number * factor; }

    weight.addEventListener("input", function () {
      take(times(parseNumber(weight.value), data.food_units[unit.value]), weight, [showPortions]);
    });
    unit.addEventListener("change", showWeight);
    portions.addEventListener("input", function () {
      const number = parseNumber(portions.value);
      take(number === null ? null : data.written_for * number / data.portions, portions, [showWeight]);
    });
    if (container) {
      const holding = data.mixtures.filter(function (each) { return each.holds_food; });
      container.addEventListener("change", function () {
        const picked = data.containers.find(function (each) { return each.name === container.value; });
        if (!picked) { draw(); return; }
        take(Math.min.apply(null, holding.map(function (each) { return mostFood(picked, each, data); })) || null,
          weight, [showWeight, showPortions]);
      });
    }
    form.addEventListener("submit", function (event) { event.preventDefault(); });
    form.addEventListener("reset", function () {
      setTimeout(function () { food = data.written_for; showWeight(); showPortions(); draw(); }, 0);
    });
    showWeight(); showPortions(); draw();
  }

  /* My piece: marks the rows of the built table and says them. */
  function fitThickness(form, data) {
    const field = form.elements["piece-thickness"], unit = form.elements["piece-unit"];
    const caption = document.getElementById("thick-cap"), status = document.getElementById("piece-status");
    if (!field || !caption) { return; }
    const rows = Array.from(caption.closest("table").tBodies[0].rows);
    if (rows.length !== data.thicknesses.length) { field.closest(".field").hidden = true; return; }
    function find() {
      rows.forEach(function (each) { each.classList.remove("my-row"); });
      if (field.value.trim() === "") { say(field, ""); status.textContent = ""; return; }
      const number = parseNumber(field.value);
      if (number === null) { say(field, "Write a number above 0, such as 22."); return; }
      say(field, "");
      const found = thicknessRows(number * (unit.value === "in" ? 0.0254 : 0.001), data.thicknesses);
      found.forEach(function (index) { rows[index].classList.add("my-row"); });
      const ends = [data.thicknesses[0].label, data.thicknesses[data.thicknesses.length - 1].label];
      status.textContent = found.length === 0 ? "Outside the table, which runs from " + ends[0] + " to " + ends[1] + "."
        : found.map(function (index) { return data.thicknesses[index].label + ": " + rows[index].cells[1].textContent.trim(); })
          .join("; ") + (found.length === 2 ? ". My piece lies between." : ".");
    }
    field.addEventListener("input", find);
    unit.addEventListener("change", find);
    form.addEventListener("reset", function () { setTimeout(find, 0); });
  }

  document.addEventListener("DOMContentLoaded", function () {
    const block = document.getElementById("method-data"), form = document.getElementById("batch-form");
    if (!block || !form) { return; }
    const tool = form.closest("details"), summary = tool.querySelector("summary");
    function fitOnce() {
      summary.removeEventListener("click", fitOnce);
      tool.removeEventListener("toggle", fitOnce);
      const data = JSON.parse(block.textContent);
      fitBatch(form, data);
      fitThickness(form, data);
    }
    // Drawn when first opened: a page that is only read does not pay for it. The click comes before the first typed digit
    // can, the toggle also when the browser opens it to show what it found.
    summary.addEventListener("click", fitOnce);
    tool.addEventListener("toggle", fitOnce);
    if (tool.open) { fitOnce(); }
  });
}());
