"""Two handbooks at one host, or in two folders of one device, keep apart; the page for a wrong address works anywhere."""

import functools
import http.server
import shutil
import threading
from contextlib import contextmanager

import pytest
from playwright.sync_api import expect

from site_build.outputs.offline import write_offline
from tests.site_build.browser import served
from tests.site_build.test_offline import hashes

METHOD = "hot-smoked-char-sides.html"
#: A run with its first step ticked, household measures, the lamp, and hours of sleep on the page of the clock.
USE = """() => {
  document.querySelector("[data-choice=units] input[value=household]").click();
  document.querySelector("[data-lamp-switch]").click();
  document.querySelector("[data-kitchen-open]").click();
  document.querySelectorAll("[data-kitchen-tick]")[0].click();
}"""
USE_CLOCK = """() => {
  const form = document.querySelector("[name=night-from]").form;
  form.elements["night-from"].value = "21:13";
  form.elements["plan-moment"].value = "2026-12-24T18:00";
  form.dispatchEvent(new Event("input", { bubbles: true }));
  form.elements["plan-moment"].dispatchEvent(new Event("input", { bubbles: true }));
}"""
KEPT = """() => ({
  units: document.documentElement.dataset.units,
  lamp: document.querySelector("[data-lamp-word]").textContent,
  ticks: Array.from(document.querySelectorAll("[data-kitchen-tick]")).filter(box => box.checked).length,
  night: (handbookKept.get("night") || "").split(" ")[0],
})"""


@pytest.fixture(scope="module")
def two(demo_site, tmp_path_factory):
    """The same handbook in two folders of one place, and once more within the first."""
    place = tmp_path_factory.mktemp("two")
    for name in ("a", "b", "a/inner"):
        shutil.copytree(demo_site, place / name)
    return place


def opened(page, address):
    page.goto(address)
    page.click("[data-kitchen-open]")
    found = page.evaluate(KEPT)
    page.click("[data-kitchen-close]")
    return found


@pytest.mark.parametrize("way", ["http", "file"])
def test_what_one_keeps_the_other_does_not_see(browser, two, way):
    """Ticks, measures, lamp and hours of one handbook are kept for it, and are another's nowhere."""
    with served(two) as server, browser.new_context() as context:
        root = two.as_uri() if way == "file" else f"http://127.0.0.1:{server.server_port}"
        page = context.new_page()
        fresh = opened(page, f"{root}/b/{METHOD}")
        page.goto(f"{root}/a/{METHOD}")
        page.evaluate(USE)
        page.goto(f"{root}/a/{METHOD.replace('.html', '.why.html')}")
        page.evaluate(USE_CLOCK)
        used = opened(page, f"{root}/a/{METHOD}")
        assert used == {"units": "household", "lamp": "day", "ticks": 1, "night": "21:13"}
        for other in ("b", "a/inner"):
            assert opened(page, f"{root}/{other}/{METHOD}") == fresh
        assert opened(page, f"{root}/a/{METHOD}") == used
        keys = page.evaluate("Object.keys(localStorage)")
        assert len(keys) == 4 and all("/a/ " in key for key in keys), keys


def test_no_key_without_its_handbook(demo_site):
    """Every script of the site reaches the browser's storage through the one that scopes it."""
    scripts = {path.name: path.read_text("utf-8") for path in demo_site.rglob("*.js")}
    for name, text in scripts.items():
        reached = sum(
            text.count(word)
            for word in (
                "localStorage",
                "sessionStorage",
                "indexedDB",
                "BroadcastChannel",
                "document.cookie",
                "window.name",
            )
        )
        assert reached == (2 if name == "first.js" else 0), name


