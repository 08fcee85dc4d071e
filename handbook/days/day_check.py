"""An independent check of a finished day plan by every rule of ``day_plan``.

It shares only records with the search for a plan, no calculation.
"""

from __future__ import annotations

import math
from datetime import datetime, timedelta
from itertools import pairwise, permutations

from handbook.days.day_plan import (
    COLD_KEPT,
    GRID,
    GROWING_STAGES,
    HEATED_PLACES,
    HOT,
    SERVED_EARLY,
    SET_GOING,
    UNCOUNTED,
    DayKitchen,
    DayPlan,
    DayWish,
    Hand,
    MethodNeeds,
    PlanStep,
    Wish,
    box,
)
from handbook.page.clock import touches_night
from handbook.page.container import fill
from handbook.page.equipment import CHAMBERS, STORES
from handbook.page.steps import Step

_TOLERANCE = 1e-6
#: Start, end and the amount in use between them.
_Span = tuple[datetime, datetime, float]


def check_day(plan: DayPlan, wish: DayWish, needs: dict[str, MethodNeeds], kitchen: DayKitchen) -> list[str]:
    """The faults of a plan, one line each; empty when it keeps all rules."""
    faults = _unknown(plan, wish, needs)
    if faults:
        return faults
    for each in wish.wishes:
        faults += _method(plan, each, needs[each.method], wish, kitchen)
    faults += _units(plan, needs, kitchen)
    faults += _places(plan, needs, kitchen)
    faults += _stores(plan, wish, needs, kitchen)
    faults += _people(plan, wish)
    faults += _company(plan, wish, needs)
    return list(dict.fromkeys(faults))


def _unknown(plan: DayPlan, wish: DayWish, needs: dict[str, MethodNeeds]) -> list[str]:
    wanted = {each.method for each in wish.wishes}
    faults = [f"{each.method}: planned but not wished" for each in plan.steps if each.method not in wanted]
    faults += [f"{name}: wished but not planned" for name in sorted(wanted) if not plan.of(name)]
    faults += [
        f"{each.method}: no step {each.number} on its page"
        for each in plan.steps
        if each.method in needs and not 1 <= each.number <= len(needs[each.method].steps)
    ]
    return list(dict.fromkeys(faults))


# --- one method: complete loads, steps complete and in order, lengths inside their ranges, ready in time


def _method(plan: DayPlan, wished: Wish, needs: MethodNeeds, wish: DayWish, kitchen: DayKitchen) -> list[str]:
    steps, faults = plan.of(wished.method), []
    loads = sorted({each.load for each in steps if each.load}) or [0]
    if loads not in ([0], list(range(1, len(loads) + 1))):
        return [f"{needs.title}: loads {loads} are not numbered 1, 2, 3 and so on"]
    for load in loads:
        chain = sorted((each for each in steps if each.load in (0, load)), key=lambda each: each.number)
        if [each.number for each in chain] != list(range(1, len(needs.steps) + 1)):
            return [f"{needs.title}: load {load or 1} does not go through every step once"]
        faults += _chain(chain, wished, needs, wish)
        if load and chain[-1].load == 0:
            faults.append(f"{needs.title}: load {load} is never cut off from the batch")
    faults += _masses(steps, loads, wished, needs)
    return faults


def _masses(steps: tuple[PlanStep, ...], loads: list[int], wished: Wish, needs: MethodNeeds) -> list[str]:
    for number in range(1, len(needs.steps) + 1):
        at = [each for each in steps if each.number == number]
        if abs(sum(each.mass for each in at) - wished.batch) > 1e-6 * wished.batch:
            return [f"{needs.title}: step {number} is not done to the whole batch"]
        if len(at) > 1 and max(each.mass for each in at) - min(each.mass for each in at) > 1e-6:
            return [f"{needs.title}: the loads of step {number} are not equal"]
    first_cut = min((each.number for each in steps if each.load), default=0)
    if first_cut > 1 and needs.steps[first_cut - 1].step.hands_on:
        return [f"{needs.title}: cut into loads before work by hand, which leaves no room between loads"]
    return []


