"""Sodium, yield and cost, hand-worked; sodium in salt against published composition."""

import pytest

from handbook.catalogue.ingredients import load
from handbook.report.portions import SODIUM_IN_SALT


def test_sodium_in_table_salt():
    """Table salt holds 38 758 mg sodium in 100 g (USDA SR28, NDB 02047): 98.5 % of the stoichiometric 39.34 %."""
    table = next(each for each in load() if each.name.startswith("salt, fine table"))
    assert pytest.approx(0.38758) == table.sodium
    assert pytest.approx(0.3934, abs=5e-5) == SODIUM_IN_SALT
    assert table.sodium / (table.salt * SODIUM_IN_SALT) == pytest.approx(0.987, abs=1e-3)
