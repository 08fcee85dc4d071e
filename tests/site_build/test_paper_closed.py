"""The printed handbook reads nothing but its own files: a page's addresses reach no host and no file of this machine."""

import http.client
import http.server
import re
import threading
from pathlib import Path

import pytest
from PIL import Image
from pypdf import PdfReader

from site_build.cli.paper_command import find_browser, print_site
from site_build.outputs.closed_server import POLICY, closed_server
from site_build.outputs.paper import paper_document

#: What a page may be made to hold where its cleaning fails; HERE is an outside address, OUT a file outside of the site.
HARM = """
<img src="HERE/src.png" alt="a"> <img src="own.png" srcset="HERE/srcset.png 2x" alt="b"> <img src="OUT" alt="c">
<img src="//LOCAL/relative.png" alt="d"> <img src="\\\\LOCAL\\back.png" alt="e"> <img src="../../out.png" alt="f">
<picture><source srcset="HERE/source.webp"><img src="own.png" alt="g"></picture>
<iframe src="HERE/frame.html"></iframe> <iframe src="OUT"></iframe> <iframe srcdoc="&lt;img src='HERE/srcdoc.png'&gt;"></iframe>
<object data="HERE/object.png"></object> <embed src="HERE/embed.png"> <object data="OUT"></object>
<link rel="stylesheet" href="HERE/link.css"> <link rel="prefetch" href="HERE/prefetch"> <link rel="dns-prefetch" href="//LOCAL">
<style>@import "HERE/import.css"; body { background: url(HERE/style.png) }</style>
<p style="background: url(HERE/attribute.png)">styled</p> <table background="HERE/table.png"><tr><td>t</td></tr></table>
<svg width="9" height="9"><image href="HERE/image.png" width="9" height="9"/><use href="HERE/use.svg#a"/>
<image href="OUT" width="9" height="9"/><style>@import "HERE/svg.css";</style><script href="HERE/svg.js"></script>
<foreignObject><img src="HERE/foreign.png" alt=""></foreignObject><script>fetch("HERE/svg-script")</script></svg>
<video src="HERE/video.mp4" poster="HERE/poster.png"></video> <audio src="HERE/audio.mp3"></audio>
<meta http-equiv="refresh" content="0; url=HERE/refresh"> <base href="HERE/">
<script>fetch("HERE/fetch"); new Image().src = "HERE/script.png"; new WebSocket("ws://LOCAL/socket");</script>
<img src="own.png" onload="fetch('HERE/onload')" alt="h"> <input type="image" src="HERE/input.png" alt="i">
<body background="HERE/body.png"> <math><mi href="HERE/math">m</mi></math> <a href="HERE/link" ping="HERE/ping">link</a>
"""
INDEX = '<h1>Kitchen</h1><div class="sheet-body"></div>'


@pytest.fixture(scope="module")
def canary():
    """A server beside, and all that it was asked for."""
    asked = []

    class Handler(http.server.BaseHTTPRequestHandler):
        def do_GET(self):
            asked.append(self.path)
            self.send_error(404)

        do_CONNECT = do_POST = do_HEAD = do_OPTIONS = do_GET

        def log_message(self, *_):
            """Say nothing."""

    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"127.0.0.1:{server.server_port}", asked
    server.shutdown()
    server.server_close()


def site_with(place: Path, page: str) -> Path:
    """A site of one page."""
    site = place / "site"
    (site / "assets/css").mkdir(parents=True)
    for name in ("sheet", "whole"):
        (site / f"assets/css/{name}.css").write_text("")
    (site / "index.html").write_text(INDEX)
    (site / "page.html").write_text(f'<h1>Page</h1><div class="sheet-body"><h1>Page</h1>{page}<p>the end</p></div>')
    Image.new("RGB", (30, 20), (0, 120, 40)).save(site / "own.png")
    Image.new("RGB", (30, 20), (200, 0, 0)).save(place / "out.png")
    return site


def pictures_of(pdf: Path) -> list:
    """The colour of each picture of a PDF."""
    return [image.image.convert("RGB").getpixel((5, 5)) for sheet in PdfReader(pdf).pages for image in sheet.images]


def uncleaned(site: Path, harm: str) -> str:
    """The document with ``harm`` as it is and without its own policy; it does not lead the browser to another page."""
    harm = re.sub(r"<meta[^>]*>|<base[^>]*>", "", harm)
    whole = paper_document(site).replace("<p>the end</p>", harm + "<p>the end</p>")
    return re.sub(r'<meta http-equiv="Content-Security-Policy"[^>]*>', "", whole, count=1)


