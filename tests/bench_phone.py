"""A first visit to each method's page on a slow phone, beside a bare page of the same words.

Run: python -m tests.bench_phone [methods folder or built site] [runs]. Chromium's processor is slowed four times and its
network held to a profile; the server is on this machine and compresses as page hosts do. The bare page is the same words
as plain paragraphs, without style, script or picture: what no page of these words can beat. "Interactive" is when the
deferred scripts have run and the main thread had its last task over 50 ms (Long Tasks API) before a quiet second.
Not in it: the handshake of a secure connection, which the network emulation leaves out.
"""

from __future__ import annotations

import gzip
import html
import http.server
import mimetypes
import statistics
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from msgspec import Struct

from site_build.build.build_site import Choices, build_site
from tests.site_build.browser import chromium

PROCESSOR = 4  # times slower
QUIET = 1000  # ms without a long task
#: name -> (round trip in ms, bits per second down, up)
PROFILES = {
    "10 Mbit/s, 40 ms": (40, 10e6, 5e6),
    "1.6 Mbit/s, 150 ms": (150, 1.6e6, 0.75e6),
}
KINDS = ("page", "style", "script", "font", "other")

_WATCH = """
    window.seen = { tasks: [], shift: 0 };
    new PerformanceObserver((list) => list.getEntries().forEach((each) => seen.tasks.push([each.startTime, each.startTime + each.duration])))
        .observe({ type: "longtask", buffered: true });
    new PerformanceObserver((list) => list.getEntries().forEach((each) => { if (!each.hadRecentInput) seen.shift += each.value; }))
        .observe({ type: "layout-shift", buffered: true });
"""
_READ = """(quiet) => {
    const page = performance.getEntriesByType("navigation")[0];
    const bytes = { page: page.transferSize, style: 0, script: 0, font: 0, other: 0 };
    performance.getEntriesByType("resource").forEach((each) => {
        const path = new URL(each.name).pathname;
        const kind = path.endsWith(".css") ? "style" : path.endsWith(".js") ? "script" : path.endsWith(".woff2") ? "font" : "other";
        bytes[kind] += each.transferSize;
    });
    const scripts = page.domContentLoadedEventEnd;
    let interactive = scripts;
    for (const [start, end] of seen.tasks) {
        if (start > interactive + quiet) break;
        interactive = Math.max(interactive, end);
    }
    return {
        paint: performance.getEntriesByName("first-contentful-paint")[0].startTime, scripts, bytes,
        interactive, shift: seen.shift,
        requests: performance.getEntriesByType("resource").length + 1,
        elements: document.querySelectorAll("*").length,
    };
}"""


class Visit(Struct, frozen=True, kw_only=True):
    """One first visit: times in ms since it was asked for, bytes on the wire by kind, cumulative layout shift."""

    paint: float
    scripts: float
    interactive: float
    shift: float
    requests: int
    elements: int
    bytes: dict[str, int]


def main() -> None:
    """Print a table for each profile."""
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else "methods").resolve()
    runs = int(sys.argv[2]) if len(sys.argv) > 2 else 3
    with _built(folder) as site, chromium() as browser:
        pages = method_pages(site)
        with _bare(browser, site, pages) as bare, hosted(bare) as beside, hosted(site) as server:
            for words, profile in PROFILES.items():
                print(f"\nprocessor {PROCESSOR} times slower, {words} round trip; median of {runs} first visits, ms")
                print(f"{'':28}{'first':>7}{'scripts':>9}{'inter-':>8}{'beside':>8}   layout {'kB:':>6}", end="")
                print("".join(f"{kind:>8}" for kind in KINDS) + "     all")
                print(f"{'page':28}{'paint':>7}{'done':>9}{'active':>8}{'bare':>8}    shift")
                for name in pages:
                    one = [visit(browser, _address(server, name), profile) for _ in range(runs)]
                    plain = [visit(browser, _address(beside, name), profile) for _ in range(runs)]
                    print(_line(name, one, plain))


