"""Strength of the vinegar in which food is pickled."""

from __future__ import annotations

import re

from handbook.base.formats import format_percent
from handbook.safety.case import SafetyCase
from handbook.safety.food_state import PICKLED_FROM, is_pickled, vinegar_share
from handbook.safety.judging import FAILS, KNOWN_TO_FAIL, MET, UNKNOWN, Finding, Outcome, Rule, judge, without_limit
from handbook.safety.limits import Limit

STRENGTH = Rule(
    id="vinegar-strength",
    topic="ferment",
    title="Strength of vinegar",
    advice="Use vinegar whose label prints its acidity, and never thin it further than the recipe.",
)
RULES = (STRENGTH,)
_PRINTED = re.compile(r"(\d+(?:\.\d+)?) ?%")


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """Acid of the weakest vinegar, as stated in its name, and of the brine made with it."""
    if not is_pickled(case):
        return _no_pickle(case) if case.method.front_matter.kind == "pickle" else ()
    found = [
        (salting.line, part.ingredient.name)
        for salting in case.method.saltings
        if (made := case.makes.get(salting.name)) is not None
        for part in made.parts
        if "vinegar" in part.ingredient.name
    ]
    strengths = [_strength(name) for _, name in found]
    known = [each for each in strengths if each is not None]
    least = min(known) if known and len(known) == len(strengths) else None
    line = found[0][0] if found else 0

    def outcome(limit: Limit) -> Outcome:
        if least is None:
            figure = "not known: the vinegar's name prints no strength"
            return Outcome(limit, UNKNOWN, figure, line=line, mend="name it with its strength")
        solution = least * vinegar_share(case)
        figure = f"vinegar of {format_percent(least)} acid, thinned to {format_percent(solution)}"
        is_thin = limit.has("solution") and solution < limit.value("solution") - 1e-6
        is_met = least >= limit.value("acid") - 1e-6 and not is_thin
        mend = f"use vinegar of {format_percent(limit.value('acid'))} or more, and less water"
        return Outcome(limit, MET if is_met else FAILS, figure, line=line, mend=mend)

    return judge(case, STRENGTH, outcome)


def _no_pickle(case: SafetyCase) -> tuple[Finding, ...]:
    """A page of the kind pickle whose brine is not acid enough: readers would expect acid that is missing."""
    line = case.method.saltings[0].line if case.method.saltings else case.method.front_matter.line
    share = vinegar_share(case)
    brine = f"a brine of {format_percent(share, 0)} vinegar, the rest water"
    figure = brine if share else "no bath of vinegar that covers it"
    message = (
        f"No pickle that a document prints is less than {format_percent(PICKLED_FROM, 0)} vinegar (msu-pickled-fish-sheet). "
        "Food that keeps by its salt or its ferment has a kind of its own."
    )
    mend = "no more water than vinegar"
    return (without_limit(STRENGTH, "stop", figure, message, certainty=KNOWN_TO_FAIL, line=line, mend=mend),)


def _strength(name: str) -> float | None:
    printed = _PRINTED.search(name)
    return float(printed[1]) / 100 if printed else None
