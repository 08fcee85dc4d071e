"""Data with which a method's page computes another batch or plan: the build's own numbers, not rounded.

The page's scripts (theme/assets/batch.js, planner.js, kitchen.js) read them from a data block; they contain no figures
of their own, and tests compare their results with the engine.
"""

from __future__ import annotations

import json

from markupsafe import Markup

from handbook.base.ranges import Range
from handbook.base.units import kitchen_volume
from handbook.base.yaml_lines import quoted
from handbook.batches.batch_start import amount_rows, asked_values, keep_lines, page_targets, predicted_lines
from handbook.days.lot_numbers import lot_slug
from handbook.page.amounts import PieceCount
from handbook.page.container import COVER, PACKING_FRACTION
from handbook.page.house import House
from handbook.page.measures import CUP_PARTS, GOOD_ENOUGH, ONLY_WEIGHED, spoon_measures
from handbook.page.salting import Salting
from handbook.page.schedule import ScheduledStep
from handbook.report.method_report import Report
from handbook.report.mixtures import MixtureReport
from site_build.base.local_formats import (
    format_clock,
    format_length,
    format_percent,
    format_temperature,
    format_temperature_range,
    format_time,
    format_time_range,
)
from site_build.base.local_forms import local
from site_build.base.said_words import bare, called, for_script, said, say
from site_build.html.calendar import CAUTION, NIGHT_WORDS, step_words


def tools_data(report: Report, house: House, mark: str = "") -> dict:
    """All data for the page's tools, ready for JSON; ``mark`` is the page's version. Masses in kg, volumes in m3, lengths in m, times in s."""
    method = report.method
    return {
        "name": method.name.replace("/", "-"),
        "title": method.front_matter.title,
        "mark": mark,
        **batch_data(report, house),
        "thicknesses": thickness_rows(report),
        "piece": piece_data(report),
        "steps": [_step(each, report) for each in report.schedule.steps],
        "total": [report.schedule.total.low, report.schedule.total.typical, report.schedule.total.high],
        "is_open": report.schedule.total.is_open,
        "batch_file": batch_file_data(report),
        "night_words": {key: said(words) for key, words in NIGHT_WORDS.items()},
        "caution": said(CAUTION),
    }


def batch_file_data(report: Report) -> dict:
    """The start of a batch's file without its steps: amounts for 1 kg of green weight, keeping, targets."""
    return {
        "lot": lot_slug(report.method.name),
        "method": quoted(report.method.name),
        "amounts": [
            [quoted(each.item), each.mass, each.in_food, quoted(each.allergen) if each.allergen else ""]
            for each in amount_rows(report, 1.0)
        ],
        "lines": [
            *keep_lines(report),
            *(["predicted:", *predicted_lines(report)] if predicted_lines(report) else []),
            *(["reach:", *(f"- {{{each}}}" for each in page_targets(report))] if page_targets(report) else []),
        ],
    }


def batch_data(report: Report, house: House) -> dict:
    """Data for another size of batch."""
    method = report.method
    return {
        "written_for": method.batches.written_for.low,
        "portions": method.front_matter.portions,
        "food_density": report.food.density,
        "scale": {
            "step": house.scale_step.low,
            "fine_step": house.fine_scale_step.low,
            "fine_limit": house.fine_scale_limit.low,
        },
        "tolerance": house.household_tolerance.low,
        "good_enough": GOOD_ENOUGH,
        "measures": {name: kitchen_volume(name, house.measures) for name in ("tsp", "tbsp", "cup")},
        "spoons": spoon_measures(house.measures),
        "cup_parts": tuple(CUP_PARTS.items()),
        "packing_fraction": PACKING_FRACTION,
        "cover": COVER,
        "containers": [
            {"name": each.name, "area": each.area, "height": each.height.low, "volume": each.volume}
            for each in house.containers
        ],
        "mixtures": [_mixture(each) for each in report.mixtures],
    }


def thickness_rows(report: Report) -> list[dict]:
    """The rows of the table "how long for my piece", in its order."""
    course = report.salted
    if course is None:
        return []
    return [{"thickness": each.thickness, "label": format_length(each.thickness)} for each in course.by_thickness]


def piece_data(report: Report) -> dict:
    """Data for another thickness: the piece for which the page is judged, and the steps whose time depends on it.

    ``salt`` are the steps that wait for the target salt: their time in s for each row of ``thicknesses`` (None: never).
    ``core`` are the steps that wait for a core, with the hold in s that stays as it is.
    """
    thickness, course = report.method.pieces.thickness, report.salted
    holds = {each.number: each.hold for each in report.course.core_times} if report.course else {}
    computed = [each for each in report.schedule.steps if each.is_computed]
    return {
        "low": thickness.low,
        "middle": thickness.middle,
        "high": thickness.high,
        "text": thickness.text,
        "hours": [
            [each.hours.low, each.hours.typical, each.hours.high] for each in (course.by_thickness if course else ())
        ],
        "salt": [each.number for each in computed if each.step.waits_for == "target salt"],
        "core": [[each.number, holds.get(each.number, 0.0)] for each in computed if each.step.waits_for == "core"],
    }


