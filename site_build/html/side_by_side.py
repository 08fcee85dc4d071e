"""The data of the page that compares two methods: the figures of their pages, as a script."""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path

from handbook.base.ranges import Range
from handbook.brine.strength import Strength
from handbook.folder.read_page import Page
from handbook.page.heated import has_curve
from handbook.report.method_report import Report
from handbook.report.mixtures import MixtureReport
from site_build.base.local_formats import (
    format_mass,
    format_number,
    format_percent,
    format_percent_range,
    format_temperature,
    format_temperature_range,
    format_time,
    format_time_range,
)
from site_build.base.local_forms import local, local_month_day
from site_build.base.said_words import BEGIN, END, own, said, say, say_count
from site_build.reading.book import picture_path, url_of

DATA = "assets/side_by_side_data.js"
NONE = "–"


def write_side_by_side(texts: Iterable[str], site: Path) -> Path:
    """Write the ``compared_text`` of every method into a finished site. Returns the script's path."""
    target = site / DATA
    target.parent.mkdir(parents=True, exist_ok=True)
    target.write_text(f"window.handbookMethods=[{','.join(texts)}];\n", "utf-8")
    return target


def compared_text(page: Page) -> str:
    """One method's column as a literal of the script, with the frames of its languages; the two line signs end a line in
    old browsers.
    """
    text = json.dumps(compared(page), ensure_ascii=False, separators=(",", ":"))
    text = text.replace(BEGIN, "\\ufdd0").replace(END, "\\ufdd1")
    return text.replace("\u2028", "").replace("\u2029", "")


def compared(page: Page) -> dict:
    """One method's column: groups of (name, [(row, words)]), and its ingredients for 1 kg of food."""
    report = page.report
    return {
        "name": page.path.removesuffix(".md"),
        "url": url_of(page.path),
        "title": own(report.method.front_matter.title),
        "picture": picture_path(page.path, "svg"),
        "groups": [
            [say("The method"), _method_rows(report)],
            [say("Time"), _time_rows(report)],
            [say("Salt"), _salt_rows(report)],
            [say("Heat and keeping"), _heat_rows(report)],
            [say("On the plate"), _plate_rows(report)],
        ],
        "per_kg": _ingredients_per_kg(report),
    }


def _method_rows(report: Report) -> list[tuple[str, str]]:
    sheet, pieces = report.method.front_matter, report.method.pieces
    return [
        (say("Food"), sheet.food),
        (say("Kind of method"), said(sheet.kind)),
        (
            say("Written for"),
            f"{local(report.method.batches.written_for.text)}, {say_count('%(num)s portion', '%(num)s portions', sheet.portions)}",
        ),
        (say("Thickness"), local(pieces.thickness.text)),
        (say("Equipment"), own(", ".join(sheet.equipment)) or NONE),
        (say("Allergens"), ", ".join(map(said, report.allergens)) or say("none of the listed ones")),
        (say("Keeper"), own(sheet.keeper)),
        (say("Reviewed"), local_month_day(sheet.reviewed)),
    ]


def _time_rows(report: Report) -> list[tuple[str, str]]:
    plan = report.schedule
    waits = [each.duration.typical for each in plan.steps if not each.step.hands_on]
    return [
        (say("Start to finish"), format_time_range(plan.total)),
        (say("Hands-on"), format_time_range(plan.hands_on)),
        (say("Steps"), str(len(plan.steps))),
        (say("Longest wait"), format_time(max(waits)) if waits else NONE),
    ]


def _salt_rows(report: Report) -> list[tuple[str, str]]:
    saltings, strong = report.saltings, [each.strength for each in report.saltings]
    at_rest = saltings[-1].equilibrium if saltings else None
    kinds = (say("Salting"), _each(said(each.mixture.kind) for each in saltings))
    if report.unknown_salt:
        return [kinds, (say("Salt in the finished food"), say("not known"))]
    return [
        kinds,
        (
            say("Salt in the brine"),
            _each(format_percent(each.salt_mass_fraction) if each else say("dry") for each in strong),
        ),
        (say("Salometer reads"), _each(_reading(each) for each in strong if each)),
        (say("Brine to food, by mass"), _each(_to_food(each) for each in saltings if each.strength)),
        (say("Salt in the finished food"), format_percent_range(report.salt) if saltings else NONE),
        (say("Water-phase salt at equilibrium"), format_percent_range(at_rest.water_phase_salt) if at_rest else NONE),
        (
            say("Ingoing nitrite"),
            f"{format_number(at_rest.ingoing_nitrite_ppm, 0)} ppm" if at_rest and at_rest.ingoing_nitrite_ppm else NONE,
        ),
    ]


def _heat_rows(report: Report) -> list[tuple[str, str]]:
    steps, keeping = report.method.steps, report.method.keeping
    held = [
        f"{_temperature(each.core)}{', ' + say('held %(hold)s', hold=local(each.hold.text)) if each.hold else ''}"
        for each in steps
        if each.core and has_curve(each)
    ]
    return [
        (say("Chamber"), _each(_temperature(each.chamber) for each in steps if each.chamber)),
        (say("Core"), _each(held)),
        (say("Packed"), said(keeping.pack) if keeping else NONE),
        (
            say("Keeps"),
            say("%(time)s at %(heat)s", time=local(keeping.time.text), heat=_temperature(keeping.temperature))
            if keeping and keeping.time and keeping.temperature
            else NONE,
        ),
        (say("Keeps frozen"), local(keeping.frozen.text) if keeping and keeping.frozen else NONE),
    ]


def _plate_rows(report: Report) -> list[tuple[str, str]]:
    mass = report.portion.mass
    return [
        (say("Yield"), f"{format_percent_range(report.finished.ratio, 0)}, {said(report.finished.basis)}"),
        (
            say("A portion"),
            say("%(mass_low)s to %(mass_high)s", mass_low=format_mass(mass.low), mass_high=format_mass(mass.high)),
        ),
        (
            say("Sodium per portion, at most"),
            say("not known") if report.unknown_salt else f"{format_number(report.portion.sodium.high * 1e6, 0)} mg",
        ),
        (say("Sugar per portion, at most"), format_mass(report.portion.sugar)),
    ]


def _ingredients_per_kg(report: Report) -> list[tuple[str, str]]:
    batch = report.method.batches.written_for.low
    masses: dict[str, float] = {}
    for each in report.mixtures:
        for part in each.made.parts:
            name = part.ingredient.name
            masses[name] = masses.get(name, 0.0) + part.mass.typical / batch
    return [(name, format_mass(mass)) for name, mass in masses.items()]


def _temperature(quantity) -> str:
    if not quantity.is_range:
        return format_temperature(quantity.low)
    return format_temperature_range(Range.of(quantity))


def _reading(strong: Strength) -> str:
    read = strong.readings
    if read is None or read.salometer is None:
        return NONE
    return say(
        "%(degrees)s° at %(at)s", degrees=format_number(read.salometer, 0), at=format_temperature(read.temperature)
    )


def _to_food(each: MixtureReport) -> str:
    return f"{format_number(each.columns[0].to_food, 2)} : 1"


def _each(words: Iterable[str]) -> str:
    return "; ".join(dict.fromkeys(words)) or NONE
