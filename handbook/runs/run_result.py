"""One run beside the models: measured against foretold, what its core curve did, limits met or missed, taste."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp, log

import numpy as np

from handbook.base.errors import RangeError
from handbook.base.ranges import Range
from handbook.brine.make_up import MakeUp
from handbook.brine.solution import water_activity
from handbook.heat.lethality import log10_reductions, organisms
from handbook.page.house import House
from handbook.page.schedule import schedule
from handbook.report.calibration import Calibration
from handbook.report.evaluate import Report
from handbook.runs.calibrate import SALT_ERROR
from handbook.runs.run_models import RunModel
from handbook.runs.run_record import Run
from handbook.runs.taste import Note, RightSalt, right_salt
from handbook.safety.findings import CoreCurve, Finding, SafetyCase, findings
from handbook.salt.uptake import UptakeResult, run
from handbook.uncertainty.sampling import BAND, range_of

PROBE_ERROR = 0.5  # K either way of a probe checked in ice and boiling water (common practice, no source)
READING_ERROR = 0.03  # of a brine's strength: weighing it out and reading it (estimate of the handbook)
#: Rules that a run can be judged by, and what of it must have been measured.
_BY_CORE = ("core-temperature", "lethality", "come-up-time", "cooling-stages")
_BY_PH = ("ferment-ph",)
_BY_SALT = ("pack-salt",)
CURVE_POINTS = 61


@dataclass(frozen=True, kw_only=True)
class Compared:
    """One measured figure beside what was foretold for this run. ``kind``: percent or time (SI).

    ``published`` by the published figures; ``others`` by those calibrated on all other runs, None where none tells.
    """

    what: str
    key: str
    kind: str
    measured: float
    published: Range | None
    others: Range | None

    @property
    def verdict(self) -> str:
        """Where the measured figure lies in the published band: inside, above or below."""
        if self.published is None:
            return ""
        if self.published.low <= self.measured <= self.published.high:
            return "inside"
        return "above" if self.measured > self.published.high else "below"


@dataclass(frozen=True, eq=False, kw_only=True)
class CoreResult:
    """A logged core: highest, log10 reductions by organism's name (low, typical, high by the probe's error), and for
    a chart ``time`` in s from the log's first row with ``measured`` and the computed core as low, typical, high (K)."""

    highest: float
    reductions: dict[str, Range]
    time: np.ndarray
    measured: np.ndarray
    computed: tuple[np.ndarray, np.ndarray, np.ndarray] | None


@dataclass(frozen=True, eq=False, kw_only=True)
class RunResult:
    """A run with everything that is shown of it; ``salt`` is that of the finished food and its deviation in ln."""

    run: Run
    rows: tuple[Compared, ...]
    yield_: float | None
    core: CoreResult | None
    findings: tuple[Finding, ...]
    salt: tuple[float, float] | None


@dataclass(frozen=True, kw_only=True)
class TasteAdvice:
    """What the taste notes advise: the right salt beside what the page makes, and how to get there.

    ``time``: brining time in s for right.low, typical and high (None ends: not with this brine); ``scale``: factor on
    the salt of the brine or cure that does the same. Both None while there are too few notes or the cure carries
    nitrite, whose amount is not a matter of taste.
    """

    right: RightSalt
    made: float
    time: tuple[float | None, float | None, float | None] | None
    scale: Range | None
    has_nitrite: bool


@dataclass(frozen=True)
class Accuracy:
    """How far figures of one kind were off on average over ``runs`` runs, as factors above 1: foretold by the published
    figures, and for each run by the other runs."""

    key: str
    published: float
    others: float
    runs: int


def accuracies(results: tuple[RunResult, ...]) -> tuple[Accuracy, ...]:
    """The accuracy of each kind of figure that other runs could foretell in two runs at least."""
    found = []
    for key in ("salt", "loss", "come up"):
        rows = [row for each in results for row in each.rows if row.key == key and row.published and row.others]
        if len(rows) >= 2 and all(row.measured > 0 for row in rows):
            offs = [
                exp(float(np.mean([abs(log(row.measured / getattr(row, name).typical)) for row in rows])))
                for name in ("published", "others")
            ]
            found.append(Accuracy(key, *offs, len(rows)))
    return tuple(found)


def run_result(model: RunModel, house: House, own: Calibration, others: Calibration) -> RunResult:
    """One run beside the models; ``own`` are the figures of all runs, ``others`` those of all but this one."""
    published, foretold = _salted(model, None), None
    if not others.is_empty:
        foretold = _salted(model, others)
    rows = (*_salt_rows(model, published, foretold), *_heat_rows(model, others))
    return RunResult(
        run=model.run,
        rows=rows,
        yield_=_finished_ratio(model),
        core=_core_result(model),
        findings=_judged(model, house),
        salt=_finished_salt(model, _salted(model, own) if not own.is_empty else published),
    )


