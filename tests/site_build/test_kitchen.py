"""Units, kitchen view and the tools' accessibility, in a real browser."""

from importlib.resources import files

import pytest
from playwright.sync_api import expect

from site_build.html.batch_data import tools_data
from tests.site_build.browser import ALL_NEAR

METHOD = "hot-smoked-char-sides"
AXE = files("axe_playwright_python").joinpath("axe.min.js").read_text("utf-8")
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]


@pytest.fixture
def open_page(browser, demo_site):
    """Opens a page of the site in a context of its own; at the end nothing was complained of."""
    contexts, complaints = [], []

    def opened(name=METHOD, **options):
        context = browser.new_context(**{"viewport": {"width": 1280, "height": 900}, **options})
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda message: message.type in ("error", "warning") and complaints.append(message.text))
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.goto((demo_site / f"{name}.html").as_uri())
        return page

    yield opened
    for context in contexts:
        context.close()
    assert complaints == []


@pytest.mark.parametrize(
    ("choice", "mass", "spoons"), [("both", True, True), ("metric", True, False), ("household", False, True)]
)
def test_units_hide_one_measure(open_page, choice, mass, spoons):
    """A choice of units shows masses, cups, or both in the brine table, and is remembered on the next page."""
    page = open_page()
    page.check(f"input[name=units][value={choice}]", force=True)
    for _ in range(2):
        cell = page.locator("#brine tbody tr").filter(has_text="juniper").locator("td").first
        assert (cell.locator(".mass").is_visible(), cell.locator(".household").is_visible()) == (mass, spoons)
        page.reload()
    assert page.locator(f"input[value={choice}]").is_checked()


def test_units_leave_doses_totals_and_limits_alone(open_page):
    """Whatever the choice: a curing salt keeps its mass, a total its kilograms and litres, every safety limit its words."""
    page = open_page("pumped-ham")
    safety = page.locator("#safety").inner_text()
    for choice in ("household", "metric"):
        page.check(f"input[name=units][value={choice}]", force=True)
        dose = (
            page.locator("section[id^=brine] > .table-region tbody tr")
            .filter(has_text="curing salt")
            .first.locator("td")
            .first
        )
        assert dose.locator(".mass").is_visible() and dose.locator(".household").count() == 0
        total = page.locator("section[id^=brine] > .table-region tr.total td").first
        assert total.locator(".mass").is_visible() and total.locator(".household").is_visible()
        assert page.locator("#safety").inner_text() == safety


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


def test_kitchen_remembers_ticks_and_times(open_page):
    """Ticks, the step in hand and its running time are there again after the page was closed; clearing takes them away."""
    page = open_page()
    page.clock.install(time="2026-11-27T10:00:00Z")
    page.reload()
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


def test_kitchen_says_times_and_reminders(open_page, demo_book):
    """While a step runs, its repeated action and the end of its shortest time are said when they are due."""
    report = demo_book.pages["glazed-whitefish-strips.md"].report
    number, each = next((at, one) for at, one in enumerate(report.schedule.steps) if one.repeats)
    page = open_page("glazed-whitefish-strips")
    page.clock.install(time="2026-11-27T10:00:00Z")
    page.reload()
    page.click("[data-kitchen-open]")
    page.locator("[data-kitchen-show]").nth(number).click()
    page.click("[data-kitchen-begin]")
    page.clock.run_for(int(each.repeats[0] * 1000) - 5000)
    expect(page.locator("[data-kitchen-status]")).to_have_text("")
    page.clock.run_for(6000)
    expect(page.locator("[data-kitchen-status]")).to_have_text(f"Now: {each.step.repeat.do}")
    page.clock.run_for(int((each.duration.high - each.repeats[0]) * 1000) + 2000)
    expect(page.locator("[data-kitchen-status]")).to_have_text("The longest time has passed.")


