"""Organ meats, roe, fruit, nuts and pulses: which documents judge them, and that no class of food falls through."""

import pytest

from handbook.base.errors import BeyondModelError
from handbook.catalogue.foods import FOOD_CLASSES
from handbook.catalogue.thermal_properties import Composition
from handbook.report.evaluate import evaluate
from handbook.safety.findings import findings
from handbook.safety.limits import limits_of
from tests.handbook.safety_cases import (
    CHILL,
    CHILL_THROUGH,
    CURE,
    DRY_ENOUGH,
    EXACT,
    KEEP,
    LONG_VACUUM,
    PREPARE,
    SOUR,
    TABLES,
    case_of,
    cooked,
    for_audience,
    kraut,
    levels,
    step,
    with_place,
    worst,
)

#: One food of every class.
FIRST = {each.food_class: each.name for each in reversed(list(TABLES.foods.values()))}
SHELF = KEEP.replace("3 °C", "20 °C")
STAND = step("hold", "room", "20 days", temperature="20 °C")
JAR = step("hold", "room", "20 days", temperature="20 °C", medium="jar")
BATH = (
    "kind: immersion\nname: cure\ntemperature: 20 °C\ningredients:\n"
    '  - {item: "water, tap", amount: 2 kg}\n  - {item: "salt, fine sea", amount: 160 g}'
)


def _levels(case, rule):
    return list(levels(case, rule).values())


def _rules(case):
    return {each.rule for each in findings(case)}


# ---------------------------------------------------------------- every class has its answers


@pytest.mark.parametrize("food_class", FOOD_CLASSES)
def test_every_class_has_an_answer_for_cold_shelf_and_pack(food_class):
    """Kept cold, kept on a shelf and kept long without air: each gets a verdict of a document, whatever the food."""
    food = FIRST[food_class]
    assert levels(case_of(food, "brine", PREPARE, CURE, keeping=KEEP), "cold-holding")
    assert worst(case_of(food, "brine", PREPARE, CURE, keeping=SHELF), "unrefrigerated-keeping") == "stop"
    packed = findings(case_of(food, "brine", PREPARE, CURE, keeping=LONG_VACUUM))
    assert {each.rule for each in packed if each.decides} & {"pack-barrier", "pack-salt", "acid-food"}


@pytest.mark.parametrize("food_class", FOOD_CLASSES)
def test_every_class_has_an_answer_for_food_that_stands_in_the_warm(food_class):
    """Salted and left at 20 °C for 20 days: a verdict of growth or ferment, acid of its own, or the words not judged."""
    found = findings(case_of(FIRST[food_class], "brine", PREPARE, CURE, STAND))
    spoken = {"growth-range-time", "ferment-salt", "acid-food", "plant-food-not-judged"}
    assert {each.rule for each in found} & spoken


@pytest.mark.parametrize("food_class", FOOD_CLASSES)
def test_every_class_has_an_answer_for_its_heat(food_class):
    """Cooking limits, cooling of what spoils, or the words not judged; cheese and tofu have no core."""
    rules = _rules(cooked(food=FIRST[food_class], keeping=KEEP, house=for_audience("retail")))
    spoken = {"core-temperature", "cooling-stages", "acid-food", "plant-food-not-judged"}
    assert rules & spoken or food_class in ("cheese", "tofu")


# ---------------------------------------------------------------- organ meats


@pytest.mark.parametrize(
    ("food", "audience", "core", "hold", "level"),
    [
        # USDA as quoted by Michigan State University: all variety meats to at least 160 °F (71.1 °C).
        ("pork liver", "home", "71.2 °C", None, "met"),
        ("pork liver", "home", "70.5 °C", "10 min", "stop"),
        ("beef tongue", "home", "63 °C", "10 min", "stop"),
        # Meat is muscle, tongue and heart among it (9 CFR 301.2, from memory): the dwell table of 6.5 log10 holds for
        # them (FSIS Cooking Guideline 2021, Table 2: 140 °F 12 min), and for no liver.
        ("beef tongue", "commercial", "60 °C", "13 min", "met"),
        ("pork heart", "commercial", "60 °C", "13 min", "met"),
        ("pork liver", "commercial", "60 °C", "13 min", "stop"),
        ("lamb kidney", "commercial", "66 °C", "5 min", "stop"),
        # FSIS on chicken liver: throughout 165 °F (73.9 °C), for plants, retail and homes.
        ("chicken liver", "home", "74 °C", None, "met"),
        ("chicken liver", "retail", "72 °C", "5 min", "stop"),
        ("duck liver", "commercial", "72 °C", "5 min", "stop"),
        ("chicken gizzard", "commercial", "71.2 °C", None, "met"),
    ],
)
def test_core_of_organ_meats(food, audience, core, hold, level):
    assert worst(cooked(core, food, hold, house=for_audience(audience)), "core-temperature") == level


