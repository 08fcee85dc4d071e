"""The heat engine beside published times and losses, point by point, and its time for one method.

python -m tests.bench_heat            every published point, then the milliseconds
python -m tests.bench_heat --speed    the milliseconds alone
python -m tests.bench_heat --keep     the model's times into handbook/data, which the page of the models draws
"""

import os
import sys
import time
from pathlib import Path

import numpy as np

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # one core, as the limit says

import handbook
from handbook.base.ranges import Range
from handbook.catalogue.thermal_properties import Composition
from handbook.heat.heat_run import Coating, HeatPiece, HeatSpread, HeatStage, run
from handbook.heat.lethality import lethality_range, organisms
from handbook.validation.cooking_comparisons import cooking_losses, cooking_times, loss
from handbook.validation.printed_scatter import printed_scatter
from handbook.validation.rest_comparisons import carry_overs, rise
from tests.heat_reference import slab_run
from tests.predicted_times import predicted

HOUR = 3600.0
KEPT = Path(handbook.__file__).parent / "data" / "predicted_times.csv"
KEPT_HEAD = """\
# The heat model's time for each row of cooking_times.csv, in h: nine in ten computed runs lie between low and high (empty:
# never reached). Computed, not printed: written by python -m tests.bench_heat --keep; a test computes them again.
key,low,typical,high,share
"""
#: Families of roasts by a word of the item, the first that fits.
FAMILIES = {
    "turkey": "turkey",
    "chicken": "other poultry",
    "capon": "other poultry",
    "hen": "other poultry",
    "duck": "other poultry",
    "goose": "other poultry",
    "fresh ham": "fresh ham",
    "ham": "smoked ham",
    "smoked": "smoked shoulder",
    "rib": "ribs of beef and veal",
    "pork": "other pork",
    "lamb": "lamb",
    "veal": "other veal",
    "beef": "other beef",
}
LOW = 130.0  # degC; below it a roast is a barbecue
LIMIT = 25.0  # ms per method
FISH, MEAT = (
    Composition(water=0.65, protein=0.20, fat=0.135, carbohydrate=0.0, ash=0.015),
    Composition(water=0.72, protein=0.21, fat=0.06, carbohydrate=0.0, ash=0.01),
)
FRIDGE = HeatStage(
    name="fridge", medium="air", duration=3 * HOUR, temperature=Range(275.15, 277.15, 279.15), air="still"
)


def around(value, part=0.1):
    """A range of ``part`` either way."""
    return Range(value * (1 - part), value, value * (1 + part))


def smoke(hours, celsius=77.0, basted=0, **more):
    """A smoker, basted every 30 min from the first hour on."""
    at = celsius + 273.15
    times = tuple(HOUR + 1800.0 * number for number in range(basted))
    coats = (
        (
            Coating(
                times=times,
                mass_on_green_weight=0.004,
                water_mass_fraction=0.35,
                sugar_mass_fraction=0.6,
                temperature=298.15,
            ),
        )
        if basted
        else ()
    )
    return HeatStage(
        name="smoke", medium="air", duration=hours * HOUR, temperature=Range(at - 5, at, at + 5), coatings=coats, **more
    )