def _chain(chain: list[PlanStep], wished: Wish, needs: MethodNeeds, wish: DayWish) -> list[str]:
    faults = []
    if chain[0].start < wish.begin:
        faults.append(f"{needs.title}: begins at {_at(chain[0].start)}, before the day's beginning")
    for left, right in pairwise(chain):
        if left.end != right.start:
            faults.append(f"{needs.title}: step {right.number} does not begin when step {left.number} ends")
    for each in chain:
        faults += _length(each, needs)
        faults += _hands(each, needs)
    last, keeping = needs.steps[-1].step, needs.keeping
    early: float = SERVED_EARLY
    if last.stage != "serve" and keeping is not None and keeping.time is not None:
        early = keeping.time.low
    end = chain[-1].end
    if end > wished.ready:
        faults.append(f"{needs.title}: ready at {_at(end)}, later than wished")
    if (wished.ready - end).total_seconds() > early + GRID - 1:
        faults.append(f"{needs.title}: finished at {_at(end)}, too long before it is wanted")
    return faults


def _length(each: PlanStep, needs: MethodNeeds) -> list[str]:
    timed = needs.steps[each.number - 1]
    step, stated = timed.step, timed.duration
    seconds = (each.end - each.start).total_seconds()
    name = f"{needs.title}: step {each.number}"
    if any(moment.timestamp() % GRID for moment in (each.start, each.end)):
        return [f"{name} is off the grid of 5 min"]
    if step.hands_on or step.waits_for in ("core", "lethality"):
        share = each.mass / needs.written_for
        grows = share if step.hands_on and step.stage in GROWING_STAGES and share > 1 else 1.0
        wanted = stated.high * grows
        if not wanted - _TOLERANCE <= seconds < wanted + GRID - _TOLERANCE:
            return [f"{name} is planned for {seconds / 60:g} min and takes up to {wanted / 60:g} min"]
        return []
    fits = math.floor(stated.high / GRID + _TOLERANCE) >= math.ceil(stated.low / GRID - _TOLERANCE)
    if not fits:
        is_right = 0 <= seconds - stated.high < GRID - _TOLERANCE or seconds == GRID
        return [] if is_right else [f"{name} waits {seconds / 60:g} min; allowed: {stated.high / 60:g} min"]
    if not stated.low - _TOLERANCE <= seconds <= stated.high + _TOLERANCE:
        return [f"{name} waits {seconds / 60:g} min; allowed: {stated.low / 60:g} to {stated.high / 60:g} min"]
    if step.waits_for == "target salt" and abs(seconds - stated.typical) > GRID:
        return [f"{name} leaves the time at which its salt target is reached"]
    return []


def _hands(each: PlanStep, needs: MethodNeeds) -> list[str]:
    step = needs.steps[each.number - 1].step
    name = f"{needs.title}: step {each.number}"
    if step.hands_on:
        right = len(each.hands) == 1 and (each.hands[0].start, each.hands[0].end) == (each.start, each.end)
        return [] if right else [f"{name} lacks hands for part of its time"]
    hands = list(each.hands)
    follows_hands = each.number > 1 and needs.steps[each.number - 2].step.hands_on
    if not follows_hands and not _take(hands, each.start, SET_GOING):
        return [f"{name} is started by nobody"]
    if step.repeat is not None:
        grows = max(each.mass / needs.written_for, 1.0)
        takes = step.repeat.takes.high * grows if step.repeat.takes else SET_GOING
        every, at, count = step.repeat.every.middle, step.repeat.every.middle, 0
        while at < (each.end - each.start).total_seconds() - _TOLERANCE and count < 500:
            if not _take(hands, each.start + timedelta(seconds=at), takes):
                return [f"{name}: nobody is there to {step.repeat.do} at {_at(each.start + timedelta(seconds=at))}"]
            at, count = at + every, count + 1
    return [f"{name} has hands that it does not need"] if hands else []


