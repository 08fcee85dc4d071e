"""How the models stand against published findings and the rules of the trade, computed by the engine as it is.

Nothing here is fitted: the findings stand in data/published_findings.csv, the runs in standing_uptake.py and
standing_heat.py. What a finding leaves open (a thickness, a temperature, the strength of a brine) is taken as said in
its ``basis``.
"""

from __future__ import annotations

from functools import lru_cache

from handbook.validation.heat_comparisons import heat_standings
from handbook.validation.published_findings import Comparison, Printed, misfit, span, two_figures
from handbook.validation.uptake_comparisons import uptake_standings

__all__ = ["Comparison", "Printed", "misfit", "span", "standings", "two_figures"]


@lru_cache
def standings() -> tuple[Comparison, ...]:
    """Every finding with where the engine stands: uptake before heat, findings before rules. Computed once."""
    return (*uptake_standings(), *heat_standings())
