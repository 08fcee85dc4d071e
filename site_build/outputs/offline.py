"""A copy of the handbook for use without a network: web app manifest, and service worker with every file's hash."""

from __future__ import annotations

import json
from hashlib import sha256
from importlib.resources import files
from pathlib import Path
from urllib.parse import quote

from site_build.reading.identity import Mark
from site_build.record.figures import FILE as FIGURES

#: The build's own list of its files, against which a site can be checked.
BUILD_LIST = "build.json"
MANIFEST, WORKER, ICON = "manifest.webmanifest", "service-worker.js", "assets/icon.svg"
_PAPER, _LAKE = "#fbfcfa", "#0f4453"  # as in the theme's tokens; a manifest cannot read a style sheet
_DIGITS = 24
#: Files that an offline copy does not need: data for programs, and files that a server compresses itself.
_LEFT_OUT = (".gz", ".map", ".DS_Store", "sitemap.xml", "feed.xml", FIGURES, BUILD_LIST)
_FOLDERS_LEFT_OUT = ("schemas/", ".")


def write_offline(hashes: dict[str, str], site: Path) -> None:
    """Write the service worker into a finished site, after every other file.

    ``hashes`` are the SHA-256 of every file by path. The version is a hash of them, so equal pages give an identical
    worker.
    """
    kept = kept_files(hashes)
    version = sha256("".join(f"{path}\n{value}\n" for path, value in kept.items()).encode()).hexdigest()[:_DIGITS]
    script = files("site_build").joinpath("service-worker.js").read_text("utf-8")
    listed = lined(kept, ":")
    (site / WORKER).write_text(script.replace("__VERSION__", version).replace("__FILES__", listed), "utf-8")


def lined(values: dict[str, str], colon: str = ": ") -> str:
    """Some texts by name as a JSON object with one name on each line. The library's own indentation takes ten times longer."""
    return "{\n" + json.dumps(values, ensure_ascii=False, separators=(",\n", colon))[1:-1] + "\n}"


def kept_files(hashes: dict[str, str]) -> dict[str, str]:
    """The files of an offline copy, in order, with the start of each one's SHA-256."""
    return {
        name: hashes[name][:_DIGITS]
        for name in sorted(hashes)
        if name != WORKER and not name.endswith(_LEFT_OUT) and not name.startswith(_FOLDERS_LEFT_OUT)
    }


def manifest(kitchen: str, colour: str, mark: Mark | None) -> str:
    """The web app manifest (W3C Web Application Manifest), with all addresses relative to the site's root."""
    icon = {"src": ICON, "sizes": "any", "type": "image/svg+xml", "purpose": "any maskable"}
    if mark:
        icon = {"src": quote(mark.address), "sizes": f"{mark.width}x{mark.height}", "type": mark.media_type}
    return json.dumps(
        {
            "name": kitchen,
            "short_name": kitchen.split(",")[0][:30],
            "start_url": "index.html",
            "scope": "./",
            "display": "minimal-ui",
            "background_color": _PAPER,
            "theme_color": colour or _LAKE,
            "icons": [icon],
        },
        ensure_ascii=False,
        indent=2,
    )
