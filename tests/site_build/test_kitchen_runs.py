"""Runs in the kitchen: several at once, pinned to their steps, timers that go on, what is exported."""

from datetime import UTC, datetime
from itertools import pairwise

import pytest
from icalendar import Calendar
from msgspec.structs import replace
from playwright.sync_api import expect

from handbook.batches.batch_record import read_batch
from handbook.batches.batch_run import run_of_batch
from handbook.batches.batch_start import Start, start_text
from handbook.days.lot_numbers import is_lot_number
from tests.site_build.browser import served

METHOD = "hot-smoked-char-sides.html"
START = "2026-11-27T10:00:00Z"


@pytest.fixture(scope="module")
def address(demo_site):
    """The demo site on a server of this machine, so that its pages share one storage."""
    with served(demo_site) as server:
        yield f"http://127.0.0.1:{server.server_port}/"


@pytest.fixture
def kitchen(browser, address):
    """Opens pages of one kitchen, with a clock that the test moves."""
    complaints = []
    with browser.new_context(viewport={"width": 360, "height": 740}, service_workers="block") as context:

        def opened(url):
            page = context.new_page()
            page.on("pageerror", lambda error: complaints.append(str(error)))
            page.clock.install(time=START)
            page.goto(address + url)
            return page

        yield opened
    assert complaints == []


def begin(page, step, name):
    """Begin a step of a new run under a name."""
    page.click("[data-kitchen-open]")
    page.select_option("[data-kitchen-run]", "new")
    page.fill("[data-kitchen-name]", name)
    page.keyboard.press("Tab")
    page.locator("[data-kitchen-show]").nth(step - 1).click()
    page.click("[data-kitchen-begin]")


def runs(page):
    """What is kept."""
    return page.evaluate("handbookRuns.all()")


def test_several_runs_at_once(kitchen):
    """Two named batches of one method and one of another are kept apart, each with its batch, piece and version."""
    page = kitchen(f"{METHOD}?batch=2kg&piece=22mm")
    begin(page, 2, "Monday char")
    page.keyboard.press("Escape")
    begin(page, 4, "Tuesday char")
    other = kitchen("cellar-cabbage.html")
    begin(other, 1, "Big crock")
    found = {each["name"]: each for each in runs(other)}
    assert set(found) == {"Monday char", "Tuesday char", "Big crock"}
    assert found["Monday char"]["food"] == 2 and found["Monday char"]["piece"] == "22 mm"
    assert list(found["Tuesday char"]["begun"]) == ["4"] and found["Big crock"]["url"] == "cellar-cabbage.html"
    mark = page.evaluate("JSON.parse(document.getElementById('method-data').textContent).mark")
    assert found["Monday char"]["mark"] == mark
    home = kitchen("index.html")
    assert all(name in home.inner_text("#running") for name in found)
    home.click("#running a >> text=Tuesday char")
    assert home.input_value("[data-kitchen-name]") == "Tuesday char"
    assert home.inner_text("[data-kitchen-count]").startswith("Step 4 ")


def test_timer_rings_on_every_page(kitchen):
    """A timer goes on with its page closed: it rings once on whatever page of the handbook is open, or is opened next."""
    page = kitchen(METHOD)
    begin(page, 3, "Rinsed")  # 10 min
    page.close()
    home = kitchen("index.html")
    home.clock.fast_forward(8 * 60_000)
    home.clock.run_for(60_000)
    assert home.locator("[data-copy-note]").is_hidden()
    home.clock.run_for(2 * 60_000)
    expect(home.locator("[data-copy-note]")).to_contain_text(
        "Rinsed, Hot-smoked char sides: step 3: the shortest time has passed"
    )
    home.reload()
    home.clock.run_for(2_000)
    assert home.locator("[data-copy-note]").is_hidden()


def test_step_begun_by_mistake_is_taken_back(kitchen):
    """First the end of a step is taken back, then its beginning; its timer is gone then."""
    page = kitchen(METHOD)
    begin(page, 2, "Mistake")
    page.check("[data-kitchen-done]")
    page.click("[data-kitchen-undo]")
    assert not page.is_checked("[data-kitchen-done]") and runs(page)[0]["begun"]
    page.click("[data-kitchen-undo]")
    assert page.inner_text("[data-kitchen-time]") == "Not begun" and runs(page)[0]["begun"] == {}
    assert page.evaluate("handbookRuns.dues(handbookRuns.all()[0])") == []


