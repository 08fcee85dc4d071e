"""The words that changed in prose: shown beside the figures, lost negations and numbers marked."""

import pytest

from handbook.base.errors import HandbookError
from handbook.folder.titles import earlier_names
from site_build.review.changed_words import AROUND, MOST_CHANGES, changed_words, marked_words
from site_build.review.comparison import review
from site_build.review.report_html import html_text
from site_build.review.report_markdown import markdown_text
from site_build.review.report_parts import PLANNED, WORDS, method_parts, summary
from site_build.review.report_terminal import terminal_text
from tests.site_build.review_edits import commit, demo_repository, git


@pytest.mark.parametrize(
    ("before", "after", "marked"),
    [
        ("Never refreeze it.", "Refreeze it.", ("lost: never",)),
        ("Refreeze it.", "Never refreeze it.", ("added: never",)),
        ("Do not keep it warm.", "Do keep it warm.", ("lost: not",)),
        ("It isn't done yet.", "It is done yet.", ("lost: isn't",)),
        ("Keep it for 3 days.", "Keep it for 30 days.", ("number: 3 → 30",)),
        ("Add ½ cup.", "Add 1½ cup.", ("number: ½ → 1½",)),
        ("Heat it to 74 °C, without a lid.", "Heat it to 47 °C.", ("lost: without", "number: 74 → 47")),
        ("Serve it hot.", "Serve it warm.", ()),
        ("Always wash it.", "Wash it, always.", ()),
        ("Smoke it over alder.", "Smoke it over apple wood.", ()),
    ],
)
def test_what_weighs_in_an_edit_is_marked(before, after, marked):
    """A negation or a number that came or went is named; one that only moved is none."""
    assert marked_words(changed_words([before], [after])) == marked


def test_a_change_is_shown_with_words_around_it():
    """The words themselves stand between marks, with a few others beside them."""
    words = " ".join(f"w{number}" for number in "abcdefghijklmnopqrstuvwxyz")
    (one,) = changed_words([words], [words.replace(" wm ", " wm not ")])
    assert one.before == "… wi wj wk wl wm wn wo wp wq wr …"
    assert one.after == "… wi wj wk wl wm «not» wn wo wp wq wr …" and one.marked == ("added: not",)
    assert len(one.before.split()) == 2 * AROUND + 2


def test_a_paragraph_that_went_or_came_stands_alone():
    """A lost caution is shown whole, the most dangerous first."""
    found = changed_words(["Serve it.", "Never give it to infants."], ["Serve it hot.", "A new thing."])
    assert found[0].marked == ("lost: never",) and found[0].before == "«Never give it to infants.»"
    assert {(each.before, each.after) for each in found[1:]} == {
        ("Serve «it.»", "Serve «it hot.»"),
        ("", "«A new thing.»"),
    }