def _take(hands: list[Hand], moment: datetime, seconds: float) -> bool:
    """Remove from ``hands`` one that starts within a slot of ``moment`` and lasts ``seconds``; whether there was one."""
    for each in hands:
        lag = (moment - each.start).total_seconds()
        if -_TOLERANCE <= lag < GRID and (each.end - each.start).total_seconds() >= seconds - _TOLERANCE:
            hands.remove(each)
            return True
    return False


# --- chambers and vessels: fitting, and one load at a time


def _units(plan: DayPlan, needs: dict[str, MethodNeeds], kitchen: DayKitchen) -> list[str]:
    faults = []
    used: dict[str, list[PlanStep]] = {}
    for each in plan.steps:
        faults += _unit(each, needs[each.method], kitchen)
        for name in each.units:
            used.setdefault(name, []).append(each)
    for name, steps in used.items():
        for one, two in permutations(steps, 2):
            same = (one.method, one.load) == (two.method, two.load)
            if not same and one.start < two.end and two.start < one.end:
                faults.append(f"{name}: two loads at {_at(max(one.start, two.start))}")
    return faults


def _unit(each: PlanStep, needs: MethodNeeds, kitchen: DayKitchen) -> list[str]:
    step, name = needs.steps[each.number - 1].step, f"{needs.title}: step {each.number}"
    if step.place in CHAMBERS:
        found = [one for one in kitchen.planning.equipment if one.name in each.units and one.place == step.place]
        if len(found) != 1 or len(each.units) != 1:
            return [f"{name} is in no {step.place} of the house"]
        chamber, holds = found[0], found[0].holds.low if found[0].holds else 0.0
        if each.mass > holds * (1 + _TOLERANCE):
            return [f"{name}: {each.mass:g} kg on racks for {holds:g} kg"]
        if step.chamber and not chamber.can_keep(step.chamber):
            return [f"{name}: the {chamber.name} does not keep {step.chamber.text}"]
        return []
    bath = needs.baths.get(each.number)
    if bath is None:
        return [f"{name} takes a chamber or vessel it does not need"] if each.units else []
    vessels = [one for one in kitchen.containers if one.name in each.units]
    if not vessels or len(vessels) != len(each.units):
        return [f"{name} has no vessel of the house"]
    part = each.mass / len(vessels)
    over = [one.name for one in vessels if fill(one, bath.food * part, bath.brine * part).overflows]
    return [f"{name}: {one} runs over" for one in over]


# --- places that are counted, room in the stores


def _places(plan: DayPlan, needs: dict[str, MethodNeeds], kitchen: DayKitchen) -> list[str]:
    faults = []
    for place in sorted({_stated(each, needs).place for each in plan.steps}):
        if place in CHAMBERS or place in STORES:
            continue
        found = kitchen.planning.at(place)
        if not found:
            faults += [] if place in UNCOUNTED else [f"{place}: the house has none"]
            continue
        spans = [(each.start, each.end, 1.0) for each in plan.steps if _stated(each, needs).place == place]
        faults += _above(spans, float(found[0].count), f"{found[0].name}: more at once than there are")
    return faults


def _stores(plan: DayPlan, wish: DayWish, needs: dict[str, MethodNeeds], kitchen: DayKitchen) -> list[str]:
    faults = []
    boxes = {each.name: box(each) for each in kitchen.containers}
    per_kg = kitchen.planning.room_per_kg.low
    for place in STORES:
        spans: list[_Span] = []
        for each in plan.steps:
            if _stated(each, needs).place == place:
                vessel = needs[each.method].baths.get(each.number)
                room = sum(boxes.get(name, 0.0) for name in each.units) if vessel else each.mass * per_kg
                spans.append((each.start, each.end, room))
        if place == "fridge":
            spans += _finished(plan, wish, needs, per_kg)
        spans = [span for span in spans if span[1] > span[0]]
        found = kitchen.planning.at(place)
        if spans and not found:
            faults.append(f"{place}: the house has none")
        elif spans:
            room = found[0].room.low if found[0].room else 0.0
            faults += _above(spans, room, f"{found[0].name}: more food than it holds")
    return faults


