"""Kitchen measures against published household weights, and rounding properties."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handbook.base.units import kitchen_volume
from handbook.page.measures import nearest_measure


@pytest.mark.parametrize(
    ("millilitres", "text"),
    [
        (236.588, "1 cup"),
        (118.294, "½ cup"),
        (59.147, "¼ cup"),
        (14.787, "1 tbsp"),
        (4.929, "1 tsp"),
        (2.464, "½ tsp"),
        (1.232, "¼ tsp"),
        (0.616, "⅛ tsp"),
        (354.88, "1½ cups"),
        (0.2, "less than ⅛ tsp"),
        (19.716, "1 tbsp + 1 tsp"),
        (473.176, "2 cups"),
    ],
)
def test_nearest_measure(millilitres, text):
    """US customary volumes give the spoon that holds them (NIST Handbook 44, appendix C; from memory)."""
    assert nearest_measure(millilitres * 1e-6, "us")[0] == text


@given(st.floats(0.7e-6, 4e-3))
def test_nearest_measure_is_near(volume):
    """What is printed is never further off than the gap between two measures allows."""
    text, error = nearest_measure(volume, "us")
    assert abs(error) <= 0.34 if volume < 2 * kitchen_volume("tsp", "us") else abs(error) <= 0.07
    assert text


@given(st.sampled_from(["us", "metric", "imperial"]), st.integers(1, 12))
def test_whole_cups_are_exact(measures, cups):
    """Whole cups come back as whole cups in every house."""
    text, error = nearest_measure(cups * kitchen_volume("cup", measures), measures)
    assert text == f"{cups} cup{'s' if cups > 1 else ''}" and error == pytest.approx(0, abs=1e-9)
