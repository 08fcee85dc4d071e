"""What instruments show in each brine: the same figure wherever a page shows it, and one that the page's own tool accepts."""

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from handbook import open_handbook
from handbook.base.formats import format_number, format_percent, format_temperature
from handbook.brine.strength import readings
from site_build.cli.main import main
from site_build.html.make_sheet import need_html
from site_build.html.render import render

METHODS = Path("methods")
BOOK = open_handbook(METHODS)


@pytest.fixture(params=BOOK.methods)
def name(request):
    return request.param


def _brines(name):
    """The wet brines of a page whose salt and sugar alone make a reading."""
    found = [each for each in BOOK.report(name).saltings if each.strength is not None]
    assert all(each.strength.readings or "change a reading" in each.strength.unread for each in found)
    return [each for each in found if each.strength.readings]


def test_the_pages_own_readings_find_nothing_to_add(name):
    """Salometer, hydrometer, Baumé scale and refractometer as printed, given back to the command."""
    for each in _brines(name):
        _check_readings(name, each)


def _check_readings(name, each):
    read = each.strength.readings
    at = f"at {format_number(read.temperature - 273.15, 0)} °C"
    printed = [
        f"{format_number(read.salometer, 0)} salometer {at}",
        f"hydrometer {format_number(read.specific_gravity, 3)} {at}",
        f"Baumé {format_number(read.baume, 1)} {at}",
        f"Brix {format_number(read.brix, 1)}",
    ]
    for words in printed:
        result = CliRunner().invoke(
            main, ["adjust", str(METHODS / f"{name}.md"), "--read", words, "--brine", each.mixture.name]
        )
        if each.made.has_cure:
            assert "Do not correct a cure by its strength" in result.output
            continue
        assert result.exit_code == 0 and "add nothing" in result.output, (words, result.output)
        assert f"target {format_percent(each.strength.salt_mass_fraction)}" in result.output


def test_a_hydrometer_and_a_salometer_tell_one_density(name):
    """The printed gravity is the density of the brine at its temperature over that of water at 60 °F, and the glass a little
    narrower in the cold [iso-1768]; a salometer in the same brine shows what plain brine of that density would be."""
    for each in _brines(name):
        read = each.strength.readings
        plain = readings(read.salometer * 0.0026395, 0.0, 288.7056)
        assert plain.specific_gravity == pytest.approx(read.specific_gravity, abs=2e-5)
        assert plain.salometer == pytest.approx(read.salometer, abs=0.02)


def test_sixty_degrees_is_the_tables_brine_and_sugar_raises_the_reading():
    """60 salometer is 15.837 % salt and SG 1.118 at 60 °F [salometer-definition]; 5 % of sugar in it reads 9 degrees more."""
    plain, sweet = readings(0.15837, 0.0, 288.7056), readings(0.15837, 0.05, 288.7056)
    assert plain.salometer == pytest.approx(60.0, abs=0.01)
    assert plain.specific_gravity == pytest.approx(1.118, abs=0.0015)
    assert 8 < sweet.salometer - plain.salometer < 12


def test_every_place_shows_the_same_reading(name):
    """Need list, wall card, run sheet and table of the brine print one reading at one temperature."""
    report = BOOK.report(name)
    need = need_html(report)
    card = render("wall_card.html", report=report, size="", mark="", acts=())
    for each in _brines(name):
        read = each.strength.readings
        wanted = (
            f"reads at {format_temperature(read.temperature)}: salometer {format_number(read.salometer, 0)}°, "
            f"hydrometer {format_number(read.specific_gravity, 3)}"
        )
        assert wanted in need and wanted in card
    assert not re.search(r"\d° salometer", card)
