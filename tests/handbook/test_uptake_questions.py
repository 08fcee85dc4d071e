"""One question asked of a run gives what the whole run gives, and a table reads the same however it was asked."""

import numpy as np
import pytest

from handbook.base.ranges import Range
from handbook.salt.diffusion import geometry
from handbook.salt.diffusivity import salt_diffusivity, sugar_diffusivity
from handbook.salt.evolution import BathCoupling
from handbook.salt.uptake import Piece, Stage, hours_to_target, run, salt_at_end, time_to_target

HOUR, COLD = 3600.0, Range(275.15, 277.15, 279.15)
exact = Range.exact


def piece(shape: str = "slab", **more) -> Piece:
    thick, water, native = Range(0.018, 0.02, 0.022), Range(0.70, 0.72, 0.74), Range(0.0009, 0.0013, 0.0017)
    return Piece(
        shape=shape,
        thickness=thick,
        water_fraction=water,
        native_salt_fraction=native,
        salt_diffusivity=salt_diffusivity("fish"),
        sugar_diffusivity=sugar_diffusivity("fish"),
        **more,
    )


def soak(**more) -> Stage:
    bath = {"bath_water": Range(1.4, 1.5, 1.6), "bath_salt": exact(0.2), "bath_sugar": exact(0.05)}
    return Stage(kind="soak", duration=Range(5 * HOUR, 6 * HOUR, 8 * HOUR), temperature=COLD, **(bath | more))


def dry_cure() -> Stage:
    return Stage(kind="dry cure", duration=exact(8 * HOUR), temperature=COLD, bath_salt=Range(0.03, 0.035, 0.04))


FRESHEN = Stage(kind="freshen", duration=exact(HOUR), temperature=COLD, bath_water=exact(3.0), water_changes=2)
BLOCK = {"width": 0.05, "length": 0.12}


@pytest.mark.parametrize("stages", [[soak()], [dry_cure()], [soak(), FRESHEN], [FRESHEN, FRESHEN, soak()]])
@pytest.mark.parametrize(("shape", "more"), [("slab", {}), ("sphere", {}), ("block", BLOCK)])
def test_salt_at_end_is_that_of_the_run(shape, more, stages):
    """Exactly: the same samples go through the same stages, a stage given twice too."""
    assert salt_at_end(piece(shape, **more), stages) == run(piece(shape, **more), stages).end.salt_mass_fraction


@pytest.mark.parametrize("stages", [[soak()], [dry_cure()], [FRESHEN, soak()]])
@pytest.mark.parametrize("target", [0.005, 0.02, 0.03, 0.3])
def test_time_to_target_is_that_of_the_run(stages, target):
    """A target passed before the start, on the way, near rest and never reached."""
    assert time_to_target(piece(), stages, target) == run(piece(), stages, target=target).end.time_to_target


def test_no_time_to_target_without_a_bath():
    """A rest takes up nothing, so the question has no answer, and so for every thickness."""
    rest = Stage(kind="rest", duration=exact(HOUR), temperature=COLD)
    asked = time_to_target(piece(), [rest], 0.001)
    assert (asked.low, asked.typical, asked.high) == (None, None, None)
    assert hours_to_target(piece(), rest, 0.001, (0.01,))[0].hours == asked


def test_table_reads_the_same_in_any_order():
    """A table that was read up to a short time first and then further agrees with one read to the end at once."""
    shape = geometry("block", (1.5, 3.0))
    ratio = np.geomspace(0.5, 0.8, 20)
    evolution = BathCoupling.between(shape, ratio).evolution(shape.uniform(np.zeros(20)), ratio)
    readers = [np.eye(1, shape.size)[0], shape.centre, shape.outer(np.linspace(0.1, 0.2, 20))]
    short, long = np.full((20, 1), 0.004), np.geomspace(0.004, 60.0, 9)[None]
    whole, grown = evolution.table(readers, True), evolution.table(readers, True)
    at_once = whole.at(long)
    assert grown.at(short, 1)[0] == pytest.approx(at_once[0, :, :1], rel=1e-12)
    assert grown.at(long) == pytest.approx(at_once, rel=1e-12)
    assert at_once[0, :, -1] == pytest.approx(ratio / (1 + ratio), rel=1e-9)
