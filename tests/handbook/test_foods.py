"""Foods against USDA SR28 as printed, component densities computed apart, and the faults of a house's rows.

Sources and trust stand on top of the tables in tests/published.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import asdict

from handbook.base.errors import HandbookError, RangeError, UnitError
from handbook.base.sources import TRUSTS, source
from handbook.catalogue import foods
from tests.published import rows

PARTS = ("water", "fat", "protein", "carbohydrate", "ash")
RAW, FINISHED = rows("raw_foods.csv"), rows("finished_products.csv")
BY_NUMBER = {each.ndb_number: each for each in foods.load() if each.ndb_number}
# Choi and Okos (1986), density in kg/m3 = a + b t + c t2 with t in degC; coefficients read in two reprints.
COMPONENT_DENSITY = {
    "water": (997.18, 3.1439e-3, -3.7574e-3),
    "protein": (1329.9, -0.51840, 0),
    "fat": (925.59, -0.41757, 0),
    "carbohydrate": (1599.1, -0.31046, 0),
    "ash": (2423.8, -0.28063, 0),
}
VENDACE = {
    "name": "vendace", "food_class": "fish", "water": "0.77", "fat": "0.03", "protein": "0.185", "ash": "0.012",
    "sodium_mg_per_100g": "50", "allergen": "fish", "scombroid": "no", "source": "house-figures",
    "trust": "second-hand",
}  # fmt: skip


def find(name, house=()):
    """The food called ``name`` with a house's rows; None where there is none."""
    return {each.name: each for each in foods.load(house)}.get(name)


def printed(row):
    return {part: float(row[part]) for part in PARTS}


def test_every_number_is_published():
    """Every food with an NDB number has its printed row, and every printed row its food."""
    assert len(RAW) >= 25
    assert {row["ndb_number"] for row in RAW} == set(BY_NUMBER)


@pytest.mark.parametrize("row", RAW, ids=lambda row: row["name"])
def test_composition_is_the_printed_one_scaled(row):
    """Each part is the printed one over the printed sum, within the last digit of the printed part; so is sodium."""
    food, parts = BY_NUMBER[row["ndb_number"]], printed(row)
    assert food.name == row["name"]
    for part in PARTS:
        assert getattr(food, part) == pytest.approx(parts[part] / sum(parts.values()), abs=5e-5)
    assert food.sodium * 1e5 == pytest.approx(float(row["sodium_mg"]), abs=0.5)


@pytest.mark.parametrize("row", RAW, ids=lambda row: row["name"])
def test_density_from_component_densities(row):
    """The density is 1 / sum(x / rho) of the printed composition at 5 degC, to half the last digit kept (1 kg/m3)."""
    parts, t = printed(row), 5.0
    volume = sum(share / (a + b * t + c * t * t) for share, (a, b, c) in _shares(parts))
    assert BY_NUMBER[row["ndb_number"]].density == pytest.approx(sum(parts.values()) / volume, abs=0.5)


def _shares(parts):
    return [(parts[part], COMPONENT_DENSITY[part]) for part in PARTS]


def test_memory_rows_have_the_density_of_their_composition():
    """Foods that no printed row stands behind have a density that goes with their own composition."""
    for food in foods.load():
        volume = sum(share / (a + b * 5 + c * 25) for share, (a, b, c) in _shares(asdict(food)))
        assert food.density == pytest.approx(1 / volume, abs=0.6), food.name


@pytest.mark.parametrize("food", foods.load(), ids=lambda food: food.name)
def test_row_is_whole(food):
    """Parts sum to 1, the class and trust are known, and the row cites a source; only numbered rows are read."""
    assert sum(getattr(food, part) for part in PARTS) == pytest.approx(1, abs=1e-12)
    assert food.food_class in foods.FOOD_CLASSES and food.trust in TRUSTS
    assert source(food.source).trust == food.trust
    assert (food.trust == "read") == bool(food.ndb_number)


def test_every_class_has_a_food():
    assert {each.food_class for each in foods.load()} == set(foods.FOOD_CLASSES)


@pytest.mark.parametrize(
    ("food_class", "allergens"),
    [
        ("fish", {"fish"}),
        ("shellfish", {"mollusc", "crustacean"}),
        ("cheese", {"milk"}),
        ("egg", {"egg"}),
        ("tofu", {"soy"}),
        ("vegetable", {"", "celery"}),
        ("nut", {"nuts", "peanut"}),
        ("pulse", {"", "soy"}),
        *((each, {""}) for each in ("poultry", "pork", "beef", "lamb", "game", "fruit")),
    ],
)
def test_allergens_of_class(food_class, allergens):
    """Allergens by class of food (names of Regulation (EU) 1169/2011, annex II, and of US law; from memory)."""
    assert {each.allergen for each in foods.load() if each.food_class == food_class} == allergens


