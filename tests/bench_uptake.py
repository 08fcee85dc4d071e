"""Published points beside the uptake model, its time (ms for one method, 256 samples), and its error for each shape.

Run: python -m tests.bench_uptake. Beside it a plain run of the same stages by scipy's stiff solver on a like mesh, one
sample only. Times are the processor's, the best of ten, after the shape's first use; that is shown too. Set
OMP_NUM_THREADS=1 for the time on one core.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np

from handbook.base.ranges import Range
from handbook.salt import diffusion
from handbook.salt.diffusion import geometry
from handbook.salt.diffusivity import salt_diffusivity, sugar_diffusivity
from handbook.salt.evolution import BathCoupling, held_surface
from handbook.salt.uptake import Piece, Spread, Stage, run
from tests.handbook.uptake_reference import Lines, block_in_bath
from tests.published import rows
from tests.uptake_points import Point, points

HOUR, COLD = 3600.0, 277.15
exact = Range.exact


def main() -> None:
    """Print the tables."""
    _print_points(points())
    print("one method: soak, rinse, freshening changed once, rest, smoking; salt and sugar, every input spread")
    print(f"{'shape':<16}{'first ms':>10}{'then ms':>10}{'1 sample, scipy ms':>20}{'ratio':>8}")
    for name, power, piece in _pieces():
        diffusion._geometry.cache_clear()
        first, ours = _time(lambda piece=piece: run(piece, _stages(), target=0.02))
        line = f"{name:<16}{first:>10.1f}{ours:>10.1f}"
        if power is not None:
            _, scipy = _time(lambda power=power: _by_scipy(power), 3)
            line += f"{scipy:>20.1f}{scipy / ours:>8.1f}"
        print(line)
    _, lean = _time(lambda: run(_pieces()[0][2], [_stages()[0]], Spread(samples=256)))
    print(f"a brine alone, slab: {lean:.1f} ms")
    print("\nlargest error, share of the final uptake")
    for name, error in _errors():
        print(f"{name:<44}{error:>10.1e}")


def _print_points(found: list[Point]) -> None:
    print(f"{'published point':<72}{'printed':>22}{'predicted (90 % band)':>38}  ±20 %  band")
    for each in found:
        ends = each.printed
        printed = f"{ends.typical:.3g}" if not ends.is_wide else f"{ends.low:.3g} to {ends.high:.3g}"
        model = each.predicted
        predicted = f"{model.typical:.3g} ({model.low:.3g} to {model.high:.3g}) {each.unit}"
        marks = [("yes" if held else "no") for held in (each.is_near, each.is_in_band)]
        print(f"{each.name[:70]:<72}{printed:>22}{predicted:>38}  {marks[0]:<5}  {marks[1]}")
    planned = [each for each in found if not each.is_measured]
    measured = [each for each in found if each.is_measured]
    held = [each for each in measured if each.is_held_out]
    for name, chosen in (
        ("all", found),
        ("measured in food", measured),
        ("of these, no constant rests on it", held),
        ("times that the trade plans by", planned),
    ):
        near, inside = (sum(getattr(each, mark) for each in chosen) for mark in ("is_near", "is_in_band"))
        print(f"{name}: {near} of {len(chosen)} within 20 %, {inside} of {len(chosen)} within the band")
    print()


def _pieces() -> list[tuple[str, int | None, Piece]]:
    given = {
        "thickness": Range(0.018, 0.02, 0.022),
        "water_fraction": Range(0.70, 0.72, 0.74),
        "native_salt_fraction": Range(0.0009, 0.0013, 0.0017),
        "salt_diffusivity": salt_diffusivity("fish"),
        "sugar_diffusivity": sugar_diffusivity("fish"),
    }
    return [
        (shape, power, Piece(shape=shape, **given, **more))
        for shape, power, more in (
            ("slab", 0, {}),
            ("cylinder", 1, {}),
            ("sphere", 2, {}),
            ("block", None, {"width": 0.05, "length": 0.12}),
        )
    ]


def _stages() -> list[Stage]:
    return [
        Stage(
            kind="soak",
            duration=Range(8 * HOUR, 10 * HOUR, 12 * HOUR),
            temperature=Range(275.15, COLD, 279.15),
            bath_water=Range(1.45, 1.5, 1.55),
            bath_salt=Range(0.28, 0.30, 0.32),
            bath_sugar=Range(0.08, 0.09, 0.10),
            weight_gain=Range(-0.04, -0.01, 0.02),
        ),
        Stage(kind="rinse", duration=exact(30.0), temperature=exact(283.15)),
        Stage(kind="freshen", duration=exact(1800.0), temperature=exact(COLD), bath_water=exact(3.0), water_changes=1),
        Stage(
            kind="rest",
            duration=Range(8 * HOUR, 12 * HOUR, 16 * HOUR),
            temperature=exact(COLD),
            water_loss=Range(0.01, 0.02, 0.03),
        ),
        Stage(
            kind="dry",
            duration=Range(3 * HOUR, 4 * HOUR, 5 * HOUR),
            temperature=exact(313.15),
            water_loss=Range(0.10, 0.14, 0.18),
        ),
    ]


def _by_scipy(power: int) -> None:
    rate = salt_diffusivity("fish").at(COLD).value / 0.01**2
    lines = Lines.of(power, 0.0013, count=128)
    lines.bath(10 * HOUR * rate, 1.5 / 0.72, 0.30)
    lines.hold(30 * rate, 0.0)
    lines.bath(900 * rate, 3.0 / 0.72, 0.0)
    lines.bath(900 * rate, 3.0 / 0.72, 0.0)
    lines.seal(12 * HOUR * rate)
    lines.seal(4 * HOUR * rate)


def _time(work: Callable[[], object], repeats: int = 10) -> tuple[float, float]:
    taken = []
    for _ in range(1 + repeats):
        started = time.process_time()
        work()
        taken.append(1000 * (time.process_time() - started))
    return taken[0], min(taken[1:])


def _errors() -> list[tuple[str, float]]:
    found = []
    for name, column in (("slab", "plane_sheet"), ("cylinder", "long_cylinder"), ("sphere", "sphere")):
        for bath in ("endless", "limited"):
            printed = rows("crank_limited_volume.csv")
            chosen = [row for row in printed if (row["alpha[-]"] == "inf") == (bath == "endless")]
            errors = [
                abs(
                    _uptake(geometry(name), float(row["dimensionless_time_T[-]"]), float(row["alpha[-]"]))
                    - float(row[f"{column}_Mt_over_Minf[-]"])
                )
                for row in chosen
            ]
            found.append((f"{name}, {bath} bath, published series", max(errors)))
    found.append(("blocks and short cylinders, product solution", max(_block_errors())))
    times, shape = np.linspace(0, 1, 401) ** 2 * 0.6, geometry("block", (1.5, 3.0))
    for alpha in (0.05, 0.6, 5.0):
        ratios = np.full(401, alpha)
        got, _ = BathCoupling.between(shape, ratios).evolution(shape.uniform(np.zeros(401)), ratios).state(times)
        error = np.abs(got[:, 0] - block_in_bath(times, (1.0, 1.5, 3.0), alpha))[20:].max()
        found.append((f"block, bath {alpha:g} x its water, Duhamel", float(error * (1 + alpha) / alpha)))
    return found


def _block_errors() -> list[float]:
    errors = []
    for row in rows("crank_block.csv"):
        first, *others = (float(row[f"half_l{at}[-]"]) for at in "xyz" if row[f"half_l{at}[-]"])
        shape = geometry("block" if row["shape"] == "block" else "cylinder", tuple(each / first for each in others))
        got = _uptake(shape, float(row["dimensionless_time_T[-]"]) / first**2, np.inf)
        errors.append(abs(got - float(row["mean_uptake[-]"])))
    return errors


def _uptake(shape, fourier: float, alpha: float) -> float:
    start, at = shape.uniform(np.zeros(1)), np.array([fourier])
    if alpha == np.inf:
        return float(held_surface(shape, start, np.ones(1)).state(at)[0][0, 0])
    states, _ = BathCoupling.between(shape, np.array([alpha])).evolution(start, np.array([alpha])).state(at)
    return float(states[0, 0] * (1 + alpha) / alpha)


if __name__ == "__main__":
    main()
