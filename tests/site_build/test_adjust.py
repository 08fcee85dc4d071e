"""Correcting a brine: the command as a cook types it, and the two sections of a method's page."""

import re

import pytest
from click.testing import CliRunner

from handbook.advice.correction import proportion
from handbook.brine.hydrometer_scales import SIXTY_FAHRENHEIT
from handbook.brine.instruments import InstrumentReading, hydrometer_gravity
from handbook.brine.measured_salt import salt_from_reading
from site_build.cli.main import main
from site_build.html.brine_help import OFF, brine_help_html, wet_saltings
from site_build.html.change_table import change_html
from site_build.html.local_list import local_list

CHAR, BRISKET, CHEESE, CUCUMBERS = (
    "hot-smoked-char-sides.md",
    "cured-brisket.md",
    "brined-white-cheese.md",
    "brined-cucumbers.md",
)


@pytest.fixture
def said(methods_folder):
    """Runs the command on a page of the demo: (exit code, what it said)."""

    def run(page: str, *options: str) -> tuple[int, str]:
        result = CliRunner().invoke(main, ["adjust", str(methods_folder / page), *options])
        return result.exit_code, result.output

    return run


def test_adjust_weak_and_strong(said):
    """A weak brine gets salt and sugar, a strong one water; half the batch gets half."""
    code, weak = said(CHAR, "--read", "SG 1.150 at 3 °C")
    assert code == 0 and re.search(r"too weak: stir in \d+ g .*salt, fine sea and .* sugar", weak)
    assert "One reading cannot tell salt from sugar" in weak and "fits" in weak
    assert "too strong: pour in" in said(CHAR, "--read", "SG 1.195 at 3 °C")[1]
    assert "add nothing" in said(CHAR, "--read", "SG 1.169 at 3 °C")[1]
    grams = [
        float(re.search(r"stir in (\d+) g", said(CHAR, "--read", "SG 1.150 at 3 °C", "--batch", mass)[1])[1])
        for mass in ("3 kg", "1.5 kg")
    ]
    assert grams[0] == pytest.approx(2 * grams[1], abs=1.5)


def test_adjust_by_another_hydrometer(said):
    """One made for 20 °C, in the same brine, shows more: read as what it is, it asks for more salt."""
    sixty, twenty = (
        float(re.search(r"stir in (\d+) g", said(CHAR, "--read", "SG 1.150 at 3 °C", *more)[1])[1])
        for more in ((), ("--hydrometer", "20 °C"))
    )
    assert twenty > sixty


def test_adjust_with_the_food_in(said):
    """With the food in, nothing is added by a reading."""
    code, text = said(CHAR, "--read", "SG 1.150 at 3 °C", "--food-in")
    assert code == 0 and "Do not correct the brine by it" in text and "stir in" not in text


def test_adjust_cure_is_refused(said):
    """A brine with curing salt is not corrected by its strength, nor used again."""
    assert "not the nitrite" in said(BRISKET, "--read", "20 salometer at 3 °C")[1]
    assert "Do not use it again" in said(BRISKET, "--used")[1]


def test_adjust_used(said):
    """Raw fish: the strength left, no amounts; cheese: with care, and what it lacks."""
    fish, cheese = said(CHAR, "--used")[1], said(CHEESE, "--used")[1]
    assert "Do not use it again" in fish and "it has held raw food" in fish and "add " not in fish
    assert "With care" in cheese and re.search(r"to restore it: add .* salt, fine sea", cheese)
    assert all("Local codes" in text for text in (fish, cheese))


@pytest.mark.parametrize(
    "page, options, line",
    [
        (CHAR, (), "adjust: read both or none of --read and --used"),
        (CHAR, ("--read", "1.058"), '--read: read "1.058"; allowed: a reading'),
        (CHAR, ("--read", "SG 1.058 at 90 °C"), "temperature of the reading: read 90; allowed: 0 to 40 °C"),
        (CHAR, ("--read", "SG 1.34"), "reading on the scale specific gravity: read 1.34; allowed:"),
        (CHAR, ("--read", "SG 1.1", "--batch", "3 L"), '--batch: read "3 L"; allowed:'),
        (CHAR, ("--read", "SG 1.1", "--batch", "-1 kg"), '--batch: read "-1 kg"; allowed:'),
        (CHAR, ("--read", "SG 1.1", "--hydrometer", "20"), '--hydrometer: read "20"; allowed:'),
        (CHAR, ("--read", "SG 1.1", "--volume", "0 L"), '--volume: read "0 L"; allowed:'),
        (CHAR, ("--read", "SG 0.995"), "reading on the scale specific gravity: read 0.995; allowed:"),
        (CHAR, ("--read", "SG 1.1", "--brine", "pickle"), 'read "pickle"; allowed: a brine of this page: brine'),
        ("winter-smoked-trout.md", ("--used",), "wet brines of this page: read 0; allowed:"),
        ("no-such-page.md", ("--used",), "no such page"),
    ],
)
def test_adjust_wrong_input(said, page, options, line):
    """Each wrong input gives one clear line and exit 1."""
    code, text = said(page, *options)
    assert code == 1 and len(text.splitlines()) == 1 and line in text, text


def test_help_table_reads_back(demo_book):
    """Each row's gravity, read in at the brine's temperature, is the strength that the row is for."""
    report = demo_book.pages[CHAR].report
    made = wet_saltings(report)[0].made
    html = brine_help_html(report, demo_book.house, "")
    shown = [float(each) for each in re.findall(r'<th scope="row" class="num">([\d.]+)</th>', html)]
    assert len(shown) == len(OFF)
    recipe = proportion(made)
    for off, gravity in zip(OFF, shown, strict=True):
        assert gravity == pytest.approx(
            hydrometer_gravity(recipe.salt * off, recipe.sugar * off, 276.15, SIXTY_FAHRENHEIT), abs=5e-4
        )
        salt = salt_from_reading(
            InstrumentReading(scale="specific gravity", value=gravity, temperature=276.15, step=0.001, text=""),
            recipe,
            276.15,
        )
        assert salt.typical == pytest.approx(recipe.salt * off, abs=1e-3)


def test_help_on_every_wet_page(demo_book):
    """Pages with a wet brine have the section, dry ones have not; a cure gets its sentence and no table."""
    for path, page in demo_book.pages.items():
        if page.report is None:
            continue
        html = brine_help_html(page.report, demo_book.house, "")
        assert bool(html) == bool(wet_saltings(page.report)), path
    cure = brine_help_html(demo_book.pages[BRISKET].report, demo_book.house, "")
    assert "<table" not in cure and "not the nitrite" in cure


def test_change_section_of_every_page(demo_book):
    """Every method has it; curing salt stands in no row; a fermented vegetable has no figure for frozen food."""
    for page in demo_book.pages.values():
        if page.report is None:
            continue
        html = change_html(page.report, demo_book.house, demo_book.tables, "", local_list(page))
        assert "never exchanged for salt" in html and '<th scope="row">curing salt' not in html
    cucumbers = demo_book.pages[CUCUMBERS]
    assert "not computed" in change_html(cucumbers.report, demo_book.house, demo_book.tables, "", local_list(cucumbers))
