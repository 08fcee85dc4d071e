"""Judge one run by the safety rules that apply to its measurements."""

from __future__ import annotations

import numpy as np
from msgspec.structs import replace

from handbook.base.ranges import Range
from handbook.brine.solution import water_activity
from handbook.heat.lethality import log10_reductions, organisms
from handbook.page.house import House
from handbook.page.schedule import schedule
from handbook.runs.calibrate import SALT_ERROR
from handbook.runs.run_models import RunModel
from handbook.safety.findings import CoreCurve, Finding, SafetyCase, findings

PROBE_ERROR = 0.5  # K up or down, of a probe checked in ice and boiling water (common practice, no source)
#: Rules that apply to a run, by the required measurement.
_BY_CORE = ("core-temperature", "lethality", "come-up-time", "cooling-stages")
_BY_PH = ("ferment-ph",)
_BY_SALT = ("pack-salt",)


def run_findings(model: RunModel, house: House) -> tuple[Finding, ...]:
    """Findings of the rules for the measurements, by the method's limits. Computed figures do not count."""
    reading = [each for each in model.record.steps if each.core is not None]
    rules = [*(_BY_CORE if model.run.log else ("core-temperature",) if reading else ())]
    acidity = [each.ph for each in model.record.steps if each.ph is not None]
    rules += _BY_PH if acidity else ()
    salt = _measured_water_phase(model)
    rules += _BY_SALT if salt else ()
    if not rules:
        return ()
    found = findings(_case(model, house, salt, Range.exact(acidity[-1]) if acidity else None))
    return tuple(each for each in found if each.rule in rules and each.decides and each.level != "note")


def finished_ratio(model: RunModel) -> float | None:
    """Last weight / green weight."""
    weights = _weights(model)
    return weights[max(weights)] / model.record.batch.low if weights else None


def measured_finished_salt(model: RunModel) -> float | None:
    """Salt of the finished food from the last measured salt with a weight; None where salt can move after it."""
    weights = _weights(model)
    salts = {each.step: each.salt.low for each in model.record.steps if each.step in weights and each.salt is not None}
    if not salts or model.salting is None:
        return None
    step = max(salts)
    stages = zip(model.salting.steps, model.salting.stages, strict=True)
    if step < max((numbers[-1] for numbers, stage in stages if not stage.is_sealed), default=0):
        return None
    return salts[step] * weights[step] / weights[max(weights)]


def logged_reductions(model: RunModel) -> dict[str, Range]:
    """log10 reductions along the logged core by key of the organism, with the probe's error; none without a log."""
    log = model.run.log
    if log is None:
        return {}
    ends = np.stack([log.core - PROBE_ERROR, log.core, log.core + PROBE_ERROR])
    return {
        key: Range(*log10_reductions(log.seconds, ends, organism).tolist())
        for key, organism in organisms().items()
        if model.report.food.food_class in organism.foods
    }


def _case(model: RunModel, house: House, salt: Range | None, acidity: Range | None) -> SafetyCase:
    record, report = model.run.log, model.report
    planned = {each.number: each.duration for each in report.schedule.steps}
    steps = []
    for number, step in enumerate(model.method.steps, 1):
        own = model.record.step(number)
        # The page's own core is not a measurement: only a core that was read or logged counts.
        core, hold = (own.core, own.hold) if own and own.core and not record else (None, None)
        steps.append(replace(step, core=core, hold=hold, until=None, time=step.time))
    timed = schedule(tuple(steps), planned)
    curve = None
    if record is not None:
        low, high = record.core - PROBE_ERROR, record.core + PROBE_ERROR
        curve = CoreCurve(time=record.seconds, low=low, typical=record.core, high=high)
    activity = Range(*map(water_activity, reversed(salt.ends))) if salt else None
    return SafetyCase(
        method=replace(model.method, steps=tuple(steps)),
        house=house.without_exceptions(),
        food=report.food,
        schedule=timed,
        water_phase_salt=salt,
        water_activity=activity,
        ingoing_nitrite_ppm=Range.exact(sum(each.equilibrium.ingoing_nitrite_ppm for each in report.saltings)),
        final_ph=acidity,
        core=curve,
        log_reductions=logged_reductions(model),
        makes={each.mixture.name: each.made for each in report.saltings},
        is_measured=True,
    )


def _measured_water_phase(model: RunModel) -> Range | None:
    """Salt / (salt + water) of the finished food from measured salt and weights; None without them."""
    measured, ratio = measured_finished_salt(model), finished_ratio(model)
    if measured is None or ratio is None:
        return None
    food, found = model.report.food, []
    for sign in (1, 0, -1):
        salt = measured * (1 - sign * SALT_ERROR) * ratio
        water = food.water + ratio - 1 - (salt - food.native_salt_fraction)
        if water <= 0.02:
            return None
        found.append(salt / (salt + water))
    return Range(*found)


def _weights(model: RunModel) -> dict[int, float]:
    """Weight in kg by step number."""
    return {each.step: each.weight.low for each in model.record.steps if each.weight}
