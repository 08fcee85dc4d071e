"""Settings of a team's own mkdocs.yml that the handbook has elsewhere. They are refused, with the right place to set them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

#: Setting of MkDocs -> its allowed values, and the handbook's own place for it.
ELSEWHERE: dict[str, tuple[tuple[Any, ...], str]] = {
    "site_url": ((None, ""), "none; `address` in house.yml is where the site is published"),
    "site_description": ((None, ""), "none; the pages' own `summary` describes them"),
    "site_author": ((None, ""), "none; each page names its `keeper`"),
    "copyright": ((None, ""), "none; `footer` in house.yml stands at the foot of each page"),
    "repo_url": ((None, ""), "none; `repository` in house.yml is where pages are edited"),
    "repo_name": ((None, ""), "none; `repository` in house.yml is where pages are edited"),
    "edit_uri": ((None, ""), "none; `repository` in house.yml is where pages are edited"),
    "edit_uri_template": ((None, ""), "none; `repository` in house.yml is where pages are edited"),
    "nav": ((None,), "none; the contents page lists every page of the folder"),
    "use_directory_urls": ((False,), "false: the site's links name files, so that it works from a folder"),
    "markdown_extensions": (
        (["toc", "tables", "fenced_code"],),
        "none: the words of pages are read with fixed extensions",
    ),
    "mdx_configs": (({},), "none: the words of pages are read with fixed extensions"),
    "exclude_docs": ((None, ""), "none; a file whose name begins with a dot is left out"),
    "not_in_nav": ((None, ""), "none; the contents page lists every page of the folder"),
    "draft_docs": ((None, ""), "none; a draft stands in a branch of its own"),
    "remote_branch": (("gh-pages",), "none; publishing is the forge's own"),
    "remote_name": (("origin",), "none; publishing is the forge's own"),
}


def setting_faults(config: Mapping[str, Any], kitchen: str) -> Iterator[str]:
    """One line for each setting of a ``mkdocs.yml`` that would have no effect."""
    if config["site_name"] != kitchen:
        yield f'mkdocs.yml: site_name: read "{config["site_name"]}"; allowed: {kitchen}, the `kitchen` of house.yml'
    for name, (values, allowed) in ELSEWHERE.items():
        value = config.get(name)
        if not any(value == each or str(value or "") == str(each or "") for each in values):
            yield f'mkdocs.yml: {name}: read "{_said(value)}"; allowed: {allowed}'
    theme = config["theme"]
    if theme.name != "handbook":
        yield f'mkdocs.yml: theme.name: read "{theme.name}"; allowed: handbook'
    if str(theme.locale) != "en":
        yield f'mkdocs.yml: theme.locale: read "{theme.locale}"; allowed: none; `language` in house.yml is the language of the site'


def _said(value: Any) -> str:
    return " ".join(str(value).split())[:80]
