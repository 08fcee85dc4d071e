"""Cooling-stage times: hand-worked curves, the lumped exponential, a computed run against two-stage limits.

The limits themselves belong to the safety rules; here only the times are checked. The passing and failing pair are
numbers made up to exercise the comparison, not published.
"""

from handbook.cooling import CoolingLimit, cooling_times
from handbook.heat import HeatPiece, HeatSpread, HeatStage, run
from handbook.ranges import Range
from handbook.thermal import Composition

HOUR = 3600.0
WARM, MIDDLE, COLD = 330.15, 294.15, 278.15
TWO_STAGES = (CoolingLimit(WARM, MIDDLE, 2 * HOUR, "first"), CoolingLimit(WARM, COLD, 6 * HOUR, "whole"))


def cooled(hours, celsius, thickness=0.05, **more):
    """A hot piece cooled in still air or water."""
    piece = HeatPiece(
        "slab", Range(0.9 * thickness, thickness, 1.1 * thickness), Composition(0.7, 0.2, 0.1), Range.exact(345.15)
    )
    values = {"medium": "air", "air": "still", "relative_humidity": Range(0.6, 0.75, 0.9), **more}
    return run(
        piece,
        [HeatStage("cool", duration=hours * HOUR, temperature=Range.exact(celsius + 273.15), **values)],
        HeatSpread(samples=16),
    )


def test_ice_bath_is_within_both_stages():
    """A 20 mm piece in ice water is cold in time in every sample."""
    for each in cooling_times(cooled(3, 0.5, 0.02, medium="water", relative_humidity=None), TWO_STAGES):
        assert (each.within, each.was_warm, each.elapsed) == ("always", 1.0, None)
        assert each.time.high < each.limit.allowed


def test_thick_piece_in_a_fridge_is_too_slow():
    """A 150 mm piece in still fridge air misses the first stage in every sample."""
    first, whole = cooling_times(cooled(48, 3, 0.15), TWO_STAGES)
    assert first.within == "never"
    assert first.time.low > 2 * HOUR
    assert whole.time.low > first.time.low


def test_run_that_ends_too_soon_is_unknown():
    """Half an hour of cooling says nothing about a limit of six hours, and says so."""
    whole = cooling_times(cooled(0.5, 3, 0.05), TWO_STAGES)[1]
    assert whole.within == "unknown"
    assert whole.time.high is None
    assert whole.elapsed <= 0.5 * HOUR


def test_still_warm_past_the_limit_is_never():
    """A run that is not cold after more than the limit has failed, though its time is not known."""
    first = cooling_times(cooled(6, 3, 0.15), TWO_STAGES)[0]
    assert first.time.typical is None
    assert first.elapsed > 2 * HOUR
    assert first.within == "never"


def test_still_hot_is_unknown():
    """While the core has not fallen through the warm end, the clock of the stage has not begun."""
    first = cooling_times(cooled(2, 3, 0.2), TWO_STAGES)[0]
    assert (first.within, first.elapsed, first.time.low) == ("unknown", 0.0, None)


def test_never_warm_takes_no_time():
    """A cold-smoked piece has nothing to cool."""
    piece = HeatPiece("slab", Range.exact(0.02), Composition(0.7, 0.2, 0.1), Range.exact(278.15))
    smoke = HeatStage("smoke", "air", HOUR, Range.exact(298.15), relative_humidity=Range.exact(0.6))
    first = cooling_times(run(piece, [smoke], HeatSpread(samples=4)), TWO_STAGES)[0]
    assert (first.was_warm, first.time.high, first.within) == (0.0, 0.0, "always")
