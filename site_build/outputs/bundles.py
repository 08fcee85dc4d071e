"""Joins the theme's small files into a few, because each request costs a round trip on a phone.

The source keeps one topic a file (theme/assets/); the site contains only the joined files, which ``base.html`` names.
"""

from __future__ import annotations

import re
from pathlib import Path

STYLE, FIRST = "assets/css/sheet.css", "assets/first.js"
_STYLES = ("tokens", "page", "parts", "tables", "work", "safety", "charts", "forms", "search", "paper", "tools", "day")
#: Joined file -> its parts in order. ``first.js`` runs before the first paint, the others after the page has been
#: parsed.
BUNDLES = {
    STYLE: tuple(f"assets/css/{name}.css" for name in _STYLES),
    FIRST: ("assets/parts.js", "assets/say.js", "assets/kept.js", "assets/units.js", "assets/site.js"),
    "assets/reader.js": ("assets/search.js", "assets/offline.js", "assets/runs.js", "assets/due.js"),
    "assets/method.js": ("assets/batch.js", "assets/sheet.js", "assets/planner.js", "assets/kitchen.js"),
}


def join_assets(site: Path, first_lines: str = "", house_style: str = "") -> None:
    """Write the joined files into a built site and remove their parts. A site that is already joined does not change.

    ``first_lines`` begin the first script: the translations of the scripts' words, and the engine's rules for them.
    ``house_style`` ends the style sheet: the house's colours.

    Each part is read from the site, not from the package, so that a house's own file in its place counts.
    """
    for name, parts in BUNDLES.items():
        if not (site / parts[0]).is_file():
            continue
        texts = [(site / part).read_text("utf-8") for part in parts]
        joined = joined_style(texts) + house_style if name == STYLE else "\n".join(texts)
        joined = first_lines + joined if name == FIRST else joined
        (site / name).write_text(joined, "utf-8")
        for part in parts:
            (site / part).unlink()


def joined_style(texts: list[str]) -> str:
    """Style sheets in sequence, without comments, indents and empty lines. None of their strings contains ``/*``."""
    bare = re.sub(r"/\*.*?\*/", "", "\n".join(texts), flags=re.S)
    return "\n".join(line.strip() for line in bare.splitlines() if line.strip()) + "\n"
