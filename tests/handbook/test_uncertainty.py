"""One meaning of a range: how inputs are drawn, how results are published, in both models."""

import numpy as np
import pytest
from msgspec.structs import replace
from scipy import stats
from scipy.stats import qmc

from handbook.base.errors import RangeError
from handbook.base.ranges import Range
from handbook.heat import heat_run as heat
from handbook.heat.heat_run import HeatSpread, run
from handbook.salt import uptake
from handbook.salt.diffusivity import salt_diffusivity, sugar_diffusivity
from handbook.uncertainty.sampling import (
    AS_STATED,
    EVEN,
    LOG_NORMAL,
    Draws,
    UncertainInput,
    ends,
    halton,
    range_of,
    ranks,
    times_of,
)
from tests.handbook.heat_cases import ALONE, bath, chamber, exact, piece

SURE = HeatSpread(
    conductivity=exact(1.0), heat_capacity=exact(1.0), moisture_diffusivity=exact(1.0), exudation=exact(1.0)
)


def uncertain(values: Range, distribution: str = EVEN, name: str = "x", **more) -> UncertainInput:
    return UncertainInput(name=name, range=values, distribution=distribution, source=AS_STATED, **more)


# ------------------------------------------------------------------ the meaning


@pytest.mark.parametrize("distribution", [EVEN, LOG_NORMAL])
@pytest.mark.parametrize("values", [Range(1.0, 2.0, 8.0), Range(20.0, 22.5, 25.0), Range(0.4, 1.0, 2.5)])
def test_a_range_holds_nine_in_ten(distribution, values):
    """5 % of the draws lie below the low end, half below the typical value, 5 % above the high end."""
    each = uncertain(values, distribution)
    drawn = Draws([each.key], 1000).of(each)
    assert drawn[0] == values.typical
    below = [int((drawn[1:] < end).sum()) for end in (values.low, values.typical, values.high)]
    assert below == [50, 500, 950]


def test_a_result_means_what_an_input_means():
    """What is drawn from a range and published again is that range: to 0.1 % at 1000 samples, to 1 % at 64."""
    for values in (Range(1.0, 2.0, 8.0), Range(-0.1, 0.0, 0.3)):
        for distribution in (EVEN, LOG_NORMAL)[: 2 if values.low > 0 else 1]:
            each = uncertain(values, distribution)
            for samples, part in ((1000, 1e-3), (64, 1e-2)):
                found = range_of(Draws([each.key], samples).of(each))
                width = values.high - values.low
                assert (found.low, found.high) == pytest.approx((values.low, values.high), abs=part * width)


@pytest.mark.parametrize(
    ("distribution", "scipy_name", "parameters"),
    [(EVEN, "uniform", (20.0 - 5 / 18, 5 * 10 / 9)), (LOG_NORMAL, "lognorm", (0.0737, 0.0, 22.36))],
)
def test_distributions_against_scipy(distribution, scipy_name, parameters):
    """Symmetric ranges are scipy's uniform and log-normal distribution with the ends as 5 and 95 % quantiles."""
    law = getattr(stats, scipy_name)(*parameters)
    low, typical, high = (float(law.ppf(share)) for share in (0.05, 0.5, 0.95))
    each = uncertain(Range(low, typical, high), distribution)
    drawn = np.sort(Draws([each.key], 200).of(each)[1:])
    np.testing.assert_allclose(drawn, law.ppf((np.arange(200) + 0.5) / 200), rtol=1e-9)
    assert stats.kstest(drawn, law.cdf).statistic < 0.003


def test_impossible_values_are_set_to_the_limit():
    """Humidity goes to saturation and no further; a range that states the impossible is refused by name."""
    each = uncertain(Range(0.7, 0.9, 0.995), name="humidity", least=0.0, most=1.0)
    drawn = Draws([each.key], 200).of(each)
    assert drawn.max() == 1.0 and (drawn > 0.995).sum() == 10
    with pytest.raises(RangeError, match=r"humidity: read 1\.2; allowed: 0 to 1"):
        uncertain(Range(0.7, 0.9, 1.2), name="humidity", least=0.0, most=1.0)
    with pytest.raises(RangeError, match="thickness: read 0; allowed: above 0"):
        uncertain(Range(0.0, 0.02, 0.03), LOG_NORMAL, "thickness")
    with pytest.raises(ValueError, match="allowed: even, log-normal"):
        uncertain(exact(1.0), "triangle")