@pytest.mark.parametrize(
    ("name", "allergen"),
    [("mussel, blue", "mollusc"), ("scallop, mixed", "mollusc"), ("oyster, eastern wild", "mollusc"),
     ("shrimp, untreated", "crustacean")],
)  # fmt: skip
def test_allergen_of_shellfish(name, allergen):
    """Mussel, scallop and oyster are molluscs, shrimp a crustacean (zoology, no source)."""
    assert find(name).allergen == allergen


@pytest.mark.parametrize(
    ("name", "allergen"),
    [("squid, mixed", "mollusc"), ("celery", "celery"), ("celeriac", "celery"), ("peanut", "peanut"),
     ("almond", "nuts"), ("soybean, boiled", "soy"), ("chickpea, boiled", ""), ("fish roe, mixed", "fish")],
)  # fmt: skip
def test_allergen_of_food(name, allergen):
    """Regulation (EU) 1169/2011, annex II: celery, peanuts, nuts, soybeans and molluscs each stand alone (second-hand)."""
    assert find(name).allergen == allergen


@pytest.mark.parametrize(("food_class", "asked"), [("nut", "nuts, peanut"), ("pulse", "soy, peanut, lupin, none")])
def test_a_house_says_the_allergen_of_nuts_and_pulses(food_class, asked):
    own = {**VENDACE, "food_class": food_class, "allergen": ""}
    with pytest.raises(UnitError, match=f'allergen: nothing"; allowed: {asked}'):
        foods.load([own])


def test_wild_boar_has_the_sodium_of_its_roast():
    """SR28 prints no sodium for raw wild boar (17158, 21.51 g protein); roasted (17159) it has 60 mg to 28.3 g protein:
    60 x 21.51 / 28.3 = 45.6 mg."""
    assert find("boar, wild").sodium * 1e5 == pytest.approx(45.6, abs=0.5)


def test_scombroid_families():
    """Of the foods here mackerel, tuna (Scombridae) and herring (Clupeidae) form histamine, and no other.

    Families: Food Standards Australia New Zealand, imported food risk statement on histamine, read; which fish belongs
    to which family is from memory.
    """
    marked = {each.name for each in foods.load() if each.is_scombroid}
    assert marked == {
        "mackerel, Atlantic", "mackerel, Spanish", "herring, Atlantic", "herring, Pacific", "tuna, yellowfin",
    }  # fmt: skip


def test_parasite_risk():
    """FDA Food Code 3-402.11(B) as adopted in WAC 246-215-03425, read: Thunnus albacares (yellowfin), molluscan
    shellfish and fish eggs out of the skein and rinsed are exempt, aquacultured fish on conditions; whatever its name
    leaves open counts as neither. Squid and octopus are no molluscan shellfish by the Code (from memory)."""
    risks = {each.name: each.parasite_risk for each in foods.load()}
    assert {name for name, risk in risks.items() if risk == "exempt"} == {
        "tuna, yellowfin", "mussel, blue", "oyster, eastern wild", "scallop, mixed", "fish roe, loose and rinsed",
    }  # fmt: skip
    assert {name for name, risk in risks.items() if risk == "farmed"} == {
        "salmon, Atlantic, farmed", "trout, rainbow, farmed",
    }  # fmt: skip
    for food in foods.load():
        assert bool(food.parasite_risk) == (food.food_class in ("fish", "shellfish")), food.name


@pytest.mark.parametrize("row", FINISHED, ids=lambda row: row["name"])
def test_salt_of_sodium(row):
    """Sodium of cured products counted as salt stays below their ash, which holds the salt and all other minerals.

    Three smoked fish in SR28 print more sodium than their own ash can hold; that disagreement is SR28's. Sour pickles
    and sturgeon come within 2 % of their ash, so a factor 2 % too high would show.
    """
    salt, ash = float(row["sodium_mg"]) * 1e-3 * foods.SALT_PER_SODIUM, float(row["ash"])
    contradicted = row["name"] in ("salmon, lox", "haddock, smoked", "herring, kippered")
    assert (salt <= ash + 0.005) == (not contradicted)


