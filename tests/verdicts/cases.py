"""The cases of the verdict table, read from the families' files."""

from __future__ import annotations

import functools
from collections.abc import Iterator
from typing import Any

from msgspec import Struct, field
from msgspec.structs import replace

from tests.verdicts.pages import FOLDER, changed, load, page_text
from tests.verdicts.rewrite import WAYS

HAZARDS = (
    "nitrite",
    "cooking",
    "computed core",
    "growth",
    "cooling",
    "botulism",
    "cold",
    "parasite",
    "histamine",
    "ferment",
    "hygiene",
    "names",
    "infants",
    "exceptions",
)
VERDICTS = ("stop", "act", "clear")
NOT_FAMILIES = ("parts.yml", "documents.yml")


class Case(Struct, frozen=True, kw_only=True):
    """One page of the table and the verdict it must get. ``page`` is complete; ``rewritten`` names its rewriting."""

    id: str
    family: str
    title: str
    hazard: str
    verdict: str
    why: str
    by: tuple[str, ...]
    page: dict[str, Any]
    finds: tuple[str, ...] = ()
    about: tuple[str, ...] = ()
    audience: str = "home"
    place: str = "none named"
    exceptions: tuple[dict[str, str], ...] = ()
    food: dict[str, str] = field(default_factory=dict)
    fault: bool = False
    doubt: str = ""
    split: str = ""
    leave_out: tuple[str, ...] = ()
    cannot: dict[str, str] = field(default_factory=dict)
    rewritten: str = ""

    @property
    def text(self) -> str:
        """The page as an author writes it."""
        return page_text({"title": self.title, **self.page})

    @property
    def name(self) -> str:
        """The id, and the way it is rewritten."""
        return f"{self.id}-{self.rewritten}" if self.rewritten else self.id


@functools.cache
def documents() -> dict[str, dict[str, str]]:
    """Printed limits by id: says, source, section, trust."""
    return load("documents.yml")


@functools.cache
def cases() -> tuple[Case, ...]:
    """Every case as written, family by family."""
    files = sorted(path.name for path in FOLDER.glob("*.yml") if path.name not in NOT_FAMILIES)
    return tuple(case for file in files for case in _family(file))


@functools.cache
def rewritten() -> tuple[Case, ...]:
    """Every case that stops, in every way that applies to it."""
    return tuple(each for case in cases() if case.verdict == "stop" for each in _rewritten(case))


def _family(file: str) -> Iterator[Case]:
    table = load(file)
    pages = {name: changed({}, page) for name, page in table.get("bases", {}).items()}
    for key, values in table["cases"].items():
        try:
            page = pages[key] = changed(pages[values["base"]], values.get("page", {}))
            yield _case(key, table["family"], values, page)
        except (KeyError, TypeError) as error:
            raise ValueError(f"{file}: {key}: {error}") from error


def _case(key: str, family: str, values: dict[str, Any], page: dict[str, Any]) -> Case:
    lists = ("by", "finds", "about", "exceptions", "leave_out")
    given = {
        name: tuple(each) if name in lists else each for name, each in values.items() if name not in ("base", "page")
    }
    given["fault"] = given.get("fault") == "yes"
    return Case(id=key, page=page, **{"family": family, **given})


def _rewritten(case: Case) -> Iterator[Case]:
    for way, rewrite in WAYS.items():
        if way in case.cannot:
            continue
        page = rewrite(case.page, case)
        if page is None:
            raise ValueError(f"{case.id}: {way} changes nothing: say what to rewrite, or why it cannot")
        yield replace(case, page=page, rewritten=way)
