"""Properties of brine against published tables, a general-purpose library, hand-worked cases and limits.

The sources of each table, and how far each is trusted, stand on top of its file in tests/published.
"""

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import assume, given
from hypothesis import strategies as st

from handbook.base.errors import RangeError
from handbook.base.sources import source
from handbook.brine import solution
from handbook.brine.hydrometer_scales import (
    SIXTY_FAHRENHEIT,
    degrees_baume,
    degrees_salometer,
    gravity_from_baume,
    salt_from_density,
    salt_from_salometer,
    specific_gravity,
    strength_table,
)
from handbook.brine.solution import brine_density, freezing_point, salt_solubility, water_activity, water_density
from tests.published import pairs, rows

ZERO_CELSIUS, TWENTY_CELSIUS = 273.15, 293.15
POUND, US_GALLON = 0.45359237, 3.785411784e-3  # kg, m3; exact by definition
US_GALLON_OF_WATER = 8.328  # lb at 60 degF in air, the usual figure of US handbooks, from memory


def salt_of(molality: float) -> float:
    salt = molality * solution.NACL_MOLAR_MASS
    return salt / (1 + salt)


NACL, SUCROSE = "mass_NaCl[%]", "mass_sucrose[%]"
salts = st.floats(0, 0.26)
sugars = st.floats(0, 0.4)
temperatures = st.floats(ZERO_CELSIUS, ZERO_CELSIUS + 40)


# Salt alone, against tables


def test_brine_density_rogers_pitzer():
    """0 to 40 degC, 0.1 to 5 mol/kg: the rows the engine is fitted to come back within 0.00005 g/mL."""
    printed = rows("nacl_density_temperature.csv")
    assert len(printed) == 54
    for row in printed:
        density = brine_density(salt_of(float(row["molality[mol/kg]"])), 0, ZERO_CELSIUS + float(row["temperature[C]"]))
        assert density / 1000 == pytest.approx(1 / float(row["specific_volume[cm3/g]"]), abs=5e-5), row


@pytest.mark.parametrize(
    "name, count, celsius, tolerance",
    [
        # The tables stand up to 0.0001 off Rogers and Pitzer, beside half of their last digit.
        ("rho20_crc[g/mL]", 35, 20, 1.5e-4),
        ("rho20_wnt[g/mL]", 13, 20, 1.5e-4),
        # Up to 0.00025 off Rogers and Pitzer where both have rows; 24 and 26 % lie past Rogers and Pitzer.
        ("rho10_wnt[g/mL]", 14, 10, 5e-4),
    ],
)
def test_brine_density_tables(name, count, celsius, tolerance):
    """Up to saturation, at 10 and 20 degC."""
    printed = pairs("nacl_solution.csv", NACL, name)
    assert len(printed) == count
    for percent, density in printed:
        assert brine_density(percent / 100, 0, ZERO_CELSIUS + celsius) / 1000 == pytest.approx(density, abs=tolerance)


def test_specific_gravity_lange():
    """On average within half the last digit; single rows of the table wander by two, as its header says."""
    printed = pairs("nacl_solution.csv", NACL, "sg_lange_15C[-]")
    water = water_density(ZERO_CELSIUS + 15)
    misfits = [brine_density(percent / 100, 0, ZERO_CELSIUS + 15) / water - gravity for percent, gravity in printed]
    assert len(misfits) == 19
    assert abs(sum(misfits) / len(misfits)) < 0.0005


@pytest.mark.parametrize("name, count", [("Tf_crc[C]", 32), ("Tf_lange[C]", 19)])
def test_freezing_point_tables(name, count):
    """To 23.3 % within 0.1 K; the two tables differ by up to 0.08 K."""
    printed = pairs("nacl_solution.csv", NACL, name)
    assert len(printed) == count
    for percent, celsius in printed:
        assert freezing_point(percent / 100) - ZERO_CELSIUS == pytest.approx(celsius, abs=0.1), percent


