"""``handbook adjust``: the correction of a brine by its measured strength, and the content of a used brine."""

from __future__ import annotations

from pathlib import Path

import click

from handbook.advice.correction import (
    Correction,
    correction,
    obstacle,
    proportion,
    sweetener,
    use_rule,
    used_brine,
    with_foreign,
)
from handbook.base.errors import HandbookError, RangeError, UnitError, printable
from handbook.base.formats import format_length, format_mass, format_percent, format_percent_range, format_volume
from handbook.base.sources import source
from handbook.base.units import parse_quantity
from handbook.brine.hydrometer_scales import SIXTY_FAHRENHEIT
from handbook.brine.instruments import parse_reading, parse_temperature
from handbook.brine.measured_salt import salt_from_reading
from handbook.page.container import choose
from handbook.page.house import House
from handbook.report.method_report import Report
from handbook.report.mixtures import MixtureReport
from site_build.cli.method_page import method_page
from site_build.cli.terminal import fail, say
from site_build.html.brine_help import UNTOLD, bath_temperature, mass_range, salt_before, stage_of, wet_saltings


def register(main: click.Group) -> None:
    """Add the command to the group."""
    main.add_command(adjust)


@click.command()
@click.argument("page", metavar="METHOD", type=click.Path(path_type=Path))
@click.option("--read", "words", metavar="READING", help='What the instrument shows, such as "SG 1.058 at 8 °C".')
@click.option("--batch", metavar="MASS", help="Green weight of this batch. Default: the written one.")
@click.option("--hydrometer", metavar="TEMP", help="Temperature that its scale is made for. Default: 60 °F.")
@click.option("--step", type=click.FloatRange(0, 10, min_open=True), help="Distance of two lines of the scale.")
@click.option("--corrects-itself", is_flag=True, help="The refractometer brings its reading to 20 °C by itself (ATC).")
@click.option("--volume", metavar="VOLUME", help="Volume of the brine, if it is not the recipe's.")
@click.option("--brine", metavar="NAME", help="Which brine, on a page with several.")
@click.option("--food-in", is_flag=True, help="The food already lies in the brine.")
@click.option(
    "--used", is_flag=True, help="The food is out: show what remains in the brine, and whether it may be used again."
)
def adjust(page, words, batch, hydrometer, step, corrects_itself, volume, brine, food_in, used) -> None:
    """Show how to bring the measured brine of METHOD to the strength of the method."""
    if (words is None) != used or (food_in and used):
        fail("adjust: read both or none of --read and --used; allowed: one of them, and --food-in beside --read alone")
    try:
        handbook, report = method_page(page)
        house = handbook.house
        each = _brine(report, brine)
        mass = _batch(batch, report)
        if used:
            lines = used_lines(report, each, mass, house.audience)
        else:
            reading = _option("--read", parse_reading, words, step)
            scaled_at = _option("--hydrometer", parse_temperature, hydrometer) if hydrometer else SIXTY_FAHRENHEIT
            stands = _amount("--volume", volume, "volume", 'above 0 and up to 5000 L, such as "4.2 L"', 5.0)
            lines = reading_lines(report, house, each, mass, reading, scaled_at, corrects_itself, stands, food_in)
    except HandbookError as error:
        fail(str(error))
    say(lines)


def reading_lines(
    report: Report, house: House, each: MixtureReport, mass: float, reading, scaled_at, itself, volume, food_in
) -> list[str]:
    """The reading and the correction, as lines of text."""
    made = each.made.scaled(mass / report.method.batches.written_for.low)
    head = [f"{report.method.front_matter.title}, {each.mixture.name}, for {format_mass(mass)} of {report.food.name}"]
    why = obstacle(made)
    if why:
        return [*head, why]
    temperature = bath_temperature(each)
    measured = with_foreign(salt_from_reading(reading, proportion(made), temperature, scaled_at, itself), made)
    head.append(
        f"{reading.text}: {format_percent_range(measured.times(made.brine_salt / made.solution_salt))} salt in the brine; "
        f"target {format_percent(made.brine_salt)}"
    )
    if reading.temperature is None and reading.scale != "refractometer":
        head.append("No temperature given: the method's brine temperature ± 3 °C is assumed. Measure it.")
    if reading.scale == "refractometer":
        head.append(f"By the refractive index of salt in water [{source('nacl-refraction').trust}].")
    if sweetener(made) is not None:
        head.append(UNTOLD)
    if food_in:
        return [*head, *_food_in_lines(each)]
    found = correction(made, measured, temperature, volume)
    return [*head, *_advice(found), *_fit_lines(found, each, report, house, mass), *_closing(volume)]


