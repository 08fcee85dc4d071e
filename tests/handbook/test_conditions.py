"""Every condition of every limit can hold and can fail, and the pages that showed two definitions of one notion."""

from datetime import date, datetime, timedelta
from functools import cache

import pytest
from msgspec.structs import replace

from handbook.base.errors import PageError
from handbook.base.ranges import Range
from handbook.days.day_plan import DayPlan, PlanStep
from handbook.days.labels import labels
from handbook.page.heated import has_curve, heats
from handbook.report.evaluate import evaluate
from handbook.safety.conditions import Condition
from handbook.safety.findings import findings
from handbook.safety.held_conditions import conditions, family_kind
from handbook.safety.limits import REFERENCE_PLACES, limits
from tests.handbook.safety_cases import (
    BELLY,
    CABBAGE,
    CHICKEN,
    CHILL,
    CHILL_THROUGH,
    CHOP,
    COLD_SMOKE,
    CURE,
    CURING_SALT,
    EXACT,
    FREEZE,
    HAM,
    HOUSE,
    KEEP,
    LONG_VACUUM,
    MACKEREL,
    NITRATE_CURE,
    NITRITE_CURE,
    PICKLE,
    PREPARE,
    ROAST,
    SALT,
    TABLES,
    TROUT,
    VACUUM,
    case_of,
    cold_smoked,
    cooked,
    for_audience,
    hot_smoked,
    kraut,
    levels,
    pumped,
    step,
    worst,
)

SALMON, CUCUMBER, TUNA = "salmon, Atlantic, farmed", "cucumber, with peel", "tuna, yellowfin"
HERRING, NAPA = "herring, Atlantic", "cabbage, napa/pe-tsai"
LONG_CURE = "kind: dry cure\ntemperature: 3 °C\ningredients:\n  - {item: honey, amount: 1 % of food}"
BATH = (
    "kind: immersion\nname: cure\ntemperature: 3 °C\ningredients:\n"
    '  - {item: "water, tap", amount: 2 kg}\n  - {item: "salt, fine sea", amount: 300 g}'
)
SALTED = '- {what: water-phase salt, value: 12 %, where: thickest place, how: lab, record: "stack 3"}'
DRY = step("dry", "oven", "7 h", chamber="60 °C", loss="40 %")
QUICK = step("salt", "fridge", "2 h", use="cure")


def minced(*steps, food=CHOP, form="minced", salting=NITRITE_CURE, **more):
    """Minced pork with curing salt mixed in, cooked to 72 °C."""
    steps = steps or (step("cook", "oven", "40 min", chamber="180 °C", core="72 °C"), CHILL, CHILL_THROUGH)
    return case_of(food, "cook", PREPARE, CURE, *steps, form=form, salting=salting, **more)


