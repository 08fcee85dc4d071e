"""Converts a method's report to plain figures in the units that the pages print."""

from __future__ import annotations

from collections import Counter

from msgspec.structs import replace

from handbook import __version__
from handbook.base.ranges import Range
from handbook.base.units import celsius
from handbook.brine.equilibrium import Equilibrium
from handbook.catalogue.tables import Tables
from handbook.folder.page_text import PageText
from handbook.page.house import House
from handbook.page.schedule import ScheduledStep
from handbook.report.cost import Bill, cost
from handbook.report.method_report import Report
from handbook.report.mixtures import BatchColumn, MixtureReport
from site_build.record.figures import (
    Figure,
    FindingFigures,
    IngredientFigures,
    MethodFigures,
    StepFigures,
    digest,
    rounded,
    show_range,
)
from site_build.record.stated_words import house_of_figures, method_stated, plain, step_stated

PERCENT, GRAM, MINUTE, LITRE, MILLIMETRE, MILLIGRAM, PPM = "%", "g", "min", "L", "mm", "mg", "ppm"
_FACTORS = {PERCENT: 100.0, GRAM: 1000.0, MINUTE: 1 / 60, LITRE: 1000.0, MILLIMETRE: 1000.0, MILLIGRAM: 1e6}


def method_figures(report: Report, text: PageText, house: House, tables: Tables) -> MethodFigures:
    """Everything of one method that a reviewer compares."""
    found = figures_without_cost(report, text, house, tables)
    return replace(found, figures=found.figures | cost_figures(report.bill, house))


def figures_without_cost(report: Report, text: PageText, house: House, tables: Tables) -> MethodFigures:
    """The same without the cost: no price is read."""
    method = report.method
    mixtures = {each.mixture.name: each for each in report.mixtures}
    found = _food_figures(report)
    for name, each in mixtures.items():
        found |= _mixture_figures(name, each, is_salt_known=not report.unknown_salt)
    steps = tuple(_step_figures(each, report) for each in report.schedule.steps)
    ingredients = {name: _ingredients(each) for name, each in mixtures.items()}
    findings = _findings(report)
    prose = _prose(text, report)
    words = sum(int(each.split()[1]) for each in prose)
    stated = method_stated(method)
    mark = version_mark(found, steps, findings, text, house_of_figures(report, house, tables))
    return MethodFigures(
        title=method.front_matter.title,
        mark=mark,
        stated=stated,
        figures=found,
        mixtures=ingredients,
        steps=steps,
        findings=findings,
        prose=prose,
        prose_words=words,
    )


def cost_figures(bill: Bill, house: House) -> dict[str, Figure]:
    """The cost of a batch at the house's prices; nothing where it states none."""
    if not house.prices:
        return {}
    found = cost(bill, house)
    shown = {
        "cost: as written": figure(found.total, house.currency),
        "cost: finished kg": figure(found.per_finished_kg, house.currency),
    }
    return shown | {"cost: without": words("; ".join(found.missing))} if found.missing else shown


def version_mark(figures: dict, steps: tuple, findings: dict, text: PageText, house: str) -> str:
    """The page's permanent version mark, ``<figures>-<version>``.

    The first half is a hash of every computed figure as printed, cost left out: it changes when something changes
    on the plate. The second half is one of the page's text, the settings and rows of the house that its figures rest
    on, prices left out, and the engine's version: it changes with any of them. Equal marks are the same version; an
    equal first half is the same food.
    """
    shown = [f"{key}={each.text}" for key, each in sorted(figures.items())]
    for number, step in enumerate(steps, 1):
        shown += [f"{number}/{key}={each.text}" for key, each in sorted(step.figures.items())]
        shown += [f"{number}/start={step.start.text}", f"{number}/duration={step.duration.text}"]
    shown += [f"{key}={each.level}={each.figure}" for key, each in sorted(findings.items())]
    blocks = [f"{each.kind}\n{each.text}" for each in (text.head, *text.blocks) if each]
    version = "\n".join([*blocks, text.body, house, __version__])
    return f"{digest(chr(10).join(shown))}-{digest(version)}"


def _food_figures(report: Report) -> dict[str, Figure]:
    portion = report.portion
    found = {
        "portion: mass": figure(portion.mass, GRAM),
        "portion: sodium": words("not known") if report.unknown_salt else figure(portion.sodium, MILLIGRAM),
        "portion: sugar": figure(portion.sugar, GRAM),
        "yield: of green weight": figure(report.finished.ratio, PERCENT),
        "yield: basis": words(report.finished.basis),
        "time: in all": figure(report.schedule.total, MINUTE),
        "time: hands-on": figure(report.schedule.hands_on, MINUTE),
        "allergens": words(", ".join(report.allergens) or "none known"),
    }
    if report.casing:
        found["food: casing, m per kg"] = figure(report.casing.per_food, "")
    if report.course:
        hottest = max(report.course.result.stages, key=lambda each: each.highest_core.typical)
        found["heat: highest core"] = _degrees(hottest.highest_core)
    for each in report.sour.pickles if report.sour else ():
        if each.ph is not None:
            found[f"acid: pH at equilibrium, {each.name or 'brine'}"] = figure(each.ph, "")
    if report.sour and report.sour.ferment and report.sour.ferment.ph is not None:
        found["acid: pH of the ferment at its end, predicted"] = figure(report.sour.ferment.ph, "")
    if report.drying:
        found["food: water activity finished, evened out"] = figure(report.drying.last.whole, "")
        if report.drying.degree_hours:
            found["drying: degree-hours above 15.6 °C"] = figure(report.drying.degree_hours, "")
    return found | _salt_figures(report)


