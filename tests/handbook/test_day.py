"""Day plans: random days against the independent checker, impossibility by trying everything, a textbook
job shop with a known optimum, mends that mend."""

from __future__ import annotations

import itertools
from datetime import datetime, timedelta

import pytest
from msgspec.structs import replace

from handbook.base.units import parse_quantity
from handbook.days.day_check import check_day
from handbook.days.day_plan import DayPlan, Hand, PlanStep, Shift, Wish, shift_parts
from handbook.days.day_reasons import reasons, span_words
from handbook.days.day_solver import HELPER, IMPOSSIBLE, SOLVED, gaps, solve
from handbook.days.day_tasks import DayError, problem_of
from tests.handbook.day_cases import BEGIN, day, equipment, kitchen, minutes, needs, random_case, step

#: Days that every run of the tests tries; ``python -m tests.try_days 0 2000`` tries twenty times as many.
SEEDS = 100


def solved(wish, methods, house, **more):
    """What the solver makes of a case."""
    return solve(problem_of(wish, methods, house), **more)


def at(number: int) -> datetime:
    """A moment by its slot of 5 min since the day's beginning."""
    return BEGIN + timedelta(minutes=5 * number)


def long_shift(who="Ane", hours=12.0) -> Shift:
    """One person from the beginning on."""
    return Shift(who=who, start=BEGIN, end=BEGIN + timedelta(hours=hours))


def test_random_days_keep_every_rule():
    """Each plan of the random days passes the checker; both outcomes are met often enough to mean something."""
    count = {SOLVED: 0, IMPOSSIBLE: 0}
    for seed in range(SEEDS):
        wish, methods, house = random_case(seed)
        try:
            answer = solved(wish, methods, house)
        except DayError:
            continue
        count[answer.status] = count.get(answer.status, 0) + 1
        if answer.plan is not None:
            assert check_day(answer.plan, wish, methods, house) == [], seed
    assert min(count[SOLVED], count[IMPOSSIBLE]) > SEEDS / 10


def test_same_wish_gives_the_same_plan():
    """The search is deterministic."""
    for seed in (3, 14, 15):
        case = random_case(seed)
        assert solved(*case) == solved(*case)


def _tiny(seed: int):
    """Two methods of two short steps, one smoker or one table, one person, ready after 4 to 9 slots."""
    import random

    dice = random.Random(seed)
    methods = {}
    for name in ("one", "two"):
        steps = []
        for _ in range(2):
            kind = dice.choice(("hands", "smoke", "wait"))
            low = 5 * dice.randint(1, 2)
            if kind == "hands":
                steps.append(step("bench", low, hands_on=True))
            elif kind == "smoke":
                steps.append(step("smoker", low, chamber=parse_quantity("30 °C", "temperature")))
            else:
                steps.append(step("fridge", low, low + 5))
        methods[name] = needs(name, steps)
    wishes = [Wish(method=name, batch=1.0, ready=at(dice.randint(3, 8)), line=1) for name in methods]
    house = kitchen(
        [
            equipment("shed", "smoker", holds="1 kg"),
            equipment("fridge", "fridge", room=dice.choice(("8 L", "16 L"))),
            equipment("table", "bench", count=1),
        ]
    )
    return day(wishes, [Shift(who="Ane", start=at(dice.randint(0, 1)), end=at(dice.randint(6, 9)))]), methods, house


def _every_plan(wish, methods):
    """Every way to lay the steps on the grid, with the one person wherever hands are asked for."""
    chains = [list(_chains(each, methods[each.method], wish)) for each in wish.wishes]
    for several in itertools.product(*chains):
        yield DayPlan(steps=tuple(each for chain in several for each in chain))


