"""Each page of the verdict table gets the verdict that a process authority gives, however its author words it."""

from collections import Counter

import pytest

from tests.verdicts.cases import HAZARDS, VERDICTS, Case, cases, documents, rewritten
from tests.verdicts.engine import judge
from tests.verdicts.judge_table import compared
from tests.verdicts.rewrite import WAYS
from tests.verdicts.stages import chosen

TRUSTS = ("read", "second-hand", "from memory", "common practice")


#: Each page and then the same in other words: what the models see alike they compute once (tests/remembered.py).
PAGES = sorted((*cases(), *rewritten(), *chosen()), key=lambda case: case.id)


@pytest.mark.parametrize("case", PAGES, ids=lambda case: case.name)
def test_a_page_gets_its_verdict(case: Case):
    """Every case, every dangerous page in other words, and every page whose steps have another stage's name."""
    assert compared(case, judge(case)) == "", f"{case.title}: {case.why}"


def test_the_table_covers_every_family_and_hazard():
    verdicts = Counter(case.verdict for case in cases())
    assert verdicts.total() >= 150
    assert verdicts["stop"] >= 100
    assert verdicts["act"] + verdicts["clear"] >= 50
    assert {case.hazard for case in cases() if case.verdict == "stop"} == set(HAZARDS)
    for family in {case.family for case in cases()} - {"exceptions"}:
        assert {"stop", "clear"} <= {case.verdict for case in cases() if case.family == family}, family


def test_every_case_is_complete_and_rests_on_a_document():
    ids = Counter(case.id for case in cases())
    assert not [key for key, count in ids.items() if count > 1]
    for case in cases():
        assert case.verdict in VERDICTS, case.id
        assert case.hazard in HAZARDS, case.id
        assert case.by and not set(case.by) - set(documents()), case.id
        assert case.finds or case.verdict == "clear", case.id
        assert case.why, case.id


def test_every_document_is_used_and_says_how_it_is_known():
    used = {key for case in cases() for key in case.by}
    assert used == set(documents())
    for key, document in documents().items():
        assert set(document) == {"says", "source", "section", "trust"}, key
        assert document["trust"] in TRUSTS, key


def test_few_rewritings_are_set_aside():
    stops = [case for case in cases() if case.verdict == "stop"]
    aside = [(case.id, way) for case in stops for way in case.cannot]
    assert not [each for each in aside if each[1] not in WAYS]
    assert len(aside) <= 0.15 * len(stops) * len(WAYS)
