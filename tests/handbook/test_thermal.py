"""Thermal properties from composition: hand-worked mixing, limits, a library for water, errors.

Component equations: Choi and Okos (1986), read in reprints. No published worked example was found; the rows of
food_properties.csv are a regression check against another code of the same equations, and say so.
"""

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from handbook.base.errors import RangeError
from handbook.catalogue.thermal_properties import CONDUCTIVITY, DENSITY, Composition, density
from tests.heat_reference import properties
from tests.published import rows


def in_series(food, kelvin):
    """Conductivity with the parts in series, the lower bound: 1 / sum(v_i / k_i) of the engine's own coefficients."""
    powers = np.array([1.0, kelvin - 273.15, (kelvin - 273.15) ** 2])
    volumes = food.fractions / (DENSITY @ powers)
    return volumes.sum() / (volumes / (CONDUCTIVITY @ powers)).sum()


SALMON = Composition(water=0.6489, protein=0.2042, fat=0.1342, carbohydrate=0.0, ash=0.0113)


@st.composite
def compositions(draw):
    """Any food from lean to fat, fresh to half dry."""
    parts = [draw(st.floats(low, high)) for low, high in ((0.3, 0.9), (0.05, 0.4), (0.0, 0.4), (0.0, 0.2), (0.0, 0.05))]
    return Composition(*(part / sum(parts) for part in parts))


@pytest.mark.parametrize("row", rows("food_properties.csv"), ids=lambda row: f"{row['food']} {row['temperature[C]']} C")
def test_properties_agree_with_another_code(row):
    """Every property rounds to what another code of the same equations gives (regression, not a published example)."""
    food = Composition(*(float(row[part]) for part in ("water", "protein", "fat")), 0.0, float(row["ash"]))
    at = float(row["temperature[C]"]) + 273.15
    assert density(food, at) == pytest.approx(float(row["density[kg/m3]"]), abs=0.5)
    assert properties(food, at)[1] / 1e3 == pytest.approx(float(row["specific_heat[kJ/kg/K]"]), abs=0.0005)
    assert properties(food, at)[2] == pytest.approx(float(row["k_parallel[W/m/K]"]), abs=0.00005)
    assert in_series(food, at) == pytest.approx(float(row["k_series[W/m/K]"]), abs=0.00005)
    rho, capacity, conductivity = properties(food, at)
    assert conductivity / (rho * capacity) == pytest.approx(float(row["alpha_parallel[m2/s]"]), abs=0.5e-10)


def test_properties_of_equal_parts_worked_by_hand():
    """Half water, half fat at 0 degC, where only the first coefficients count: worked by hand."""
    food = Composition(water=0.5, protein=0.0, fat=0.5)
    water, fat = 0.5 / 997.18, 0.5 / 925.59  # m3/kg: 5.01414e-4 and 5.40196e-4
    share = water / (water + fat)
    assert density(food, 273.15) == pytest.approx(1 / (water + fat))
    assert properties(food, 273.15)[1] == pytest.approx(0.5 * 4176.2 + 0.5 * 1984.2)
    assert properties(food, 273.15)[2] == pytest.approx(share * 0.57109 + (1 - share) * 0.18071)
    assert in_series(food, 273.15) == pytest.approx(1 / (share / 0.57109 + (1 - share) / 0.18071))


@pytest.mark.parametrize("celsius", [1, 20, 40, 60, 80, 99])
def test_properties_of_water_alone(celsius):
    """Water alone is CoolProp's water within what the equations are carried at (density 2 %, specific heat 3 %, conductivity 10 %)."""
    at, water = celsius + 273.15, Composition(water=1.0, protein=0.0, fat=0.0)
    library = {name: PropsSI(name, "T", at, "P", 101325, "Water") for name in ("D", "C", "L")}
    assert density(water, at) == pytest.approx(library["D"], rel=0.02)
    assert properties(water, at)[1] == pytest.approx(library["C"], rel=0.03)
    assert properties(water, at)[2] == pytest.approx(library["L"], rel=0.1)


@given(compositions(), st.floats(271, 420))
def test_series_is_the_lower_bound(food, temperature):
    """Parts in series never conduct better than in parallel, and both stay between the worst and the best part."""
    low, high = in_series(food, temperature), properties(food, temperature)[2]
    assert 0.1 < low <= high * (1 + 1e-12) < 0.75


@given(compositions(), st.floats(271, 420))
def test_mixture_has_the_density(food, temperature):
    """The unchecked function of the inner loop gives the same density."""
    assert properties(food, temperature)[0] == pytest.approx(density(food, temperature))


def test_composition_sums_to_one():
    """Food tables that do not sum to 1 are scaled."""
    assert Composition(
        water=0.716, protein=0.199, fat=0.104, carbohydrate=0.0, ash=0.013
    ).fractions.sum() == pytest.approx(1.0)


def test_arrays_keep_their_shape():
    """Temperatures may come as an array."""
    assert density(SALMON, np.full((2, 3), 300.0)).shape == (2, 3)


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: Composition(water=0.7, protein=0.1, fat=0.1), "composition"),
        (lambda: Composition(water=0.7, protein=-0.1, fat=0.4), "protein"),
        (lambda: Composition(water=0.02, protein=0.5, fat=0.48), "water"),
        (lambda: density(SALMON, 260.0), "temperature"),
        (lambda: properties(SALMON, 430.0)[2], "temperature"),
    ],
)
def test_out_of_range_is_an_error(call, name):
    """What the equations do not cover raises and names itself."""
    with pytest.raises(RangeError) as caught:
        call()
    assert caught.value.name == name
