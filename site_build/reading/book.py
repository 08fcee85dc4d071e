"""The contents of a handbook: its pages, the generated pages, and the addresses of all."""

from __future__ import annotations

from handbook.base.did_you_mean import Names
from handbook.folder.file_names import BATCHES, FURTHER, INSPECTION
from handbook.folder.source import FolderSource
from site_build.base.said_words import later

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
