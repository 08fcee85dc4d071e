"""Ingredients against USDA SR28 as printed, curing salts by definition, and the faults of a house's rows.

Sources and trust stand on top of the tables in tests/published.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handbook.base.errors import HandbookError, RangeError, UnitError
from handbook.base.sources import TRUSTS, source
from handbook.catalogue import ingredients
from handbook.catalogue.foods import ALLERGENS
from handbook.catalogue.tables import engine_tables
from tests.published import half_last_digit, rows

WEIGHTS, COMPOSITION = rows("household_weights.csv"), rows("ingredient_composition.csv")
# m3, US customary, exact by definition of the gallon of 231 cubic inches.
CUP = 236.5882365e-6
MEASURES = {"cup": CUP, "tbsp": CUP / 16, "tsp": CUP / 48, "12 fl oz": CUP * 12 / 8, "1.5 fl oz": CUP * 1.5 / 8}
# Standard atomic weights: Na 22.990, Cl 35.45, N 14.007, O 15.999.
SODIUM = {"salt": 22.990 / 58.44, "nitrite": 22.990 / 68.995, "nitrate": 22.990 / 84.994}
LAKE_SYRUP = {"name": "lake syrup", "kind": "syrup", "water": "0.3", "sugars": "0.65", "source": "house-figures",
           "trust": "second-hand"}  # fmt: skip


def find(name, house=()):
    """The ingredient called ``name`` with a house's rows; None where there is none."""
    return {each.name: each for each in ingredients.load(house)}.get(name)


def by_number(number):
    found = [each for each in ingredients.load() if each.ndb_number == number]
    assert found, number
    return found


@pytest.mark.parametrize("row", WEIGHTS, ids=lambda row: f"{row['description']} {row['measure']}")
def test_household_weight(row):
    """A printed household weight is met within half its last digit; two that SR28 itself contradicts are not."""
    (ingredient,) = by_number(row["ndb_number"])
    typical = ingredient.mass_of_volume(MEASURES[row["measure"]])[1] * 1000
    agrees = abs(typical - float(row["grams"])) <= half_last_digit(row["grams"]) + 1e-9
    assert agrees == (row["disagrees"] != "yes"), typical


def test_household_weights_are_many():
    assert len({row["ndb_number"] for row in WEIGHTS}) >= 25


@pytest.mark.parametrize(("name", "grams"), [("sugar, brown, packed", 220), ("sugar, brown, loose", 145)])
def test_brown_sugar_by_filling(name, grams):
    """SR28 NDB 19334, sugars, brown, read: 220 g a cup packed, 145 g a cup unpacked."""
    assert find(name).mass_of_volume(CUP)[1] * 1000 == pytest.approx(grams, abs=0.5)


@pytest.mark.parametrize("row", COMPOSITION, ids=lambda row: row["description"])
def test_composition(row):
    """Water, sugars and sodium are the printed ones, within half the last digit."""
    (ingredient,) = by_number(row["ndb_number"])
    assert ingredient.water * 100 == pytest.approx(float(row["water"]), abs=0.005)
    assert ingredient.sodium * 1e5 == pytest.approx(float(row["sodium_mg"]), abs=0.5)
    if row["sugars"]:
        assert ingredient.sugars * 100 == pytest.approx(float(row["sugars"]), abs=0.005)


def test_salt_of_table_salt_is_its_ash():
    """SR28 prints 99.8 g of ash for table salt, which is taken as salt; its sodium (38758 mg) is 1.3 % less than that
    much salt holds, a disagreement within SR28."""
    salt = find("salt, fine table (cubic crystals)")
    assert salt.salt * 100 == pytest.approx(99.8, abs=0.05)
    assert salt.sodium / SODIUM["salt"] / salt.salt == pytest.approx(0.987, abs=5e-4)


@pytest.mark.parametrize(
    ("name", "nitrite", "nitrate", "salt"),
    [
        ("curing salt, 6.25 % sodium nitrite (type 1)", 0.0625, 0, 0.9375),
        ("curing salt, 6.25 % nitrite + 4 % nitrate (type 2)", 0.0625, 0.04, 0.8975),
        ("curing salt, 0.6 % nitrite (continental type)", 0.006, 0, 0.994),
    ],
)
def test_curing_salt_by_definition(name, nitrite, nitrate, salt):
    """Curing salt is so much nitrite and nitrate by mass and the rest salt (definition of the blends; common practice,
    no source)."""
    cure = find(name)
    assert (cure.nitrite, cure.nitrate) == (nitrite, nitrate)
    assert cure.salt == pytest.approx(salt, abs=1e-12) and cure.kind == "curing salt"
    assert cure.salt + cure.nitrite + cure.nitrate == pytest.approx(1, abs=1e-12)


def test_nitrite_is_in_curing_salts_alone():
    for each in ingredients.load():
        assert (each.nitrite + each.nitrate > 0) == (each.kind == "curing salt"), each.name