def _finished(plan: DayPlan, wish: DayWish, needs: dict[str, MethodNeeds], per_kg: float) -> list[_Span]:
    """Room of the finished food that waits in the fridge."""
    spans = []
    for wished in wish.wishes:
        method = needs[wished.method]
        keeping = method.keeping
        if method.steps[-1].step.stage == "serve" or keeping is None or keeping.time is None:
            continue
        if keeping.temperature is None or keeping.temperature.high > COLD_KEPT + _TOLERANCE:
            continue
        for each in plan.of(wished.method):
            if each.number == len(method.steps):
                spans.append((each.end, wished.ready, each.mass * per_kg))
    return spans


def _above(spans: list[_Span], capacity: float, words: str) -> list[str]:
    """A fault where the sum of the spans exceeds ``capacity``. The sum rises only where a span starts."""
    for moment in sorted({start for start, _, _ in spans}):
        total = sum(amount for start, end, amount in spans if start <= moment < end)
        if total > capacity * (1 + 1e-9) + 1e-9:
            return [f"{words}, at {_at(moment)}"]
    return []


# --- people


def _people(plan: DayPlan, wish: DayWish) -> list[str]:
    faults = []
    work: dict[str, list[Hand]] = {}
    for each in plan.steps:
        for hand in each.hands:
            work.setdefault(hand.who, []).append(hand)
    for who, hands in work.items():
        hands.sort(key=lambda each: (each.start, each.end))
        for left, right in pairwise(hands):
            if right.start < left.end:
                faults.append(f"{who}: at two things at once, {_at(right.start)}")
        for hand in hands:
            if not _is_in_shift(hand, wish):
                faults.append(f"{who}: at work at {_at(hand.start)}, outside of the hours given")
            if not wish.night_allowed and touches_night(hand.start, hand.end, wish.night):
                faults.append(f"{who}: at work in the night, {_at(hand.start)}")
    return faults


def _is_in_shift(hand: Hand, wish: DayWish) -> bool:
    """Whether the work lies in the person's hours; adjoining shifts count as one."""
    spans = sorted((each.start, each.end) for each in wish.shifts if each.who == hand.who)
    joined: list[list[datetime]] = []
    for start, end in spans:
        if joined and start <= joined[-1][1]:
            joined[-1][1] = max(joined[-1][1], end)
        else:
            joined.append([start, end])
    return any(start <= hand.start and hand.end <= end for start, end in joined)


def _company(plan: DayPlan, wish: DayWish, needs: dict[str, MethodNeeds]) -> list[str]:
    """Faults of hot steps with nobody on shift in some slot, or only at night where that is not allowed."""
    faults = []
    for each in plan.steps:
        step = _stated(each, needs)
        warmest = max([one.high for one in (step.chamber, step.temperature) if one] or [0.0])
        if step.place not in HEATED_PLACES or warmest <= HOT:
            continue
        at = each.start
        while at < each.end:
            there = any(shift.start <= at and at + timedelta(seconds=GRID) <= shift.end for shift in wish.shifts)
            night = not wish.night_allowed and touches_night(at, at + timedelta(seconds=GRID), wish.night)
            if not there or night:
                faults.append(f"{needs[each.method].title}: step {each.number} is hot and left alone at {_at(at)}")
                break
            at += timedelta(seconds=GRID)
    return faults


def _stated(each: PlanStep, needs: dict[str, MethodNeeds]) -> Step:
    return needs[each.method].steps[each.number - 1].step


def _at(moment: datetime) -> str:
    return f"{moment:%Y-%m-%d %H:%M}"
