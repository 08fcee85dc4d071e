"""A copy of the handbook for when the network is gone: web app manifest and service worker with every file's hash."""

from __future__ import annotations

import json
from hashlib import sha256
from importlib.resources import files
from pathlib import Path

from site_build.book import Book

MANIFEST, WORKER, ICON = "manifest.webmanifest", "service-worker.js", "assets/icon.svg"
_PAPER, _LAKE = "#fbfcfa", "#0f4453"  # as in the theme's tokens: a manifest cannot read a style sheet
#: Files that a kept copy does not need: addresses for machines, and what a server compresses for itself.
_LEFT_OUT = (".gz", ".map", ".DS_Store", "sitemap.xml", "feed.xml")


def write_offline(book: Book, site: Path) -> None:
    """Write manifest and service worker into a finished site; call it last, when no file changes any more.

    The version is a hash of the files' hashes: the same pages give the same worker, to the byte.
    """
    (site / MANIFEST).write_text(manifest(book.house.kitchen), "utf-8")
    hashes = site_hashes(site)
    version = _hash("".join(f"{path}\n{value}\n" for path, value in hashes.items()).encode())
    script = files("site_build").joinpath("service-worker.js").read_text("utf-8")
    listed = json.dumps(hashes, ensure_ascii=False, indent=0, separators=(",", ":"))
    (site / WORKER).write_text(script.replace("__VERSION__", version).replace("__FILES__", listed), "utf-8")


def manifest(kitchen: str) -> str:
    """The web app manifest (W3C Web Application Manifest), all addresses relative to the site's root."""
    return json.dumps(
        {
            "name": kitchen,
            "short_name": kitchen.split(",")[0][:30],
            "start_url": "index.html",
            "scope": "./",
            "display": "minimal-ui",
            "background_color": _PAPER,
            "theme_color": _LAKE,
            "icons": [{"src": ICON, "sizes": "any", "type": "image/svg+xml", "purpose": "any maskable"}],
        },
        ensure_ascii=False,
        indent=2,
    )


def site_hashes(site: Path) -> dict[str, str]:
    """The start of each file's SHA-256, by its path from the site's root, in order of paths."""
    found = sorted(path for path in site.rglob("*") if path.is_file())
    names = {path.relative_to(site).as_posix(): path for path in found}
    return {
        name: _hash(path.read_bytes())
        for name, path in names.items()
        if name != WORKER and not name.endswith(_LEFT_OUT) and not name.startswith(".")
    }


def _hash(data: bytes) -> str:
    return sha256(data).hexdigest()[:24]
