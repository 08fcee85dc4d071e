"""Calibration recovers what it is given, with the coverage it states, and does sensibly on published uptake."""

import csv
from dataclasses import replace
from math import log
from pathlib import Path
from statistics import NormalDist

import numpy as np
import pytest

from handbook.base.ranges import Range
from handbook.report.calibration import CalibratedFigure, Calibration
from handbook.runs.calibrate import (
    RATE_DEVIATION,
    SALT_ERROR,
    RateTable,
    grid_belief,
    normal_belief,
    rate_likelihood,
    split_spread,
)
from handbook.salt.diffusivity import salt_diffusivity, sugar_diffusivity
from handbook.salt.uptake import Piece, Spread, Stage, run
from handbook.uncertainty.sampling import BAND, ranks

PRIOR = log(3.0) / BAND
GRID = np.linspace(-4, 4, 321) * PRIOR
FACTORS = np.linspace(-3.2, 3.2, 11) * PRIOR
PUBLISHED = Path(__file__).parent.parent / "published"


def piece(factor: float, food: str = "fish", thickness: Range | None = None, **more) -> Piece:
    published = salt_diffusivity(food)
    return Piece(
        shape="slab",
        thickness=thickness or Range(0.018, 0.02, 0.022),
        water_fraction=Range(0.70, 0.72, 0.74),
        native_salt_fraction=Range.exact(0.001),
        salt_diffusivity=replace(
            published, reference=published.reference * factor, spread_factor=1.0, activation_energy_band=0.0
        ),
        sugar_diffusivity=sugar_diffusivity(food),
        skin_closed=True,
        **more,
    )


def soak(hours: float) -> Stage:
    return Stage(
        kind="soak",
        duration=Range.exact(hours * 3600),
        temperature=Range.exact(276.15),
        bath_water=Range(0.95, 1.0, 1.05),
        bath_salt=Range(0.19, 0.2, 0.21),
        weight_gain=Range.exact(0.01),
    )


def salt(samples: int, factors=FACTORS, hours: float = 6.0) -> np.ndarray:
    """Salt on green weight, shape (factors, 1, samples)."""
    found = [
        run(piece(np.exp(each)), [soak(hours)], Spread(samples=samples)).stages[0].state.salt[1:, 0] for each in factors
    ]
    return np.array(found)[:, None, :]


def test_rate_simulation_based_calibration():
    """Factors drawn from the prior lie in the stated 90 % band nine times in ten, and evenly along the belief.

    Method: simulation-based calibration (Talts and others 2018, from memory). Runs stray and err as the module says.
    """
    table_salt, true_salt = salt(128), salt(512)
    random = np.random.default_rng(7)
    inside, chances = 0, []
    for _ in range(300):
        house = random.normal(0, PRIOR)
        likelihoods = []
        for _ in range(3):
            own = house + random.normal(0, RATE_DEVIATION)
            sample = random.integers(true_salt.shape[2])
            value = np.exp(np.interp(own, FACTORS, np.log(true_salt[:, 0, sample])))
            value *= 1 + SALT_ERROR * random.normal()
            table = RateTable(
                log_factors=FACTORS, salt=table_salt, measured=np.array([value]), error=np.array([SALT_ERROR * value])
            )
            likelihoods.append(rate_likelihood(table, GRID))
        mean, deviation = grid_belief(GRID, PRIOR, likelihoods)
        place = NormalDist(mean, deviation).cdf(house)
        chances.append(place)
        inside += 0.05 < place < 0.95
    assert 0.9 - 3 * 0.0173 <= inside / 300 <= 0.9 + 3 * 0.0173  # three standard errors of 300 draws
    counts, _ = np.histogram(chances, bins=10, range=(0, 1))
    assert ((counts - 30) ** 2 / 30).sum() < 27.9  # chi squared, 9 degrees of freedom, 1 in 1000 (standard table)


def test_rate_band_narrows_with_runs_but_not_the_next_run():
    """More runs narrow what is believed of the kitchen; the next run keeps the stray of single runs."""
    value = float(np.median(salt(64)[5, 0])) * 1.2
    table = RateTable(
        log_factors=FACTORS, salt=salt(64), measured=np.array([value]), error=np.array([SALT_ERROR * value])
    )
    one = rate_likelihood(table, GRID)
    deviations = [grid_belief(GRID, PRIOR, [one] * count)[1] for count in (0, 1, 4, 16)]
    assert deviations == sorted(deviations, reverse=True)
    figure = CalibratedFigure(
        prior_mean=0.0, prior_deviation=PRIOR, mean=0.3, deviation=deviations[-1], run_deviation=RATE_DEVIATION, runs=16
    )
    assert figure.next_run.high / figure.next_run.low > np.exp(2 * BAND * RATE_DEVIATION)


