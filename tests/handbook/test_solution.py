"""Brine properties against published tables and a general-purpose property library."""

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from handbook import solution
from handbook.errors import RangeError
from tests.published import pairs, rows

ROOM = 293.15


@pytest.mark.parametrize(("percent", "density"), pairs("nacl_solution.csv", "percent", "density_crc"))
def test_density_crc(percent, density):
    """CRC-lineage densities at 20 degC, printed to 0.0001; the fit is to another table and agrees within 0.0002."""
    assert solution.brine_density(percent / 100, 0, ROOM) / 1000 == pytest.approx(density, abs=2e-4)


@pytest.mark.parametrize(("percent", "density"), pairs("nacl_solution.csv", "percent", "density_20"))
def test_density_wnt(percent, density):
    """WNT densities at 20 degC; the two printed tables agree within 0.0001 where both stand, 26 % lies past the fit."""
    assert solution.brine_density(percent / 100, 0, ROOM) / 1000 == pytest.approx(density, abs=5e-4)


@pytest.mark.parametrize(("percent", "density"), pairs("nacl_solution.csv", "percent", "density_10"))
def test_density_cold(percent, density):
    """WNT densities at 10 degC: within 0.0007, the worst at 26 %, past the fitted strengths."""
    assert solution.brine_density(percent / 100, 0, 283.15) / 1000 == pytest.approx(density, abs=7e-4)


@pytest.mark.parametrize("row", rows("nacl_density_temperature.csv"))
def test_density_fit(row):
    """Every fitted row comes back within 0.0003, cold room to warm kitchen."""
    m = float(row["molality"]) * solution.NACL_MOLAR_MASS
    found = solution.brine_density(m / (1 + m), 0, 273.15 + float(row["celsius"]))
    assert found / 1000 == pytest.approx(1 / float(row["specific_volume"]), abs=3e-4)


@pytest.mark.parametrize("celsius", [0.5, 4, 10, 20, 30, 39])
def test_water_density_coolprop(celsius):
    """Pure water against CoolProp (IAPWS-95)."""
    wanted = PropsSI("D", "T", celsius + 273.15, "P", 101325, "Water")
    assert solution.water_density(celsius + 273.15) == pytest.approx(wanted, abs=0.02)


@pytest.mark.parametrize("salt", [0.05, 0.10, 0.15, 0.20])
@pytest.mark.parametrize("celsius", [5, 20, 35])
def test_density_coolprop(salt, celsius):
    """CoolProp's salt brine (Melinder's data, INCOMP::MNA): a library of secondary coolants, within 0.4 %."""
    wanted = PropsSI("D", "T", celsius + 273.15, "P", 101325, f"INCOMP::MNA[{salt}]")
    assert solution.brine_density(salt, 0, celsius + 273.15) == pytest.approx(wanted, rel=4e-3)


@pytest.mark.parametrize(("percent", "density"), pairs("sucrose_solution.csv", "percent", "density"))
def test_density_sucrose(percent, density):
    """Sucrose densities at 20 degC, read to 37 %: within 0.0003."""
    assert solution.brine_density(0, percent / 100, ROOM) / 1000 == pytest.approx(density, abs=3e-4)


@pytest.mark.parametrize(("percent", "density"), pairs("sucrose_solution.csv", "percent", "density_memory"))
def test_density_sucrose_strong(percent, density):
    """The same to 65 % from memory: within 0.0003."""
    if percent <= 65:
        assert solution.brine_density(0, percent / 100, ROOM) / 1000 == pytest.approx(density, abs=3e-4)


@pytest.mark.parametrize(("percent", "celsius"), [*pairs("nacl_solution.csv", "percent", "freezing_crc"),
                                                  *pairs("nacl_solution.csv", "percent", "freezing_lange")])
def test_freezing_point(percent, celsius):
    """Two printed tables, which differ by up to 0.08 K between them: within 0.1 K of each."""
    if percent / 100 <= solution.EUTECTIC_SALT:
        assert solution.freezing_point(percent / 100) - 273.15 == pytest.approx(celsius, abs=0.1)


@pytest.mark.parametrize(("percent", "activity"), pairs("nacl_solution.csv", "percent", "aw_pyeql"))
def test_water_activity_pyeql(percent, activity):
    """A general-purpose electrolyte library (pyEQL 1.7.0), within 0.0006 up to saturation."""
    assert solution.water_activity(percent / 100) == pytest.approx(activity, abs=7e-4)


@pytest.mark.parametrize(("molality", "activity"), pairs("nacl_osmotic.csv", "molality", "aw"))
def test_water_activity_robinson_stokes(molality, activity):
    """Measured water activity (Robinson and Stokes; from memory, 6 mol/kg read), within 0.001."""
    m = molality * solution.NACL_MOLAR_MASS
    assert solution.water_activity(m / (1 + m)) == pytest.approx(activity, abs=1e-3)


