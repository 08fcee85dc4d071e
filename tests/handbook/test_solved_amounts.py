"""Amounts as the trade states them: ppm of nitrite, degrees salometer, gravity, salt in the meat; against hand arithmetic and tables."""

import pytest

from handbook.base.errors import HandbookError
from handbook.base.forms import Reading
from handbook.base.yaml_text import List, Text
from handbook.page.amounts import AmountForm
from handbook.page.salting import ingredients_form
from handbook.report.evaluate import evaluate
from handbook.salt.uptake import Spread, run
from tests.handbook.safety_cases import BELLY, CHOP, CURE, HOUSE, PREPARE, ROAST, TABLES, case_of
from tests.one_page import OnePage

TYPE_1 = "curing salt, 6.25 % sodium nitrite (type 1)"
CONTINENTAL = "curing salt, 0.6 % nitrite (continental type)"


def _made(kind, *lines, food=CHOP, form=None, name="cure", **keys):
    more = "".join(f"{key}: {value}\n" for key, value in keys.items())
    rows = "".join(f'  - {{item: "{item}", amount: {amount}}}\n' for item, amount in lines)
    salting = f"kind: {kind}\nname: {name}\ntemperature: 3 °C\n{more}ingredients:\n{rows}"
    method = case_of(
        food, "cook", PREPARE, CURE.replace("use: cure", f"use: {name}"), ROAST, salting=salting, form=form
    ).method
    found = evaluate(method, HOUSE, TABLES).saltings[0]
    return found, {part.ingredient.name: part.mass.typical * 1000 for part in found.made.parts}


def test_ppm_in_a_comminuted_mix_is_the_inspectors_quarter_ounce():
    """0.25 oz of nitrite on 100 lb is 156.25 ppm [fsis-calculations-handbook], page 15; on 1 kg 2.5 g of a 6.25 % salt."""
    found, grams = _made("mixed in", (TYPE_1, "156.25 ppm nitrite"), ("salt, fine sea", "2 % of food"), form="minced")
    assert grams[TYPE_1] == pytest.approx(2.5) and found.equilibrium.ingoing_nitrite_ppm == pytest.approx(156.25)


def test_ppm_in_a_pumped_pickle_is_the_inspectors_formula_turned_round():
    """2 lb of nitrite in 1000 lb of pickle pumped at 10 % is 200 ppm [fsis-calculations-handbook], page 19.

    Of a salt of 6.25 % nitrite that is 32 lb in 1000, the rest 968: 968 g of the rest ask for 32 g.
    """
    rest = (("water, tap", "900 g"), ("salt, fine sea", "68 g"))
    found, grams = _made("injection", *rest, (TYPE_1, "200 ppm nitrite"), pump="10 %", name="cure")
    assert grams[TYPE_1] == pytest.approx(32.0)
    assert found.equilibrium.ingoing_nitrite_ppm == pytest.approx(200)


def test_ppm_in_a_cover_pickle_counts_meat_and_pickle():
    """0.02 kg of nitrite in 20 kg of pickle on 80 kg of meat is 200 ppm, method two [fsis-calculations-handbook], page 22.

    To 1 kg of meat and m + 0.25 kg of pickle: 0.0625 m = 2e-4 (1 + 0.25 + m), m = 4.0128 g.
    """
    found, grams = _made("immersion", ("water, tap", "235 g"), ("salt, fine sea", "15 g"), (TYPE_1, "200 ppm nitrite"))
    assert grams[TYPE_1] == pytest.approx(1000 * 2e-4 * 1.25 / (0.0625 - 2e-4))
    assert found.equilibrium.ingoing_nitrite_ppm == pytest.approx(200)


def test_ppm_in_a_dry_cure_is_on_green_weight_and_bellies_take_the_same_way():
    """200 ppm of 1 kg is 0.2 g of nitrite: 3.2 g of a 6.25 % salt [fsis-calculations-handbook], page 24."""
    assert _made("dry cure", (TYPE_1, "200 ppm nitrite"), food=BELLY)[1][TYPE_1] == pytest.approx(3.2)


def test_several_curing_salts_add_up():
    """100 ppm of a 6.25 % salt and 20 ppm of a 0.6 % salt: 1.6 g and 3.333 g, 120 ppm in all, which the rules judge."""
    found, grams = _made(
        "mixed in", (TYPE_1, "100 ppm nitrite"), (CONTINENTAL, "20 ppm nitrite"), ("salt, fine sea", "2 % of food"),
        form="minced",
    )  # fmt: skip
    assert grams[TYPE_1] == pytest.approx(1.6) and grams[CONTINENTAL] == pytest.approx(20 / 6)
    assert found.equilibrium.ingoing_nitrite_ppm == pytest.approx(120)


