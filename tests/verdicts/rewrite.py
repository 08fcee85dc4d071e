"""Three ways to write a dangerous page so that its danger is harder to see. The verdict must not change.

Each takes a page of the table (pages.py) and gives another; None where nothing on the page can be rewritten so.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from tests.verdicts.pages import merged

_KINDS = {
    "hot smoke": "cook",
    "cook": "hot smoke",
    "cold smoke": "dry cure",
    "dry cure": "cold smoke",
    "brine": "cook",
    "ferment": "brine",
}
_STAGES = {
    "prepare": "rest",
    "rest": "prepare",
    "salt": "ferment",
    "ferment": "salt",
    "smoke": "cook",
    "cook": "smoke",
    "reheat": "cook",
    "rinse": "prepare",
    "cool": "hold",
    "freeze": "hold",
    "thaw": "hold",
    "dry": "hold",
    "hold": "rest",
    "pack": "prepare",
    "serve": "rest",
    "glaze": "prepare",
}
_SALTINGS = {"dry cure": "dry-salted ferment", "dry-salted ferment": "dry cure", "ferment brine": "immersion"}
#: What an author may forget, by hazard.
_FORGOTTEN = {
    "nitrite": ("saltings.*.temperature", "pieces.mass", "keeping", "steps.*.use"),
    "cooking": ("steps.*.core", "steps.*.hold"),
    "computed core": ("steps.*.humidity", "steps.*.air"),
    "growth": ("steps.hold.temperature", "steps.cure.temperature", "saltings.*.temperature"),
    "cooling": ("steps.cool", "steps.chill"),
    "botulism": ("keeping.temperature", "keeping.time"),
    "cold": ("keeping.temperature",),
    "parasite": ("steps.freeze.temperature", "pieces.origin"),
    "histamine": ("steps.hold.temperature", "steps.cure.temperature", "saltings.*.temperature"),
    "ferment": ("keeping", "pieces.mass", "steps.ferment.temperature"),
    "hygiene": ("keeping", "pieces.mass"),
    "names": ("keeping", "pieces.mass"),
    "infants": ("keeping", "pieces.mass"),
    "exceptions": ("pieces.mass", "steps.*.loss"),
}
_NUMBER = re.compile(r"\d+(?:\.\d+)?(?:/\d+)?")


def other_names(page: dict[str, Any], case) -> dict[str, Any]:
    """Other words for the same work: kind, stages, names and kinds of saltings; every temperature and time stays."""
    names = {name: f"mixture {number}" for number, name in enumerate(page.get("saltings", {}), 1)}
    saltings = {
        names[name]: {**each, "kind": _SALTINGS.get(each["kind"], each["kind"])}
        for name, each in page.get("saltings", {}).items()
    }
    steps = {}
    for name, step in page["steps"].items():
        stage = _STAGES.get(step["stage"], step["stage"])
        stage = "rest" if stage == "salt" and not saltings else stage
        step = {**step, "stage": stage}
        steps[name] = {**step, "use": names.get(step["use"], step["use"])} if "use" in step else step
    changed = {**page, "kind": _KINDS[page["kind"]], "steps": steps}
    return {**changed, "saltings": saltings} if saltings else changed


def split_in_two(page: dict[str, Any], case) -> dict[str, Any] | None:
    """Every salting in two halves one after the other, or one step in two with the same total time."""
    how = case.split or (
        "saltings" if case.hazard == "nitrite" and page.get("saltings") else _longest(page, case.hazard)
    )
    if how == "saltings":
        return _split_saltings(page)
    return None if how is None else {**page, "steps": _split_step(page["steps"], how)}


def facts_left_out(page: dict[str, Any], case) -> dict[str, Any] | None:
    """Facts taken away that show the danger; a step without its core, a keeping without its temperature."""
    result = page
    for path in case.leave_out or _FORGOTTEN[case.hazard]:
        for each in _matching(result, path.split(".")):
            result = merged(result, each)
    return None if result == page else result


WAYS: dict[str, Callable] = {"names": other_names, "split": split_in_two, "facts": facts_left_out}


def _split_saltings(page: dict[str, Any]) -> dict[str, Any]:
    saltings, steps = {}, page["steps"]
    for name, each in page["saltings"].items():
        for half in _halves(each, name):
            saltings |= half
    for name in page["saltings"]:
        using = [key for key, step in steps.items() if step.get("use") == name]
        if len(using) == 1:
            steps = _split_step(steps, using[0])
            using.append(f"{using[0]} again")
        if using:
            steps = {**steps, using[-1]: {**steps[using[-1]], "use": f"{name} again"}}
    return {**page, "saltings": saltings, "steps": steps}


def _halves(salting: dict[str, Any], name: str) -> tuple[dict[str, Any], dict[str, Any]]:
    # A pumped brine keeps its strength, and half of it goes in each time.
    if "pump" in salting:
        half = {**salting, "pump": _half(salting["pump"])}
    else:
        half = {**salting, "items": {item: _half(amount) for item, amount in salting["items"].items()}}
    return {name: half}, {f"{name} again": half}


def _split_step(steps: dict[str, Any], name: str) -> dict[str, Any]:
    """The step in two; what it reaches at its end (core, hold, pH) stands with the second half."""
    result = {}
    for key, step in steps.items():
        if key != name:
            result[key] = step
            continue
        second = {each: _half(value) if each in ("time", "loss", "gain") else value for each, value in step.items()}
        first = {each: value for each, value in second.items() if each not in ("core", "hold", "final_ph")}
        result[key], result[f"{key} again"] = first, second
    return result


def _longest(page: dict[str, Any], hazard: str) -> str | None:
    """The longest step of known time: one with a core where cooking is the hazard, else one without hands."""
    timed = {name: step for name, step in page["steps"].items() if "time" in step}
    hot = {name: step for name, step in timed.items() if "core" in step and hazard in ("cooking", "computed core")}
    alone = {name: step for name, step in timed.items() if "hands_on" not in step}
    chosen = hot or alone or timed
    return max(chosen, key=lambda name: _seconds(chosen[name]["time"]), default=None)


def _seconds(text: str) -> float:
    units = {"s": 1, "min": 60, "h": 3600, "day": 86400, "days": 86400, "weeks": 604800, "week": 604800}
    return max(float(each) for each in _NUMBER.findall(text)) * units[text.split()[-1]]


def _half(text: str) -> str:
    """Every number halved: ``12-18 h`` gives ``6-9 h``; a share of the water stays a share."""
    return text if text.endswith("of water") else _NUMBER.sub(lambda found: f"{_value(found[0]) / 2:.6g}", text)


def _value(number: str) -> float:
    over, _, under = number.partition("/")
    return float(over) / float(under or 1)


def _matching(page: Any, path: list[str]) -> list[dict[str, Any]]:
    """Changes that take away what ``path`` points to; ``*`` stands for every key."""
    if not isinstance(page, dict):
        return []
    first, rest = path[0], path[1:]
    found = []
    for key in page if first == "*" else [first] if first in page else []:
        found += [{key: "left out"}] if not rest else [{key: each} for each in _matching(page[key], rest)]
    return found
