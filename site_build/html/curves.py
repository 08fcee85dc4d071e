"""The curves of a method's page: heat and salt as charts, in the units of the page."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from handbook.base.ranges import Range
from handbook.base.units import celsius
from handbook.catalogue.food_families import FLESH
from handbook.page.heated import has_curve
from handbook.page.house import House
from handbook.page.rules_of_thumb import rule_of_thumb
from handbook.page.schedule import repeat_starts
from handbook.report.heat_course import HeatCourse
from handbook.report.heat_stages import medium, thickness_range
from handbook.report.method_report import Report
from handbook.report.salt_course import SaltCourse
from handbook.salt.uptake import ThicknessTime, freshening_minutes
from site_build.base.said_words import later
from site_build.charts.line_chart import CurveInput, LineChart, line_chart
from site_build.html.local_list import has_heat_section
from site_build.html.render import render

_ADVICE = {
    "thickness": later("sort the pieces by a rule"),
    "airflow": later("the same vents and load every time"),
    "humidity": later("a wet-bulb thermometer in the chamber tells it"),
    "chamber temperature": later("a second thermometer beside the food tells it"),
    "start temperature": later("measure the core before it goes in"),
    "moisture transport": later("no cook can measure it, so plan for the long end"),
    "drip": later("record a run: its time to the core tells"),
    "juice flow": later("record a run: its time to the core tells"),
    "shape": later("sort the pieces by shape, and record a run"),
    "cover": later("wrap alike every time"),
}


#: Cooks' words for inputs of the heat model.
_HEAT_WORDS = {
    "airflow": later("how the air moves"),
    "moisture transport": later("how fast water comes to the surface"),
    "drip": later("how much of its juice drips off"),
    "juice flow": later("how fast juice leaves the inside"),
    "exudation": later("how much juice heat draws from it"),
    "cover": later("how tightly it is wrapped"),
}
LONGEST_FRESHENING = 720.0  # min
TACKY = 0.02  # loss of weight at which a brined piece is tacky: 1 to 3 % (from memory) [pellicle-loss]
#: Cooks' words for inputs of the uptake model, with advice on each.
_INPUT_WORDS = {
    "diffusivity": later("how fast salt moves in this food, which nobody can measure beforehand"),
    "thickness": later("thickness: sort the pieces by a rule"),
    "food water": later("the food's own water"),
    "water loss": later("water lost in drying: weigh before and after"),
    "dripped juice": later("juice that drips: weigh before and after"),
    "drawn water": later("juice that the cure draws"),
    "loss in the cure": later("loss of weight in the cure"),
    "kept after trimming": later("what is trimmed away"),
    "water lost before": later("loss of weight before the salt"),
    "salt amount": later("salt in the brine: weigh it"),
    "bath water": later("water in the brine: weigh it"),
    "weight gain": later("weight taken up: weigh before and after"),
    "temperature": later("temperature of the brine"),
    "time": later("time: keep to the stated range"),
}


#: Inputs that may affect the core most.
HEAT_INPUTS = tuple(_HEAT_WORDS.get(each, each) for each in _ADVICE)


class OwnPiece(Struct, frozen=True, kw_only=True):
    """A row of the table "how long for my piece": times in s from when to taste, and by when nineteen in twenty are salted."""

    thickness: float
    taste_from: float | None
    salted_by: float | None
    verdict: str


def heat_html(report: Report, house: House, root: str) -> str:
    """The heat section; empty where nothing is heated."""
    course = report.course
    if course is None or not has_heat_section(report):
        return ""
    result = course.result
    steps = report.method.steps
    stages = [
        (course.first + index, stage, steps[course.first + index - 1]) for index, stage in enumerate(result.stages)
    ]
    warm = [stage for _, stage, step in stages if has_curve(step)]
    warm_number = next(number for number, _, step in stages if has_curve(step))
    start, stop = _shown_span(stages, warm)
    chosen = [index for index, at in enumerate(result.time) if start <= at <= stop]
    bands = [
        (max(stage.start - start, 0.0), min(stage.end, stop) - start, str(number))
        for number, stage, _ in stages
        if stage.end > start and stage.start < stop
    ]
    chart = _heat_chart(course, stages, bands, chosen, start)
    # Where a step ends at a core, all pieces end at that core and only their times differ.
    waits = [stage.finish.reached for stage in warm if stage.finish is not None]
    dominating = result.dominating(waits[-1] if waits else result.samples.core[:, chosen[len(chosen) // 2]])
    return render(
        "heat.html",
        report=report,
        course=course,
        chart=chart,
        stages=stages,
        root=root,
        first=bands[0][2],
        thickness=thickness_range(report.method, house),
        dominating=_HEAT_WORDS.get(dominating, dominating),
        has_actions=bool(chart.ticks),
        pellicles=[
            (number, step, result.mass_loss_time(TACKY, index))
            for index, (number, _, step) in enumerate(stages)
            if number < warm_number and step.place == "fridge" and medium(step, report.method.lies_in(step)) == "air"
        ],
        advice=_ADVICE.get(dominating, ""),
    )


def _shown_span(stages, warm) -> tuple[float, float]:
    """First and last second of the chart: from an hour before the heat, since days in the fridge would squeeze the hot
    hours into a line, to the end of the cooling, at most six hours after the heat.
    """
    hot_end = warm[-1].end
    cool_end = max((stage.end for _, stage, step in stages if step.stage == "cool"), default=0.0)
    return max(warm[0].start - 3600.0, 0.0), min(max(hot_end, cool_end), hot_end + 6 * 3600.0)


def _heat_chart(
    course: HeatCourse, stages, bands: Sequence[tuple[float, float, str]], chosen: Sequence[int], start: float
) -> LineChart:
    result = course.result
    named = ((later("core"), result.core), (later("surface"), result.surface), (later("chamber"), result.chamber))
    wanted = [each for each in course.core_times if each.target is not None]
    hottest = max(wanted, key=lambda each: each.target, default=None)
    target = celsius(hottest.target) if hottest is not None else None
    return line_chart(
        result.time[chosen] - start,
        [_curve(name, values, chosen) for name, values in named],
        "°C",
        bands,
        (target - 0.5, target + 0.5) if target is not None else None,
        actions=[stage.start + at - start for _, stage, step in stages for at in _actions(step, stage)],
        hold=_hold(hottest, course, start),
    )


def _actions(step, stage) -> tuple[float, ...]:
    return repeat_starts(step, stage.end - stage.start) if has_curve(step) else ()


def _hold(core_time, course, start: float) -> tuple[float, float] | None:
    if core_time is None or not core_time.hold or core_time.reached.typical is None:
        return None
    begin = course.stage(core_time.number).start + core_time.reached.typical - start
    return begin, begin + core_time.hold


def salt_html(report: Report, house: House, root: str) -> str:
    """The salt section; empty for a page without a salting."""
    course = report.salted
    if course is None:
        return ""
    result = course.result
    stated, is_strong = course.salted.stage.duration, _salting(report).kind == "immersion"
    fresh = [
        each
        for each in freshening_minutes(result, course.salting_index)
        if each.minutes.typical is not None and each.minutes.typical <= LONGEST_FRESHENING
    ]
    return render(
        "salt.html",
        report=report,
        course=course,
        chart=_salt_chart(report, course),
        root=root,
        in_hours=_in_hours,
        thickness=thickness_range(report.method, house),
        stated=stated,
        rows=list(zip(course.steps, result.stages, strict=True)),
        freshening=fresh,
        input_words=_INPUT_WORDS,
        is_strong=is_strong,
        thicknesses=[_own_piece(each, stated, is_strong) for each in course.by_thickness],
        is_cooked_to_taste=report.food.food_class in FLESH,
        rule_of_thumb=rule_of_thumb(report.method, _salting(report), report.food.food_class),
    )


def _salt_chart(report: Report, course: SaltCourse) -> LineChart:
    salted, result = course.salted, course.result
    line, stated = result.timeline, salted.stage.duration
    start = result.stages[course.salting_index].start
    chosen = [index for index, at in enumerate(line.seconds) if at >= start]
    named = (
        (later("mean"), line.water_phase_mean),
        (later("centre"), line.water_phase_centre),
        (later("outer"), line.water_phase_outer),
    )
    bands = [
        (stage.start - start, stage.start - start + stage.stage.duration.typical, "+".join(map(str, numbers)))
        for numbers, stage in zip(course.steps, result.stages, strict=True)
        if stage.start >= start
    ]
    rests = salted.equilibrium_salt_mass_fraction is not None and report.saltings
    return line_chart(
        line.seconds[chosen] - start,
        [CurveInput.of(name, band, lambda end: 100 * end[chosen]) for name, band in named],
        later("% salt in the water phase"),
        bands,
        _aim(course),
        report.saltings[-1].equilibrium.water_phase_salt.typical * 100 if rests else None,
        window=(stated.low, stated.high) if stated.is_wide else None,
    )


def middle_html(report: Report, root: str) -> str:
    """The section on whether the salt has reached the middle; empty for a page without a thick piece."""
    return render("middle.html", middle=report.middle, root=root) if report.middle is not None else ""


def _salting(report: Report):
    number = report.salted.steps[report.salted.salting_index][-1]
    return report.method.salting(report.method.steps[number - 1].use) or report.method.saltings[-1]


def _aim(course) -> tuple[float, float] | None:
    """The target salt of the food as water-phase salt, plus or minus 5 %."""
    if course.target is None:
        return None
    salted = course.salted
    aim = 100 * course.target * salted.water_phase_salt_mean.typical / salted.salt_mass_fraction.typical
    return 0.95 * aim, 1.05 * aim


def _in_hours(found):
    ends = {end: getattr(found, end) for end in ("low", "typical", "high")}
    return replace(found, **{end: None if value is None else value / 3600 for end, value in ends.items()})


def _own_piece(each: ThicknessTime, stated: Range, is_strong: bool) -> OwnPiece:
    """The times of a piece: when the first of its kind reach the target, when all have, and the stated time compared with these."""
    hours = each.hours
    if hours.typical is None:
        return OwnPiece(thickness=each.thickness, taste_from=None, salted_by=None, verdict="weak")
    first, last = (hours.low or 0.0) * 3600, None if hours.high is None else hours.high * 3600
    if stated.high < first:
        verdict = "short"
    elif last is not None and stated.low >= last:
        verdict = "over" if is_strong else "long enough"
    else:
        verdict = "taste"
    return OwnPiece(thickness=each.thickness, taste_from=first, salted_by=last, verdict=verdict)


def _curve(name: str, values, chosen) -> CurveInput:
    if name == "chamber":
        return CurveInput(name=name, typical=celsius(values.typical[chosen]))
    return CurveInput.of(name, values, lambda end: celsius(end[chosen]))
