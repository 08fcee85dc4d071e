"""Diffusion against series solutions, Duhamel's integral, a method-of-lines run by scipy, and its own limits.

The engine claims 0.1 % of the final uptake for every shape and bath; that is the tolerance. Measured agreement is
some 30 times better and is printed by tests/bench_uptake.py.
"""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from handbook.base.errors import RangeError
from handbook.salt.diffusion import geometry
from handbook.salt.evolution import BathCoupling, held_surface, sealed
from tests.handbook.uptake_reference import Lines, block_in_bath
from tests.published import rows

CLAIMED = 1e-3  # of the final uptake
CENTRE_CLAIMED = 2e-3  # of the difference between bath and start
COLUMNS = {"slab": "plane_sheet", "cylinder": "long_cylinder", "sphere": "sphere"}
#: D t / L^2, bath ratio (inf: surface held, 0: sealed) and solute of the bath, stage by stage.
SEQUENCE = ((0.06, 1.7, 1.7), (0.002, np.inf, 0.0), (0.02, 4.0, 0.0), (0.08, 0.0, 0.0), (0.1, 0.3, 0.1))
ones, zeros = np.ones, np.zeros


def mean(shape) -> np.ndarray:
    return np.eye(shape.size)[0]


def uptake(shape, fourier: float, alpha: float) -> float:
    """Fraction of the final uptake of a piece free of solute."""
    start = shape.uniform(zeros(1))
    if alpha == np.inf:
        return float(held_surface(shape, start, ones(1)).state(np.array([fourier]))[0][0, 0])
    states, _ = (
        BathCoupling.between(shape, np.array([alpha])).evolution(start, np.array([alpha])).state(np.array([fourier]))
    )
    return float(states[0, 0] * (1 + alpha) / alpha)


# Against the published series


@pytest.mark.parametrize(("name", "column"), list(COLUMNS.items()))
def test_endless_bath_crank(name, column):
    """Mean and centre of sheet, cylinder and sphere at a held surface follow the series in tests/published."""
    shape = geometry(name)
    printed = rows("crank_sheet.csv")
    assert len(printed) == 27
    times = np.array([float(row["dimensionless_time_T[-]"]) for row in printed])
    table = held_surface(shape, shape.uniform(zeros(1)), ones(1)).table([mean(shape), shape.centre])
    means, centres = table.at(times[None])[:, 0]
    assert means == pytest.approx([float(row[f"{column}_mean_uptake[-]"]) for row in printed], abs=CLAIMED)
    assert centres == pytest.approx([float(row[f"{column}_centre[-]"]) for row in printed], abs=CENTRE_CLAIMED)


@pytest.mark.parametrize("name", COLUMNS)
def test_limited_bath_crank(name):
    """Uptake from a stirred bath of limited volume follows the series for six bath ratios and fourteen times."""
    printed = rows("crank_limited_volume.csv")
    assert len(printed) == 84
    column = COLUMNS[name]
    shape = geometry(name)
    for row in printed:
        got = uptake(shape, float(row["dimensionless_time_T[-]"]), float(row["alpha[-]"]))
        assert got == pytest.approx(float(row[f"{column}_Mt_over_Minf[-]"]), abs=CLAIMED), row


def test_block_and_short_cylinder_product():
    """Blocks and a cylinder with open ends follow the product of series, true for the endless bath only."""
    printed = rows("crank_block.csv")
    assert len(printed) == 39
    for row in printed:
        first, *others = (float(row[f"half_l{at}[-]"]) for at in "xyz" if row[f"half_l{at}[-]"])
        shape = geometry("block" if row["shape"] == "block" else "cylinder", tuple(each / first for each in others))
        got = uptake(shape, float(row["dimensionless_time_T[-]"]) / first**2, np.inf)
        assert got == pytest.approx(float(row["mean_uptake[-]"]), abs=CLAIMED), row


