"""Which document decides, what is shown beside, trust and signed exceptions."""

import datetime

import pytest
from msgspec.structs import replace

from handbook.page.house import SignedException
from handbook.safety.findings import findings
from tests.handbook.safety_cases import (
    CHICKEN,
    CHILL,
    CHILL_THROUGH,
    COLD_SMOKE,
    CURE,
    EXACT,
    HOT_SMOKE,
    HOUSE,
    PREPARE,
    ROAST,
    case_of,
    cold_smoked,
    cooked,
    for_audience,
    hot_smoked,
    kraut,
    levels,
    pumped,
    worst,
)


# ------------------------------------------------------------------ which document decides
def test_documents_that_differ_stand_side_by_side_and_the_strictest_fitting_one_stops():
    """Hot-smoked fish at home, 67 °C: every printed figure is shown as printed, none merged."""
    case = hot_smoked(HOT_SMOKE.replace("72 °C", "67 °C"), CHILL, CHILL_THROUGH)
    shown = levels(case, "core-temperature")
    assert shown == {
        "home-smoke-fish-wsu": "stop",  # 160 °F, read
        "home-smoke-fish-pnw-recent": "met",  # 150 °F, from memory
        "home-smoke-fish-pnw-2003": "note",  # an older edition never stops
        "home-smoke-fish-early": "note",  # 180 °F, older still
        "commercial-smoke-fish-states": "met",
        "commercial-smoke-fish-fda": "met",
        "commercial-smoke-fish-maine": "met",
    }
    printed = {each.printed for each in findings(case) if each.rule == "core-temperature"}
    assert len(printed) == len(shown)


@pytest.mark.parametrize(("audience", "level"), [("home", "stop"), ("retail", "stop"), ("commercial", "met")])
def test_the_house_decides_whose_guidance_stops(audience, level):
    """Chicken at 72 °C held half a minute: under 165 °F for home and retail, over 160 °F for a plant."""
    case = cooked("72 °C", hold="30 s", house=for_audience(audience))
    deciding = [
        each
        for each in findings(case)
        if each.rule == "core-temperature" and each.decides and audience in each.audience
    ]
    assert [level] == [each.level for each in deciding]


def test_where_a_rule_has_nothing_for_the_audience_the_nearest_decides():
    """Cooling at home: no home figure, so the retail one stops and the plant's is shown."""
    case = case_of(CHICKEN, "cook", PREPARE, ROAST, CHILL.replace("90 min", "4 h"), CHILL_THROUGH)
    shown = levels(case, "cooling-stages")
    assert shown.pop("cooling-retail") == "stop"
    assert set(shown.values()) == {"note"} and "cooling-commercial" in shown


def test_a_limit_from_memory_stops_but_never_clears():
    """Below it: stop, said to be unconfirmed. Above it: only the unconfirmed figure is met."""
    plant, limit = for_audience("commercial"), "cooling-commercial-2021"
    low = case_of(CHICKEN, "cook", PREPARE, ROAST, CHILL.replace("90 min", "9 h"), CHILL_THROUGH, house=plant)
    high = case_of(CHICKEN, "cook", PREPARE, ROAST, CHILL.replace("90 min", "1 h"), CHILL_THROUGH, house=plant)
    (stop,) = (each for each in findings(low) if each.limit == limit)
    (met,) = (each for each in findings(high) if each.limit == limit)
    assert (stop.level, stop.trust) == ("stop", "from memory") and "unconfirmed" in stop.message
    assert (met.level, met.verdict) == (
        "met",
        "meets the unconfirmed figure",
    ) and "proves nothing" in met.message


@pytest.mark.parametrize("case", [hot_smoked(), cold_smoked(), cooked(), pumped(EXACT(150)), kraut()])
def test_no_finding_from_memory_says_meets(case):
    """Whatever is met from memory is worded as unconfirmed."""
    for each in findings(case):
        if each.verdict == "meets":
            assert each.trust != "from memory"


def test_a_signed_exception_turns_the_stop_into_an_act_and_shows_who_signed():
    """Only for the method and rule it names."""
    signed = SignedException(
        method="test",
        rule="parasite-freezing",
        by="A. Cook",
        role="process authority",
        process="Trout 2",
        on=datetime.date(2026, 2, 3),
        until=datetime.date(2099, 1, 1),
        reason="laboratory report 12",
        line=1,
    )

    def judged(exception, **more):
        return cold_smoked(CURE, COLD_SMOKE, house=replace(HOUSE, exceptions=(exception,)), **more)

    (finding,) = (each for each in findings(judged(signed)) if each.rule == "parasite-freezing" and each.decides)
    assert finding.level == "act" and finding.signed == signed
    assert "Exception signed by A. Cook, process authority on 2026-02-03: laboratory report 12" in finding.message
    assert worst(judged(replace(signed, method="other-page")), "parasite-freezing") == "stop"
    expired = replace(signed, until=datetime.date(2020, 1, 1))
    assert worst(judged(expired), "parasite-freezing") == "stop"
    botulism = replace(signed, rule="pack-salt")
    assert worst(judged(botulism, water_phase_salt=EXACT(0.02)), "pack-salt") == "stop"  # never signed away
