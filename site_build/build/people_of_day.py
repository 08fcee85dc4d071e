"""A day's plan without the names of people, which the site shows only where the house file allows it."""

from __future__ import annotations

from msgspec.structs import replace

from handbook.folder.kept_days import Day
from handbook.page.house import House
from site_build.base.said_words import say


def without_names(day: Day, house: House) -> Day:
    """The day with numbers in place of people's names, in the order of the house file."""
    if house.people_on_site or house.planning is None:
        return day
    numbers = {each.name: say("cook %(number)s", number=at) for at, each in enumerate(house.planning.people, 1)}
    plan = day.plan and replace(
        day.plan,
        steps=tuple(
            replace(step, hands=tuple(replace(hand, who=numbers.get(hand.who, hand.who)) for hand in step.hands))
            for step in day.plan.steps
        ),
    )
    return replace(day, plan=plan, troubles=tuple(_without(each, numbers) for each in day.troubles))


def _without(words: str, numbers: dict[str, str]) -> str:
    for name, number in numbers.items():
        words = words.replace(name, number)
    return words
