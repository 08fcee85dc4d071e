"""A handbook opened from Python: one way from a name to a report, every fault in one go, no generator needed."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from handbook import FaultsError, open_handbook
from handbook.folder.handbook import handbook_folder
from handbook.folder.titles import stated_title, title_faults

METHODS = Path(__file__).resolve().parent.parent.parent / "methods"
CABBAGE = "cellar-cabbage"


@pytest.fixture
def folder(tmp_path):
    """A handbook of one method and one page of plain reading."""
    for name in ("house.yml", f"{CABBAGE}.md", "about.md"):
        shutil.copy(METHODS / name, tmp_path / name)
    return tmp_path


def test_methods_pages_and_report(folder):
    """A method has its report, computed once; a page of plain reading is no method and has no fault for it."""
    handbook = open_handbook(folder)
    assert handbook.methods == (CABBAGE,) and handbook.house.kitchen
    report = handbook.report(CABBAGE)
    assert report is handbook.report(CABBAGE) and handbook.page(f"{CABBAGE}.md").report is report
    assert handbook.page("about.md").report is None and handbook.faults() == []
    with pytest.raises(
        FaultsError, match=r"about\.md:1: page: read no method; allowed: a page with calculation blocks"
    ):
        handbook.report("about")


def test_every_fault_is_told_in_one_go(folder):
    """A misspelt key, a title that two methods share, a stray run and a day of no method, each with its file and line."""
    text = (folder / f"{CABBAGE}.md").read_text("utf-8")
    (folder / "crock.md").write_text(text.replace("stage: salt", "stagge: salt", 1), "utf-8")
    (folder / "second.md").write_text(text, "utf-8")
    (folder / "runs" / "nothing").mkdir(parents=True)
    (folder / "runs" / "nothing" / "2026-10-12.yml").write_text("on: 2026-10-12\n", "utf-8")
    handbook = open_handbook(folder)
    told = [str(each) for each in handbook.faults()]
    name = folder.name
    assert any(each.startswith(f"{name}/crock.md:") and "stagge" in each for each in told), told
    assert any(each.startswith(f"{name}/second.md:2: title:") for each in told), told
    assert any(each.startswith(f"{name}/runs/nothing/2026-10-12.yml:1: run:") for each in told), told
    with pytest.raises(FaultsError) as stopped:
        handbook.reports(("crock", "celler-cabbage"))
    assert {each.file for each in stopped.value.faults} == {f"{name}/crock.md", f"{name}/celler-cabbage.md"}


def test_a_day_plan_that_cannot_be_read_is_a_fault(folder):
    """Day plans are judged once the pages are sound; their file and line stand in the fault."""
    (folder / "days").mkdir()
    (folder / "days" / "friday.yml").write_text("title: Friday\nmethods: []\n", "utf-8")
    handbook = open_handbook(folder)
    assert handbook.days == ("days/friday.yml",)
    faults = handbook.faults()
    assert faults and all(each.file == f"{folder.name}/days/friday.yml" for each in faults)


def test_a_house_with_a_fault_opens_no_handbook(folder):
    """Nothing can be computed in a house that cannot be read."""
    (folder / "house.yml").write_text("kitchen: [1, 2\n", "utf-8")
    with pytest.raises(FaultsError, match=r"house\.yml:\d+:"):
        open_handbook(folder)
    (folder / "house.yml").unlink()
    with pytest.raises(FaultsError, match=r"house\.yml:1: house: read nothing"):
        open_handbook(folder)


def test_a_handbook_stays_as_it_was_opened(folder):
    """What is computed is computed from the bytes read at the start, whatever happens to the files meanwhile."""
    handbook = open_handbook(folder)
    (folder / f"{CABBAGE}.md").unlink()
    assert handbook.report(CABBAGE).method.name == CABBAGE


def test_folder_of_a_page(folder):
    """The handbook of a page is the nearest folder above it with a house file."""
    below = folder / "fish"
    below.mkdir()
    assert handbook_folder(below / "char.md") == folder.resolve()
    (below / "house.yml").write_text("", "utf-8")
    assert handbook_folder(below / "char.md") == below.resolve()


def test_title_faults_name_the_new_page():
    """Of two pages with one title, capitals aside, the later path is at fault, or the page that is new."""
    titles = {"a.md": ("Soy eggs", 2), "b.md": ("soy EGGS", 3), "c.md": ("Char", 2)}
    (fault,) = title_faults("methods", titles)
    assert str(fault) == 'methods/b.md:3: title: read "soy EGGS"; allowed: a title of its own (a.md has it)'
    (fault,) = title_faults("methods", titles, {"a.md"})
    assert (fault.file, fault.line) == ("methods/a.md", 2) and "(b.md has it)" in str(fault)


@pytest.mark.parametrize(
    ("text", "title"),
    [
        ("---\ntitle: Soy eggs\n---\n", ("Soy eggs", 2)),
        ('---\nkind: cook\ntitle: "Soy eggs"\n...\n', ("Soy eggs", 3)),
        ("---\nkind: cook\n---\ntitle: in the text\n", ("", 1)),
        ("", ("", 1)),
    ],
)
def test_stated_title(text, title):
    """The title is that of the front matter, not a line of the text below it."""
    assert stated_title(text.encode()) == title


def test_the_engine_opens_no_generator(folder):
    """A script that reads a report loads no part of the generator; ``import handbook`` alone not even the models."""
    script = f"""
import sys, handbook
assert "numpy" not in sys.modules
handbook.open_handbook({str(folder)!r}).report({CABBAGE!r})
found = {{each.partition(".")[0] for each in sys.modules}}
print(sorted(found & {{"site_build", "mkdocs", "markdown", "nh3"}}))  # jinja2: pint may load it by itself
"""
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=False)
    assert done.returncode == 0 and done.stdout.strip() == "[]", done.stdout + done.stderr


def test_module_is_the_command():
    """``python -m handbook`` says the same version as the command."""
    from handbook import __version__

    done = subprocess.run([sys.executable, "-m", "handbook", "--version"], capture_output=True, text=True, check=True)
    assert done.stdout == f"handbook {__version__}\n"
