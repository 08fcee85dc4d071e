"""Realistic edits of the demo methods, and the git repositories in which they are made."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from pathlib import Path

from site_build.review.changes import Comparison
from site_build.review.comparison import review
from site_build.review.report_html import html_text
from site_build.review.report_json import json_text
from site_build.review.report_markdown import markdown_text
from site_build.review.report_terminal import terminal_text

METHODS = Path(__file__).resolve().parent.parent.parent / "methods"
GOLDEN = Path(__file__).with_name("golden")
#: Name of the edit -> (file, text before, text after), or (file, new file) for a rename.
EDITS: dict[str, tuple[tuple[str, ...], ...]] = {
    "stronger-brine": (("glazed-whitefish-strips.md", "amount: 320 g", "amount: 420 g"),),
    "swapped-digits-of-curing-salt": (("cured-brisket.md", "amount: 10.2 g", "amount: 20.1 g"),),
    "shorter-freezing": (("winter-smoked-trout.md", "time: 8 days", "time: 5 days"),),
    "lower-core": (("hot-smoked-char-sides.md", "core: 72 °C\n  hold: 30 min", "core: 60 °C\n  hold: 5 min"),),
    "thicker-pieces": (("brined-chicken-thighs.md", "thickness: 26-30 mm", "thickness: 34-38 mm"),),
    "another-crystal": (("brined-chicken-thighs.md", "salt, dense rolled flake (kitchen coarse)", "salt, fine sea"),),
    "honey-for-birch": (("glazed-whitefish-strips.md", '"syrup, birch", amount: 3/4 cup', "honey, amount: 1 cup"),),
    "no-soak": (
        (
            "cured-brisket.md",
            "- do: Soak in fresh cold water, changed once, to take the edge off the rim.\n  stage: freshen\n"
            "  time: 2-3 h\n  place: fridge\n  temperature: 3 °C\n  air: water\n  water: 300 % of food\n  changes: 2\n",
            "",
        ),
    ),
    "vacuum-packed": (
        (
            "hot-smoked-char-sides.md",
            "pack: air\ntemperature: 3 °C\ntime: 7 days",
            "pack: vacuum\ntemperature: 5 °C\ntime: 21 days",
        ),
    ),
    "warmer-fridge-dearer-salt": (
        ("house.yml", "fridge: 3 °C", "fridge: 6 °C"),
        ("house.yml", '"salt, fine sea", price: 1.90 per kg', '"salt, fine sea", price: 2.60 per kg'),
    ),
    "renamed-and-reworded": (
        ("soy-eggs.md", "eggs-in-soy.md"),
        ("eggs-in-soy.md", "title: ", "title: The house's "),
    ),
    "misspelt-unit": (("cellar-cabbage.md", "amount: 2.25 % of food", "amount: 2.25 of food"),),
}


def git(folder: Path, *arguments: str) -> str:
    """One git command with a fixed author and moment, free of what the machine configures."""
    fixed = {
        "GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_NOSYSTEM": "1", "GIT_AUTHOR_NAME": "Marit Osk",
        "GIT_AUTHOR_EMAIL": "marit@example.org", "GIT_COMMITTER_NAME": "Marit Osk",
        "GIT_COMMITTER_EMAIL": "marit@example.org", "GIT_AUTHOR_DATE": "2026-10-01T08:00:00Z",
        "GIT_COMMITTER_DATE": "2026-10-01T08:00:00Z", "GIT_ALLOW_PROTOCOL": "file",
    }  # fmt: skip
    surroundings = {name: value for name, value in os.environ.items() if not name.startswith("GIT_")}
    done = subprocess.run(
        ["git", *arguments], cwd=folder, env=surroundings | fixed, capture_output=True, text=True, check=True
    )
    return done.stdout


def commit(folder: Path, subject: str = "change") -> str:
    """Commit everything in the repository of ``folder``; the commit's id."""
    git(folder, "add", "-A", ":/")
    git(folder, "commit", "-q", "--allow-empty", "-m", subject)
    return git(folder, "rev-parse", "HEAD").strip()


def demo_repository(root: Path, names: tuple[str, ...] = ()) -> Path:
    """A repository in ``root`` with the demo methods (or only the pages ``names``) committed; its methods folder."""
    folder = root / "methods"
    if names:
        folder.mkdir(parents=True)
        for each in METHODS.iterdir():
            if each.name in names or each.suffix in (".yml", ".csv"):
                shutil.copy(each, folder)
    else:
        shutil.copytree(METHODS, folder)
    git(root, "init", "-q", "-b", "main")
    commit(root, "the first season")
    return folder


def page_repository(root: Path, name: str) -> Path:
    """A repository in ``root`` with one demo method, all links of its page led to itself; its methods folder."""
    folder = demo_repository(root, (name,))
    text = re.sub(r"\(([a-z-]+\.md)\)", f"({name})", (folder / name).read_text("utf-8"))
    (folder / name).write_text(text, "utf-8")
    commit(folder, "links inside")
    return folder


def forms(found: Comparison) -> dict[str, str]:
    """The four reports of a comparison."""
    return {
        "terminal": terminal_text(found, 200),
        "markdown": markdown_text(found),
        "html": html_text(found),
        "json": json_text(found),
    }


def replace(folder: Path, file: str, old: str, new: str) -> None:
    """Replace ``old`` once in a file; a text that is not there is an error of the test."""
    path = folder / file
    text = path.read_text("utf-8")
    assert old in text, f"{file} no longer holds {old!r}"
    path.write_text(text.replace(old, new, 1), "utf-8")


def apply(folder: Path, name: str) -> None:
    """Make one of the edits in a methods folder."""
    for each in EDITS[name]:
        if len(each) == 2:
            (folder / each[0]).rename(folder / each[1])
        else:
            replace(folder, *each)


def golden_report(folder: Path, name: str) -> str:
    """The Markdown report of one edit, committed on a branch of its own."""
    git(folder, "checkout", "-q", "-B", name, "main")
    apply(folder, name)
    commit(folder, name)
    text = markdown_text(review(folder, "main", name))
    git(folder, "checkout", "-q", "main")
    return text