def test_no_log_reduction_clears_liver():
    """Its table is made for meat."""
    reductions = {"salmonella-meat": EXACT(9.0)}
    assert levels(
        cooked("75 °C", "pork tongue", house=for_audience("commercial"), log_reductions=reductions), "lethality"
    )
    case = cooked("75 °C", "pork liver", house=for_audience("commercial"), log_reductions=reductions)
    assert not levels(case, "lethality")


# ---------------------------------------------------------------- roe


@pytest.mark.parametrize(
    ("food", "place", "level"),
    [
        # Food Code 3-402.11(B), Washington WAC 246-215-03425(3), read: eggs out of the skein and rinsed are free.
        ("fish roe, loose and rinsed", "United States", "note"),
        ("fish roe, mixed", "United States", "stop"),
        # Regulation (EU) 1276/2011, read: it frees by grounds and by farming, and names neither roe nor tuna.
        ("fish roe, loose and rinsed", "European Union", "stop"),
        ("tuna, yellowfin", "European Union", "stop"),
        ("tuna, yellowfin", "United States", "note"),
    ],
)
def test_freezing_of_raw_roe(food, place, level):
    assert worst(case_of(food, "brine", PREPARE, CURE, house=with_place(place)), "parasite-freezing") == level


# ---------------------------------------------------------------- fruit


@pytest.mark.parametrize(
    ("food", "is_acid"),
    [
        # FDA list of pH, copies: apples 3.30 to 4.00, lemon 2.00 to 2.60, plums 2.8 to 4.6 (second-hand). Pears 3.5 to
        # 4.6 and sour cherries are from memory, which clears nothing.
        ("apple, with skin", True),
        ("lemon, without peel", True),
        ("plum", True),
        ("pear", False),
        ("cherry, sour", False),
    ],
)
def test_acid_fruit_may_stand_closed(food, is_acid):
    """21 CFR 114.3(a): acid foods have a natural pH of 4.6 or below. What is not known to be one stops in a jar."""
    case = case_of(food, "brine", PREPARE, CURE, JAR)
    assert (worst(case, "sealed-food") == "stop") != is_acid
    assert _levels(case, "acid-food") == ["note"]


def test_acid_fruit_in_oil_stops_all_the_same():
    oil = step("hold", "room", "20 days", temperature="20 °C", medium="oil")
    assert worst(case_of("lemon, without peel", "brine", PREPARE, CURE, oil), "oil-pack") == "stop"


def test_acid_of_its_own_opens_no_shelf():
    """Only a pH measured through the piece does."""
    assert (
        worst(case_of("lemon, without peel", "brine", PREPARE, CURE, keeping=SHELF), "unrefrigerated-keeping") == "stop"
    )
    case = case_of("lemon, without peel", "brine", PREPARE, CURE, keeping=SHELF, measured=SOUR)
    assert worst(case, "unrefrigerated-keeping") == "met"


@pytest.mark.parametrize(
    ("salt", "days", "rule"),
    [("60 g", "90 days", "ferment-salt"), ("160 g", "30 days", "ferment-time"), ("160 g", "90 days", None)],
)
def test_olives(salt, days, rule):
    """California Leaflet 2758 as quoted: 8 oz of salt to the gallon (5.6 %), 60 to 80 °F, two months."""
    brine = BATH.replace("160 g", salt).replace("name: cure\n", "").replace("immersion", "ferment brine")
    report = evaluate(
        case_of(
            "olive, green, raw", "ferment", PREPARE, step("ferment", "room", days, temperature="20 °C"), salting=brine
        ).method,
        for_audience("home"),
        TABLES,
    )
    stopped = {each.rule for each in report.findings if each.level == "stop"}
    assert stopped == ({rule} if rule else set())


def test_other_fruit_that_sours_is_not_judged_by_the_sheet_of_vegetables():
    found = [each for each in findings(kraut(food="pear")) if each.rule == "plant-food-not-judged"]
    assert [each.level for each in found] == ["act"]
    assert not {each.rule for each in findings(kraut(food="pear"))} & {"ferment-salt", "ferment-time"}


# ---------------------------------------------------------------- nuts


def test_the_salt_of_nuts_in_a_brine_is_not_computed():
    method = case_of("almond", "brine", PREPARE, step("salt", "room", "8 h", use="cure"), salting=BATH).method
    report = evaluate(method, for_audience("home"), TABLES)
    assert report.unknown_salt == ("almond",) and report.salted is None and report.saltings[0].strength is not None