def _salt_figures(report: Report) -> dict[str, Figure]:
    course = report.salted
    if course is None:
        return {}
    salted, end = course.salted, course.result.end
    found = {
        "food: salt after salting": figure(salted.salt_mass_fraction, PERCENT),
        "food: salt finished": figure(report.salt, PERCENT),
        "food: water-phase salt finished": figure(end.water_phase_salt_mean, PERCENT),
        "food: water-phase salt finished, centre": figure(end.water_phase_salt_centre, PERCENT),
        "food: water-phase salt finished, surface": figure(end.water_phase_salt_surface, PERCENT),
        "food: water activity finished, surface": figure(course.activity["surface"], ""),
        "food: water activity finished, centre": figure(course.activity["centre"], ""),
        "food: sugar after salting": figure(salted.sugar_mass_fraction, PERCENT),
        "salting: time to 90 % of equilibrium": figure(salted.time_to_90, MINUTE),
        "salting: time to 95 % of equilibrium": figure(salted.time_to_95, MINUTE),
        "salting: time to even": figure(salted.time_to_even, MINUTE),
    }
    if course.nitrite:
        found["food: nitrite left when finished"] = figure(course.nitrite[-1].left, PPM)
    if course.target is not None:
        found["salting: aim"] = figure(course.target, PERCENT)
        found["salting: time to target"] = figure(salted.time_to_target, MINUTE)
    if salted.bath_water_phase_salt is not None:
        found["salting: water-phase salt left in the brine"] = figure(salted.bath_water_phase_salt, PERCENT)
    for name, value in (("half", course.half_bath), ("twice", course.double_bath)):
        if value is not None:
            found[f"other pieces: salt with {name} the brine"] = figure(value, PERCENT)
    for each in course.by_thickness:
        thickness = show_range(*[each.thickness * 1000] * 3, MILLIMETRE)
        found[f"other pieces: time at {thickness}"] = figure(each.hours, MINUTE, 60.0)
    return found


def _mixture_figures(name: str, report: MixtureReport, *, is_salt_known: bool) -> dict[str, Figure]:
    found = {}
    strong, rest = report.strength, report.equilibrium
    if not is_salt_known:
        found["salt"] = words("not known")
        strong = None
        found |= {"ingoing nitrite": figure(rest.ingoing_nitrite_ppm, PPM)} if rest else {}
    elif rest:
        found |= _equilibrium_figures(rest)
    if strong:
        read = strong.readings
        found |= {
            "salt in the brine": figure(strong.salt_mass_fraction, PERCENT),
            "water-phase salt of the brine": figure(strong.water_phase_salt, PERCENT),
            "sugar in the brine": figure(strong.sugar_mass_fraction, PERCENT),
            "salometer reads": figure(read.salometer if read else None, "°"),
            "hydrometer reads": figure(read.specific_gravity if read else None, ""),
            "Baumé scale reads": figure(read.baume if read else None, "°"),
            "refractometer reads": figure(read.brix if read else None, "°Brix"),
            "begins to freeze": _degrees(strong.freezing_point),
            "water activity of the brine": figure(strong.water_activity, ""),
            "more salt than dissolves": words("yes" if strong.is_saturated else "no"),
        }
    for column in report.columns:
        found |= _column_figures(column)
    for crystal in report.crystals:
        found[f"other crystals: {crystal.ingredient.name}"] = figure(crystal.mass, GRAM)
    return {f"{name}: {key}": each for key, each in found.items()}


def _equilibrium_figures(rest: Equilibrium) -> dict[str, Figure]:
    return {
        "salt at equilibrium": figure(rest.salt_mass_fraction, PERCENT),
        "water-phase salt at equilibrium": figure(rest.water_phase_salt, PERCENT),
        "sugar at equilibrium": figure(rest.sugar_mass_fraction, PERCENT),
        "ingoing salt on green weight": figure(rest.ingoing_salt_on_green_weight, PERCENT),
        "ingoing nitrite": figure(rest.ingoing_nitrite_ppm, PPM),
        "ingoing nitrate": figure(rest.ingoing_nitrate_ppm, PPM),
        "weight at equilibrium, of green weight": figure(rest.food_mass_ratio, PERCENT),
    }


