"""Units, kitchen view and the tools' accessibility, in a real browser."""

from importlib.resources import files

import pytest
from playwright.sync_api import expect

from site_build.html.batch_data import tools_data
from tests.site_build.browser import ALL_NEAR, new_tab

METHOD = "hot-smoked-char-sides"
AXE = files("axe_playwright_python").joinpath("axe.min.js").read_text("utf-8")
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]


@pytest.fixture
def open_page(tabs, demo_site):
    """Opens pages of the site where nothing is kept yet; at the end nothing was complained of."""
    with tabs.lend() as tab:
        yield opening(tab, demo_site)
        assert tab.wrong == []


@pytest.fixture
def open_by_the_clock(browser, demo_site):
    """The same with a clock that the test moves."""
    with browser.new_context() as context:
        tab = new_tab(context)
        tab.page.clock.install(time="2026-11-27T10:00:00Z")
        yield opening(tab, demo_site)
        assert tab.wrong == []


def opening(tab, site):
    """A function that opens a page of the site by its name."""
    return lambda name=METHOD, **look: tab.open((site / f"{name}.html").as_uri(), **look)


def test_a_time_that_is_not_computed_is_told_everywhere(open_page):
    """A piece thicker than every row of the table of times: no tool shows the time of the page's own piece as its own."""
    sheet, page = "not computed for this piece", open_page()
    page.goto(f"{page.url}?piece=200mm")
    assert page.inner_text("#step-2 [data-takes]") == sheet
    assert page.locator("[data-card-step]").nth(1).locator("td").nth(1).text_content() == sheet
    page.click("[data-kitchen-open]")
    page.click("[data-kitchen-next]")
    page.click("[data-kitchen-begin]")
    facts = page.inner_text("[data-kitchen-facts]")
    assert (
        "not computed for this piece" in facts and "Takes" not in facts and page.inner_text("[data-kitchen-left]") == ""
    )
    assert (
        page.evaluate("handbookRuns.all().flatMap(each => handbookRuns.dues(each)).filter(each => each[1] === 2)") == []
    )
    page.goto(page.url.replace(".html", ".why.html"))
    page.fill("[name=plan-moment]", "2026-12-05T18:00")
    expect(page.locator("#plan-status")).to_contain_text("Not computed for this piece: the time of step 2.")


def choose(page, name, value):
    """Open the batch panel and choose."""
    if not page.locator("#batch-form").is_visible():
        page.click("#batch > summary")
    page.check(f"input[name={name}][value={value}]", force=True)


@pytest.mark.parametrize(
    ("choice", "mass", "spoons", "words"),
    [
        ("both", True, True, "3.80 kg"),
        ("metric", True, False, "3.80 kg"),
        ("household", False, True, ""),
        ("pounds", True, False, "8 lb 6.25 oz"),
    ],
)
def test_units_choose_the_measure(open_page, choice, mass, spoons, words):
    """A choice of units shows grams, pounds, cups, or two of them on the sheet, and is remembered on the next page."""
    page = open_page()
    choose(page, "units", choice)
    for _ in range(2):
        cell = page.locator("#brine tbody tr").filter(has_text="water").locator("td").first
        assert (cell.locator(".mass").is_visible(), cell.locator(".household").is_visible()) == (mass, spoons)
        assert not words or cell.locator(".mass").inner_text() == words
        page.reload()
    assert page.locator(f"input[value={choice}]").is_checked()


def test_units_leave_doses_totals_and_limits_alone(open_page):
    """Whatever the choice: a curing salt keeps its mass, a total its kilograms and litres, every limit its own words."""
    page = open_page("pumped-ham.proof")
    limits = page.locator("#safety").inner_text()
    for choice in ("household", "metric", "pounds"):
        page.goto(page.url.replace(".proof.html", ".html").replace(".why.html", ".html"))
        choose(page, "units", choice)
        dose = page.locator("#brine tbody tr").filter(has_text="curing salt").locator("td").first
        assert dose.locator(".mass").is_visible() and dose.locator(".household").count() == 0
        page.goto(page.url.replace(".html", ".why.html"))
        total = page.locator(".amounts tr.total td").first
        assert total.locator(".mass").is_visible() and total.locator(".household").is_visible()
        page.goto(page.url.replace(".why.html", ".proof.html"))
        assert page.locator("#safety").inner_text() == limits


def test_degrees_choose_the_first_scale(open_page):
    """Fahrenheit first turns every computed temperature of the sheet and of the further pages, and back."""
    page = open_page()
    celsius, fahrenheit = (
        "72\N{NO-BREAK SPACE}°C (162\N{NO-BREAK SPACE}°F)",
        "162\N{NO-BREAK SPACE}°F (72\N{NO-BREAK SPACE}°C)",
    )
    assert f"core {celsius}" in page.inner_text("#step-6")
    choose(page, "degrees", "f")
    assert f"core {fahrenheit}" in page.inner_text("#step-6")
    page.goto(page.url.replace(".html", ".why.html"))
    assert fahrenheit in page.text_content("#heat") and celsius not in page.text_content("#heat")
    page.goto(page.url.replace(".why.html", ".html"))
    choose(page, "degrees", "c")
    assert f"core {celsius}" in page.inner_text("#step-6")


