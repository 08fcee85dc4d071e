"""A new author's first pages are clean in at most three runs, and the first run says all kinds of faults together."""

import re

import pytest

from tests.first_pages.count_faults import FOLDER, PAGES, RUNS, faults


@pytest.fixture(scope="module")
def said(tmp_path_factory):
    """What each run says of each page."""
    place = tmp_path_factory.mktemp("first")
    return {run: faults(run, place) for run in RUNS}


@pytest.mark.parametrize("page", PAGES)
def test_clean_in_three_runs(said, page):
    """Each run says less than the one before, and the third says nothing."""
    counts = [len(said[run][page]) for run in RUNS]
    assert counts[0] > counts[1] >= counts[2] == 0, "\n".join(said["run3"][page] or said["run2"][page])


def test_names_units_and_rules_in_one_run(said):
    """The first run of the pastrami says an unknown name, a word without a number and a safety rule, each at its line."""
    keys = {re.match(r"[^:]+:\d+: ([\w.-]+):", line)[1] for line in said["run1"]["pastrami"]}
    assert {"food", "salting.ingredients.4.item", "safety.nitrite-maximum", "safety.cooling-stages"} <= keys
    assert any(line.endswith('such as "10-14 h"') for line in said["run1"]["jerky"])


def test_each_fault_stands_at_the_line_that_causes_it(said):
    """The line named holds what was read, wherever the page's own words are quoted."""
    checked = 0
    for page in PAGES:
        lines = (FOLDER / "run1" / f"{page}.md").read_text("utf-8").splitlines()
        for fault in said["run1"][page]:
            found = re.match(r'[^:]+:(\d+): (?!safety)[\w.]+: read "([^"]+)"', fault)
            if found and not found[2].endswith("pieces"):
                assert found[2] in lines[int(found[1]) - 1], fault
                checked += 1
    assert checked > 15


def test_pink_salt_asks_which():
    """A curing salt in the chef's notes is asked for by its strength, and stands nowhere as plain salt."""
    assert "pink salt" in (FOLDER / "run1" / "pastrami.md").read_text("utf-8")
    assert "curing salt type 1" in (FOLDER / "run2" / "pastrami.md").read_text("utf-8")