@pytest.mark.parametrize("lengths", [(1.0, 1.0, 1.0), (1.0, 1.5, 3.0), (1.0, 4.0, 10.0), (1.0, 2.0)])
@pytest.mark.parametrize("alpha", [0.05, 0.6, 5.0])
def test_block_limited_bath_duhamel(lengths, alpha):
    """A block in a limited bath follows Duhamel's integral over the product solution; a product alone would not."""
    times = np.linspace(0, 1, 161) ** 2 * 0.6
    shape = geometry("block", lengths[1:])
    evolution = BathCoupling.between(shape, np.full(161, alpha)).evolution(
        shape.uniform(zeros(161)), np.full(161, alpha)
    )
    states, _ = evolution.state(times)
    expected = block_in_bath(times, lengths, alpha)
    assert states[8:, 0] == pytest.approx(expected[8:], abs=CLAIMED * alpha / (1 + alpha))


# Against an independent run through several stages


@pytest.mark.parametrize(("name", "power"), [("slab", 0), ("cylinder", 1), ("sphere", 2)])
def test_sequence_method_of_lines(name, power):
    """Bath, held at nothing, second bath, rest: mean, centre and bath follow scipy's stiff solver stage by stage."""
    shape, run = geometry(name), Lines.of(power, 0.05)
    state = shape.uniform(np.array([0.05]))
    for fourier, alpha, bath in SEQUENCE:
        if alpha == np.inf:
            run.hold(fourier, 0.0)
            evolution = held_surface(shape, state, zeros(1))
        elif alpha == 0:
            run.seal(fourier)
            evolution = sealed(shape, state)
        else:
            expected_bath = run.bath(fourier, alpha, bath)
            evolution = BathCoupling.between(shape, np.array([alpha])).evolution(state, np.array([bath]))
        state, left = evolution.state(np.array([fourier]))
        assert state[0, 0] == pytest.approx(run.mean, abs=CLAIMED * 0.65)
        assert shape.centre @ state[0] == pytest.approx(run.centre, abs=CENTRE_CLAIMED)
        if left is not None:
            assert left[0] == pytest.approx(expected_bath, abs=CLAIMED * 0.65)


def test_block_sequence_method_of_lines():
    """A long bar of 1 : 2 through bath, rest and plain water follows a two-dimensional run by scipy."""
    shape, run = geometry("block", (2.0,)), Lines.of(0, 0.02, (1.0, 2.0), count=37)
    state = shape.uniform(np.array([0.02]))
    left = run.bath(0.08, 1.2, 1.2)
    state, bath = BathCoupling.between(shape, np.array([1.2])).evolution(state, np.array([1.2])).state(np.array([0.08]))
    assert (state[0, 0], bath[0]) == pytest.approx((run.mean, left), abs=CLAIMED * 0.55)
    run.seal(0.15)
    state, _ = sealed(shape, state).state(np.array([0.15]))
    assert (state[0, 0], shape.centre @ state[0]) == pytest.approx((run.mean, run.centre), abs=CENTRE_CLAIMED)
    left = run.bath(0.03, 3.0, 0.0)
    state, bath = BathCoupling.between(shape, np.array([3.0])).evolution(state, zeros(1)).state(np.array([0.03]))
    assert (state[0, 0], bath[0]) == pytest.approx((run.mean, left), abs=CLAIMED * 0.55)


# Readers


def test_outer_layer_of_a_profile():
    """The outer layer's mean is that of the whole less the inside: checked on the sheet's series profile."""
    shape, time, depth = geometry("slab"), 0.08, 0.3
    states, _ = held_surface(shape, shape.uniform(zeros(1)), ones(1)).state(np.array([time]))
    q = (np.arange(200) + 0.5) * np.pi
    profile = 2 * (-1.0) ** np.arange(200) / q * np.exp(-(q**2) * time)
    inner = float((profile * np.sin(q * (1 - depth)) / q).sum())
    whole = float((profile * np.sin(q) / q).sum())
    assert shape.outer(np.array([depth])) @ states[0] == pytest.approx(1 - (whole - inner) / depth, abs=CLAIMED)
    assert shape.outer(np.array([1.5])) @ states[0] == pytest.approx(states[0, :1], abs=1e-9)


