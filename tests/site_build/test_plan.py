"""Start or finish at: the calendar file against RFC 5545 and the icalendar library, the page's planner, the command."""

import re
from datetime import UTC, date, datetime, time, timedelta

import pytest
from click.testing import CliRunner
from icalendar import Calendar
from playwright.sync_api import expect

from handbook.page.clock import clock_plan, night_advice
from site_build.cli.main import main
from site_build.cli.plan_command import plan as plan_command
from site_build.html.batch_data import tools_data
from site_build.html.calendar import calendar, escape, fold
from site_build.html.tools import example_plan

STAMP = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
SERVED = datetime(2026, 11, 28, 18, 0)
BASTED = "glazed-whitefish-strips.md"  # a method with a repeated action


@pytest.fixture(scope="module")
def page(browser, demo_site):
    """One page of the demo in the browser."""
    with browser.new_page(
        viewport={"width": 1280, "height": 900}, locale="en-GB", timezone_id="Europe/Helsinki"
    ) as opened:
        opened.goto((demo_site / BASTED.replace(".md", ".why.html")).as_uri())
        yield opened


@pytest.fixture
def report(demo_book):
    """The report of the basted method."""
    return demo_book.pages[BASTED].report


def test_calendar_reads_back(demo_book):
    """The icalendar library reads every method's file: one event a step, a reminder and an end, at the plan's times."""
    for each in demo_book.methods:
        made = clock_plan(each.report.schedule, finish=SERVED)
        read = Calendar.from_ical(calendar(made, each.report.method, STAMP))
        events = read.walk("VEVENT")
        assert all(not event.errors for event in events) and not read.errors
        assert read["VERSION"] == "2.0" and read["PRODID"]
        wanted = [(one.start, one.end, f"{one.scheduled.number}. {one.scheduled.step.do}") for one in made.steps]
        steps = [event for event in events if re.search(r"T\d{4}-\d+@", event["UID"])]
        shown = [
            (event["DTSTART"].dt, event["DTEND"].dt if "DTEND" in event else event["DTSTART"].dt, str(event["SUMMARY"]))
            for event in steps
        ]
        assert shown == wanted, each.path
        reminders = sum(len(one.reminders) for one in made.steps)
        assert len(events) == len(made.steps) + reminders + 1
        assert len({event["UID"] for event in events}) == len(events)
        assert all(event["DTSTAMP"].dt == STAMP for event in events)
        assert all(event["DTSTART"].dt.tzinfo is None for event in events)  # floating time, RFC 5545 3.3.5 form 1
        assert all(len(event.walk("VALARM")) == 1 for event in events)


def test_calendar_lines(demo_book):
    """Lines end in CR LF and hold at most 75 octets (RFC 5545, 3.1)."""
    for each in demo_book.methods:
        text = calendar(clock_plan(each.report.schedule, finish=SERVED), each.report.method, STAMP)
        assert text.endswith("END:VCALENDAR\r\n") and "\n" not in text.replace("\r\n", "")
        assert max(len(line.encode()) for line in text.split("\r\n")) <= 75


@pytest.mark.parametrize("text", ["a" * 400, "ä½" * 90, "x" * 74 + "é", "", "€" * 25])
def test_fold_is_undone_by_joining(text):
    """Folded pieces hold at most 75 octets and join to the line again; no character is split."""
    folded = fold(text)
    assert folded.replace("\r\n ", "") == text
    assert all(len(piece.encode()) <= 75 for piece in folded.split("\r\n"))


def test_escape_examples():
    """The signs that RFC 5545, 3.3.11 names are escaped; a colon is not."""
    assert escape("cold; wet, dry\\ and\nnow: go") == "cold\\; wet\\, dry\\\\ and\\nnow: go"


def test_example_is_a_saturday_that_can_be_reached(demo_book):
    """The built example is served on a Saturday at 18:00, its longest start later than the day of the build."""
    for day in (date(2026, 11, 25) + timedelta(days=number) for number in range(8)):
        for each in demo_book.methods:
            made = example_plan(each.report, day)
            assert (made.finish.weekday(), made.finish.time()) == (5, time(18, 0))
            assert made.start_early.date() > day


