"""Writes the demo's eight invented runs: ``python -m tests.demo_runs``. The files are committed; this says how they came.

A kitchen that differs from the published figures by the factors of ``HIDDEN`` makes each run: the engine's own models at
those factors give weights, salt and core, and errors of scale, salt test and probe are drawn on top with a fixed seed.
A test asks that the calibration finds the factors again inside its bands. Invented data is for the demo only.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from math import log
from pathlib import Path

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from handbook.base.ranges import Range
from handbook.brine.hydrometer_scales import SIXTY_FAHRENHEIT
from handbook.brine.solution import brine_density, water_density
from handbook.heat import heat_run as heat
from handbook.heat.heated_piece import AIR_CLASSES, HeatSpread
from handbook.report.calibration import CalibratedFigure, Calibration
from handbook.report.evaluate import evaluate
from handbook.report.heat_stages import first_heat_step, heat_piece, heat_stages
from handbook.report.method_report import Report
from handbook.runs.run_models import RunModel
from handbook.runs.run_record import Run, read_run
from handbook.salt.uptake import Spread, run
from tests.whole_book import Book, read_book

METHODS = Path(__file__).resolve().parent.parent / "methods"


class Hidden(Struct, frozen=True, kw_only=True):
    """One kitchen's truth for one method: factors on the published figures, a shift of the change of weight, and the
    finished salt that its tasters find right."""

    rate: float
    gain: float
    airflow: float
    moisture: float
    right_salt: float


HIDDEN = {
    "hot-smoked-char-sides": Hidden(rate=1.5, gain=0.004, airflow=1.6, moisture=1.3, right_salt=0.027),
    "equilibrium-pork-chops": Hidden(rate=0.72, gain=-0.012, airflow=1.35, moisture=0.8, right_salt=0.0105),
    "glazed-whitefish-strips": Hidden(rate=1.35, gain=0.006, airflow=1.4, moisture=1.2, right_salt=0.030),
}


class Planned(Struct, frozen=True, kw_only=True):
    """One run as it is to be done. ``style``: how its logger writes ("" = no log); times by step, in minutes."""

    method: str
    on: str
    cook: str
    batch: float
    thickness: str
    times: dict[int, float]
    chambers: dict[int, float]
    weighed: tuple[int, ...]
    salted_at: int
    tasters: int
    style: str
    begins: int
    notes: str
    brine_celsius: float = 4.0


PLANNED = (
    Planned(method="hot-smoked-char-sides", on="2026-10-12", cook="Marit Osk", batch=2.84, thickness="19-22 mm", times={2: 420, 3: 10, 4: 840, 5: 50, 7: 50, 8: 300},
            chambers={5: 71, 6: 96}, weighed=(2, 3, 4, 8), salted_at=3, tasters=6, style="clock", begins=5, notes="Windless, smoker half full."),
    Planned(method="hot-smoked-char-sides", on="2026-10-19", cook="Marit Osk", batch=3.31, thickness="18-21 mm", times={2: 330, 3: 10, 4: 900, 5: 55, 7: 45, 8: 280},
            chambers={5: 69, 6: 94}, weighed=(2, 3, 8), salted_at=3, tasters=5, style="", begins=5, notes="Shorter in the brine, after the first were salty."),
    Planned(method="hot-smoked-char-sides", on="2026-11-02", cook="Ivo Lindahl", batch=2.46, thickness="20-24 mm", times={2: 270, 3: 10, 4: 780, 5: 60, 7: 55, 8: 310},
            chambers={5: 70, 6: 95}, weighed=(2, 3, 8), salted_at=3, tasters=8, style="comma", begins=5, notes="Thick sides."),
    Planned(method="equilibrium-pork-chops", on="2026-09-18", cook="Ilse Korhonen", batch=1.52, thickness="21-24 mm", times={2: 2880, 3: 150, 5: 3.5},
            chambers={4: 131}, weighed=(2, 3, 4), salted_at=3, tasters=4, style="elapsed", begins=4, notes=""),
    Planned(method="equilibrium-pork-chops", on="2026-10-03", cook="Ilse Korhonen", batch=1.48, thickness="20-23 mm", times={2: 2520, 3: 180, 5: 4},
            chambers={4: 128}, weighed=(2, 3, 4), salted_at=3, tasters=5, style="", begins=4, notes="Students' chops, cut by four hands."),
    Planned(method="equilibrium-pork-chops", on="2026-10-24", cook="Tamsin Rhee", batch=1.55, thickness="20-24 mm", times={2: 4200, 3: 120, 5: 3.5},
            chambers={4: 130}, weighed=(2, 3, 4), salted_at=3, tasters=6, style="fahrenheit", begins=4, notes="Three days less two hours."),
    Planned(method="glazed-whitefish-strips", on="2026-09-26", cook="Ivo Lindahl", batch=2.05, thickness="18-21 mm", times={3: 135, 4: 15, 5: 600, 6: 10, 7: 120, 9: 5, 10: 45, 11: 200},
            chambers={7: 79, 8: 95}, weighed=(3, 4, 11), salted_at=4, tasters=7, style="", begins=7, notes=""),
    Planned(method="glazed-whitefish-strips", on="2026-10-10", cook="Ivo Lindahl", batch=1.92, thickness="19-22 mm", times={3: 120, 4: 15, 5: 660, 6: 10, 7: 120, 9: 5, 10: 45, 11: 210},
            chambers={7: 81, 8: 96}, weighed=(3, 4, 11), salted_at=4, tasters=9, style="clock", begins=7, notes="Brine at the low end of the time."),
)  # fmt: skip


def main() -> None:
    """Write every run's file and log."""
    folder = METHODS / "runs"
    for each in PLANNED:
        (folder / each.method).mkdir(parents=True, exist_ok=True)
    book = read_book(METHODS)
    random = np.random.default_rng(20261112)
    for each in PLANNED:
        text, logged = made_run(each, book, random)
        target = folder / each.method / each.on
        target.with_suffix(".yml").write_text(text, "utf-8")
        if logged:
            target.with_suffix(".csv").write_text(logged, "utf-8")


