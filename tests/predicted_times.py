"""The heat model's time for one published row: what ``handbook/data/predicted_times.csv`` keeps."""

from handbook.base.csv_rows import number
from handbook.heat.heat_results import crossing
from handbook.heat.heat_run import HeatSpread, run
from handbook.validation.cooking_comparisons import CookingTime, Predicted, cooked_piece, cooking_stages

_ZERO = 273.15


def predicted(published: CookingTime, spread: HeatSpread | None = None) -> Predicted:
    """The model's time for one published row: t with T_core(t) = T_end, or N(t) = N_wanted for a table of reductions."""
    row = published.row
    piece, size = cooked_piece(row)
    target = number(row, "core", -20.0, 110.0) + _ZERO if row["core"] else None
    result = run(piece, cooking_stages(row, size, target), spread)
    if published.kind != "cool":
        return Predicted(published=published, time=result.reached(result.stages[0].finish.reached))
    # The printed time begins when the core falls through its printed start, with the outside already cooler.
    core, printed = -result.samples.core, number(row, "start", -30.0, 100.0) + _ZERO
    found = crossing(result.time, core, -target, 0.0) - crossing(result.time, core, -printed, 0.0)
    return Predicted(published=published, time=result.reached(found))
