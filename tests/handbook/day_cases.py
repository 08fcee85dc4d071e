"""Small random days for the tests of the planner: invented methods, kitchens and hours from a seed."""

from __future__ import annotations

import random
from datetime import datetime, timedelta

from handbook.base.units import Quantity, parse_quantity
from handbook.days.day_plan import BathLoad, DayKitchen, DayWish, MethodNeeds, Shift, Wish
from handbook.page.equipment import Equipment, Person, Planning
from handbook.page.finished_food import Keeping
from handbook.page.house import Container
from handbook.page.schedule import schedule
from handbook.page.steps import Repeat, Step

BEGIN = datetime(2026, 11, 27, 8, 0)
NIGHT = (datetime(2026, 1, 1, 22).time(), datetime(2026, 1, 1, 6).time())


def minutes(low: float, high: float | None = None) -> Quantity:
    """A time as a page states it."""
    return parse_quantity(f"{low:g} min" if high is None else f"{low:g}-{high:g} min", "time")


def step(place="bench", low=30.0, high=None, hands_on=False, **more) -> Step:
    """A step with only what matters to a plan."""
    values = {
        "do": "work", "stage": "rest", "time": minutes(low, high), "until": None, "hands_on": hands_on, "place": place,
        "temperature": None, "chamber": None, "humidity": None, "air": None, "core": None, "hold": None, "use": None,
        "water": None, "changes": 1, "loss": None, "gain": None, "final_ph": None, "repeat": None, "line": 1,
    }  # fmt: skip
    return Step(**{**values, **more})


def needs(name: str, steps: list[Step], written_for=1.0, baths=None, keeping=None) -> MethodNeeds:
    """What a plan knows of a method of these steps."""
    return MethodNeeds(
        name=name,
        title=name.title(),
        written_for=written_for,
        steps=schedule(tuple(steps), computed={}).steps,
        baths=baths or {},
        keeping=keeping,
    )


def equipment(name: str, place: str, count=1, holds="", room="", reaches="") -> Equipment:
    """One line of a house's equipment."""
    return Equipment(
        name=name,
        place=place,
        count=count,
        holds=parse_quantity(holds, "mass") if holds else None,
        room=parse_quantity(room, "volume") if room else None,
        reaches=parse_quantity(reaches, "temperature") if reaches else None,
        line=1,
    )


def kitchen(lines: list[Equipment], containers=(), room_per_kg="8 L") -> DayKitchen:
    """A kitchen of these lines."""
    planning = Planning(
        equipment=tuple(lines),
        room_per_kg=parse_quantity(room_per_kg, "volume"),
        people=(Person(name="Ane", hours=(), line=1),),
        packs=(),
        line=1,
    )
    return DayKitchen(planning=planning, containers=tuple(containers))


def day(wishes: list[Wish], shifts: list[Shift], begin=BEGIN, night_allowed=False) -> DayWish:
    """A wish for one day."""
    return DayWish(
        name="day",
        title="Day",
        begin=begin,
        night_allowed=night_allowed,
        night=NIGHT,
        wishes=tuple(wishes),
        shifts=tuple(shifts),
    )


def random_case(seed: int) -> tuple[DayWish, dict[str, MethodNeeds], DayKitchen]:
    """A day of one to three methods in a kitchen that is sometimes large enough."""
    dice = random.Random(seed)
    count = dice.randint(1, 3)
    methods = {f"method-{number}": _method(dice, f"method-{number}") for number in range(count)}
    wishes = []
    for name, each in methods.items():
        length = sum(timed.duration.typical for timed in each.steps) * dice.uniform(1.0, 2.2)
        ready = BEGIN + timedelta(minutes=5 * round(length / 300) + 5 * dice.randint(0, 24))
        wishes.append(Wish(method=name, batch=dice.choice((0.5, 1.0, 1.7, 3.0)), ready=ready, line=1))
    shifts = []
    for who in ("Ane", "Bo", "Cy")[: dice.randint(1, 3)]:
        for number in range(3):
            start = BEGIN + timedelta(days=number, minutes=5 * dice.randint(-12, 24))
            shifts.append(Shift(who=who, start=start, end=start + timedelta(minutes=5 * dice.randint(60, 160))))
    return day(wishes, shifts, night_allowed=dice.random() < 0.3), methods, _kitchen(dice)


def _method(dice: random.Random, name: str) -> MethodNeeds:
    steps, baths = [], {}
    for number in range(1, dice.randint(2, 6) + 1):
        kind = dice.choice(("hands", "hands", "brine", "fridge", "smoke", "oven", "cool", "room"))
        low = dice.choice((5, 10, 12, 20, 30, 45))
        if kind == "hands":
            stage = dice.choice(("prepare", "rinse", "glaze", "salt"))
            steps.append(step("bench", low, low + dice.choice((2, 10)), True, stage=stage))
        elif kind == "brine":
            steps.append(step("fridge", low * 3, low * 3 + 60, stage="salt"))
            baths[number] = BathLoad(brine=1.2e-3, food=0.95e-3, container=dice.choice((None, "tub")))
        elif kind == "fridge":
            turn = Repeat(
                every=minutes(dice.choice((40, 60))), do="turn", takes=dice.choice((None, minutes(3))), line=1
            )
            steps.append(step("fridge", low * 2, low * 2 + 90, repeat=turn if dice.random() < 0.5 else None))
        elif kind in ("smoke", "oven"):
            chamber = parse_quantity(dice.choice(("30 °C", "80 °C", "110 °C")), "temperature")
            place = "smoker" if kind == "smoke" else "oven"
            steps.append(step(place, low, low + dice.choice((0, 0, 20)) or None, chamber=chamber))
        else:
            steps.append(step("bench" if kind == "cool" else "room", low, low + 30))
    if dice.random() < 0.3:
        steps.append(step("bench", 5, hands_on=True, stage="serve"))
    cold = Keeping(
        pack="air",
        temperature=parse_quantity("3 °C", "temperature"),
        time=parse_quantity("2 days", "time"),
        frozen=None,
        line=1,
    )
    return needs(name, steps, 1.0, baths, cold if dice.random() < 0.7 else None)


def _kitchen(dice: random.Random) -> DayKitchen:
    lines = [
        equipment("shed", "smoker", holds=dice.choice(("1 kg", "2 kg", "4 kg")), reaches="20-120 °C"),
        equipment("oven", "oven", holds="2 kg"),
        equipment("fridge", "fridge", room=dice.choice(("20 L", "60 L", "150 L"))),
        equipment("table", "bench", count=dice.randint(1, 3)),
    ]
    if dice.random() < 0.4:
        lines.append(equipment("drum", "smoker", holds="1.5 kg", reaches="60-110 °C"))
    vessels = [vessel("tub", 30, 22, 14), vessel("pot", 24, 24, 20), vessel("bin", 45, 32, 30)]
    return kitchen(lines, vessels[: dice.randint(1, 3)])


def vessel(name: str, length: float, width: float, height: float) -> Container:
    """A box of these inner sizes in cm."""
    sizes = {"length": length, "width": width, "height": height}
    inner = {key: parse_quantity(f"{each:g} cm", "length") if each else None for key, each in sizes.items()}
    return Container(name=name, diameter=None, line=1, **inner)
