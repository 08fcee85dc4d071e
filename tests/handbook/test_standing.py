"""Where the models stand against findings and rules: the figures are the published ones, the misfits follow from them.

Only the printed side is asserted as such; the model's side is held to what the other published tests state of it, so
that a page can never show an agreement that the tests do not know.
"""

from fractions import Fraction
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handbook.base.csv_rows import read_table
from handbook.base.ranges import Range
from handbook.base.sources import source
from handbook.validation.comparisons import misfit, span, standings, two_figures
from handbook.validation.published_findings import all_printed
from tests.published import rows


def by_key(key: str) -> list:
    """Every standing of one finding."""
    return [each for each in standings() if each.finding.key == key]


def test_every_finding_is_answered():
    """No row of the table is left without an answer of the engine, and each says how it stands."""
    singles = {each.finding.key for each in standings() if not each.finding.key.startswith("times_")}
    assert singles == set(all_printed())
    assert all(each.misfit and each.basis and (each.model or each.said) for each in standings())


@pytest.mark.parametrize(
    "row",
    [each for each in rows("uptake_in_food.csv") if not each["key"].startswith("cheese_d")],
    ids=lambda row: row["key"],
)
def test_figures_as_published(row):
    """The page's rows carry the printed figures, their ends and the words of how they were read."""
    own = next(each for each in read_table("published_findings.csv") if each["key"] == row["key"])
    scale = 1e10 if row["unit"] == "m2/s" else 1.0
    for column in ("printed", "low", "high"):
        assert bool(own[column]) == bool(row[column]) or column == "high"
        if own[column]:
            assert float(own[column]) == pytest.approx(scale * float(row[column]))
    assert own["trust"] == {"read (abstract)": "read", "read (as quoted)": "second-hand"}[row["trust"]]


def test_range_of_cheeses_as_published():
    """0.1 to 0.4 cm2/day for cheeses in general (read, abstract): two published rows, one here."""
    ends = {row["key"]: float(row["printed"]) for row in rows("uptake_in_food.csv")}
    figure = all_printed()["cheese_d"].figure
    assert (figure.low, figure.high) == (ends["cheese_d_low"], ends["cheese_d_high"])
    assert figure.typical == pytest.approx(0.2)


def test_trust_is_that_of_the_source():
    """A figure from memory or at second hand is marked so in both places."""
    for finding in all_printed().values():
        assert finding.trust == source(finding.source).trust


@pytest.mark.parametrize("key", ["feta_6_5", "feta_8_0", "feta_9_5"])
def test_feta_by_hand(key):
    """Salt in moisture at rest is brine salt / (brine water + cheese moisture): a balance by hand."""
    brine = {"feta_6_5": 0.065, "feta_8_0": 0.080, "feta_9_5": 0.095}[key]
    (found,) = by_key(key)
    wet, dry = (100 * brine / (1 - brine + moisture) for moisture in (0.508, 0.489))
    assert wet - 0.005 <= found.model.low < found.model.high <= dry + 0.005
    assert found.model.low <= found.finding.figure.high and found.model.high >= found.finding.figure.low


def test_misfits_are_not_tuned_away():
    """What disagrees does so on the page: cubes of pork 4 to 14 times, thin fish, thick fish."""
    (cube,), (thin,), (thick,) = by_key("pork_cube"), by_key("rule_thin"), by_key("fatty_51")
    assert cube.ratio.low > 3 and cube.misfit.startswith("High") and "do not overlap" in cube.misfit
    assert [each.misfit.split(". ")[-1] for key in ("rule_inch_25", "rule_inch_51") for each in by_key(key)] == [
        "The rule is enough.",
        "The rule is enough for the typical piece, not for the slowest.",
    ]
    assert thin.ratio.low > 1 and thin.misfit.startswith("High")
    assert thick.ratio.typical > 1.4 and thick.misfit.startswith("High by a factor of 1.8")


