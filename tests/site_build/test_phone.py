"""A method's page is light on a phone: its weight, its requests, and sections that are laid out only when near."""

import gzip
import re
import statistics
from pathlib import Path

import pytest

from site_build.outputs.bundles import BUNDLES, STYLE, join_assets, joined_style
from tests.site_build.browser import ALL_NEAR, served

METHOD = "hot-smoked-char-sides.html"
WHY = "hot-smoked-char-sides.why.html"
PROOF = "hot-smoked-char-sides.proof.html"
MOST_BYTES = 150_000  # of everything that a first visit loads, compressed as page hosts do
MOST_PAGE_BYTES = 60_000  # of the page alone, before it is compressed: this is what has to be parsed
MOST_ELEMENTS = 950
MOST_REQUESTS = 10


@pytest.fixture(scope="module")
def phone(tab, demo_site):
    """Opens a page of the demo on a phone's screen."""
    return lambda address, root="": tab.open((root or demo_site.as_uri() + "/") + address, width=360, height=740)


#: What of a page runs over an edge, where all its sections are laid out.
OVER_AN_EDGE = """() => [document.documentElement.scrollWidth,
  [...document.querySelectorAll(".block, .need, .work, .words")].filter((each) => each.scrollWidth > each.clientWidth + 1)
    .map((each) => each.id)]"""


@pytest.fixture(scope="module")
def sheets(phone, demo_book):
    """What each method's page measures on a phone's screen, all sections laid out; each page is opened once."""
    found = {}
    for each in demo_book.methods:
        page = phone(each.url)
        page.evaluate(ALL_NEAR)
        seen = found[each.url] = {
            "screens": page.evaluate("document.documentElement.scrollHeight / innerHeight"),
            "tops": [page.locator(one).first.bounding_box()["y"] for one in (".need-table .mass", "#standing")],
        }
        for width in (320, 640):
            page.set_viewport_size({"width": width, "height": 740})
            seen[width] = page.evaluate(OVER_AN_EDGE)
        page.set_viewport_size({"width": 360, "height": 740})
        page.evaluate("document.querySelectorAll('details.words').forEach((each) => { each.open = true; })")
        seen["words"] = len(page.inner_text("main").split())
    return found


def loaded(page: Path) -> set[Path]:
    """The files that a browser asks for with a page: what it links, and what its style sheets name."""
    text = page.read_text("utf-8")
    links = re.findall(r'<(?:script|img)\b[^>]*? src="([^"]+)"', text)
    links += re.findall(r'<link rel="(?:stylesheet|icon)"[^>]*? href="([^"]+)"', text)
    files = {(page.parent / link).resolve() for link in links if not link.startswith("data:")}
    for style in [each for each in files if each.suffix == ".css"]:
        files |= {(style.parent / name).resolve() for name in re.findall(r'url\("([^"]+)"\)', style.read_text("utf-8"))}
    return {page.resolve(), *files}


def weight(file: Path) -> int:
    """Bytes on the wire: text compressed as hosts do by default, the rest as it is."""
    data = file.read_bytes()
    return len(data if file.suffix == ".woff2" else gzip.compress(data, 6))


def test_every_method_is_light(demo_site, demo_book):
    """Every method's page with style, scripts and fonts stays under its bounds of bytes, elements and requests."""
    for each in demo_book.methods:
        page = demo_site / each.url
        files = loaded(page)
        kinds = {file.suffix for file in files}
        assert kinds >= {".html", ".css", ".js", ".woff2"}, each.url
        assert sum(weight(file) for file in files) <= MOST_BYTES, each.url
        assert len(files) <= MOST_REQUESTS, each.url
        assert page.stat().st_size <= MOST_PAGE_BYTES, each.url
        assert len(re.findall(r"<[a-z]", page.read_text("utf-8"))) <= MOST_ELEMENTS, each.url


def test_counted_files_are_what_a_browser_asks_for(phone, demo_site):
    """The files counted are those that the browser itself asks for."""
    with served(demo_site) as server:
        root = f"http://127.0.0.1:{server.server_port}/"
        page = phone(METHOD, root)
        page.evaluate("document.fonts.ready.then(() => true)")
        asked = page.evaluate("performance.getEntriesByType('resource').map(each => each.name)")
    counted = {root + file.relative_to(demo_site.resolve()).as_posix() for file in loaded(demo_site / METHOD)}
    assert {each for each in asked if not each.endswith(".webmanifest")} <= counted
    assert len(asked) >= 7


def test_sections_wait_on_a_phone_only(phone):
    """Far sections wait to be laid out on a phone's screen; not on a wide one, and not on paper."""
    page = phone(WHY)
    state = "getComputedStyle(document.getElementById('portion')).contentVisibility"
    far = "document.querySelector('#portion h2').checkVisibility({contentVisibilityAuto: true})"
    assert page.evaluate(state) == "auto" and page.evaluate(far) is False
    page.emulate_media(media="print")
    assert page.evaluate(state) == "visible"
    page.emulate_media(media="screen")
    page.set_viewport_size({"width": 1280, "height": 900})
    assert page.evaluate(state) == "visible" and page.evaluate(far) is True


