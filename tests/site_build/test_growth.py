"""Small inputs that ask for much: products of what a page holds are limited, and looking things up costs the same
among many. What is counted is work (look-ups, comparisons, cells, models), never time.
"""

import difflib
import os
import random
import stat
from concurrent.futures import ThreadPoolExecutor
from types import SimpleNamespace

import pytest
from msgspec.structs import replace

from handbook.base import deadline
from handbook.base import did_you_mean as names
from handbook.base.did_you_mean import Names, nearest
from handbook.base.errors import FaultsError
from handbook.base.forms import MAX_FAULTS, MAX_SUGGESTIONS
from handbook.folder import run_files
from handbook.folder.house_tables import house_tables
from handbook.folder.prose_limits import MAX_CELLS
from handbook.folder.run_files import MAX_RUN_STEPS, MAX_RUNS, RunText, read_runs, stray_runs
from handbook.folder.source import read_source
from handbook.report.model_budget import MAX_AMOUNTS
from site_build.build.cache import Cache
from site_build.build.gather import gather
from site_build.review.compare import MOST_COMPARED, match_steps
from site_build.review.revisions import RevisionError, run_git
from tests.growing import SHAPES, prose, table, with_batches, with_glazes
from tests.hostile_pages import METHODS
from tests.one_page import OnePage
from tests.site_build.run_pages import page_method

PAGE = OnePage()
FISH = ("char", "trout", "whitefish", "perch", "salted", "smoked", "brined", "whole", "sides", "lake")


def faults_of(page: str) -> list[str]:
    return [str(each) for each in PAGE.read(page.encode())[2]]


@pytest.mark.parametrize("size", [20, 200])
@pytest.mark.parametrize("shape", SHAPES)
def test_shape_is_a_page_or_a_line(shape, size):
    """Each shape, small and large, is rendered or told by limits; never more cells than the limit come out."""
    text, method, faults = PAGE.read(SHAPES[shape](size).encode())
    assert len(faults) <= 10 * size + 1 and all("\n" not in str(each) for each in faults)
    if not faults and method is None:
        assert PAGE.html(text, None).count("<td") <= MAX_CELLS


TABLES = [
    ("600 x 600", table(600, 600)),
    ("10 KB", table(1900, 1000)),
    ("in a quote", table(300, 300, "> ")),
    ("in a list", "- " + table(300, 300, "  ")[2:]),
    ("in a list of quotes", "1. > " + table(300, 300, "   > ")[5:]),
    ("delimiter without a dash", f"{'|a' * 300}\n{'|' * 300}\n" + "a\n" * 300),
    ("rows that only look blank", table(300, 300, row="\u00a0")),
    ("across a comment", table(300, 1) + "a <!--\n\n-->\n" + "a\n" * 300),
    ("behind a fence that ends elsewhere", f"```\n{table(300, 300)}````"),
    ("many", (table(20, 20) + "\n") * 20),
]


@pytest.mark.parametrize("words", [row[1] for row in TABLES], ids=[row[0] for row in TABLES])
def test_cells_of_tables_are_limited(words):
    """Rows times columns are limited wherever a table stands, whatever short rows leave out."""
    assert any(f': text: read "more than {MAX_CELLS} cells"' in each for each in faults_of(prose(words)))


def test_tables_of_a_cook_are_welcome():
    """Thirty rows of ten columns, twice, and what a heading with an open angle does to the count."""
    assert faults_of(prose("thin: < 5 mm\n\n" + (table(10, 30, row="| 1 | 2 | 3") + "\n") * 2 + "words\n" * 100)) == []


@pytest.fixture
def compared(monkeypatch):
    """How many texts difflib compared letter by letter or word by word; it does so twice with one that is near."""
    count = SimpleNamespace(ratios=0)
    ratio = difflib.SequenceMatcher.ratio

    def counted(self):
        count.ratios += 1
        return ratio(self)

    monkeypatch.setattr(difflib.SequenceMatcher, "ratio", counted)
    return count


def many_names(number: int) -> list[str]:
    chosen = random.Random(5)
    return [f"{' '.join(chosen.sample(FISH, 3))} {each}" for each in range(number)]


