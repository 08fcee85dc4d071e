"""Level and cover against hand-worked geometry."""

import pytest

from handbook.base.units import parse_quantity
from handbook.page.container import choose, fill
from handbook.page.house import Container


def box(name: str, length: str, width: str, height: str) -> Container:
    inner = {
        key: parse_quantity(each, "length") for key, each in (("length", length), ("width", width), ("height", height))
    }
    return Container(name=name, diameter=None, line=1, **inner)


TUB = box("tub", "40 cm", "25 cm", "20 cm")  # base 0.1 m2


def test_fill_hand_worked():
    """3 L of fish and 4 L of brine on 0.1 m2: level 7 cm; bed 5 cm; covered to 6 cm by 6 - 3 = 3 L."""
    found = fill(TUB, 0.003, 0.004)
    assert found.level_after == pytest.approx(0.07)
    assert found.bed_height == pytest.approx(0.05)
    assert found.brine_to_cover == pytest.approx(0.003)
    assert found.covers and not found.overflows


def test_fill_not_covered():
    """2 L of brine do not cover what 3 L cover."""
    assert not fill(TUB, 0.003, 0.002).covers


def test_fill_runs_over():
    """18 cm hold 18 L; 19 L run into the rim."""
    assert fill(TUB, 0.009, 0.0099).overflows
    assert not fill(TUB, 0.009, 0.0089).overflows


def test_choose_takes_the_smallest_that_holds():
    """The smallest container without overflow is taken, a named one always."""
    small, large = box("small", "20 cm", "20 cm", "10 cm"), box("large", "60 cm", "40 cm", "30 cm")
    assert choose((large, small), None, 0.0005, 0.001).container is small
    assert choose((large, small), None, 0.005, 0.006).container is large
    assert choose((large, small), "small", 0.005, 0.006).overflows
