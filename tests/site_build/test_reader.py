"""The demo handbook in a real browser: from a folder, from a server and without it, by keyboard, without scripts."""

import gzip
import re
import shutil
import statistics
from importlib.resources import files

import pytest

from handbook.base.formats import format_percent_range, format_time_range
from site_build.outputs.offline import write_offline
from site_build.outputs.search import index_script, indexed
from site_build.outputs.search_entries import method_entry
from site_build.outputs.search_words import plain, stem
from tests.bench_search import invented_entries, measure, write_site
from tests.site_build.browser import ALL_NEAR, served
from tests.site_build.test_offline import hashes

METHOD = "hot-smoked-char-sides.html"
#: One page of each type.
PAGES = (
    METHOD,
    METHOD.replace(".html", ".why.html"),
    METHOD.replace(".html", ".proof.html"),
    "pumped-ham.html",
    "glazed-whitefish-strips.why.html",
    "cellar-cabbage.proof.html",
    "cautions.html",
    "index.html",
    "side-by-side.html",
    "brines.html",
    "weights.html",
    "strength.html",
    "limits.html",
    "sources.html",
    "glossary.html",
    "figures.html",
    "about.html",
    "days/jetty-saturday.html",
)
AXE = files("axe_playwright_python").joinpath("axe.min.js").read_text("utf-8")


@pytest.fixture
def folder(tabs, demo_site):
    """Opens pages of the site as files. At the end: nothing was asked for outside it, no error, no breach of policy."""
    yield from watched(tabs, demo_site.as_uri() + "/")


def watched(tabs, root, options=None, **look):
    """A function that opens a page under ``root``, and a watch over all that the pages ask for and complain of."""
    with tabs.lend(**(options or {})) as tab:
        yield lambda path: tab.open(root + path, **look)
        assert [url for url in tab.asked if not url.startswith((root, "data:"))] == []
        assert tab.wrong == []


def found(page, query):
    """What the search answers: titles, and the reasons of each."""
    page.fill("#find-field", query)
    page.locator(".find-count", has_text="found").wait_for()
    results = page.locator(".find-result")
    return [(each.locator(".find-link").inner_text(), each.locator(".find-why").inner_text()) for each in results.all()]


def test_search_from_a_folder(folder):
    """Slips, plurals, foods, kinds and figures find the method, and each result says why."""
    page = folder("pumped-ham.html")
    for query, title, reason in [
        ("mussel", "Smoked mussels", "name: mussels"),
        ("muscels", "Smoked mussels", "name: mussels"),
        ("char", "Hot-smoked char sides", "name: char"),
        ("ferment", "Cellar cabbage", "ferment"),
        ("junipers berry", "Cellar cabbage", "ingredient: juniper"),
        ("smokd dcuk", "Dry-cured duck breast", "duck"),
        ("pumped", "Pumped ham in a net", "name: pumped"),
        ("scombroid zzzzqqqq", "Words of the trade", "not found here: zzzzqqqq"),
    ]:
        results = dict(found(page, query))
        assert title in results, (query, results)
        assert reason in results[title], (query, results[title])
    assert found(page, "qqqqzzzz") == []
    assert page.locator(".find-count").inner_text().startswith("Nothing found")


def test_search_a_figure(folder, demo_book):
    """A strength in percent finds the brines nearest to it, the nearest first."""
    asked = 8.0
    strengths = sorted(
        (abs(each.strength.salt_mass_fraction * 100 - asked), page.report.method.front_matter.title)
        for page in demo_book.methods
        for each in page.report.saltings
        if each.strength
    )
    first, reason = found(folder("index.html"), f"brine {asked:g}%")[0]
    assert first == strengths[0][1] and re.search(r"\d % salt in the", reason)
    assert all("72 °C" in why for _, why in found(folder("index.html"), "72 °C")[:2])


def test_search_leads_to_the_place(folder):
    """A reason with a place of its own leads there."""
    page = folder("index.html")
    found(page, "pellicle")
    page.locator(".find-why a", has_text="pellicle").first.click()
    page.wait_for_url("**/*.html#*")
    assert page.evaluate("document.getElementById(location.hash.slice(1)) !== null")


def test_search_by_keyboard(folder):
    """Skip link, name, field: three stops. Arrows walk the results, Enter opens, Escape empties."""
    page = folder("index.html")
    for _ in range(3):
        page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") == "find-field"
    page.keyboard.type("trout")
    page.wait_for_selector(".find-result")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowUp")
    assert page.evaluate("document.activeElement.textContent") == page.locator(".find-link").first.inner_text()
    page.keyboard.press("Escape")
    assert page.locator("#find-slip").is_hidden() and page.input_value("#find-field") == ""
    page.keyboard.type("winter-smoked trout")
    page.wait_for_selector(".find-result")
    page.keyboard.press("Enter")
    page.wait_for_url("**/winter-smoked-trout.html")