def test_kitchen_view_one_step_at_a_time(open_page, demo_book):
    """The view goes through the steps by button and by arrow, and says what each asks for."""
    report = demo_book.pages[f"{METHOD}.md"].report
    steps = tools_data(report, demo_book.house)["steps"]
    page = open_page()
    page.click("[data-kitchen-open]")
    assert page.evaluate("document.activeElement.closest('dialog') !== null")
    for number, step in enumerate(steps, 1):
        assert page.inner_text("[data-kitchen-count]") == f"Step {number} of {len(steps)}"
        assert page.inner_text("[data-kitchen-do]") == step["do"]
        assert f"Takes {step['takes']}" in page.inner_text("[data-kitchen-facts]")
        assert page.locator("[data-kitchen-notes] li").all_inner_texts() == step["notes"]
        page.click("[data-kitchen-next]") if number % 2 and number < len(steps) else page.keyboard.press("ArrowRight")
    assert page.inner_text("[data-kitchen-do]") == steps[-1]["do"]
    assert page.get_attribute("[data-kitchen-next]", "aria-disabled") == "true"
    page.keyboard.press("Escape")
    expect(page.locator("#kitchen")).to_be_hidden()
    assert page.evaluate("document.activeElement.hasAttribute('data-kitchen-open')")


def test_kitchen_remembers_ticks_and_times(open_by_the_clock):
    """Ticks, the step in hand and its running time are there again after the page was closed; clearing takes them away."""
    page = open_by_the_clock()
    page.click("[data-kitchen-open]")
    page.check("[data-kitchen-done]")
    page.click("[data-kitchen-next]")
    page.click("[data-kitchen-begin]")
    page.clock.run_for(95_000)
    expect(page.locator("[data-kitchen-time]")).to_have_text("0:01:35")
    page.reload()
    page.click("[data-kitchen-open]")
    assert page.inner_text("[data-kitchen-count]").startswith("Step 2")
    assert page.inner_text("[data-kitchen-time]").startswith("0:01:3")
    assert page.locator("[data-kitchen-tick]").first.is_checked()
    page.click("[data-kitchen-fresh]")
    assert (
        page.inner_text("[data-kitchen-time]") == "Not begun"
        and page.locator("[data-kitchen-tick]:checked").count() == 0
    )


def test_kitchen_says_times_and_reminders(open_by_the_clock, demo_book):
    """While a step runs, its repeated action and the end of its shortest time are said when they are due."""
    report = demo_book.pages["glazed-whitefish-strips.md"].report
    number, each = next((at, one) for at, one in enumerate(report.schedule.steps) if one.repeats)
    page = open_by_the_clock("glazed-whitefish-strips")
    page.click("[data-kitchen-open]")
    page.locator("[data-kitchen-show]").nth(number).click()
    page.click("[data-kitchen-begin]")
    page.clock.fast_forward(int(each.repeats[0] * 1000) - 5000)  # its ticks at once
    expect(page.locator("[data-kitchen-status]")).to_have_text("")
    page.clock.run_for(6000)
    expect(page.locator("[data-kitchen-status]")).to_have_text(f"Now: {each.step.repeat.do}")
    page.clock.fast_forward(int((each.duration.high - each.repeats[0]) * 1000) - 60_000)
    page.clock.run_for(62_000)
    expect(page.locator("[data-kitchen-status]")).to_have_text("The longest time has passed.")


def test_spoilt_runs_are_left_out(open_page):
    """What is kept and cannot be read as a run is left out; the view opens at the first step."""
    page = open_page()
    for kept in (
        '[{"id":"x","steps":[]}]',
        "no JSON",
        '{"id":null}',
        '[{"id":"x","name":"y","url":"javascript:1","steps":[{}]}]',
    ):
        page.evaluate("text => window.handbookKept.set('runs', text)", kept)
        page.reload()
        page.click("[data-kitchen-open]")
        assert (
            page.inner_text("[data-kitchen-count]").startswith("Step 1 ")
            and page.locator("[data-kitchen-tick]:checked").count() == 0
        )


def test_screen_is_kept_lit_where_allowed(open_page):
    """The lock is asked for on opening and given back on closing; without it the view says so and works."""
    watch = """(() => { window.locks = []; const real = navigator.wakeLock.request.bind(navigator.wakeLock);
      navigator.wakeLock.request = kind => real(kind).then(lock => { window.locks.push(lock); return lock; }); })()"""
    page = open_page()
    page.evaluate(watch)
    page.click("[data-kitchen-open]")
    expect(page.locator("[data-kitchen-lamp]")).to_have_text("The screen stays lit while this view is open.")
    page.click("[data-kitchen-close]")
    assert page.evaluate(
        "new Promise(done => setTimeout(() => done(window.locks.map(lock => lock.released)), 50))"
    ) == [True]
    page.evaluate("Object.defineProperty(navigator, 'wakeLock', {value: undefined})")
    page.click("[data-kitchen-open]")
    expect(page.locator("[data-kitchen-lamp]")).to_have_text("This browser may let the screen go dark.")