@pytest.mark.parametrize("number", [100, 2_000, 20_000])
def test_look_up_costs_the_same_among_many(number, compared):
    """As few names are compared letter by letter among twenty thousand as among a hundred."""
    among = many_names(number)
    for _ in range(10):
        assert nearest("no such thing at all", among) == ""
        nearest("smoked chra whole 7", among)
    assert compared.ratios <= 2 * 20 * names._COMPARED


def test_sifted_names_are_the_nearest():
    """Sifting by pairs of letters finds what comparing with every name finds (difflib, on names with one typing error)."""
    among, chosen = many_names(3_000), random.Random(6)
    for name in chosen.sample(among, 60):
        at = chosen.randrange(len(name))
        written = name[:at] + "z" + name[at + 1 :]
        best = difflib.SequenceMatcher(None, written, nearest(written, among)).ratio()
        assert best >= max(difflib.SequenceMatcher(None, written, each).ratio() for each in (name, among[0])) - 1e-9


def test_names_suggest_so_often():
    """Among the names of one run the first mistakes get a suggestion."""
    among = Names(["salt", "sugar"])
    found = [nearest("slat", among) for _ in range(Names.most_suggestions + 5)]
    assert found == ["salt"] * Names.most_suggestions + [""] * 5
    assert nearest("slat", Names(among)) == "salt"


def test_misspelt_names_and_rows(compared):
    """232 misspelt names on a page of a house with 2 000 rows: every name is told, the first with what was meant."""
    row = "{},fish,0.79,0.008,0.19,0,0.012,95,fish,wild,no\n"
    head = "name,food_class,water,fat,protein,carbohydrate,ash,sodium_mg_per_100g,allergen,parasite_risk,scombroid\n"
    tables, faults = house_tables(
        "methods", {"foods.csv": (head + "".join(map(row.format, many_names(2_000)))).encode()}
    )
    assert not faults and len(tables.foods) > 2_000
    page = with_glazes(20, "smkoed chra lkae {}")
    other = OnePage()
    known = other.tables.ingredients
    some = next(iter(known.values()))
    other.tables = replace(other.tables, ingredients={**known, **dict.fromkeys(tables.foods, some)})
    assert other.words is not None
    of_the_house = compared.ratios
    found = [each for each in other.read(page.encode())[2] if each.key.endswith(".item")]
    assert len(found) >= MAX_FAULTS - 5
    assert sum(bool(each.suggestion) for each in found) <= MAX_SUGGESTIONS
    assert found[0].suggestion.lstrip('"').startswith("smoked ")
    assert compared.ratios - of_the_house <= 2 * MAX_SUGGESTIONS * names._COMPARED


def test_dead_links_and_files(tmp_path, compared):
    """700 dead links in each of two pages beside 2 000 files: a bounded number of lines and of suggestions."""
    folder = tmp_path / "methods"
    folder.mkdir()
    (folder / "house.yml").write_bytes((METHODS / "house.yml").read_bytes())
    (folder / "foods.csv").write_bytes((METHODS / "foods.csv").read_bytes())
    for each in range(2_000):
        (folder / f"fish-{each}.txt").write_text("a")
    gather(read_source(folder), Cache())
    of_the_house = compared.ratios
    for page in ("one", "two"):
        (folder / f"{page}.md").write_text(prose("".join(f"[a](fsih-{each}.txt)\n\n" for each in range(700))))
    with pytest.raises(FaultsError) as caught:
        gather(read_source(folder), Cache())
    dead = [each for each in caught.value.faults if each.key == "link"]
    assert len(dead) == 2 * (MAX_FAULTS + 1) and dead[0].suggestion.startswith("fish-")
    assert f'read "more than {MAX_FAULTS} faults"' in str(dead[-1])
    assert sum(bool(each.suggestion) for each in dead) <= Names.most_suggestions
    # The house is read for the empty folder, for the pages, and again for the faults of all files.
    assert compared.ratios - 3 * of_the_house <= 2 * Names.most_suggestions * names._COMPARED