METHODS = {
    "fish fillet, smoked": (
        HeatPiece(
            shape="slab", thickness=around(0.022), composition=FISH, temperature=around(277.15, 0.005), exudes="fish"
        ),
        [FRIDGE, smoke(5.5), FRIDGE],
    ),
    "fish fillet, basted 8 times": (
        HeatPiece(
            shape="slab", thickness=around(0.022), composition=FISH, temperature=around(277.15, 0.005), exudes="fish"
        ),
        [FRIDGE, smoke(5.5, basted=8), FRIDGE],
    ),
    "pork loin, until the core is there": (
        HeatPiece(
            shape="cylinder", thickness=around(0.09), composition=MEAT, temperature=around(277.15, 0.005), exudes="meat"
        ),
        [smoke(12, 110, until_core=336.15, hold=300.0), FRIDGE],
    ),
    "belly block, smoked": (
        HeatPiece(
            shape="block",
            thickness=around(0.04),
            composition=MEAT,
            temperature=around(277.15, 0.005),
            width=0.12,
            length=0.25,
            exudes="meat",
        ),
        [FRIDGE, smoke(5, 85), FRIDGE],
    ),
    "ham in water, ice bath": (
        HeatPiece(
            shape="sphere", thickness=around(0.12), composition=MEAT, temperature=around(277.15, 0.005), exudes="meat"
        ),
        [
            HeatStage(
                name="cook",
                medium="water",
                duration=5 * HOUR,
                temperature=Range(348.15, 351.15, 354.15),
                air="stirred water",
            ),
            HeatStage(name="ice", medium="water", duration=HOUR, temperature=Range(273.15, 273.65, 275.15)),
            FRIDGE,
        ],
    ),
}


def one_method(piece, stages):
    """Everything a page asks of the engine."""
    result = run(piece, stages)
    kind = "fish" if piece.exudes == "fish" else "meat"
    ranges = [lethality_range(result, each) for key, each in organisms().items() if key.endswith(kind)]
    return (
        result,
        ranges,
        result.core,
        result.surface,
    )