def _chains(wished, method, wish):
    lengths = []
    for timed in method.steps:
        low, high = int(timed.duration.low / 300), int(timed.duration.high / 300)
        lengths.append(range(low, high + 1))
    last = int((wished.ready - BEGIN).total_seconds() / 300)
    for sizes in itertools.product(*lengths):
        for start in range(0, last - sum(sizes) + 1):
            chain, begins = [], start
            for number, (timed, size) in enumerate(zip(method.steps, sizes, strict=True), 1):
                before = method.steps[number - 2].step if number > 1 else None
                if timed.step.hands_on:
                    hands = (Hand(who="Ane", start=at(begins), end=at(begins + size), do="work"),)
                elif before is None or not before.hands_on:
                    hands = (Hand(who="Ane", start=at(begins), end=at(begins + 1), do="set going"),)
                else:
                    hands = ()
                units = ("shed",) if timed.step.place == "smoker" else ()
                chain.append(
                    PlanStep(
                        method=wished.method,
                        load=0,
                        mass=1.0,
                        number=number,
                        start=at(begins),
                        end=at(begins + size),
                        units=units,
                        hands=hands,
                    )
                )
                begins += size
            yield chain


def test_impossible_is_impossible():
    """On 150 tiny days the solver finds a plan exactly where trying every plan finds one that the checker passes."""
    count = {SOLVED: 0, IMPOSSIBLE: 0}
    for seed in range(150):
        wish, methods, house = _tiny(seed)
        answer = solved(wish, methods, house)
        one = any(not check_day(plan, wish, methods, house) for plan in _every_plan(wish, methods))
        assert (answer.status == SOLVED) == one, seed
        count[answer.status] += 1
    assert min(count.values()) > 20


#: Fisher and Thompson's job shop of six jobs on six machines (1963), as (machine, time) in order; shortest makespan 55.
#: From memory: the table as it is printed in the operations-research literature and its collections of test problems.
FT06 = (
    ((2, 1), (0, 3), (1, 6), (3, 7), (5, 3), (4, 6)),
    ((1, 8), (2, 5), (4, 10), (5, 10), (0, 10), (3, 4)),
    ((2, 5), (3, 4), (5, 8), (0, 9), (1, 1), (4, 7)),
    ((1, 5), (0, 5), (2, 5), (3, 3), (4, 8), (5, 9)),
    ((2, 9), (1, 3), (4, 5), (5, 4), (0, 3), (3, 1)),
    ((1, 3), (3, 3), (5, 9), (0, 10), (4, 4), (2, 1)),
)
FT06_SHORTEST = 55


def _job_shop(slots: int):
    """The job shop as a kitchen: each machine a smoker of its own temperature, each unit of time a slot of 5 min.

    Waiting between machines is a step in the room that may take no time; people enough to set everything going.
    """
    methods = {}
    for number, job in enumerate(FT06):
        steps = []
        for machine, time in job:
            if steps:
                steps.append(step("room", 5, 400))
            chamber = parse_quantity(f"{10 + machine} °C", "temperature")
            steps.append(step("smoker", 5 * time, chamber=chamber))
        method = needs(f"job-{number}", steps)
        # A page cannot state a wait of nothing; the record can.
        waits = tuple(
            replace(each, duration=replace(each.duration, low=0.0)) if each.step.place == "room" else each
            for each in method.steps
        )
        methods[method.name] = replace(method, steps=waits)
    wishes = [Wish(method=name, batch=1.0, ready=at(slots), line=1) for name in methods]
    lines = [
        equipment(f"machine {each}", "smoker", holds="1 kg", reaches=f"{9.5 + each:g}-{10.5 + each:g} °C")
        for each in range(6)
    ]
    return wishes, methods, kitchen(lines)


@pytest.mark.parametrize(("slots", "status"), [(FT06_SHORTEST, SOLVED), (FT06_SHORTEST - 1, IMPOSSIBLE)])
def test_job_shop_of_fisher_and_thompson(slots, status):
    """The six by six job shop fits into 55 units and not into 54, through the constraints of the kitchen."""
    wishes, methods, house = _job_shop(slots)
    shifts = [long_shift(f"helper {number}") for number in range(12)]
    problem = problem_of(day(wishes, shifts), methods, house)
    for number, task in enumerate(problem.tasks):
        wait = {"low": 0, "typical": 0} if task.place == "room" else {}
        problem.tasks[number] = replace(task, needs=(), **wait)
    problem.endings = [replace(each, earliest=each.ready - slots) for each in problem.endings]
    assert solve(problem, work_limit=60.0).status == status


# --- the checker refuses what is wrong


