"""A begun handbook, and the starter page of each family: their blanks ask, and plainly filled in they are clean."""

import re
from importlib.resources import files
from pathlib import Path

import pytest
from click.testing import CliRunner

from handbook.folder.handbook import open_handbook
from handbook.report.page_warnings import page_warnings
from site_build.cli.begin_command import pinned
from site_build.cli.main import main
from site_build.cli.methods_folder import MethodsFolder
from site_build.cli.starter import FAMILIES
from tests.newcomer import BLANK

EXAMPLES = Path(__file__).resolve().parent.parent.parent / ".examples"
ASKED = ["--kitchen", "Net: Loft", "--currency", "crowns"]


def begun(place: Path, *more: str, degrees: str = "C", law: str = "none named", family: str = "roast") -> Path:
    """A handbook begun in ``place`` by the command."""
    words = [
        "--measures",
        "metric",
        "--degrees",
        degrees,
        "--audience",
        "home",
        "--place",
        law,
        "--family",
        family,
        *ASKED,
        *more,
    ]
    result = CliRunner().invoke(main, ["begin", str(place / "kitchen"), *words])
    assert result.exit_code == 0, result.output
    return place / "kitchen"


def filled(folder: Path, name: str) -> None:
    """Each blank of a page in ``folder``, filled in with the example of its question."""
    page = folder / f"{name}.md"
    page.write_text(BLANK.sub(r"\1", page.read_text("utf-8")), "utf-8")


@pytest.mark.parametrize("degrees", ["C", "F"])
@pytest.mark.parametrize("law", ["United States", "European Union"])
def test_every_family_filled_in_plainly_is_clean(tmp_path, law, degrees):
    """No fault and no warning, under either law and in either scale."""
    methods = begun(tmp_path, law=law, degrees=degrees) / "methods"
    for family in FAMILIES:
        if family != "roast":
            result = CliRunner().invoke(main, ["new", str(methods / f"{family}.md"), "--family", family])
            assert result.exit_code == 0, result.output
        filled(methods, family)
    handbook = open_handbook(methods)
    assert [str(each) for each in handbook.faults()] == []
    found = [str(each) for name in handbook.methods for each in page_warnings(handbook.report(name))]
    assert found == []


def test_every_family_asks_for_its_blanks(tmp_path):
    """Each blank is one line, in the words of its question, which holds an example."""
    methods = begun(tmp_path) / "methods"
    for family in FAMILIES:
        CliRunner().invoke(main, ["new", str(methods / f"{family}.md"), "--family", family])
        blanks = BLANK.findall((methods / f"{family}.md").read_text("utf-8"))
        said = [str(each) for each in open_handbook(methods).page(f"{family}.md").faults]
        assert len(said) == len(blanks) >= 8
        assert all(re.search(r"read nothing yet; allowed: .*\? such as \S", each) for each in said), said


@pytest.mark.parametrize("forge", ["github", "gitlab", "none"])
@pytest.mark.parametrize("at_top", [False, True])
def test_the_files_fit_the_layout(tmp_path, forge, at_top):
    """No file names a folder that the layout has not, and at the top no file around the methods is read as one."""
    folder = begun(tmp_path, "--forge", forge, *(["--at-top"] if at_top else []))
    for path in folder.rglob("*"):
        if path.is_file() and at_top and path.suffix in (".yml", "") and path.name != "house.yml":
            assert "methods/" not in path.read_text("utf-8") and "check methods" not in path.read_text("utf-8"), path
    read = open_handbook(folder if at_top else folder / "methods")
    assert read.methods == ("roast",) and not read.source.faults
    assert (folder / ".github" / "workflows" / "check.yml").exists() == (forge == "github")
    assert (folder / ".gitlab-ci.yml").exists() == (forge == "gitlab")


def test_a_folder_with_something_in_it_is_left(tmp_path):
    """Nothing is written over."""
    (tmp_path / "kitchen").mkdir()
    (tmp_path / "kitchen" / "notes.txt").write_text("mine")
    words = [
        "--measures",
        "us",
        "--degrees",
        "C",
        "--audience",
        "home",
        "--place",
        "none named",
        "--family",
        "roast",
        *ASKED,
    ]
    result = CliRunner().invoke(main, ["begin", str(tmp_path / "kitchen"), *words])
    assert result.exit_code == 1 and "a folder that is new or empty" in result.output
    assert [path.name for path in (tmp_path / "kitchen").iterdir()] == ["notes.txt"]


def test_what_is_left_out_is_asked(tmp_path):
    """Without options each is a question, and its answer stands in the house file."""
    answers = "The Slip\nmetric\nC\nmarks\nretail\nEuropean Union\nbarbecue\n"
    result = CliRunner().invoke(main, ["begin", str(tmp_path / "kitchen")], input=answers)
    assert result.exit_code == 0, result.output
    house = open_handbook(tmp_path / "kitchen" / "methods").house
    assert (house.kitchen, house.measures, house.currency) == ("The Slip", "metric", "marks")
    assert (house.audience, house.place) == ("retail", "European Union")


def test_every_package_is_pinned():
    """The program and what it needs, each at one version; nothing that only an extra needs."""
    lines = pinned().splitlines()
    assert all(re.fullmatch(r"[a-z0-9-]+==[\w.+!]+", line) for line in lines)
    names = {line.partition("==")[0] for line in lines}
    assert {"cook-method-handbook", "mkdocs", "pyyaml", "numpy"} <= names and "ortools" not in names