def test_sheet_without_scripts(tabs, demo_site, demo_book):
    """Without scripts no tool is shown, and the sheet is whole for the written batch; its further pages are links."""
    with tabs.lend(java_script_enabled=False) as tab:
        page = opening(tab, demo_site)()
        for part in ("#batch", "#kitchen", ".wall-card", "[data-print] >> nth=0"):
            assert page.locator(part).is_hidden()
        report = demo_book.pages[f"{METHOD}.md"].report
        assert page.locator(".need-table tr").count() == len(report.saltings[0].made.parts)
        assert page.locator(".work-step").count() == len(report.schedule.steps)
        page.click(".bar-parts > summary")
        page.click(".bar-parts a[href$='#too-salty']")
        assert page.locator("#too-salty").is_visible() and page.locator("#plan-form").is_hidden()
        assert page.locator("#clock tbody tr").count() == len(report.schedule.steps)
        assert tab.wrong == []


@pytest.mark.parametrize("width", [320, 640, 1280])
def test_tools_fit_the_screen(open_page, width):
    """No sideways scroll of the page or of the kitchen view from 320 px on (WCAG 2.2, 1.4.10), buttons at least 24 px (2.5.8)."""
    page = open_page(width=width, height=700)
    page.evaluate(ALL_NEAR)
    page.click("#batch > summary")
    page.fill("#ready-by", "2026-11-28T18:00")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    small = """(named) => Array.from(document.querySelectorAll(named)).map(each => each.getBoundingClientRect())
      .filter(box => box.width > 0 && Math.min(box.width, box.height) < 24).length"""
    assert page.evaluate(small, "#bar :is(button, input, select, summary)") == 0
    page.click("#batch-form [type=submit]")
    page.click("[data-kitchen-open]")
    assert page.evaluate("document.getElementById('kitchen').scrollWidth") <= width
    assert page.evaluate(small, "#kitchen :is(button, input)") == 0


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_layers_axe(open_page, scheme):
    """axe-core finds no breach of WCAG 2.2 A and AA on any page of a method with its tools in use, by day and by night."""
    run = "tags => axe.run(document, {runOnly: tags, preload: false, selectors: false}).then(found => found.violations.map(each => [each.id, each.nodes.map(one => one.html)]))"
    page = open_page(color_scheme=scheme)
    page.evaluate(AXE)
    page.click("#batch > summary")
    page.fill("#batch-weight", "x")
    page.fill("#piece-thickness", "42")
    page.fill("#ready-by", "2026-11-28T18:00")
    assert page.evaluate(run, TAGS) == []
    page.click("#batch-form [type=submit]")
    page.click("[data-kitchen-open]")
    page.check("[data-kitchen-done]")
    assert page.evaluate(run, TAGS) == []
    for layer in ("why", "proof"):
        further = open_page(f"{METHOD}.{layer}", color_scheme=scheme)
        further.evaluate(ALL_NEAR)
        further.evaluate(AXE)
        further.click(".bar-parts > summary")
        assert further.evaluate(run, TAGS) == [], layer


def test_tools_by_keyboard(open_page):
    """Every tool is reached and used with the keyboard alone."""
    page = open_page()
    page.locator("#batch > summary").focus()
    page.keyboard.press("Enter")
    page.locator("#batch-weight").focus()
    page.keyboard.press("Control+A")
    page.keyboard.type("4")
    assert page.input_value("#batch-portions") == "24"
    page.locator("input[name=units]:checked").focus()
    page.keyboard.press("ArrowRight")
    assert page.evaluate("document.documentElement.dataset.units") == "metric"
    page.keyboard.press("Escape")
    expect(page.locator("#batch-form")).to_be_hidden()
    expect(page.locator("#batch > summary")).to_be_focused()
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('.bar-parts') !== null")
    page.keyboard.press("Escape")
    page.locator("[data-kitchen-open]").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#kitchen")).to_be_visible()
    page.keyboard.press("Escape")
    expect(page.locator("[data-kitchen-open]")).to_be_focused()


def test_tools_move_nothing(browser, demo_site):
    """The tools stand from the first paint on: nothing moves while scripts start (fonts held back: they are not theirs)."""
    with browser.new_context(viewport={"width": 360, "height": 800}) as context:
        context.route("**/*.woff2", lambda route: route.abort())
        page = context.new_page()
        page.goto((demo_site / f"{METHOD}.html").as_uri())
        assert page.locator("#batch > summary").is_visible()
        shift = page.evaluate("""new Promise(done => { let sum = 0; new PerformanceObserver(list => list.getEntries()
          .forEach(each => { sum += each.value; })).observe({type: 'layout-shift', buffered: true});
          setTimeout(() => done(sum), 300); })""")
    assert shift < 0.01
