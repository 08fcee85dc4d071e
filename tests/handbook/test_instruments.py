"""What readings say, against published tables, a general-purpose library, round trips and hand-worked cases.

Sources and trust of each table stand on top of its file in tests/published.
"""

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from handbook.base.errors import RangeError, UnitError
from handbook.brine import hydrometer_scales, refraction, solution
from handbook.brine.hydrometer_scales import SIXTY_FAHRENHEIT
from handbook.brine.instruments import (
    GLASS,
    density_of_gravity,
    hydrometer_gravity,
    instrument_value,
    parse_reading,
    parse_temperature,
)
from handbook.brine.measured_salt import SALT_WARMTH, Proportion, salt_from_reading
from handbook.brine.solution import brine_density, water_density
from tests.published import pairs, rows

ZERO, FIFTEEN, TWENTY = 273.15, 288.15, 293.15
PLAIN = Proportion(salt=0.10, sugar=0.0)


def table(name: str) -> list[tuple[float, float, float]]:
    """(temperature in K, column's number, value) of a table whose columns are strengths."""
    return [
        (ZERO + float(row["temperature[C]"]), float(column), float(value))
        for row in rows(name)
        for column, value in row.items()
        if column != "temperature[C]" and value
    ]


def salt_of(row: dict[str, str]) -> float:
    """Salt fraction of a row given in mol of salt per kg of water."""
    salt = float(row["molality[mol/kg]"]) * solution.NACL_MOLAR_MASS
    return salt / (1 + salt)


# Hydrometers


def test_hydrometer_in_water_without_glass(monkeypatch):
    """A table that leaves the glass out: both come from densities of water printed to 0.00001."""
    monkeypatch.setattr("handbook.brine.instruments.GLASS", 0.0)
    for row in rows("hydrometer_water.csv"):
        kelvin = ZERO + float(row["temperature[C]"])
        added = 1 - hydrometer_gravity(0, 0, kelvin, FIFTEEN)
        assert 1000 * added == pytest.approx(float(row["correction[0.001]"]), abs=0.015), row


def test_hydrometer_glass_by_the_standard(monkeypatch):
    """ISO 1768: 25e-6 per K. 20 K warmer, the glass floats higher in the same density by 0.05 %."""
    assert GLASS == 25e-6
    warmer = (0.1, 0, TWENTY + 15.5556, TWENTY - 4.4444)
    with_glass = hydrometer_gravity(*warmer)
    monkeypatch.setattr("handbook.brine.instruments.GLASS", 0.0)
    assert with_glass / hydrometer_gravity(*warmer) == pytest.approx(1 + 20 * 25e-6, abs=1e-9)


def test_hydrometer_in_sugar_from_memory():
    """A Brix hydrometer made for 20 degC, 0 to 30 %, 10 to 25 degC: half the last digit and the 0.01 by which Plato's
    densities, on which the table rests, stand off the engine's."""
    found = table("brix_hydrometer.csv")
    assert len(found) == 21
    for kelvin, percent, subtract in found:
        density = density_of_gravity(brine_density(0, percent / 100, TWENTY) / water_density(TWENTY), kelvin, TWENTY)
        if density < water_density(kelvin):  # 0 % read in warm water stands for less than nothing
            continue
        low, high = 0.0, 0.5
        for _ in range(50):
            middle = (low + high) / 2
            low, high = (middle, high) if brine_density(0, middle, kelvin) < density else (low, middle)
        assert percent - 100 * low == pytest.approx(subtract, abs=0.016), (kelvin, percent)


def test_hydrometer_in_brine_at_any_temperature():
    """The printed densities at 0 to 40 degC, floated in and read back, give the printed strength within 0.02 %."""
    for row in rows("nacl_density_temperature.csv"):
        kelvin, density = ZERO + float(row["temperature[C]"]), 1000 / float(row["specific_volume[cm3/g]"])
        for made_for in (SIXTY_FAHRENHEIT, TWENTY):
            gravity = density / water_density(made_for) * (1 + GLASS * (kelvin - made_for))
            reading = parse_reading(f"SG {gravity:.5f} at {kelvin - ZERO:g} °C")
            salt = salt_from_reading(reading, PLAIN, kelvin, made_for)
            assert 100 * salt.typical == pytest.approx(100 * salt_of(row), abs=0.02), row


@pytest.mark.parametrize("celsius", [5, 10, 20, 30])
@pytest.mark.parametrize("percent", [5, 10, 15, 20])
def test_density_reading_library(celsius, percent):
    """CoolProp's brine (Melinder 2010, within 0.2 % of density) read as kg/L: the salt is back within 0.3 %."""
    density = PropsSI("D", "T", ZERO + celsius, "P", 101325, f"INCOMP::MNA[{percent / 100}]")
    reading = parse_reading(f"{density / 1000:.5f} kg/L at {celsius} °C")
    assert 100 * salt_from_reading(reading, PLAIN, TWENTY).typical == pytest.approx(percent, abs=0.3)


