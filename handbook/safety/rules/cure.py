"""Curing salts: where they are allowed, minimum and maximum nitrite and nitrate."""

from __future__ import annotations

from msgspec.structs import replace

from handbook.base.formats import format_number, format_rounded_up
from handbook.base.ranges import Range
from handbook.brine.make_up import IngredientMass
from handbook.safety.case import SafetyCase
from handbook.safety.food_state import curing_saltings, has_nitrate, is_chilled
from handbook.safety.judging import (
    FAILS,
    KNOWN_TO_FAIL,
    MET,
    NOT_KNOWN,
    UNKNOWN,
    Finding,
    Outcome,
    Rule,
    at_least,
    at_most,
    caution,
    fitting,
    judge,
    without_limit,
)
from handbook.safety.limits import Limit
from handbook.safety.notions import notion

_DOSE = "Check the kind of curing salt, its strength and both weighings first; too much nitrite is poison."
NITRITE = Rule(id="nitrite-maximum", topic="cure", title="Most nitrite", advice=_DOSE, on_unknown="stop")
NITRATE = Rule(id="nitrate-maximum", topic="cure", title="Most nitrate", advice=_DOSE, on_unknown="stop")
LEAST = Rule(
    id="nitrite-minimum",
    topic="cure",
    title="Least nitrite of cured food kept cold",
    advice="Below this the nitrite colours but protects less: treat the food as uncured.",
    binds="own",
)
WEIGHING = Rule(
    id="curing-salt-weighing",
    topic="cure",
    title="Curing salt is weighed, never measured by volume",
    advice="Weigh it.",
)
ACCELERATOR = Rule(
    id="curing-accelerator",
    topic="cure",
    title="Ascorbate or erythorbate in pumped bacon",
    advice="It keeps nitrosamines down when the bacon is fried.",
)
RULES = (NITRITE, NITRATE, LEAST, WEIGHING, ACCELERATOR)


def nitrite_minimum(case: SafetyCase) -> tuple[Finding, ...]:
    """Enough nitrite for food that is kept cold and sold as cured: a policy of one place that applies nowhere else.
    Elsewhere the rules of cooling and keeping treat food with little nitrite as uncured."""
    value = case.ingoing_nitrite_ppm
    is_shelf = case.method.keeping is not None and not is_chilled(case)
    if value is None or value.high <= 0 or is_shelf:
        return ()

    def outcome(limit: Limit) -> Outcome:
        least = limit.value("ingoing") * 1e6
        result = at_least(value, least * (1 - notion("weighing")))
        mend = "" if result == MET else f"take {format_number(100 * (least / value.low - 1), 0)} % more curing salt"
        return Outcome(limit, result, f"{_ppm(value)} ingoing", line=_line(case), mend=mend)

    return judge(case, LEAST, outcome, (each for each in fitting(case, LEAST) if each.binds_in(case.house.place)))


def curing_salt_weighing(case: SafetyCase) -> tuple[Finding, ...]:
    """A curing salt measured by spoon or cup. It is recognised by its content, whatever its name."""
    found = [(each, part) for each, made in curing_saltings(case) for part in made.parts if _holds_cure(part)]
    if not found:
        return ()
    mixture, part = next(((each, part) for each, part in found if part.by_volume), (None, None))
    if mixture is None or part is None:
        return caution(case, WEIGHING, "weighed on this page")
    message = "A spoon may hold twice what the dose allows. Weigh curing salt on a fine scale."
    (stop,) = caution(case, WEIGHING, f"written by volume: {part.written}", "stop")
    mend = "write the amount in grams"
    return (replace(stop, message=message, certainty=KNOWN_TO_FAIL, line=mixture.line, mend=mend),)