def test_copy_of_the_handbook_above_is_not_this_ones(browser, two):
    """A worker of a handbook in a folder above answers for this one's pages at first; its copy is not given out as this one's."""
    for name in ("a", "a/inner"):
        write_offline(hashes(two / name), two / name)
    with served(two) as server, browser.new_context() as context:
        root = f"http://127.0.0.1:{server.server_port}/a/"
        page = context.new_page()
        page.goto(root + "strength.html")
        expect(page.locator("[data-copy-foot]")).to_be_visible(timeout=60_000)
        (two / "a/inner/service-worker.js").rename(two / "kept-aside.js")
        page.goto(root + "inner/strength.html")
        assert page.evaluate("navigator.serviceWorker.controller.scriptURL") == root + "service-worker.js"
        page.wait_for_timeout(1500)
        assert page.locator("[data-copy-foot]").is_hidden() and page.locator("[data-copy-note]").is_hidden()
        (two / "kept-aside.js").rename(two / "a/inner/service-worker.js")
        page.reload()
        expect(page.locator("[data-copy-foot]")).to_be_visible(timeout=60_000)
        names = page.evaluate("caches.keys()")
        assert sorted(name.split(" ")[1] for name in names) == [root, root + "inner/"]


class _Host(http.server.SimpleHTTPRequestHandler):
    """As page hosts do: at an address that is not there, the page 404.html of the site that is nearest above."""

    def send_error(self, code, *_):
        site = self.server.site
        data = (site / "404.html").read_bytes()
        self.send_response(self.server.code)
        self.send_header("Content-Type", "text/html; charset=utf-8")
        self.end_headers()
        self.wfile.write(data)

    def log_message(self, *_):
        """Say nothing."""


@contextmanager
def host(folder, site, code=404):
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(_Host, directory=str(folder)))
    server.site, server.code = site, code
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield f"http://127.0.0.1:{server.server_port}"
    finally:
        server.shutdown()
        server.server_close()


@pytest.fixture(scope="module")
def sites(demo_site, tmp_path_factory):
    """The folder that a host gives, and the site in it, for each place of the handbook below the host's root."""

    @functools.cache
    def placed(below):
        folder = tmp_path_factory.mktemp("host")
        site = folder / below.replace("%62", "b").lstrip("/") if below else folder
        shutil.copytree(demo_site, site, dirs_exist_ok=True)
        return folder, site

    return placed


@pytest.mark.parametrize("code", [404, 200])
@pytest.mark.parametrize(
    ("below", "path"),
    [
        ("", "/gone.html"),
        ("", "/deep/er/path?a=../../x#y"),
        ("/team/handbook", "/x/y"),
        ("/team/handbook", "/gone"),
        ("/team/handbook", "/a/b/c/d/e/f/g/h/i/j/k/l/m/n/"),
        ("/team/my hand%62ook", "/x//y"),
    ],
)
def test_wrong_address(tabs, sites, below, path, code):
    """The page for a wrong address is styled and leads to the contents, wherever the handbook stands and however deep."""
    folder, site = sites(below)
    with host(folder, site, code) as root, tabs.lend(service_workers="block") as tab:
        page = tab.open(root + below + path)
        expect(page.locator("nav")).to_be_visible()
        page.wait_for_function('getComputedStyle(document.querySelector("h1")).fontFamily.includes("Handbook")')
        page.click("nav a >> nth=0")
        expect(page.locator("h1")).not_to_have_text("No such sheet")
        assert page.url == root + below.replace(" ", "%20") + "/index.html"


def test_wrong_address_from_a_folder_and_without_scripts(tabs, demo_site):
    """Opened as a file it leads on; where no script runs it is readable and holds no link that leads astray."""
    with tabs.lend() as tab:
        page = tab.open((demo_site / "404.html").as_uri())
        page.click("nav a >> nth=1")
        assert page.url == (demo_site / "brines.html").as_uri()
    with tabs.lend(java_script_enabled=False) as tab:
        page = tab.open((demo_site / "404.html").as_uri())
        assert page.locator("h1").is_visible() and page.locator("a[href]").count() == 0