def test_salometer_at_its_own_temperature():
    """By definition: one degree is 0.26395 % of salt at 60 degF, so the printed percents come back."""
    for degrees, percent in pairs("salometer.csv", "degrees_salometer[deg]", "NaCl[% by weight]"):
        if degrees:
            salt = salt_from_reading(parse_reading(f"{degrees:g} salometer at 60 °F"), PLAIN, SIXTY_FAHRENHEIT)
            assert 100 * salt.typical == pytest.approx(percent, abs=5e-4)


def test_salometer_made_for_another_temperature():
    """One made for 38 degF reads true there, and one made for 60 degF reads high in cold brine."""
    cold = parse_temperature("38 °F")
    salt = 50 * hydrometer_scales.SALT_PER_DEGREE
    assert instrument_value("salometer", salt, 0, cold, calibration=cold) == pytest.approx(50, abs=1e-6)
    assert instrument_value("salometer", salt, 0, cold) > 50.5


@given(st.floats(0.02, 0.2), st.floats(0.0, 0.08), st.floats(275, 310), st.sampled_from([288.7056, 293.15, 276.48]))
def test_shown_and_read_back(salt, sugar, kelvin, made_for):
    """What an instrument shows, read back in the recipe's proportion, is the brine it floats in, inside its range."""
    recipe = Proportion(salt=salt, sugar=sugar)
    for scale, words in (("specific gravity", "SG {:.5f}"), ("Baumé", "Baumé {:.4f}"), ("density", "{:.5f} kg/L")):
        value = instrument_value(scale, salt, sugar, kelvin, made_for)
        reading = parse_reading(f"{words.format(value)} at {kelvin - ZERO:.4f} °C")
        found = salt_from_reading(reading, recipe, kelvin, made_for)
        assert found.typical == pytest.approx(salt, abs=2e-5)
        assert found.low <= found.typical <= found.high and found.low < found.high


# Refractometers


def test_refractive_index_of_salt():
    """The table from memory within half its last digit; the fit itself stands within 0.00005."""
    for percent, index in pairs("refraction.csv", "mass[%]", "n_NaCl"):
        assert refraction.refractive_index(percent / 100) == pytest.approx(index, abs=6e-5)


def test_refractive_index_of_salt_by_another_measurement():
    """Tan and Huang's rise from 1 to 25 % at 25 degC, which no constant offset of theirs moves, within 1 %."""
    measured = dict(pairs("nacl_refraction_warmth.csv", "mass_NaCl[%]", "n_25C"))
    ours = refraction.refractive_index(0.25) - refraction.refractive_index(0.01)
    assert ours == pytest.approx(measured[25] - measured[1], rel=0.01)


def test_brix_of_index():
    """ICUMSA's indices (from memory) against its polynomial (read): within 0.01 degree once zeroed on water."""
    found = pairs("refraction.csv", "mass[%]", "n_sucrose")
    assert len(found) == 8
    for percent, index in found:
        assert refraction.brix_of_index(index) == pytest.approx(percent, abs=0.0101)
        assert refraction.refractometer_brix(0.0, percent / 100) == pytest.approx(percent, abs=1e-4)


def test_temperature_correction_oiv():
    """All 65 printed corrections: half the last digit and the 0.006 by which a smooth fit misses them."""
    found = table("oiv_refractometry.csv")
    assert len(found) == 65
    misses = [
        abs(refraction.temperature_correction(brix, kelvin) - printed)
        for kelvin, brix, printed in found
        if (kelvin - ZERO, brix) != (5, 10)  # printed out of step with its neighbours: -0.82 above -0.80
    ]
    assert max(misses) < 0.011 and sum(misses) / len(misses) < 0.005
    assert refraction.temperature_correction(15, TWENTY) == 0


def test_salt_warmth_lies_inside_its_spread():
    """Salt's index falls with warmth faster than weak brine's, by no more than the spread that readings carry."""
    cold, warm = (dict(pairs("nacl_refraction_warmth.csv", "mass_NaCl[%]", name)) for name in ("n_25C", "n_45C"))
    falls = [cold[percent] - warm[percent] for percent in cold]
    assert max(falls) / min(falls) - 1 < SALT_WARMTH


def test_mixture_index_lies_midway():
    """Adding by fraction and adding specific refractions by density (Gladstone and Dale) stand as far to each side."""
    water, n_water = water_density(TWENTY), refraction.WATER_INDEX
    for salt, sugar in ((0.05, 0.05), (0.1, 0.1), (0.18, 0.05)):
        alone = refraction.refractive_index(salt) + refraction.refractive_index(0, sugar) - n_water
        of_salt = (refraction.refractive_index(salt) - 1) / brine_density(salt, 0, TWENTY)
        of_sugar = (refraction.refractive_index(0, sugar) - 1) / brine_density(0, sugar, TWENTY)
        of_water = (n_water - 1) / water
        specific = of_salt + of_sugar - of_water  # each holds its own share of water
        by_density = 1 + specific * brine_density(salt, sugar, TWENTY)
        middle = refraction.refractive_index(salt, sugar)
        assert alone < middle < by_density + 1e-6
        assert middle == pytest.approx((alone + by_density) / 2, abs=6e-5)