@pytest.fixture
def planned():
    """A plan with everything in it: loads, smoker, fridge, hands, and the case it is for."""
    steps = [
        step("bench", 20, hands_on=True, stage="prepare"),
        step("fridge", 60, 240),
        step("smoker", 40, chamber=parse_quantity("80 °C", "temperature")),
        step("bench", 10, hands_on=True, stage="rinse"),
    ]
    methods = {"char": needs("char", steps)}
    house = kitchen(
        [
            equipment("shed", "smoker", holds="1 kg", reaches="60-100 °C"),
            equipment("fridge", "fridge", room="40 L"),
            equipment("table", "bench", count=2),
        ]
    )
    wish = day([Wish(method="char", batch=2.0, ready=at(60), line=1)], [long_shift(), long_shift("Bo")])
    wish = replace(wish, wishes=(replace(wish.wishes[0], ready=at(48)),))
    methods["char"] = replace(methods["char"], keeping=_kept_cold())
    answer = solved(wish, methods, house)
    assert answer.status == SOLVED and answer.plan.loads("char") == 2
    assert check_day(answer.plan, wish, methods, house) == []
    return answer.plan, wish, methods, house


def _kept_cold():
    from handbook.page.finished_food import Keeping

    return Keeping(
        pack="air",
        temperature=parse_quantity("3 °C", "temperature"),
        time=parse_quantity("2 days", "time"),
        frozen=None,
        line=1,
    )


def _moved(plan, pick, **changes):
    return DayPlan(steps=tuple(replace(each, **changes) if pick(each) else each for each in plan.steps))


def _is(number, load=0):
    return lambda each: (each.number, each.load) == (number, load)


def test_checker_refuses_broken_plans(planned):
    """Each rule broken by hand is named."""
    plan, wish, methods, house = planned
    smoke = next(each for each in plan.steps if each.number == 3 and each.load == 1)
    other = next(each for each in plan.steps if each.number == 3 and each.load == 2)
    first = next(each for each in plan.steps if each.number == 1)
    cases = [
        (DayPlan(steps=plan.steps[1:]), "does not go through every step"),
        (_moved(plan, _is(3, 1), end=smoke.end + timedelta(minutes=5)), "does not begin when step"),
        (_moved(plan, _is(3, 2), start=smoke.start, end=smoke.end), "two loads"),
        (_moved(plan, _is(3, 1), mass=1.5), "whole batch"),
        (_moved(plan, _is(3, 1), units=("fridge",)), "in no smoker"),
        (_moved(plan, _is(3, 1), hands=()), "started by nobody"),
        (_moved(plan, _is(1), hands=()), "lacks hands for part of its time"),
        (_moved(plan, _is(1), hands=(replace(first.hands[0], who="Cy"),)), "outside of the hours"),
        (_moved(plan, _is(1), start=first.start - timedelta(minutes=5)), "takes up to"),
        (_moved(plan, _is(2, 2), end=other.start + timedelta(hours=3)), "waits"),
        (_moved(plan, _is(1), start=first.start + timedelta(minutes=2)), "off the grid"),
    ]
    for broken, words in cases:
        faults = check_day(broken, wish, methods, house)
        assert any(words in each for each in faults), (words, faults)


def test_checker_refuses_a_kitchen_that_is_too_small(planned):
    """The same plan in a smaller kitchen, with fewer hours, or wanted sooner, breaks the rule that says so."""
    plan, wish, methods, house = planned
    lines = house.planning.equipment

    def smaller(index, line):
        return replace(house, planning=replace(house.planning, equipment=(*lines[:index], line, *lines[index + 1 :])))

    def faults(wish=wish, house=house):
        return " ".join(check_day(plan, wish, methods, house))

    assert "on racks for" in faults(house=smaller(0, equipment("shed", "smoker", holds="0.9 kg")))
    assert "does not keep" in faults(house=smaller(0, equipment("shed", "smoker", holds="1 kg", reaches="0-40 °C")))
    assert "more food than it holds" in faults(house=smaller(1, equipment("fridge", "fridge", room="12 L")))
    assert "later than wished" in faults(wish=replace(wish, wishes=(replace(wish.wishes[0], ready=at(20)),)))
    assert "before the day's beginning" in faults(wish=replace(wish, begin=at(30)))
    assert "left alone" in faults(wish=replace(wish, shifts=(Shift(who="Ane", start=at(0), end=at(10)),)))
    night = replace(wish, night=(at(10).time(), at(40).time()))
    assert "in the night" in faults(wish=night)