@pytest.mark.parametrize(
    "each", [i for i in ingredients.load() if i.kind in ("salt", "curing salt") and not i.ndb_number],
    ids=lambda each: each.name,
)  # fmt: skip
def test_sodium_of_salts(each):
    """Sodium of salts and curing salts goes with their salt, nitrite and nitrate, to 5 mg in 100 g."""
    expected = sum(getattr(each, part) * share for part, share in SODIUM.items())
    assert each.sodium == pytest.approx(expected, abs=5e-5)


@pytest.mark.parametrize(
    ("name", "share", "tolerance"),
    [
        # Formula masses from the atomic weights above, P 30.974, H 1.008, C 12.011.
        ("baking soda", 22.990 / 84.006, 5e-4),  # NaHCO3; SR28 prints 27360 mg
        ("sodium tripolyphosphate (food grade)", 5 * 22.990 / 367.86, 1e-3),  # Na5P3O10
        ("monosodium glutamate", 22.990 / 187.13, 1e-3),  # C5H8NNaO4 . H2O
        ("sodium erythorbate / ascorbate", 22.990 / 198.11, 1e-3),  # C6H7NaO6
    ],
)
def test_sodium_of_additives(name, share, tolerance):
    """Sodium of additives goes with their formula, and none of it is counted as salt."""
    additive = find(name)
    assert additive.sodium == pytest.approx(share, abs=tolerance) and additive.salt == 0


@pytest.mark.parametrize("each", engine_tables().salts, ids=lambda each: each.name)
def test_salts_are_food_grade(each):
    """Salt is at least 97 % sodium chloride on dry matter (CXS 150-1985, 3.1, read); moist grey sea salt is known to
    fall short, 96.7 % here (from memory)."""
    assert (each.salt / (1 - each.water) >= 0.97) == (each.name != "salt, moist grey sea")


@pytest.mark.parametrize(
    ("name", "volumes"),
    [
        # Cups that stand for one cup of table salt, from public conversion tables, second-hand.
        ("salt, dense rolled flake (kitchen coarse)", 1.25),
        ("salt, light hollow flake (pyramid flake, kitchen coarse)", 2),
        ("salt, large finishing flake", 2),
        ("salt, pickling/canning (fine, no additives)", 1),
    ],
)
def test_same_cup_differs_by_crystal(name, volumes):
    """Within its range, a cup of each crystal weighs 292 g (table salt, SR28) over the published exchange."""
    low, _, high = find(name).mass_of_volume(CUP)
    assert low <= 0.292 / volumes <= high


def test_salts_differ_and_never_by_weight():
    """Cups of salts differ by more than a factor of 2, their salt by weight by no more than 12 %."""
    cups = [each.mass_of_volume(CUP)[1] for each in engine_tables().salts]
    assert len(cups) == 9 and max(cups) / min(cups) > 2
    assert min(each.salt for each in engine_tables().salts) > 0.88


@pytest.mark.parametrize("each", ingredients.load(), ids=lambda each: each.name)
def test_row_is_whole(each):
    """Contents sum to no more than 1, ranges rise, words are known, a source is cited; only numbered rows are read."""
    assert each.water + each.salt + each.sugars + each.nitrite + each.nitrate <= 1 + 1e-9
    assert each.kind in ingredients.KINDS and each.density_class in ingredients.DENSITY_CLASSES
    assert set(each.allergens) <= set(ALLERGENS) and each.trust in TRUSTS
    for ends in filter(None, (each.kg_per_m3, each.piece_mass)):
        assert 0 < ends[0] <= ends[1] <= ends[2]
    assert source(each.source).trust == each.trust
    assert (each.trust == "read") == bool(each.ndb_number)


def test_liquids_are_about_as_dense_as_water():
    """Thin liquids weigh 0.92 (spirits) to 1.1 times water, syrups 1.25 to 1.45 (handbook densities, from memory)."""
    for each in ingredients.load():
        if each.kind == "liquid" and each.name != "water, ice":  # ice is weighed: no weight of a cup is known
            assert 920 < each.kg_per_m3[1] < 1100, each.name
        if each.kind == "syrup":
            assert 1250 < each.kg_per_m3[1] < 1460, each.name


def test_salt_only_where_it_was_added():
    """Milk, juice, vinegar, spices and herbs bring sodium but no salt; sauces and seasoned mixtures bring salt."""
    salted = {each.name for each in ingredients.load() if each.salt and each.kind not in ("salt", "curing salt")}
    assert salted == {
        "soy sauce, shoyu", "soy sauce, tamari", "soy sauce, reduced sodium", "fish sauce", "oyster sauce", "miso",
        "chili powder blend", "horseradish, prepared",
            "sauce, worcestershire",
    }  # fmt: skip
    for name in salted:
        sauce = find(name)
        assert sauce.salt == pytest.approx(sauce.sodium * 58.44 / 22.990, abs=1e-4), name