@cache
def every_case():
    """Small pages that between them bring out every condition; each is also a page where others fail."""
    exact, reductions = EXACT(130.0), {"salmonella-meat": EXACT(7.0), "listeria-fish": EXACT(6.5)}
    cold = dict.fromkeys(("water_phase_salt",), EXACT(0.04))
    return (
        hot_smoked(QUICK, step("smoke", "smoker", "2 h", chamber="95 °C", core="72 °C", hold="30 min"), CHILL),
        case_of(TROUT, "hot smoke", PREPARE, QUICK, step("smoke", "smoker", "2 h", chamber="95 °C", core="72 °C")),
        hot_smoked(keeping=VACUUM, ingoing_nitrite_ppm=exact, **cold),
        hot_smoked(food=SALMON, salting=NITRITE_CURE, keeping=VACUUM, ingoing_nitrite_ppm=exact),
        hot_smoked(food=SALMON, salting=NITRATE_CURE, ingoing_nitrite_ppm=exact, ingoing_nitrate_ppm=exact),
        hot_smoked(log_reductions=reductions),
        cooked("64 °C", TROUT, "1 min"),
        case_of(TROUT, "dry cure", PREPARE, FREEZE, CURE, keeping=VACUUM),
        cooked(log_reductions={"salmonella-poultry": EXACT(7.5)}),
        cold_smoked(),
        cold_smoked(CURE, COLD_SMOKE, origin="farmed"),
        case_of(TUNA, "cold smoke", PREPARE, CURE, COLD_SMOKE, salting=NITRITE_CURE, ingoing_nitrite_ppm=exact),
        case_of(MACKEREL, "hot smoke", PREPARE, CURE, step("smoke", "smoker", "2 h", chamber="95 °C", core="72 °C")),
        case_of(CABBAGE, "cook", CURE, salting=NITRATE_CURE, ingoing_nitrite_ppm=exact, ingoing_nitrate_ppm=exact),
        cooked(),
        cooked("72 °C", CHOP, "3 min", log_reductions=reductions),
        hot_smoked(food=CHICKEN, salting=NITRITE_CURE, ingoing_nitrite_ppm=exact),
        pumped(exact, ingoing_nitrate_ppm=exact),
        pumped(exact, food=BELLY, ingoing_nitrate_ppm=exact),
        pumped(exact, food=BELLY, salting=NITRATE_CURE, ingoing_nitrate_ppm=exact),
        pumped(exact, salting=NITRATE_CURE, ingoing_nitrate_ppm=exact),
        minced(ingoing_nitrite_ppm=exact, ingoing_nitrate_ppm=exact, salting=NITRATE_CURE),
        minced(food=TROUT, form="stuffed", salting=LONG_CURE),
        minced(food=CHICKEN, form="stuffed", salting=LONG_CURE),
        minced(form="cut", salting=LONG_CURE),
        minced(form="tenderised", salting=LONG_CURE),
        minced(form="whole", salting=PICKLE.replace("pickle", "cure")),
        kraut(),
        kraut(food=CUCUMBER, kind="ferment brine"),
        kraut(food="carrot"),
        cooked(keeping=LONG_VACUUM),
        hot_smoked(salting=BATH, keeping=VACUUM, **cold),
        cooked(food="duck, domesticated, meat and skin"),
        case_of(TROUT, "dry cure", PREPARE, FREEZE, CURE, measured=SALTED),
        cooked(food="turkey breast, meat only"),
        cooked(food="venison (deer), raw"),
        case_of(CHOP, "cook", PREPARE, CURE, ROAST, DRY),
        case_of(CHICKEN, "cook", PREPARE, CURE, ROAST, DRY),
        minced(food=CHOP, form="stuffed", salting=LONG_CURE),
        *_family_cases(exact),
    )


