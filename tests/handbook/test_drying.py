"""Juice, moisture and water activity against published tables and limits."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from handbook.heat.evaporation import Isotherm, exuded_with_slope, moisture_diffusivity
from handbook.heat.heat_run import HeatSpread, run
from tests.handbook.heat_cases import ALONE, bath, piece
from tests.heat_reference import water_activity
from tests.published import pairs


def exuded(kind, kelvin):
    """Juice let go, kg / kg green weight."""
    return float(exuded_with_slope(kind, np.asarray(kelvin))[0])


@pytest.mark.parametrize(("celsius", "loss"), pairs("cooking_loss.csv", "temperature[C]", "cooking_loss[%]"))
def test_exuded_juice_of_meat_is_the_published_cooking_loss(celsius, loss):
    """The curve for meat is within 1 % of green weight of the handbook's table of lean beef."""
    assert 100 * exuded("meat", celsius + 273.15) == pytest.approx(loss, abs=1.0)


def test_exuded_juice_of_salmon():
    """Salmon lost 6.3-9.1 % vacuum-packed in water and 11.6-16.2 % steamed or roasted (Gluchowski 2020, abstract, read).

    The abstract gives no core temperatures; 57 to 75 degC are taken, a common span (common practice, no source).
    """
    assert 0.063 <= exuded("fish", 330.15) <= 0.162
    assert 0.063 <= exuded("fish", 348.15) <= 0.162


def test_bath_draws_out_the_juice():
    """Hours in hot water end at the equilibrium loss, all of it dripped."""
    result = run(piece(exudes="meat"), [bath(75, 6)], ALONE)
    wanted = exuded("meat", 348.15)
    assert result.stages[0].mass_lost.typical == pytest.approx(wanted, abs=0.005)
    assert result.stages[0].dripped.typical == pytest.approx(wanted, abs=0.005)


#: (temperature in degC, low, high in m2/s): salted pork, beef by infrared and by hot air, pepperoni, ham muscle; all read in
#: abstracts (see handbook/heat/evaporation.py). The temperatures of the last two were not seen and are taken as 12 and 13 degC.
DIFFUSIVITIES = [
    (2, 2.5e-10, 2.5e-10),
    (35, 4.56e-10, 13.7e-10),
    (35, 1.6e-10, 2.28e-10),
    (12, 4.7e-11, 5.7e-11),
    (13, 2.4e-11, 6.6e-11),
]


def test_moisture_diffusivity_is_the_mean_of_the_sources():
    """The geometric mean of published / model is 1 within a tenth, and every published figure is inside the printed spread."""
    ratios = np.array(
        [(low * high) ** 0.5 / float(moisture_diffusivity(273.15 + celsius)) for celsius, low, high in DIFFUSIVITIES]
    )
    spread = HeatSpread().moisture_diffusivity
    assert np.exp(np.log(ratios).mean()) == pytest.approx(1.0, abs=0.1)
    assert ratios.min() > spread.low * 0.85 and ratios.max() < spread.high * 1.15


def test_water_activity_limits():
    """Fresh muscle is near 0.99; salted and dried it stops at saturated salt, 0.753 (published), times its solids' own."""
    fresh = float(water_activity(0.75 / 0.25, 0.25, 0.03))
    assert 0.98 < fresh < 1.0
    salted = float(water_activity(0.75 / 0.25, 0.25, 0.03, 0.03))
    molality = 0.03 / 0.75 / 0.058443
    assert salted / fresh == pytest.approx(np.exp(-2 * 0.0180153 * molality * 0.92), abs=0.002)  # phi 0.92, from memory
    nothing_but_salt = float(water_activity(30.0, 1.0, 0.99, 30 * 0.36))
    assert nothing_but_salt == pytest.approx(0.753, abs=0.02)


def test_sugar_of_a_glaze_lowers_the_water_activity():
    """More sugar in the outer layer makes it less active at the same moisture."""
    plain, moisture = Isotherm(0.25, 0.03), np.full(3, 2.0)
    glazed = plain.with_sugar(np.array([0.0, 0.1, 0.3]))
    logarithm = glazed.log_activity(moisture)[0]
    assert (
        logarithm[0] == pytest.approx(plain.log_activity(moisture)[0][0]) and logarithm[2] < logarithm[1] < logarithm[0]
    )


@given(st.floats(0.02, 4.0), st.floats(0.01, 0.5))
def test_water_activity_rises_with_moisture(moisture, more):
    """Wetter is never less active."""
    assert water_activity(moisture + more, 0.3, 0.05, 0.02) >= water_activity(moisture, 0.3, 0.05, 0.02)
