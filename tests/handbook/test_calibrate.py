"""Calibration recovers what it is given, with the coverage it states, and does sensibly on published uptake."""

import csv
from math import log
from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace

from handbook.base.ranges import Range
from handbook.report.calibration import CalibratedFigure, Calibration
from handbook.runs.calibrate import RATE_DEVIATION, SALT_ERROR, SALT_SHARED, split_spread
from handbook.runs.posterior import RateTable, normal_posterior, rate_posterior, run_likelihood
from handbook.salt.diffusivity import salt_diffusivity
from handbook.salt.uptake import Spread, Stage, run
from handbook.uncertainty.sampling import BAND, ranks
from tests.calibration_coverage import (
    GRID,
    PRIOR,
    SCENARIOS,
    coverage,
    kitchens,
    normal_kitchens,
    piece,
    places,
    salt,
    soak,
    table,
)

PUBLISHED = Path(__file__).parent.parent / "published"


@pytest.mark.parametrize("scenario", SCENARIOS, ids=lambda each: each.name)
def test_the_band_covers_the_kitchens_rate(scenario):
    """Eight runs: the 90 % band holds the hidden rate in at least 85 of 100 kitchens, and still tells more than the prior.

    Runs may stray by x or / 1.6 instead of x or / 1.2, and strips may read 10 % high or low in every run.
    """
    found = kitchens(scenario, 100)
    assert coverage(found) >= 0.85
    assert np.mean([each.deviation for _, each in found]) < 0.45 * PRIOR


def test_rate_simulation_based_calibration():
    """With rate, stray and shared error drawn from the priors the truth lies evenly along the posterior.

    Method: simulation-based calibration (Talts and others 2018, from memory). Leave-one-out only ever widens, so the
    share inside may be above 90 %.
    """
    found = kitchens(SCENARIOS[-1], 200, runs=3, seed=11)
    assert 0.86 <= coverage(found) <= 0.98
    counts, _ = np.histogram(places(found), bins=5, range=(0, 1))
    assert ((counts - 40) ** 2 / 40).sum() < 18.5  # chi squared, 4 degrees of freedom, 1 in 1000 (standard table)


@pytest.mark.parametrize(("stray", "bias"), [(0.08, 0.0), (0.2, 0.0), (0.08, 0.05), (0.08, -0.05), (0.2, 0.05)])
def test_the_band_of_a_weighed_figure_covers_it(stray, bias):
    """The same in closed form, for runs that stray 2.5 times the usual and scales or probes that are off in every run."""
    assert coverage(normal_kitchens(stray, bias, 400)) >= 0.85


def test_the_stray_of_runs_is_inferred():
    """Runs that stray more are believed to: the next run's band is wider after them."""
    usual, wild = (
        np.mean([each.run_deviation for _, each in kitchens(scenario, 20)]) for scenario in (SCENARIOS[0], SCENARIOS[1])
    )
    assert wild > 1.4 * usual


def likelihood(value: float):
    """One run in which ``value`` was read."""
    return run_likelihood(table(value), GRID, RATE_DEVIATION, SALT_SHARED)


def test_no_number_of_runs_narrows_below_the_instrument():
    """More runs narrow what is believed of the kitchen, down to the error that all of them share."""
    one = likelihood(float(np.median(salt(64)[5, 0])) * 1.2)
    deviations = [rate_posterior(GRID, PRIOR, [one] * count, RATE_DEVIATION).deviation for count in (0, 1, 4, 16)]
    assert deviations == sorted(deviations, reverse=True)
    assert deviations[-1] > 0.15  # 10 % of salt is 25 % of the rate where salt goes with the rate's power of 0.4
    last = rate_posterior(GRID, PRIOR, [one] * 16, RATE_DEVIATION)
    assert last.run_deviation < RATE_DEVIATION  # sixteen equal runs hardly stray


def test_a_run_that_the_others_miss_widens_the_belief():
    """One run far from seven others makes the band wider than eight alike do."""
    value = float(np.median(salt(64)[5, 0]))
    alike, odd = [likelihood(value)] * 8, [*[likelihood(value)] * 7, likelihood(1.7 * value)]
    assert (
        rate_posterior(GRID, PRIOR, odd, RATE_DEVIATION).deviation
        > 1.1 * rate_posterior(GRID, PRIOR, alike, RATE_DEVIATION).deviation
    )


def test_normal_belief_by_hand():
    """One weighing: prior 0 with 2, seen 3 with error 1, no stray and no shared error: 3 x 4 / 5, deviation sqrt(4 / 5).

    With a shared error of 1: the sum has prior variance 5, posterior mean 3 x 5 / 6; the figure's part is 4 / 5 of that.
    """
    alone = normal_posterior(0.0, 2.0, [(3.0, 1.0)], 1e-9, 0.0)
    assert alone.mean == pytest.approx(12 / 5, abs=1e-9) and alone.deviation == pytest.approx((4 / 5) ** 0.5, abs=1e-9)
    shared = normal_posterior(0.0, 2.0, [(3.0, 1.0)], 1e-9, 1.0)
    assert shared.mean == pytest.approx(2.0, abs=1e-9)
    assert shared.deviation == pytest.approx((4 / 3) ** 0.5, abs=1e-9)  # 1 / (1 / 4 + 1 / 2)
    assert normal_posterior(1.0, 2.0, [], 0.1, 0.1).mean == 1.0