def _family_cases(exact):
    """Pages of the families whose documents bind no other food."""
    vinegar = f'kind: immersion\nname: pickle\ningredients:\n  - {{item: "vinegar, distilled 5 %", amount: 500 g}}\n  - {SALT}'
    pickled, eggs = step("salt", "fridge", "2 days", use="pickle"), "egg, whole"
    hang, shelf = step("rest", "cellar", "80 days", temperature="12 °C"), KEEP.replace("3 °C", "20 °C")
    strips = step("smoke", "smoker", "6 h", chamber="55 °C", core="52 °C")
    cure = {"salting": NITRITE_CURE, "ingoing_nitrite_ppm": exact}
    hot = step("serve", "oven", "1 h", temperature="65 °C")
    sausage = (step("ferment", "cellar", "2 days", temperature="20 °C"), hang)
    return (
        *(cooked(food=each) for each in ("turkey breast, meat only", "goose, meat and skin")),
        *(case_of(each, "cook", PREPARE, pickled, salting=vinegar) for each in (eggs, TROUT, "beet", HERRING)),
        *(case_of(each, "cook", PREPARE, pickled, salting=vinegar, keeping=shelf) for each in (eggs, NAPA)),
        kraut(food=NAPA),
        *(
            case_of(each, "brine", PREPARE, CURE, salting=NITRATE_CURE, ingoing_nitrate_ppm=exact)
            for each in (HERRING, "cheese, gouda")
        ),
        cooked(food=eggs),
        case_of(HAM, "dry cure", PREPARE, CURE, hang, keeping=shelf, **cure),
        case_of(HAM, "dry cure", PREPARE, CURE, hang, keeping=KEEP),
        case_of(HAM, "dry cure", PREPARE, CURE, **cure),
        case_of(HAM, "cook", PREPARE, salting=None),
        *(case_of(each, "dry cure", PREPARE, CURE, strips, thickness="6 mm") for each in (CHOP, CHICKEN)),
        minced(*sausage, keeping=shelf, ingoing_nitrite_ppm=exact),
        minced(
            *sausage,
            step("cook", "oven", "2 h", chamber="80 °C", core="55 °C", hold="60 min"),
            ingoing_nitrite_ppm=exact,
        ),
        minced(food="beef brisket, whole, lean+fat"),
        case_of(HAM, "cook", PREPARE, CURE, ROAST, CHILL_THROUGH, ROAST, hot, **cure),
        hot_smoked(keeping=f"{KEEP}\nfrozen: 60 days"),
        *(cooked(food=each) for each in ("pork liver", "beef tongue", "chicken liver")),
        kraut(food="olive, green, raw", kind="ferment brine"),
        case_of("pork liver", "brine", PREPARE, CURE, eaten="cooked by the eater"),
        *(cooked(food=each) for each in ("kidney bean, red, boiled", "almond")),
        cooked(food="beet", keeping=KEEP),
        case_of("beet", "cook", ROAST, CHILL_THROUGH, ROAST, hot, salting=None),
        *(case_of(each, "brine", PREPARE, CURE, eaten="cooked by the eater") for each in (CHICKEN, CHOP)),
        case_of(CHOP, "brine", PREPARE, CURE, form="minced", eaten="cooked by the eater"),
    )


def test_every_condition_is_asked_for_and_every_one_asked_for_is_known():
    """The closed list holds no word that no limit uses."""
    assert {word for limit in limits().values() for word in limit.when} == set(Condition)


@pytest.mark.parametrize("condition", sorted(set(Condition) - {Condition.SALMONELLA, Condition.LISTERIA}))
def test_every_condition_can_hold_and_can_fail(condition):
    """On two pages at least. The organisms are stated by the rule: see the next test."""
    assert {condition in conditions(case) for case in every_case()} == {True, False}


_ASKING = [each for each in limits().values() if each.when]
_SHOWN = [each for each in _ASKING if each.binds_in("United States") or each.place in REFERENCE_PLACES]


@pytest.mark.parametrize("limit", _SHOWN, ids=lambda each: each.id)
def test_every_limit_with_conditions_applies_to_a_page_and_not_to_another(limit):
    """Each limit turns up among the findings of a page, and of none where one of its conditions fails."""
    with_limit = [held for held, shown in _every_finding() if limit.id in shown]
    without = [held for held, shown in _every_finding() if limit.id not in shown]
    assert with_limit, f"no page shows {limit.id}"
    asked = set(limit.when) - {Condition.SALMONELLA, Condition.LISTERIA}
    assert without and all(asked <= held for held in with_limit)
    assert all(any(each not in held for held in without) for each in asked)


@pytest.mark.parametrize("limit", [each for each in _ASKING if each not in _SHOWN], ids=lambda each: each.id)
def test_every_european_limit_with_conditions_fits_a_page_and_not_another(limit):
    """By the food and the conditions of the pages here."""
    assert {limit.fits(case.food.food_class, family_kind(case), conditions(case)) for case in every_case()} == {
        True,
        False,
    }


@cache
def _every_finding():
    """The conditions of every page and the limits among its findings."""
    return tuple((conditions(case), frozenset(each.limit for each in findings(case))) for case in every_case())