def test_example_file_stands_beside_each_page(demo_site, demo_book):
    """Each method's page links a calendar file that reads as one."""
    for each in demo_book.methods:
        file = (demo_site / each.url).with_suffix(".ics")
        assert f'href="{file.name}"' in (demo_site / each.url).with_suffix(".why.html").read_text("utf-8")
        ready = Calendar.from_ical(file.read_bytes()).walk("VEVENT")[-1]
        assert ready["DTSTART"].dt.strftime("%w %H:%M") == "6 18:00"


NIGHTS = [("22:00", "06:00"), ("01:00", "05:30"), ("00:00", "00:00")]


@pytest.mark.parametrize("night", NIGHTS)
@pytest.mark.parametrize(
    ("moment", "is_finish"),
    [
        (SERVED, True),
        (datetime(2026, 11, 27, 23, 45), False),
        (datetime(2028, 3, 1, 0, 5), True),
        (datetime(2027, 1, 1, 8, 0), True),
    ],
)
def test_page_plans_as_the_engine(page, demo_book, moment, is_finish, night):
    """The page's plan and its calendar file are the engine's, byte for byte, for every method."""
    hours = tuple(time.fromisoformat(each) for each in night)
    for each in demo_book.methods:
        report = each.report
        made = clock_plan(report.schedule, None if is_finish else moment, moment if is_finish else None, hours)
        shown = page.evaluate(
            """([data, moment, isFinish, night, stamp]) => {
              const made = handbookPlanner.plan(data, handbookPlanner.parseMoment(moment), isFinish, night.map(handbookPlanner.parseTime));
              return [handbookPlanner.calendar(made, data, stamp), made.steps.map(step => step.night),
                ["start", "finish", "finishLow", "finishHigh", "startEarly"].map(name => made[name])];
            }""",
            [
                tools_data(report, demo_book.house),
                moment.isoformat()[:16],
                is_finish,
                list(night),
                f"{STAMP:%Y%m%dT%H%M%SZ}",
            ],
        )
        assert shown[0] == calendar(made, report.method, STAMP)
        assert shown[1] == [one.night for one in made.steps]
        epoch = datetime(1970, 1, 1)
        ends = (made.start, made.finish, made.finish_low, made.finish_high, made.start_early)
        assert shown[2] == [(one - epoch).total_seconds() / 60 for one in ends]


# In the last night nothing helps, and every minute of four days is tried: a few moments of the clock are enough.
@pytest.mark.parametrize(("night", "number_of_moments"), [*((each, 15) for each in NIGHTS), (("16:00", "14:00"), 3)])
@pytest.mark.parametrize("is_finish", [True, False])
def test_page_advises_as_the_engine(page, demo_book, night, number_of_moments, is_finish):
    """Who is up, and which time spares the night, is said in the engine's words, for every method round the clock."""
    hours = tuple(time.fromisoformat(each) for each in night)
    for each in demo_book.methods:
        moments = [SERVED + timedelta(minutes=97 * number) for number in range(number_of_moments)]
        made = [
            clock_plan(each.report.schedule, *((None, one) if is_finish else (one, None)), hours) for one in moments
        ]
        earliest = [None, SERVED, *(one.start for one in made[2:])]  # none, in the past, and just now
        shown = page.evaluate(
            """([data, moments, isFinish, night, earliest]) => moments.map((moment, at) => {
              const hours = night.map(handbookPlanner.parseTime), read = handbookPlanner.parseMoment;
              const made = handbookPlanner.plan(data, read(moment), isFinish, hours);
              return handbookPlanner.nightAdvice(made, isFinish, hours, earliest[at] && read(earliest[at])).said;
            })""",
            [
                tools_data(each.report, demo_book.house),
                [one.isoformat() for one in moments],
                is_finish,
                list(night),
                [one and one.isoformat() for one in earliest],
            ],
        )
        wanted = [
            night_advice(*each, hours, now)
            for each, now in zip(((one, is_finish) for one in made), earliest, strict=True)
        ]
        assert shown == wanted