def test_search_words_as_in_the_build(folder, demo_book):
    """The browser folds and shortens every word of the handbook as the build did."""
    text = " ".join(page.text.body for page in demo_book.pages.values()) + " Purée Smørrebrød Straße ÅL œufs Łosoś"
    words = sorted(set(re.findall(r"[^\W\d_]+", text)))
    page = folder("index.html")
    found(page, "salt")
    folded = page.evaluate("(words) => words.map(handbookSearch.plain)", words)
    assert folded == [plain(word) for word in words]
    assert page.evaluate("(words) => words.map(handbookSearch.stem)", folded) == [stem(word) for word in folded]


def test_search_thousand_methods(browser, demo_book, tmp_path):
    """Over 1,000 methods: the index under 1 MB compressed, results within 100 ms of a key press."""
    script = index_script(
        map(
            indexed, invented_entries([method_entry(page, page.author, further=()) for page in demo_book.methods], 1000)
        )
    )
    assert len(gzip.compress(script.encode())) < 1_000_000
    write_site(tmp_path, script)
    _, times = measure(browser, tmp_path, 1)
    assert {query: each for query, each in times.items() if statistics.median(each) > 100} == {}


def test_contents_filter_and_order(folder, demo_book):
    """The list shows exactly the methods that the engine's figures let through, in the order asked for."""
    page = folder("index.html")
    page.locator(".filters-more summary").click()
    shown = lambda: page.locator(".method-card:visible h2").all_inner_texts()  # noqa: E731
    title = lambda report: report.method.front_matter.title  # noqa: E731
    reports = sorted(
        (each.report for each in demo_book.methods),
        key=lambda each: (each.method.front_matter.kind, each.food.food_class, title(each).casefold()),
    )
    assert shown() == [title(each) for each in reports]
    page.fill('[data-filter-at-most="longest-hours"]', "48")
    assert shown() == [title(each) for each in reports if each.schedule.total.high <= 48 * 3600]
    page.check('[data-filter-without="allergen"][value="fish"]')
    assert shown() == [
        title(each) for each in reports if each.schedule.total.high <= 48 * 3600 and "fish" not in each.allergens
    ]
    page.click("button[type=reset]")
    page.check('[data-filter-without="place"][value="smoker"]')
    assert shown() == [title(each) for each in reports if all(step.place != "smoker" for step in each.method.steps)]
    page.click("button[type=reset]")
    page.select_option("[data-order]", "hands-on-hours")
    hours = [each.schedule.hands_on.typical for each in reports]
    assert shown() == [
        title(reports[at]) for at in sorted(range(len(hours)), key=lambda at: round(hours[at] / 3600, 2))
    ]
    page.select_option("[data-order]", "reviewed")
    assert shown()[0] == title(max(reports, key=lambda each: each.method.front_matter.reviewed))


#: Whether so many methods of the list are shown.
SHOWN = "(count) => [...document.querySelectorAll('.method-card')].filter((each) => each.offsetParent).length === count"


def test_filters_stand_in_the_address(folder, demo_book):
    """What is chosen is there again after a reload and on the way back from a method; a tag of a sheet leads to its list."""
    page = folder("index.html")
    page.select_option('[data-filter="kind"]', "ferment")
    assert page.evaluate("location.search") == "?kind=ferment"
    shown = page.locator(".method-card:visible h2").all_inner_texts()
    wanted = [each for each in demo_book.methods if each.report.method.front_matter.kind == "ferment"]
    assert sorted(shown) == sorted(each.report.method.front_matter.title for each in wanted) != []
    page.click(".method-card:visible a")
    page.go_back()
    page.wait_for_function("document.querySelector('[data-filter=kind]').value === 'ferment'")
    page.wait_for_function(SHOWN, arg=len(shown))
    assert page.locator(".method-card:visible h2").all_inner_texts() == shown
    page.goto(page.url.split("?")[0].replace("index.html", "hot-smoked-char-sides.html"))
    page.click(".tags a >> text=smoke")
    tagged = [each for each in demo_book.methods if "smoke" in each.report.method.front_matter.tags]
    page.wait_for_url(re.compile(r"index\.html\?tag=smoke"))
    page.wait_for_function(SHOWN, arg=len(tagged))
    assert page.locator(".method-card:visible").count() == len(tagged) > 1