@pytest.mark.parametrize("aspects", [(), (1.5, 4.0)])
def test_outer_layer_of_many_samples(aspects):
    """Readers shared between samples differ from those worked out one by one by far less than the model claims."""
    shape = geometry("block" if aspects else "slab", aspects)
    states, _ = held_surface(shape, shape.uniform(zeros(1)), ones(1)).state(np.array([0.05]))
    depths = np.linspace(0.1, 0.45, 200)
    one_by_one = np.array([(shape.outer(depths[at : at + 1]) @ states[0])[0] for at in range(200)])
    assert shape.outer(depths) @ states[0] == pytest.approx(one_by_one, abs=CLAIMED)


def test_depth_profile_of_a_block():
    """Mid-piece, the profile of a block is the product of the sheets' profiles."""
    lengths, time = (1.0, 1.5, 2.0), 0.2
    shape = geometry("block", lengths[1:])
    states, _ = held_surface(shape, shape.uniform(zeros(1)), ones(1)).state(np.array([time]))
    q = (np.arange(100) + 0.5) * np.pi

    def sheet(place, length):
        return float((2 * (-1.0) ** np.arange(100) / q * np.exp(-(q**2) * time / length**2) * np.cos(q * place)).sum())

    for depth in (0.1, 0.4, 0.8, 1.0):
        expected = 1 - sheet(1 - depth, 1.0) * sheet(0, 1.5) * sheet(0, 2.0)
        assert shape.at_depth(np.array([depth])) @ states[0] == pytest.approx(expected, abs=CENTRE_CLAIMED)


# Properties and limits

shapes = st.sampled_from(
    [
        ("slab", ()),
        ("cylinder", ()),
        ("sphere", ()),
        ("cylinder", (2.0,)),
        ("block", (1.0, 1.0)),
        ("block", (1.5, 5.0)),
        ("block", (3.0,)),
        ("block", (0.4, 2.0)),
    ]
)
logs = st.floats(-4, 1)


@settings(max_examples=60, deadline=None)
@given(shapes, st.floats(-2, 3), logs, logs, st.floats(0, 2))
def test_solute_is_conserved(named, log_alpha, first, second, start):
    """Food and bath together hold the same to 1e-9 after a bath and a rest, whatever the shape and ratio."""
    shape, alpha = geometry(*named), 10.0**log_alpha
    state = shape.uniform(np.array([start]))
    state, bath = (
        BathCoupling.between(shape, np.array([alpha]))
        .evolution(state, np.array([alpha]))
        .state(np.array([10.0**first]))
    )
    total = start + alpha
    assert state[0, 0] + bath[0] == pytest.approx(total, rel=1e-9)
    rested, _ = sealed(shape, state).state(np.array([10.0**second]))
    assert rested[0, 0] == pytest.approx(state[0, 0], rel=1e-9)


@settings(max_examples=40, deadline=None)
@given(shapes, st.floats(-1, 2), st.floats(-3.5, 0.5))
def test_uptake_rises_with_time(named, log_alpha, log_time):
    """More time, more uptake, and never more than the rest strength."""
    shape, alpha = geometry(*named), 10.0**log_alpha
    earlier, later = uptake(shape, 10.0**log_time, alpha), uptake(shape, 10.0**log_time * 1.5, alpha)
    assert earlier <= later + 1e-9 <= 1 + 2e-9


@settings(max_examples=40, deadline=None)
@given(st.floats(0.3, 20), st.floats(0.3, 20), st.sampled_from([0.1, 1.0, 10.0, np.inf]), st.floats(-3, 0.5))
def test_block_takes_up_no_less_than_slab(width, length, alpha, log_time):
    """Further open faces do not slow a piece of the same thickness.

    In a limited bath this holds up to the last per cent: the ends take up too much while the bath is strong and give it
    back later, along the length (Duhamel's integral says so too).
    """
    block = uptake(geometry("block", (width, length)), 10.0**log_time, alpha)
    slab = uptake(geometry("slab"), 10.0**log_time, alpha)
    assert block >= (slab if alpha == np.inf else min(slab, 0.98)) - 2e-4