def _column_figures(column: BatchColumn) -> dict[str, Figure]:
    batch = f"batch {show_range(*[column.food_mass * 1000] * 3, GRAM)}"
    found = {f"{batch}: made": figure(column.mass, GRAM)}
    if column.volume is not None:
        found[f"{batch}: volume made"] = figure(column.volume, LITRE)
    for row in column.rows:
        spoons = row.household.text if row.household else ""
        weighed = figure(row.weighed.mass, GRAM)
        found[f"{batch}: weigh {row.part.ingredient.name}"] = Figure(
            value=weighed.value, low=weighed.low, high=weighed.high, unit=GRAM, words=spoons
        )
    if column.fill:
        fit = "runs over" if column.fill.overflows else "fits" if column.fill.covers else "fits, does not cover"
        found[f"{batch}: container"] = words(f"{column.fill.container.name}, {fit}")
        found[f"{batch}: brine to cover"] = figure(column.fill.brine_to_cover, LITRE)
    return found


def _step_figures(scheduled: ScheduledStep, report: Report) -> StepFigures:
    step, found = scheduled.step, {}
    stage = report.course.stage(scheduled.number) if report.course else None
    if stage is not None:
        found |= {
            "core at the end": _degrees(stage.core),
            "highest core": _degrees(stage.highest_core),
            "surface at the end": _degrees(stage.surface),
            "weight lost": figure(stage.mass_lost, PERCENT),
        }
    for each in report.course.core_times if report.course else ():
        if each.number == scheduled.number:
            found["core reached after"] = figure(each.reached, MINUTE)
            found["core and hold done after"] = figure(each.duration, MINUTE)
            found["stated time"] = words(each.verdict)
    if report.salted:
        for numbers, each in zip(report.salted.steps, report.salted.result.stages, strict=True):
            if scheduled.number == numbers[-1]:
                found |= {
                    "salt of the food": figure(each.salt_mass_fraction, PERCENT),
                    "water-phase salt, mean": figure(each.water_phase_salt_mean, PERCENT),
                    "water-phase salt, centre": figure(each.water_phase_salt_centre, PERCENT),
                    "water-phase salt, outer 3 mm": figure(each.water_phase_salt_outer, PERCENT),
                    "weight of green": figure(each.food_mass_ratio, PERCENT),
                }
    start, duration = figure(scheduled.start, MINUTE), figure(scheduled.duration, MINUTE)
    return StepFigures(
        do=plain(step.do),
        stage=step.stage,
        hands_on=step.hands_on,
        is_computed=scheduled.is_computed,
        start=start,
        duration=duration,
        stated=step_stated(step),
        figures=found,
    )


def _ingredients(report: MixtureReport) -> dict[str, IngredientFigures]:
    found, count = {}, Counter()
    for line, part in zip(report.mixture.ingredients, report.made.parts, strict=True):
        count[line.item] += 1
        key = line.item if count[line.item] == 1 else f"{line.item} ({count[line.item]})"
        found[key] = IngredientFigures(
            written=line.amount.text, mass=rounded(part.mass.typical * 1000), note=plain(line.note)
        )
    return found


def _findings(report: Report) -> dict[str, FindingFigures]:
    found: dict[str, FindingFigures] = {}
    for each in report.findings:
        key = f"{each.rule}/{each.limit}" if each.limit else each.rule
        name, number = key, 1
        while name in found:
            number += 1
            name = f"{key} ({number})"
        signed = f"{each.signed.by}, {each.signed.on}: {each.signed.reason}" if each.signed else ""
        found[name] = FindingFigures(
            level=each.level,
            title=each.title,
            verdict=each.verdict,
            figure=each.figure,
            printed=each.printed,
            message=plain(each.message),
            signed=plain(signed),
        )
    return found


def _prose(text: PageText, report: Report) -> tuple[str, ...]:
    sheet = report.method.front_matter
    about = (sheet.summary, sheet.keeper, sheet.reviewed.isoformat(), ", ".join(sheet.tags))
    paragraphs = (*filter(None, map(plain, about)), *text.paragraphs)
    return tuple(f"{digest(each)} {len(each.split())}" for each in paragraphs)


def figure(value, unit: str, factor: float | None = None) -> Figure:
    """A figure from a float, a range, or a time that may not be reached, in SI; None where it is unknown."""
    times = factor or _FACTORS.get(unit, 1.0)
    if value is None:
        return words("not known")
    if isinstance(value, int | float):
        value = Range.exact(float(value))
    low, typical, high = (
        None if end is None else rounded(end * times) for end in (value.low, value.typical, value.high)
    )
    if isinstance(value, Range) and value.is_open:
        typical, high = typical if value.typical < value.high else None, None
    return words("not reached") if typical is None else Figure(value=typical, low=low, high=high, unit=unit)


def words(text: str) -> Figure:
    """A figure that is words."""
    return Figure(words=plain(text))


def _degrees(value) -> Figure:
    if value is None or isinstance(value, int | float):
        return figure(None if value is None else celsius(float(value)), "°C")
    return figure(Range(celsius(value.low), celsius(value.typical), celsius(value.high)), "°C")