def test_a_written_thickness_means_one_thing_in_both_models():
    """20 to 25 mm goes into salt and heat as the same lengths, and both publish what a piece of 20 or 25 mm does.

    Thickness alone is uncertain, so the ends of each result are those of the two pieces alone.
    """
    written = Range(0.020, 0.0225, 0.025)
    body = replace(piece(), thickness=written)
    result = run(body, [chamber(77, 0.7)], SURE)
    alone = [run(replace(body, thickness=exact(end)), [chamber(77, 0.7)], ALONE) for end in (0.025, 0.020)]
    expected = [each.core.typical[-1] for each in alone]
    core = result.stages[0].core
    assert (core.low, core.high) == pytest.approx(expected, abs=0.3)  # K: the numerics of the model

    def salted(thickness: Range, samples: int):
        sure = replace(salt_diffusivity("fish"), spread_factor=1.0, activation_energy_band=0.0)
        food = uptake.Piece(
            shape="slab",
            thickness=thickness,
            water_fraction=exact(0.75),
            native_salt_fraction=exact(0.002),
            salt_diffusivity=sure,
            sugar_diffusivity=sugar_diffusivity("fish"),
        )
        soak = uptake.Stage(
            kind="soak",
            duration=exact(6 * 3600.0),
            temperature=exact(277.15),
            bath_water=exact(1.5),
            bath_salt=exact(0.2),
        )
        return uptake.run(food, [soak], uptake.Spread(samples=samples))

    found = salted(written, 64)
    expected = [salted(exact(end), 0).end.salt_mass_fraction.typical for end in (0.025, 0.020)]
    salt = found.end.salt_mass_fraction
    assert (salt.low, salt.high) == pytest.approx(expected, rel=5e-3)
    assert found.end.dominating[0].name == "thickness" and len(found.end.dominating) == 1
    halves = heat.TimeStepper(body, [chamber()], SURE, 101325.0).green_half
    assert np.sort(halves) == pytest.approx(np.sort(found.lengths), rel=1e-12)
    assert result.dominating(result.samples.core[:, -1]) == "thickness"
    assert result.dominating(result.samples.chamber[:, -1]) == ""


# ------------------------------------------------------------------ the points


@pytest.mark.parametrize("inputs", [1, 2, 9, 20])
def test_halton_against_scipy(inputs):
    """The points are those of scipy's Halton sequence without scrambling, from number 21 on."""
    points = halton(256, inputs)
    sequence = qmc.Halton(inputs, scramble=False)
    np.testing.assert_allclose(points, sequence.random(277)[21:], atol=1e-15)


@pytest.mark.parametrize(("samples", "inputs"), [(64, 9), (128, 9), (256, 22), (256, 100), (100, 3), (8, 12)])
def test_ranks_fill_every_input_evenly(samples, inputs):
    """Each input takes every rank once; where samples suffice, no two inputs go together (scipy's Spearman)."""
    found = ranks(samples, inputs)
    assert found.shape == (inputs, samples)
    assert (np.sort(found, axis=1) == np.arange(samples)).all()
    if samples > 2 * inputs:
        tied = stats.spearmanr(found, axis=1).statistic
        assert np.abs(np.atleast_2d(tied) - np.eye(len(np.atleast_2d(tied)))).max() < 0.05


@pytest.mark.parametrize(("samples", "inputs"), [(64, 9), (256, 9)])
def test_ranks_are_more_even_than_chance(samples, inputs):
    """Their centred discrepancy (scipy's) is below that of each of 60 random Latin squares of the same size."""
    ours = qmc.discrepancy((ranks(samples, inputs).T + 0.5) / samples)
    others = [qmc.discrepancy(qmc.LatinHypercube(inputs, seed=seed).random(samples)) for seed in range(60)]
    assert ours < min(others)


