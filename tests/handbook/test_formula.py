"""Formulas of several foods: composition, percent of meat block, cost, allergens and verdict, by hand arithmetic."""

import pytest
from msgspec.structs import replace

from handbook.catalogue.mixed_foods import mixed_food, with_own
from handbook.page.house import Price
from handbook.page.read_method import BlockText, read_method
from handbook.report.cost import cost
from handbook.report.evaluate import evaluate
from tests.handbook.safety_cases import HOUSE, TABLES, WORDS, step

PORK, BELLY, CHICKEN = "pork shoulder, Boston blade, lean+fat", "pork belly", "chicken thigh, with skin"
CABBAGE, CARROT, FISH = "cabbage, green", "carrot", "cod, Atlantic"
TYPE_1 = "curing salt, 6.25 % sodium nitrite (type 1)"
MIX = (("salt, fine sea", "1.8 % of meat block"), ("pepper, black, ground", "3 g"), ("water, tap", "10 % of food"))
STEPS = (
    step("salt", "bench", "30 min", use="mix", hands_on="yes", temperature="8 °C"),
    step("cook", "oven", None, until="core 72 °C", chamber="110 °C", loss="8-12 %"),
    step("cool", "bench", "1 h", air="water", temperature="0 °C"),
)


def _page(
    formula,
    food=PORK,
    mix=MIX,
    kind="mixed in",
    form="minced",
    steps=STEPS,
    batch="1 kg",
    keeping="pack: air\ntime: 2 days",
):
    head = f'title: Test\nfood: "{food}"\nkind: cook\nsummary: Test.\nkeeper: Test\nreviewed: 2026-01-05\nportions: 10'
    rows = "".join(f'  - {{item: "{item}", amount: {amount}}}\n' for item, amount in mix)
    blocks = {
        "pieces": f"shape: cylinder\nthickness: 28 mm\nlength: 12 cm\nform: {form}"
        + ("\ncasing: natural" if form == "minced" else ""),
        "formula": "\n".join(f"- {{{row}}}" for row in formula),
        "salting": f"kind: {kind}\nname: mix\ntemperature: 3 °C\ningredients:\n{rows}",
        "steps": "\n".join(steps),
        "batches": f"written_for: {batch}",
        "keeping": keeping + "\ntemperature: 3 °C",
    }
    texts = [BlockText(kind=key, text=text, line=10) for key, text in blocks.items() if text]
    return read_method("test.md", "test", BlockText(kind="front matter", text=head, line=1), texts, WORDS, "us", TABLES)


def _report(*formula, house=HOUSE, **more):
    method, faults = _page(formula, **more)
    assert not faults, [str(each) for each in faults]
    return evaluate(method, house, TABLES)


def _part(food, amount, **more):
    return ", ".join([f'food: "{food}"', f"amount: {amount}", *(f"{key}: {value}" for key, value in more.items())])


def test_fat_and_water_of_a_formula_are_the_weighted_sums():
    """70 % at 20 % fat and 65 % water, 30 % at 60 % fat and 32 % water: 32 % fat, 55.1 % water."""
    report = _report(_part(PORK, "70 %", fat="20 %", water="65 %"), _part(BELLY, "30 %", fat="60 %", water="32 %"))
    assert report.food.fat == pytest.approx(0.32) and report.food.water == pytest.approx(0.551)
    assert report.food.name == PORK


def test_a_part_with_its_own_fat_keeps_the_proportions_of_its_lean():
    pork = TABLES.foods[PORK]
    own = with_own(pork, 0.30, None)
    assert own.fat == 0.30 and own.water / own.protein == pytest.approx(pork.water / pork.protein)
    assert own.water + own.fat + own.protein + own.carbohydrate + own.ash == pytest.approx(1)
    assert own.density < pork.density


def test_a_mixture_of_one_food_is_that_food():
    pork = TABLES.foods[PORK]
    mixed = mixed_food([(pork, 0.4), (pork, 0.6)], pork)
    for part in pork.__struct_fields__:
        value = getattr(pork, part)
        assert getattr(mixed, part) == (pytest.approx(value) if isinstance(value, float) else value)


def test_what_is_cooked_holds_the_water_and_salt_that_were_mixed_in():
    """1 kg at 60 % water, 100 g of water and 18 g of salt and 3 g of pepper: 700.4 g of water in 1121 g, pepper's own included."""
    report = _report(_part(PORK, "100 %", fat="20 %", water="60 %"))
    water = (600 + 100 * 0.999 + 18 * 0.005 + 3 * TABLES.ingredients["pepper, black, ground"].water) / 1121
    assert report.filled.water == pytest.approx(water)
    assert report.course.result is not None and report.food.water == pytest.approx(0.60)


def test_the_yield_of_a_sausage_counts_what_is_filled():
    """1 kg of meat fills 1121 g; 10 % lost in the heat leaves 1008.9 g."""
    report = _report(_part(PORK, "100 %"))
    assert report.finished.ratio.typical == pytest.approx(1.121 * 0.90, rel=1e-3)


def test_percent_of_meat_block_leaves_out_the_vegetables():
    """1.8 % of 800 g of meat is 14.4 g; 10 % of all food is 100 g."""
    report = _report(_part(PORK, "800 g"), _part(CABBAGE, "200 g"), form="mixed")
    grams = {part.ingredient.name: part.mass.typical * 1000 for part in report.saltings[0].made.parts}
    assert grams["salt, fine sea"] == pytest.approx(14.4) and grams["water, tap"] == pytest.approx(100)