def test_refractometer_counts_salt_as_sugar():
    """10 % salt shows near 12 degrees; with sugar in the brine the reading leaves a wide range of salt."""
    plain = salt_from_reading(parse_reading("Brix 11.7"), PLAIN, TWENTY)
    assert plain.typical == pytest.approx(0.0996, abs=5e-4)
    mixed = salt_from_reading(parse_reading("Brix 11.7"), Proportion(salt=0.08, sugar=0.03), TWENTY)
    assert mixed.high - mixed.low > plain.high - plain.low
    assert salt_from_reading(parse_reading("Brix 11.7 at 10 °C"), PLAIN, TWENTY, corrects_itself=True) == plain
    assert salt_from_reading(parse_reading("Brix 11.7 at 10 °C"), PLAIN, TWENTY).high < plain.typical


# What a range takes in, and what is refused


def test_range_grows_with_what_is_not_known():
    """A coarser scale, and a temperature that nobody measured, each widen it."""
    fine, coarse = (
        salt_from_reading(parse_reading("SG 1.073 at 10 °C", step), PLAIN, 283.15) for step in (0.001, 0.005)
    )
    unmeasured = salt_from_reading(parse_reading("SG 1.073", 0.001), PLAIN, 283.15)
    assert fine.high - fine.low < unmeasured.high - unmeasured.low < coarse.high - coarse.low
    assert fine.typical == coarse.typical == unmeasured.typical


def test_only_the_salt_off_lies_inside():
    """A brine whose sugar is right and whose salt is a fifth short is inside the range of its own reading."""
    recipe, kelvin = Proportion(salt=0.10, sugar=0.04), 280.15
    to_water = recipe.sugar / (1 - recipe.salt - recipe.sugar)
    salt = 0.08
    sugar = to_water * (1 - salt) / (1 + to_water)
    gravity = hydrometer_gravity(salt, sugar, kelvin, SIXTY_FAHRENHEIT)
    found = salt_from_reading(parse_reading(f"SG {gravity:.4f} at 7 °C"), recipe, kelvin)
    assert found.low < salt < found.high and found.typical > salt


@pytest.mark.parametrize(
    "text, scale, value, kelvin",
    [
        ("SG 1.058 at 8 °C", "specific gravity", 1.058, 281.15),
        ("1.058 SG at 8 C", "specific gravity", 1.058, 281.15),
        ("specific gravity 1.058", "specific gravity", 1.058, None),
        ("55 salometer at 46.4 °F", "salometer", 55, 281.15),
        ("55° salometer at 46.4F", "salometer", 55, 281.15),
        ("Baumé 12.4", "Baumé", 12.4, None),
        ("12.4 ° Baume", "Baumé", 12.4, None),
        ("16.2 °Brix", "refractometer", 16.2, None),
        ("1.071 kg/L at 8 °C", "density", 1.071, 281.15),
    ],
)
def test_parse_reading(text, scale, value, kelvin):
    """The words of the trade, in either order, the temperature in either scale."""
    reading = parse_reading(text)
    assert (reading.scale, reading.value) == (scale, value)
    assert reading.temperature == (None if kelvin is None else pytest.approx(kelvin))


@pytest.mark.parametrize(
    "text", ["1.058", "SG", "SG 1,058", "SG 1.058 at", "SG 1.058 at cold", "SG 1.05 at 8-9 °C", "", "Oe 40"]
)
def test_parse_reading_refuses(text):
    """One error that says what was read and what is allowed."""
    with pytest.raises(UnitError, match="allowed: "):
        parse_reading(text)


@pytest.mark.parametrize("text", ["SG 9", "SG 0.5", "150 salometer", "Brix 80", "3.0 kg/L"])
def test_parse_reading_off_every_scale(text):
    """A value that no brine has is out of range."""
    with pytest.raises(RangeError):
        parse_reading(text)


@pytest.mark.parametrize(
    "text", ["SG 1.300 at 8 °C", "SG 0.990 at 8 °C", "SG 1.05 at 90 °C", "Brix 10 at 60 °C", "Brix 55"]
)
def test_salt_from_reading_refuses(text):
    """A reading past water or saturation, or a temperature past the densities, is an error and no number."""
    with pytest.raises(RangeError):
        salt_from_reading(parse_reading(text), PLAIN, TWENTY)


def test_reading_of_many_blanks_is_told():
    """A reading longer than any is refused before it is taken apart (degree signs count as blanks)."""
    with pytest.raises(UnitError):
        parse_reading("55 salometer" + "°" * 4_000)