def used_lines(report: Report, each: MixtureReport, mass: float, audience: str) -> list[str]:
    """The content of the used brine and its rule, as lines of text."""
    factor = mass / report.method.batches.written_for.low
    rule = use_rule(each.made, report.food, audience)
    verdict = {"never": "Do not use it again.", "limited": "Within written limits only.", "with care": "With care."}
    lines = [
        f"{report.method.front_matter.title}, {each.mixture.name}, after {format_mass(mass)} of {report.food.name}"
    ]
    stage = stage_of(report, each)
    left = stage and used_brine(each.made.scaled(factor), mass, salt_before(report, each), stage)
    if left:
        lines.append(
            f"remaining strength: {format_percent_range(left.water_phase_salt)} salt in its water, "
            f"{format_percent(left.fresh_water_phase_salt)} when fresh (computed, mass balance of the uptake)"
        )
    else:
        lines.append("remaining strength: not known (no food is computed to lie in this brine)")
    lines.append(verdict[rule.verdict])
    lines += [f"  {text} [{source(key).trust}]" for text, key in rule.reasons]
    if left and rule.verdict != "never":
        parts = [f"{mass_range(left.add_salt)} {left.salt.ingredient.name}"]
        parts += [f"{mass_range(left.add_sugar)} {left.sugar.ingredient.name}"] if left.add_sugar.high > 0 else []
        parts += [f"{mass_range(left.add_water)} water"] if left.add_water.high > 0.0005 else []
        lines.append(f"to restore it: add {', '.join(parts)}; then measure it")
    return [*lines, "Local codes and licensed practice prevail."]


def _advice(found: Correction) -> list[str]:
    if found.verdict == "as aimed":
        return ["The reading agrees with the target: add nothing."]
    if found.verdict == "weak":
        sugar = f" and {mass_range(found.add_sugar)} {found.sugar.ingredient.name}" if found.sugar else ""
        return [f"too weak: stir in {mass_range(found.add_salt)} {found.salt.ingredient.name}{sugar}"]
    return [f"too strong: pour in {mass_range(found.add_water)} water, as cold as the brine"]


def _fit_lines(found: Correction, each: MixtureReport, report: Report, house: House, mass: float) -> list[str]:
    if found.verdict == "as aimed":
        return []
    holds = None
    if each.mixture.kind != "injection":
        holds = choose(house.containers, each.mixture.container, mass / report.food.density, found.volume)
    if holds is None:
        return [f"brine then: {format_volume(found.volume)}"]
    fits = "overflows: take out a little brine first" if holds.overflows else "fits"
    return [
        f"brine then: {format_volume(found.volume)}; {holds.container.name} with the food in: "
        f"{format_length(holds.level_after)} of {format_length(holds.container.height.low)}, {fits}"
    ]


def _closing(volume: float | None) -> list[str]:
    taken = "the brine's volume as given" if volume else "the recipe's water (otherwise give --volume)"
    return [f"Assumed: {taken}. Stir until everything has dissolved, let it come to its temperature, read again."]


def _food_in_lines(each: MixtureReport) -> list[str]:
    lines = [
        "The food has taken up salt, so the reading is not the strength at the start. Do not correct the brine by it."
    ]
    rest = each.equilibrium.bath_water_phase_salt if each.equilibrium else None
    if rest is not None:
        lines.append(f"At equilibrium, the brine has {format_percent(rest)} salt in its water.")
    return lines


def _brine(report: Report, name: str | None) -> MixtureReport:
    found = wet_saltings(report)
    names = [each.mixture.name for each in found]
    if not found:
        raise RangeError("wet brines of this page", 0, "a page whose food lies in a brine or is pumped with one")
    if name is None:
        return found[0]
    if name not in names:
        raise UnitError(name, f"a brine of this page: {', '.join(names)}")
    return found[names.index(name)]


def _batch(text: str | None, report: Report) -> float:
    written = report.method.batches.written_for.low
    return _amount("--batch", text, "mass", 'above 0 and up to 5000 kg, such as "3 kg"', 5000.0) or written


def _amount(name: str, text: str | None, dimension: str, allowed: str, high: float) -> float | None:
    """One quantity in SI, above 0 and up to ``high``; None where none is given."""
    if text is None:
        return None
    quantity = _option(name, parse_quantity, text, dimension)
    if quantity.is_range or not 0 < quantity.low <= high:
        fail(f'{name}: read "{printable(text)}"; allowed: one {dimension} {allowed}')
    return quantity.low


def _option(name: str, parse, *arguments):
    try:
        return parse(*arguments)
    except (UnitError, RangeError) as error:
        fail(f"{name}: {error}")