def test_native_salt_fraction_hand_worked():
    """Atlantic cod, 54 mg of sodium in 100 g: 54 * 58.443 / 22.990 = 137.3 mg of salt, 0.137 %."""
    cod = find("cod, Atlantic")
    assert cod.native_salt_fraction == pytest.approx(1.373e-3, abs=5e-7)


def test_load_house_row():
    """A house's row is added, scaled to 1, its density computed and its parasites left open."""
    vendace = find("vendace", [VENDACE])
    assert len(foods.load([VENDACE])) == len(foods.load()) + 1
    # Hand-worked: 0.77 / (0.77 + 0.03 + 0.185 + 0.012) = 0.77 / 0.997.
    assert vendace.water == pytest.approx(0.772317, abs=5e-7)
    volume = sum(share / (a + b * 5 + c * 25) for share, (a, b, c) in _shares(asdict(vendace)))
    assert vendace.density == pytest.approx(1 / volume, rel=1e-9)
    assert vendace.parasite_risk == "unstated" and vendace.source == "house-figures"
    assert find("vendace") is None


def test_load_house_row_takes_the_place():
    """A house's figures for a food of the engine take its place in the list; the engine's own stay as they are."""
    own = {**VENDACE, "name": "char, Arctic"}
    names = [each.name for each in foods.load()]
    assert [each.name for each in foods.load([own])] == names
    assert find("char, Arctic", [own]).trust == "second-hand"
    assert find("char, Arctic").trust == "from memory"


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"wter": "0.7"}, 'read "wter"; allowed: a column of name, food_class, '),
        ({"name": " "}, "read nothing; allowed: a name in every row"),
        ({"food_class": "fsh"}, 'read "vendace: food_class: fsh"; allowed: fish, shellfish, '),
        ({"food_class": "fsh"}, "Did you mean fish?"),
        ({"water": "much"}, 'read "vendace: water: much"; allowed: a number, 0 to 1'),
        ({"protein": ""}, 'read "vendace: protein: nothing"; allowed: a number, 0 to 1'),
        ({"water": "77"}, "vendace: water: read 77; allowed: 0 to 1"),
        ({"water": "nan"}, "vendace: water: read nan; allowed: 0 to 1"),
        ({"water": "-0.1"}, "vendace: water: read -0.1; allowed: 0 to 1"),
        ({"fat": "0.1"}, "vendace: sum of water, fat, protein, carbohydrate, ash: read 1.067; allowed: 0.97 to 1.03"),
        ({"fat": "0"}, "vendace: sum of water, fat, protein, carbohydrate, ash: read 0.967; allowed: 0.97 to 1.03"),
        ({"sodium_mg_per_100g": ""}, 'read "vendace: sodium_mg_per_100g: nothing"; allowed: a number, 0 to 5000'),
        ({"density_kg_m3": "1.05"}, "vendace: density_kg_m3: read 1.05; allowed: 800 to 1400"),
        ({"allergen": ""}, 'read "vendace: allergen: nothing"; allowed: fish'),
        ({"scombroid": ""}, 'read "vendace: scombroid: nothing"; allowed: yes, no'),
        ({"parasite_risk": "framed"}, "Did you mean farmed?"),
        ({"source": ""}, 'read "vendace: source: nothing"; allowed: the key of a source'),
        ({"trust": "sure"}, 'read "vendace: trust: sure"; allowed: read, second-hand, from memory, '),
    ],
)
def test_load_faulty_house_row(change, message):
    """Each fault of a house's row is told with what was read and what is allowed."""
    with pytest.raises(HandbookError) as caught:
        foods.load([{**VENDACE, **change}])
    assert message in str(caught.value)
    assert isinstance(caught.value, UnitError | RangeError)


def test_load_one_name_twice():
    with pytest.raises(UnitError, match="a name that no other row of the house has"):
        foods.load([VENDACE, VENDACE])


@given(st.floats(0.3, 0.7), st.floats(0, 0.3), st.floats(0.971, 1.029))
def test_load_scales_any_sum(water, fat, total):
    """Whatever a house's parts sum to within 3 %, their proportions stay and the sum becomes 1."""
    parts = {"water": water * total, "fat": fat * total, "protein": max(1 - water - fat, 0) * total, "ash": 0}
    food = foods.load([{**VENDACE, **parts}])[-1]
    assert food.water + food.fat + food.protein == pytest.approx(1, abs=1e-12)
    assert food.water == pytest.approx(water, rel=1e-9) and food.fat == pytest.approx(fat, rel=1e-9)