@pytest.mark.parametrize("name, tolerance", [("aw25_pitzer[-]", 2e-5), ("aw25_pyeql[-]", 7e-4)])
def test_water_activity_other_codes(name, tolerance):
    """The same equation coded apart, to its printed digits; pyEQL, whose parameters are its own, within 0.0006."""
    printed = pairs("nacl_solution.csv", NACL, name)
    assert len(printed) == 31
    for percent, activity in printed:
        assert water_activity(percent / 100) == pytest.approx(activity, abs=tolerance), percent


def test_water_activity_robinson_stokes():
    """0.1 to 6 mol/kg within 0.001; the table is from memory but for its last row."""
    printed = pairs("nacl_osmotic.csv", "molality[mol/kg]", "aw_rs[-]")
    assert len(printed) == 9
    for molality, activity in printed:
        assert water_activity(salt_of(molality)) == pytest.approx(activity, abs=0.001), molality


def test_water_activity_saturated():
    """26.45 %, saturated at 25 degC: Greenspan's 75.29 % within the 0.12 % he claims; Labuza's fit within 0.2 %."""
    row = next(row for row in rows("saturated_nacl.csv") if row["temperature[C]"] == "25")
    activity = 100 * water_activity(float(row["sol_crc[% by mass]"]) / 100)
    assert activity == pytest.approx(float(row["rh_greenspan[%]"]), abs=float(row["rh_greenspan_uncertainty[%]"]))
    assert activity == pytest.approx(float(row["rh_labuza[%]"]), rel=0.002)  # mean relative error printed: 0.16 %


@pytest.mark.parametrize("name, count", [("sol_crc[% by mass]", 12), ("sol_salt_institute[% by mass]", 17)])
def test_salt_solubility_tables(name, count):
    """-21.1 to 100 degC within 0.04 %, as far as the two tables differ at 10 degC (0.07 % at 100 degC)."""
    printed = pairs("saturated_nacl.csv", "temperature[C]", name)
    assert len(printed) == count
    for celsius, percent in printed:
        assert 100 * salt_solubility(ZERO_CELSIUS + celsius) == pytest.approx(percent, abs=0.04), celsius


def test_salometer_table():
    """0 to 100 degrees in every scale; the widths are those of the densities behind the computed columns."""
    printed = rows("salometer.csv")
    assert len(printed) == 21
    for row in printed:
        salt = salt_from_salometer(float(row["degrees_salometer[deg]"]))
        gravity, computed = specific_gravity(salt), float(row["sg_60_60F_computed[-]"])
        assert 100 * salt == pytest.approx(float(row["NaCl[% by weight]"]), abs=5.1e-5)
        assert gravity == pytest.approx(computed, abs=3e-4)  # from WNT at 10 degC and CRC at 20 degC
        if row["sg_60F_handbook[-]"]:
            assert gravity == pytest.approx(float(row["sg_60F_handbook[-]"]), abs=5e-4)  # half the last digit
        # Half the last digit of degrees Baume and, through 145 / SG^2, of the gravity printed beside it.
        assert degrees_baume(computed) == pytest.approx(float(row["baume_computed[deg]"]), abs=0.005 + 145 * 5e-5)
        per_water, per_brine = (float(row[f"lb_salt_per_US_gal_{of}[lb]"]) for of in ("water", "brine"))
        assert salt / (1 - salt) * US_GALLON_OF_WATER == pytest.approx(per_water, abs=5.1e-4)
        assert salt * computed * US_GALLON_OF_WATER == pytest.approx(per_brine, abs=5e-4 + 1.2e-4)
        if row["freezing_point[C]"]:
            assert freezing_point(salt) - ZERO_CELSIUS == pytest.approx(float(row["freezing_point[C]"]), abs=0.1)


# Sugar alone, against tables


@pytest.mark.parametrize(
    "name, count, tolerance",
    [
        ("rho20_umk[g/mL]", 37, 1e-4),
        ("rho20_crc[g/mL]", 37, 3e-4),  # the newer equation stands 0.0002 above the older tables at 60 %
        ("rho20_plato[g/mL]", 13, 3e-4),  # from memory
    ],
)
def test_sugar_density_tables(name, count, tolerance):
    """To 65 % at 20 degC."""
    printed = pairs("sucrose_solution.csv", SUCROSE, name)
    assert len(printed) == count
    for percent, density in printed:
        assert brine_density(0, percent / 100, TWENTY_CELSIUS) / 1000 == pytest.approx(density, abs=tolerance), percent