def test_jumps_land_on_a_phone(phone):
    """A link to a part lands on it, from outside and by the local list, though sections on the way were never laid out."""
    top = "(link) => document.querySelector(link).getBoundingClientRect().top"
    for url in (METHOD, WHY, PROOF):
        links = phone(url).eval_on_selector_all(
            ".bar-parts a:not([data-elsewhere])", "all => all.map((each) => each.getAttribute('href'))"
        )
        assert links
        for link in links:
            for is_inside in (False, True):
                page = phone(url if is_inside else url + link)
                if is_inside:
                    page.click(".bar-parts > summary")
                    page.click(f".bar-parts a[href='{link}']")
                page.wait_for_timeout(150)
                at_end = page.evaluate("innerHeight + scrollY >= document.documentElement.scrollHeight - 1")
                assert at_end or 0 <= page.evaluate(top, link) < 120, (url, link)


@pytest.mark.parametrize(
    "anchor", ["safety", "salt", "off", "heat", "change", "clock", "portion", "history", "too-salty"]
)
def test_old_links_lead_on(phone, anchor):
    """An address of a part that has moved to a further page leads there, with the batch that stands in it."""
    page = phone(f"{METHOD}?batch=5kg#{anchor}")
    page.wait_for_url(f"**/hot-smoked-char-sides.*.html?batch=5kg#{anchor}")
    assert page.evaluate("(id) => document.getElementById(id).hasAttribute('data-elsewhere')", anchor) is False


def test_far_words_are_found_on_a_phone(phone):
    """The browser's own search finds words in sections that are not laid out yet."""
    page = phone(WHY)
    assert page.evaluate("window.find('What the core does') && window.find('Sodium per portion')")


def test_sheet_is_short(sheets):
    """What a cook works from: the first weight and the standing on the first screen, four screens for the median method
    and six for the longest, 1,200 words with every fold open (the handbook's own budget)."""
    for url, seen in sheets.items():
        assert max(seen["tops"]) < 740, (url, seen["tops"])
        assert seen["words"] <= 1200, url
    screens = [seen["screens"] for seen in sheets.values()]
    assert statistics.median(screens) <= 4 and max(screens) <= 6


def test_three_kilograms_in_two_taps(phone):
    """From the opened sheet two taps give another batch, and its amounts stand on the screen then."""
    page = phone("cellar-cabbage.html")
    page.click("#batch > summary")
    page.locator("[data-size]").last.click()
    page.keyboard.press("Escape")
    shown = page.locator(".need-table .mass").first
    assert 0 <= shown.bounding_box()["y"] < 740 and "batch=" in page.evaluate("location.search")


def test_charts_fit_the_screen(phone, demo_site):
    """No chart of any page scrolls sideways, and its words stay 9 CSS pixels high at least."""
    inside = """() => [...document.querySelectorAll(".chart-frame")].filter((each) => each.scrollWidth > each.clientWidth + 1)
      .map((each) => each.getAttribute("aria-label") || each.getAttribute("aria-labelledby"))"""
    small = """() => [...document.querySelectorAll(".chart-svg text")].filter((each) => each.getClientRects().length
      && each.getBoundingClientRect().height < 9).map((each) => each.textContent)"""
    for file in sorted(demo_site.rglob("*.html")):
        if "chart-frame" in file.read_text("utf-8"):
            page = phone(file.relative_to(demo_site).as_posix())
            page.evaluate(ALL_NEAR)
            assert (page.evaluate(inside), page.evaluate(small)) == ([], []), file.name


@pytest.mark.parametrize("width", [320, 640])
def test_nothing_is_cut_off_when_near(sheets, width):
    """No page scrolls sideways with all its sections laid out: one that waits would hide what runs over its edge."""
    for url, seen in sheets.items():
        whole, parts = seen[width]
        assert whole <= width, url
        assert parts == [], url


def test_join_assets(tmp_path):
    """The parts are joined in order and taken away; joining again changes nothing, and no rule is lost."""
    for parts in BUNDLES.values():
        for part in parts:
            (tmp_path / part).parent.mkdir(parents=True, exist_ok=True)
            (tmp_path / part).write_text(f"/* {part} */\n.{Path(part).stem} {{ top: 0; }}\n", "utf-8")
    join_assets(tmp_path)
    files = {path.relative_to(tmp_path).as_posix(): path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
    assert set(files) == set(BUNDLES)
    names = [Path(part).stem for part in BUNDLES[STYLE]]
    assert files[STYLE].decode() == "".join(f".{name} {{ top: 0; }}\n" for name in names)
    join_assets(tmp_path)
    assert all((tmp_path / name).read_bytes() == data for name, data in files.items())


def test_joined_style_keeps_rules_and_drops_comments():
    """Comments go, also those over several lines; rules stay in their order."""
    assert joined_style(["/* a\n b */\nh1 {\n  top: 0; /* why */\n}\n", "p { left: 0; }"]) == (
        "h1 {\ntop: 0;\n}\np { left: 0; }\n"
    )