def test_dry_food_is_beyond_the_heat_model_and_no_fault_of_the_page():
    """The correlations of Choi and Okos are for foods with water; 4 % is out of them."""
    with pytest.raises(BeyondModelError, match=r"water: read 0\.04"):
        Composition(water=0.04, protein=0.21, fat=0.5, carbohydrate=0.22, ash=0.03)
    method = case_of("almond", "cook", PREPARE, step("cook", "oven", "20 min", chamber="150 °C"), salting=None).method
    found = [each for each in evaluate(method, for_audience("home"), TABLES).findings if each.rule == "computed-core"]
    assert [each.level for each in found] == ["note"]


def test_wet_nuts_in_the_warm_are_said_to_be_not_judged():
    wet = step("salt", "room", "20 h", use="cure", temperature="20 °C", medium="brine")
    assert _levels(case_of("almond", "brine", PREPARE, wet, salting=BATH), "plant-food-not-judged") == ["act"]
    assert _levels(case_of("almond", "cook", PREPARE, salting=None), "plant-food-not-judged") == ["note"]


# ---------------------------------------------------------------- pulses


def test_boiled_pulses_are_judged_as_cooked_food():
    """California 113871(b), read: a food of plant origin that is heat-treated needs the cold."""
    warm = step("hold", "room", "5 h", temperature="21 °C")
    assert worst(case_of("chickpea, boiled", "cook", PREPARE, warm, salting=None), "growth-range-time") == "stop"
    slow = (step("cool", "bench", "5 h", core="30 °C", temperature="20 °C"), CHILL_THROUGH)
    retail = for_audience("retail")
    case = cooked(food="chickpea, boiled", keeping=KEEP, house=retail)
    assert worst(case, "cooling-stages") in ("met", "stop")
    heat = step("cook", "stove", "40 min", temperature="96 °C", core="92 °C")
    case = case_of("chickpea, boiled", "cook", heat, *slow, salting=None, keeping=KEEP, house=retail)
    assert worst(case, "cooling-stages") == "stop"
    case = case_of("chickpea, boiled", "cook", heat, CHILL, CHILL_THROUGH, salting=None, keeping=KEEP, house=retail)
    assert worst(case, "cooling-stages") == "met"


@pytest.mark.parametrize(
    ("food", "steps", "level"),
    [
        # The same words of California 113871(b): heat-treated; not with a pH of 4.6 or below, or an
        # aw of 0.85 or less, as measured.
        ("beet", ("heat", "warm"), "stop"),
        ("beet", ("warm", "heat"), "met"),
        ("mushroom, white", ("heat", "warm"), "stop"),
        ("pear", ("heat", "warm"), "stop"),
        ("apple, with skin", ("heat", "warm"), ""),
        ("beet", ("warm",), ""),
    ],
)
def test_vegetables_and_fruit_are_judged_as_cooked_food_from_their_heat_on(food, steps, level):
    known = {
        "heat": step("cook", "stove", "40 min", temperature="96 °C", core="92 °C"),
        "warm": step("hold", "room", "5 h", temperature="21 °C"),
    }
    case = case_of(food, "cook", *(known[each] for each in steps), salting=None)
    assert worst(case, "growth-range-time") == level
    sour = case_of(food, "cook", *(known[each] for each in steps), salting=None, measured=SOUR)
    assert worst(sour, "growth-range-time") == ""
    dry = case_of(food, "cook", *(known[each] for each in steps), salting=None, measured=DRY_ENOUGH)
    assert worst(dry, "growth-range-time") == ""


@pytest.mark.parametrize(("salt", "level"), [(0.15, "act"), (0.08, None)])
def test_a_salt_paste_is_not_judged_and_a_thin_one_is_cooked_food_left_out(salt, level):
    """10 % salt in the water parts the two, by common practice; a page is told that nobody judged the paste."""
    case = case_of("soybean, boiled", "ferment", PREPARE, STAND, form="minced", water_phase_salt=EXACT(salt))
    assert (_levels(case, "plant-food-not-judged") or [None])[0] == level
    assert (worst(case, "growth-range-time") == "stop") == (level is None)


def test_vinegar_alone_makes_no_pickle_of_pulses():
    """No document here speaks of them in vinegar, so their pack needs a barrier of its own."""
    vinegar = 'kind: immersion\nname: cure\ningredients:\n  - {item: "vinegar, distilled 5 %", amount: 900 g}'
    kept = LONG_VACUUM.replace("3 °C", "4 °C")
    beans = case_of("white bean, boiled", "brine", PREPARE, CURE, salting=vinegar, keeping=kept)
    assert worst(beans, "pack-barrier") == "stop"
    assert not levels(case_of("beet", "brine", PREPARE, CURE, salting=vinegar, keeping=kept), "pack-barrier")


def test_kidney_beans_carry_their_caution():
    assert _levels(case_of("kidney bean, red, boiled", "cook", PREPARE, salting=None), "bean-poison") == ["note"]
    assert not levels(case_of("chickpea, boiled", "cook", PREPARE, salting=None), "bean-poison")
    assert limits_of("bean-poison")