def test_two_at_once_are_refused():
    """One person with two steps by hand at a time."""
    methods = {name: needs(name, [step("bench", 20, hands_on=True)]) for name in ("one", "two")}
    house = kitchen([equipment("table", "bench", count=2)])
    wish = day(
        [Wish(method=name, batch=1.0, ready=at(4), line=1) for name in methods], [long_shift(), long_shift("Bo")]
    )
    plan = solved(wish, methods, house).plan
    twice = DayPlan(steps=tuple(replace(each, hands=(replace(each.hands[0], who="Ane"),)) for each in plan.steps))
    assert any("two things at once" in each for each in check_day(twice, wish, methods, house))


# --- why not


def _smokehouse(ready: int, people=2, holds="1 kg"):
    """Two kilograms through a smoker for one, two hours each."""
    steps = [
        step("bench", 20, hands_on=True, stage="salt"),
        step("fridge", 60, 600),
        step("smoker", 120, chamber=parse_quantity("30 °C", "temperature")),
    ]
    methods = {"char": replace(needs("char", steps), keeping=_kept_cold())}
    house = kitchen(
        [
            equipment("shed", "smoker", holds=holds),
            equipment("fridge", "fridge", room="40 L"),
            equipment("table", "bench", count=2),
        ]
    )
    shifts = [long_shift(who) for who in ("Ane", "Bo")[:people]]
    return day([Wish(method="char", batch=2.0, ready=at(ready), line=1)], shifts), methods, house


def test_reason_says_how_short_the_smoker_is():
    """80 min of work and rest and twice 120 min of smoke want 320 min; 280 are 40 min short (a sum by hand)."""
    wish, methods, house = _smokehouse(56)
    assert solved(wish, methods, house).status == IMPOSSIBLE
    found = reasons(wish, methods, house, progress=lambda _: None)
    words = " ".join(each.short for each in found)
    assert "The smoker is 2 h short on Friday." in words  # one whole load must go elsewhere: loads are not cut
    assert "Char cannot be ready by Fri 12:40: it is 40 min short." in words
    assert "The beginning is 40 min too late." not in words  # nobody is there before it
    mends = [mend for each in found for mend in each.mends]
    assert "Char wanted at Fri 13:20" in mends and any("1.00 kg of Char in place of 2.00 kg" in each for each in mends)


def test_the_least_delay_is_the_least():
    """What is told as enough is enough, and 5 min less is not."""
    wish, methods, house = _smokehouse(56)
    for slots, status in ((64, SOLVED), (63, IMPOSSIBLE)):
        later = replace(wish, wishes=(replace(wish.wishes[0], ready=at(slots)),))
        assert solved(later, methods, house).status == status


def test_reason_says_how_short_hands_are():
    """Two steps of 30 min by hand at the same time, one person: 30 min short, one helper mends it."""
    methods = {name: needs(name, [step("bench", 30, hands_on=True)]) for name in ("one", "two")}
    house = kitchen([equipment("table", "bench", count=2)])
    wish = day([Wish(method=name, batch=1.0, ready=at(6), line=1) for name in methods], [long_shift()])
    found = reasons(wish, methods, house, progress=lambda _: None)
    assert found[0].short == "Hands are 30 min short on Friday."
    assert found[0].mends == ("one helper Fri 08:00 to 08:30",)
    helped = replace(wish, shifts=(*wish.shifts, long_shift(HELPER)))
    assert solved(helped, methods, house).status == SOLVED


def test_reason_says_how_small_the_fridge_is():
    """Two kilograms at 8 L each in a fridge of 10 L: 6 L too small."""
    methods = {"char": needs("char", [step("fridge", 60)])}
    house = kitchen([equipment("fridge", "fridge", room="10 L")])
    found = reasons(
        day([Wish(method="char", batch=2.0, ready=at(20), line=1)], [long_shift()]),
        methods,
        house,
        progress=lambda _: None,
    )
    assert [each.short for each in found if each.short] == ["The fridge is 6 L too small."]


