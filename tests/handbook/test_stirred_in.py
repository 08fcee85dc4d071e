"""What is stirred in after the salting counts into mass, water and salt from then on. Sums by hand beside each figure."""

import pytest

from tests.trade.notebook import judged
from tests.trade.soured import NOTES

_PAGE = next(each for each in NOTES if each.name == "chilies-thinned")


def _salt(text, name):
    report = judged(name, text, "home")
    assert not isinstance(report, str), report
    return report


def test_vinegar_dilutes_a_mash():
    """1000 g of chilies, 49.25 g of salt of 50, 200 g of vinegar: 49.5 g in 1250 g, by mass balance."""
    report = _salt(_PAGE.text, "thinned")
    assert report.salt.typical == pytest.approx(49.5 / 1280, rel=0.03)  # with 30 g of garlic in the jar
    before = report.salted.result.stages[0].salt_mass_fraction.typical
    assert report.salt.typical < before / 1.15


def test_more_vinegar_dilutes_more():
    """Twice the vinegar: the same salt in 200 g more."""
    thin = _salt(_PAGE.text.replace("20 % of food", "40 % of food").replace("200 g", "400 g"), "thin")
    thick = _salt(_PAGE.text, "thick")
    ratio = thick.salted.result.end.food_mass_ratio.typical / thin.salted.result.end.food_mass_ratio.typical
    assert thin.salt.typical / thick.salt.typical == pytest.approx(ratio, rel=0.01)


def test_salt_of_what_is_stirred_in_counts():
    """10 g of salt in the vinegar, 9.85 g of it salt, is in the sauce: of 1210 g and the mash."""
    salted = _PAGE.text.replace(
        "- item: vinegar, distilled 5 %\n  amount: 200 g",
        "- item: vinegar, distilled 5 %\n  amount: 190 g\n- item: salt, fine sea\n  amount: 10 g",
    )
    assert salted != _PAGE.text
    more = _salt(salted, "salted").salt.typical - _salt(_PAGE.text, "plain").salt.typical
    assert more == pytest.approx(9.85 / 1250, rel=0.05)


def test_a_gain_of_water_dilutes_too():
    """A tenth of water stirred in without a glaze: the salt is that before in 1.1 of the mass."""
    plain = _PAGE.text.replace("  use: vinegar\n", "  gain: 10 %\n")
    assert plain != _PAGE.text
    report = _salt(plain, "watered")
    before = report.salted.result.stages[0].salt_mass_fraction.typical
    assert report.salted.result.end.salt_mass_fraction.typical == pytest.approx(before / 1.1, rel=0.005)


def test_a_brushed_glaze_is_no_blend():
    """In the smoker a glaze stays on the outside: the run of the salt holds no stage of it."""
    brushed = _PAGE.text.replace(
        "place: bench\n  temperature: 18 °C\n- do: Fill", "place: bench\n  temperature: 18 °C\n- do: Fill"
    )
    brushed = brushed.replace("do: Blend with the vinegar.", "do: Brush with it.")
    at = brushed.index("do: Brush with it.")
    brushed = brushed[:at] + brushed[at:].replace("place: bench", "place: smoker", 1).replace(
        "temperature: 18 °C", "chamber: 90 °C", 1
    )
    kinds = [each.stage.kind for each in _salt(brushed, "brushed").salted.result.stages]
    assert "inject" not in kinds
