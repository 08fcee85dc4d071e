"""Pages at earlier addresses that redirect to a method's present address, without a script."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from urllib.parse import quote

from markupsafe import Markup

from site_build.base.languages import mark_languages
from site_build.base.local_forms import is_right_to_left
from site_build.base.said_words import own, say, wording_now
from site_build.reading.book import page_paths, url_of

_PAGE = Markup(
    '<!doctype html>\n<html lang="{language}"{direction}>\n<head>\n<meta charset="utf-8">\n'
    "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; base-uri 'none'; form-action 'none'\">\n"
    '<meta name="viewport" content="width=device-width, initial-scale=1">\n<meta name="robots" content="noindex">\n'
    '<meta http-equiv="refresh" content="0; url={address}">\n<link rel="canonical" href="{address}">\n'
    '<title>{title}</title>\n</head>\n<body>\n<p>{words} <a href="{address}">{title}</a></p>\n</body>\n</html>\n'
)


def lead_on_pages(path: str, title: str, names: Iterable[str]) -> Iterator[tuple[str, str]]:
    """Address and text of each page that redirects to the method at ``path`` and to its further pages."""
    for name in names:
        for old, new in zip(page_paths(f"{name}.md", True), page_paths(path, True), strict=True):
            address = "../" * name.count("/") + quote(url_of(new))
            words = say("This sheet has another address now:")
            page = _PAGE.format(
                language=wording_now().language,
                direction=' dir="rtl"' if is_right_to_left() else "",
                address=address,
                title=own(title),
                words=words,
            )
            yield url_of(old), mark_languages(page)
