"""Cooking tables of core temperature and dwell against the cells that the guideline prints.

Source of every figure: USDA FSIS, Cooking Guideline for Meat and Poultry Products (Revised Appendix A), December 2021,
Tables 2, 3, 4 and 6, read from the service's own PDF.
"""

import pytest

from handbook.base import csv_rows
from handbook.base.units import kelvin
from handbook.safety.dwell_tables import DWELL_TABLES, dwell_rows
from handbook.safety.limits import limits


def minutes(name, fat, degrees):
    """Dwell in min at a core in °F."""
    cores = {core.text: dwell.low / 60 for core, dwell in dwell_rows(name, fat)}
    return cores[f"{degrees} °F"]


# Read cells; min unless a second is named. Fat in percent, None = unknown.
@pytest.mark.parametrize(
    ("name", "fat", "degrees", "printed"),
    [
        ("meat 6.5", None, 130, 112),
        ("meat 6.5", None, 140, 12),
        ("meat 6.5", None, 150, 67 / 60),
        ("meat 6.5", None, 158, 0),
        ("meat 7", None, 130, 121),
        ("meat 7", None, 155, 23 / 60),
        ("meat 5", None, 145, 3),
        ("meat 5", None, 150, 52 / 60),
        ("chicken 7", None, 136, 81.4),
        ("chicken 7", 12, 150, 4.2),
        ("chicken 7", 12, 155, 54.4 / 60),
        ("chicken 7", 12, 160, 16.9 / 60),
        ("chicken 7", 1, 136, 63.3),
        ("chicken 7", 1, 145, 8.4),
        ("chicken 7", 0.2, 160, 13.7 / 60),
        ("turkey 7", None, 150, 4.9),
        ("turkey 7", 15, 155, 1.3),
        ("turkey 7", 12, 160, 26.9 / 60),
        ("turkey 7", 1, 140, 28.1),
        ("other poultry 7", None, 136, 81.4),  # page 36: the longer of the two, here chicken's
        ("other poultry 7", None, 160, 26.9 / 60),  # and here turkey's
    ],
)
def test_a_cell_is_the_one_printed(name, fat, degrees, printed):
    """To half the last printed digit."""
    assert minutes(name, None if fat is None else fat / 100, degrees) == pytest.approx(printed, abs=0.0009)


@pytest.mark.parametrize("name", DWELL_TABLES)
def test_a_hotter_core_never_needs_a_longer_dwell(name):
    """And the last row needs none; 71 °C (160 °F) of meat and 165 °F of poultry stand without a hold."""
    dwells = [dwell.low for _, dwell in dwell_rows(name, None)]
    assert dwells == sorted(dwells, reverse=True) and dwells[-1] == 0 and dwells[-2] > 0


@pytest.mark.parametrize("name", ["chicken 7", "turkey 7"])
def test_unknown_fat_and_more_fat_than_printed_take_the_fattest_column(name):
    """Page 39: products with 12 % fat stand for more and for unknown fat."""
    assert dwell_rows(name, None) == dwell_rows(name, 0.12) == dwell_rows(name, 0.30)
    assert dwell_rows(name, 0.031) == dwell_rows(name, 0.04) != dwell_rows(name, 0.03)


def test_the_table_holds_every_printed_cell():
    """31 cores for meat in three columns, 30 for each of twelve columns of chicken and of turkey."""
    cells = [value for row in csv_rows.read_table("dwell_tables.csv") for key, value in row.items() if key.isdigit()]
    assert sum(value != "" for value in cells) == 3 * 31 + 2 * 12 * 30


def test_a_limit_takes_the_column_of_the_food():
    """Chicken of 2.6 % fat at 150 °F: the 3 % column, 162 s; with unknown fat 252 s."""
    limit = limits()["commercial-cook-chicken"]
    at = kelvin((150 - 32) / 1.8)
    for fat, seconds in ((0.026, 162), (None, 252)):
        (found,) = (hold for core, hold in limit.for_fat(fat).rows if core == pytest.approx(at))
        assert found == pytest.approx(seconds)