def curing_accelerator(case: SafetyCase) -> tuple[Finding, ...]:
    """Ascorbate or erythorbate that pumped bacon must contain in addition to nitrite."""
    value = case.accelerator_ppm

    def outcome(limit: Limit) -> Outcome:
        wanted = limit.value("ingoing") * 1e6
        result = at_least(Range.exact(value), wanted * (1 - notion("weighing")))
        mend = f"add {format_number(max(wanted - value, 0.0), 0)} ppm of green weight more to the pickle"
        figure = f"{format_number(value, 0)} ppm ascorbate or erythorbate"
        return Outcome(limit, result, figure, line=_line(case), mend=mend)

    return judge(case, ACCELERATOR, outcome)


def findings(case: SafetyCase) -> tuple[Finding, ...]:
    """All findings of this topic."""
    nitrate = case.ingoing_nitrate_ppm
    return (
        *_maximum(case, NITRITE, case.ingoing_nitrite_ppm),
        *(() if nitrate is None and not has_nitrate(case) else _maximum(case, NITRATE, nitrate)),
        *nitrite_minimum(case),
        *curing_salt_weighing(case),
        *curing_accelerator(case),
    )


def _holds_cure(part: IngredientMass) -> bool:
    return part.ingredient.kind == "curing salt" or part.ingredient.nitrite > 0 or part.ingredient.nitrate > 0


def _line(case: SafetyCase) -> int:
    """The line of the first mixture with curing salt; 0 where none has any."""
    return next((each.line for each, _ in curing_saltings(case)), 0)


def _maximum(case: SafetyCase, rule: Rule, value: Range | None) -> tuple[Finding, ...]:
    """Ingoing nitrite or nitrate compared with the limits of its process and food; an action where no document has one."""
    if (not curing_saltings(case)) if value is None else value.high <= 0:
        return ()
    limits = fitting(case, rule)
    if not limits:
        figure = "not known: the dose is not computed" if value is None else f"{_ppm(value)} ingoing"
        message = f"No rule found for {rule.title.lower()} here ({case.house.place}, {case.house.audience})."
        return (without_limit(rule, "act", figure, message, certainty=NOT_KNOWN, line=_line(case)),)
    return judge(case, rule, lambda limit: replace(_outcome(value, limit), line=_line(case)), limits)


def _outcome(value: Range | None, limit: Limit) -> Outcome:
    if value is None:
        return Outcome(limit, UNKNOWN, "not known: the dose is not computed")
    figure = f"{_ppm(value)} ingoing on green weight, every salting and glaze together"
    if limit.has("ingoing"):
        bound = limit.value("ingoing") * 1e6
        # The limits are printed in whole ppm: the trade's quarter of a percent of 6.25 % is 156.25, and meets 156.
        whole = Range(*(float(round(each)) for each in value.ends))
        return Outcome(limit, at_most(whole, bound, any_end=True), figure, mend=_less(bound, value))
    return _finished(value, limit, figure)


def _less(bound: float, value: Range) -> str:
    """How to reduce a dose, in percent rounded so that the dose then meets the bound."""
    if bound <= 0:
        return "leave the curing salt out"
    return f"take {format_rounded_up(100 * (1 - bound / value.high), 0)} % less curing salt"


def _finished(value: Range, limit: Limit, figure: str) -> Outcome:
    """A limit for the finished food. Some nitrite is always used up, so a dose below the limit meets it. For a dose
    above the limit only an analysis can show that enough is used up."""
    bound = limit.value("finished") * 1e6
    if at_most(value, bound, any_end=True) == FAILS:
        more = "The limit is for the finished food; the dose is over it, and only a laboratory's analysis shows less."
        return Outcome(limit, FAILS, figure, more, mend=_less(bound, value))
    more = "The limit is for the finished food; the dose itself is under it, and some of it is used up."
    return Outcome(limit, MET, figure, more)


def _ppm(value: Range) -> str:
    low, typical, high = (format_number(end, 0) for end in value.ends)
    return f"{typical} ppm" if low == high else f"{typical} ppm ({low}–{high})"
