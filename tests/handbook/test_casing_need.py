"""Metres of casing beside what makers of casings print and a rule of the trade."""

from math import pi

import pytest

from handbook import open_handbook
from handbook.report.casing_need import casing_need
from tests.one_page import METHODS

#: Width in m, kg on 91.4 m (100 yards) as printed by two makers of natural casings; second-hand.
PRINTED = [(0.033, 45.0), (0.033, 48.0), (0.021, 21.0), (0.021, 23.0)]
#: Two feet of hog casing of 32 to 35 mm for a pound (a rule of sausage makers, second-hand).
RULE = (0.0335, 0.6096 / 0.45359)


@pytest.fixture(scope="module")
def sausage():
    """The demo's fresh sausage in a natural casing."""
    return open_handbook(METHODS).report("kitchen-sausage")


def test_a_cylinder_by_hand(sausage):
    """Mass over density, over the circle of the width, over the share that is filled."""
    need, food, pieces = sausage.casing, sausage.filled, sausage.method.pieces
    mixed_in = sum(each.made.mass for each in sausage.saltings) / sausage.method.batches.written_for.low
    full = (1 + mixed_in) / (food.density * pi * pieces.thickness.middle**2 / 4)
    assert need.per_food.low == pytest.approx(full, rel=0.002)
    assert need.per_food.typical == pytest.approx(need.per_food.low / 0.75)
    assert need.length.typical == pytest.approx(need.per_food.typical * sausage.method.batches.written_for.low)


@pytest.mark.parametrize(("width", "metres_per_kg"), [*((width, 91.44 / mass) for width, mass in PRINTED), RULE])
def test_printed_capacities_lie_in_the_range(sausage, width, metres_per_kg):
    """Every printed capacity lies within the range of a natural casing of its width."""
    need = sausage.casing
    ratio = (need.width / width) ** 2
    assert need.per_food.low * ratio <= metres_per_kg <= need.per_food.high * ratio


def test_nothing_without_a_casing():
    """A fillet is filled into none."""
    report = open_handbook(METHODS).report("hot-smoked-char-sides")
    assert report.casing is None and casing_need(report.method, report.food, 1.0) is None