def test_block_rests_later_than_slab_in_a_small_bath():
    """The exception above is real: at 0.9988 against 0.9991, by Duhamel's integral and by the engine alike."""
    alpha, times = 10**-0.5, np.linspace(0, 1, 401) ** 2
    for lengths in ((1.0,), (1.0, 3.0, 5.0)):
        shape = geometry("block" if lengths[1:] else "slab", lengths[1:])
        expected = block_in_bath(times, lengths, alpha)[-1] * (1 + alpha) / alpha
        assert uptake(shape, 1.0, alpha) == pytest.approx(expected, abs=2e-5)


@pytest.mark.parametrize("named", [("slab", ()), ("sphere", ()), ("block", (1.5, 5.0))])
def test_limits_of_the_bath(named):
    """A vast bath is a held surface; a vanishing one is no bath; a long time brings the common strength."""
    shape = geometry(*named)
    assert uptake(shape, 0.1, 1e7) == pytest.approx(uptake(shape, 0.1, np.inf), abs=1e-5)
    state = shape.uniform(np.array([0.3]))
    tiny, _ = BathCoupling.between(shape, np.array([1e-6])).evolution(state, np.array([1e-6])).state(np.array([0.5]))
    assert tiny[0, 0] == pytest.approx(0.3, abs=1e-6)
    late, bath = BathCoupling.between(shape, np.array([2.0])).evolution(state, np.array([2.0])).state(np.array([1e4]))
    assert (late[0, 0], shape.centre @ late[0], bath[0] / 2) == pytest.approx((2.3 / 3,) * 3, abs=1e-9)
    now, bath = BathCoupling.between(shape, np.array([2.0])).evolution(state, np.array([2.0])).state(zeros(1))
    assert (now[0, 0], bath[0]) == pytest.approx((0.3, 2.0), abs=1e-9)


def test_rest_evens_out_whatever_the_length():
    """A long bar at last has the same everywhere, and its mean never moves."""
    shape = geometry("block", (30.0,))
    state, _ = held_surface(shape, shape.uniform(zeros(1)), ones(1)).state(np.array([0.02]))
    rested, _ = sealed(shape, state).state(np.array([5000.0]))
    assert rested[0, 0] == pytest.approx(state[0, 0], rel=1e-12)
    assert shape.centre @ rested[0] == pytest.approx(rested[0, 0], rel=1e-6)


@pytest.mark.parametrize("half_width", [0.1, 0.3, 0.6, 1.0, 1.5])
def test_bath_ratios_interpolated(half_width):
    """Samples of many ratios at once agree with one ratio at a time within the claim."""
    shape = geometry("sphere")
    ratios = 0.3 * np.exp(np.linspace(-half_width, half_width, 41))
    times = np.full(41, 0.04)
    together, _ = BathCoupling.between(shape, ratios).evolution(shape.uniform(zeros(41)), ratios).state(times)
    alone = [
        BathCoupling.between(shape, ratios[at : at + 1])
        .evolution(shape.uniform(zeros(1)), ratios[at : at + 1])
        .state(times[:1])[0][0, 0]
        for at in range(41)
    ]
    assert together[:, 0] == pytest.approx(alone, abs=CLAIMED * 0.3 / 1.3)


def test_table_reads_as_the_exact_sum():
    """Reading a table between its points agrees with the sum of modes."""
    shape = geometry("cylinder")
    evolution = BathCoupling.between(shape, np.full(50, 0.8)).evolution(shape.uniform(zeros(50)), np.full(50, 0.8))
    times = np.geomspace(1e-4, 2, 50)
    states, baths = evolution.state(times)
    means, got_baths = evolution.table([mean(shape)], with_bath=True).at(times[:, None])[:, :, 0]
    assert means == pytest.approx(states[:, 0], abs=1e-4)
    assert got_baths == pytest.approx(baths, abs=1e-4)


@pytest.mark.parametrize(
    ("arguments", "error"),
    [
        (("cone", ()), ValueError),
        (("slab", (2.0,)), ValueError),
        (("block", ()), ValueError),
        (("block", (0.0, 1.0)), RangeError),
        (("block", (1.0, 201.0)), RangeError),
    ],
)
def test_geometry_refuses(arguments, error):
    """Unknown shapes and impossible proportions are named, not guessed."""
    with pytest.raises(error, match="allowed"):
        geometry(*arguments)
