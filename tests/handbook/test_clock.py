"""Clock times of steps: hand-worked cases, the night, moments as typed."""

from datetime import UTC, date, datetime, time, timedelta

import pytest
from dateutil.rrule import SA, WEEKLY, rrule
from hypothesis import given
from hypothesis import strategies as st

from handbook.base.errors import UnitError
from handbook.base.units import parse_quantity
from handbook.page.clock import (
    clock_plan,
    following,
    is_night,
    nearest_shift,
    night_advice,
    parse_moment,
    parse_night,
    touches_night,
)
from handbook.page.schedule import schedule
from handbook.page.steps import Repeat, Step

NIGHT = (time(22, 0), time(6, 0))


def _step(words: str, duration: str, hands_on: bool = False, every: str | None = None) -> Step:
    repeat = Repeat(every=parse_quantity(every, "time"), do="baste", takes=None, line=1) if every else None
    values = dict.fromkeys(
        (
            "until",
            "temperature",
            "chamber",
            "humidity",
            "air",
            "core",
            "hold",
            "use",
            "water",
            "loss",
            "gain",
            "final_ph",
        )
    )
    return Step(
        do=words,
        stage="rest",
        time=parse_quantity(duration, "time"),
        hands_on=hands_on,
        place="bench",
        changes=0,
        repeat=repeat,
        line=1,
        **values,
    )


def _plan(**anchor):
    """Half an hour of work, a day and a half of rest with a turn every 12 h, an hour of work."""
    steps = (_step("cut", "30 min", True), _step("rest", "30-42 h", every="12 h"), _step("pack", "60 min", True))
    return clock_plan(schedule(steps, computed={}), **anchor)


def test_clock_plan_served():
    """Back from Saturday 18:00: 1 h, 36 h (the middle of 30 to 42) and 30 min before it (hand-worked)."""
    made = _plan(finish=datetime(2026, 11, 28, 18, 0))
    assert [(each.start, each.end) for each in made.steps] == [
        (datetime(2026, 11, 27, 4, 30), datetime(2026, 11, 27, 5, 0)),
        (datetime(2026, 11, 27, 5, 0), datetime(2026, 11, 28, 17, 0)),
        (datetime(2026, 11, 28, 17, 0), datetime(2026, 11, 28, 18, 0)),
    ]
    assert made.start_early == datetime(2026, 11, 26, 22, 30)
    assert [each.night for each in made.steps] == ["hands-on", "begins", ""]
    assert [each.scheduled.number for each in made.night_steps] == [1, 2]


def test_clock_plan_started_across_a_leap_day():
    """From 28 February of a leap year the 29th is counted; the earliest and latest end bracket the typical one."""
    made = _plan(start=datetime(2028, 2, 28, 8, 0))
    assert made.finish == datetime(2028, 2, 29, 21, 30)
    assert (made.finish_low, made.finish_high) == (datetime(2028, 2, 29, 15, 30), datetime(2028, 3, 1, 3, 30))


def test_clock_plan_reminders():
    """A turn every 12 h of a 36 h rest falls twice inside it, and one in the night is marked."""
    rest = _plan(start=datetime(2026, 11, 27, 12, 0)).steps[1]
    assert [(each.at, each.do, each.in_night) for each in rest.reminders] == [
        (datetime(2026, 11, 28, 0, 30), "baste", True),
        (datetime(2026, 11, 28, 12, 30), "baste", False),
    ]


@given(st.datetimes(datetime(1900, 1, 1), datetime(2200, 1, 1)))
def test_clock_plan_round_trip(moment):
    """Planning forward from a planned start gives the finish it was planned back from, and steps touch."""
    made = _plan(finish=moment)
    assert made.finish == moment.replace(second=0, microsecond=0)
    assert _plan(start=made.start).finish == made.finish
    assert all(one.end == other.start for one, other in zip(made.steps, made.steps[1:], strict=False))


