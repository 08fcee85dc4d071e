"""Which law judged a page: one line on every page, and the topics for which another place's documents stand in."""

import pytest

from handbook.safety.findings import findings
from tests.handbook.safety_cases import HOUSE, cooked, with_place


def _law(place):
    found = findings(cooked(house=with_place(place)))
    return found, [each for each in found if each.rule == "law"]


@pytest.mark.parametrize("place", ["United States", "European Union", "none named"])
def test_one_line_says_whose_law(place):
    """Regulation (EC) 852/2004 prints no cooking figure, so a European page is judged by the American one."""
    _, [law] = _law(place)
    assert law.level == "note"
    assert "Judged by" in law.message
    assert ("no European document for" in law.message) == (place == "European Union")
    assert ("names no `place`" in law.message) == (place == "none named")


def test_a_finding_says_where_another_law_stands_in():
    """Only where the house names a place that has no document of its own."""
    found, _ = _law("European Union")
    core = [each for each in found if each.rule == "core-temperature" and each.decides]
    assert core and all("Judged by United States law" in each.message for each in core)
    at_home, _ = _law("United States")
    assert not [each for each in at_home if each.rule != "law" and "Judged by" in each.message]
    assert HOUSE.place == "none named"