@pytest.mark.parametrize(("key", "thickness"), [("fatty_25", 25.4), ("fatty_38", 38.1), ("fatty_51", 50.8)])
def test_fish_times_go_with_the_square(key, thickness):
    """The same salt in a thicker piece of the same fish takes (L / 19 mm)^2 as long: Fick's law, exact by scaling."""
    (found,), (first,) = by_key(key), by_key("fatty_25")
    assert found.model.typical == pytest.approx(2.0 * (thickness / 19) ** 2, rel=0.01)
    for end in ("low", "high"):
        assert getattr(found.model, end) == pytest.approx(getattr(first.model, end) * (thickness / 25.4) ** 2, rel=0.01)


def test_smoker_run_is_not_called_safe():
    """A run by eye: neither the core nor six reductions are assured, and the page says both."""
    (core,), (germs,) = by_key("rule_smoker"), by_key("rule_six")
    assert "does not assure a core of 63 °C" in core.misfit
    assert germs.misfit.startswith("Not assured") and germs.finding.trust == "from memory"
    for (loss,) in (by_key("loss_19"), by_key("loss_25")):
        assert 12 < loss.model.typical < 25 and loss.misfit == "Inside what is printed."


def test_rinse_and_basting():
    """A rinse takes from outside; a baste cools by less than 1.5 K."""
    (rinse,), (baste,) = by_key("rule_rinse"), by_key("rule_baste")
    assert rinse.misfit.startswith("Agrees")
    assert 0 < float(baste.said.split("at most ")[1].split(" K")[0]) < 1.5


def test_pellicle_has_an_open_end():
    """ "At least 2 h" has no high end."""
    (found,) = by_key("rule_pellicle")
    assert found.finding.figure == Range(2.0, 2.0, inf)
    assert found.ratio.low == pytest.approx(found.model.low / 2)


@pytest.mark.parametrize(
    ("model", "words"),
    [
        (Range(4.0, 5.5, 9.0), "Inside what is printed."),
        (Range(5.0, 7.5, 9.0), "High by a factor of 1.5; the ranges overlap."),
        (Range(7.0, 7.5, 9.0), "High by a factor of 1.5; the ranges do not overlap."),
        (Range(1.0, 2.0, 3.0), "Low by a factor of 2.5; the ranges do not overlap."),
    ],
)
def test_misfit_words(model, words):
    """The sentence follows from the two ranges."""
    assert misfit(Range(4.0, 5.0, 6.0), model) == words


def test_misfit_of_a_few_percent():
    """Under a tenth it is said in percent."""
    assert misfit(Range(4.55, 4.6, 4.65), Range(4.4, 4.5, 4.6)) == "Low by 2 %; the ranges overlap."


@given(st.floats(1e-3, 9e4))
def test_two_figures_are_within_half_a_digit(value):
    """Rounding errs by at most half of the second figure."""
    assert float(two_figures(value)) == pytest.approx(value, rel=0.0501)


def test_span_of_one_figure():
    """Ends that look alike are not printed twice."""
    assert span(Range(4.51, 4.52, 4.53)) == "4.5"
    assert span(Range(1.0, 2.0, 30.0)) == "2.0 (1.0 to 30)"


@pytest.mark.parametrize("row", rows("drying_acid.csv"), ids=lambda row: row["key"])
def test_drying_and_acid_as_published(row):
    """The rows of drying and acid carry the printed figures in their own unit, their source and its trust."""
    finding, factor = all_printed()[row["key"]], float(Fraction(row["factor"]))
    assert (finding.source, finding.trust) == (row["source"], row["trust"])
    wanted = [float(row[end]) * factor for end in ("low", "value", "high") if row[end]]
    ends = (finding.figure.low, finding.figure.typical, finding.figure.high)
    for each in wanted:
        assert any(end == pytest.approx(each, rel=1e-3) for end in ends)