def test_sugar_gravity_nbs():
    """Apparent specific gravity 20/20 degC, 0 to 40 %: weighing in air moves it by less than 0.0003."""
    printed = pairs("sucrose_solution.csv", SUCROSE, "sg2020_nbsfit[-]")
    assert len(printed) == 38
    for percent, gravity in printed:
        density = brine_density(0, percent / 100, TWENTY_CELSIUS)
        assert density / water_density(TWENTY_CELSIUS) == pytest.approx(gravity, abs=3e-4), percent


def test_sugar_freezing_point_crc():
    """To 42 % within 0.01 K, the last digit: the column itself moves by a digit (0.49, 0.55, 0.63)."""
    printed = pairs("sucrose_solution.csv", SUCROSE, "Tf_crc[C]")
    assert len(printed) == 32
    for percent, celsius in printed:
        assert freezing_point(0, percent / 100) - ZERO_CELSIUS == pytest.approx(celsius, abs=0.01), percent


@pytest.mark.parametrize(
    "name, tolerance",
    [("aw25_norrish[-]", 2e-5), ("aw25_rs_polynomial[-]", 6e-4)],  # the two agree within 0.0005; both from memory
)
def test_sugar_water_activity(name, tolerance):
    """To 65 %: Norrish coded apart, and the osmotic polynomial of Robinson and Stokes."""
    printed = pairs("sucrose_solution.csv", SUCROSE, name)
    assert len(printed) == 43
    for percent, activity in printed:
        assert water_activity(0, percent / 100) == pytest.approx(activity, abs=tolerance), percent


# A general-purpose library


@pytest.mark.parametrize("celsius", [0.01, 4, 10, 20, 30, 40])
def test_water_density_coolprop(celsius):
    """CoolProp (IAPWS-95): Kell's air-free water of 1975 lies 0.003 kg/m3 below it."""
    kelvin = ZERO_CELSIUS + celsius
    assert water_density(kelvin) == pytest.approx(PropsSI("D", "T", kelvin, "P", 101325, "Water"), abs=0.005)


@pytest.mark.parametrize("salt", [0.02, 0.05, 0.10, 0.15, 0.20, 0.23])
def test_brine_density_coolprop(salt):
    """CoolProp's MNA (Melinder): half a kg/m3, his tables being printed in whole ones (from memory).

    MNA2, its second sodium chloride, is no check of density: 1039.3 for 5 % at 20 degC, where CRC prints 1034.0.
    """
    for celsius in (0, 4, 10, 20, 30):
        kelvin = ZERO_CELSIUS + celsius
        density = PropsSI("D", "T", kelvin, "P", 101325, f"INCOMP::MNA[{salt}]")
        assert brine_density(salt, 0, kelvin) == pytest.approx(density, abs=0.5)


@pytest.mark.parametrize("salt", [0.02, 0.05, 0.10, 0.15, 0.20, 0.23])
def test_freezing_point_coolprop(salt):
    """CoolProp's MNA2 within 0.1 K, the width of the published tables."""
    kelvin = PropsSI("T_freeze", "T", 300, "P", 101325, f"INCOMP::MNA2[{salt}]")
    assert freezing_point(salt) == pytest.approx(kelvin, abs=0.1)


# Hand-worked


def test_brine_density_hand_worked_mixture():
    """100 g with 10 g salt and 10 g sugar at 20 degC, from CRC densities of each in the same 80 g of water.

    Water 80 / 0.99820 = 80.144 mL. Salt 10 in 90 = 11.111 %: 1.0781 + 0.1111 * 0.0076 = 1.07894; 90 / 1.07894 =
    83.415 mL, so salt takes 3.271. Sugar 11.111 %: 1.0423 + 0.1111 * 0.0042 = 1.04277; 86.309 mL, sugar takes 6.165.
    Together 89.580 mL: 1116.3 kg/m3; CRC's last digits are worth 0.1.
    """
    assert brine_density(0.10, 0.10, TWENTY_CELSIUS) == pytest.approx(1116.3, abs=0.15)


