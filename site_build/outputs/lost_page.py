"""Style and script of the page for a wrong address. They are inline, because a server shows this page at any address.

The page's policy allows this one style and this one script by their hashes (CSP Level 3, "hash-source").
"""

from __future__ import annotations

from base64 import b64encode
from dataclasses import dataclass
from hashlib import sha256
from importlib.resources import files


@dataclass(frozen=True, kw_only=True)
class LostPage:
    """Style and script as they are in the page, and the sources of a policy that allows only them."""

    style: str
    script: str
    style_source: str
    script_source: str


def lost_page() -> LostPage:
    """The style and script of the package."""
    style, script = (
        files("site_build").joinpath("templates", f"lost.{kind}").read_text("utf-8") for kind in ("css", "js")
    )
    return LostPage(style=style, script=script, style_source=_source(style), script_source=_source(script))


def _source(text: str) -> str:
    return f"'sha256-{b64encode(sha256(text.encode()).digest()).decode()}'"
