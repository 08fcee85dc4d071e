"""Single safety rules: ranges, bases, exemptions, cautions."""

import pytest
from msgspec.structs import replace

from handbook.base.ranges import Range
from handbook.safety.findings import findings
from tests.handbook.safety_cases import (
    CHICKEN,
    CHILL,
    CHILL_THROUGH,
    CHOP,
    COAT,
    COLD_SMOKE,
    CURE,
    EXACT,
    GLAZE,
    HAM,
    HOT_SMOKE,
    NITRITE_CURE,
    PICKLE,
    PREPARE,
    SPOON_CURE,
    case_of,
    cold_smoked,
    cooked,
    for_audience,
    hot_smoked,
    levels,
    pumped,
    step,
    worst,
)


# ------------------------------------------------------------------ ranges and single cases
@pytest.mark.parametrize(
    ("salt", "level"),
    [
        (Range(0.036, 0.04, 0.045), "met"),
        (Range(0.033, 0.037, 0.04), "act"),
        (Range(0.03, 0.034, 0.04), "stop"),
    ],
)
def test_the_typical_value_stops_and_the_worst_end_only_warns(salt, level):
    """3.5 % water-phase salt in vacuum."""
    assert worst(cold_smoked(water_phase_salt=salt), "pack-salt") == level


def test_finished_limits_do_not_condemn_the_standard_dose():
    """156 ppm ingoing, the dose of 9 CFR 424.21(c), stands under a finished limit of 200; 250 ppm does not."""
    for ppm, level in ((156, "met"), (250, "stop")):
        (home,) = (each for each in findings(pumped(EXACT(ppm))) if each.limit == "nitrite-home")
        assert home.level == level and "ingoing" in home.figure


def test_home_whole_cuts_count_the_rest_and_retail_does_not():
    """145 °F and three minutes of rest after the oven, at home only."""

    def chop(**more):
        return case_of(
            CHOP,
            "cook",
            PREPARE,
            step("cook", "oven", "40 min", chamber="130 °C", core="63 °C"),
            step("serve", time="5 min", temperature="20 °C"),
            **more,
        )

    assert levels(chop(), "core-temperature")["home-cook-whole-cuts"] == "met"
    assert levels(chop(), "core-temperature")["commercial-cook-meat"] == "note"
    assert levels(chop(house=for_audience("retail")), "core-temperature")["retail-cook-intact"] == "met"  # 15 s


def test_injected_meat_falls_under_the_rule_for_injected_meat():
    """63 °C for 15 s is enough for an intact chop and not for a pumped one, at retail."""
    house = for_audience("retail")
    intact = cooked("63 °C", CHOP, "15 s", house=house)
    pumped_chop = case_of(
        CHOP,
        "cook",
        PREPARE,
        step("cook", "oven", "1 h", chamber="130 °C", core="63 °C", hold="15 s"),
        salting=PICKLE,
        house=house,
    )
    assert levels(intact, "core-temperature")["retail-cook-intact"] == "met"
    assert levels(pumped_chop, "core-temperature")["retail-cook-injected"] == "stop"


def test_poultry_that_is_never_heated_stops():
    """Cold-smoked chicken has no place here."""
    assert worst(case_of(CHICKEN, "cold smoke", PREPARE, CURE, COLD_SMOKE), "core-temperature") == "stop"


@pytest.mark.parametrize(("origin", "level"), [("wild", "stop"), ("unknown", "stop"), ("farmed", "act")])
def test_farmed_fish_may_be_exempt_from_freezing_and_the_page_says_on_what_condition(origin, level):
    """3-402.11(B): fish on feed without live parasites."""
    case = cold_smoked(CURE, COLD_SMOKE, origin=origin, food="trout, rainbow, farmed")
    assert worst(case, "parasite-freezing") == level
    if level == "act":
        assert any("written statement" in each.message for each in findings(case) if each.level == "act")


def test_one_way_of_freezing_is_enough():
    """Fifteen hours at -35 °C will do; the seven days are then no demand."""
    case = cold_smoked(step("freeze", "freezer", "16 h", temperature="-36 °C"), CURE, COLD_SMOKE)
    shown = levels(case, "parasite-freezing")
    assert shown["parasite-freeze-15-hours"] == "met" and "stop" not in shown.values()


def test_a_curing_salt_by_the_spoon_is_to_be_weighed():
    """Household measures of curing salt are never good enough."""
    assert worst(pumped(EXACT(150), HAM, SPOON_CURE), "curing-salt-weighing") == "stop"
    assert worst(pumped(EXACT(150), HAM, NITRITE_CURE), "curing-salt-weighing") == "note"


def test_one_glaze_on_raw_and_on_finished_food_is_to_be_acted_on():
    """The brush and the bowl carry the raw juice over."""
    twice = hot_smoked(COAT, HOT_SMOKE, COAT, CHILL, CHILL_THROUGH, glaze=GLAZE)
    once = hot_smoked(COAT, HOT_SMOKE, CHILL, CHILL_THROUGH, glaze=GLAZE)
    assert worst(twice, "cross-contact") == "act"
    assert worst(once, "cross-contact") == "note"


def test_allergens_and_standing_cautions_are_on_every_page():
    """Also on a page with nothing to stop."""
    found = {each.rule: each for each in findings(cooked(allergens=("fish", "soy")))}
    assert found["allergens"].figure == "contains fish, soy"
    assert "calibrated thermometer" in found["standing-caution"].message
    assert "Local codes" in found["standing-caution"].message


def test_smoking_brings_its_own_hazards():
    """Carbon monoxide, fire and wood for whatever is smoked, and only then."""
    smoke = {"smoker-carbon-monoxide", "smoker-fire", "smoke-wood"}
    assert smoke <= {each.rule for each in findings(hot_smoked())}
    assert not smoke & {each.rule for each in findings(cooked())}


def test_stops_come_first():
    """Order: stop, act, met, note."""
    order = [each.level for each in findings(pumped(EXACT(1500)))]
    assert order == sorted(order, key=("stop", "act", "met", "note").index)


def _basis(rule, case):
    """Where the figures of a rule's findings come from, and whether one says that it is only predicted."""
    found = [each for each in findings(case) if each.rule == rule and each.verdict]
    return {each.basis for each in found}, any("Predicted" in each.message for each in found)


def test_a_finding_says_where_its_figure_comes_from():
    """A core that the page asks for has to be measured; salt from a model has to be analysed, a laboratory's has not."""
    lab = '- {what: water-phase salt, value: 4.1 %, where: thickest place, how: lab, record: "run 7"}'
    assert _basis("core-temperature", cooked()) == ({"aimed at"}, False)
    assert _basis("core-temperature", replace(cooked(), is_measured=True)) == ({"measured"}, False)
    assert _basis("pack-salt", cold_smoked()) == ({"computed"}, True)
    assert _basis("pack-salt", cold_smoked(measured=lab)) == ({"measured"}, False)
    assert _basis("parasite-freezing", cold_smoked()) == ({"stated"}, False)
    assert any(each.is_predicted for each in findings(cold_smoked()))