# ---------------------------------------------------------------- heated


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ({"stage": "cook", "chamber": "180 °C"}, True),
        ({"stage": "smoke", "chamber": "95 °C"}, True),
        ({"stage": "smoke", "chamber": "25 °C"}, False),  # cold smoke, whatever the page calls itself
        ({"stage": "smoke", "chamber": "25 °C", "core": "22 °C"}, False),  # a core in cold smoke is no heat
        ({"stage": "cook", "temperature": "57 °C", "core": "56 °C"}, True),  # a slow bath brings the core there
        ({"stage": "rest", "chamber": "200 °C", "core": "75 °C"}, True),  # roasting by another name
        ({"stage": "serve", "temperature": "65 °C"}, True),  # kept hot
        ({"stage": "serve", "temperature": "20 °C"}, False),
        ({"stage": "cool", "temperature": "3 °C", "core": "21 °C"}, False),  # a cooling step that states a core
        ({"stage": "cool", "temperature": "80 °C", "core": "75 °C"}, True),  # nothing cools at 80 °C
        ({"stage": "rest", "temperature": "20 °C", "core": "63 °C"}, False),  # resting after the heat
        ({"stage": "prepare", "place": "stove", "temperature": "100 °C"}, False),  # a brine is boiled
        ({"stage": "prepare", "place": "stove", "temperature": "100 °C", "core": "70 °C"}, True),  # the food is in it
        ({"stage": "cook"}, False),  # nothing stated: an oven may be cold
        ({"stage": "rest", "core": "70 °C"}, True),  # a core from an oven of unknown warmth
        ({"stage": "smoke", "place": "smoker"}, False),
    ],
)
def test_what_heats(values, expected):
    """Temperatures and place decide, and no name of a stage but that of a brine on the stove."""
    one = case_of(CHOP, "cook", step(values.pop("stage"), values.pop("place", "oven"), **values)).method.steps[0]
    assert heats(one) is expected
    assert has_curve(one) or not expected


def _label(method, ends):
    """The label of a method whose steps end at these moments."""
    steps = tuple(
        PlanStep(
            method=method.name,
            load=0,
            mass=1.0,
            number=number,
            start=end - timedelta(hours=1),
            end=end,
            units=(),
            hands=(),
        )
        for number, end in enumerate(ends, 1)
    )
    report = replace(evaluate(method, HOUSE, TABLES), method=method)
    (found,) = labels(DayPlan(steps=steps), {method.name: report})
    return found


def test_use_by_counts_from_the_heat_although_the_cooling_states_a_core():
    """Cooked on the 1st, cold on the 2nd, keeps 4 days: use by the 5th, and not the 6th.

    The Food Code counts the day of preparation as the first [food-code-date-marking].
    """
    method = case_of(CHICKEN, "cook", PREPARE, CURE, ROAST, CHILL_THROUGH).method
    ends = [datetime(2026, 3, 1, hour) for hour in (8, 9, 22)] + [datetime(2026, 3, 2, 1)]
    assert _label(method, ends).use_by == date(2026, 3, 5)


def test_use_by_of_a_page_that_smokes_without_a_core_counts_from_the_smoke():
    """Hot smoke is heat without a stated core too; the label used to count from the packing."""
    smoke = step("smoke", "smoker", "2 h", chamber="95 °C")
    method = case_of(CHOP, "hot smoke", PREPARE, CURE, smoke, CHILL_THROUGH).method
    ends = [datetime(2026, 3, 1, hour) for hour in (8, 9, 22)] + [datetime(2026, 3, 2, 1)]
    assert _label(method, ends).use_by == date(2026, 3, 5)


# ---------------------------------------------------------------- wet


def _cured(*lines, kind="dry cure", food="duck, domesticated, meat and skin", salt="0.6 % nitrite (continental type)"):
    """The report of duck with 2.1 % of a curing salt of 0.6 % nitrite, and more in the cure."""
    cure = f'{{item: "curing salt, {salt}", amount: 2.1 % of food}}'
    target = "\ntarget_salt: 1.8 % of all" if kind == "equilibrium" else ""
    salting = f"kind: {kind}\nname: cure{target}\ntemperature: 3 °C\ningredients:\n  - {cure}"
    salting += "".join(f"\n  - {line}" for line in lines)
    method = case_of(food, "cook", PREPARE, CURE, ROAST, CHILL, CHILL_THROUGH, salting=salting).method
    return evaluate(method, for_audience("commercial"), TABLES)


