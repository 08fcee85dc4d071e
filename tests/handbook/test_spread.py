"""Ranges: how samples are drawn, summed up and told apart."""

from dataclasses import replace

import numpy as np
import pytest

from handbook.heat import HeatSpread, run
from handbook.ranges import Range
from handbook.spread import dominating, drawn, quantiles, quasi_random, range_of
from tests.handbook.heat_cases import ALONE, bath, chamber, exact, piece


def test_thickness_alone_dominates():
    """When only the thickness is uncertain, it is what moves the core, and ranges bracket the ends."""
    body = replace(piece(), thickness=Range(0.018, 0.022, 0.028))
    one = exact(1.0)
    spread = HeatSpread(conductivity=one, heat_capacity=one, moisture_diffusivity=one, exudation=one, coverage=1.0)
    stages = [chamber(77, 0.7)]
    result = run(body, stages, spread)
    ends = [run(replace(body, thickness=exact(each)), stages, ALONE).core.typical[-1] for each in (0.018, 0.028)]
    assert result.dominating(result.samples.core[:, -1]) == "thickness"
    assert ends[1] - 0.01 <= result.stages[0].core.low < result.stages[0].core.high <= ends[0] + 0.01
    assert result.dominating(result.samples.chamber[:, -1]) == ""


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


def test_quasi_random_fills_evenly():
    """Row 0 is typical; each dimension is filled evenly, and no two go together."""
    points = quasi_random(64, 9)
    assert np.abs(np.corrcoef(points.T) - np.eye(9)).max() < 0.05
    assert np.all(points[0] == 0.5)
    assert np.all((points > 0) & (points < 1))
    assert np.diff(np.sort(points[1:], axis=0), axis=0) == pytest.approx(1 / 63)


def test_drawn_meets_its_ends():
    """Shares 0, 1/2 and 1 are the low, typical and high value, straight or in the logarithm."""
    for geometric in (False, True):
        values = drawn(Range(2.0, 3.0, 7.0), np.array([0.0, 0.5, 1.0]), geometric)
        np.testing.assert_allclose(values, [2.0, 3.0, 7.0])
    assert drawn(Range(1.0, 4.0, 16.0), np.array([0.25]), True)[0] == pytest.approx(2.0)


def test_range_of_and_quantiles():
    """The range holds its share of the samples, straight between ranks as numpy has it, and always the typical one."""
    values = np.random.default_rng(4).normal(size=41)
    low, high = quantiles(values, 0.9)
    np.testing.assert_allclose((low, high), np.quantile(values, (0.05, 0.95)))
    values[0] = 99.0
    assert range_of(values, 0.9).high == 99.0


def test_dominating_by_rank():
    """The name with the closest rank correlation wins; infinite values count as the largest."""
    inputs = {"a": np.arange(30.0), "b": np.arange(30.0)[::-1] ** 0.5 % 3, "c": np.ones(30)}
    assert dominating(inputs, np.where(np.arange(30) > 25, np.inf, np.arange(30.0) ** 3)) == "a"


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
    mass = np.interp(result.stages[1].start + reached.typical, result.time, result.mass.typical)
    start = np.interp(result.stages[1].start, result.time, result.mass.typical)
    assert mass / start == pytest.approx(0.99, abs=1e-4)