def test_curing_salt_and_target_are_worked_out_together():
    """Nitrite from the pickle's weight and salt from the target: both hold at once in the pickle that comes out."""
    lines = (("water, tap", "500 g"), (TYPE_1, "120 ppm nitrite"), ("salt, fine sea", "to 2.2 % in the meat"))
    found, _ = _made("equilibrium", *lines)
    assert found.equilibrium.ingoing_nitrite_ppm == pytest.approx(120, rel=1e-9)
    assert found.equilibrium.salt_mass_fraction.typical == pytest.approx(0.022, rel=1e-9)


@pytest.mark.parametrize(
    ("kind", "more"),
    [
        ("equilibrium", {"lines": (("water, tap", "800 g"),)}),
        ("injection", {"lines": (("water, tap", "900 g"),), "pump": "12 %"}),
        ("mixed in", {"lines": (("water, tap", "80 g"),), "form": "minced"}),
        ("dry cure", {"lines": ()}),
    ],
)
def test_salt_in_the_meat_is_met_however_it_gets_in(kind, more):
    """``to 2.2 % in the meat`` makes an equilibrium of 2.2 % of the food."""
    lines = more.pop("lines")
    found, _ = _made(kind, *lines, ("salt, fine sea", "to 2.2 % in the meat"), **more)
    assert found.equilibrium.salt_mass_fraction.typical == pytest.approx(0.022, rel=2e-3)
    assert found.mixture.target_salt.text == "2.2 % of food"


def test_salt_in_a_pumped_ham_by_hand():
    """Pumped to 110 %: 1.1 kg at 2 % hold 22 g of salt. 1 kg of lean loin brings its own, the 100 g of pickle the rest."""
    _, grams = _made("injection", ("water, tap", "850 g"), ("salt", "to 2 % in the meat"), pump="10 %")
    own = TABLES.foods[CHOP].native_salt_fraction * 1000
    in_pickle = (22 - own) / 100
    pickle = 850 + grams["salt"]
    assert 0.99 * grams["salt"] / pickle == pytest.approx(in_pickle)


#: Degrees salometer, salt by weight and gravity at 60/60 °F: tests/published/salometer.csv [salometer-definition].
@pytest.mark.parametrize(("amount", "percent"), [("60 salometer", 15.84), ("40 °SAL", 10.56), ("SG 1.0734", 10.0)])
def test_a_brine_to_a_reading_is_that_of_the_table(amount, percent):
    found, grams = _made("immersion", ("water, tap", "1 kg"), ("salt, pickling/canning (fine, no additives)", amount))
    (salt,) = (value for name, value in grams.items() if name.startswith("salt"))
    assert 100 * 0.999 * salt / (1000 + salt) == pytest.approx(percent, abs=0.03)
    assert amount.startswith("SG") or found.strength.at_scale.salometer == pytest.approx(
        float(amount.split()[0]), abs=1e-6
    )


def test_sugar_counts_in_what_the_instrument_reads():
    """With sugar in it less salt makes 60 salometer: the finished brine reads it."""
    water, salt = ("water, tap", "1 kg"), ("salt, fine sea", "60 salometer")
    (plain, grams), (sweet, less) = (
        _made("immersion", water, salt),
        _made("immersion", water, ("sugar, white granulated", "60 g"), salt),
    )
    assert less["salt, fine sea"] < grams["salt, fine sea"] - 25
    assert plain.strength.at_scale.salometer == pytest.approx(60) == sweet.strength.at_scale.salometer


@pytest.mark.parametrize(
    ("kind", "lines", "message"),
    [
        ("dry cure", [("salt, fine sea", "60 salometer")], "a reading only of a brine, not in the kind dry cure"),
        ("immersion", [("water, tap", "1 kg"), ("salt, fine sea", "60 salometer"), ("salt", "to 2 % in the meat")],
         "one ingredient to be worked out from the salt"),
    ],
)  # fmt: skip
def test_what_cannot_be_worked_out_is_a_fault_in_one_line(kind, lines, message):
    with pytest.raises(AssertionError, match=message):
        _made(kind, *lines)


