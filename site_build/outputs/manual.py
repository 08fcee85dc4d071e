"""The manual as one self-contained page: written parts in Markdown, references from records, commands and docstrings."""

from __future__ import annotations

import inspect
import re
from collections.abc import Sequence
from importlib.resources import files

from markdown import Markdown
from markupsafe import Markup
from msgspec import Struct

import handbook
from site_build.html.render import render
from site_build.outputs.reference_keys import key_tables


class CommandHelp(Struct, frozen=True, kw_only=True):
    """One command: its name, its usage line and its help."""

    name: str
    usage: str
    text: str


class Starter(Struct, frozen=True, kw_only=True):
    """One family of methods: its description and its starter page."""

    name: str
    about: str
    page: str


def manual_html(commands: Sequence[CommandHelp], starters: Sequence[Starter]) -> str:
    """The whole manual. ``commands`` and ``starters`` are those of the command line, which stands above this room."""
    return render(
        "manual.html",
        version=handbook.__version__,
        style=render("manual_style.css"),
        parts=written_parts(),
        starters=starters,
        tables=[(_anchor(each.name), each) for each in key_tables()],
        commands=commands,
        objects=_public_objects(),
    )


def written_parts() -> dict[str, tuple[str, Markup]]:
    """Title and HTML of each written part, by its name."""
    found = {}
    for file in sorted(files("site_build").joinpath("manual").iterdir(), key=lambda each: each.name):
        if file.name.endswith(".md"):
            text = file.read_text("utf-8")
            title = text.partition("\n")[0].removeprefix("# ")
            name = file.name.removesuffix(".md").partition("-")[2]
            found[name] = title, Markup(Markdown(extensions=["tables", "fenced_code"]).convert(text))
    return found


def _public_objects() -> list[tuple[str, str, str]]:
    """Name, signature and documentation of each name that scripts may import."""
    found = []
    for name in handbook.__all__:
        each = getattr(handbook, name)
        if callable(each):
            found.append((name, _signature(each), inspect.getdoc(each) or ""))
            found += _methods(name, each) if inspect.isclass(each) else []
    return found


def _methods(name: str, kind: type) -> list[tuple[str, str, str]]:
    """The methods and properties that a class of the package defines itself."""
    found = []
    for key, each in vars(kind).items():
        document = inspect.getdoc(each) or ""
        if key.startswith("_") or not document or not (inspect.isfunction(each) or isinstance(each, property)):
            continue
        found.append((f"{name}.{key}", _signature(each), document))
    return found


def _signature(each: object) -> str:
    """The parameters of a function or a record; empty where there are none."""
    try:
        return re.sub(r"'([\w.| \[\],]+)'", r"\1", str(inspect.signature(each)))  # type: ignore[arg-type]
    except (TypeError, ValueError):
        return ""


def _anchor(name: str) -> str:
    return "keys-" + re.sub(r"[^a-z0-9]+", "-", name.casefold()).strip("-")