def test_many_changes_are_bounded():
    """A page that is written anew gives no endless report."""
    old, new = ([f"{side}{number} apple {number}" for number in range(200)] for side in "ab")
    assert len(changed_words(old, new)) == MOST_CHANGES
    assert changed_words(["a " * 100_000], ["b " * 100_000])


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A repository of two pages of the demo."""
    return demo_repository(tmp_path_factory.mktemp("words"), ("brined-cucumbers.md", "about.md"))


def _edited(folder, file: str, before: str, after: str):
    page = folder / file
    text = page.read_text("utf-8")
    assert before in text
    page.write_text(text.replace(before, after, 1), "utf-8")
    try:
        return review(folder, "HEAD")
    finally:
        page.write_text(text, "utf-8")


def test_a_lost_negation_of_a_method_is_a_serious_line(folder):
    """It stands once, with what the cook must see."""
    text = (folder / "brined-cucumbers.md").read_text("utf-8")
    word = next(word for word in (" never ", " not ", " no ") if word in text.split("```")[-1] + text.split("---")[2])
    found = _edited(folder, "brined-cucumbers.md", word, " ").methods
    parts = method_parts(found[0])
    assert any(each.word == WORDS and f"lost: {word.strip()}" in each.title for each in parts.alerts)
    assert parts.edited == ()


def test_a_lost_negation_of_a_step_is_said_once(folder):
    """The words of a step weigh as much as those of the prose; every form of the report shows them once."""
    page = folder / "brined-cucumbers.md"
    text = page.read_text("utf-8")
    page.write_text(text.replace("- do: Wash, cut", "- do: Never wash them warm. Wash, cut", 1), "utf-8")
    commit(folder, "a caution in a step")
    found = _edited(folder, "brined-cucumbers.md", "Never wash them warm.", "Wash them warm.")
    alert = next(each for each in method_parts(found.methods[0]).alerts if each.word == WORDS)
    assert alert.title == "step 1, lost: never"
    for report in (terminal_text(found, 300), markdown_text(found), html_text(found)):
        assert report.count("«Never") == report.count("lost: never") == 1


def test_a_lost_negation_of_a_page_of_reading_is_told(folder):
    """Pages without calculations have no figures, but words that weigh."""
    page = folder / "about.md"
    text = page.read_text("utf-8")
    page.write_text(text + "\nNever leave it out.\n", "utf-8")
    commit(folder, "a caution")
    found = _edited(folder, "about.md", "Never leave it out.", "Leave it out.").other_pages
    assert [each.after for each in found] == ["changed; lost: never"]


def test_an_edited_time_stands_under_what_was_edited(folder):
    """Not under what follows from it."""
    text = (folder / "brined-cucumbers.md").read_text("utf-8")
    line = next(line for line in text.splitlines() if line.strip().startswith("time: ") and "day" in line)
    found = _edited(folder, "brined-cucumbers.md", line, line.split(":")[0] + ": 21 days").methods
    parts = method_parts(found[0])
    steps = next(each for each in parts.edited if each.title == "Edited steps")
    assert any(", time" in row[0] and row[2] == "21 days" for row in steps.rows)
    assert not any(
        each.title == "Times of steps" and any("21 days" in row[2] for row in each.rows) for each in parts.tables
    )
    first = next(each for each in parts.tables if not each.is_folded)
    assert first.title == "What follows" and 0 < len(first.rows) <= len(PLANNED) == 8
    assert all(each.is_folded for each in parts.tables if each is not first)


def test_a_page_that_names_its_earlier_name_is_renamed(folder):
    """However much was rewritten: ``was`` pairs the two."""
    git(folder, "mv", "brined-cucumbers.md", "crock-sours.md")
    page = folder / "crock-sours.md"
    text = page.read_text("utf-8")
    words = "\n\n".join(f"Another paragraph {number} of new words." for number in range(400))
    page.write_text(text.replace("---\n", "---\nwas: [brined-cucumbers]\n", 1) + f"\n{words}\n", "utf-8")
    try:
        found = review(folder, "HEAD").methods
        assert [(each.status, each.old_path) for each in found] == [("renamed", "brined-cucumbers.md")]
    finally:
        git(folder, "reset", "-q", "--hard")


@pytest.mark.parametrize(
    ("head", "names"),
    [
        ("---\nwas: [old, fish/char.md]\n---\n", ("old", "fish/char")),
        ("---\nwas: old\n---\nwas: no", ("old",)),
        ('---\ntitle: x\nwas:\n  - old\n  - "older"\n---\n', ("old", "older")),
        ("---\ntitle: x\n---\nwas: [no]", ()),
    ],
)
def test_earlier_names_are_read_from_the_head(head, names):
    """In the forms that YAML has for a list of words."""
    assert earlier_names(head.encode()) == names


def test_an_absent_folder_is_said_as_such(folder, tmp_path):
    """A folder that only one version has is named; one that neither has is a fault."""
    first = git(folder, "rev-list", "--max-parents=0", "HEAD").strip()
    git(folder, "checkout", "-q", "--orphan", "empty")
    git(folder, "rm", "-rfq", "--cached", ":/")
    git(folder, "commit", "-q", "--allow-empty", "-m", "nothing yet")
    empty = git(folder, "rev-parse", "HEAD").strip()
    git(folder, "checkout", "-qf", first)
    found = review(folder, empty, first)
    assert found.absent == (f"The folder methods is not in {empty} ({empty[:10]}).",)
    assert {each.status for each in found.methods} == {"added"}
    assert summary(found)[2] == found.absent[0]
    with pytest.raises(HandbookError, match="nowhere: read no such folder in"):
        review(folder.parent / "nowhere", first)