def made_run(plan: Planned, book: Book, random) -> tuple[str, str]:
    """The text of a run's file, and of its log or ""."""
    hidden, page = HIDDEN[plan.method], book.pages[f"{plan.method}.md"].report
    report = evaluate(page.method, book.house, book.tables)
    last = _core_step(report)
    times = plan.times | {last: 60.0}
    hot, minutes = _heated(plan, times, report, book, hidden, last)
    times[last] = minutes
    model = RunModel(_draft(plan, times, report), report, book.house)
    inputs = model.salting_with(_truth(hidden))
    stray = np.exp(random.normal(0, 0.10))
    piece = replace(inputs.piece, salt_diffusivity=_certain(inputs.piece.salt_diffusivity, stray))
    result = run(piece, inputs.stages, Spread(samples=8))
    weights, salt = {}, None
    ratio = 1.0
    for number in range(1, len(report.method.steps) + 1):
        for stage, numbers in zip(result.stages, inputs.steps, strict=True):
            if numbers[-1] == number and stage.stage.kind == "soak":
                ratio *= 1 + stage.stage.weight_gain.typical + random.normal(0, 0.004)
        if number > inputs.steps[inputs.salting_index][-1]:
            ratio *= 1 - hot.get(number, 0.0)
        if number in plan.weighed:
            weights[number] = plan.batch * ratio * (1 + random.normal(0, 0.002))
        if number == plan.salted_at:
            done = [stage for stage, numbers in zip(result.stages, inputs.steps, strict=True) if numbers[-1] <= number]
            on_green = done[-1].salt_on_green_weight.typical
            salt = on_green / ratio * (1 + random.normal(0, 0.03))
            finished_salt = on_green
    finished = finished_salt / ratio
    score = float(np.clip(4 * log(finished / hidden.right_salt) + random.normal(0, 0.3), -2, 2))
    return _yaml(plan, times, weights, salt, score, report), _log(plan, hot["core"], hot["chamber"], random)


def _truth(hidden: Hidden) -> Calibration:
    rate = CalibratedFigure(
        prior_mean=0.0, prior_deviation=1.0, mean=log(hidden.rate), deviation=1e-9, run_deviation=1e-9, runs=1
    )
    return Calibration(
        runs=1,
        salt=rate,
        gain=CalibratedFigure(
            prior_mean=0.0,
            prior_deviation=1.0,
            mean=hidden.gain,
            deviation=1e-9,
            run_deviation=1e-9,
            runs=1,
            is_factor=False,
        ),
    )


def _certain(published, factor: float):
    return replace(published, reference=published.reference * factor, spread_factor=1.0, activation_energy_band=0.0)


def _core_step(report: Report) -> int:
    return next(at for at, step in enumerate(report.method.steps, 1) if step.until == "core")


def _heated(plan: Planned, times, report: Report, book: Book, hidden: Hidden, last: int):
    """Loss of weight by step, with "core" and "chamber" as (s from step ``begins``, K), and the core step's minutes."""
    method = RunModel(_draft(plan, {**times, last: None}, report), report, book.house).method
    piece = heat_piece(method, report.food, book.house, 0.05)
    glazes = {each.mixture.name: each.made for each in report.glazes}
    stages = []
    for stage in heat_stages(method, book.house, glazes):
        if stage.medium == "air":
            own = AIR_CLASSES[stage.air_class].coefficient.typical * hidden.airflow
            stage = replace(stage, heat_transfer_coefficient=Range.exact(own))
        stages.append(stage)
    result = heat.run(piece, stages, HeatSpread(samples=0, moisture_diffusivity=Range.exact(hidden.moisture)))
    first = first_heat_step(method) + 1
    losses = {first + at: float(stage.mass_lost.typical) for at, stage in enumerate(result.stages)}
    begin = result.stages[plan.begins - first].start
    chosen = result.time >= begin - 1
    losses["core"] = (result.time[chosen] - begin, result.core.typical[chosen])
    losses["chamber"] = (result.time[chosen] - begin, result.chamber.typical[chosen])
    stage = result.stages[last - first]
    return losses, round((stage.end - stage.start) / 60)