@pytest.mark.parametrize(
    "more",
    [
        (),
        ("{item: honey, amount: 2 % of food}",),
        ("{item: honey, amount: 6 % of food}",),
        ('{item: "syrup, maple", amount: 3 % of food}',),
        ('{item: "molasses", amount: 4 % of food}',),
        ('{item: "vinegar, cider", amount: 5 % of food}',),
        ('{item: "garlic, raw", amount: 3 % of food}',),
    ],
    ids=str,
)
def test_moist_ingredients_make_no_bath_of_a_dry_cure(more):
    """2.1 % of a curing salt with 0.6 % nitrite is 126 ppm on green weight, whatever else is rubbed on.

    Formula: nitrite x 10^6 / green weight [fsis-calculations-handbook], page 24. As a bath it would be 120 ppm, at
    3 % syrup below the 120 ppm that the handbook asks for at least.
    """
    report = _cured(*more)
    assert report.saltings[0].equilibrium.ingoing_nitrite_ppm == pytest.approx(126.0)
    assert report.saltings[0].equilibrium.bath_water_phase_salt is None
    assert report.saltings[0].strength is None
    assert {each.limit: each.verdict for each in report.findings if each.rule == "nitrite-minimum"} == {
        "nitrite-minimum": "meets"
    }
    assert "nitrite-dry-cured" in {each.limit for each in report.findings}


@pytest.mark.parametrize(
    ("kind", "lines", "read"),
    [
        ("dry cure", ('{item: "water, tap", amount: 40 % of food}',), "dry cure with 399"),
        ("immersion", ("{item: honey, amount: 2 % of food}",), "immersion with 3.4"),
    ],
)
def test_a_kind_that_the_amounts_deny_is_a_fault(kind, lines, read):
    """A bath called a dry cure would be held to 625 ppm instead of 200; a rub called a bath would show too few ppm."""
    with pytest.raises(PageError, match=r"salting.kind: read \"" + read) as caught:
        _cured(*lines, kind=kind)
    assert "allowed: " in str(caught.value)


def test_curing_salt_is_known_by_what_it_holds_and_not_by_its_name():
    """A house's curing salt under another name is one all the same."""
    own = replace(TABLES.ingredients["curing salt, 6.25 % sodium nitrite (type 1)"], name="rose cure")
    case = pumped(EXACT(150.0))
    made = case.makes["pickle"]
    renamed = replace(
        made, parts=tuple(replace(each, ingredient=own) for each in made.parts if each.ingredient.nitrite)
    )
    lines = tuple(
        replace(each, item=each.item.replace("curing salt", "rose")) for each in case.method.saltings[0].ingredients
    )
    method = replace(case.method, saltings=(replace(case.method.saltings[0], ingredients=lines),))
    found = replace(case, method=method, makes={"pickle": renamed})
    assert worst(found, "curing-salt-weighing") == "note"
    assert Condition.PUMPED_OR_IMMERSED in conditions(found)


# ---------------------------------------------------------------- minced


def test_minced_meat_has_its_own_nitrite_limits():
    """156 ppm nitrite and 1,718 ppm nitrate for minced meat, 9 CFR 424.21(c): the limit of a dry cure would be 625."""
    house = for_audience("commercial")
    over = minced(ingoing_nitrite_ppm=EXACT(180.0), ingoing_nitrate_ppm=EXACT(1800.0), house=house)
    under = minced(ingoing_nitrite_ppm=EXACT(150.0), ingoing_nitrate_ppm=EXACT(1500.0), house=house)
    cut = minced(form="cut", ingoing_nitrite_ppm=EXACT(180.0), ingoing_nitrate_ppm=EXACT(1800.0), house=house)
    assert levels(over, "nitrite-maximum")["nitrite-comminuted"] == "stop"
    assert levels(over, "nitrate-maximum")["nitrate-comminuted"] == "stop"
    assert levels(under, "nitrite-maximum")["nitrite-comminuted"] == "met"
    assert "nitrite-dry-cured" not in levels(over, "nitrite-maximum")
    assert {"nitrite-dry-cured", "nitrite-home", "nitrite-finished-plant"} <= set(levels(cut, "nitrite-maximum"))


