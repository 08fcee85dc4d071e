"""Seventy ordinary methods of the trade: each is expressed, computed as by hand, judged for three kitchens, and a refusal
says what would mend it. The sums beside the figures are arithmetic on the notes; compositions are those of the table of
foods (USDA SR28, read), strengths of brine the published table at 60 °F (see tests/published/salometer.csv).
"""

import pytest

from tests.trade import brined, cooked, cured, dried, gathered, hearth, minced, smoked, soured
from tests.trade.notebook import KITCHENS, Note, figure, judged, refusal, verdict

NOTES: tuple[Note, ...] = tuple(
    note for module in (brined, minced, smoked, cooked, dried, soured, cured, hearth, gathered) for note in module.NOTES
)
#: A figure by hand and one of the page differ by rounding and by impurities of salt that a hand leaves out.
WITHIN = 0.012
#: What hot food loses on the bench and under the knife, a few percent that no note states, is in the page's yield.
STEAMS_OFF = {"yield %": 0.03, "portion g": 0.03, "cost per kg": 0.03}


def by_name(notes):
    """Parameters with readable ids."""
    return [pytest.param(each, id=each.name) for each in notes]


def test_the_notebook_holds_every_family():
    """Seventy methods with six figures or more; a quarter of them are unsafe; each has a name of its own."""
    assert len(NOTES) >= 70 and len({each.name for each in NOTES}) == len(NOTES)
    assert all(len(each.figures) >= 6 for each in NOTES), [each.name for each in NOTES if len(each.figures) < 6]
    unsafe = [each for each in NOTES if "stop" in each.verdicts.values()]
    assert len(unsafe) >= len(NOTES) / 4
    assert all(each.finds for each in unsafe), [each.name for each in unsafe if not each.finds]
    assert len({each.family for each in NOTES}) >= 20


@pytest.mark.parametrize("note", by_name(NOTES))
def test_a_method_is_computed_as_by_hand(note):
    """Every figure that the hand worked out is that of the page."""
    report = judged(note.name, note.text, "home")
    assert not isinstance(report, str), report
    wrong = []
    for name, by_hand in note.figures.items():
        found = figure(report, name)
        if found != pytest.approx(by_hand, rel=note.within.get(name, STEAMS_OFF.get(name, WITHIN)), abs=1e-9):
            wrong.append(f"{name}: by hand {by_hand:g}, page {found:.5g}")
    assert not wrong, "; ".join(wrong)


@pytest.mark.parametrize("note", by_name(NOTES))
def test_a_method_gets_its_verdict(note):
    """Home, shop and plant each get the verdict of the trade; a refusal names the hazard and what would mend it."""
    reports = {kitchen: judged(note.name, note.text, kitchen) for kitchen in KITCHENS}
    assert not [each for each in reports.values() if isinstance(each, str)], reports
    assert {kitchen: verdict(report) for kitchen, report in reports.items()} == note.verdicts
    words = " ".join(refusal(report) for report in reports.values()).lower()
    assert not [each for each in (*note.finds, *note.mends) if each.lower() not in words], words