def _draft(plan: Planned, times: dict[int, float | None], report: Report) -> Run:
    text = _yaml(plan, times, {}, None, None, report, with_log=False)
    found, faults = read_run(plan.on, plan.method, text, None, report.method, "us")
    assert not faults, faults
    return found


def _yaml(plan: Planned, times, weights, salt, score, report: Report, with_log: bool = True) -> str:
    salting = report.saltings[0]
    degrees = round(salting.strength.at_scale.salometer)
    lines = [
        "# Invented run of the demo kitchen (see tests/demo_runs.py).",
        f"on: {plan.on}",
        f"cook: {plan.cook}",
        f"batch: {plan.batch:.2f} kg",
        f"thickness: {plan.thickness}",
    ]
    if salting.mixture.kind == "immersion":
        # What a hydrometer made for 60 °F shows in this brine, cold.
        made = salting.made
        density = brine_density(made.solution_salt, made.solution_sugar, plan.brine_celsius + 273.15)
        gravity = density / water_density(SIXTY_FAHRENHEIT)
        lines += ["brines:", f'  - {{strength: "{gravity:.3f} SG", at: {plan.brine_celsius:g} °C}}']
    else:
        lines += [f"# salometer about {degrees}°: too weak to read on the house's glass"]
    lines.append("steps:")
    for number in range(1, len(report.method.steps) + 1):
        parts = [f"step: {number}"]
        if times.get(number):
            value = times[number]
            parts.append(f"time: {value / 60:g} h" if value >= 120 and value % 15 == 0 else f"time: {value:g} min")
        if number in plan.chambers:
            parts.append(f"chamber: {plan.chambers[number]:g} °C")
        if number in weights:
            parts.append(f"weight: {weights[number]:.3f} kg")
        if number == plan.salted_at and salt is not None:
            parts.append(f"salt: {100 * salt:.2f} %")
        if len(parts) > 1:
            lines.append(f"  - {{{', '.join(parts)}}}")
    if with_log and plan.style:
        lines.append(f"log: {_LOGS[plan.style].replace('BEGINS', str(plan.begins))}")
    if score is not None:
        lines.append(f"taste: {{tasters: {plan.tasters}, salt: {round(score, 1):g}}}")
    if plan.notes:
        lines.append(f'notes: "{plan.notes}"')
    return "\n".join(lines) + "\n"


_LOGS = {
    "clock": "{begins_with: BEGINS, core: Probe 1 (°C)}",
    "comma": "{begins_with: BEGINS, core: core °C, chamber: chamber °C, time: clock}",
    "elapsed": "{begins_with: BEGINS}",
    "fahrenheit": "{begins_with: BEGINS, core: Core, unit: °F}",
}


def _log(plan: Planned, core, chamber, random) -> str:
    if not plan.style:
        return ""
    step = 60.0 if core[0][-1] < 5000 else 180.0
    seconds = np.arange(0.0, core[0][-1], step)
    inside = np.interp(seconds, *core) - 273.15 + random.normal(0, 0.15, len(seconds))
    around = np.interp(seconds, *chamber) - 273.15 + random.normal(0, 1.2, len(seconds))
    start = datetime.fromisoformat(f"{plan.on} 18:40:00")
    rows = []
    for at, one, other in zip(seconds, inside, around, strict=True):
        moment = start + timedelta(seconds=float(at))
        if plan.style == "clock":
            rows.append(f"{moment:%Y-%m-%d %H:%M:%S},{one:.1f},{other:.1f}")
        elif plan.style == "comma":
            rows.append(f"{moment:%H:%M};{one:.1f};{other:.1f}".replace(".", ","))
        elif plan.style == "elapsed":
            rows.append(f"{at / 60:g}\t{one:.1f}")
        else:
            rows.append(f"{moment:%d.%m.%Y %H:%M:%S},{one * 1.8 + 32:.1f},{other * 1.8 + 32:.1f}")
    head = {
        "clock": "Logger,shed\nTime,Probe 1 (°C),Probe 2 (°C)",
        "comma": "time;core °C;chamber °C",
        "elapsed": "Elapsed time (min)\tCore (°C)",
        "fahrenheit": "Date time,Core,Oven",
    }[plan.style]
    return head + "\n" + "\n".join(rows) + "\n"


if __name__ == "__main__":
    main()
