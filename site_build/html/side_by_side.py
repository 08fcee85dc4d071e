"""What two methods are compared by: the same figures as on their pages, as a script for the page that sets them out."""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path

from handbook.base.formats import (
    format_mass,
    format_number,
    format_percent,
    format_percent_range,
    format_temperature,
    format_temperature_range,
    format_time,
    format_time_range,
)
from handbook.base.ranges import Range
from handbook.brine.strength import Strength
from handbook.folder.read_page import Page
from handbook.page.heated import has_curve
from handbook.report.evaluate import MixtureReport, Report
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
    """One method's column as a literal of the script; the two line signs end a line in old browsers."""
    text = json.dumps(compared(page), ensure_ascii=False, separators=(",", ":"))
    return text.replace("\u2028", "").replace("\u2029", "")


def compared(page: Page) -> dict:
    """One method's column: groups of (name, [(row, words)]), and its ingredients for 1 kg of food."""
    report = page.report
    return {
        "name": page.path.removesuffix(".md"),
        "url": url_of(page.path),
        "title": report.method.sheet.title,
        "picture": picture_path(page.path, "svg"),
        "groups": [
            ["The method", _method_rows(report)],
            ["Time", _time_rows(report)],
            ["Salt", _salt_rows(report)],
            ["Heat and keeping", _heat_rows(report)],
            ["On the plate", _plate_rows(report)],
        ],
        "per_kg": _ingredients_per_kg(report),
    }


def _method_rows(report: Report) -> list[tuple[str, str]]:
    sheet, pieces = report.method.sheet, report.method.pieces
    return [
        ("Food", sheet.food),
        ("Kind of method", sheet.kind),
        ("Written for", f"{report.method.batches.written_for.text}, {sheet.portions} portions"),
        ("Thickness", pieces.thickness.text),
        ("Equipment", ", ".join(sheet.equipment) or NONE),
        ("Allergens", ", ".join(report.allergens) or "none of the listed ones"),
        ("Keeper", sheet.keeper),
        ("Reviewed", f"{sheet.reviewed.day} {sheet.reviewed.strftime('%B %Y')}"),
    ]


def _time_rows(report: Report) -> list[tuple[str, str]]:
    plan = report.schedule
    waits = [each.duration.typical for each in plan.steps if not each.step.hands_on]
    return [
        ("Start to finish", format_time_range(plan.total)),
        ("Hands-on", format_time_range(plan.hands_on)),
        ("Steps", str(len(plan.steps))),
        ("Longest wait", format_time(max(waits)) if waits else NONE),
    ]


def _salt_rows(report: Report) -> list[tuple[str, str]]:
    saltings, strong = report.saltings, [each.strength for each in report.saltings]
    at_rest = saltings[-1].equilibrium if saltings else None
    return [
        ("Salting", _each(each.mixture.kind for each in saltings)),
        ("Salt in the brine", _each(format_percent(each.salt_mass_fraction) if each else "dry" for each in strong)),
        ("Salometer reads", _each(_reading(each) for each in strong if each)),
        ("Brine to food, by mass", _each(_to_food(each) for each in saltings if each.strength)),
        ("Salt in the finished food", format_percent_range(report.salt) if saltings else NONE),
        ("Water-phase salt at equilibrium", format_percent_range(at_rest.water_phase_salt) if at_rest else NONE),
        (
            "Ingoing nitrite",
            f"{format_number(at_rest.ingoing_nitrite_ppm, 0)} ppm" if at_rest and at_rest.ingoing_nitrite_ppm else NONE,
        ),
    ]


def _heat_rows(report: Report) -> list[tuple[str, str]]:
    steps, keeping = report.method.steps, report.method.keeping
    held = [
        f"{_temperature(each.core)}{f', held {each.hold.text}' if each.hold else ''}"
        for each in steps
        if each.core and has_curve(each)
    ]
    return [
        ("Chamber", _each(_temperature(each.chamber) for each in steps if each.chamber)),
        ("Core", _each(held)),
        ("Packed", keeping.pack if keeping else NONE),
        (
            "Keeps",
            f"{keeping.time.text} at {_temperature(keeping.temperature)}"
            if keeping and keeping.time and keeping.temperature
            else NONE,
        ),
        ("Keeps frozen", keeping.frozen.text if keeping and keeping.frozen else NONE),
    ]


def _plate_rows(report: Report) -> list[tuple[str, str]]:
    mass = report.portion.mass
    return [
        ("Yield", f"{format_percent_range(report.finished.ratio, 0)}, {report.finished.basis}"),
        ("A portion", f"{format_mass(mass.low)} to {format_mass(mass.high)}"),
        ("Sodium per portion, at most", f"{format_number(report.portion.sodium.high * 1e6, 0)} mg"),
        ("Sugar per portion, at most", format_mass(report.portion.sugar)),
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
    return f"{format_number(read.salometer, 0)}° at {format_temperature(read.temperature)}"


def _to_food(each: MixtureReport) -> str:
    return f"{format_number(each.columns[0].to_food, 2)} : 1"


def _each(words: Iterable[str]) -> str:
    return "; ".join(dict.fromkeys(words)) or NONE