def test_first_method_is_on_the_first_screen(tab, demo_site):
    """On a phone (360 x 740) the list begins on the first screen, with the standing and the time in each row."""
    page = tab.open((demo_site / "index.html").as_uri(), width=360, height=740)
    box = page.locator(".method-card").first.bounding_box()
    assert box["y"] + box["height"] < 740
    rows = page.locator(".method-card .card-figures").all_inner_texts()
    assert all(("met" in row or "predicted" in row or "act on" in row) and "hands-on" in row for row in rows)


def test_side_by_side(folder, demo_book):
    """Two chosen methods stand in one table with the engine's figures; the address keeps the choice."""
    page = folder("side-by-side.html#one=pumped-ham&other=soy-eggs")
    cells = lambda row: page.locator(f"tr:has(th:text-is('{row}')) td").all_inner_texts()  # noqa: E731
    reports = [demo_book.pages[f"{name}.md"].report for name in ("pumped-ham", "soy-eggs")]
    assert cells("Start to finish") == [format_time_range(each.schedule.total) for each in reports]
    assert cells("Salt in the finished food") == [format_percent_range(each.salt) for each in reports]
    assert page.locator(".side-by-side-pictures img").evaluate_all("all => all.every(one => one.complete)")
    page.select_option("select[name=other]", "cured-brisket")
    assert page.url.endswith("#one=pumped-ham&other=cured-brisket")
    before = page.locator(".both-table tr:visible").count()
    page.check("input[name=differing]")
    assert 0 < page.locator(".both-table tr:visible").count() < before
    assert page.locator("tr[data-alike]:visible").count() == 0


def test_without_scripts(tabs, demo_site):
    """Without scripts the list stands whole, the comparison explains itself, and no dead control is shown."""
    for go in watched(tabs, demo_site.as_uri() + "/", {"java_script_enabled": False}):
        page = go("index.html")
        assert page.locator(".find").is_hidden() and page.locator(".filters").is_hidden()
        assert page.locator(".method-card:visible").count() == page.locator(".method-card").count() > 10
        page = go("side-by-side.html")
        assert "scripts are off" in page.locator("main").inner_text()
        page.click("main a[href='index.html']")
        assert page.url.endswith("index.html")


def test_kept_copy(browser, demo_site, demo_book, tmp_path):
    """Once kept, the whole handbook opens with the server gone, says so, and a new build comes in quietly."""
    site = tmp_path / "site"
    shutil.copytree(demo_site, site)
    context = browser.new_context()
    with served(site) as server:
        root = f"http://127.0.0.1:{server.server_port}/"
        page = context.new_page()
        page.goto(root)
        page.wait_for_selector("[data-copy-foot]:visible", timeout=20000)
        assert "this copy is from" in page.locator("[data-copy-foot]").inner_text()
        assert page.locator("[data-copy-note]").is_hidden()
        assert page.locator("link[rel=manifest]").get_attribute("href") == root + "manifest.webmanifest"

        about = site / "about.html"
        about.write_text(about.read_text("utf-8").replace("Net Loft", "Net Shed"), "utf-8")
        write_offline(hashes(site), site)
        page.reload()
        page.wait_for_selector("[data-copy-note]:visible", timeout=20000)
        assert "A newer copy" in page.locator("[data-copy-note]").inner_text()
        wait_for_one_copy(page)
    for path in ("about.html", METHOD, "sources.html", ""):
        page.goto(root + path)
        page.wait_for_selector("[data-copy-note]:visible")
        note = page.locator("[data-copy-note]").inner_text()
        assert note.startswith("No network. This copy is from ") and re.search(r"20\d\d", note)
        if path == "about.html":
            assert "Net Shed" in page.locator("main").inner_text()
    assert found(page, "trout")
    assert page.evaluate("document.fonts.ready.then(() => document.fonts.check('20px \"Handbook Text\"'))")
    context.close()


def wait_for_one_copy(page):
    """Until the older copy is dropped."""
    for _ in range(100):
        if page.evaluate("() => caches.keys().then((names) => names.length)") == 1:
            return
        page.wait_for_timeout(50)
    raise AssertionError("two copies are kept")


def test_kept_copy_refuses_a_foreign_file(browser, demo_site, tmp_path):
    """A file that is not of this build, as when a site is being replaced, keeps the copy from being made."""
    site = tmp_path / "site"
    shutil.copytree(demo_site, site)
    (site / "about.html").write_text("half a build", "utf-8")
    context = browser.new_context()
    with served(site) as server:
        page = context.new_page()
        page.add_init_script(
            """const workers = navigator.serviceWorker, register = workers.register.bind(workers);
            window.registered = new Promise((done) => {
                workers.register = (script) => { const found = register(script); done(found); return found; };
            });"""
        )
        page.goto(f"http://127.0.0.1:{server.server_port}/index.html")
        gone = page.evaluate(
            """() => registered.then((found) => found.installing
                ? new Promise((done) => { const worker = found.installing;
                    worker.addEventListener("statechange", () => done(worker.state)); })
                : "redundant")"""
        )
        assert gone == "redundant"
        assert page.evaluate("navigator.serviceWorker.controller") is None
    context.close()


