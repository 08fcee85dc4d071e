"""What a step is called decides nothing: its place, medium, temperature and what it uses do."""

import re
import shutil
from pathlib import Path

import pytest

from handbook import open_handbook
from handbook.base.units import parse_quantity
from handbook.page.salting import Salting
from handbook.page.steps import Step
from handbook.report.heat_stages import medium
from handbook.report.salt_stages import moves_salt

METHODS = Path(__file__).parents[2] / "methods"
#: These say what is done to the food's salt where the step states no mixture and no medium.
SAYS_SALT = ("salt", "ferment", "rinse", "freshen")


def step(**stated) -> Step:
    return Step(**{"do": "Work.", "stage": "rest", "line": 1, **stated})


def renamed(text: str) -> str:
    """A page with every step called "hold" whose work is the same by any name."""
    steps = re.split(r"(?m)^(?=- do:)", text)
    return "".join(
        each
        if re.search(rf"stage: ({'|'.join(SAYS_SALT)})$", each, re.MULTILINE) or "place: stove" in each
        else re.sub(r"(?m)^  stage: \w+$", "  stage: hold", each)
        for each in steps
    )


@pytest.mark.parametrize("name", ["winter-smoked-trout", "cured-brisket", "cellar-cabbage"])
def test_figures_do_not_hang_on_a_name(name, tmp_path):
    """Salt, the kinds of its stages, core and every verdict are the same, whatever page and steps are called."""
    shutil.copytree(METHODS, tmp_path / "methods")
    page = tmp_path / "methods" / f"{name}.md"
    text = page.read_text("utf-8")
    page.write_text(re.sub(r"(?m)^kind: .*$", "kind: cook", renamed(text), count=1), "utf-8")
    assert page.read_text("utf-8") != text
    before, after = (open_handbook(folder).report(name) for folder in (METHODS, tmp_path / "methods"))
    assert (after.salt, after.finished) == (before.salt, before.finished)
    kinds = [[each.stage.kind for each in report.salted.result.stages] for report in (before, after)]
    assert kinds[0] == kinds[1]
    told = [[(each.level, each.rule, each.figure) for each in report.findings] for report in (before, after)]
    assert told[0] == told[1]


def test_salt_moves_where_the_food_lies_and_not_where_it_is_frozen_or_in_hand():
    """Frozen food, a pan beside the food and brief work by hand move no salt; water does, by any name."""
    day, brief = parse_quantity("1 day", "time"), parse_quantity("20 min", "time")
    cold = parse_quantity("-20 °C", "temperature")
    for stage in ("rest", "freeze", "hold", "pack"):
        assert moves_salt(step(stage=stage, time=day, place="fridge"), follows_heat=False)
        assert not moves_salt(step(stage=stage, time=day, place="freezer", temperature=cold), follows_heat=False)
        assert not moves_salt(step(stage=stage, time=brief, hands_on=True), follows_heat=False)
        assert moves_salt(step(stage=stage, time=brief, hands_on=True, medium="water"), follows_heat=False)
    assert not moves_salt(step(stage="prepare", time=day, place="stove"), follows_heat=False)


def test_a_brine_carries_heat_and_a_rub_does_not():
    """The medium follows from what the food lies in."""
    brine, rub = (Salting(kind=kind, ingredients=(), line=1) for kind in ("immersion", "dry cure"))
    for stage in ("salt", "cook", "hold"):
        assert medium(step(stage=stage), brine) == "water"
        assert medium(step(stage=stage), rub) == medium(step(stage=stage)) == "air"
    assert medium(step(stage="rinse")) == medium(step(medium="water")) == "water"
    assert medium(step(stage="rinse", medium="air")) == "air"
