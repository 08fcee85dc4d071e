"""Findings from limits and figures: which documents decide, and how the others are shown."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable

from msgspec import Struct
from msgspec.structs import replace

from handbook.base.ranges import Range
from handbook.page.house import House, SignedException
from handbook.safety.case import SafetyCase
from handbook.safety.conditions import Condition
from handbook.safety.held_conditions import conditions, family_kind
from handbook.safety.limits import PLACES, Limit, limits_of

MET, FAILS, MAY_FAIL, UNKNOWN, BESIDE = "met", "fails", "may fail", "unknown", "beside"
#: Basis of a finding's figure: the page's own times and amounts, a run or a measurement on record, a model, or a target
#: core or pH that the cook has yet to measure.
STATED, MEASURED, COMPUTED, AIMED_AT = "stated", "measured", "computed", "aimed at"
KNOWN_TO_FAIL, NOT_KNOWN = "known to fail", "not known"
#: Rules without exceptions: poison, botulism, infants, and a computed core below the stated one.
UNSIGNABLE = frozenset(
    {
        "nitrite-maximum",
        "nitrate-maximum",
        "curing-salt-weighing",
        "curing-accelerator",
        "pack-salt",
        "pack-barrier",
        "pack-retail",
        "sealed-food",
        "oil-pack",
        "unrefrigerated-keeping",
        "dried-meat",
        "sausage-souring",
        "infants",
        "computed-core",
        "gutting",
    }
)
#: Rules without exceptions for food without air, where cold and acid prevent botulism.
_UNSIGNABLE_WITHOUT_AIR = frozenset({"cold-holding", "vinegar-strength"})
_NEARNESS = (MET, MAY_FAIL, UNKNOWN, FAILS)
_NEAREST = {
    "home": ("home", "retail", "commercial"),
    "retail": ("retail", "commercial", "home"),
    "commercial": ("commercial", "retail", "home"),
}
_VERDICTS = {
    MET: ("meets", "Meets the limit."),
    FAILS: ("does not meet", "Does not meet the limit."),
    MAY_FAIL: ("may not meet", "May not meet the limit: not all of the range is on the right side."),
    UNKNOWN: ("not known", "Not known here, so this is not a pass."),
}
PREDICTED = "Predicted, have it measured by a laboratory."
_UNCONFIRMED = "Meets the unconfirmed figure: this limit is from memory, so meeting it proves nothing."
_TOLERANCE = 1e-9  # relative; conversions of printed units are exact to far less than this


class Finding(Struct, frozen=True, kw_only=True):
    """One method compared with one limit of one document.

    ``level``: stop (the page is not published), act (the cook must do something), note, met. A house's exception names
    ``rule`` (or a limit's id). ``figure`` is the method's figure, ``printed`` the limit as printed. ``certainty``
    distinguishes "known to fail" from "not known". ``line`` is the line of the page that causes it (0: the page as a
    whole), ``mend`` the change that would correct it. ``source`` is "" only where there is no limit.
    ``decides`` is False for a document that is only shown beside the one that applies to this house. ``basis`` is the
    origin of the figure; "" for a finding without a figure of this method. ``is_judged`` is False where a rule has no
    verdict and only shows a document or says that there is none.
    """

    level: str
    rule: str
    limit: str = ""
    topic: str
    title: str
    verdict: str = ""
    figure: str
    printed: str = ""
    source: str = ""
    trust: str = ""
    audience: tuple[str, ...] = ()
    message: str
    signed: SignedException | None = None
    decides: bool = True
    certainty: str = ""
    line: int = 0
    mend: str = ""
    basis: str = ""
    is_judged: bool = True

    @property
    def is_predicted(self) -> bool:
        """Whether the figure is only computed or a target and causes no stop: the cook has to measure it."""
        return self.level in ("met", "note") and self.basis in (COMPUTED, AIMED_AT)


class Rule(Struct, frozen=True, kw_only=True):
    """One rule. ``on_fail`` is the level of a limit that is not met, a stop unless the rule ``is_quality``: its documents
    print the figure for taste or texture, and the page says so; ``binds``: "nearest" = where no document is written for
    the house's audience, the nearest audience's decides; "own" = documents for other audiences are only shown.
    ``on_unknown`` is the level of a limit whose figure is not known, ``on_doubt`` that of one whose range includes the
    limit. ``asks_analysis``: its documents require an analysis. A computed figure never satisfies it for good, and the
    finding says so."""

    id: str
    topic: str
    title: str
    advice: str
    on_fail: str = "stop"
    binds: str = "nearest"
    on_unknown: str = "act"
    on_doubt: str = "act"
    is_quality: bool = False
    asks_analysis: bool = False


class Outcome(Struct, frozen=True):
    """The result of one method for one limit."""

    limit: Limit
    result: str
    figure: str
    more: str = ""
    line: int = 0
    mend: str = ""
    basis: str = STATED


def fitting(case: SafetyCase, rule: Rule, *more: Condition) -> tuple[Limit, ...]:
    """The limits of a rule that apply to this method; ``more`` are further conditions that hold.

    Documents of other places are left out: they are not law here.
    """
    found = limits_of(rule.id, case.food.food_class, family_kind(case), conditions(case) | set(more), case.house.place)
    return tuple(each.for_fat(case.food.fat) for each in found)


def at_least(value: Range | None, bound: float, any_end: bool = False) -> str:
    """Result of a lower limit: the typical value decides, and a low end below it is a doubt (or a failure)."""
    if value is None:
        return UNKNOWN
    slack = abs(bound) * _TOLERANCE
    if value.low >= bound - slack:
        return MET
    return FAILS if any_end or value.typical < bound - slack else MAY_FAIL


def at_most(value: Range | None, bound: float, any_end: bool = False) -> str:
    """Result of an upper limit: the typical value decides, and a high end above it is a doubt (or a failure)."""
    return at_least(None if value is None else Range(-value.high, -value.typical, -value.low), -bound, any_end)


def worst(results: Iterable[str]) -> str:
    """The result of several figures of one limit: a failure decides before an unknown, an unknown before a doubt."""
    return max(results, key=_NEARNESS.index)


def judge(
    case: SafetyCase, rule: Rule, outcome: Callable[[Limit], Outcome], found: Iterable[Limit] | None = None
) -> tuple[Finding, ...]:
    """Findings of a rule: the ``outcome`` of each limit that applies, or of those ``found``."""
    return conclude(case, rule, map(outcome, fitting(case, rule) if found is None else found))


def judge_most(
    case: SafetyCase,
    rule: Rule,
    name: str,
    value: Range | None,
    figure: str,
    *,
    line: int = 0,
    basis: str = STATED,
    found: Iterable[Limit] | None = None,
) -> tuple[Finding, ...]:
    """Findings of a rule whose limits print the most that ``value`` may be, under ``name``."""
    return judge(
        case,
        rule,
        lambda limit: Outcome(limit, at_most(value, limit.value(name)), figure, line=line, basis=basis),
        found,
    )


def closest(outcomes: Iterable[Outcome]) -> Outcome | None:
    """The outcome that is closest to meeting its limit, the first of several; None of none."""
    return min(outcomes, key=lambda each: _NEARNESS.index(each.result), default=None)


def conclude(case: SafetyCase, rule: Rule, outcomes: Iterable[Outcome]) -> tuple[Finding, ...]:
    """Findings from outcomes: current documents of the deciding audience set the level, and the rest are shown."""
    outcomes = best_of_ways(outcomes, case.house.audience)
    deciding = deciding_ids([each.limit for each in outcomes if each.result != BESIDE], rule, case.house.audience)
    return tuple(_finding(rule, each, each.limit.id in deciding, case.house) for each in outcomes)


def deciding_ids(found: Iterable[Limit], rule: Rule, audience: str) -> frozenset[str]:
    """Ids of the limits that decide for an audience: the current ones written for it, or for the nearest one."""
    current = [each for each in found if each.standing == "current"]
    for nearest in _NEAREST[audience] if rule.binds == "nearest" else (audience,):
        own = frozenset(each.id for each in current if nearest in each.audience)
        if own:
            return own
    return frozenset()


def best_of_ways(outcomes: Iterable[Outcome], audience: str) -> tuple[Outcome, ...]:
    """The outcomes. Of several ways to meet a rule only the closest keeps its verdict.

    Ways are current documents written for the audience; where there are none, those for the nearest audience.
    """
    found = list(outcomes)
    ways: dict[str, list[Outcome]] = {}
    for each in found:
        if each.limit.one_of and each.limit.standing == "current" and each.result != BESIDE:
            ways.setdefault(each.limit.one_of, []).append(each)
    for same in ways.values():
        nearest = ([each for each in same if near in each.limit.audience] for near in _NEAREST[audience])
        own = next(filter(None, nearest))
        best = closest(own)
        for each in own:
            if each is not best:
                found[found.index(each)] = replace(each, result=BESIDE, more="Another way; one is enough.")
    return tuple(found)


def caution(case: SafetyCase, rule: Rule, figure: str = "", level: str = "note") -> tuple[Finding, ...]:
    """A standing caution: of the documents for the house's place, the one nearest to its audience, with no verdict."""
    current = [each for each in limits_of(rule.id, place=case.house.place) if each.standing == "current"]
    own = (each for near in _NEAREST[case.house.audience] for each in current if near in each.audience)
    return (shown(rule, next(own), level, figure, rule.advice),)


def shown(rule: Rule, limit: Limit, level: str, figure: str, message: str, basis: str = "") -> Finding:
    """A limit shown with no verdict, at a level that the rule chooses."""
    return Finding(
        level=level,
        rule=rule.id,
        limit=limit.id,
        topic=rule.topic,
        title=limit.title,
        figure=figure,
        printed=limit.text,
        source=limit.source,
        trust=limit.trust,
        audience=limit.audience,
        message=message,
        basis=basis,
    )


def without_limit(
    rule: Rule, level: str, figure: str, message: str, *, certainty: str = "", line: int = 0, mend: str = ""
) -> Finding:
    """A finding for which this handbook knows no printed limit."""
    return Finding(
        level=level,
        rule=rule.id,
        topic=rule.topic,
        title=rule.title,
        figure=figure,
        message=message,
        certainty=certainty,
        line=line,
        mend=mend,
    )


def sign(finding: Finding, case: SafetyCase) -> Finding:
    """The finding. An exception that the house signed to its rule turns a stop into an action."""
    if finding.level != "stop":
        return finding
    for each in case.house.exceptions_of(case.method.name):
        if each.rule not in (finding.rule, finding.limit):
            continue
        void, today = "", datetime.date.today()
        if _is_unsignable(finding.rule, case):
            void = "No exception sets this rule aside; the line in the house file has no effect."
        elif each.is_over(today):
            void = f"The exception signed by {each.by} expired: until {each.until}."
        elif each.is_early(today):
            void = f"The exception signed by {each.by} does not hold yet: from {each.on}."
        if void:
            return replace(finding, message=f"{finding.message} {void}")
        signer = f"{each.by}, {each.role}" if each.role else each.by
        ends = f" Holds until {each.until}, by the process {each.process}." if each.until else ""
        message = f"{finding.message} Exception signed by {signer} on {each.on}: {each.reason}.{ends}"
        return replace(finding, level="act", message=message, signed=each)
    return finding


def _is_unsignable(rule: str, case: SafetyCase) -> bool:
    return rule in UNSIGNABLE or (rule in _UNSIGNABLE_WITHOUT_AIR and Condition.NO_AIR in conditions(case))


def _finding(rule: Rule, outcome: Outcome, decides: bool, house: House) -> Finding:
    limit, result, audience = outcome.limit, outcome.result, house.audience
    if result == BESIDE:
        return replace(shown(rule, limit, "note", outcome.figure, outcome.more), decides=False)
    verdict, text = _VERDICTS[result]
    levels = {MET: "met", FAILS: rule.on_fail, MAY_FAIL: rule.on_doubt, UNKNOWN: rule.on_unknown}
    level = "note" if rule.on_fail == "note" and result != MET else levels[result]
    if limit.trust == "from memory":
        if result == MET:
            verdict, text = "meets the unconfirmed figure", _UNCONFIRMED
        else:
            text += " The limit is from memory and unconfirmed; it holds until someone reads the source."
    if not decides:
        text += f" Shown for comparison; it does not decide here: {_why_beside(limit)}."
        level = level if result == MET else "note"
    elif audience not in limit.audience:
        text += (
            f" No rule found for {audience} kitchens: this one is written for {' and '.join(limit.audience)} kitchens."
        )
    if decides and house.place in PLACES and limit.place not in (house.place, "anywhere"):
        text += f" Judged by {limit.place} law: this handbook has no document of the {house.place} for this."
    if result != MET:
        parts = (rule.advice, "For quality, not for safety." if rule.is_quality else "")
        text = " ".join(filter(None, (text, *parts)))
    said = [text, outcome.more]
    if result == MET and rule.asks_analysis and outcome.basis == COMPUTED:
        said.append(PREDICTED)
    basis = "" if result == UNKNOWN else outcome.basis
    found = shown(rule, limit, level, outcome.figure, " ".join(filter(None, said)), basis)
    certainty = {FAILS: KNOWN_TO_FAIL, MAY_FAIL: NOT_KNOWN, UNKNOWN: NOT_KNOWN}.get(result, "")
    mend = "" if result == MET else outcome.mend
    return replace(found, verdict=verdict, decides=decides, certainty=certainty, line=outcome.line, mend=mend)


def _why_beside(limit: Limit) -> str:
    if limit.standing != "current":
        return f"an {limit.standing}" if limit.standing == "older edition" else "a reference"
    return f"written for {' and '.join(limit.audience)} kitchens"
