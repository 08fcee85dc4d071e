"""Pages at earlier addresses that lead on to where a method stands now, without a script."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from urllib.parse import quote

from markupsafe import Markup

from handbook.base.errors import PageError
from handbook.folder.file_names import RESERVED
from site_build.base.languages import mark_languages
from site_build.base.said_words import own, say, wording_now
from site_build.reading.book import LAYERS, page_paths, url_of

_PAGE = Markup(
    '<!doctype html>\n<html lang="{language}">\n<head>\n<meta charset="utf-8">\n'
    "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; base-uri 'none'; form-action 'none'\">\n"
    '<meta name="viewport" content="width=device-width, initial-scale=1">\n<meta name="robots" content="noindex">\n'
    '<meta http-equiv="refresh" content="0; url={address}">\n<link rel="canonical" href="{address}">\n'
    '<title>{title}</title>\n</head>\n<body>\n<p>{words} <a href="{address}">{title}</a></p>\n</body>\n</html>\n'
)


@dataclass(frozen=True, kw_only=True)
class Earlier:
    """The earlier names of one page, and the line of its front matter."""

    path: str
    line: int
    names: tuple[str, ...]


def earlier_faults(folder: str, pages: Iterable[Earlier], taken: Iterable[str]) -> list[PageError]:
    """A fault for each earlier name that another page has or had; ``taken`` are the paths of all pages of the site."""
    known = {url_of(path).casefold(): path for path in taken}
    faults = []
    for each in sorted(pages, key=lambda one: one.path):
        for name in each.names:
            url = f"{name}.html".casefold()
            if url in known or _is_reserved(name) or name.endswith(tuple(f".{layer}" for layer in LAYERS)):
                allowed = f"a name that no page has or had ({known.get(url, 'a further page of a method')} has it)"
                faults.append(PageError(f"{folder}/{each.path}", each.line, "was", name, allowed))
            known[url] = each.path
    return faults


def lead_on_pages(path: str, title: str, names: Iterable[str]) -> Iterator[tuple[str, str]]:
    """Address and text of each page that leads on to the method at ``path`` and to its further pages."""
    for name in names:
        for old, new in zip(page_paths(f"{name}.md", True), page_paths(path, True), strict=True):
            address = "../" * name.count("/") + quote(url_of(new))
            words = say("This sheet has another address now:")
            page = _PAGE.format(language=wording_now().language, address=address, title=own(title), words=words)
            yield url_of(old), mark_languages(page)


def _is_reserved(name: str) -> bool:
    """Whether an address is among those that the generator writes its own files to."""
    return name.split("/")[0].casefold() in RESERVED
