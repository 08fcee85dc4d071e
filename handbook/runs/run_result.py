"""One run compared with the models: measured and predicted values, its core curve, limits met or missed, taste."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import exp, log

import numpy as np
from msgspec import Struct

from handbook.base.arrays import Floats
from handbook.base.errors import RangeError
from handbook.base.ranges import Range
from handbook.brine.make_up import MakeUp
from handbook.heat.lethality import organisms
from handbook.page.house import House
from handbook.report.calibration import Calibration
from handbook.report.method_report import Report
from handbook.report.salt_course import SaltCourse
from handbook.runs.calibrate import SALT_ERROR
from handbook.runs.run_findings import finished_ratio, logged_reductions, measured_finished_salt, run_findings
from handbook.runs.run_models import RunModel
from handbook.runs.run_record import Run
from handbook.runs.taste import Note, RightSalt, right_salt
from handbook.safety.findings import Finding
from handbook.salt.uptake import UptakeResult, UptakeStageResult, run
from handbook.uncertainty.sampling import BAND, range_of

READING_ERROR = 0.03  # of a brine's strength: weighing and reading (estimate of the handbook)
CURVE_POINTS = 61
_StageFigure = Callable[[UptakeStageResult], Range | None]


class Compared(Struct, frozen=True, kw_only=True):
    """One measured figure and its predictions for this run. ``kind``: percent or time (SI).

    ``published`` by the published figures; ``others`` by those calibrated on all other runs, None without any.
    """

    what: str
    key: str
    kind: str
    measured: float
    published: Range | None
    others: Range | None

    @property
    def verdict(self) -> str:
        """The measured figure compared with the published range: inside, above or below."""
        if self.published is None:
            return ""
        if self.published.low <= self.measured <= self.published.high:
            return "inside"
        return "above" if self.measured > self.published.high else "below"


class CoreResult(Struct, frozen=True, eq=False, kw_only=True):
    """A logged core: its highest value, log10 reductions by organism (range by the probe's error), and its curve.

    ``time`` in s from the log's first row; ``measured``, and ``computed`` as low, typical, high, in K.
    """

    highest: float
    reductions: dict[str, Range]
    time: Floats
    measured: Floats
    computed: tuple[Floats, Floats, Floats] | None


class RunResult(Struct, frozen=True, eq=False, kw_only=True):
    """A run with all its results; ``salt`` is that of the finished food and the deviation of its logarithm."""

    run: Run
    rows: tuple[Compared, ...]
    yield_: float | None
    core: CoreResult | None
    findings: tuple[Finding, ...]
    salt: tuple[float, float] | None


class TasteAdvice(Struct, frozen=True, kw_only=True):
    """Advice from the taste notes: the preferred salt, that of the page, and how to reach it.

    ``time``: brining time in s for right.low, typical and high (None where this brine does not reach it); ``scale``:
    factor on the salt of the brine or cure for the same result. Both are None with too few notes, and for a cure with
    nitrite, whose amount is not a matter of taste.
    """

    right: RightSalt
    made: float
    time: tuple[float | None, float | None, float | None] | None
    scale: Range | None
    has_nitrite: bool


class Accuracy(Struct, frozen=True, kw_only=True):
    """Average error of predictions of one kind over ``runs`` runs, as factors above 1.

    Predicted by the ``published`` figures, and for each run by the ``others``.
    """

    key: str
    published: float
    others: float
    runs: int


def accuracies(results: tuple[RunResult, ...]) -> tuple[Accuracy, ...]:
    """The accuracy of each kind of figure that other runs predict in at least two runs."""
    found = []
    for key in ("salt", "loss", "come up"):
        rows = [row for each in results for row in each.rows if row.key == key and row.published and row.others]
        if len(rows) >= 2 and all(row.measured > 0 for row in rows):
            published, others = (
                exp(float(np.mean([abs(log(row.measured / getattr(row, name).typical)) for row in rows])))
                for name in ("published", "others")
            )
            found.append(Accuracy(key=key, published=published, others=others, runs=len(rows)))
    return tuple(found)


def run_result(model: RunModel, house: House, own: Calibration, others: Calibration) -> RunResult:
    """One run compared with the models; ``own`` are the figures from all runs, ``others`` those from all but this one."""
    published = _salted(model, None)
    predicted = None if others.is_empty else _salted(model, others)
    rows = (*_salt_rows(model, published, predicted), *_heat_rows(model, others))
    return RunResult(
        run=model.run,
        rows=rows,
        yield_=finished_ratio(model),
        core=_core_result(model),
        findings=run_findings(model, house),
        salt=_finished_salt(model, _salted(model, own) if not own.is_empty else published),
    )


def taste_advice(results: tuple[RunResult, ...], report: Report) -> TasteAdvice | None:
    """Advice from the notes on salt; None where nobody scored it."""
    notes = [
        Note(*each.salt, each.run.record.taste.salt, each.run.record.taste.tasters)
        for each in results
        if each.run.record.taste and each.run.record.taste.salt is not None and each.salt
    ]
    if not notes or report.salted is None:
        return None
    salted, made = report.salted, report.salted.result.end.salt_mass_fraction.typical
    right = right_salt(notes, made)
    nitrite = any(_has_nitrite(each.made) for each in report.saltings)
    if not right.is_enough or nitrite:
        return TasteAdvice(right=right, made=made, time=None, scale=None, has_nitrite=nitrite)
    native = report.food.native_salt_fraction
    scale = Range(*(max((end - native) / (made - native), 0.0) for end in right.salt.ends))
    is_timed = salted.salted.stage.kind == "soak" and salted.salting.kind == "immersion"
    times = _times(salted, made, right.salt) if is_timed else None
    return TasteAdvice(right=right, made=made, time=times, scale=scale, has_nitrite=nitrite)


def _salted(model: RunModel, calibration: Calibration | None) -> UptakeResult | None:
    inputs = model.salting_with(calibration)
    try:
        return run(inputs.piece, inputs.stages) if inputs else None
    except RangeError:
        return None


def _salt_rows(model: RunModel, published: UptakeResult | None, predicted: UptakeResult | None) -> Iterator[Compared]:
    inputs = model.salting
    if inputs is None or published is None:
        return

    def row(what: str, key: str, measured: float, at: int, figure: _StageFigure) -> Compared:
        others = figure(predicted.stages[at]) if predicted else None
        own = figure(published.stages[at])
        return Compared(what=what, key=key, kind="percent", measured=measured, published=own, others=others)

    index, reading = inputs.salting_index, model.brine()
    salting = published.stages[index]
    name = salting.stage.name
    if reading and reading.strength:
        yield _made_strength(model, name, model.measured_salt(name, reading.strength, reading.at))
    if model.gain is not None and salting.stage.weight_gain is not None:
        yield row(f"weight taken up in the {name}", "gain", model.gain, index, lambda stage: stage.stage.weight_gain)
    if reading and reading.spent and salting.bath_water_phase_salt is not None:
        spent = model.measured_salt(name, reading.spent, reading.spent_at)
        what = f"{name}: salt in its water, spent"
        yield row(what, "spent", spent, index, lambda stage: stage.bath_water_phase_salt)
    for each in model.record.steps:
        done = [at for at, numbers in enumerate(inputs.steps) if numbers[-1] <= each.step]
        if each.salt is not None and done:
            what = f"salt of the food after step {each.step}"
            yield row(what, "salt", each.salt.low, done[-1], lambda stage: stage.salt_mass_fraction)


def _made_strength(model: RunModel, name: str, measured: float) -> Compared:
    """The measured strength of a fresh brine and that of its recipe."""
    strong = next(each.made for each in model.report.saltings if each.mixture.name == name).water_phase_salt
    return Compared(
        what=f"{name}: salt in its water, as made",
        key="strength",
        kind="percent",
        measured=measured,
        published=Range(strong * (1 - READING_ERROR), strong, strong * (1 + READING_ERROR)),
        others=None,
    )


def _heat_rows(model: RunModel, others: Calibration) -> Iterator[Compared]:
    span, losses = model.loss_span, model.loss_samples()
    if span and losses is not None:
        published = range_of(losses[0])
        own = others.loss.next_run.times(published.typical) if others.loss and published.typical > 0 else None
        since = f"after step {span.before}" if span.before else "from the start"
        yield Compared(
            what=f"weight lost {since}, to the end of step {span.last}",
            key="loss",
            kind="percent",
            measured=span.loss,
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
    record, settings = model.run.log, model.record.log
    if record is None or settings is None:
        return None
    reductions = {organisms()[key].name: each for key, each in logged_reductions(model).items()}
    time = np.linspace(0.0, record.seconds[-1], CURVE_POINTS)
    computed = None
    stage = model.course.stage(settings.begins_with) if model.course else None
    if model.course is not None and stage is not None:
        result = model.course.result
        shifted = result.time - stage.start
        time = time[time <= shifted[-1]]
        core = result.core
        low, typical, high = (np.interp(time, shifted, end) for end in (core.low, core.typical, core.high))
        computed = (low, typical, high)
    measured = np.interp(time, record.seconds, record.core)
    return CoreResult(
        highest=float(record.core.max()), reductions=reductions, time=time, measured=measured, computed=computed
    )


def _finished_salt(model: RunModel, predicted: UptakeResult | None) -> tuple[float, float] | None:
    """Salt of the finished food and the deviation of its logarithm: measured, else as computed."""
    measured = measured_finished_salt(model)
    if measured is not None:
        return measured, SALT_ERROR
    if predicted is None:
        return None
    salt = predicted.end.salt_mass_fraction
    return salt.typical, log(salt.high / salt.low) / (2 * BAND) if salt.low > 0 else 0.3


def _times(salted: SaltCourse, made: float, wanted: Range) -> tuple[float | None, float | None, float | None]:
    """Brining times in s that give each salt of the finished food. Later losses concentrate all salts equally."""
    stages = [each.stage for each in salted.result.stages[: salted.salting_index + 1]]
    concentrated = made / salted.salted.salt_mass_fraction.typical
    low, typical, high = (
        run(salted.result.piece, stages, target=end / concentrated).stages[-1].time_to_target.typical
        for end in wanted.ends
    )
    return low, typical, high


def _has_nitrite(made: MakeUp) -> bool:
    return made.total("nitrite") + made.total("nitrate") > 0