def taste_advice(results: tuple[RunResult, ...], report: Report) -> TasteAdvice | None:
    """What the notes on salt advise; None where nobody scored it."""
    notes = [
        Note(*each.salt, each.run.record.taste.salt, each.run.record.taste.tasters)
        for each in results
        if each.run.record.taste and each.run.record.taste.salt is not None and each.salt
    ]
    if not notes or report.salted is None:
        return None
    made = report.salt.typical
    right = right_salt(notes, made)
    nitrite = any(each.equilibrium and _has_nitrite(each.made) for each in report.saltings)
    if not right.is_enough or nitrite:
        return TasteAdvice(right=right, made=made, time=None, scale=None, has_nitrite=nitrite)
    native = report.food.native_salt_fraction
    scale = Range(*(max((end - native) / (made - native), 0.0) for end in _ends(right.salt)))
    is_timed = report.salted.salted.stage.kind == "soak" and _kind(report) == "immersion"
    return TasteAdvice(
        right=right, made=made, time=_times(report, right.salt) if is_timed else None, scale=scale, has_nitrite=nitrite
    )


def _salted(model: RunModel, calibration: Calibration | None) -> UptakeResult | None:
    inputs = model.salting_with(calibration)
    try:
        return run(inputs.piece, inputs.stages) if inputs else None
    except RangeError:
        return None


def _salt_rows(model: RunModel, published: UptakeResult | None, foretold: UptakeResult | None):
    inputs = model.salting
    if inputs is None or published is None:
        return
    index = inputs.salting_index
    name = published.stages[index].stage.name

    def beside(figure) -> dict[str, Range | None]:
        return {"published": figure(published), "others": figure(foretold) if foretold else None}

    reading = model.brine()
    if reading and reading.strength:
        made = next(each.made for each in model.report.saltings if each.mixture.name == name)
        measured = model.measured_salt(name, reading.strength, reading.at)
        strong = made.water_phase_salt
        ends = Range(strong * (1 - READING_ERROR), strong, strong * (1 + READING_ERROR))
        yield Compared(
            what=f"{name}: salt in its water, as made",
            key="strength",
            kind="percent",
            measured=measured,
            published=ends,
            others=None,
        )
    if model.gain is not None and published.stages[index].stage.weight_gain is not None:
        yield Compared(
            what=f"weight taken up in the {name}",
            key="gain",
            kind="percent",
            measured=model.gain,
            **beside(lambda result: result.stages[index].stage.weight_gain),
        )
    if reading and reading.spent and published.stages[index].bath_water_phase_salt is not None:
        measured = model.measured_salt(name, reading.spent, reading.spent_at)
        yield Compared(
            what=f"{name}: salt in its water, spent",
            key="spent",
            kind="percent",
            measured=measured,
            **beside(lambda result: result.stages[index].bath_water_phase_salt),
        )
    for each in model.record.steps:
        done = [at for at, numbers in enumerate(inputs.steps) if numbers[-1] <= each.step]
        if each.salt is not None and done:
            yield Compared(
                what=f"salt of the food after step {each.step}",
                key="salt",
                kind="percent",
                measured=each.salt.low,
                **beside(lambda result, at=done[-1]: result.stages[at].salt_mass_fraction),
            )


def _heat_rows(model: RunModel, others: Calibration):
    span, losses = model.loss_span, model.loss_samples()
    if span and losses is not None:
        published = range_of(losses[0])
        own = others.loss.next_run.times(published.typical) if others.loss and published.typical > 0 else None
        since = f"after step {span[0]}" if span[0] else "from the start"
        yield Compared(
            what=f"weight lost {since}, to the end of step {span[1]}",
            key="loss",
            kind="percent",
            measured=span[2],
            published=published,
            others=own,
        )
    for rise in model.core_rises:
        found = model.come_up_samples(rise)
        if found is not None and np.isfinite(found[0][0]):
            finite = found[0][np.isfinite(found[0])]
            own = others.come_up.next_run.times(float(found[0][0])) if others.come_up else None
            yield Compared(
                what=f"step {rise.number}: time to a core of {rise.target - 273.15:.0f} °C",
                key="come up",
                kind="time",
                measured=rise.time,
                published=range_of(finite) if len(finite) > 1 else None,
                others=own,
            )


def _core_result(model: RunModel) -> CoreResult | None:
    record = model.run.log
    if record is None:
        return None
    ends = np.stack([record.core - PROBE_ERROR, record.core, record.core + PROBE_ERROR])
    reductions = {
        organism.name: Range(*log10_reductions(record.seconds, ends, organism).tolist())
        for organism in organisms().values()
        if model.report.food.food_class in organism.foods
    }
    time = np.linspace(0.0, record.seconds[-1], CURVE_POINTS)
    computed, begins = None, model.record.log.begins_with
    if model.course is not None and model.course.stage(begins) is not None:
        result = model.course.result
        shifted = result.time - model.course.stage(begins).start
        inside = time <= shifted[-1]
        time = time[inside]
        computed = tuple(np.interp(time, shifted, end) for end in _ends(result.core))
    measured = np.interp(time, record.seconds, record.core)
    return CoreResult(
        highest=float(record.core.max()), reductions=reductions, time=time, measured=measured, computed=computed
    )


