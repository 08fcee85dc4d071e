"""What else changes when one thing does, against published sweetness, hand-worked balances and the models themselves."""

import pytest
from msgspec.structs import replace

from handbook.advice.substitution import FASTER_WHEN_THAWED, SWEETENERS, THAW_DRIP, salt_swaps, sweet_amount, sweetness
from handbook.base.errors import RangeError
from handbook.base.ranges import Range
from handbook.brine.make_up import IngredientMass
from handbook.catalogue.tables import engine_tables
from handbook.heat.heat_run import HeatSpread
from handbook.heat.heat_run import run as run_heat
from handbook.salt.diffusivity import salt_diffusivity, sugar_diffusivity
from handbook.salt.uptake import Piece, Stage, run
from tests.handbook import heat_cases
from tests.handbook.safety_cases import HOUSE
from tests.published import rows

TABLES = engine_tables()
FEW = HeatSpread(samples=0)
PRINTED = {row["ingredient"]: float(row["printed"]) for row in rows("relative_sweetness.csv")}


def part(name: str, mass: float, by_volume: bool = False) -> IngredientMass:
    return IngredientMass(
        ingredient=TABLES.ingredients[name], mass=Range.exact(mass), written="", by_volume=by_volume, note=""
    )


# Salt


def test_salt_swap_holds_the_same_salt():
    """Whatever the crystal, mass times its salt is the same; no curing salt is offered."""
    fine = part("salt, fine sea", 0.95)
    swaps = salt_swaps(fine, HOUSE, TABLES)
    assert len(swaps) >= 6
    for each in swaps:
        assert each.salt.kind == "salt" and each.salt.name != fine.ingredient.name
        assert each.mass * each.salt.salt == pytest.approx(0.95 * 0.985)
        assert each.unadjusted is None  # weighed: a cup has no say


def test_salt_swap_by_the_cup_hand_worked():
    """A cup of light flake is 142 g at 99.8 %; filled with fine table salt, 292 g at 99.8 %, it has 292 / 142 the salt."""
    flake = part("salt, light hollow flake (pyramid flake, kitchen coarse)", 0.142, by_volume=True)
    table = next(
        each for each in salt_swaps(flake, HOUSE, TABLES) if each.salt.name == "salt, fine table (cubic crystals)"
    )
    assert table.unadjusted.typical == pytest.approx(292 / 142)
    assert table.mass == pytest.approx(0.142)
    assert "cup" in table.measure.text


# Sweeteners


def test_sucrose_is_one_by_definition():
    """What holds sucrose alone has the sweetness of its sugars; brown sugar's printed 1.0 agrees."""
    assert sweetness(TABLES.ingredients["sugar, white granulated"]).value.typical == pytest.approx(0.998)
    brown = sweetness(TABLES.ingredients["sugar, brown, packed"]).value
    assert brown.typical == pytest.approx(PRINTED["Brown sugar"], abs=0.05)


@pytest.mark.parametrize(
    "name, printed",
    [
        ("honey", "Honey"),
        ("molasses", "Molasses"),
        ("syrup, malt", "Malt extract"),
        ("syrup, golden (inverted cane)", "Invert sugar"),
    ],
)
def test_sweetness_of_syrups_published(name, printed):
    """From the printed figure counted of its sugar to the printed figure counted of the whole, half a digit of ours."""
    syrup = TABLES.ingredients[name]
    value = sweetness(syrup).value
    assert value.high == PRINTED[printed]
    assert value.low == pytest.approx(PRINTED[printed] * syrup.sugars, abs=0.005)


def test_sweetness_of_dextrose_and_honey_by_their_sugars():
    """The two printed figures of glucose are dextrose's ends; honey's own sugars (USDA, from memory) lie in its range."""
    dextrose = sweetness(TABLES.ingredients["dextrose (monohydrate powder)"]).value
    assert dextrose.low == pytest.approx(0.91 * PRINTED["glucose"], abs=0.005)
    assert dextrose.high == pytest.approx(0.91 * PRINTED["Dextrose"], abs=0.005)
    sugars = {"fructose": 0.409, "glucose": 0.358, "maltose": 0.014}
    honey = sum(share * PRINTED[sugar] for sugar, share in sugars.items()) + 0.009  # and 0.9 % sucrose
    assert sweetness(TABLES.ingredients["honey"]).value.low < honey < sweetness(TABLES.ingredients["honey"]).value.high