@pytest.mark.parametrize("kind", ["dry cure", "equilibrium"])
def test_what_is_mixed_into_minced_meat_stays_in_it(kind):
    """A quarter ounce on 100 lb of chopped meat is 156 ppm [fsis-calculations-handbook], page 15, water or no water."""
    salting = (
        f"kind: {kind}\nname: cure\ntemperature: 3 °C\ntarget_salt: 3 % of all\ningredients:\n"
        f'  - {{item: "curing salt, 6.25 % sodium nitrite (type 1)", amount: 2.5 g}}\n  - {SALT}\n'
        '  - {item: "water, tap", amount: 20 % of food}'
    )
    report = evaluate(minced(salting=salting).method, HOUSE, TABLES)
    at_rest = report.saltings[0].equilibrium
    assert at_rest.ingoing_nitrite_ppm == pytest.approx(156.25)
    own = report.food.native_salt_fraction
    salt = report.saltings[0].made.total("salt")  # of 1 kg of meat
    assert at_rest.ingoing_salt_on_green_weight == pytest.approx(salt)
    assert report.salted.salted.salt_on_green_weight.typical == pytest.approx(own + salt, rel=0.005)


def test_minced_and_stuffed_food_are_not_judged_as_a_whole_cut():
    """145 °F and a rest for chops, 160 °F for ground meat [usda-safe-temperatures], 165 °F for stuffed food."""
    at = {
        form: levels(
            minced(step("cook", "oven", "1 h", chamber="150 °C", core="64 °C", hold="4 min"), form=form),
            "core-temperature",
        )
        for form in ("whole", "cut", "minced", "stuffed")
    }
    assert at["whole"] == at["cut"]
    assert at["cut"]["home-cook-whole-cuts"] == "met"
    assert at["minced"]["home-cook-minced"] == "stop"
    assert "home-cook-whole-cuts" not in at["minced"] | at["stuffed"]
    hot = minced(step("cook", "oven", "1 h", chamber="150 °C", core="72 °C"), form="minced")
    stuffed = minced(
        step("cook", "oven", "1 h", chamber="150 °C", core="72 °C"), form="stuffed", house=for_audience("retail")
    )
    assert levels(hot, "core-temperature")["home-cook-minced"] == "met"
    assert levels(stuffed, "core-temperature")["retail-cook-stuffed"] == "stop"


def test_minced_belly_is_no_bacon_but_takes_no_nitrate():
    """Bacon is the belly in one piece; its ban on nitrate stays with the belly."""
    case = minced(food=BELLY, salting=NITRATE_CURE, ingoing_nitrite_ppm=EXACT(150.0), ingoing_nitrate_ppm=EXACT(100.0))
    assert Condition.BACON not in conditions(case)
    assert Condition.NITRATE_NOT_PERMITTED in conditions(case)


# ---------------------------------------------------------------- fermented


def test_a_page_called_ferment_grants_raw_meat_nothing():
    """The kind is the author's word: sausage waiting at 20 °C is judged as meat out of the cold."""
    warm = step("rest", "room", "12 h", temperature="20 °C")
    case = case_of(CHOP, "ferment", PREPARE, CURE, warm, ROAST)
    assert worst(case, "cold-work") == worst(case, "growth-range-time") == "stop"
    assert worst(kraut(), "cold-work") == ""


def test_the_names_used_here_stand_for_foods():
    """The table of foods holds every food of these pages."""
    assert {SALMON, CUCUMBER, TUNA, HAM, BELLY, MACKEREL} <= set(TABLES.foods)
    assert "pack: air" in KEEP and "6.25 %" in CURING_SALT and Range.exact(1.0).typical == 1.0
