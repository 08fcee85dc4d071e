"""A brine's section "If the brine is off": additions by reading, and whether a used brine may be used again."""

from __future__ import annotations

from msgspec import Struct

from handbook.advice.correction import (
    Correction,
    UsedBrine,
    UseRule,
    correction,
    obstacle,
    proportion,
    sweetener,
    use_rule,
    used_brine,
    with_foreign,
)
from handbook.base.errors import RangeError
from handbook.base.formats import mass_parts
from handbook.base.ranges import Range
from handbook.brine.hydrometer_scales import SIXTY_FAHRENHEIT
from handbook.brine.instruments import SCALES, InstrumentReading, instrument_value
from handbook.brine.make_up import MakeUp
from handbook.brine.measured_salt import salt_from_reading
from handbook.page.house import House
from handbook.report.method_report import Report
from handbook.report.mixtures import MixtureReport
from handbook.salt.uptake_records import UptakeStageResult
from site_build.base.local_formats import format_mass, format_number
from site_build.base.local_forms import local
from site_build.base.said_words import later, say
from site_build.html.render import render

#: Strengths in the table / the target strength.
OFF = (0.80, 0.90, 0.95, 1.0, 1.05, 1.10, 1.20)
INSTRUMENTS = ("specific gravity", "salometer", "refractometer")
UNTOLD = later(
    "One reading cannot tell salt from sugar: both are taken to be off in the recipe's proportion. If only the salt was "
    "mis-weighed, add the salt alone."
)


class HelpRow(Struct, frozen=True, kw_only=True):
    """One strength: the instruments' readings in words, and the additions to the written batch."""

    off: float
    salt_mass_fraction: float
    readings: tuple[str, ...]
    add: str


class BrineHelp(Struct, frozen=True, kw_only=True):
    """One wet brine: its table or why there is none, the remaining brine after use, and the rule for its reuse."""

    name: str
    id: str
    temperature: float
    rows: tuple[HelpRow, ...]
    obstacle: str
    has_sugar: bool
    told: Range | None
    step: float
    used: UsedBrine | None
    rule: UseRule | None


def brine_help_html(report: Report, house: House, root: str) -> str:
    """The section, or nothing on a page without a wet brine."""
    helps = tuple(_help(each, index, report, house) for index, each in enumerate(wet_saltings(report)))
    if not helps or report.unknown_salt:
        return ""
    batch = report.method.batches.written_for.low
    return render("brine_help.html", helps=helps, root=root, batch=batch, untold=UNTOLD, mass_range=mass_range)


def wet_saltings(report: Report) -> list[MixtureReport]:
    """The brines of a page, in which food lies or with which it is pumped."""
    return [each for each in report.saltings if each.strength is not None]


def bath_temperature(each: MixtureReport) -> float:
    """Temperature in K of the brine's readings: its own."""
    strong = each.strength
    if strong is not None and strong.readings is not None:
        return strong.readings.temperature
    return each.mixture.temperature.middle if each.mixture.temperature else SIXTY_FAHRENHEIT


def stage_of(report: Report, each: MixtureReport) -> UptakeStageResult | None:
    """The stage of the uptake run in this brine."""
    stages = report.salted.result.stages if report.salted else ()
    return next((one for one in stages if one.stage.kind == "soak" and one.stage.name == each.mixture.name), None)


def salt_before(report: Report, each: MixtureReport) -> Range:
    """Salt in the food before this brine, of green weight."""
    stages = report.salted.result.stages
    index = stages.index(stage_of(report, each))
    return stages[index - 1].salt_on_green_weight if index else report.salted.result.piece.native_salt_fraction


def mass_range(value: Range) -> str:
    """``190 g (170–210)``, or one figure where the ends print the same."""
    if value.typical < 5e-5 < value.high:
        return say("up to %(mass)s", mass=format_mass(value.high))
    typical = format_mass(value.typical)
    (low, low_unit), (high, unit) = mass_parts(value.low), mass_parts(value.high)
    low, high = local(low), local(high)
    if (low, low_unit) == (high, unit):
        return typical
    if low_unit != unit:
        return f"{typical} ({low} {low_unit} {say('to')} {high} {unit})"
    return f"{typical} ({low}–{high})" if mass_parts(value.typical)[1] == unit else f"{typical} ({low}–{high} {unit})"


def _help(each: MixtureReport, index: int, report: Report, house: House) -> BrineHelp:
    made, why = each.made, obstacle(each.made)
    temperature = bath_temperature(each)
    stage = stage_of(report, each)
    is_bath = each.mixture.kind != "injection"
    used = used_brine(made, report.method.batches.written_for.low, salt_before(report, each), stage) if stage else None
    return BrineHelp(
        name=each.mixture.name,
        id="off" if index == 0 else f"off-{index + 1}",
        temperature=temperature,
        rows=() if why else tuple(_row(off, made, temperature) for off in OFF),
        obstacle=why,
        has_sugar=sweetener(made) is not None,
        told=None if why else _told(made, temperature),
        step=SCALES["specific gravity"][0],
        used=used,
        rule=use_rule(made, report.food, house.audience) if is_bath else None,
    )


def _row(off: float, made: MakeUp, temperature: float) -> HelpRow:
    recipe = proportion(made)
    salt, sugar = recipe.salt * off, recipe.sugar * off
    of_brine = salt * made.brine_salt / made.solution_salt
    readings = tuple(_shown(scale, salt, sugar, temperature) for scale in INSTRUMENTS)
    add = _added(off, correction(made, Range.exact(salt), temperature))
    return HelpRow(off=off, salt_mass_fraction=of_brine, readings=readings, add=add)


def _added(off: float, found: Correction) -> str:
    """What brings a brine of ``off`` times its strength to the strength that it should have."""
    if off == 1:
        return say("as it should be")
    if off > 1:
        return say("%(mass)s water", mass=format_mass(found.add_water.typical))
    salt = say("%(mass)s salt", mass=format_mass(found.add_salt.typical))
    if not found.sugar:
        return salt
    sugar = found.sugar.ingredient.name if found.sugar.ingredient.kind == "syrup" else say("sugar")
    return f"{salt} + {format_mass(found.add_sugar.typical)} {sugar}"


def _told(made: MakeUp, temperature: float) -> Range:
    """Salt by a hydrometer in the intended brine, with the range of the instrument's resolution."""
    recipe = proportion(made)
    value = instrument_value("specific gravity", recipe.salt, recipe.sugar, temperature)
    reading = InstrumentReading(
        scale="specific gravity", value=value, temperature=temperature, step=SCALES["specific gravity"][0], text=""
    )
    told = with_foreign(salt_from_reading(reading, recipe, temperature), made)
    return told.times(made.brine_salt / made.solution_salt)


def _shown(scale: str, salt: float, sugar: float, temperature: float) -> str:
    try:
        value = instrument_value(scale, salt, sugar, temperature)
    except RangeError:
        return say("off the scale")
    return format_number(value, SCALES[scale][2])
