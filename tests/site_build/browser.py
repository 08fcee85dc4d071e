"""The installed Chromium for tests that open pages as a reader does, and a small local server."""

from __future__ import annotations

import functools
import http.server
import shutil
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking"]
#: All sections as they are where they are near; a page's policy allows no style element.
ALL_NEAR = """() => { const sheet = new CSSStyleSheet();
  sheet.replaceSync("* { content-visibility: visible !important }"); document.adoptedStyleSheets = [sheet]; }"""


@contextmanager
def chromium() -> Iterator[Browser]:
    """Debian's Chromium, driven by Playwright; no browser is downloaded."""
    path = shutil.which("chromium")
    assert path, "the tests need Debian's package chromium"
    with sync_playwright() as player:
        browser = player.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield browser
        browser.close()


class _Quiet(http.server.SimpleHTTPRequestHandler):
    def end_headers(self):
        """Let the browser keep what it got, as page hosts do."""
        self.send_header("Cache-Control", "max-age=600")
        super().end_headers()

    def log_message(self, *_):
        """Say nothing."""


@contextmanager
def served(folder: Path) -> Iterator[http.server.ThreadingHTTPServer]:
    """A server of ``folder`` on this machine; ``server_port`` is its port. It can be shut early to lose the network."""
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(_Quiet, directory=str(folder)))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield server
    finally:
        server.shutdown()
        server.server_close()
