"""Humid air against two psychrometric libraries, CoolProp live, and limits.

psychrometrics.csv: PsychroLib and CoolProp as run; tolerance 0.05 K to 70 degC dry bulb, 0.15 K above, which is what
the two libraries themselves agree to.
"""

import numpy as np
import pytest
from CoolProp.CoolProp import HAPropsSI, PropsSI
from hypothesis import given
from hypothesis import strategies as st

from handbook.errors import RangeError
from handbook.psychrometrics import (
    MASS_RATIO,
    STANDARD_PRESSURE,
    boiling_temperature,
    dew_point,
    humidity_ratio,
    latent_heat,
    saturation_pressure,
    wet_bulb,
)
from tests.published import rows


@pytest.mark.parametrize(
    "row", rows("psychrometrics.csv"), ids=lambda row: f"{row['dry_bulb[C]']} C {row['relative_humidity[%]']} %"
)
def test_wet_bulb_agrees_with_libraries(row):
    """The wet bulb is that of PsychroLib and of CoolProp."""
    celsius = float(row["dry_bulb[C]"])
    found = wet_bulb(celsius + 273.15, float(row["relative_humidity[%]"]) / 100) - 273.15
    tolerance = 0.05 if celsius <= 70 else 0.15
    assert found == pytest.approx(float(row["wet_bulb_psychrolib[C]"]), abs=tolerance)
    assert found == pytest.approx(float(row["wet_bulb_coolprop[C]"]), abs=tolerance)


@pytest.mark.parametrize(
    "row", rows("psychrometrics.csv")[::7], ids=lambda row: f"{row['dry_bulb[C]']} C {row['relative_humidity[%]']} %"
)
def test_vapour_pressure_agrees_with_library(row):
    """Saturation x relative humidity is the library's vapour pressure to its last printed digit (0.05 Pa) or 0.02 %."""
    found = saturation_pressure(float(row["dry_bulb[C]"]) + 273.15) * float(row["relative_humidity[%]"]) / 100
    assert found == pytest.approx(float(row["vapour_pressure_psychrolib[Pa]"]), abs=0.05, rel=2e-4)


@pytest.mark.parametrize("celsius", [0.01, 4, 20, 50, 77, 100, 150, 190])
def test_saturation_pressure_against_coolprop(celsius):
    """Saturation pressure within 0.03 % of the equation of state of water."""
    assert saturation_pressure(celsius + 273.15) == pytest.approx(
        PropsSI("P", "T", celsius + 273.15, "Q", 0, "Water"), rel=3e-4
    )


@pytest.mark.parametrize("celsius", [1, 20, 40, 60, 80, 100])
def test_latent_heat_against_coolprop(celsius):
    """The straight line for the heat of vaporisation is within the 0.4 % it claims."""
    at = celsius + 273.15
    exact = PropsSI("H", "T", at, "Q", 1, "Water") - PropsSI("H", "T", at, "Q", 0, "Water")
    assert latent_heat(at) == pytest.approx(exact, rel=0.004)


@pytest.mark.parametrize(("celsius", "humidity"), [(4, 0.8), (25, 0.5), (77, 0.1), (77, 0.4)])
def test_humidity_ratio_against_coolprop(celsius, humidity):
    """Ideal gases are within 1 % of real humid air."""
    exact = HAPropsSI("W", "T", celsius + 273.15, "R", humidity, "P", STANDARD_PRESSURE)
    assert humidity_ratio(celsius + 273.15, humidity) == pytest.approx(exact, rel=0.01)


@pytest.mark.parametrize("pressure", [70e3, 85e3])
def test_wet_bulb_at_altitude(pressure):
    """Thinner air has a lower wet bulb, as CoolProp has it."""
    exact = HAPropsSI("B", "T", 350.15, "R", 0.15, "P", pressure)
    assert wet_bulb(350.15, 0.15, pressure) == pytest.approx(exact, abs=0.15)
    assert wet_bulb(350.15, 0.15, pressure) < wet_bulb(350.15, 0.15)


def test_boiling_temperature():
    """Water boils at 373.12 K at standard pressure (ITS-90 value 99.974 degC) and lower in the mountains."""
    assert boiling_temperature(STANDARD_PRESSURE) == pytest.approx(373.124, abs=0.01)
    assert boiling_temperature(80e3) == pytest.approx(PropsSI("T", "P", 80e3, "Q", 0, "Water"), abs=0.02)


@given(st.floats(275, 372), st.floats(0.02, 0.98))
def test_wet_bulb_lies_between_dew_point_and_dry_bulb(dry_bulb, humidity):
    """A wet bulb is never above the air nor below its dew point."""
    dew = dew_point(max(humidity * float(saturation_pressure(dry_bulb)), 100.0))
    assert dew - 0.01 <= wet_bulb(dry_bulb, humidity) <= dry_bulb


def test_wet_bulb_of_saturated_air():
    """Saturated air has its own temperature as wet bulb."""
    assert wet_bulb(320.0, 1.0) == pytest.approx(320.0, abs=1e-6)


def test_humidity_ratio_worked_by_hand():
    """Half the total pressure as vapour: the mass ratio is that of the molar masses."""
    humidity = 0.5 * STANDARD_PRESSURE / saturation_pressure(363.15)
    assert humidity_ratio(363.15, humidity) == pytest.approx(MASS_RATIO)


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: saturation_pressure(200.0), "temperature"),
        (lambda: saturation_pressure(np.array([300.0, 500.0])), "temperature"),
        (lambda: humidity_ratio(300.0, 1.2), "relative humidity"),
        (lambda: humidity_ratio(400.0, 0.9), "relative humidity"),
        (lambda: wet_bulb(270.0, 0.5), "dry bulb"),
        (lambda: boiling_temperature(2e4), "pressure"),
        (lambda: dew_point(10.0), "vapour pressure"),
    ],
)
def test_out_of_range_is_an_error(call, name):
    """What the equations do not cover raises and names itself."""
    with pytest.raises(RangeError) as caught:
        call()
    assert caught.value.name == name
