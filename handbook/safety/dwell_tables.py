"""Printed tables of core temperature and dwell by product and fat (data/dwell_tables.csv).

Rows are never interpolated. Source: [fsis-cooking-guideline], Tables 2, 3, 4 and 6.
"""

from __future__ import annotations

from functools import lru_cache
from math import inf

from handbook.base import csv_rows as rows
from handbook.base.units import Quantity, parse_quantity

_FILE = "dwell_tables.csv"
#: Name of a table -> its products and the log10 reduction of Salmonella. Poultry without a table of its own takes the
#: longest dwell of chicken and turkey (page 36).
_TABLES = {
    "meat 6.5": (("meat",), "6.5"),
    "meat 7": (("meat",), "7"),
    "meat 5": (("meat",), "5"),
    "chicken 7": (("chicken",), "7"),
    "turkey 7": (("turkey",), "7"),
    "other poultry 7": (("chicken", "turkey"), "7"),
}
DWELL_TABLES = tuple(_TABLES)
_NO_FAT = ("product", "log10", "fat_percent", "table")


@lru_cache
def dwell_rows(name: str, fat: float | None) -> tuple[tuple[Quantity, Quantity], ...]:
    """Core and dwell of the table called ``name``, coldest first, down to the first core that needs no dwell.

    The printed column with the least fat that is not below ``fat`` (a fraction) applies. Unknown fat and fat above
    every column take the fattest column (page 39).

    >>> [(core.text, dwell.text) for core, dwell in dwell_rows("chicken 7", 0.026)][14:16]
    [('150 °F', '162 s'), ('151 °F', '120 s')]
    """
    products, log10 = _TABLES[name]
    columns = [_column(product, log10, fat) for product in products]
    cores = sorted(set.intersection(*(set(column) for column in columns)))
    dwells = [(core, max(column[core] for column in columns)) for core in cores]
    last = next((number for number, (_, dwell) in enumerate(dwells) if dwell == 0), len(dwells))
    return tuple(
        (parse_quantity(f"{core} °F", "temperature"), parse_quantity(f"{dwell:g} s", "time"))
        for core, dwell in dwells[: last + 1]
    )


def _column(product: str, log10: str, fat: float | None) -> dict[int, float]:
    """Dwell in s by core in °F of the printed column for a product and its fat."""
    found = {
        float(row["fat_percent"] or 0): row for row in _printed() if row["product"] == product and row["log10"] == log10
    }
    wanted = inf if fat is None else 100 * fat
    row = found[min((each for each in found if each >= wanted - 1e-9), default=max(found))]
    return {int(core): float(dwell) for core, dwell in row.items() if core not in _NO_FAT and dwell}


@lru_cache
def _printed() -> tuple[dict[str, str], ...]:
    return rows.read_table(_FILE)