def test_sweetness_unknown_is_said():
    """Corn syrup has no figure, with its reason; an oil of unknown sweetness is none, and salt is refused."""
    corn = sweetness(TABLES.ingredients["syrup, corn, light"])
    assert corn.value is None and corn.note
    assert sweet_amount(part("sugar, white granulated", 0.1), TABLES.ingredients["syrup, corn, light"]) is None
    with pytest.raises(RangeError):
        sweetness(TABLES.ingredients["salt, fine sea"])


def test_sweet_amount_keeps_the_water_hand_worked():
    """100 g of white sugar as honey: 99.8 / 0.91 = 110 g, which brings 0.171 of that in water."""
    found = sweet_amount(part("sugar, white granulated", 0.1), TABLES.ingredients["honey"])
    assert found.mass.typical == pytest.approx(0.0998 / 0.91)
    assert found.mass.low == pytest.approx(0.0998 / 1.0) and found.mass.high == pytest.approx(0.0998 / 0.82)
    assert found.more_water.typical == pytest.approx(found.mass.typical * 0.171 - 0.1 * 0.0002)


def test_sweet_amount_there_and_back():
    """Honey for sugar and sugar for that honey is the sugar again."""
    honey = sweet_amount(part("sugar, white granulated", 0.1), TABLES.ingredients["honey"])
    back = sweet_amount(part("honey", honey.mass.typical), TABLES.ingredients["sugar, white granulated"])
    assert back.mass.typical == pytest.approx(0.1)
    assert back.more_water.typical == pytest.approx(-honey.more_water.typical)


def test_every_sweetener_offered_is_known():
    """The short list names ingredients of the handbook, all of them sugars or syrups."""
    assert {TABLES.ingredients[name].kind for name in SWEETENERS} == {"sugar", "syrup"}


# Frozen, and another thickness


def test_thawed_ham_takes_salt_sooner():
    """30 % faster, as the study prints: the uptake model with that rate gets as salty in 1 / 1.3 of the time."""
    assert FASTER_WHEN_THAWED == 1.30
    rate = salt_diffusivity("pork", "pork")
    thick, water, salt = Range.exact(0.03), Range.exact(0.72), Range.exact(0.001)

    def salted(hours: float, faster: float) -> float:
        one = replace(rate, reference=rate.reference * faster)
        piece = Piece(
            shape="slab",
            thickness=thick,
            water_fraction=water,
            native_salt_fraction=salt,
            salt_diffusivity=one,
            sugar_diffusivity=sugar_diffusivity("pork"),
        )
        bath = {"bath_water": Range.exact(1.5), "bath_salt": Range.exact(0.15)}
        stage = Stage(kind="soak", duration=Range.exact(3600 * hours), temperature=Range.exact(277.15), **bath)
        return run(piece, [stage]).stages[0].salt_mass_fraction.typical

    assert salted(24 / 1.3, 1.3) == pytest.approx(salted(24, 1.0), rel=1e-6)


def test_drip_as_printed():
    """The least and the most of the five ways of thawing pork that the study prints: 0.15 and 1.16 %."""
    assert (THAW_DRIP.low, THAW_DRIP.high) == (0.0015, 0.0116)


def test_evenness_goes_with_the_square():
    """Twice as thick, salt evens out in four times the time: the uptake model's own answer in a sealed rest."""

    def even(thickness: float) -> float:
        piece = Piece(
            shape="slab",
            thickness=Range.exact(thickness),
            water_fraction=Range.exact(0.75),
            native_salt_fraction=Range.exact(0.002),
            salt_diffusivity=salt_diffusivity("pork", "pork"),
            sugar_diffusivity=sugar_diffusivity("pork"),
        )
        part_of = (thickness / 0.02) ** 2
        soak = Stage(
            kind="soak",
            duration=Range.exact(3600 * 3 * part_of),
            temperature=Range.exact(277.15),
            bath_water=Range.exact(1.5),
            bath_salt=Range.exact(0.15),
        )
        rest = Stage(kind="rest", duration=Range.exact(3600.0), temperature=Range.exact(277.15))
        return run(piece, [soak, rest]).stages[1].time_to_even.typical

    assert even(0.04) / even(0.02) == pytest.approx(4.0, rel=2e-3)


@pytest.mark.parametrize("celsius", [80.0, 120.0])
def test_core_time_between_first_and_second_power(celsius):
    """The heat model itself, 1.5 times as thick: the core takes between 1.5 and 1.5 squared as long."""
    kelvin = 273.15 + 45

    def reached(thickness: float) -> float:
        result = run_heat(heat_cases.piece(thickness), [heat_cases.chamber(celsius, 12.0)], FEW)
        return result.core_time(kelvin).typical

    factor = reached(0.030) / reached(0.020)
    assert 1.5 <= factor <= 1.5**2