def test_reader_plans_and_takes_the_file(page, report, tmp_path):
    """Typing a moment fills the table, says who is up at night, and gives a calendar file to keep."""
    assert page.locator("#plan-cap").inner_text().startswith("Served Saturday 18:00")
    assert page.locator("[data-plan-download]").is_disabled()
    page.fill("#plan-moment", "2026-11-28T18:00")
    made = clock_plan(report.schedule, finish=SERVED)
    rows = page.locator("#clock tbody tr")
    assert rows.count() == len(made.steps)
    for number, each in enumerate(made.steps):
        words = rows.nth(number).inner_text()
        assert f"{each.start.day} Nov {each.start:%H:%M}" in words and ("in the night" in words) == bool(each.night)
        assert all(f"{one.at:%H:%M}" in words for one in each.reminders)
    up = ", ".join(str(each.scheduled.number) for each in made.night_steps)
    expect(page.locator("#plan-status")).to_contain_text(f"night for step {up}.")
    with page.expect_download() as caught:
        page.click("[data-plan-download]")
    caught.value.save_as(tmp_path / "plan.ics")
    read = Calendar.from_ical((tmp_path / "plan.ics").read_bytes())
    assert caught.value.suggested_filename.endswith(".ics")
    assert read.walk("VEVENT")[0]["DTSTART"].dt == made.start


def test_reader_takes_the_suggested_time(page):
    """The suggested time is taken with a button, and then nobody has to be up."""
    page.fill("#plan-moment", "2035-11-24T18:00")
    status, button = page.locator("#plan-status"), page.locator("[data-plan-take]")
    expect(status).to_contain_text("The nearest time that spares the night: served Sat 24 Nov 15:15.")
    button.click()
    assert page.input_value("#plan-moment") == "2035-11-24T15:15"
    expect(status).to_contain_text("Nobody has to be up in the night.")
    expect(button).to_be_hidden()


def test_clock_change_and_past_are_said(page):
    """A plan across the change of the clocks says so (the European rule: last Sunday of March), as does one in the past."""
    page.fill("#plan-moment", "2035-03-25T09:00")
    expect(page.locator("#plan-status")).to_contain_text("The clocks change in between")
    page.fill("#plan-moment", "2035-03-20T09:00")
    expect(page.locator("#plan-status")).not_to_contain_text("clocks change")
    page.fill("#plan-moment", "2020-01-04T18:00")
    expect(page.locator("#plan-status")).to_contain_text("That start has passed.")


def test_command_says_the_plan(methods_folder, report, tmp_path):
    """The command prints each step's time and writes the same calendar file; a day long past, so that no clock decides."""
    file = tmp_path / "plan.ics"
    result = CliRunner().invoke(
        main, ["plan", str(methods_folder / BASTED), "--served", "2020-11-28 18:00", "--calendar", str(file)]
    )
    assert result.exit_code == 0, result.output
    made = clock_plan(report.schedule, finish=datetime(2020, 11, 28, 18, 0))
    for each in made.steps:
        assert f"  {each.start:%H:%M}  {each.scheduled.number}. {each.scheduled.step.do}\n" in result.stdout
    assert (
        result.stdout.count("open quickly and brush both sides") == sum(len(each.reminders) for each in made.steps) > 0
    )
    assert night_advice(made, True) in result.stdout
    assert "Sat 28 Nov 2020  18:00  ready" in result.stdout and "local codes" in result.stdout
    assert Calendar.from_ical(file.read_bytes()).walk("VEVENT")[0]["DTSTART"].dt == made.start


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([], "allowed: one of them"),
        (["--served", "2026-11-28 18:00", "--start", "2026-11-28 18:00"], "allowed: one of them"),
        (["--served", "Saturday"], '--served: read "Saturday"; allowed: a day and a time, such as 2026-11-21 18:00'),
        (["--start", "2026-11-28 18:00", "--night", "late"], '--night: read "late"; allowed: two times of day'),
        (["--served", "0001-01-01 00:30"], "in the years 1970 to 2099"),
    ],
)
def test_command_wrong_use(methods_folder, arguments, words):
    """Wrong use ends with 1 and one line that says what is allowed."""
    result = CliRunner().invoke(plan_command, [str(methods_folder / "cellar-cabbage.md"), *arguments])
    assert result.exit_code == 1 and words in result.stderr and len(result.stderr.strip().splitlines()) == 1


@pytest.mark.parametrize(
    ("page", "words"),
    [
        ("no-such-page.md", "read no such page; allowed: a method page in a folder with a house.yml"),
        ("about.md", "read no method; allowed: a page with calculation blocks"),
    ],
)
def test_command_wrong_page(methods_folder, page, words):
    """A page that is not there, or plans nothing, is named."""
    result = CliRunner().invoke(plan_command, [str(methods_folder / page), "--served", "2026-11-28 18:00"])
    assert result.exit_code == 1 and words in result.stderr
