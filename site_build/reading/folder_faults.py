"""Faults that need more than one file of the folder. A build and a check of changes find the same ones."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from pathlib import Path
from typing import Protocol

from msgspec import Struct

from handbook.base.errors import PageError
from handbook.folder.file_names import name_faults
from handbook.folder.kept_days import FilesRead, wish_paths
from handbook.folder.run_files import stray_runs
from handbook.folder.titles import title_faults
from handbook.page.house import House
from site_build.reading.addresses import address_faults
from site_build.reading.book import GENERATED, LAYERS, OWN_FOLDERS, url_of
from site_build.reading.identity import identity_faults
from site_build.reading.pictures import picture_faults


class Earlier(Struct, frozen=True, kw_only=True):
    """The earlier names of one page, and the line of its front matter."""

    path: str
    line: int
    names: tuple[str, ...]


class Folder(FilesRead, Protocol):
    """A methods folder as its pages, the files published beside them, and its runs, by path."""

    folder: Path
    pages: list[str]
    published: list[str]
    runs: list[str]


def folder_faults(
    source: Folder,
    house: House,
    methods: set[str],
    earlier: Iterable[Earlier],
    pictures: Collection[str],
    titles: Mapping[str, tuple[str, int]],
) -> list[PageError]:
    """Faults of the house's addresses and marks, of pictures, runs without a method, earlier names and duplicate titles.

    ``methods`` are the pages meant as methods, including faulty ones, ``titles`` title and line by path. Only ``pictures``
    are opened.
    """
    name, days = source.folder.name, _day_pages(source)
    return [
        *address_faults(house, name),
        *picture_faults(source.folder, pictures),
        *identity_faults(source.folder, source.published, house),
        *stray_runs(name, source.runs, methods),
        *_layer_name_faults(source),
        *_earlier_faults(name, earlier, [*source.pages, *GENERATED, *days]),
        *title_faults(name, titles),
    ]


def day_page_faults(source: FilesRead) -> list[PageError]:
    """Pages under the name of one that the generator makes for a day plan."""
    wanted = "another name: the generator makes this day's page"
    faults = [
        PageError(source.file(name), 1, "file", name, wanted) for name in _day_pages(source) if name in source.contents
    ]
    allowed = "another folder: the generator makes the pages of batches and inspections"
    own = [path for path in source.contents if path.endswith(".md") and path.startswith(OWN_FOLDERS)]
    return faults + [PageError(source.file(path), 1, "file", path, allowed) for path in own]


def _day_pages(source: FilesRead) -> list[str]:
    return [path.removesuffix(".yml") + ".md" for path in wish_paths(source)]


def _layer_name_faults(source: Folder) -> list[PageError]:
    endings = tuple(f".{layer}.md" for layer in LAYERS)
    allowed = f"a name that does not end in {' or '.join(endings)}: further pages of a method have such names"
    return [
        PageError(source.file(path), 1, "file name", path.rpartition("/")[2], allowed)
        for path in source.pages
        if path.endswith(endings)
    ]


def _earlier_faults(folder: str, pages: Iterable[Earlier], taken: Iterable[str]) -> list[PageError]:
    """A fault for each earlier name that another page has or had; ``taken`` are the paths of all pages of the site."""
    pages, taken = sorted(pages, key=lambda one: one.path), list(taken)
    known = {url_of(path).casefold(): path for path in taken}
    unfit = _unfit_names({name for each in pages for name in each.names}, taken)
    faults = []
    for each in pages:
        for name in each.names:
            url = f"{name}.html".casefold()
            if url in known or name in unfit or name.endswith(tuple(f".{layer}" for layer in LAYERS)):
                allowed = f"a name that no page has or had ({known.get(url, 'a further page of a method')} has it)"
                faults.append(PageError(f"{folder}/{each.path}", each.line, "was", name, allowed))
            known[url] = each.path
    return faults


def _unfit_names(names: set[str], taken: list[str]) -> set[str]:
    """The names that no page of the folder could have had, and those in folders of the generator's own pages."""
    paths = {f"{name}.md": name for name in names}
    unfit = {paths[path] for each in name_faults("", paths, taken) if (path := each.file.removeprefix("/")) in paths}
    return unfit | {name for name in names if name.casefold().startswith(OWN_FOLDERS)}
