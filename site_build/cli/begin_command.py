"""The command ``begin``: a repository for a team's own handbook, ready to push."""

from __future__ import annotations

import re
import shlex
from importlib.metadata import PackageNotFoundError, distribution, requires
from importlib.resources import files
from pathlib import Path

import click

from handbook import __version__
from handbook.base.errors import HandbookError, format_fault
from handbook.base.units import MEASURES
from handbook.folder.kitchen import HOUSE_FILE, read_kitchen
from handbook.page.house import NO_PLACE, PLACES_OF_LAW
from site_build.base.places import one_line, own_tree, real_place
from site_build.cli.methods_folder import METHODS
from site_build.cli.starter import FAMILIES, began_house, family_page, refused_name
from site_build.cli.terminal import fail, say, write_file

AUDIENCES = ("home", "retail", "commercial")
FORGES = ("github", "gitlab", "none")
_PACKAGE = "cook-method-handbook"
_INSTALL = "pip install --require-hashes --only-binary :all:"
_HASHES = (
    "With hashes (`uv pip compile requirements.in --generate-hashes -o requirements.txt`) nothing else is installed."
)
#: Why what is begun has no hashes: they are those of the files that an index serves, and ``begin`` asks none.
_WANTED = f"""# What the handbook needs; requirements.txt beside it pins all of it.
# Hashes are those of the files that an index serves, which only an index knows:
#   uv pip compile requirements.in --generate-hashes -o requirements.txt
{_PACKAGE}=={__version__}
"""


@click.command()
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False))
@click.option("--kitchen", prompt="Name of the kitchen", help="The kitchen's name.")
@click.option(
    "--measures", type=click.Choice(MEASURES), prompt="Cups and spoons", default="us", help="Whose cups and spoons."
)
@click.option("--degrees", type=click.Choice(["C", "F"]), prompt="°C or °F", default="C", help="The scale you write.")
@click.option("--currency", prompt="Currency of prices (a short word)", default="USD", help="Currency of the prices.")
@click.option(
    "--audience", type=click.Choice(AUDIENCES), prompt="Who is fed", default="home", help="Whose guidance applies."
)
@click.option(
    "--place",
    type=click.Choice(PLACES_OF_LAW),
    prompt="Whose law",
    default=NO_PLACE,
    help="Whose law judges the pages.",
)
@click.option(
    "--family", type=click.Choice(tuple(FAMILIES)), prompt="Family of the first method", default="wet-brine",
    help="Family of the first method; handbook names --families lists them.",
)  # fmt: skip
@click.option("--page", default="", help="Name of the first page; default: the family's.")
@click.option("--at-top", is_flag=True, help="Methods at the top of the repository, not in a folder methods.")
@click.option(
    "--forge",
    type=click.Choice(FORGES),
    default="github",
    show_default=True,
    help="Whose check and publishing to write.",
)
def begin(
    folder: Path,
    kitchen: str,
    measures: str,
    degrees: str,
    currency: str,
    audience: str,
    place: str,
    family: str,
    page: str,
    at_top: bool,
    forge: str,
) -> None:
    """Begin a handbook in FOLDER, which is new or empty: house file, first method, check and publishing, ready to push."""
    name = page or family
    if fault := refused_name(name):
        fail(f"--page: {fault}")
    house = began_house(kitchen, measures, degrees, currency, audience, place)
    if faults := read_kitchen(METHODS, {HOUSE_FILE: house.encode("utf-8", "replace")})[1]:
        # These two are free text; the kitchen's name stands in line 2.
        options = ["kitchen" if each.line == 2 else "currency" for each in faults]
        said = (format_fault(each.read, each.allowed) for each in faults)
        fail("\n".join(f"--{option}: {fault}" for option, fault in zip(options, said, strict=True)))
    methods = "" if at_top else f"{METHODS}/"
    made = {
        f"{methods}{HOUSE_FILE}": house,
        f"{methods}{name}.md": family_page(family, name, degrees),
        **_repository(kitchen, methods, forge),
    }
    for path in _missing(folder, made):
        write_file(folder / path, made[path], own_tree(folder), is_new=True, err=False)
    say(["", *_next(folder, f"{methods}{name}.md")])


def _missing(folder: Path, made: dict[str, str]) -> list[str]:
    """The paths that are to be written: all, or what is left where ``begin`` was interrupted. Nothing is written over."""
    left = dict(made)
    try:
        real_place(folder)
        for path in folder.rglob("*") if folder.is_dir() else ():
            name = path.relative_to(folder).as_posix()
            if name.partition("/")[0] == ".git" or (path.is_dir() and not path.is_symlink()):
                continue
            text = left.pop(name, None)
            if text is None or path.is_symlink() or not path.is_file() or path.read_bytes() != text.encode():
                fail(
                    f'FOLDER: read "{one_line(folder)}" with {one_line(name)} in it; allowed: a folder that is new or empty'
                )
    except HandbookError as error:
        fail(str(error))
    except OSError as error:
        fail(f'FOLDER: read "{one_line(folder)}", {error.strerror}; allowed: a folder that can be written')
    return list(left)


