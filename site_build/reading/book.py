"""The contents of a handbook: its pages, the generated pages, and the faults that need all of them."""

from __future__ import annotations

from collections.abc import Collection

from handbook.base.did_you_mean import Names
from handbook.base.errors import PageError
from handbook.folder.file_names import BATCHES, FURTHER, INSPECTION
from handbook.folder.kept_days import FilesRead, wish_paths
from handbook.folder.run_files import stray_runs
from handbook.folder.source import FolderSource
from handbook.folder.titles import title_faults
from handbook.page.house import House
from site_build.base.said_words import later
from site_build.reading.addresses import address_faults
from site_build.reading.identity import identity_faults
from site_build.reading.pictures import picture_faults

#: Generated pages: their file within the methods folder, and their title.
GENERATED = {
    "index.md": later("Methods"),
    "brines.md": later("Brines side by side"),
    "weights.md": later("What a cup weighs"),
    "strength.md": later("Brine strength"),
    "limits.md": later("Safety limits"),
    "cautions.md": later("Cautions"),
    "sources.md": later("Sources"),
    "glossary.md": later("Words of the trade"),
    "figures.md": later("How the figures are made"),
    "side-by-side.md": later("Two methods side by side"),
    "in-progress.md": later("In progress"),
}

OWN_FOLDERS = (BATCHES, INSPECTION)

#: A method's further pages: the ending of their address, and their name. The working sheet has the page's own address.
LAYERS = dict(zip(FURTHER, (later("Understand it"), later("Prove it")), strict=True))


def layer_path(path: str, layer: str) -> str:
    """The path of a further page of the method at ``path``, in the methods folder's terms."""
    return f"{path.removesuffix('.md')}.{layer}.md"


def page_paths(path: str, is_method: bool) -> list[str]:
    """The paths of all pages of the site for the page at ``path``."""
    return [path, *(layer_path(path, layer) for layer in LAYERS if is_method)]


def url_of(path: str) -> str:
    """A page's address from the site's root, by its path in the methods folder."""
    return path.removesuffix(".md") + ".html"


def picture_path(path: str, kind: str) -> str:
    """The address of a method's timing picture from the site's root."""
    return f"assets/timing/{path.removesuffix('.md')}.{kind}"


def known_paths(source: FolderSource) -> Names:
    """Every path that a page may link to."""
    return Names((*source.digests, *source.unread, *GENERATED))


def day_page_faults(source: FilesRead) -> list[PageError]:
    """Faults of pages whose name the generator uses for a day plan."""
    names = [path.removesuffix(".yml") + ".md" for path in wish_paths(source)]
    wanted = "another name: the generator makes this day's page"
    faults = [PageError(source.file(name), 1, "file", name, wanted) for name in names if name in source.contents]
    allowed = "another folder: the generator makes the pages of batches and inspections"
    own = [path for path in source.contents if path.endswith(".md") and path.startswith(OWN_FOLDERS)]
    return faults + [PageError(source.file(path), 1, "file", path, allowed) for path in own]


def folder_faults(
    source: FolderSource,
    house: House,
    titles: dict[str, tuple[str, int]],
    methods: set[str],
    pictures: Collection[str] | None = None,
) -> list[PageError]:
    """Faults that need more than one page: the house's addresses, pictures, runs without a method, duplicate titles.

    ``titles`` are title and line by path, ``methods`` the pages meant as methods, including faulty ones. Only
    ``pictures`` are opened, where they are given.
    """
    paths = list(source.published if pictures is None else pictures)
    faults = address_faults(house, source.folder.name) + picture_faults(source.folder, paths)
    faults += identity_faults(source.folder, source.published, house)
    faults += stray_runs(source.folder.name, source.runs, methods) + _layer_name_faults(source)
    return faults + title_faults(source.folder.name, titles)


def _layer_name_faults(source: FolderSource) -> list[PageError]:
    endings = tuple(f".{layer}.md" for layer in LAYERS)
    allowed = f"a name that does not end in {' or '.join(endings)}: further pages of a method have such names"
    return [
        PageError(f"{source.folder.name}/{path}", 1, "file name", path.rpartition("/")[2], allowed)
        for path in source.pages
        if path.endswith(endings)
    ]
