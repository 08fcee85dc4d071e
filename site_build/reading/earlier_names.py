"""Earlier names of pages, whose addresses redirect. None may be the address of another page."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from handbook.base.errors import PageError
from handbook.folder.file_names import name_faults
from site_build.reading.book import LAYERS, OWN_FOLDERS, url_of


@dataclass(frozen=True, kw_only=True)
class Earlier:
    """The earlier names of one page, and the line of its front matter."""

    path: str
    line: int
    names: tuple[str, ...]


def earlier_faults(folder: str, pages: Iterable[Earlier], taken: Iterable[str]) -> list[PageError]:
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