def test_split_spread_tells_house_from_run():
    """A figure made of one input of each kind is split into its parts."""
    shares = (ranks(64, 2).T + 0.5) / 64
    inputs = {"airflow": shares[:, 0], "thickness": shares[:, 1]}
    house, stray = split_spread(0.8 * shares[:, 0] + 0.2 * shares[:, 1], inputs)
    assert house == pytest.approx(0.8 / 12**0.5, rel=0.03) and stray == pytest.approx(0.2 / 12**0.5, rel=0.05)


def published(key: str) -> dict[str, str]:
    with (PUBLISHED / "uptake_in_food.csv").open(encoding="utf-8") as lines:
        rows = csv.DictReader(line for line in lines if not line.startswith("#"))
        return next(row for row in rows if row["key"] == key)


def test_published_cheese_at_rest_tells_little_of_the_rate():
    """White cheese after ten days is as salty as brine and cheese at rest: the posterior stays inside its prior band.

    Source: tests/published/uptake_in_food.csv, rows feta_* (read in the abstract). The shape of the 100 g pieces was not
    read: slabs of 20 to 40 mm are taken, thin enough to be near rest, as the printed salt says they were.
    """
    prior = log(float(salt_diffusivity("cheese").values(np.array([278.15]))[1][0])) / BAND
    grid, factors = np.linspace(-4, 4, 321) * prior, np.linspace(-3.2, 3.2, 11) * prior
    likelihoods = []
    for key, strength in (("feta_6_5", 0.065), ("feta_8_0", 0.080), ("feta_9_5", 0.095)):
        bath = Stage(
            kind="soak",
            duration=Range.exact(10 * 86400.0),
            temperature=Range.exact(278.15),
            bath_water=Range.exact(1 - strength),
            bath_salt=Range.exact(strength),
        )
        rows = []
        for factor in np.exp(factors):
            cheese = replace(
                piece(factor, "cheese", Range(0.02, 0.03, 0.04)),
                water_fraction=Range(0.489, 0.498, 0.508),
                skin_closed=False,
            )
            state = run(cheese, [bath], Spread(samples=64)).stages[0].state
            rows.append((state.salt[1:, 0] / state.water[1:])[None, :])
        printed = float(published(key)["printed"]) / 100  # g per 100 g moisture
        error = np.array([SALT_ERROR * printed])
        likelihoods.append(
            run_likelihood(
                RateTable(log_factors=factors, salt=np.array(rows), measured=np.array([printed]), error=error),
                grid,
                RATE_DEVIATION,
                SALT_SHARED,
            )
        )
    posterior = rate_posterior(grid, prior, likelihoods, RATE_DEVIATION)
    assert abs(posterior.mean) < BAND * prior and 0.3 * prior < posterior.deviation <= 1.01 * prior


def test_published_pork_rate_is_found_from_its_uptake():
    """Slices that take up salt at the published rate bring the posterior to that rate, inside its own band.

    Source: row pork_d, (1.90 +- 0.28) x 10^-10 m2/s at 5 C (read in the abstract). Three slabs of 20 mm, 2, 4 and 8 h.
    """
    wanted = float(published("pork_d")["printed"])
    engine = salt_diffusivity("pork").at(278.15)
    prior = log(engine.high / engine.value) / BAND
    grid, factors = np.linspace(-4, 4, 321) * prior, np.linspace(-3.2, 3.2, 11) * prior
    likelihoods = []
    for hours in (2.0, 4.0, 8.0):
        stage = replace(soak(hours), temperature=Range.exact(278.15))
        rows = [
            run(piece(np.exp(each), "pork"), [stage], Spread(samples=64)).stages[0].state.salt[1:, 0]
            for each in factors
        ]
        seen = run(piece(wanted / engine.value, "pork"), [stage], Spread(samples=8)).stages[0].state.salt[:1, 0]
        likelihoods.append(
            run_likelihood(
                RateTable(log_factors=factors, salt=np.array(rows)[:, None], measured=seen, error=SALT_ERROR * seen),
                grid,
                RATE_DEVIATION,
                SALT_SHARED,
            )
        )
    posterior = rate_posterior(grid, prior, likelihoods, RATE_DEVIATION)
    assert abs(posterior.mean - log(wanted / engine.value)) < BAND * posterior.deviation < BAND * prior


def test_diffusivity_of_a_calibration():
    """The published rate times the factor, with the band of the next run at the temperature of the runs."""
    figure = CalibratedFigure(
        prior_mean=0.0, prior_deviation=PRIOR, mean=log(1.5), deviation=0.08, run_deviation=0.06, runs=3
    )
    own = Calibration(runs=3, salt=figure, salt_temperature=277.15).diffusivity(salt_diffusivity("fish"))
    at = own.at(277.15)
    assert at.value == pytest.approx(1.5 * salt_diffusivity("fish").at(277.15).value, rel=1e-9)
    assert at.high / at.value == pytest.approx(np.exp(BAND * 0.1), rel=1e-9)
