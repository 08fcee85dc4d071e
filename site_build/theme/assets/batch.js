/* Arithmetic of the reader's own batch and piece, computed in the page from the build's own numbers. Each step is the
   engine's (handbook/page/measures.py and container.py, handbook/base/formats.py), in the same order of operations, so
   that the figures agree to the last digit shown. The page works without it. */
(function () {
  "use strict";

  const tell = window.handbookTell, rules = window.handbookRules;

  /* ---- Numbers: halves go to the even digit, as at build time; toFixed alone takes them up ---- */

  function fixed(value, digits) {
    const plain = value.toFixed(digits);
    const exact = Math.abs(value).toFixed(digits + 40);
    const tail = exact.slice(exact.length - 40);
    if (!/^50*$/.test(tail)) { return plain; }
    const kept = exact.slice(0, exact.length - 40).replace(/\.$/, "");
    const even = "02468".includes(kept.at(-1));
    return even ? (value < 0 ? "-" : "") + kept : plain;
  }
  function formatNumber(value, digits) {
    let text = fixed(value, digits);
    if (Number(text) === 0) { text = text.replace(/^-/, ""); }
    return tell.figure(text.replace("-", "−"));
  }
  function halfEven(value) { return Number(fixed(value, 0)); }
  function rounded(value, digits) { return Number(fixed(value, digits)); }

  function formatMass(kg) {
    const grams = kg * 1000;
    if (grams < 20) { return formatNumber(grams, 1) + " g"; }
    if (grams < 999.5) { return formatNumber(grams, 0) + " g"; }
    return formatNumber(kg, kg < 10 ? 2 : 1) + " kg";
  }
  /* Ounces below a pound, then pounds and ounces: to a quarter from four ounces, to a tenth below, to a hundredth below half an ounce. */
  function formatPounds(kg) {
    const ounces = kg / rules.masses.oz;
    if (ounces < 4) { return formatNumber(ounces, ounces < 0.5 ? 2 : 1) + " oz"; }
    const quarters = Math.round(ounces * 4), pounds = Math.floor(quarters / 64), left = (quarters % 64) / 4;
    return [pounds ? pounds + " lb" : "", left || !pounds ? left + " oz" : ""].filter(Boolean).join(" ");
  }
  /* Times in the form of handbook/base/formats.py. */
  function timeParts(seconds) {
    const trim = (value) => formatNumber(value, value < 24 ? 1 : 0).replace(/[.,]0$/, "");
    const minutes = seconds / 60, hours = seconds / 3600;
    if (minutes < 119.5) { return [formatNumber(minutes, minutes >= 1 ? 0 : 1), "min"]; }
    return hours < 72 ? [trim(hours), "h"] : [trim(hours / 24), tell("days")];
  }
  /* An open range has no known high end: see handbook/base/ranges.py. */
  function formatTimeRange(low, typical, high, isOpen) {
    if (isOpen) { return tell("%(time)s or more", { time: timeParts(low).join(" ") }); }
    const one = timeParts(low), other = timeParts(high);
    if (!(high > low) || (one[0] === other[0] && one[1] === other[1])) { return timeParts(typical).join(" "); }
    return one[1] === other[1] ? one[0] + "–" + other[0] + " " + one[1] : one.join(" ") + " – " + other.join(" ");
  }
  function formatClock(seconds) {
    const all = halfEven(seconds / 60), days = Math.floor(all / 1440), rest = all % 1440;
    const hours = Math.floor(rest / 60), minutes = String(rest % 60).padStart(2, "0");
    return days ? days + " d " + String(hours).padStart(2, "0") + ":" + minutes : hours + ":" + minutes;
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
  function sum(values) { return values.reduce((total, value) => total + value, 0); }

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
      data.cup_parts.forEach((each) => {
        const cups = whole + each[0], name = (each[1] ? (whole || "") + each[1] : whole) + " " + (cups <= 1 ? tell("cup") : tell("cups"));
        for (let spoons = 0; cups && spoons < 4; spoons += 1) {
          found.push([spoons ? 2 : 1, 0, cups * data.measures.cup + spoons * data.measures.tbsp,
            name + (spoons ? " + " + spoons + " " + tell("tbsp") : "")]);
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
    if (volume < data.measures.tsp / 16) { return { text: tell("less than ⅛ tsp"), error: 0 }; }
    let best = null, bestRank = null;
    candidates(volume, data).forEach((each) => {
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
      container, cover, covers: brineVolume >= cover, level,
      overflows: Math.max(level, bed) * container.area > container.volume,
    };
  }
  function chosen(named, foodVolume, brineVolume, data) {
    const fills = data.containers.filter((each) => !named || each.name === named)
      .map((each) => filled(each, foodVolume, brineVolume, data))
      .sort((one, other) => one.container.volume - other.container.volume);
    return fills.find((each) => !each.overflows) || fills[fills.length - 1] || null;
  }
  /* Food in kg that a container takes with its share of brine, two figures, rounded down. */
  function mostFood(container, mixture, data) {
    const brine = sum(mixture.parts.map((part) => part.mass));
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
    const masses = mixture.parts.map((part) => part.mass * factor);
    const rows = mixture.parts.map((part, index) => {
      const scaled = masses[index];
      const onScale = weighed(scaled, data.scale);
      const spoons = part.density !== null && scaled > 0 ? nearestMeasure(scaled / part.density, data) : null;
      return {
        name: part.name, note: part.note, cupSpread: part.cup_spread, mass: formatMass(onScale.mass), kg: onScale.mass,
        household: spoons ? spoons.text : "",
        spoonsOff: spoons && Math.abs(spoons.error) > data.tolerance ? tell("spoons %(rounding_error)s", { rounding_error: formatSignedPercent(spoons.error) }) : "",
        roundingOff: Math.abs(onScale.error) >= rules.roundingShown ? tell("rounding %(error)s", { error: formatSignedPercent(onScale.error) }) : "",
      };
    });
    const mass = sum(masses);
    const volume = mixture.density ? mass / mixture.density : null;
    const fill = mixture.holds_food && volume
      ? chosen(named || mixture.container, food / data.food_density, volume, data) : null;
    return {
      food: formatMass(food), rows, total: formatMass(mass), kg: mass, volume: volume ? formatVolume(volume) : "",
      toFood: mixture.is_wet ? formatNumber(mass / food, 2) + " : 1" : "",
      fill: fill && {
        name: fill.container.name, cover: formatVolume(fill.cover), covers: fill.covers,
        level: tell("%(level_after)s of %(height_low)s", { level_after: formatLength(fill.level), height_low: formatLength(fill.container.height) }), overflows: fill.overflows,
      },
    };
  }

  /* ---- The reader's input ---- */

  const FRACTIONS = { "¼": "1/4", "½": "1/2", "¾": "3/4" };
  /* A number above 0, also a fraction such as 1 1/2, or null. One comma counts as the decimal sign, unless it may separate thousands. */
  function parseNumber(text) {
    const plain = text.trim();
    if (/^\d{1,6},\d{1,2}$/.test(plain)) { return parseNumber(plain.replace(",", ".")); }
    const parts = /^(?:(\d{1,3})[ -])?(\d{1,2})\/(\d{1,2})$/.exec(plain.replace(/\s*([¼½¾])$/, (all, sign) => " " + FRACTIONS[sign]).trim());
    if (parts && Number(parts[3]) > 0) { return Number(parts[1] || 0) + Number(parts[2]) / Number(parts[3]) || null; }
    return /^(\d{1,6}(\.\d{0,6})?|\.\d{1,6})$/.test(plain) && Number(plain) > 0 ? Number(plain) : null;
  }
  /* The rows of the table of times for a thickness in m: the same one, or the two around it. */
  function thicknessRows(thickness, rows) {
    const exact = rows.findIndex((row) => Math.abs(row.thickness - thickness) < 5e-5);
    if (exact >= 0) { return [exact]; }
    const above = rows.findIndex((row) => row.thickness > thickness);
    return above > 0 ? [above - 1, above] : [];
  }

  /* ---- Another piece: the steps whose time its thickness sets ---- */

  /* The time to the target salt of a piece of `thickness` m: the row of the table, or between two rows by the square of
     the thickness, as for diffusion. Null: outside the table, or never. */
  function saltTime(data, thickness) {
    const places = thicknessRows(thickness, data.thicknesses);
    const rows = places.map((place) => data.piece.hours[place]);
    if (!rows.length || rows.some((row) => row.some((end) => end === null))) { return null; }
    if (rows.length === 1) { return rows[0].map((end) => end * 3600); }
    const squares = places.map((place) => Math.pow(data.thicknesses[place].thickness, 2));
    const part = (thickness * thickness - squares[0]) / (squares[1] - squares[0]);
    return rows[0].map((end, index) => 3600 * (end + part * (rows[1][index] - end)));
  }
  /* The time to a core lies between the first power of the thickness (limited by the surface) and the second (by the inside). */
  function coreTime(step, hold, factor) {
    const powers = factor < 1 ? rules.corePowers.slice().reverse() : rules.corePowers;
    return [step.low, step.typical, step.high].map((end, index) => hold + (end - hold) * Math.pow(factor, powers[index]));
  }
  /* The steps for a piece of `thickness` m (null: as written), with their running times; `unknown` are steps by number
     whose time is not computed for it: they keep that of the page's own piece. */
  function stepsFor(data, thickness) {
    const unknown = [];
    const times = data.steps.map((step) => {
      if (thickness === null) { return [step.low, step.typical, step.high]; }
      if (data.piece.salt.includes(step.number)) {
        const found = saltTime(data, thickness);
        if (found === null) { unknown.push(step.number); }
        return found || [step.low, step.typical, step.high];
      }
      const core = data.piece.core.find((each) => each[0] === step.number);
      return core ? coreTime(step, core[1], thickness / data.piece.middle) : [step.low, step.typical, step.high];
    });
    const total = [0, 0, 0];
    const steps = data.steps.map((step, index) => {
      const ends = times[index], start = total[1], same = ends[1] === step.typical && ends[2] === step.high;
      ends.forEach((end, place) => { total[place] += end; });
      const isUnknown = unknown.includes(step.number);
      return { ...step, low: ends[0], typical: ends[1], high: ends[2], start, end: total[1], begins: formatClock(start), isUnknown,
        takes: isUnknown ? tell("not computed for this piece") : same ? step.takes : formatTimeRange(ends[0], ends[1], ends[2], step.is_open) };
    });
    return { steps, total, unknown };
  }

  window.handbookBatch = {
    column, mostFood, parseNumber, thicknessRows, stepsFor,
    formatNumber, formatMass, formatPounds, formatTimeRange,
    formatClock,
  };
}());
