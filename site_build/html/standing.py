"""The standing of a method in one line for the cook: required actions, measurements, met limits, unjudged hazards."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from msgspec import Struct

from handbook.safety.findings import ADVICE, Finding

#: Rules whose note the cook has to tell the eaters.
_TELL = ("susceptible-people", "infants")


class Standing(Struct, frozen=True, kw_only=True):
    """``word`` is the worst of act, measure and met. ``act`` are titles of limits, each once, with the certainty and
    the advice; ``measure`` are titles, ``tell`` whole sentences.
    """

    word: str
    act: tuple[tuple[str, str, str], ...]
    measure: tuple[str, ...]
    tell: tuple[str, ...]
    met: int
    not_judged: int


def standing_of(findings: Sequence[Finding]) -> Standing:
    """The standing of a published method, which has no stop among its findings."""
    deciding = [each for each in findings if each.decides]
    acts = [each for each in deciding if each.level in ("stop", "act")]
    act = _titles(acts)
    met = [each for each in deciding if each.level == "met" and each.trust != "from memory"]
    measure = _titles(each for each in deciding if each.is_predicted)
    measure = tuple(each for each in measure if each not in act)
    notes = [each for each in deciding if each.level == "note"]
    return Standing(
        word="act" if act else "measure" if measure else "met",
        act=tuple(_act(next(each for each in acts if each.title == title)) for title in act),
        measure=measure,
        tell=tuple(dict.fromkeys(each.message for each in notes if _is_warning(each))),
        met=len({each.title for each in met} - set(measure) - set(act)),
        not_judged=len({each.title for each in notes if not each.is_judged}),
    )


def is_caution(finding: Finding) -> bool:
    """Whether a finding is the same for every method: without a figure of this one and without a verdict."""
    return finding.level == "note" and not finding.figure and not finding.verdict and finding.is_judged


def step_limit(findings: Sequence[Finding], first: int, last: int, shown: Collection[str]) -> Finding | None:
    """The limit shown at a step: of those for its lines ``first`` to ``last``, one that requires an action before a met
    one.

    Limits ``shown`` before, by their printed words, are left out.
    """
    found = [
        each
        for each in findings
        if each.decides
        and each.printed
        and first <= each.line < last
        and each.trust != "from memory"
        and each.printed not in shown
    ]
    ranks = {"stop": 0, "act": 1, "met": 2}
    known = [each for each in found if each.level in ranks]
    return min(known, key=lambda each: ranks[each.level], default=None)


def _act(finding: Finding) -> tuple[str, str, str]:
    if each := finding.signed:
        signer = ", ".join(filter(None, (each.by, each.role)))
        return finding.title, f"{finding.certainty}, exception signed", f"{signer}, {each.on}: {each.reason}."
    return finding.title, finding.certainty, _what_to_do(finding)


def _what_to_do(finding: Finding) -> str:
    words = finding.mend or (ADVICE.get(finding.rule, "") if finding.limit else finding.message)
    return words.rstrip(".") + "." if words else ""


def _is_warning(finding: Finding) -> bool:
    return finding.rule in _TELL and bool(finding.figure)


def _titles(found: Iterable[Finding]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(each.title for each in found))