@pytest.mark.parametrize("keeps_all", [False, True])
def test_printing_asks_nobody(canary, tmp_path, monkeypatch, keeps_all):
    """Nothing outside is asked for or printed, not even where the document keeps every element and address of the page."""
    local, asked = canary
    harm = (
        HARM.replace("HERE", f"http://{local}").replace("LOCAL", local).replace("OUT", (tmp_path / "out.png").as_uri())
    )
    site = site_with(tmp_path, harm)
    (site / "assets/css/whole.css").write_text(
        f'@import "http://{local}/sheet.css"; p {{ background: url("{(tmp_path / "out.png").as_uri()}") }}\n'
    )
    if keeps_all:  # what stands after the cleaning, the policy and the closed server
        whole = uncleaned(site, harm)
        monkeypatch.setattr("site_build.cli.paper_command.paper_document", lambda *_: whole)
    assert print_site(site, tmp_path / "out.pdf", "A4", find_browser()) >= 1
    text = " ".join(sheet.extract_text() for sheet in PdfReader(tmp_path / "out.pdf").pages)
    assert "the end" in text and "Kitchen" in text
    assert asked == []
    colours = pictures_of(tmp_path / "out.pdf")
    assert (0, 120, 40) in colours and (200, 0, 0) not in colours, colours


def test_printing_reaches_no_host_without_the_policy(canary, tmp_path, monkeypatch):
    """Where the policy itself fails, the browser still has no network: the closed server is its only way out."""
    local, asked = canary
    monkeypatch.setattr("site_build.outputs.closed_server.POLICY", "default-src * 'unsafe-inline'")
    harm = HARM.replace("HERE", f"http://{local}").replace("LOCAL", local)
    site = site_with(tmp_path, "")
    whole = uncleaned(site, harm)
    monkeypatch.setattr("site_build.cli.paper_command.paper_document", lambda *_: whole)
    print_site(site, tmp_path / "out.pdf", "A4", find_browser())
    assert asked == []


def test_document_holds_own_pictures_only(tmp_path):
    """The document has no address of another host or file to load, and nothing that loads by itself."""
    whole = paper_document(site_with(tmp_path, HARM.replace("HERE", "https://h.example").replace("LOCAL", "h.example")))
    body = whole[whole.index("<body") :]
    for word in (
        "<iframe",
        "<object",
        "<embed",
        "<link",
        "<meta",
        "<base",
        "<style",
        "<script",
        "<source",
        "<video",
        "srcset",
        'src="http',
        'src="//',
        'src="..',
        'src="\\',
        'src="/',
    ):
        assert word not in body, word
    assert body.count('src="own.png"') >= 3 and POLICY in whole


REFUSED = {
    "not listed": "{root}secret.png",
    "another kind": "{root}notes.txt",
    "no token": "/own.png",
    "another token": "/x{root}own.png",
    "upwards": "{root}../own.png",
    "upwards, escaped": "{root}%2e%2e/own.png",
    "the root": "{root}",
    "another host": "http://h.example{root}own.png",
    "this host by name": "http://localhost{root}own.png",
    "a file": "file:///etc/passwd",
    "no address": "ftp://[::1",
}  # fmt: skip


def ask(server, target, method="GET", **headers):
    connection = http.client.HTTPConnection(server.proxy, timeout=10)
    connection.putrequest(method, target, skip_host="Host" in headers)
    for name, value in headers.items():
        connection.putheader(name, value)
    connection.endheaders()
    answer = connection.getresponse()
    return answer.status, answer.getheader("Content-Security-Policy")


def test_closed_server_gives_listed_files_alone():
    """Listed files under the token are given, with the policy; every other path, host, way and name is refused."""
    with closed_server({"own.png": b"x", "a b/ü.css": b"y", "notes.txt": b"z"}) as server:
        for target in (
            server.root + "own.png",
            server.address("own.png"),
            server.root + "a%20b/%C3%BC.css",
            server.root + "own.png?a=b",
        ):
            assert ask(server, target) == (200, POLICY)
        for why, target in REFUSED.items():
            status, policy = ask(server, target.format(root=server.root))
            assert status == 403 and policy == POLICY, why
        assert ask(server, server.root + "own.png", Host="h.example")[0] == 403
        for method in ("POST", "PUT", "HEAD", "CONNECT", "OPTIONS"):
            assert ask(server, server.root + "own.png", method)[0] >= 400
    with closed_server({}) as other:
        assert other.root != server.root
