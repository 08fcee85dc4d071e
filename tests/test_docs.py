"""The documents do not drift from the program."""

import ast
import doctest
import re
from collections import defaultdict
from pathlib import Path

import handbook
import site_build
from handbook.catalogue.name_resolver import food_names, ingredient_names
from handbook.catalogue.tables import engine_tables
from handbook.folder.page_text import split_page
from handbook.page.method import BLOCKS
from handbook.page.read_method import read_method
from handbook.page.salting import SALTING_KINDS
from handbook.page.vocabulary import Vocabulary
from site_build.cli.main import main

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text("utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text("utf-8")
PACKAGES = {each.__name__: Path(each.__file__).parent for each in (handbook, site_build)}
#: Module names that every package may have.
OF_EVERY_PACKAGE = {"__init__", "__main__"}


def test_every_command_of_the_readme_is_there():
    """The README names commands of the program only; all of them stand in the manual (test_manual.py)."""
    named = set(re.findall(r"[`/]handbook ([a-z]+)", README))
    assert {"begin", "check", "new", "manual", "build"} <= named <= set(main.commands)


def test_every_block_and_salting_is_in_the_readme():
    """Each block and each way of salting is named."""
    for word in (*BLOCKS, *SALTING_KINDS):
        assert word in README, word


def test_the_readme_is_read_in_two_minutes():
    """At most 480 words beside its example, at 240 words a minute; it shows a picture and leads to the manual."""
    prose = re.sub(r"````.*?````", "", README, flags=re.S)
    assert len(prose.split()) <= 480
    assert "`handbook manual`" in README and "![" in README and "handbook begin" in README


def test_the_readme_page_reads_without_a_fault():
    """The page printed in the README is a method."""
    page = re.search(r"````markdown\n(.*?)````", README, re.S)[1]
    text, faults = split_page(page, "README.md")
    tables = engine_tables()
    words = Vocabulary(foods=food_names(tables), ingredients=ingredient_names(tables), containers=())
    method, found = read_method("README.md", "page", text.head, list(text.blocks), words, "us", tables)
    assert not faults and not found and method.front_matter.title == "Char in a quick brine"


def test_every_promise_names_its_test():
    """Each promise of SECURITY.md names a test that there is, each named part of a test file stands in it, each limit its file."""
    text = (ROOT / "SECURITY.md").read_text("utf-8")
    promises = re.split(r"\n(?=\d+\. |- )", re.search(r"## Promises\n(.*?)\n## Limits", text, re.S)[1])[1:]
    assert len(promises) >= 17
    for promise in promises:
        named = re.findall(r"`(?:tests/site_build/)?((?:test_\w+|unbroken)\.py)`", promise)
        assert named, promise
        for part in re.findall(r'"([A-Z][^"]+)"', re.sub(r"\s+", " ", promise)):
            assert any(f"# {part}" in (ROOT / "tests/site_build" / file).read_text("utf-8") for file in named), part
    files = {path.as_posix() for place in (ROOT / "tests", *PACKAGES.values()) for path in place.rglob("*.py")}
    for name in re.findall(r"`([\w/]+\.py)`", text):
        assert any(path.endswith(f"/{name}") for path in files), name


def test_every_source_is_used_or_named():
    """Every source key of the list stands in the engine, its data or the models' page."""
    from handbook.base.sources import sources

    places = [
        path.read_text("utf-8")
        for package in (handbook, site_build)  # as installed: the tree is not beside the tests
        for path in Path(package.__file__).parent.rglob("*")
        if path.suffix in (".py", ".csv", ".yml", ".html") and path.name != "sources.yml"
    ]
    unused = [key for key in sources() if not any(key in text for text in places)]
    assert unused == []


def test_examples_for_scripts_run(monkeypatch):
    """What DEVELOPERS.md shows of the Python interface prints what it says."""
    monkeypatch.chdir(ROOT)
    examples = doctest.DocTestParser().get_doctest(DEVELOPERS, {}, "DEVELOPERS.md", "DEVELOPERS.md", 0)
    assert len(examples.examples) >= 8
    told: list[str] = []
    assert doctest.DocTestRunner().run(examples, out=told.append).failed == 0, "".join(told)


def test_the_walk_leads_through_files_and_names_that_exist():
    """At most ten stations; each file is there, and the name after a module is defined in it."""
    walk = re.search(r"^## A walk for newcomers.*?\n(.*?)^## ", DEVELOPERS, re.S | re.M)[1]
    stations = re.findall(r"^\d+\. (.*?)(?=^\d+\. |\Z)", walk, re.S | re.M)
    assert 5 <= len(stations) <= 10
    for station in stations:
        for path in re.findall(r"`((?:handbook|site_build|methods)/[\w/.-]+)`", station):
            assert _place(path).is_file(), path
        for path, name in re.findall(r"`([\w/]+\.py)`, `(?:\w+\.)?(\w+)`", station):
            assert name in _defined(_place(path)), f"{path}: {name}"


def test_rooms_of_the_tables_are_those_of_the_packages():
    """Every folder with modules stands in a table of DEVELOPERS.md, and every folder there exists."""
    told = set(re.findall(r"`((?:handbook|site_build)/\w+)/`", DEVELOPERS))
    rooms = {
        f"{name}/{each.name}"
        for name, folder in PACKAGES.items()
        for each in folder.iterdir()
        if any(each.glob("*.py"))
    }
    assert rooms - told == set()
    assert [each for each in told if not _place(each).is_dir()] == []


def test_no_module_name_has_two_meanings():
    """A module is found by its name alone: none stands in two rooms."""
    found = defaultdict(list)
    for folder in PACKAGES.values():
        for path in folder.rglob("*.py"):
            found[path.stem].append(path.relative_to(folder.parent).as_posix())
    assert {name: each for name, each in found.items() if len(each) > 1 and name not in OF_EVERY_PACKAGE} == {}


def test_public_names_of_the_engine_are_there():
    """Each name of ``handbook.__all__`` is imported when it is asked for; another one is an AttributeError."""
    assert set(handbook.__all__) <= set(dir(handbook))
    for name in handbook.__all__:
        assert getattr(handbook, name) is not None
    assert not hasattr(handbook, "no_such_name")


def test_packages_say_that_they_are_typed():
    """The marker of PEP 561 is installed with each package."""
    assert [name for name, folder in PACKAGES.items() if not (folder / "py.typed").is_file()] == []


def _place(path: str) -> Path:
    package, _, rest = path.partition("/")
    return PACKAGES[package] / rest if package in PACKAGES else ROOT / path


def _defined(path: Path) -> set[str]:
    return {
        each.name
        for each in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(each, ast.FunctionDef | ast.ClassDef)
    }
