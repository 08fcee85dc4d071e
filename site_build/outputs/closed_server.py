"""The only network of a printing browser: a server of listed files on this machine that is also its proxy.

Every request of the browser, for any host by name or number, comes here; requests for other files are refused.
"""

from __future__ import annotations

import secrets
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import PurePosixPath
from urllib.parse import unquote, urlsplit

#: Types of files that a printed page may load; no others are served.
KINDS = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".woff2": "font/woff2",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".jpg": "image/jpeg",
    ".jpeg": "image/jpeg",
    ".webp": "image/webp",
    ".gif": "image/gif",
    ".avif": "image/avif",
}
#: The site's own policy without scripts, connections and workers (theme/base.html).
POLICY = (
    "default-src 'none'; style-src 'self'; img-src 'self' data:; font-src 'self'; base-uri 'none'; form-action 'none'"
)


class ClosedServer(ThreadingHTTPServer):
    """Serves ``files``, by path, under a name that nobody else on this machine can guess."""

    daemon_threads = True

    def __init__(self, files: Mapping[str, bytes]):
        super().__init__(("127.0.0.1", 0), _Handler)
        self.files = files
        self.root = f"/{secrets.token_urlsafe(24)}/"

    @property
    def proxy(self) -> str:
        """The address at which it listens."""
        return f"127.0.0.1:{self.server_port}"

    def address(self, path: str) -> str:
        """The address of a file."""
        return f"http://{self.proxy}{self.root}{path}"

    def found(self, target: str) -> str | None:
        """The path of the listed file that a request for ``target`` means; None for any other."""
        asked = urlsplit(target)
        if asked.scheme not in ("", "http") or asked.netloc not in ("", self.proxy):
            return None
        path = unquote(asked.path).removeprefix(self.root)
        is_under = unquote(asked.path).startswith(self.root)
        return path if is_under and path in self.files and PurePosixPath(path).suffix.lower() in KINDS else None

    def handle_error(self, request, client_address) -> None:
        """A browser that closes the connection is not an error."""


@contextmanager
def closed_server(files: Mapping[str, bytes]) -> Iterator[ClosedServer]:
    """A running server of ``files``."""
    with ClosedServer(files) as server:
        threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True).start()
        try:
            yield server
        finally:
            server.shutdown()


class _Handler(BaseHTTPRequestHandler):
    server: ClosedServer
    timeout = 30

    def do_GET(self):
        try:
            path = self.server.found(self.path)
        except ValueError:  # an invalid address
            path = None
        if path is None or self.headers.get("Host", self.server.proxy) != self.server.proxy:
            self.send_error(403)
            return
        data = self.server.files[path]
        self.send_response(200)
        self.send_header("Content-Type", KINDS[PurePosixPath(path).suffix.lower()])
        self.send_header("Content-Length", str(len(data)))
        self.end_headers()
        self.wfile.write(data)

    def end_headers(self):
        for name, value in (
            ("Content-Security-Policy", POLICY),
            ("X-Content-Type-Options", "nosniff"),
            ("Referrer-Policy", "no-referrer"),
            ("Cache-Control", "no-store"),
        ):
            self.send_header(name, value)
        super().end_headers()

    def log_message(self, *_):
        """Log nothing."""