def register(main: click.Group) -> None:
    """Add the command to ``main``."""
    main.add_command(begin)


def _repository(kitchen: str, methods: str, forge: str) -> dict[str, str]:
    """The files around the methods. At the top of the repository they are hidden, so that they are no pages."""
    hidden = "" if methods else (".gitlab/" if forge == "gitlab" else ".github/")
    requirements = f"{hidden}requirements.txt"
    gate = {"github": ".github/", "gitlab": ".gitlab-ci.yml", "none": "# (no check yet)"}[forge]
    values = {
        "{kitchen}": kitchen,
        "{methods}": methods,
        "{place}": methods or "this folder",
        "{requirements}": requirements,
        "{gate}": gate if forge == "none" else f"{gate:<24} @kitchen/food-safety",
        "{hashes}": _HASHES.replace("requirements.", f"{hidden}requirements."),
    }
    found = {
        f"{hidden}README.md": _filled("readme.txt", values),
        ".gitignore": _filled("ignored.txt", values),
        f"{hidden}CODEOWNERS": _filled("owners.txt", values),
        f"{hidden}requirements.in": _WANTED,
        requirements: pinned(),
    }
    if forge == "github":
        for each in ("check", "comment", "publish"):
            found[f".github/workflows/{each}.yml"] = _of_layout(f"github-{each}.yml", methods, requirements)
    if forge == "gitlab":
        found[".gitlab-ci.yml"] = _of_layout("gitlab-ci.yml", methods, requirements)
    return found


def pinned() -> str:
    """This program and all that it needs, each with the version that is installed here."""
    found: dict[str, str] = {}
    left = [_PACKAGE]
    while left:
        name = re.sub(r"[-_.]+", "-", left.pop()).lower()
        if name in found:
            continue
        try:
            found[name] = distribution(name).version
        except PackageNotFoundError:  # needed elsewhere only, such as on another system
            continue
        for line in requires(name) or ():
            if "extra ==" not in line:
                left.append(re.split(r"[^A-Za-z0-9._-]", line, maxsplit=1)[0])
    return "".join(f"{name}=={version}\n" for name, version in sorted(found.items()))


def _filled(name: str, values: dict[str, str]) -> str:
    text = files("site_build").joinpath("begun", name).read_text("utf-8")
    signs = "|".join(map(re.escape, values))
    return re.sub(signs, lambda found: values[found[0]], text)


def _of_layout(name: str, methods: str, requirements: str) -> str:
    """A forge's file for this layout. Without hashes in the requirements pip asks for none; with them, for all."""
    text = _filled(name, {_INSTALL: _INSTALL.replace("--require-hashes ", "")})
    if methods:
        return text
    text = re.sub(r"(base/|FETCH_HEAD:|-r )requirements\.txt", rf"\1{requirements}", text)
    text = text.replace("handbook check methods", "handbook check .").replace(
        "handbook build methods", "handbook build ."
    )
    if name == "github-publish.yml":
        text = text.replace("--into site", '--into "$RUNNER_TEMP/site"').replace(
            "path: site", "path: ${{ runner.temp }}/site"
        )
    # A site within the methods would be read as one of them.
    text = text.replace("--into public --strict", "--into ../public --strict\n    - mv ../public public")
    text = text.replace(
        "--into preview --strict --quiet", "--into ../preview --strict --quiet\n    - mv ../preview preview"
    )
    text = text.replace(
        "rm -rf report preview\n    - mkdir report", "rm -rf report preview ../preview\n    - mkdir report"
    )
    # So would a report: hidden, it is none.
    return re.sub(r"(?m)^( +(?:- |paths|--form)(?!#).*)$", lambda found: _hidden_report(found[1]), text)


def _hidden_report(line: str) -> str:
    return re.sub(r"(?<![\w./-])report(?=[/\s,]|$)", ".report", line)


def _next(folder: Path, page: str) -> list[str]:
    place = one_line(shlex.quote(str(folder)))
    return [
        "What comes next:",
        f"  cd {place}",
        "  git init -b main && git add . && git commit -m 'A handbook begins'",
        f"  handbook check .        asks for each blank of {page}",
        "  handbook preview .      shows the site and follows every edit",
        "  handbook build .        writes the site as files",
        "  put your teams into CODEOWNERS, push, and make the check a required one",
    ]
