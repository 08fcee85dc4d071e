"""The run of an ended batch: the measurements of its entries by step, as in a run's file."""

from __future__ import annotations

from handbook.base.units import parse_quantity
from handbook.batches.batch_record import BatchRecord, Entry
from handbook.batches.batch_state import ENDED, batch_state, step_begins
from handbook.page.method import Method
from handbook.runs.run_record import RunRecord, StepReading, Tasting

_TAKEN = ("weight", "salt", "ph", "temperature", "chamber", "core", "hold")


def run_of_batch(record: BatchRecord, method: Method) -> RunRecord | None:
    """The run of a batch; None where it is not usable: not ended, discarded, recalled, unmeasured, or with other steps.

    A batch whose page has since been given other steps does not apply to today's steps.
    """
    state = batch_state(record)
    if state.state != ENDED or state.recalled or [row.do for row in record.plan] != [step.do for step in method.steps]:
        return None
    written = {each.step: each for each in record.steps}
    steps = [written.get(row.step) or _reading(record, row.step) for row in record.plan]
    taste = record.taste or _tasting(record)
    values = {name: getattr(record, name) for name in RunRecord.__struct_fields__}
    if not (record.log or record.brines or taste or any(each is not None and _teaches(each) for each in steps)):
        return None
    return RunRecord(**values | {"steps": tuple(filter(None, steps)), "taste": taste})


def _teaches(each: StepReading) -> bool:
    """Whether a measurement of a step can be compared with a figure of the method. Its time alone cannot."""
    is_heat = each.core is not None and each.time is not None
    return is_heat or any(value is not None for value in (each.weight, each.salt, each.ph))


def _reading(record: BatchRecord, step: int) -> StepReading | None:
    own = [each for each in record.valid if each.step == step]
    if not own:
        return None
    values: dict[str, object] = {}
    for name in _TAKEN:
        found = [value for each in own if (value := getattr(each, name)) is not None]
        if found:
            values[name] = found[-1]
    if "core" in values:
        values |= _highest_core(own)
    done = next((each for each in own if each.state == "done"), None)
    if done is not None:
        seconds = (done.at - step_begins(record, step)).total_seconds()
        if seconds > 0:
            values["time"] = parse_quantity(f"{round(seconds / 60)} min", "time")
    return StepReading(step=step, line=own[0].line, **values) if values else None  # type: ignore[arg-type]


def _highest_core(own: list[Entry]) -> dict[str, object]:
    read = max((each for each in own if each.core is not None), key=lambda each: each.core.low if each.core else 0.0)
    return {"core": read.core, "hold": read.hold}


def _tasting(record: BatchRecord) -> Tasting | None:
    return next((each.taste for each in reversed(record.valid) if each.taste is not None), None)