# ------------------------------------------------------------------ results


def test_ends_against_numpy():
    """Quantiles are numpy's by Hazen's places, (k - 1/2) / n, and always hold the typical run."""
    values = np.random.default_rng(4).normal(size=(65, 3))
    low, typical, high = ends(values)
    assert low == pytest.approx(np.minimum(np.quantile(values[1:], 0.05, axis=0, method="hazen"), values[0]))
    assert high == pytest.approx(np.maximum(np.quantile(values[1:], 0.95, axis=0, method="hazen"), values[0]))
    assert typical == pytest.approx(values[0])
    values[0, 0] = 99.0
    assert range_of(values[:, 0]).high == 99.0
    assert range_of(values[:1, 1]) == exact(float(values[0, 1]))


def test_times_that_never_come():
    """One sample in ten that never gets there takes the high end away; all but one take the low end too."""
    times = np.concatenate([[10.0], np.linspace(5, 20, 90), np.full(10, np.inf)])
    low, typical, high = times_of(times)
    assert typical == 10.0 and 5 < low < 6.5 and high is None
    assert times_of(np.concatenate([[10.0, 9.0], np.full(99, np.inf)])) == (10.0, 10.0, None)


def test_parts_of_spread_against_scipy():
    """Parts are squared Spearman coefficients (scipy's), summing to 1; infinite values count as the largest."""
    inputs = [uncertain(Range(1.0, 2.0, 3.0), name=name) for name in "abc"]
    draws = Draws([each.key for each in inputs], 200)
    a, b, _ = (draws.of(each) for each in inputs)
    values = a + 0.3 * b**2
    wanted = {name: stats.spearmanr(draws.varied[name, None][1:], values[1:]).statistic ** 2 for name in "abc"}
    found = {name: part for (name, _), part in draws.parts_of_spread(values)}
    assert found == pytest.approx({name: part / sum(wanted.values()) for name, part in wanted.items()}, abs=1e-9)
    assert draws.parts_of_spread(np.where(a > 2.5, np.inf, a))[0][0] == ("a", None)
    assert draws.parts_of_spread(np.full(201, 3.0)) == []


# ------------------------------------------------------------------ in the heat model


def test_unstated_humidity_dominates():
    """A hot chamber of unknown humidity makes the humidity what counts for the surface."""
    stage = replace(chamber(90, 1.0), relative_humidity=None)
    result = run(piece(), [stage], HeatSpread())
    assert result.dominating(result.samples.surface[:, -1]) == "humidity"


def test_runs_are_the_same_every_time():
    """Nothing in a run depends on chance."""
    stages = [replace(chamber(), relative_humidity=Range(0.1, 0.2, 0.4))]
    first, second = run(piece(), stages), run(piece(), stages)
    assert np.array_equal(first.samples.core, second.samples.core)


def test_core_time_sometimes():
    """A target at the edge of the spread is reached by some samples only."""
    stage = replace(chamber(77, 3), relative_humidity=Range(0.1, 0.3, 0.5))
    result = run(piece(), [stage])
    edge = float(np.median(result.samples.core[:, -1]))
    reached = result.core_time(edge)
    assert reached.status == "sometimes"
    assert 0.3 < reached.share < 0.7
    assert reached.high is None


def test_pellicle_time():
    """Mass loss in the fridge is timed from the start of its stage."""
    stages = [bath(20, 0.2), chamber(4, 24, 0.6, 8)]
    result = run(piece(), stages, ALONE)
    reached = result.mass_loss_time(0.01, 1)
    mass = np.interp(result.stages[1].start + reached.typical, result.time, result.samples.mass[0])
    start = np.interp(result.stages[1].start, result.time, result.samples.mass[0])
    assert mass / start == pytest.approx(0.99, abs=1e-4)