def test_run_keeps_its_own_steps(kitchen):
    """A page that has changed since a run began shows the run with the steps that it began with, and says so."""
    page = kitchen(METHOD)
    begin(page, 2, "Old words")
    page.evaluate(
        """() => { const run = handbookRuns.all()[0]; run.mark = "older"; run.steps[1].do = "As it was told then"; handbookRuns.save(run); }"""
    )
    page.reload()
    page.click("[data-kitchen-open]")
    assert page.inner_text("[data-kitchen-do]") == "As it was told then"
    assert "this run keeps its own steps" in page.inner_text("[data-kitchen-batch]")


def test_record_is_read_by_the_engine(kitchen, demo_book):
    """What was noted comes out as the batch's file, read without a fault: times as they were, amounts and plan of the page."""
    page = kitchen(f"{METHOD}?batch=2.5kg&piece=21mm")
    begin(page, 2, 'Salt & "smoke"')
    page.clock.fast_forward(5 * 3600_000)
    page.fill("[data-kitchen-read=weight]", "2.53kg")
    page.fill("[data-kitchen-read=note]", "plate too light: [turned] twice")
    page.keyboard.press("Tab")
    page.check("[data-kitchen-done]")
    page.locator("[data-kitchen-show]").nth(5).click()
    page.click("[data-kitchen-begin]")
    page.clock.fast_forward(3600_000)
    page.fill("[data-kitchen-read=heat]", "203 F")
    page.fill("[data-kitchen-read=core]", "71 °C")
    page.keyboard.press("Tab")
    page.check("[data-kitchen-done]")
    made = page.evaluate("handbookKitchen.record(handbookRuns.all()[0])")
    report = demo_book.pages["hot-smoked-char-sides.md"].report
    batch, faults = read_batch(made["lot"], "x.yml", made["text"])
    assert faults == [] and is_lot_number(made["lot"]), made["text"]
    assert [each.do for each in batch.plan] == [each.do for each in report.method.steps]
    begun = batch.plan[0].begin
    own = read_batch(
        made["lot"],
        "x.yml",
        start_text(report, Start(lot=made["lot"], version=batch.version, batch=batch.batch, begun=begun)),
    )[0]
    for mine, theirs in zip(batch.plan, own.plan, strict=True):
        timeless = {"begin": begun, "end": begun, "takes": None, "line": 0}  # this piece's own times are the sheet's
        assert replace(mine, **timeless) == replace(theirs, **timeless)
        if theirs.step in (1, 3, 4, 5):
            assert mine.takes.text == theirs.takes.text
    assert all(before.end == after.begin for before, after in pairwise(batch.plan))
    assert [replace(each, line=0) for each in batch.amounts] == [replace(each, line=0) for each in own.amounts]
    assert replace(batch.keep, line=0) == replace(own.keep, line=0)
    entries = (*batch.entries, replace(batch.entries[-1], at=batch.entries[-1].at, step=None, state="", ended="eaten"))
    record = run_of_batch(replace(batch, entries=entries), report.method)
    steps = {each.step: each for each in record.steps}
    assert record.batch.low == 2.5 and record.thickness.low == pytest.approx(0.021)
    assert steps[2].time.low == pytest.approx(5 * 3600, abs=90) and steps[2].weight.low == pytest.approx(2.53)
    assert steps[6].chamber.low == pytest.approx(368.15, abs=0.1) and steps[6].core.low == pytest.approx(344.15)
    assert "plate too light: [turned] twice" in record.notes


def test_alarms_for_a_calendar(kitchen):
    """Alarms of what is due stand in a calendar file (RFC 5545), each with a sound, at the moments of the timers."""
    page = kitchen(METHOD)
    begin(page, 3, "Rinsed, dried")
    read = Calendar.from_ical(page.evaluate("handbookKitchen.alarms(handbookRuns.all()[0])"))
    events = read.walk("VEVENT")
    wanted = page.evaluate("handbookRuns.dues(handbookRuns.all()[0]).map((due) => due[0])")
    assert [each["DTSTART"].dt for each in events] == [datetime.fromtimestamp(at // 1000, UTC) for at in wanted] != []
    assert all("Rinsed, dried" in each["SUMMARY"] for each in events)
    assert {one["ACTION"] for each in events for one in each.walk("VALARM")} == {"AUDIO", "DISPLAY"}