def _judged(model: RunModel, house: House) -> tuple[Finding, ...]:
    """The rules that what was measured can answer, by the same limits as the method; None of the run is computed."""
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


def _case(model: RunModel, house: House, salt: Range | None, acidity: Range | None) -> SafetyCase:
    record, report = model.run.log, model.report
    planned = {each.number: each.duration for each in report.schedule.steps}
    steps = []
    for number, step in enumerate(model.method.steps, 1):
        own = model.record.step(number)
        # What the page asks for is no measurement: a core counts as read, or as logged, or not at all.
        core, hold = (own.core, own.hold) if own and own.core and not record else (None, None)
        steps.append(replace(step, core=core, hold=hold, until=None, time=step.time))
    timed = schedule(tuple(steps), planned)
    curve, reductions = None, {}
    if record is not None:
        curve = CoreCurve(
            time=record.seconds, low=record.core - PROBE_ERROR, typical=record.core, high=record.core + PROBE_ERROR
        )
        ends = np.stack([curve.low, curve.typical, curve.high])
        reductions = {
            key: Range(*log10_reductions(record.seconds, ends, organism).tolist())
            for key, organism in organisms().items()
            if report.food.food_class in organism.foods
        }
    activity = None
    if salt is not None:
        activity = Range(*(water_activity(end) for end in (salt.high, salt.typical, salt.low)))
    return SafetyCase(
        method=replace(model.method, steps=tuple(steps)),
        house=replace(house, exceptions=()),
        food=report.food,
        schedule=timed,
        water_phase_salt=salt,
        water_activity=activity,
        ingoing_nitrite_ppm=Range.exact(
            sum(each.equilibrium.ingoing_nitrite_ppm for each in report.saltings if each.equilibrium)
        ),
        final_ph=acidity,
        core=curve,
        log_reductions=reductions,
        makes={each.mixture.name: each.made for each in report.saltings},
        is_measured=True,
    )


def _measured_water_phase(model: RunModel) -> Range | None:
    """Salt / (salt + water) of the finished food from measured salt and weights; None without them."""
    measured, ratio = _measured_finished_salt(model), _finished_ratio(model)
    if measured is None:
        return None
    food, found = model.report.food, []
    for sign in (1, 0, -1):
        salt = measured * (1 - sign * SALT_ERROR) * ratio
        water = food.water + ratio - 1 - (salt - food.native_salt_fraction)
        if water <= 0.02:
            return None
        found.append(salt / (salt + water))
    return Range(*found)


def _finished_ratio(model: RunModel) -> float | None:
    """Last weight / green weight."""
    last = max((each for each in model.record.steps if each.weight), key=lambda each: each.step, default=None)
    return last.weight.low / model.record.batch.low if last else None


def _measured_finished_salt(model: RunModel) -> float | None:
    """Salt of the finished food from the last salt measured with a weight, if no salt can move after it."""
    salted = [each for each in model.record.steps if each.weight and each.salt is not None]
    if not salted or model.salting is None:
        return None
    reading = max(salted, key=lambda each: each.step)
    stages = zip(model.salting.steps, model.salting.stages, strict=True)
    if reading.step < max((numbers[-1] for numbers, stage in stages if not stage.is_sealed), default=0):
        return None
    return reading.salt.low * reading.weight.low / model.record.batch.low / _finished_ratio(model)


def _finished_salt(model: RunModel, foretold: UptakeResult | None) -> tuple[float, float] | None:
    """Salt of the finished food and the deviation of its logarithm: measured where it was, else as computed."""
    measured = _measured_finished_salt(model)
    if measured is not None:
        return measured, SALT_ERROR
    if foretold is None:
        return None
    salt = foretold.end.salt_mass_fraction
    return salt.typical, log(salt.high / salt.low) / (2 * BAND) if salt.low > 0 else 0.3


def _times(report: Report, wanted: Range) -> tuple[float | None, float | None, float | None]:
    """Brining times in s that end at each salt of the finished food: lost water concentrates all alike."""
    salted = report.salted
    stages = [each.stage for each in salted.result.stages[: salted.salting_index + 1]]
    concentrated = report.salt.typical / salted.salted.salt_mass_fraction.typical
    return tuple(
        run(salted.result.piece, stages, target=end / concentrated).stages[-1].time_to_target.typical
        for end in _ends(wanted)
    )


def _kind(report: Report) -> str:
    return report.method.salting(report.salted.salted.stage.name).kind


def _has_nitrite(made: MakeUp) -> bool:
    return made.total("nitrite") + made.total("nitrate") > 0


def _ends(values) -> tuple:
    return values.low, values.typical, values.high
