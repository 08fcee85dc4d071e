"""Humid air against two psychrometric libraries, CoolProp live, and limits.

psychrometrics.csv: PsychroLib and CoolProp as run; tolerance 0.05 K to 70 degC dry bulb, 0.15 K above, which is what
the two libraries themselves agree to.
"""

import pytest
from CoolProp.CoolProp import PropsSI

from handbook.heat.humid_air import STANDARD_PRESSURE, latent_heat, saturation
from tests.published import rows


@pytest.mark.parametrize(
    "row", rows("psychrometrics.csv")[::7], ids=lambda row: f"{row['dry_bulb[C]']} C {row['relative_humidity[%]']} %"
)
def test_vapour_pressure_agrees_with_library(row):
    """Saturation x relative humidity is the library's vapour pressure to its last printed digit (0.05 Pa) or 0.02 %."""
    found = saturation(float(row["dry_bulb[C]"]) + 273.15) * float(row["relative_humidity[%]"]) / 100
    assert found == pytest.approx(float(row["vapour_pressure_psychrolib[Pa]"]), abs=0.05, rel=2e-4)


@pytest.mark.parametrize("celsius", [0.01, 4, 20, 50, 77, 100, 150, 190])
def test_saturation_pressure_against_coolprop(celsius):
    """Saturation pressure within 0.03 % of the equation of state of water."""
    assert saturation(celsius + 273.15) == pytest.approx(PropsSI("P", "T", celsius + 273.15, "Q", 0, "Water"), rel=3e-4)


@pytest.mark.parametrize("celsius", [1, 20, 40, 60, 80, 100])
def test_latent_heat_against_coolprop(celsius):
    """The straight line for the heat of vaporisation is within the 0.4 % it claims."""
    at = celsius + 273.15
    exact = PropsSI("H", "T", at, "Q", 1, "Water") - PropsSI("H", "T", at, "Q", 0, "Water")
    assert latent_heat(at) == pytest.approx(exact, rel=0.004)


def test_water_boils_at_the_pressure_of_the_air():
    """Water boils at 373.12 K at standard pressure (ITS-90 value 99.974 degC) and lower in the mountains.

    0.01 K of boiling are 36 Pa there; 0.02 K are 60 Pa at 80 kPa.
    """
    assert saturation(373.124) == pytest.approx(STANDARD_PRESSURE, abs=36)
    assert saturation(PropsSI("T", "P", 80e3, "Q", 0, "Water")) == pytest.approx(80e3, abs=60)