@pytest.mark.parametrize(
    ("kind", "lines", "more", "message"),
    [
        ("dry cure", [(CONTINENTAL, "5000 ppm nitrite")], {}, None),
        ("injection", [("water, tap", "1 kg"), (CONTINENTAL, "700 ppm nitrite")], {"pump": "10 %"}, "can bring"),
        ("immersion", [("water, tap", "1 kg"), ("sugar, white granulated", "500 g"), ("salt", "SG 1.02")], {}, "specific gravity"),
    ],
)  # fmt: skip
def test_what_cannot_be_reached_is_a_fault(kind, lines, more, message):
    if message is None:
        assert _made(kind, *lines, **more)[0].equilibrium.ingoing_nitrite_ppm == pytest.approx(5000)
        return
    with pytest.raises(HandbookError, match=message):
        _made(kind, *lines, **more)


@pytest.mark.parametrize(
    "text",
    ["150 ppm", "0 ppm nitrite", "150 ppm salt", "120 salometer", "SG 2.0", "SG 106", "to 40 % in the meat", "to 2 %"],
)
def test_amounts_that_may_not_be_written(text):
    reading = Reading(file="a.md")
    assert AmountForm().read(Text(value=text, line=2), "amount", reading) is None
    assert '"150 ppm nitrite"' in str(reading.faults[0])


def test_a_ppm_of_any_ingredient_is_a_share():
    """550 ppm of erythorbate on a kilogram is 0.55 g."""
    _, grams = _made(
        "mixed in", ("sodium erythorbate / ascorbate", "550 ppm of food"), ("salt", "2 % of food"), form="minced"
    )
    assert grams["sodium erythorbate / ascorbate"] == pytest.approx(0.55)


@pytest.mark.parametrize("percent", ["1.2", "1.8"])
def test_salt_in_the_meat_of_a_limited_brine_is_that_when_it_comes_out(percent):
    """An immersion of two days ends at the stated salt, by the uptake model run over what was made up; its equilibrium is higher."""
    lines = (("water, tap", "1 kg"), ("salt, fine sea", f"to {percent} % in the meat"))
    rows = "".join(f'  - {{item: "{item}", amount: {amount}}}\n' for item, amount in lines)
    method = case_of(
        CHOP,
        "cook",
        PREPARE,
        CURE,
        ROAST,
        salting=f"kind: immersion\nname: cure\ntemperature: 3 °C\ningredients:\n{rows}",
    ).method
    report = evaluate(method, HOUSE, TABLES)
    at_end = run(report.salted.result.piece, [report.salted.result.stages[0].stage], Spread(samples=0)).end
    assert at_end.salt_mass_fraction.typical == pytest.approx(float(percent) / 100, rel=1e-3)
    assert report.saltings[0].equilibrium.salt_mass_fraction.typical > 1.05 * float(percent) / 100


def test_a_salt_that_no_brine_reaches_in_the_time_is_a_fault():
    brine = 'kind: immersion\nname: cure\ntemperature: 3 °C\ningredients:\n  - {item: "water, tap", amount: 1 kg}\n'
    brine += '  - {item: "salt", amount: to 20 % in the meat}'
    method = case_of(
        CHOP, "cook", PREPARE, CURE.replace("2 days", "1 h"), ROAST, salting=brine.replace("20 %", "8 %")
    ).method
    with pytest.raises(HandbookError, match="a salt that a brine reaches in the stated time"):
        evaluate(method, HOUSE, TABLES)


@pytest.mark.parametrize(
    ("line", "item", "amount"),
    [
        ("curing salt type 1, 150 ppm nitrite", "curing salt, 6.25 % sodium nitrite (type 1)", "150 ppm nitrite"),
        ("fine sea salt, SG 1.060", "salt, fine sea", "SG 1.060"),
        ("fine sea salt to SG 1.060", "salt, fine sea", "to SG 1.060"),
        ("fine sea salt to 60 salometer", "salt, fine sea", "to 60 salometer"),
        ("fine sea salt to 2.2 % in the meat", "salt, fine sea", "to 2.2 % in the meat"),
        ("salt, to 1.9 % in the meat", "salt", "to 1.9 % in the meat"),
        ("fine table salt, 2 % of food", "salt, fine table (cubic crystals)", "2 % of food"),
        ("thyme, chopped", "", ""),
    ],
)
def test_an_amount_behind_a_comma(line, item, amount):
    """A line may end with any amount that the trade states; words behind a comma are none."""
    reading = Reading(file="page.md")
    lines = ingredients_form(OnePage().kitchen.words)
    found = lines.read(List(items=(Text(value=line, line=1),), line=1), "ingredients", reading)
    assert [found[0].item, found[0].amount.text] == [item, amount] if item else reading.faults
