"""No rule of safety holds a figure of its own: limits and notions stand as data, with their source."""

import ast
import re
from pathlib import Path

import pytest

import handbook.safety
from handbook.base.sources import source
from handbook.safety.limits import figure, limits
from handbook.safety.notions import notion, notions

ROOM = Path(handbook.safety.__file__).parent
STATE = ("food_state.py", "ripening.py", "held_conditions.py", "timeline.py", "step_times.py", "case.py")
FILES = sorted([*ROOM.glob("rules/*.py"), *(ROOM / name for name in STATE)])
#: Counting, halves, per cent, parts per million, a slack of rounding, digits shown, and seconds in a minute, an hour, a day.
PLAIN = {0, 1, 2, 3, 100, 1e6, 1e-6, 60.0, 3600.0, 86400.0}
_FIGURE = re.compile(r"\d+(?:[.,]\d+)? ?(?:°|%|ppm\b|days?\b|weeks?\b|hours?\b|h\b|minutes?\b|min\b|degree)")


def _docstrings(tree):
    owners = (ast.Module, ast.FunctionDef, ast.ClassDef)
    return {
        id(each.body[0].value)
        for each in ast.walk(tree)
        if isinstance(each, owners) and each.body and isinstance(each.body[0], ast.Expr)
    }


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_rule_file_holds_no_figure(path):
    """Neither as a number nor in the words that it says; docstrings may tell."""
    tree = ast.parse(path.read_text("utf-8"))
    told = _docstrings(tree)
    values = [each for each in ast.walk(tree) if isinstance(each, ast.Constant) and id(each) not in told]
    numbers = [each for each in values if isinstance(each.value, (int, float)) and not isinstance(each.value, bool)]
    wrong = [f"{path.name}:{each.lineno}: {each.value}" for each in numbers if each.value not in PLAIN]
    words = [each for each in values if isinstance(each.value, str)]
    wrong += [f"{path.name}:{each.lineno}: {each.value}" for each in words if _FIGURE.search(each.value)]
    assert not wrong


def test_every_notion_is_used_and_has_a_source():
    """A figure that nothing reads would be a figure that someone believes in."""
    text = "".join(path.read_text("utf-8") for path in ROOM.rglob("*.py"))
    for name, each in notions().items():
        assert f'notion("{name}")' in text, name
        assert source(each.source).citation and each.says, name


# 9 CFR 319.106(c)(4) and (c)(6) as read; 21 CFR 114.3(b) and (d); Code of Maine Rules 01-001 chapter 359, 3.A.2;
# University of Idaho Extension 2013; 1 NYCRR 318.10: as printed.
@pytest.mark.parametrize(
    ("limit", "name", "printed"),
    [
        ("dried-ham-water-activity", "water_activity", 0.92),
        ("dried-ham-days", "time", 70 * 86400),
        ("shelf-stable-animal", "water_activity", 0.85),
        ("shelf-stable", "ph", 4.6),
        ("shelf-salt-fish-maine", "water_phase_salt", 0.17),
        ("oil-four-days", "time", 4 * 86400),
        ("trichinae-sausage", "salt", 0.0333),
        ("trichinae-sausage", "time", 20 * 86400),
        ("sausage-degree-hours", "degree_hours", 1200),
        ("sausage-degree-hours", "ph", 5.3),
    ],
)
def test_the_figures_that_the_rules_read_are_those_printed(limit, name, printed):
    """The rules ask for these by name; another figure there would change verdicts in silence."""
    assert figure(limit, name) == pytest.approx(printed)
    assert limits()[limit].trust in ("read", "second-hand")


def test_sixty_degrees_fahrenheit_begin_the_degree_hours():
    """60 °F is 15.56 °C (exact conversion)."""
    assert notion("sours") == pytest.approx(273.15 + 15.6)