@pytest.mark.parametrize(("percent", "activity"), pairs("sucrose_solution.csv", "percent", "aw_polynomial"))
def test_water_activity_sucrose(percent, activity):
    """Sucrose against the osmotic polynomial (from memory): within 0.003."""
    if percent <= 65:
        assert solution.water_activity(0, percent / 100) == pytest.approx(activity, abs=3e-3)


@pytest.mark.parametrize("row", rows("salometer.csv"))
def test_salometer_table(row):
    """The salometer table: percent by definition, gravity (from memory) within 0.001, Baume within 0.15 degree."""
    degrees, percent = float(row["degrees"]), float(row["percent"])
    salt = solution.salt_from_salometer(degrees)
    assert salt * 100 == pytest.approx(percent, abs=5.1e-5)
    gravity = solution.specific_gravity(salt)
    if row["gravity_memory"]:
        assert gravity == pytest.approx(float(row["gravity_memory"]), abs=1e-3)
    assert solution.degrees_baume(gravity) == pytest.approx(float(row["baume"]), abs=0.15)
    if row["freezing"]:
        assert solution.freezing_point(salt) - 273.15 == pytest.approx(float(row["freezing"]), abs=0.1)


def test_strength_table_pounds_per_gallon():
    """Salt per gallon of water and per gallon of brine, which differ by 13 % at saturation."""
    printed = {float(row["degrees"]): row for row in rows("salometer.csv")}
    for row in solution.strength_table():
        pounds = row.per_litre_water * 3.785411784 / 0.45359237
        assert pounds == pytest.approx(float(printed[row.degrees_salometer]["lb_per_gal_water"]), rel=2e-3, abs=1e-3)
        pounds = row.per_litre_brine * 3.785411784 / 0.45359237
        assert pounds == pytest.approx(float(printed[row.degrees_salometer]["lb_per_gal_brine"]), rel=2e-3, abs=1e-3)


@pytest.mark.parametrize("column", ["sol_crc", "sol_institute"])
def test_solubility(column):
    """Both solubility tables from 0 to 50 degC, which differ by up to 0.07 %."""
    for celsius, percent in pairs("saturated_nacl.csv", "celsius", column):
        if 0 <= celsius <= 50:
            assert solution.salt_solubility(celsius + 273.15) * 100 == pytest.approx(percent, abs=0.08)


@given(st.floats(0, 0.25), st.floats(0, 0.3), st.floats(273.15, 313.15))
def test_salt_from_density_inverts(salt, sugar, temperature):
    """A hydrometer's density gives the salt back."""
    density = solution.brine_density(salt, sugar, temperature)
    assert solution.salt_from_density(density, temperature, sugar) == pytest.approx(salt, abs=1e-9)


@given(st.floats(0, 0.25), st.floats(0.001, 0.01))
def test_more_salt(salt, more):
    """More salt: denser, less free water, freezes lower."""
    assert solution.brine_density(salt + more, 0, ROOM) > solution.brine_density(salt, 0, ROOM)
    assert solution.water_activity(salt + more) < solution.water_activity(salt)
    if salt + more < solution.EUTECTIC_SALT:
        assert solution.freezing_point(salt + more) < solution.freezing_point(salt)


@given(st.floats(0, 50))
def test_baume_inverts(degrees):
    """Degrees and gravity are one scale."""
    assert solution.degrees_baume(solution.gravity_from_baume(degrees)) == pytest.approx(degrees, abs=1e-9)


def test_plain_water():
    """No salt and no sugar is water."""
    assert solution.brine_density(0, 0, ROOM) == solution.water_density(ROOM)
    assert solution.water_activity(0, 0) == 1.0
    assert solution.freezing_point(0, 0) == 273.15
    assert solution.degrees_baume(solution.specific_gravity(0)) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(("formula", "arguments", "text"), [
    (solution.brine_density, (0.3, 0, ROOM), "salt mass fraction: read 0.3; allowed: 0 to 0.265"),
    (solution.brine_density, (0.1, 0, 350.0), "temperature: read 350; allowed: 273.15 to 313.15"),
    (solution.water_activity, (-0.1, 0), "salt mass fraction: read -0.1; allowed: 0 to 0.265"),
    (solution.water_activity, (float("nan"), 0), "salt mass fraction: read nan; allowed: 0 to 0.265"),
    (solution.freezing_point, (0.25, 0), "salt in its water: read 0.25; allowed: 0 to 0.233"),
    (solution.salt_from_salometer, (101,), "degrees salometer: read 101; allowed: 0 to 100"),
    (solution.degrees_baume, (0.5,), "specific gravity: read 0.5; allowed: 0.999 to 1.6"),
    (solution.salt_from_density, (1400.0, ROOM), "density: read 1400; allowed: 998.204 to "),
])
def test_out_of_range(formula, arguments, text):
    """Outside its range a formula raises with what was read and what is allowed."""
    with pytest.raises(RangeError) as caught:
        formula(*arguments)
    assert str(caught.value).startswith(text)
