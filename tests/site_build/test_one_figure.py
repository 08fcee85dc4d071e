"""One figure for one thing: the built pages of the demo never state two yields, portions, cores, review days or strengths."""

import json
import re
from pathlib import Path

import html5lib
import pytest

from handbook import open_handbook
from handbook.base.formats import format_number, format_percent, format_percent_range
from site_build.html.side_by_side import DATA

BOOK = open_handbook(Path("methods"))
LAYERS = ("", ".why", ".proof")
MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December")  # fmt: skip


@pytest.fixture(params=BOOK.methods)
def name(request):
    """Each method of the demo."""
    return request.param


@pytest.fixture
def text(name, demo_site):
    """All words of a method's three pages, paper and hidden parts included."""
    return " ".join(_words(demo_site / f"{name}{layer}.html") for layer in LAYERS)


def _words(path):
    tree = html5lib.parse(path.read_text("utf-8"), treebuilder="etree", namespaceHTMLElements=False)
    for parent in tree.iter():
        for child in list(parent):
            if child.tag in ("script", "style"):
                child.text = ""
    return re.sub(r"\s+", " ", " ".join(tree.itertext()))


def test_portions(name, text):
    """The batch makes one number of portions, on the sheet, the card and where a portion is told."""
    sheet = BOOK.report(name).method.front_matter
    assert {int(each) for each in re.findall(r"(\d+) portions\b", text)} <= {sheet.portions}
    assert f"{sheet.portions} portions" in text or sheet.portions == 1


def test_yield(name, demo_site):
    """The yield of the portion is the weight at the end of the salt's table, where that table has a weight."""
    report, why = BOOK.report(name), html5lib.parse(
        (demo_site / f"{name}.why.html").read_text("utf-8"), treebuilder="etree", namespaceHTMLElements=False
    )  # fmt: skip
    told = format_percent_range(report.finished.ratio, 0)
    everything = " ".join(_words(demo_site / f"{name}{layer}.html") for layer in LAYERS)
    assert set(re.findall(r"Yield, \w+ (\S+ %(?: \([^)]*\))?) of green weight", everything)) == {told}
    for table in why.iter("table"):
        heads = ["".join(each.itertext()).strip() for each in table.iter("th") if each.get("scope") == "col"]
        if "Weight of green" in heads:
            rows = list(table.find("tbody").iter("tr"))
            assert "".join(list(rows[-1])[-1].itertext()).strip() == told
    assert f'["Yield","{told}, {report.finished.basis}"]' in (demo_site / DATA).read_text("utf-8")


def test_one_mass(name):
    """Yield, portions and finished salt rest on one mass: the salt of all portions, in their weight, is the finished salt.

    Sodium is 22.99 g of each 58.44 g of salt (standard atomic weights); the glaze's share is left out on both sides.
    """
    report = BOOK.report(name)
    method, batch = report.method, report.method.batches.written_for.low
    count = method.front_matter.portions
    assert report.portion.mass.typical * count == pytest.approx(report.finished.ratio.typical * batch)
    salt = report.portion.sodium.typical * count * 58.44 / 22.99
    assert salt / (report.finished.ratio.typical * batch) == pytest.approx(report.salt.typical, rel=0.005)
    if report.salted is not None:
        assert report.finished.basis != "typical"
        run = report.salted.result.end
        assert run.salt_on_green_weight.typical / run.food_mass_ratio.typical == pytest.approx(
            run.salt_mass_fraction.typical
        )


def test_a_loss_of_weight_is_the_yield(name):
    """A page that ends when a share of the weight is gone yields the rest, less what it loses afterwards, of what was filled."""
    report = BOOK.report(name)
    ends = [number for number, step in enumerate(report.method.steps, 1) if step.waits_for == "weight loss"]
    for number in ends[-1:]:
        left = 1 - report.method.steps[number - 1].until.value
        assert left * 0.97 <= report.finished.ratio.typical <= left + 1e-6


def test_review_day(name, text, demo_site):
    """One day of review, in both of its ways to be written."""
    day = BOOK.report(name).method.front_matter.reviewed
    written = {
        f"{int(year)}-{month}-{number}"
        for year, month, number in re.findall(r"[Rr]eviewed (\d{4})-(\d\d)-(\d\d)", text)
    }
    spoken = {
        f"{year}-{MONTHS.index(month) + 1:02}-{int(number):02}"
        for number, month, year in re.findall(rf"[Rr]eviewed:? (\d+) ({'|'.join(MONTHS)}) (\d{{4}})", text)
    }
    assert written | spoken == {day.isoformat()}


def test_core(name, text):
    """Every core that the pages ask for, the author's own words included, is one that a step states."""
    stated = {round(step.core.low - 273.15) for step in BOOK.report(name).method.steps if step.core}
    asked = {int(each) for each in re.findall(r"\bcore (?:of )?(\d{2,3}) °C", text.replace("Core", "core"))}
    assert asked <= stated


def test_an_aim_that_is_met_is_never_out_of_reach(name, text):
    """No row says "never" beside the salt that the page aims at."""
    assert not re.search(r"Aim [^.]*never", text)


def test_strength(name, text):
    """Each brine has one strength: percent, salometer and gravity are its own at their temperature, wherever they stand."""
    strong = [each.strength for each in BOOK.report(name).saltings if each.strength]
    read = [each for one in strong for each in one.every_reading]
    salometers = {format_number(each.salometer, 0) for each in read if each.salometer is not None}
    gravities = {format_number(each.specific_gravity, 3) for each in read if each.specific_gravity is not None}
    # The table of corrections shows brines that are off.
    told = re.sub(r"Before the food goes in: what the instrument shows.*?add nothing for less", "", text)
    assert set(re.findall(r"[Ss]alometer (\d+)°", told)) <= salometers
    assert set(re.findall(r"(?:hydrometer|specific gravity) (\d\.\d{3})", told)) <= gravities
    assert set(re.findall(r"([\d.]+ %) salt; reads at", told)) == {
        format_percent(each.salt_mass_fraction) for each in strong if each.readings
    }
    assert set(re.findall(r"Salt in the brine ([\d.]+ %)", told)) == {
        format_percent(each.salt_mass_fraction, 2) for each in strong
    }


def test_the_overviews_show_the_pages_figures(name, demo_site):
    """The table of brines and the comparison show each method's own strength."""
    report = BOOK.report(name)
    rows = _words(demo_site / "brines.html")
    compared = json.loads((demo_site / DATA).read_text("utf-8").removeprefix("window.handbookMethods=").rstrip(";\n"))
    title = report.method.front_matter.title
    mine = json.dumps(
        next(each for each in compared if title in json.dumps(each, ensure_ascii=False)), ensure_ascii=False
    )
    for each in report.saltings:
        if each.strength:
            assert (
                f"{title} {each.mixture.name} {each.mixture.kind} {format_percent(each.strength.salt_mass_fraction)}"
                in rows
            )
            assert format_percent(each.strength.salt_mass_fraction) in mine