def test_old_ticks_are_not_shown_for_new_steps(open_page):
    """Ticks kept for another wording of the steps, or no longer readable, are dropped."""
    page = open_page()
    for kept in ('{"edition":"old","at":3,"ticks":[1,2],"begun":{}}', "no JSON", '{"edition":null}'):
        page.evaluate(f"text => window.handbookKept.set('steps {METHOD}', text)", kept)
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


def test_tools_without_scripts(open_page, demo_book):
    """Without scripts no tool is shown, and the brine table, the steps and the example plan stand."""
    page = open_page(java_script_enabled=False)
    for part in ("#tools", "#plan-form", "#kitchen", ".wall-card"):
        assert page.locator(part).is_hidden()
    assert page.locator("#brine table").first.is_visible()
    steps = demo_book.pages[f"{METHOD}.md"].report.schedule.steps
    assert page.locator("#clock tbody tr").count() == len(steps) and page.locator("#clock").is_visible()


@pytest.mark.parametrize("width", [320, 640, 1280])
def test_tools_fit_the_screen(open_page, width):
    """No sideways scroll of the page or of the kitchen view from 320 px on (WCAG 2.2, 1.4.10), buttons at least 24 px (2.5.8)."""
    page = open_page(viewport={"width": width, "height": 700})
    page.evaluate(ALL_NEAR)
    page.click(".tool > summary")
    page.fill("#plan-moment", "2026-11-28T18:00")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.click("[data-kitchen-open]")
    assert page.evaluate("document.getElementById('kitchen').scrollWidth") <= width
    small = page.evaluate("""Array.from(document.querySelectorAll('#kitchen :is(button, input), #tools :is(button, input, select)'))
      .map(each => each.getBoundingClientRect()).filter(box => box.width > 0 && Math.min(box.width, box.height) < 24).length""")
    assert small == 0


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_tools_axe(open_page, scheme):
    """axe-core finds no breach of WCAG 2.2 A and AA with the tools in use, by day and by night."""
    page = open_page(color_scheme=scheme)
    page.evaluate(AXE)
    page.click(".tool > summary")
    page.fill("#batch-weight", "x")
    page.fill("#piece-thickness", "22")
    page.fill("#plan-moment", "2026-11-28T18:00")
    run = "tags => axe.run(document, {runOnly: tags, preload: false}).then(found => found.violations.map(each => [each.id, each.nodes.map(one => one.html)]))"
    assert page.evaluate(run, TAGS) == []
    page.click("[data-kitchen-open]")
    page.check("[data-kitchen-done]")
    assert page.evaluate(run, TAGS) == []


def test_tools_by_keyboard(open_page):
    """Every tool is reached and used with the keyboard alone."""
    page = open_page()
    page.locator("input[name=units]:checked").focus()
    page.keyboard.press("ArrowRight")
    assert page.evaluate("document.documentElement.dataset.units") == "metric"
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.locator("#kitchen")).to_be_visible()
    page.keyboard.press("Escape")
    expect(page.locator("[data-kitchen-open]")).to_be_focused()
    for _ in range(4):
        page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    page.keyboard.press("Control+A")
    page.keyboard.type("4")
    assert page.input_value("#batch-weight") == "4" and page.input_value("#batch-portions") == "24"


def test_tools_move_nothing(browser, demo_site):
    """The tools stand from the first paint on: nothing moves while scripts start (fonts held back: they are not theirs)."""
    with browser.new_context(viewport={"width": 360, "height": 800}) as context:
        context.route("**/*.woff2", lambda route: route.abort())
        page = context.new_page()
        page.goto((demo_site / f"{METHOD}.html").as_uri())
        assert page.locator("#tools").is_visible()
        shift = page.evaluate("""new Promise(done => { let sum = 0; new PerformanceObserver(list => list.getEntries()
          .forEach(each => { sum += each.value; })).observe({type: 'layout-shift', buffered: true});
          setTimeout(() => done(sum), 300); })""")
    assert shift < 0.01