def test_sugar_density_hand_worked_warm():
    """20 % at 40 degC by the printed equation, t = 0.2: 82.7743 - 9.5182 t + 12.2863 t^2 - 10.0910 t^3 + 4.1560 t^4
    = 81.2881 above water's 992.216 (Kell): 1073.50. No table away from 20 degC was read to check the equation itself.
    """
    assert brine_density(0, 0.20, ZERO_CELSIUS + 40) == pytest.approx(1073.50, abs=0.005)


def test_water_activity_hand_worked():
    """1 mol/kg, phi 0.9355 (Robinson and Stokes, from memory): exp(-2 * 0.9355 * 0.018015) = 0.96685.

    1 mol sucrose in 1 kg water: x_s = 1 / 56.509 = 0.017696; 0.982304 exp(-6.47 * 0.00031316) = 0.98032. Both in
    the same water: the product, 0.94782.
    """
    salt, sugar, water = 0.058443, 0.342297, 1.0
    whole = salt + sugar + water
    assert water_activity(salt / (salt + water)) == pytest.approx(0.96685, abs=5e-5)
    assert water_activity(0, sugar / (sugar + water)) == pytest.approx(0.98032, abs=5e-6)
    assert water_activity(salt / whole, sugar / whole) == pytest.approx(0.94782, abs=5e-5)


def test_freezing_point_hand_worked_mixture():
    """9 g salt and 9 g sugar in 81 g water: CRC has 10 % salt at -6.56 degC and 10 % sugar at -0.63 degC, sum -7.19."""
    assert freezing_point(9 / 99, 9 / 99) - ZERO_CELSIUS == pytest.approx(-7.19, abs=0.1)


def test_scales_hand_worked():
    """SG 1.1: 145 - 131.818 = 13.182 degrees Baume; 50 degrees salometer: 13.1975 % salt."""
    assert degrees_baume(1.1) == pytest.approx(13.182, abs=5e-4)
    assert salt_from_salometer(50) == pytest.approx(0.131975, rel=1e-12)


def salt_of_hydrometer(gravity, temperature):
    """Salt by a hydrometer of 60/60 degF in a brine at ``temperature``, its glass left out."""
    return salt_from_density(gravity * water_density(SIXTY_FAHRENHEIT), temperature)


def test_salt_by_hydrometer_hand_worked():
    """Rogers and Pitzer, 2 mol/kg at 10 degC: 116.886 g in 1116.886 g, 10.4653 %, 1 / 0.927905 = 1077.70 kg/m3.

    A hydrometer of 60/60 degF shows 1077.70 / 999.01 = 1.07877 there; 0.05 kg/m3 are worth 0.00007 of salt.
    """
    assert salt_of_hydrometer(1.07877, ZERO_CELSIUS + 10) == pytest.approx(0.104653, abs=7e-5)


# Limits and properties


def test_pure_water():
    """Without salt and sugar: water."""
    for celsius in range(0, 41, 5):
        kelvin = ZERO_CELSIUS + celsius
        assert brine_density(0, 0, kelvin) == pytest.approx(water_density(kelvin), rel=1e-14)
    assert water_activity(0, 0) == 1
    assert freezing_point(0, 0) == ZERO_CELSIUS
    assert specific_gravity(0) == pytest.approx(1, rel=1e-14)
    assert degrees_baume(1) == degrees_salometer(0) == 0


def test_water_density_greatest_at_four_degrees():
    """Water is densest, 999.97 kg/m3, at 4 degC (common knowledge)."""
    densities = {tenth: water_density(ZERO_CELSIUS + tenth / 10) for tenth in range(0, 101)}
    assert max(densities, key=densities.get) in (39, 40)
    assert max(densities.values()) == pytest.approx(999.97, abs=0.005)


def test_salt_solubility_joins():
    """Hydrate and salt meet at 0.1 degC without a step above the tables' last digit."""
    below, above = (salt_solubility(ZERO_CELSIUS + 0.1 + side) for side in (-1e-9, 1e-9))
    assert above == pytest.approx(below, abs=5e-5)