def broken_rules(page, options):
    """Rules of axe-core that a page breaks, each with the first place; nobody asks for the places' selectors."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE)
    run = """options => axe.run({ resultTypes: ["violations"], preload: false, selectors: false, ...options })
      .then(found => found.violations.map(each => [each.id, each.nodes[0].html.slice(0, 160)]))"""
    return page.evaluate(run, options)


@pytest.fixture(scope="module")
def visits(tabs, demo_site):
    """Opens pages for the checks of every page type, under one watch."""
    yield from watched(tabs, demo_site.as_uri() + "/", width=320, height=800)


@pytest.mark.parametrize("path", PAGES)
def test_every_page_type(visits, path):
    """No sideways scroll at 320 px and at 200 % zoom of 1280 px; no rule of axe-core broken, by day and by night."""
    page = visits(path)
    if path == METHOD:
        found(page, "brine 8%")
    page.evaluate(ALL_NEAR)
    for width in (320, 640):
        page.set_viewport_size({"width": width, "height": 800})
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.set_viewport_size({"width": 1280, "height": 900})
    assert broken_rules(page, {"rules": {"target-size": {"enabled": True}}}) == []
    page.emulate_media(color_scheme="dark")  # changes colours alone
    assert broken_rules(page, {"runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}}) == []


def test_not_found_page(tabs, demo_site):
    """The server's page for a wrong address is styled, fits a phone and breaks no rule."""
    with served(demo_site) as server:
        for go in watched(tabs, f"http://127.0.0.1:{server.server_port}/", width=320, height=800):
            page = go("404.html")
            assert broken_rules(page, {}) == []
            assert page.evaluate("document.documentElement.scrollWidth") == 320
            assert "Handbook" in page.locator("h1").evaluate("(one) => getComputedStyle(one).fontFamily")


def test_reduced_motion(tabs, demo_site):
    """A reader who asks for less motion gets none: no smooth scroll, transition or animation."""
    for go in watched(tabs, demo_site.as_uri() + "/", reduced_motion="reduce"):
        for path in (METHOD, "index.html"):
            moving = go(path).evaluate(
                """() => [document.documentElement, ...document.body.querySelectorAll("*")].filter((one) => {
                    const style = getComputedStyle(one);
                    return style.scrollBehavior === "smooth" || parseFloat(style.transitionDuration) > 0
                        || parseFloat(style.animationDuration) > 0; }).length"""
            )
            assert moving == 0


def test_forced_colours(tabs, demo_site):
    """In the reader's own colours bars, current page and search marks can still be told from the ground."""
    for go in watched(tabs, demo_site.as_uri() + "/", forced_colors="active"):
        page = go(METHOD.replace(".html", ".why.html"))

        def colour(place, name, page=page):
            return page.locator(place).first.evaluate("(one, name) => getComputedStyle(one)[name]", name)

        ground = colour("body", "backgroundColor")
        assert colour(".chart-svg .hands-on", "fill") != ground and colour(".chart-svg .waiting", "stroke") != ground
        found(page, "smoke")
        assert colour(".find-why mark", "backgroundColor") != ground
        assert colour("#find-field", "borderTopColor") != ground
        assert colour("nav a[aria-current]", "borderBottomColor", go("index.html")) != ground


@pytest.mark.parametrize("path", ["index.html", METHOD, "side-by-side.html"])
def test_every_stop_of_the_keyboard_is_seen(folder, path):
    """Each stop of the Tab key has a visible outline and a name."""
    page = folder(path)
    stops = 0
    for _ in range(40):
        page.keyboard.press("Tab")
        state = page.evaluate(
            """() => { const one = document.activeElement, style = getComputedStyle(one);
                if (one === document.body) return null;
                const named = one.getAttribute("aria-label") || one.getAttribute("aria-labelledby") || one.textContent.trim()
                    || (one.labels && one.labels.length);
                return [style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2, Boolean(named), one.outerHTML]; }"""
        )
        if state is None:
            break
        assert state[0] and state[1], state[2][:200]
        stops += 1
    assert stops > 8


def test_data_block_is_there_and_allowed(folder):
    """The page's policy does not stand in the way of its data block for other programs."""
    page = folder(METHOD)
    assert (
        page.evaluate("JSON.parse(document.querySelector('script[type=\"application/ld+json\"]').textContent)['@type']")
        == "Recipe"
    )
