"""The sections on drying, acid and warmth: what they show of the report, and that unknown figures are said."""

import re

import pytest

from handbook.report.evaluate import evaluate
from site_build.html.acid import acid_html
from site_build.html.drying import drying_html
from site_build.html.make_sheet import sheet_steps
from site_build.html.warmth import warmth_html
from tests.handbook.test_acid import BRINE, CABBAGE, EGGS, INTO, SOUR, sour
from tests.handbook.test_drying_course import hung
from tests.handbook.test_warmth import PAGE as WARM_PAGE
from tests.handbook.test_warmth import rested


def shown(html: str) -> str:
    """The words of a section."""
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def test_drying_section():
    """Loss, water activity by place, the dry rim, a table and a chart of the same, with what decides."""
    words = shown(drying_html(hung("until: weight loss 35 %"), ""))
    assert "35 %" in words and "measure it" in words and "dry rim" in words
    assert "Water activity, evened out" in words and "{" not in words


def test_no_section_where_nothing_dries_or_sours():
    """A page without the thing has no section on it."""
    _, report = sour("'egg, whole'", EGGS, BRINE.replace("VINEGAR", "vinegar, distilled 5 %"), INTO)
    assert drying_html(report, "") == "" and warmth_html(report, "") == ""
    assert acid_html(hung("time: 30 days"), "") == ""


@pytest.mark.parametrize(
    ("vinegar", "wanted"),
    [("vinegar, distilled 5 %", "pH, predicted"), ("vinegar, cider", "the strength of vinegar, cider")],
)
def test_pickle_section(vinegar, wanted):
    """The predicted pH, or what is missing for it."""
    _, report = sour("'egg, whole'", EGGS, BRINE.replace("VINEGAR", vinegar), INTO)
    words = shown(acid_html(report, ""))
    assert wanted in words and "clears no rule" in words


def test_ferment_section():
    """pH against time as chart and table, and the acid at the end."""
    _, report = sour("'cabbage, green'", "shape: slab\nthickness: 2 mm", CABBAGE, SOUR.replace("  TIME\n", ""))
    words = shown(acid_html(report, ""))
    assert "Acid at the end, as lactic" in words and "Below pH 4.6" in words and "predicted: measure it" in words


def test_warmth_section():
    """Mixture, ice that is missing, the box and what it crosses; an unknown temperature is said."""
    _, method, _ = rested()
    words = shown(warmth_html(evaluate(method, WARM_PAGE.house, WARM_PAGE.tables), ""))
    assert "more ice" in words and "It does not cross 60" in words and "°F" in words
    _, method, _ = rested(cold="")
    words = shown(warmth_html(evaluate(method, WARM_PAGE.house, WARM_PAGE.tables), ""))
    assert "Not stated: the temperature of water, tap, 1 L" in words


def test_sheet_says_what_it_weighs_when_it_is_dry():
    """A cook at the scale reads what a kilogram comes to: 650 g after 35 %."""
    (step,) = [each for each in sheet_steps(hung("until: weight loss 35 %"), []) if each.scheduled.number == 2]
    assert "computed" in step.ends and "650" in step.ends
