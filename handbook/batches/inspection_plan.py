"""The inspector's folder of one method: steps with hazards, limits with documents, monitoring, open questions.

The figures and limits are the report's own; the words of hazards, monitoring and verification are common practice, no
source (data/inspection.yml). Other entries are left blank, for licensed people to fill in.
"""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files
from typing import Any

import yaml
from msgspec import Struct

from handbook.page.heated import heats
from handbook.page.house import House
from handbook.page.schedule import ScheduledStep
from handbook.report.evaluate import judged_for
from handbook.report.method_report import Report
from handbook.safety.findings import ADVICE, Finding

#: Audience of the documents in an inspector's folder: a kitchen that sells is licensed, whatever the house's audience.
LICENSED = "retail"
_NO_AIR = ("vacuum", "can", "bottle", "jar", "oil", "casing")


class Monitoring(Struct, frozen=True, kw_only=True):
    """Monitoring and verification of the limits of one topic. The kitchen decides who does it."""

    topic: str
    what: str
    how: str
    often: str
    verify: str


class InspectedStep(Struct, frozen=True, kw_only=True):
    """One step with its hazards by kind, and the limits that apply to its lines."""

    scheduled: ScheduledStep
    hazards: tuple[tuple[str, str], ...]
    limits: tuple[Finding, ...]

    @property
    def is_control_point(self) -> bool:
        """Whether a document's limit decides on this step, which is then proposed as a critical control point."""
        return bool(self.limits)


class CriticalLimit(Struct, frozen=True, kw_only=True):
    """One limit of one document for a licensed kitchen, the corrective action, and its step (0: none)."""

    finding: Finding
    step: int
    corrective: str


class InspectionPlan(Struct, frozen=True, kw_only=True):
    """The folder's computed parts. ``report`` is that of a licensed kitchen. ``against`` are findings that stop it
    there or require an action; ``open`` are questions that no document here decides and an authority must sign."""

    report: Report
    audience: str
    steps: tuple[InspectedStep, ...]
    limits: tuple[CriticalLimit, ...]
    monitoring: tuple[Monitoring, ...]
    against: tuple[Finding, ...]
    open: tuple[str, ...]
    leave_needed: tuple[str, ...]


def inspection_plan(report: Report, house: House) -> InspectionPlan:
    """The plan of one method, judged as in a licensed kitchen of the house's place."""
    audience = LICENSED if house.audience == "home" else house.audience
    judged = report if audience == house.audience else judged_for(audience, report)
    decided = [each for each in judged.findings if each.decides and each.printed and each.level != "note"]
    lines = [each.step.line for each in judged.schedule.steps]
    steps = [_step(each, lines, decided) for each in judged.schedule.steps]
    limits = [
        CriticalLimit(finding=each, step=_step_of(each.line, lines), corrective=ADVICE.get(each.rule, "") or each.mend)
        for each in decided
    ]
    topics = dict.fromkeys(each.topic for each in decided)
    return InspectionPlan(
        report=judged,
        audience=audience,
        steps=tuple(steps),
        limits=tuple(sorted(limits, key=lambda each: (each.step or len(lines) + 1, each.finding.topic))),
        monitoring=tuple(
            Monitoring(topic=topic, **_words()["topics"][topic]) for topic in topics if topic in _words()["topics"]
        ),
        against=tuple(each for each in judged.findings if each.decides and each.level in ("stop", "act")),
        open=tuple(_open(judged)),
        leave_needed=tuple(_leave_needed(judged)),
    )


def _step(scheduled: ScheduledStep, lines: list[int], decided: list[Finding]) -> InspectedStep:
    hazards = _words()["stages"].get(scheduled.step.stage, {})
    own = tuple(each for each in decided if _step_of(each.line, lines) == scheduled.number)
    return InspectedStep(scheduled=scheduled, hazards=tuple(hazards.items()), limits=own)


def _step_of(line: int, lines: list[int]) -> int:
    """The step that contains ``line``; 0 for the page as a whole and for lines before or after the steps."""
    number = sum(each <= line for each in lines)
    if not line or not number or (number == len(lines) and line > lines[-1] + 12):
        return 0
    return number


def _open(report: Report) -> list[str]:
    """Questions that an authority must sign because no document here decides them, or because the figure is unknown."""
    found = []
    for each in report.findings:
        if each.level == "note" or not each.decides:
            continue
        if each.verdict == "not known" or each.trust == "from memory":
            found.append(f"{each.title}: {each.figure or each.message}")
        elif each.signed is not None:
            found.append(
                f"{each.title}: set aside by {each.signed.role}, {each.signed.process}, until {each.signed.until}"
            )
    if any(heats(step) for step in report.method.steps) and not any(
        each.rule == "lethality" for each in report.findings
    ):
        found.append("Whether the heat treatment kills what it must, in this chamber, at its load")
    return list(dict.fromkeys(found))


def _leave_needed(report: Report) -> list[str]:
    """Methods for which a licensed kitchen may need a variance [food-code-variance-adopted]."""
    method, words = report.method, _words()["specialised"]
    stages = {each.stage for each in method.steps}
    nitrite = any(each.made.total("nitrite") + each.made.total("nitrate") > 0 for each in report.saltings)
    parts = [part for each in report.saltings for part in each.made.parts]
    needed = {
        "smoked": "smoke" in stages,
        "cured": nitrite or method.front_matter.kind == "dry cure",
        "pack": method.keeping is not None and method.keeping.pack in _NO_AIR,
        "acid": any(part.ingredient.name.startswith("vinegar") for part in parts),
        "ferment": "ferment" in stages,
    }
    return [words[each] for each, is_needed in needed.items() if is_needed]


def inspection_words() -> tuple[str, ...]:
    """The folder's own texts: kinds of hazards, topics, and the text of each."""
    words = _words()
    kinds = dict.fromkeys(kind for each in words["stages"].values() for kind in each)
    hazards = [text for each in words["stages"].values() for text in each.values()]
    watched = [text for each in words["topics"].values() for text in each.values()]
    return tuple(dict.fromkeys((*kinds, *words["topics"], *hazards, *watched, *words["specialised"].values())))


@lru_cache
def _words() -> dict[str, Any]:
    found: dict[str, Any] = yaml.safe_load(files("handbook.data").joinpath("inspection.yml").read_text("utf-8"))
    return found
