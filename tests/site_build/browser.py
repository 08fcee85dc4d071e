"""The installed Chromium for tests that open pages as a reader does, and a small local server."""

from __future__ import annotations

import functools
import http.server
import shutil
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import msgspec
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking"]
#: A window that shows next to nothing: a page whose look does not matter opens in it in two thirds of the time.
NEXT_TO_NOTHING = {"width": 1280, "height": 10}
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


#: What a reader has not chosen.
_PLAIN = {"media": "null", "color_scheme": "light", "reduced_motion": "no-preference", "forced_colors": "none"}


class Tab(msgspec.Struct, kw_only=True):
    """A page of the browser with what it asked for and what it complained of since it was lent."""

    page: Page
    asked: list[str] = []
    wrong: list[str] = []

    def open(self, address: str, *, width: int = 1280, height: int = 900, **media: str) -> Page:
        """The page at an address, loaded anew; only what is kept for the site is left of what was open before."""
        self.page.goto("about:blank")  # another part of the same page would be no new load
        self.page.set_viewport_size({"width": width, "height": height})
        self.page.emulate_media(**(_PLAIN | media))
        self.page.goto(address)
        return self.page


class Tabs:
    """Lends tabs to tests one after the other: opening a tab takes as long as opening several pages in it."""

    def __init__(self, browser: Browser) -> None:
        self._browser = browser
        self._free: dict[tuple, list[Tab]] = {}

    @contextmanager
    def lend(self, **options) -> Iterator[Tab]:
        """A tab of a context with these options, in which nothing is kept."""
        free = self._free.setdefault(tuple(sorted(options.items())), [])
        tab = free.pop() if free else new_tab(self._browser.new_context(**options))
        yield tab  # a test that fails may leave it in any state: it is not lent again
        kept = tab.page.context.new_cdp_session(tab.page)
        tab.page.goto("about:blank")
        kept.send("Storage.clearDataForOrigin", {"origin": "file://", "storageTypes": "all"})
        kept.detach()
        tab.asked, tab.wrong = [], []
        free.append(tab)


def new_tab(context: BrowserContext) -> Tab:
    """A tab that hears its requests, errors, warnings and breaches of a page's policy."""
    context.add_init_script(
        "addEventListener('securitypolicyviolation', (event) => console.error('policy', event.violatedDirective))"
    )
    tab = Tab(page=context.new_page())
    context.on("request", lambda request: tab.asked.append(request.url))
    context.on("console", lambda said: tab.wrong.append(said.text) if said.type in ("error", "warning") else None)
    context.on("weberror", lambda error: tab.wrong.append(str(error.error)))
    return tab


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