def test_normal_belief_by_hand():
    """Two weighings against a prior: precision-weighted mean, worked by hand.

    Prior 0 with 2, seen 3 with 1 and 5 with 1: precision 1/4 + 1 + 1 = 9/4, mean 8 / (9/4) = 32/9.
    """
    mean, deviation = normal_belief(0.0, 2.0, [(3.0, 1.0), (5.0, 1.0)])
    assert mean == pytest.approx(32 / 9, abs=1e-12) and deviation == pytest.approx(2 / 3, abs=1e-12)
    assert normal_belief(1.0, 2.0, []) == (1.0, 2.0)


def test_normal_belief_simulation_based_calibration():
    """The closed form covers the truth as stated."""
    random = np.random.default_rng(3)
    inside = 0
    for _ in range(1000):
        truth = random.normal(0.1, 0.3)
        seen = [(truth + random.normal(0, 0.2), 0.2) for _ in range(2)]
        mean, deviation = normal_belief(0.1, 0.3, seen)
        inside += abs(truth - mean) < BAND * deviation
    assert 0.9 - 3 * 0.0095 <= inside / 1000 <= 0.9 + 3 * 0.0095


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
    """White cheese after ten days is as salty as brine and cheese at rest: the belief stays inside its prior band.

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
        table = []
        for factor in np.exp(factors):
            cheese = replace(
                piece(factor, "cheese", Range(0.02, 0.03, 0.04)),
                water_fraction=Range(0.489, 0.498, 0.508),
                skin_closed=False,
            )
            state = run(cheese, [bath], Spread(samples=64)).stages[0].state
            table.append((state.salt[1:, 0] / state.water[1:])[None, :])
        printed = float(published(key)["printed"]) / 100  # g per 100 g moisture
        error = np.array([SALT_ERROR * printed])
        likelihoods.append(
            rate_likelihood(
                RateTable(log_factors=factors, salt=np.array(table), measured=np.array([printed]), error=error), grid
            )
        )
    mean, deviation = grid_belief(grid, prior, likelihoods)
    assert abs(mean) < BAND * prior and 0.3 * prior < deviation <= prior


def test_published_pork_rate_is_found_from_its_uptake():
    """Slices that take up salt at the published rate bring the belief to that rate, inside its own band.

    Source: row pork_d, (1.90 +- 0.28) x 10^-10 m2/s at 5 C (read in the abstract). Three slabs of 20 mm, 2, 4 and 8 h.
    """
    wanted = float(published("pork_d")["printed"])
    engine = salt_diffusivity("pork").at(278.15)
    prior = log(engine.high / engine.value) / BAND
    grid, factors = np.linspace(-4, 4, 321) * prior, np.linspace(-3.2, 3.2, 11) * prior
    likelihoods = []
    for hours in (2.0, 4.0, 8.0):
        stage = replace(soak(hours), temperature=Range.exact(278.15))
        table = [
            run(piece(np.exp(each), "pork"), [stage], Spread(samples=64)).stages[0].state.salt[1:, 0]
            for each in factors
        ]
        seen = run(piece(wanted / engine.value, "pork"), [stage], Spread(samples=8)).stages[0].state.salt[:1, 0]
        likelihoods.append(
            rate_likelihood(
                RateTable(log_factors=factors, salt=np.array(table)[:, None], measured=seen, error=SALT_ERROR * seen),
                grid,
            )
        )
    mean, deviation = grid_belief(grid, prior, likelihoods)
    assert abs(mean - log(wanted / engine.value)) < BAND * deviation < BAND * prior


def test_diffusivity_of_a_calibration():
    """The published rate times the factor, with the band of the next run at the temperature of the runs."""
    figure = CalibratedFigure(
        prior_mean=0.0, prior_deviation=PRIOR, mean=log(1.5), deviation=0.08, run_deviation=0.06, runs=3
    )
    own = Calibration(runs=3, salt=figure, salt_temperature=277.15).diffusivity(salt_diffusivity("fish"))
    at = own.at(277.15)
    assert at.value == pytest.approx(1.5 * salt_diffusivity("fish").at(277.15).value, rel=1e-9)
    assert at.high / at.value == pytest.approx(np.exp(BAND * 0.1), rel=1e-9)