def heat_words(each: ScheduledStep) -> list[str]:
    """Surroundings of the food in a step and its target core, each with both scales."""
    step, words = each.step, []
    if step.chamber:
        words.append(say("chamber %(heat)s", heat=format_temperature_range(Range.of(step.chamber))))
    elif step.temperature:
        words.append(say("at %(heat)s", heat=format_temperature_range(Range.of(step.temperature))))
    if step.core:
        core = format_temperature(step.core.low)
        held = format_time(step.hold.low) if step.hold else ""
        words.append(
            say("core %(core)s held %(time)s", core=core, time=held) if held else say("core %(core)s", core=core)
        )
    if step.water:
        water, times = local(step.water.text), step.changes
        words.append(
            say("in %(mass)s as water, changed %(times)s times", mass=water, times=times)
            if times
            else say("in %(mass)s as water", mass=water)
        )
    if step.box:
        words.append(say("in a closed box (%(wall)s)", wall=said(step.box.wall)))
    return words


def json_block(data: dict) -> Markup:
    """``data`` as JSON for a script element, without a sign that could end the element."""
    text = bare(json.dumps(data, ensure_ascii=False, separators=(",", ":"), allow_nan=False))
    # A browser drops the noncharacters that mark English words (for_script) unless they are escaped.
    for sign in "<>&\u2028\u2029\ufdd2\ufdd3":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return Markup(text)


def _mixture(each: MixtureReport) -> dict:
    mixture = each.mixture
    is_salting = isinstance(mixture, Salting)
    density = each.strength.density if each.strength else None
    return {
        "name": for_script(called(mixture.name)),
        "is_wet": each.strength is not None,
        "density": density or None,
        "holds_food": bool(is_salting and density and mixture.is_bath),
        "container": mixture.container if is_salting else None,
        "parts": [
            {
                "name": part.ingredient.name,
                "note": part.note,
                "mass": part.mass.typical,
                # None: never in cups and spoons, as in handbook/page/measures.py.
                "density": None
                if part.ingredient.kind in ONLY_WEIGHED
                else (part.ingredient.kg_per_m3 or [None] * 2)[1],
                # Whole pieces as written, such as 6 leaves.
                "pieces": [line.amount.count, line.amount.text] if isinstance(line.amount, PieceCount) else None,
                "cup_spread": format_percent(row.household.spread, 0) if row.filling_is_off else "",
            }
            for line, part, row in zip(mixture.ingredients, each.made.parts, each.columns[0].rows, strict=True)
        ],
    }


def _step(each: ScheduledStep, report: Report) -> dict:
    step = each.step
    summary, description = step_words(report.method, each)
    return {
        "number": each.number,
        "do": step.do,
        "place": for_script(said(step.place)),
        "hands_on": step.hands_on,
        "start": each.start.typical,
        "end": each.end.typical,
        "low": each.duration.low,
        "typical": each.duration.typical,
        "high": each.duration.high,
        "is_open": each.duration.is_open,
        "takes": local(format_time_range(each.duration)),
        "begins": format_clock(each.start.typical),
        "notes": [for_script(note) for note in step_notes(each)],
        # Key of a run's record for the temperature around the food, and whether a core is required.
        "surroundings": "chamber" if step.chamber else "temperature" if step.temperature else "",
        "has_core": step.core is not None,
        # Values of the step in a batch's file besides its times.
        "asked": "".join(f"{key}: {value}, " for key, value in asked_values(step).items() if value is not None),
        "repeats": list(each.repeats),
        "repeat_do": step.repeat.do if step.repeat else "",
        "summary": summary,
        "description": description,
    }


def step_notes(each: ScheduledStep) -> list[str]:
    """Chamber, surroundings, core and repeated action of a step, each as written."""
    step = each.step
    notes = []
    if step.chamber:
        notes.append(say("Chamber %(heat)s", heat=local(step.chamber.text)))
    if step.temperature:
        notes.append(say("At %(heat)s", heat=local(step.temperature.text)))
    if step.core:
        core, held = local(step.core.text), format_time(step.hold.low) if step.hold else ""
        notes.append(
            say("Core %(core)s, held %(time)s", core=core, time=held) if held else say("Core %(core)s", core=core)
        )
    if step.final_ph is not None:
        notes.append(say("pH at most %(final_ph)s", final_ph=local(f"{step.final_ph:g}")))
    if step.repeat:
        notes.append(say("Every %(every)s: %(do)s", every=local(step.repeat.every.text), do=step.repeat.do))
    return notes
