"""The models compared with published findings and the rules of the trade, computed by the engine without any change.

Nothing here is fitted: the findings are in data/published_findings.csv, the runs in uptake_comparisons.py,
heat_comparisons.py, drying_comparisons.py and acid_comparisons.py. The ``basis`` of each comparison states assumptions
for conditions that a finding does not state (a thickness, a temperature, the strength of a brine).
"""

from __future__ import annotations

from functools import lru_cache

from handbook.validation.acid_comparisons import acid_standings
from handbook.validation.drying_comparisons import drying_standings
from handbook.validation.heat_comparisons import heat_standings
from handbook.validation.published_findings import Comparison, Printed, misfit, span, two_figures
from handbook.validation.sausage_comparisons import sausage_standings
from handbook.validation.strip_comparisons import strip_standings
from handbook.validation.uptake_comparisons import uptake_standings

__all__ = ["Comparison", "Printed", "misfit", "span", "standings", "two_figures"]


@lru_cache
def standings() -> tuple[Comparison, ...]:
    """Every finding with the engine's figure: uptake, heat, drying, acid, findings before rules. Computed once.

    ratio = model / printed

    Returns
    -------
    tuple of Comparison

    Notes
    -----
    Source: each finding's own. Valid for the assumptions in ``basis``.

    Examples
    --------
    >>> {each.finding.part for each in standings()} == {"uptake", "heat", "drying", "acid"}
    True
    """
    return (
        *uptake_standings(),
        *heat_standings(),
        *drying_standings(),
        *strip_standings(),
        *acid_standings(),
        *sausage_standings(),
    )