def milliseconds(call, repeats=15):
    """Median time of one call on the processor's own clock."""
    spent = []
    for _ in range(repeats):
        start = time.process_time()
        call()
        spent.append(1e3 * (time.process_time() - start))
    return sorted(spent)[repeats // 2]


def hours(seconds):
    """A time in h, or a dash for never."""
    return "  never" if seconds is None else f"{seconds / HOUR:7.2f}"


def family(published):
    """The family of a roast."""
    if float(published.row["chamber"]) < LOW:
        return "barbecue"
    return next(name for key, name in FAMILIES.items() if key in published.item.lower())


def summaries(found):
    """Name, count, median ratio, share within 20 % and share inside the band: all, by whether held out, kind, source, family."""
    groups = {}
    for each in found:
        held = "held out" if each.published.is_held_out else "for setting constants"
        for name in (
            "all",
            f"all {held}",
            each.published.kind,
            f"{each.published.kind}, {each.published.source}, {held}",
            f"{each.published.kind}, all {held}",
            *([f"roast: {family(each.published)}"] if each.published.kind == "roast" else []),
        ):
            groups.setdefault(name, []).append(each)
    return [
        (
            name,
            len(group),
            float(np.median([each.ratio for each in group])),
            float(np.mean([each.is_close for each in group])),
            float(np.mean([each.is_inside for each in group])),
        )
        for name, group in sorted(groups.items())
    ]


def keep():
    """Write the model's time for every published row, so that no build of a site computes them."""
    lines = []
    for each in map(predicted, cooking_times()):
        ends = (each.time.low, each.time.typical, each.time.high)
        cells = ["" if end is None else f"{end / HOUR:.4g}" for end in ends]
        lines.append(f"{each.published.key},{','.join(cells)},{each.time.share:.3g}\n")
    KEPT.write_text(KEPT_HEAD + "".join(lines), "utf-8")


def points():
    """Print every published point beside the model's, and the shares of each source."""
    print(
        f"{'point':34s} {'what':44s} {'printed h':>15s} {'model h':>8s} {'band':>16s} {'ratio':>6s}  within 20 %, in band"
    )
    found = []
    for each in cooking_times():
        one = predicted(each)
        found.append(one)
        span = f"{hours(each.printed.low)}-{hours(each.printed.high).strip()}"
        band = f"{hours(one.time.low)}-{hours(one.time.high).strip()}"
        close, inside = ("yes" if each else "no" for each in (one.is_close, one.is_inside))
        print(
            f"{each.key:34s} {each.item[:44]:44s} {span:>15s} {hours(one.time.typical):>8s} {band:>16s} {one.ratio:6.2f}  {close:>6s} {inside:>6s}"
        )
    print(f"\n{'points':44s} {'n':>4s} {'median ratio':>13s} {'within 20 %':>12s} {'in band':>8s}")
    for name, count, median, close, inside in summaries(found):
        print(f"{name:44s} {count:4d} {median:13.2f} {close:12.0%} {inside:8.0%}")
    held = [each for each in found if each.published.is_held_out]
    print(
        f"\nnine in ten of the held-out times are within {np.quantile([_off(each) for each in held], 0.9):.0%} of what is printed"
    )
    middle = np.mean([0.8 <= each.ratio <= 1.2 for each in held])
    print(f"within 20 % counts from the nearer end of a printed range; from its middle alone {middle:.0%} of them are")
    _print_scatter()
    print(f"\n{'loss of weight':56s} {'printed':>8s} {'model':>7s} {'band':>12s}  in band")
    for each in cooking_losses():
        band = loss(each)
        inside = "yes" if band.low <= each.printed <= band.high else "no"
        print(f"{each.item[:56]:56s} {each.printed:8.1%} {band.typical:7.1%} {band.low:6.1%}-{band.high:.1%}  {inside}")
    print(f"\n{'rise of the core after the heat':56s} {'printed':>8s} {'model':>7s} {'band':>12s}  in band")
    for each in carry_overs():
        band = rise(each, None)
        inside = "yes" if band.low <= each.printed <= band.high else "no"
        print(
            f"{each.item[:56]:56s} {each.printed:6.0f} K {band.typical:5.1f} K {band.low:5.1f}-{band.high:.1f} K  {inside}"
        )


def _off(one):
    """How far a predicted time lies outside the printed range, as a share of its nearer end."""
    printed, time = one.published.printed, one.time.typical or np.inf
    return max(1.0 - time / printed.low, time / printed.high - 1.0, 0.0)


def _print_scatter():
    """What the printed roasting times allow any model, beside the shares."""
    found = printed_scatter()
    print(
        f"a curve of all that the {found.count} roasts state, fitted to these rows: {found.fitted:.0%} within 20 %; fitted "
        f"without the source that it foretells: {found.foretold:.0%}"
    )
    print(
        f"{found.alike} pairs of rows state one piece, oven and core; no time is within 20 % of both in {len(found.apart)}:"
    )
    for pair in found.apart:
        print(
            "    " + " | ".join(f"{one.key} {hours(one.printed.low)}-{hours(one.printed.high).strip()}" for one in pair)
        )


def main():
    """Print the published points, then ms per method and the ratio to scipy's solve_ivp on the same physics."""
    if "--keep" in sys.argv[1:]:
        keep()
        return
    if "--speed" not in sys.argv[1:]:
        points()
        print()
    samples = HeatSpread().samples
    print(f"{'method':38s} {'steps':>6s} {'ms':>7s}   (limit {LIMIT:g} ms, {samples} samples)")
    for name, (piece, stages) in METHODS.items():
        result = one_method(piece, stages)[0]
        print(f"{name:38s} {result.time.size:6d} {milliseconds(lambda p=piece, s=stages: one_method(p, s)):7.1f}")
    piece, stage = METHODS["fish fillet, smoked"][0], smoke(5.5, relative_humidity=Range.exact(0.2))
    plain = milliseconds(lambda: slab_run(piece, stage), 5)
    ours = milliseconds(lambda: run(piece, [stage]))
    print(f"{'one smoke stage, scipy solve_ivp':38s} {'':6s} {plain:7.1f}   one sample, without juice")
    print(
        f"{'one smoke stage, this engine':38s} {'':6s} {ours:7.1f}   {samples} samples: {samples * plain / ours:.0f} times as fast"
    )


if __name__ == "__main__":
    main()