def test_night_is_kept_free_and_said():
    """A step that begins in the night is planned only where that is allowed, and the reason says so."""
    methods = {"char": needs("char", [step("fridge", 60), step("bench", 30, hands_on=True)])}
    house = kitchen([equipment("fridge", "fridge", room="40 L"), equipment("table", "bench")])
    wish = day(
        [Wish(method="char", batch=1.0, ready=datetime(2026, 11, 28, 2, 0), line=1)],
        [Shift(who="Ane", start=BEGIN, end=BEGIN + timedelta(hours=20))],
    )
    assert solved(wish, methods, house).status == IMPOSSIBLE
    assert solved(replace(wish, night_allowed=True), methods, house).status == SOLVED
    mends = [mend for each in reasons(wish, methods, house, progress=lambda _: None) for mend in each.mends]
    assert any("night: yes" in mend for mend in mends)


def test_loads_are_cut_where_the_racks_are_too_small():
    """2 kg on racks for 1 kg become two equal loads from the last stretchable wait on; on racks for 2 kg none."""
    plan = solved(*_smokehouse(70)).plan
    assert {(each.number, each.load, each.mass) for each in plan.steps} == {
        (1, 0, 2.0), (2, 1, 1.0), (2, 2, 1.0), (3, 1, 1.0), (3, 2, 1.0),
    }  # fmt: skip
    assert solved(*_smokehouse(70, holds="2 kg")).plan.loads("char") == 1


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ([equipment("fridge", "fridge", room="40 L"), equipment("table", "bench")], "the house has no smoker"),
        (
            [
                equipment("shed", "smoker", holds="1 kg", reaches="60-90 °C"),
                equipment("fridge", "fridge", room="40 L"),
                equipment("table", "bench"),
            ],
            "the house has no smoker that keeps 30 °C",
        ),
        ([equipment("shed", "smoker", holds="1 kg"), equipment("table", "bench")], "the house has no fridge"),
    ],
)
def test_a_place_that_is_missing_is_named(lines, words):
    """What the house does not have is said, whatever the hours."""
    wish, methods, _ = _smokehouse(70)
    with pytest.raises(DayError, match=words):
        problem_of(wish, methods, kitchen(lines))


def test_shift_parts_leave_out_the_night():
    """A shift over a night is two parts, unless the night is allowed."""
    wish = day([], [Shift(who="Ane", start=datetime(2026, 11, 27, 20), end=datetime(2026, 11, 28, 8))])
    assert shift_parts(wish)["Ane"] == [
        (datetime(2026, 11, 27, 20), datetime(2026, 11, 27, 22)),
        (datetime(2026, 11, 28, 6), datetime(2026, 11, 28, 8)),
    ]
    assert len(shift_parts(replace(wish, night_allowed=True))["Ane"]) == 1


def test_repeated_actions_take_hands():
    """A wait of 100 min turned every 40 min takes hands at 40 and 80 min (a sum by hand)."""
    from handbook.page.steps import Repeat

    turned = step("fridge", 100, repeat=Repeat(every=minutes(40), do="turn", takes=minutes(5), line=1))
    methods = {"char": needs("char", [turned])}
    house = kitchen([equipment("fridge", "fridge", room="40 L")])
    plan = solved(day([Wish(method="char", batch=1.0, ready=at(20), line=1)], [long_shift()]), methods, house).plan
    assert [(each.start, each.do) for each in plan.steps[0].hands] == [
        (at(0), "set going"),
        (at(8), "turn"),
        (at(16), "turn"),
    ]


@pytest.mark.parametrize(("slots", "words"), [(1, "5 min"), (12, "1 h"), (31, "2 h 35 min"), (0, "0 min")])
def test_span_words(slots, words):
    """Lengths as a cook says them."""
    assert span_words(slots) == words


def test_gaps_beyond_the_ends():
    """What lies outside of the window is no gap."""
    assert gaps([(-5, 2), (20, 30)], 0, 10) == [(2, 10)]
    assert gaps([], 0, 3) == [(0, 3)]