@pytest.mark.parametrize(
    "anchor",
    [
        {},
        {"start": datetime(2026, 1, 1), "finish": datetime(2026, 1, 2)},
        {"start": datetime(2026, 1, 1, tzinfo=UTC)},
    ],
)
def test_clock_plan_wrong_anchor(anchor):
    """Both, none, or a moment with a time zone is refused."""
    with pytest.raises(ValueError, match=r"start|time zone"):
        _plan(**anchor)


@pytest.mark.parametrize(
    ("at", "night", "expected"),
    [
        (time(21, 59), NIGHT, False),
        (time(22, 0), NIGHT, True),
        (time(0, 0), NIGHT, True),
        (time(5, 59), NIGHT, True),
        (time(6, 0), NIGHT, False),
        (time(2, 0), (time(1, 0), time(5, 0)), True),
        (time(0, 59), (time(1, 0), time(5, 0)), False),
        (time(12, 0), (time(0, 0), time(0, 0)), False),
    ],
)
def test_is_night(at, night, expected):
    """The night begins with its first minute and ends before its last, across midnight or not."""
    assert is_night(datetime.combine(date(2026, 1, 1), at), night) == expected


@given(
    st.datetimes(datetime(2026, 1, 1), datetime(2026, 1, 3)),
    st.integers(1, 2000),
    st.sampled_from(
        [
            NIGHT,
            (time(1, 0), time(5, 0)),
            (time(0, 0), time(0, 0)),
            (time(0, 0), time(6, 30)),
        ]
    ),
)
def test_touches_night_is_every_minute(start, minutes, night):
    """A span touches the night exactly when one of its minutes lies in it."""
    start = start.replace(second=0, microsecond=0)
    any_minute = any(is_night(start + timedelta(minutes=one), night) for one in range(minutes))
    assert touches_night(start, start + timedelta(minutes=minutes), night) == any_minute


@given(st.dates(date(1990, 1, 1), date(2090, 1, 1)), st.integers(0, 30 * 24))
def test_following_against_dateutil(day, hours):
    """The next Saturday 18:00 is the one that dateutil's recurrence rule gives."""
    earliest = datetime.combine(day, time()) + timedelta(hours=hours)
    rule = rrule(WEEKLY, byweekday=SA, byhour=18, byminute=0, bysecond=0, dtstart=earliest, count=1)
    assert following(day, 5, 18, 0, timedelta(hours=hours)) == rule[0]


@pytest.mark.parametrize(
    ("text", "moment"),
    [
        ("2026-11-21 18:00", datetime(2026, 11, 21, 18, 0)),
        ("2028-02-29T07:05", datetime(2028, 2, 29, 7, 5)),
        ("  2026-11-21   8:00 ", datetime(2026, 11, 21, 8, 0)),
    ],
)
def test_parse_moment(text, moment):
    """A day and a time, with a space or a T between."""
    assert parse_moment(text) == moment


@pytest.mark.parametrize(
    "text", ["", "Saturday", "2026-11-21", "2026-11-21 24:00", "2026-02-30 10:00", "21.11.2026 18:00"]
)
def test_parse_moment_fault(text):
    """Anything else is refused with what is allowed."""
    with pytest.raises(UnitError) as caught:
        parse_moment(text)
    assert (
        str(caught.value)
        == f'read "{text}"; allowed: a day and a time, such as 2026-11-21 18:00, in the years 1970 to 2099'
    )


def test_parse_night():
    """Two times of day; an hour past 23 is refused."""
    assert parse_night("21:30 - 5:00") == (time(21, 30), time(5, 0))
    with pytest.raises(UnitError, match="two times of day"):
        parse_night("22:00-24:30")


def _simple(*steps, **anchor):
    return clock_plan(schedule(steps, computed={}), **anchor)


CUT, REST, PACK = _step("cut", "30 min", True), _step("rest", "11 h"), _step("pack", "60 min", True)
LONG = _step("stir", "17 h", True)  # longer than the 16 h between two nights
SERVED = datetime(2026, 11, 28, 18, 0)


