"""Style and script of the page for a wrong address. They are inline, because a server shows this page at any address.

The page's policy allows this one style and this one script.
"""

from __future__ import annotations

from importlib.resources import files

from msgspec import Struct

from site_build.html.render import policy_source


class LostPage(Struct, frozen=True, kw_only=True):
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
    return LostPage(style=style, script=script, style_source=policy_source(style), script_source=policy_source(script))