def test_ppm_are_on_the_meat_block():
    """156 ppm on 600 g of meat in a kilogram of mixture: 0.0936 g of nitrite, 1.4976 g of a 6.25 % salt."""
    mix = (*MIX, (TYPE_1, "156 ppm nitrite"))
    report = _report(_part(PORK, "600 g"), _part(CABBAGE, "400 g"), form="mixed", mix=mix)
    assert report.saltings[0].made.parts[-1].mass.typical * 1000 == pytest.approx(1.4976)
    assert report.saltings[0].equilibrium.ingoing_nitrite_ppm == pytest.approx(156)


def test_each_food_of_a_formula_costs_its_own_price():
    """0.7 kg at 8 and 0.3 kg at 5 are 7.10, 18 g of salt at 2 a kilogram 0.036, of 3 g of pepper no price is known."""
    prices = {PORK: "8.00 per kg", BELLY: "5.00 per kg", "salt, fine sea": "2.00 per kg"}
    rows = tuple(Price(item=item, price=(float(each.split()[0]), "mass"), line=1) for item, each in prices.items())
    house = replace(HOUSE, prices=rows)
    report = _report(_part(PORK, "70 %"), _part(BELLY, "30 %"), house=house)
    found = cost(report.bill, house)
    assert found.total == pytest.approx(7.10 + 0.036) and found.missing == ("pepper, black, ground",)


def test_allergens_of_every_food_are_named():
    report = _report(_part(PORK, "80 %"), _part(FISH, "20 %"), form="mixed")
    assert report.allergens == ("fish",)


def test_the_strictest_food_of_a_mixture_decides():
    """Ground pork is done at 160 °F; with poultry in it the mixture needs 165 °F [usda-safe-temperatures]."""

    def core(*formula):
        found = {each.title: each.level for each in _report(*formula).findings if each.rule == "core-temperature"}
        return found

    alone, mixed = core(_part(PORK, "100 %")), core(_part(PORK, "90 %"), _part(CHICKEN, "10 %"))
    assert "stop" not in alone.values() and "stop" in mixed.values()
    assert alone["Core of minced meat"] == mixed["Core of minced meat"] == "met"


def test_vegetables_in_a_sausage_are_judged_as_part_of_it():
    plain, mixed = _report(_part(PORK, "100 %")), _report(_part(PORK, "90 %"), _part(CARROT, "10 %"))
    rules = [{each.rule for each in report.findings} for report in (plain, mixed)]
    assert rules[0] == rules[1]


def test_a_formula_of_vegetables_is_judged_as_each_of_them():
    steps = (
        step("salt", "bench", "30 min", use="mix", hands_on="yes", temperature="18 °C"),
        step("ferment", "cellar", "20 days", temperature="18 °C", final_ph="3.8"),
    )
    report = _report(
        _part(CABBAGE, "80 %"), _part(CARROT, "20 %"), food=CABBAGE, steps=steps, kind="dry-salted ferment", form="cut",
        mix=(("salt, fine sea", "2.2 % of food"),), keeping="pack: brine\ntime: 60 days",
    )  # fmt: skip
    assert any("carrot in it" in each.message for each in report.findings) or report.findings
    assert report.food.water == pytest.approx(0.8 * TABLES.foods[CABBAGE].water + 0.2 * TABLES.foods[CARROT].water)


@pytest.mark.parametrize(
    ("formula", "more", "message"),
    [
        ((_part(PORK, "70 %"), _part(BELLY, "20 %")), {}, 'formula: read "parts of 90 %"; allowed: parts that add up to 100 %'),
        ((_part(PORK, "700 g"), _part(BELLY, "200 g")), {}, 'formula: read "parts of 0.9 of the batch"; allowed: parts of 1 kg'),
        ((_part(PORK, "70 %"), _part(BELLY, "300 g")), {}, "all parts by mass, or all as shares"),
        ((_part(BELLY, "100 %"),), {}, f"the page's food, {PORK}, among its parts"),
        ((_part(PORK, "50 %"), _part(PORK, "50 %")), {}, "each food once"),
        ((_part(PORK, "100 %", fat="60 %", water="50 %"),), {}, "fat and water of at most 100 % together"),
        ((_part(PORK, "100 %"),), {"form": "cut"}, "mixed in with form cut"),
    ],
)  # fmt: skip
def test_faults_of_a_formula_are_one_line(formula, more, message):
    method, faults = _page(formula, **more)
    assert method is None and len(faults) == 1 and message in str(faults[0]), [str(each) for each in faults]


@pytest.mark.parametrize("kind", ["ferment brine", "dry-salted ferment"])
def test_vegetables_under_their_brine_do_not_dry_in_air(kind):
    """Weeks under brine evaporate nothing, whatever is cooked afterwards."""
    steps = (
        step("salt", "bench", "30 min", use="mix", hands_on="yes", temperature="18 °C"),
        step("ferment", "cellar", "40 days", temperature="17 °C", final_ph="3.8"),
        step("cook", "stove", "30 min", air="water", temperature="90 °C"),
    )
    water = (("water, tap", "100 % of food"),) if kind == "ferment brine" else ()
    mix = (*water, ("salt, fine sea", "3 % of food" if water else "2.25 % of food"))
    report = _report(
        _part(CABBAGE, "100 %"),
        food=CABBAGE,
        steps=steps,
        kind=kind,
        form="cut",
        mix=mix,
        keeping="pack: brine\ntime: 60 days",
    )
    assert report.course.result.stages[1].mass_lost.high == pytest.approx(0, abs=1e-6)
    assert report.salted.result.end.food_mass_ratio.typical > 0.9