@pytest.mark.parametrize(
    ("steps", "anchor", "wanted"),
    [
        # 12 h 30 min of work back from 18:00 begins at 05:30: half an hour later it begins at 06:00 (hand-worked).
        (
            (CUT, REST, PACK),
            {"finish": SERVED},
            "Somebody is up in the night for step 1. The nearest time that spares the night: served Sat 28 Nov 18:30.",
        ),
        # Begun at 21:00 the last hour runs from 08:30; the rest begins at 21:30 and nobody is up (hand-worked).
        ((CUT, REST, PACK), {"start": datetime(2026, 11, 28, 21, 0)}, "Nobody has to be up in the night."),
        # Begun at 21:50 the cutting would run into the night: 21:35 is the first quarter earlier that is over by 22:00
        # but the rest would begin at 22:05; it begins before 22:00 from 21:20 on (hand-worked).
        (
            (CUT, REST, PACK),
            {"start": datetime(2026, 11, 28, 21, 50)},
            "Somebody is up in the night for step 1, 2. The nearest time that spares the night: start Sat 28 Nov 21:20.",
        ),
        (
            (CUT, LONG),
            {"finish": SERVED},
            "Somebody is up in the night for step 1, 2. "
            "No time within two days either way keeps the hands-on steps out of the night.",
        ),
    ],
)
def test_night_advice(steps, anchor, wanted):
    """The nearest time that spares the night is named, the later of two, or it is said that there is none."""
    made = _simple(*steps, **anchor)
    assert night_advice(made, "finish" in anchor) == wanted


def test_night_advice_when_only_hands_can_be_spared():
    """Waiting steps that have to be set going at night are told apart from hands-on steps in it."""
    every = tuple(_step("rest", "6 h") for _ in range(4))  # set going four times a day: one of them in any night of 8 h
    assert night_advice(_simple(*every, finish=SERVED), True).endswith(
        "No time within two days either way spares the night; no hands-on step falls in it."
    )
    # The hour of packing ends at 04:00: it has to end at 22:00 or to begin at 06:00; 07:00 is 3 h away (hand-worked).
    made = _simple(*every, PACK, finish=datetime(2026, 11, 28, 4, 0))
    assert night_advice(made, True).endswith("the nearest with no hands-on step in it: served Sat 28 Nov 07:00.")


def test_night_advice_not_in_the_past():
    """A suggested start lies in the past only where the planned one does."""
    made = _simple(CUT, start=datetime(2026, 11, 28, 22, 30))
    words = {earliest: night_advice(made, False, earliest=earliest) for earliest in (None, made.start, SERVED)}
    assert words[None].endswith("start Sat 28 Nov 21:30.") and words[SERVED] == words[None]
    assert words[made.start].endswith("start Sun 29 Nov 06:00.")
    past = datetime(2026, 12, 28, 18, 0)
    assert night_advice(made, False, earliest=past) == words[None]


@given(
    st.lists(st.tuples(st.integers(5, 900), st.booleans()), min_size=1, max_size=5),
    st.integers(0, 1439),
    st.booleans(),
)
def test_nearest_shift_is_the_nearest(parts, minute, hands_on_only):
    """No nearer quarter spares the night, and where none is found no minute of the day does (checked by planning anew)."""
    steps = schedule(tuple(_step("do", f"{minutes} min", is_hands_on) for minutes, is_hands_on in parts), computed={})
    start = datetime(2026, 11, 28) + timedelta(minutes=minute)

    def spares(shift):
        made = clock_plan(steps, start=start + timedelta(minutes=shift))
        return all(each.night != "hands-on" if hands_on_only else not each.night for each in made.steps)

    found = nearest_shift(clock_plan(steps, start=start), NIGHT, hands_on_only, None)
    if found is None:
        assert not any(spares(shift) for shift in range(1440))
    elif found % 15 == 0:
        assert spares(found)
        assert not any(spares(way * far) for far in range(0, abs(found), 15) for way in (1, -1))
    else:
        assert spares(found) and not any(spares(way * far) for far in range(abs(found)) for way in (1, -1))