@given(salts, sugars, temperatures, st.floats(1e-4, 0.02))
def test_more_salt(salt, sugar, temperature, more):
    """More salt in the same solution: denser, less active water, freezing lower."""
    assume((salt + more) / (1 - sugar) < 0.233 and sugar / (1 - salt - more) < 0.42)
    assert brine_density(salt + more, sugar, temperature) > brine_density(salt, sugar, temperature)
    assert water_activity(salt + more, sugar) < water_activity(salt, sugar)
    assert freezing_point(salt + more, sugar) < freezing_point(salt, sugar)


@given(salts, sugars, temperatures, st.floats(1e-4, 0.02))
def test_more_sugar(salt, sugar, temperature, more):
    """More sugar: the same."""
    assume(salt / (1 - sugar - more) < 0.233 and (sugar + more) / (1 - salt) < 0.42)
    assert brine_density(salt, sugar + more, temperature) > brine_density(salt, sugar, temperature)
    assert water_activity(salt, sugar + more) < water_activity(salt, sugar)
    assert freezing_point(salt, sugar + more) < freezing_point(salt, sugar)


@given(st.floats(0.05, 0.26), st.floats(ZERO_CELSIUS, ZERO_CELSIUS + 39))
def test_warmer_brine_is_lighter(salt, temperature):
    """From 5 % salt on no greatest density is left above 0 degC."""
    assert brine_density(salt, 0, temperature + 1) < brine_density(salt, 0, temperature)


@given(st.floats(252.1, 372))
def test_warmer_water_dissolves_more(temperature):
    """Solubility rises all the way."""
    assert salt_solubility(temperature + 1) > salt_solubility(temperature)


@given(salts, sugars, temperatures)
def test_densities_within_bounds(salt, sugar, temperature):
    """Between water and the crystals' volumes added (2.165 and 1.587 g/mL, common practice, no source).

    Water draws together around salt: 2.6 % at 20 % salt by CRC (1.1478 against 1.1188), under 5 % anywhere.
    """
    assume(salt / (1 - sugar) < 0.265)
    crystals = 1 / ((1 - salt - sugar) / water_density(temperature) + salt / 2165 + sugar / 1587)
    assert water_density(temperature) <= brine_density(salt, sugar, temperature) * (1 + 1e-12)
    assert crystals * (1 - 1e-12) <= brine_density(salt, sugar, temperature) < 1.05 * crystals


@given(salts, sugars, temperatures)
def test_salt_from_density_round_trip(salt, sugar, temperature):
    """The salt that made the density comes back."""
    assume(salt / (1 - sugar) < 0.264)
    density = brine_density(salt, sugar, temperature)
    assert salt_from_density(density, temperature, sugar) == pytest.approx(salt, abs=1e-10)


def test_salt_from_density_in_syrup():
    """Close to the greatest sugar the inverse still has its short range of salt."""
    density = brine_density(0.02, 0.62, TWENTY_CELSIUS)
    assert salt_from_density(density, TWENTY_CELSIUS, 0.62) == pytest.approx(0.02, abs=1e-10)
    saltless = brine_density(0, 0.65, TWENTY_CELSIUS)
    assert salt_from_density(saltless, TWENTY_CELSIUS, 0.65) == pytest.approx(0, abs=1e-10)


@given(salts)
def test_scale_round_trips(salt):
    """Hydrometer at 60 degF, salometer and Baume lead back to the salt."""
    gravity = specific_gravity(salt)
    assert salt_of_hydrometer(gravity, SIXTY_FAHRENHEIT) == pytest.approx(salt, abs=1e-10)
    assert salt_from_salometer(degrees_salometer(salt)) == pytest.approx(salt, abs=1e-15)
    assert gravity_from_baume(degrees_baume(gravity)) == pytest.approx(gravity, rel=1e-12)


# The conversion table


def test_strength_table_rows():
    """0 to 100 degrees by 5; each row in step with the functions; no freezing point past the eutectic."""
    table = strength_table()
    assert [row.degrees_salometer for row in table] == [5.0 * step for step in range(21)]
    assert [row.degrees_salometer for row in table if row.freezing_point is None] == [90, 95, 100]
    for row in table:
        assert row.degrees_baume == pytest.approx(degrees_baume(specific_gravity(row.salt)), rel=1e-12)
        assert row.salt_to_water_ratio == pytest.approx(row.salt / (1 - row.salt), rel=1e-12)
        assert row.water_activity == water_activity(row.salt)


