"""Curing salts: where they are allowed, least and most nitrite and nitrate."""

from __future__ import annotations

from handbook.base.formats import format_number
from handbook.base.ranges import Range
from handbook.safety.case import SafetyCase
from handbook.safety.food_state import curing_saltings, has_nitrate
from handbook.safety.judging import (
    FAILS,
    MAY_FAIL,
    MET,
    UNKNOWN,
    Finding,
    Outcome,
    Rule,
    at_least,
    at_most,
    caution,
    fitting,
    judge,
)
from handbook.safety.limits import Limit

_DOSE = "Check the kind of curing salt, its strength and both weighings first; too much nitrite is poison."
NITRITE = Rule(id="nitrite-maximum", topic="cure", title="Most nitrite", advice=_DOSE)
NITRATE = Rule(id="nitrate-maximum", topic="cure", title="Most nitrate", advice=_DOSE)
LEAST = Rule(
    id="nitrite-minimum",
    topic="cure",
    title="Least nitrite of cured food kept cold",
    advice="Below this the nitrite colours but protects less: treat the food as uncured.",
    on_fail="act",
)
WEIGHING = Rule(
    id="curing-salt-weighing",
    topic="cure",
    title="Curing salt is weighed, never measured by volume",
    advice="Weigh it.",
)
RULES = (NITRITE, NITRATE, LEAST, WEIGHING)


def nitrite_maximum(case: SafetyCase) -> tuple[Finding, ...]:
    """Nitrite against the limit of its process and food; none where no regulation names the food."""
    return _maximum(case, NITRITE, case.ingoing_nitrite_ppm)


def nitrate_maximum(case: SafetyCase) -> tuple[Finding, ...]:
    """Nitrate likewise."""
    value = case.ingoing_nitrate_ppm
    if value is None and not has_nitrate(case):
        return ()
    return _maximum(case, NITRATE, value)


def nitrite_minimum(case: SafetyCase) -> tuple[Finding, ...]:
    """Enough nitrite to count as cured."""
    value = case.ingoing_nitrite_ppm
    if value is None or value.high <= 0:
        return ()
    return judge(
        case,
        LEAST,
        fitting(case, LEAST),
        lambda limit: (at_least(value, limit.value("ingoing") * 1e6), _ppm(value)),
    )


def curing_salt_weighing(case: SafetyCase) -> tuple[Finding, ...]:
    """A curing salt by spoon or cup."""
    parts = [part for _, made in curing_saltings(case) for part in made.parts if part.ingredient.kind == "curing salt"]
    if not parts:
        return ()
    by_volume = [part for part in parts if part.by_volume]
    figure = f"written by volume: {by_volume[0].written}" if by_volume else "weighed on this page"
    return caution(WEIGHING, figure, "act" if by_volume else "note")


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """All findings of this topic."""
    return (
        *nitrite_maximum(case),
        *nitrate_maximum(case),
        *nitrite_minimum(case),
        *curing_salt_weighing(case),
    )


def _maximum(case: SafetyCase, rule: Rule, value: Range | None) -> tuple[Finding, ...]:
    if not curing_saltings(case) and (value is None or value.high <= 0):
        return ()
    if value is not None and value.high <= 0:
        return ()
    return judge(case, rule, fitting(case, rule), lambda limit: _outcome(case, value, limit))


def _outcome(case: SafetyCase, value: Range | None, limit: Limit) -> Outcome:
    if value is None:
        return Outcome(limit=limit, result=UNKNOWN, figure="not known: the dose is not computed")
    if limit.has("ingoing"):
        return Outcome(
            limit=limit,
            result=at_most(value, limit.value("ingoing") * 1e6, any_end=True),
            figure=f"{_ppm(value)} ingoing",
        )
    return _finished(case, value, limit)


def _finished(case: SafetyCase, value: Range, limit: Limit) -> Outcome:
    """A limit for the finished food: what went in, on the mass that is left, is the most that can be there."""
    bound = limit.value("finished") * 1e6
    ratio = case.finished_mass_ratio
    figure = f"{_ppm(value)} ingoing on green weight"
    if at_most(value, bound, any_end=True) == FAILS:
        return Outcome(
            limit=limit,
            result=FAILS,
            figure=figure,
            more="The limit is for the finished food; the dose alone is over it.",
        )
    if ratio is None:
        return Outcome(
            limit=limit,
            result=MAY_FAIL,
            figure=figure,
            more="The limit is for the finished food, whose weight is not known.",
        )
    most = value.high / ratio.low
    figure += f"; at most {format_number(most, 0)} ppm in the finished food, were none used up"
    return Outcome(limit=limit, result=MET if most <= bound else MAY_FAIL, figure=figure)


def _ppm(value: Range) -> str:
    low, typical, high = (format_number(end, 0) for end in (value.low, value.typical, value.high))
    return f"{typical} ppm" if low == high else f"{typical} ppm ({low}–{high})"