def visit(browser, address: str, profile: tuple[float, float, float]) -> Visit:
    """Open ``address`` with nothing kept, on a slowed processor and network, and read its times once it is quiet."""
    context = browser.new_context(viewport={"width": 360, "height": 740}, device_scale_factor=2, is_mobile=True)
    context.add_init_script(_WATCH)
    page = context.new_page()
    wire = context.new_cdp_session(page)
    wire.send("Emulation.setCPUThrottlingRate", {"rate": PROCESSOR})
    wire.send("Network.enable")
    latency, down, up = profile
    wire.send(
        "Network.emulateNetworkConditions",
        {"offline": False, "latency": latency, "downloadThroughput": down / 8, "uploadThroughput": up / 8},
    )
    page.goto(address, wait_until="load")
    page.wait_for_timeout(2.5 * QUIET)  # asking the page in between would itself be a long task
    read = page.evaluate(_READ, QUIET)
    context.close()
    return Visit(**read)


def method_pages(site: Path) -> list[str]:
    """The methods' pages of a built site, by name."""
    return sorted(path.name for path in site.glob("*.html") if 'id="method-data"' in path.read_text("utf-8"))


@contextmanager
def hosted(site: Path) -> Iterator[http.server.ThreadingHTTPServer]:
    """``site`` as a page host serves it: HTTP/1.1, connections kept, text compressed; compressed before it is asked for."""
    answers = {f"/{path.relative_to(site).as_posix()}": _packed(path) for path in site.rglob("*") if path.is_file()}

    class Host(http.server.BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"
        disable_nagle_algorithm = True
        wbufsize = -1  # head and body in one piece

        def do_GET(self):
            body, kind, is_packed = answers.get(self.path.split("?")[0], (b"", "text/plain", False))
            self.send_response(200 if self.path.split("?")[0] in answers else 404)
            self.send_header("Content-Type", kind)
            self.send_header("Content-Length", str(len(body)))
            self.send_header("Cache-Control", "max-age=600")
            if is_packed:
                self.send_header("Content-Encoding", "gzip")
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *_):
            """Say nothing."""

    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Host)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield server
    finally:
        server.shutdown()
        server.server_close()


def _packed(path: Path) -> tuple[bytes, str, bool]:
    kind = mimetypes.guess_type(path.name)[0] or "application/octet-stream"
    is_text = kind.startswith("text/") or "javascript" in kind or "json" in kind or "xml" in kind
    data = path.read_bytes()
    return (gzip.compress(data, 6) if is_text else data), kind, is_text


@contextmanager
def _built(folder: Path) -> Iterator[Path]:
    """``folder`` itself if it is a site, else a site of it."""
    if (folder / "index.html").is_file():
        yield folder
        return
    with tempfile.TemporaryDirectory() as place:
        build_site(folder, Path(place) / "site", Choices(shows_progress=False))
        yield Path(place) / "site"


@contextmanager
def _bare(browser, site: Path, pages: list[str]) -> Iterator[Path]:
    """A folder of pages with the same words and nothing else."""
    reader = browser.new_page(java_script_enabled=False)
    with tempfile.TemporaryDirectory() as place:
        for name in pages:
            reader.goto((site / name).as_uri())
            lines = [line.strip() for line in reader.locator("body").inner_text().splitlines()]
            body = "".join(f"<p>{html.escape(line)}\n" for line in lines if line)
            text = f'<!doctype html><html lang="en"><meta charset="utf-8"><title>Bare</title><body>{body}'
            (Path(place) / name).write_text(text, "utf-8")
        reader.close()
        yield Path(place)


def _address(server, name: str) -> str:
    return f"http://127.0.0.1:{server.server_port}/{name}"


def _line(name: str, one: list[Visit], plain: list[Visit]) -> str:
    paint, scripts, interactive, shift = (
        statistics.median(getattr(each, key) for each in one) for key in ("paint", "scripts", "interactive", "shift")
    )
    beside = interactive / statistics.median(each.interactive for each in plain)
    sizes = [one[0].bytes[kind] for kind in KINDS]
    return (
        f"{name.removesuffix('.html'):28}{paint:7.0f}{scripts:9.0f}{interactive:8.0f}{beside:7.1f}x{shift:9.4f}{'':9}"
        + "".join(f"{size / 1000:8.1f}" for size in sizes)
        + f"{sum(sizes) / 1000:8.1f}  {one[0].requests} requests, {one[0].elements} elements"
    )


if __name__ == "__main__":
    main()