def test_strength_table_hand_worked():
    """50 degrees, 13.1975 %, at 20 degC: 0.131975 / 0.868025 * 998.20 = 151.77 g to a litre of water.

    CRC: 13 % 1.0932, 14 % 1.1008, so 1.0947 g/mL and 0.131975 * 1094.7 = 144.47 g in a litre of brine.
    """
    row = strength_table()[10]
    assert 1000 * row.per_litre_water == pytest.approx(151.77, abs=0.01)
    assert 1000 * row.per_litre_brine == pytest.approx(144.47, abs=0.02)


def test_strength_table_per_gallon():
    """Salt in a gallon of water and of brine, which differ by 13 % at saturation.

    The printed weights hold at 60 degF, in air; at 20 degC water is 0.1 % lighter, as is a body weighed in air.
    """
    for row, printed in zip(strength_table(), rows("salometer.csv"), strict=True):
        for kg_per_litre, of in ((row.per_litre_water, "water"), (row.per_litre_brine, "brine")):
            pounds = float(printed[f"lb_salt_per_US_gal_{of}[lb]"])
            assert kg_per_litre * 1000 * US_GALLON / POUND == pytest.approx(pounds, rel=0.002, abs=5e-4)
    last = strength_table()[-1]
    assert last.per_litre_water / last.per_litre_brine == pytest.approx(1.13, abs=0.005)


def test_sources_resolve():
    """Every source key of the module stands in the list of sources."""
    for key in solution.SOURCES:
        assert source(key).citation


# Out of range


@pytest.mark.parametrize(
    "formula, arguments, message",
    [
        (water_density, (273.1,), "temperature: read 273.1; allowed: 273.15 to 313.15"),
        (brine_density, (0.1, 0.0, 320.0), "temperature: read 320; allowed: 273.15 to 313.15"),
        (brine_density, (0.27, 0.0, 293.15), "salt mass fraction: read 0.27; allowed: 0 to 0.265"),
        (brine_density, (-0.01, 0.0, 293.15), "salt mass fraction: read -0.01; allowed: 0 to 0.265"),
        (brine_density, (0.0, 0.7, 293.15), "sugar mass fraction: read 0.7; allowed: 0 to 0.65"),
        (brine_density, (0.2, 0.5, 293.15), "salt in its water: read 0.4; allowed: 0 to 0.265"),
        (water_activity, (0.08, 0.64), "sugar in its water: read 0.695652; allowed: 0 to 0.65"),
        (water_activity, (float("nan"), 0.0), "salt mass fraction: read nan; allowed: 0 to 0.265"),
        (
            freezing_point,
            (0.24, 0.0),
            "salt in its water: read 0.24; allowed: 0 to 0.233; past the eutectic salt hydrate comes out before ice",
        ),
        (freezing_point, (0.0, 0.45), "sugar in its water: read 0.45; allowed: 0 to 0.42"),
        (salt_solubility, (250.0,), "temperature: read 250; allowed: 252.03 to 373.15"),
        (salt_solubility, (380.0,), "temperature: read 380; allowed: 252.03 to 373.15"),
        (specific_gravity, (0.3,), "salt mass fraction: read 0.3; allowed: 0 to 0.265"),
        (degrees_salometer, (0.3,), "salt mass fraction: read 0.3; allowed: 0 to 0.265"),
        (salt_from_salometer, (101.0,), "degrees salometer: read 101; allowed: 0 to 100"),
        (degrees_baume, (0.9,), "specific gravity: read 0.9; allowed: 0.999 to 1.6"),
        (gravity_from_baume, (-1.0,), "degrees Baume: read -1; allowed: -0.15 to 54"),
        (salt_from_density, (1300.0, 293.15), "density: read 1300; allowed: 998.204 to 1201.39"),
    ],
)
def test_out_of_range(formula, arguments, message):
    """Out of range is refused with the value and the range, never bent to fit."""
    with pytest.raises(RangeError) as caught:
        formula(*arguments)
    assert str(caught.value) == message
