"""Coverage of the calibration by simulation: kitchens with a hidden rate, whose runs stray and whose strips mislead.

Every kitchen's rate is drawn from the prior, every run's from around the kitchen's, every reading from around the run's
salt; the model then says its 90 % band for the kitchen's rate. ``python -m tests.calibration_coverage`` prints the shares.
"""

from __future__ import annotations

from functools import lru_cache
from math import exp, hypot, log
from statistics import NormalDist

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from handbook.base.ranges import Range
from handbook.runs.calibrate import RATE_DEVIATION, SALT_ERROR, SALT_SHARED
from handbook.runs.posterior import Posterior, RateTable, normal_posterior, rate_posterior, run_likelihood
from handbook.salt.diffusivity import salt_diffusivity, sugar_diffusivity
from handbook.salt.uptake import Piece, Spread, Stage, run
from handbook.uncertainty.sampling import BAND

PRIOR = log(3.0) / BAND
GRID = np.linspace(-4, 4, 161) * PRIOR
FACTORS = np.linspace(-3.2, 3.2, 11) * PRIOR


class Scenario(Struct, frozen=True, kw_only=True):
    """Kitchens of one kind: runs in 90 % within x or / ``stray`` of the kitchen's, strips that read ``bias`` too much.

    ``of_prior`` : stray and bias are drawn from the model's own priors instead.
    """

    name: str
    stray: float = 1.2
    bias: float = 0.0
    of_prior: bool = False


SCENARIOS = (
    Scenario(name="usual runs"),
    Scenario(name="runs that stray x or / 1.6", stray=1.6),
    Scenario(name="strips that read 10 % high", bias=0.10),
    Scenario(name="strips that read 10 % low", bias=-0.10),
    Scenario(name="both", stray=1.6, bias=0.10),
    Scenario(name="as the priors say", of_prior=True),
)


def soak(hours: float) -> Stage:
    """A strong bath at 3 degC."""
    return Stage(
        kind="soak",
        duration=Range.exact(hours * 3600),
        temperature=Range.exact(276.15),
        bath_water=Range(0.95, 1.0, 1.05),
        bath_salt=Range(0.19, 0.2, 0.21),
        weight_gain=Range.exact(0.01),
    )


def piece(factor: float, food: str = "fish", thickness: Range | None = None, **more) -> Piece:
    """A fillet on its skin with ``factor`` times the published rate."""
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


@lru_cache
def salt(samples: int, hours: float = 6.0) -> np.ndarray:
    """Salt on green weight at each of FACTORS, shape (factors, 1, samples)."""
    found = [
        run(piece(np.exp(each)), [soak(hours)], Spread(samples=samples)).stages[0].state.salt[1:, 0] for each in FACTORS
    ]
    return np.array(found)[:, None, :]


def table(value: float) -> RateTable:
    """One run in which ``value`` was read."""
    return RateTable(
        log_factors=FACTORS, salt=salt(64), measured=np.array([value]), error=np.array([SALT_ERROR * value])
    )


def kitchens(scenario: Scenario, repeats: int, runs: int = 8, seed: int = 7) -> list[tuple[float, Posterior]]:
    """The hidden ln factor of each kitchen and the posterior after its runs."""
    random = np.random.default_rng(seed)
    true_salt, found = salt(512), []
    for _ in range(repeats):
        house = float(random.normal(0, PRIOR))
        stray, bias = log(scenario.stray) / BAND, scenario.bias
        if scenario.of_prior:
            stray = RATE_DEVIATION * exp(np.clip(random.normal(0, 0.8), log(0.4), log(4.0)))
            bias = random.normal(0, SALT_SHARED)
        likelihoods = []
        for _ in range(runs):
            own = house + random.normal(0, stray)
            sample = random.integers(true_salt.shape[2])
            value = np.exp(np.interp(own, FACTORS, np.log(true_salt[:, 0, sample])))
            value *= (1 + bias) * (1 + SALT_ERROR * random.normal())
            likelihoods.append(run_likelihood(table(value), GRID, RATE_DEVIATION, SALT_SHARED))
        found.append((house, rate_posterior(GRID, PRIOR, likelihoods, RATE_DEVIATION)))
    return found


def places(found: list[tuple[float, Posterior]]) -> np.ndarray:
    """Share of each posterior below the hidden figure: evenly spread where the posterior is right."""
    return np.array([NormalDist(each.mean, each.deviation).cdf(house) for house, each in found])


def coverage(found: list[tuple[float, Posterior]]) -> float:
    """Share of kitchens whose hidden figure lies inside the 90 % band."""
    return float(np.mean([abs(house - each.mean) < BAND * each.deviation for house, each in found]))


def normal_kitchens(
    stray: float, bias: float, repeats: int, runs: int = 8, seed: int = 3
) -> list[tuple[float, Posterior]]:
    """The same for a figure in closed form: prior 0.3, usual stray 0.08, error 0.02, shared error 0.05."""
    random, found = np.random.default_rng(seed), []
    for _ in range(repeats):
        house = float(random.normal(0.1, 0.3))
        seen = [(house + bias + random.normal(0, hypot(stray, 0.02)), 0.02) for _ in range(runs)]
        found.append((house, normal_posterior(0.1, 0.3, seen, 0.08, 0.05)))
    return found


def main() -> None:
    """Print the coverage of each scenario with one to twelve runs."""
    print(
        f"share of 300 kitchens whose rate lies in the stated 90 % band\n{'':<32}"
        + "".join(f"{n:>9}" for n in (1, 3, 8, 12))
    )
    for scenario in SCENARIOS:
        shares = [coverage(kitchens(scenario, 300, count)) for count in (1, 3, 8, 12)]
        print(f"{scenario.name:<32}" + "".join(f"{share:>9.2f}" for share in shares))


if __name__ == "__main__":
    main()
