"""Explain why a day has no plan: the shortage, its amount and time, and remedies.

The search relaxes one rule at a time and minimises the excess that makes a plan possible. Where no single relaxation
suffices, it relaxes all rules of the kitchen together.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from msgspec import Struct
from msgspec.structs import replace

from handbook.base.formats import format_mass
from handbook.days.day_plan import GRID, DayKitchen, DayWish, MethodNeeds
from handbook.days.day_solver import IMPOSSIBLE, SOLVED, RelaxationCost, RelaxedRule, solve
from handbook.days.day_tasks import ROOM_STEP, DayError, Problem, problem_of
from handbook.page.clock import WEEKDAYS
from handbook.page.equipment import CHAMBERS

#: Needs of each method, by its page's name.
Needs = dict[str, MethodNeeds]
#: Called with the remedy being tried.
Progress = Callable[[str], None]
WORK_LIMIT = 5.0
SMALLER = (0.9, 0.75, 0.5, 0.25)


class Reason(Struct, frozen=True, kw_only=True):
    """A shortage and its remedies; ``mends`` is empty where none was found."""

    short: str
    mends: tuple[str, ...]


def reasons(
    wish: DayWish, needs: dict[str, MethodNeeds], kitchen: DayKitchen, progress: Progress
) -> tuple[Reason, ...]:
    """Why ``wish`` has no plan. Each reason names a remedy that suffices by itself.

    ``progress`` is called with the remedy being tried. Raises DayError as ``problem_of`` and ``solve`` do.
    """
    wish = _smallest(wish, needs, kitchen, progress)
    problem = problem_of(wish, needs, kitchen)
    found = []
    for each in _candidates(problem):
        progress(_remedy(each, problem, needs))
        answer = solve(problem, (each,), WORK_LIMIT)
        if answer.status == SOLVED:
            excess = answer.excess[0] if answer.excess else RelaxationCost(rule=each, amount=0)
            short, mend = _words(excess, problem, needs)
            found.append(Reason(short=short, mends=(mend,)))
    mends = _other_mends(wish, needs, kitchen, progress)
    if found:
        return (*found, *([Reason(short="", mends=tuple(mends))] if mends else []))
    if mends:
        return (Reason(short=_impossible(wish, needs), mends=tuple(mends)),)
    return (_together(problem, needs, progress),)


def span_words(slots: int) -> str:
    """A length in slots in words: ``2 h 35 min``."""
    minutes = slots * GRID // 60
    hours, rest = divmod(minutes, 60)
    return " ".join(
        part for part in (f"{hours} h" if hours else "", f"{rest} min" if rest or not hours else "") if part
    )


def _smallest(wish: DayWish, needs: Needs, kitchen: DayKitchen, progress: Progress) -> DayWish:
    """The wish for the first method that has no plan even alone, else the whole wish."""
    if len(wish.wishes) == 1:
        return wish
    for each in wish.wishes:
        progress(f"{needs[each.method].title} alone")
        alone = replace(wish, wishes=(each,))
        if solve(problem_of(alone, needs, kitchen), work_limit=WORK_LIMIT).status == IMPOSSIBLE:
            return alone
    return wish


def _candidates(problem: Problem) -> list[RelaxedRule]:
    places = {task.place for task in problem.tasks}
    found = [RelaxedRule(kind="chamber", what=place) for place in CHAMBERS if place in places]
    found += [RelaxedRule(kind="hands")]
    found += [RelaxedRule(kind="vessel", what="vessel")] if any(each.kind == "vessel" for each in problem.holds) else []
    for each in problem.kitchen.planning.equipment:
        if each.place not in CHAMBERS:
            found.append(RelaxedRule(kind="room" if each.room else "places", what=each.place))
    found += [RelaxedRule(kind="late", what=str(number)) for number in range(len(problem.wish.wishes))]
    return [*found, RelaxedRule(kind="early")]


def _words(excess: RelaxationCost, problem: Problem, needs: Needs) -> tuple[str, str]:
    """The shortage and its remedy."""
    kind, what = excess.rule.kind, excess.rule.what
    length, day, when = span_words(excess.amount), _day(excess, problem), _when(excess, problem)
    match kind:
        case "chamber":
            return f"The {what} is {length} short{day}.", f"a second {what} {when}"
        case "vessel":
            return f"Vessels are short for {length}{day}.", f"another vessel of the same size {when}"
        case "hands" if excess.amount:
            return f"Hands are {length} short{day}.", f"one helper {when}"
        case "hands":
            return (
                "Nobody is in the kitchen while something is hot.",
                "one more person to watch smoker, oven or stove",
            )
        case "room":
            litres = f"{excess.amount * ROOM_STEP * 1000:.0f} L"
            return f"The {what} is {litres} too small.", f"{litres} more room in a {what} as cold"
        case "places":
            name = problem.kitchen.planning.at(what)[0].name
            return f"{excess.amount} more of this is wanted at once: {name}.", f"{excess.amount} more: {name}"
        case "early":
            begin = _clock(problem.moment(problem.begin - excess.amount))
            return f"The beginning is {length} too late.", f"a beginning at {begin}"
    wished = problem.wish.wishes[int(what)]
    title = needs[wished.method].title
    at = _clock(problem.moment(problem.slot(wished.ready) + excess.amount))
    return (
        f"{title} cannot be ready by {_clock(wished.ready)}: it is {length} short.",
        f"{title} wanted at {at}",
    )


def _other_mends(wish: DayWish, needs: Needs, kitchen: DayKitchen, progress: Progress) -> list[str]:
    """Remedies other than relaxing one rule: work at night, or a smaller batch of one method."""
    found = []
    if not wish.night_allowed:
        progress("work at night")
        if _works(replace(wish, night_allowed=True), needs, kitchen):
            found.append("work in the night, inside the hours given (night: yes)")
    for number, each in enumerate(wish.wishes):
        progress(f"less of {needs[each.method].title}")
        for part in SMALLER:
            less = replace(each, batch=each.batch * part)
            if _works(replace(wish, wishes=(*wish.wishes[:number], less, *wish.wishes[number + 1 :])), needs, kitchen):
                words = f"{format_mass(less.batch)} of {needs[each.method].title} in place of {format_mass(each.batch)}"
                found.append(words)
                break
    return found


def _works(wish: DayWish, needs: Needs, kitchen: DayKitchen) -> bool:
    try:
        return solve(problem_of(wish, needs, kitchen), work_limit=WORK_LIMIT).status == SOLVED
    except DayError:
        return False


def _together(problem: Problem, needs: Needs, progress: Progress) -> Reason:
    """The reason where all rules of the kitchen are relaxed at once."""
    progress("everything at once")
    kitchen = [each for each in _candidates(problem) if each.kind not in ("late", "early")]
    for several in (kitchen, _candidates(problem)):
        answer = solve(problem, tuple(several), 2 * WORK_LIMIT)
        if answer.status == SOLVED:
            shorts, mends = zip(*(_words(each, problem, needs) for each in answer.excess), strict=True)
            return Reason(
                short=" ".join(("Several things are short at once.", *shorts)),
                mends=(f"all of these together: {'; '.join(mends)}",),
            )
    return Reason(short=_impossible(problem.wish, needs), mends=())


def _impossible(wish: DayWish, needs: Needs) -> str:
    names = ", ".join(needs[each.method].title for each in wish.wishes)
    return f"Between {_clock(wish.begin)} and {_clock(wish.end)} this cannot be done: {names}."


def _remedy(relaxed: RelaxedRule, problem: Problem, needs: Needs) -> str:
    if relaxed.kind == "late":
        return f"{needs[problem.wish.wishes[int(relaxed.what)].method].title} later"
    return {"early": "an earlier beginning", "hands": "one helper"}.get(relaxed.kind, f"more {relaxed.what}")


def _day(excess: RelaxationCost, problem: Problem) -> str:
    used = [start for start, end in excess.spans if end > start]
    days = list(dict.fromkeys(WEEKDAYS[problem.moment(start).weekday()] for start in used))
    return f" on {_listed(days)}" if days else ""


def _listed(words: list[str]) -> str:
    return " and ".join(part for part in (", ".join(words[:-1]), words[-1]) if part)


def _when(excess: RelaxationCost, problem: Problem) -> str:
    spans = [span for span in excess.spans if span[1] > span[0]]
    joined: list[list[int]] = []
    for start, end in sorted(spans):
        if joined and start <= joined[-1][1]:
            joined[-1][1] = max(joined[-1][1], end)
        else:
            joined.append([start, end])
    return ", ".join(f"{_clock(problem.moment(start))} to {problem.moment(end):%H:%M}" for start, end in joined[:6]) + (
        " and more" if len(joined) > 6 else ""
    )


def _clock(moment: datetime) -> str:
    return f"{WEEKDAYS[moment.weekday()][:3]} {moment:%H:%M}"