def test_stray_runs_and_methods(compared):
    """Runs of methods that are not there: a line each, suggestions for the first."""
    methods = {f"{each.replace(' ', '-')}.md" for each in many_names(2_000)}
    found = stray_runs("methods", [f"runs/smkoed-{each}/2026-01-01.yml" for each in range(1_000)], methods)
    assert len(found) == 1_000
    assert compared.ratios <= 2 * Names.most_suggestions * names._COMPARED


@pytest.mark.parametrize("runs", [612, MAX_RUNS + 1])
def test_runs_of_one_method(runs, monkeypatch):
    """Too many runs of one method are one line, and none of them is read."""
    monkeypatch.setattr(run_files, "read_run", lambda *_: pytest.fail("a run was read"))
    method = page_method("soy-eggs")
    texts = tuple(
        RunText(name=f"{each}", file=f"methods/runs/soy-eggs/{each}.yml", data=b"", log=None) for each in range(runs)
    )
    read, (fault,) = read_runs(texts, method, "us")
    assert read == ()
    assert str(fault).startswith(
        f'methods/runs/soy-eggs/{MAX_RUNS}.yml:1: run: read "{runs} runs"; allowed: at most {MAX_RUNS}'
    )


def test_runs_times_steps():
    """A method of 300 steps may have five runs."""
    method = SimpleNamespace(steps=(None,) * 300)
    texts = tuple(RunText(name=f"{each}", file=f"{each}.yml", data=b"", log=None) for each in range(6))
    _, (fault,) = read_runs(texts, method, "us")
    assert f'read "6 runs"; allowed: at most {MAX_RUN_STEPS // 300} runs of a method of so many steps' in str(fault)


def test_ingredients_times_batches():
    """Thirteen blocks of sixty ingredients in twelve batches are too many amounts; in one batch they are a page."""
    page = with_glazes(55, "pepper, black, ground")
    assert faults_of(page) == []
    found = faults_of(with_batches(page, 11))
    assert len(found) == 1 and f"allowed: at most {MAX_AMOUNTS} amounts (ingredients × batches) on a page" in found[0]


def test_steps_of_two_versions(compared):
    """300 steps reworded into 300 others: a limited number of pairs is laid side by side, and neighbours still meet."""
    chosen = random.Random(7)

    def steps(word: str):
        return tuple(
            SimpleNamespace(do=f"{' '.join(chosen.choices(FISH, k=20))} number {each} {word}", stage="rest")
            for each in range(300)
        )

    old = steps("before")
    new = tuple(SimpleNamespace(do=each.do.replace("before", "after"), stage="rest") for each in old)
    assert match_steps(old, new) == [(each, each) for each in range(300)]
    assert compared.ratios <= 2 * MOST_COMPARED
    match_steps(old, steps("other"))
    assert compared.ratios <= 4 * MOST_COMPARED


def test_house_table_of_faults():
    """A table of a thousand wrong rows is told as far as can be read."""
    rows = "name,food_class\n" + "a,fsih\n" * 1_000
    _, faults = house_tables("methods", {"foods.csv": rows.encode()})
    assert len(faults) == MAX_FAULTS + 1 and "more than 200 faults" in str(faults[-1])


def test_git_that_never_answers(tmp_path, monkeypatch):
    """A git that waits for a lock or a network for ever is ended and told."""
    (tmp_path / "git").write_text("#!/bin/sh\nexec sleep 600\n")
    (tmp_path / "git").chmod(stat.S_IRWXU)
    monkeypatch.setenv("PATH", f"{tmp_path}{os.pathsep}{os.environ['PATH']}")
    monkeypatch.setattr(deadline, "GIT_SECONDS", 0.5)
    with pytest.raises(RevisionError, match=r"^git: read more than 0\.5 s in a command; allowed: "):
        run_git(tmp_path, "status")


def test_suggestions_in_threads():
    """Look-ups of several threads at once, as in a cluster, share what is prepared."""
    among = many_names(500)
    with ThreadPoolExecutor(4) as executor:
        assert len(set(executor.map(lambda _: nearest(among[7][:-1], among), range(40)))) == 1