def test_a_build_in_the_handbook_stays_in_it(tmp_path, monkeypatch):
    """``build .`` writes the site into the handbook in both layouts, and nothing beside it."""
    for at_top in (False, True):
        place = tmp_path / str(at_top)
        place.mkdir()
        folder = begun(place, *(["--at-top"] if at_top else []), degrees="F" if at_top else "C")
        filled(folder if at_top else folder / "methods", "roast")
        monkeypatch.chdir(folder)
        for _ in range(2):  # the second time beside the site of the first
            result = CliRunner().invoke(main, ["build", ".", "--strict", "--workers", "1"])
            assert result.exit_code == 0, result.output
        assert [path.name for path in place.iterdir()] == ["kitchen"]
        page = (folder / (".site" if at_top else "site") / "roast.html").read_text("utf-8")
        assert ('data-first="f"' in page) == at_top  # the scale that readers see first is the house's


@pytest.mark.parametrize(
    ("ours", "example"),
    [
        ("github-check.yml", "github/check.yml"),
        ("github-comment.yml", "github/comment.yml"),
        ("github-publish.yml", "github/publish.yml"),
        ("gitlab-ci.yml", "gitlab/gitlab-ci.yml"),
    ],
)
def test_the_examples_are_what_is_begun(ours, example):
    """One text for both, so that a mended example mends what is begun."""
    text = files("site_build").joinpath("begun", ours).read_text("utf-8")
    assert text == (EXAMPLES / example).read_text("utf-8")


# ---- What is no name, and folders that are not empty


WORDS = [
    "--measures", "us", "--degrees", "C", "--audience", "home", "--place", "none named", "--family", "roast",
]  # fmt: skip


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--kitchen", "", "--currency", "kr"], "--kitchen: read nothing; allowed: text of 1 to 80 characters"),
        (["--kitchen", "K" * 20_000, "--currency", "kr"], "--kitchen: read"),
        (["--kitchen", "a\x1b[31m", "--currency", "kr"], "--kitchen: read"),
        (["--kitchen", "\u202eK", "--currency", "kr"], "--kitchen: read"),
        (["--kitchen", "K", "--currency", "x" * 11], "--currency: read"),
        ([*ASKED, "--page", "index"], "--page: read"),
        ([*ASKED, "--page", "limits"], "another name: the generator makes this page"),
        ([*ASKED, "--page", "con"], "Windows keeps this one"),
        ([*ASKED, "--page", "../x"], "allowed: small letters"),
        ([*ASKED, "--page", "a" * 81], "allowed: small letters"),
    ],
)
def test_a_wrong_answer_writes_nothing(tmp_path, options, said):
    """What check would refuse is refused before anything is written, with the option's name."""
    done = CliRunner().invoke(main, ["begin", str(tmp_path / "kitchen"), *WORDS, *options])
    assert done.exit_code == 1 and said in done.output and not (tmp_path / "kitchen").exists()


def test_what_was_interrupted_goes_on(tmp_path):
    """Files that ``begin`` itself wrote are no obstacle; one that anybody changed is."""
    folder = begun(tmp_path)
    whole = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    (folder / "CODEOWNERS").unlink()
    begun(tmp_path)
    assert {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == whole
    (folder / "methods" / "house.yml").write_text("mine")
    (folder / "CODEOWNERS").unlink()
    done = CliRunner().invoke(main, ["begin", str(folder), *WORDS, *ASKED])
    assert done.exit_code == 1 and "in it; allowed: a folder that is new or empty" in done.output
    assert not (folder / "CODEOWNERS").exists() and (folder / "methods" / "house.yml").read_text() == "mine"


def test_a_link_of_a_tree_is_not_followed(tmp_path):
    """One line, and nothing is written where it leads."""
    (tmp_path / "tree" / ".git").mkdir(parents=True)
    (tmp_path / "aim").mkdir()
    (tmp_path / "tree" / "link").symlink_to(tmp_path / "aim")
    done = CliRunner().invoke(main, ["begin", str(tmp_path / "tree" / "link" / "new"), *WORDS, *ASKED])
    assert done.exit_code == 1 and "read a link" in done.output and done.exception.__class__ is SystemExit
    assert list((tmp_path / "aim").iterdir()) == []


@pytest.mark.parametrize("food", ["a: b", "\n- x", "{title}", "\x1b[1m", "char, Arctic\nkind: cook", "unicorn"])
def test_a_new_page_is_of_a_known_food(tmp_path, food):
    """Anything else would be a fault of the page, or a key of its own."""
    done = CliRunner().invoke(main, ["new", str(tmp_path / "a.md"), "--family", "roast", "--food", food])
    if food.startswith("char"):
        assert done.exit_code == 1 or "kind: cook\nkind" not in (tmp_path / "a.md").read_text()
    else:
        assert done.exit_code == 1 and done.output.startswith("--food: read") and not (tmp_path / "a.md").exists()


def test_a_kitchen_may_be_called_as_a_sign_of_the_texts(tmp_path):
    """The README holds the name as it is."""
    words = ["begin", str(tmp_path / "kitchen"), *WORDS, "--kitchen", "{methods}{hashes}", "--currency", "kr"]
    assert CliRunner().invoke(main, words).exit_code == 0
    assert (tmp_path / "kitchen" / "README.md").read_text().startswith("# {methods}{hashes}: our handbook")


def test_every_command_finds_the_methods_of_a_repository():
    """``handbook COMMAND .`` stands for the folder ``methods`` in it, whatever the command."""

    def folders(group, before=()):
        for name, command in getattr(group, "commands", {}).items():
            yield from folders(command, (*before, name))
            yield from (((*before, name), each) for each in command.params if each.name == "folder")

    found = {path: each.type for path, each in folders(main) if path not in {("begin",), ("schemas",)}}
    assert len(found) > 10 and {path for path, kind in found.items() if not isinstance(kind, MethodsFolder)} == set()