@pytest.mark.parametrize(
    ("name", "allergens"),
    [
        ("soy sauce, shoyu", {"soy", "wheat", "gluten"}),
        ("fish sauce", {"fish"}),
        ("oyster sauce", {"mollusc", "soy", "wheat", "gluten"}),
        ("buttermilk, cultured low fat", {"milk"}),
        ("beer", {"gluten"}),
        ("syrup, malt", {"gluten"}),
        ("wine, white table", {"sulphite"}),
        ("mustard seed, whole", {"mustard"}),
        ("celery seed", {"celery"}),
        ("salt, fine sea", set()),
        ("honey", set()),
    ],
)
def test_allergens(name, allergens):
    """Allergens of the usual make (names of Regulation (EU) 1169/2011, annex II, and of US law; from memory)."""
    assert set(find(name).allergens) == allergens


@pytest.mark.parametrize(("name", "grams"), [("garlic, raw", (2, 3, 5)), ("dill, fresh sprigs", (0.1, 0.2, 0.3))])
def test_piece_mass(name, grams):
    """A clove of garlic is 3 g (USDA, second-hand); 5 sprigs of dill print as 1 g (SR28, read)."""
    assert find(name).piece_mass == pytest.approx([each / 1000 for each in grams])


def test_kinds_lists():
    """Salts leave out curing salt and the salt of no told crystal."""
    assert all(each.kind == "salt" and each.kg_per_m3 for each in engine_tables().salts)
    assert {each.kind for each in ingredients.load()} == set(ingredients.KINDS)


@given(st.floats(0, 0.1), st.sampled_from([each for each in ingredients.load() if each.kg_per_m3]))
def test_mass_of_volume_is_proportional(volume, each):
    """Twice the volume weighs twice as much, at either end of the range."""
    once, twice = each.mass_of_volume(volume), each.mass_of_volume(2 * volume)
    assert twice == pytest.approx([2 * end for end in once], rel=1e-12)


def test_mass_of_volume_faults():
    """What has no cup weight must be weighed, and no volume is below 0 or unknown."""
    with pytest.raises(UnitError, match="a mass: no weight of a cup is known"):
        find("salt").mass_of_volume(CUP)
    for volume in (-1e-6, float("nan")):
        with pytest.raises(RangeError, match="allowed: 0 or more"):
            find("honey").mass_of_volume(volume)


def test_load_house_row():
    """A house's row is added, or takes the place of the engine's; the engine's own list stays as it is."""
    assert find("lake syrup", [LAKE_SYRUP]).sugars == 0.65
    assert find("lake syrup", [LAKE_SYRUP]).kg_per_m3 is None
    assert find("lake syrup") is None
    honey = {**LAKE_SYRUP, "name": "honey", "g_per_cup_low": "330", "g_per_cup": 340, "g_per_cup_high": 350.0}
    assert find("honey", [honey]).mass_of_volume(CUP) == pytest.approx([0.33, 0.34, 0.35])
    assert [each.name for each in ingredients.load([honey])] == [each.name for each in ingredients.load()]


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"sugar": "0.6"}, "Did you mean sugars?"),
        ({"kind": "sirup"}, 'read "lake syrup: kind: sirup"; allowed: salt, curing salt, sugar, syrup, '),
        ({"kind": "sirup"}, "Did you mean syrup?"),
        ({"water": "0.4"}, "lake syrup: sum of water, salt, sugars, nitrite, nitrate: read 1.05; allowed: at most 1"),
        ({"salt": "3 %"}, 'read "lake syrup: salt: 3 %"; allowed: a number, 0 to 1'),
        ({"nitrite": "0.01"}, 'read "lake syrup: syrup with nitrite or nitrate"; allowed: the kind curing salt'),
        ({"kind": "curing salt"}, "allowed: its fraction of nitrite or nitrate"),
        ({"g_per_cup": "300"}, 'read "lake syrup: g_per_cup: nothing"; allowed: a number, 0.001 to 1000'),
        (
            {"g_per_cup_low": "310", "g_per_cup": "300", "g_per_cup_high": "320"},
            'read "lake syrup: g_per_cup: 310 300 320"; allowed: low, typical and high, rising',
        ),
        ({"piece_g": "2"}, 'read "lake syrup: piece_g: 2"; allowed: low, typical and high in grams'),
        ({"allergen": "glutten"}, "Did you mean gluten?"),
        ({"source": ""}, 'read "lake syrup: source: nothing"; allowed: the key of a source'),
        ({"trust": ""}, 'read "lake syrup: trust: nothing"; allowed: read, second-hand, from memory, '),
    ],
)
def test_load_faulty_house_row(change, message):
    """Each fault of a house's row is told with what was read and what is allowed."""
    with pytest.raises(HandbookError) as caught:
        ingredients.load([{**LAKE_SYRUP, **change}])
    assert message in str(caught.value)


def test_load_one_name_twice():
    with pytest.raises(UnitError, match="a name that no other row of the house has"):
        ingredients.load([LAKE_SYRUP, LAKE_SYRUP])
