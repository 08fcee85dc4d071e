"""Day plans in the site and the command: the demo's Saturday, its calendar, list and labels; what is out of date; faults."""

import re
import shutil
import sys
from datetime import UTC, date, datetime
from importlib.metadata import version

import pytest
from click.testing import CliRunner
from icalendar import Calendar

from handbook.base.errors import FaultsError
from handbook.days.day_check import check_day
from handbook.days.day_plan import needs_of
from handbook.days.labels import labels
from handbook.days.planned_times import judge_plan, judged_mark, planned_method
from handbook.days.read_day import kept_text, read_kept
from handbook.days.shopping import shopping
from handbook.folder.handbook import open_handbook
from handbook.folder.kept_days import kitchen_of
from handbook.folder.source import read_source
from site_build.build.build_site import Choices, build_site
from site_build.build.publish import BuildError
from site_build.cli.main import main
from site_build.outputs.day_calendar import day_calendar
from tests.whole_book import read_days

NAME = "jetty-saturday"


#: The release of the solver that made the demo's plan; another one may find another plan that keeps the same rules.
PLANNED_WITH = "9.15."


@pytest.fixture(scope="module")
def made(demo_book):
    """The demo's Saturday."""
    return next(each for each in demo_book.days if each.wish.name == NAME)


@pytest.fixture
def folder(methods_folder, tmp_path, take_over):
    """A copy of the demo to spoil."""
    shutil.copytree(methods_folder, tmp_path / "methods")
    take_over(tmp_path / "methods")
    return tmp_path / "methods"


def edit(path, old, new):
    """Change a text that must be there."""
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new), "utf-8")


def test_demo_is_planned(made, demo_book):
    """Four methods, one of them in loads, pass the independent checker and the safety rules at the planned times."""
    assert made.troubles == () and len(made.wish.wishes) == 4
    assert max(made.plan.loads(each.method) for each in made.wish.wishes) == 2
    needs = {name: needs_of(report) for name, report in made.reports.items()}
    assert check_day(made.plan, made.wish, needs, kitchen_of(demo_book.house)) == []
    assert judge_plan(made.plan, made.reports, demo_book.house, demo_book.tables) == []


def test_page_holds_the_whole_plan(demo_site, made):
    """The page shows every step at its time, a chart a day, the list, labels and sheets; the contents lead to it."""
    text = (demo_site / f"days/{made.wish.name}.html").read_text("utf-8")
    clock = text[text.index('id="day-clock"') : text.index('id="day-shopping"')]
    rows = re.findall(r'day-at">(\d\d:\d\d)<', clock)
    actions = sum(
        1
        for step in made.plan.steps
        for hand in step.hands
        if hand.start != step.start and not made.reports[step.method].method.steps[step.number - 1].hands_on
    )
    assert len(rows) == len(made.plan.steps) + actions + len(made.wish.wishes)
    for each in made.plan.steps:
        assert f"{each.start:%H:%M}" in rows
    assert (
        text.count("day-chart chart-wide")
        == text.count("day-chart chart-narrow")
        == len({each.start.date() for each in made.plan.steps})
    )
    assert text.count('class="day-label"') == len(labels(made.plan, made.reports)) == 5
    assert text.count("Batch sheet:") == 4 and f'href="{NAME}.ics"' in text
    assert f'href="{f"days/{made.wish.name}.html"}"' in (demo_site / "index.html").read_text("utf-8")


def test_names_of_people_stay_off_the_site(demo_site, folder):
    """Page, calendar and search number the cooks; a house that says so shows their names."""
    names = ("Marit Osk", "Ivo Lindahl", "Tamsin Rhee")
    page, calendar = (demo_site / f"days/{NAME}{ending}" for ending in (".html", ".ics"))
    for text in (page.read_text("utf-8"), calendar.read_text("utf-8").replace("\r\n ", "")):
        assert not [name for name in names if name in text]
        assert "cook 1" in text and "cook 2" in text
    edit(folder / "house.yml", "kitchen:", "people_on_site: yes\nkitchen:")
    build_site(folder, folder.parent / "named", Choices(shows_progress=False, workers=1))
    assert names[0] in (folder.parent / f"named/days/{NAME}.html").read_text("utf-8")


def test_calendar_reads_back(demo_site, made):
    """The icalendar library reads each step, each time hands are wanted, and each end, at the plan's times."""
    read = Calendar.from_ical((demo_site / "days" / f"{NAME}.ics").read_bytes())
    events = read.walk("VEVENT")
    assert not read.errors and all(not each.errors for each in events)
    assert len({each["UID"] for each in events}) == len(events)
    spans = {(each["DTSTART"].dt, each["DTEND"].dt) for each in events if "DTEND" in each}
    for step in made.plan.steps:
        assert {(step.start, step.end), *((hand.start, hand.end) for hand in step.hands)} <= spans
    text = day_calendar(made, datetime(2026, 11, 1, tzinfo=UTC))
    assert max(len(line.encode()) for line in text.split("\r\n")) <= 75


def test_shopping_adds_up(made, demo_book):
    """Sea salt of three brines, in packs of 1 kg; a total of what has a price (sums by hand from the pages)."""
    found = shopping(made.wish.wishes, made.reports, demo_book.house)
    lines = {each.need.item: each for each in found.lines}
    salt = lines["salt, fine sea"]
    # 950 g for 3 kg of char, 110 g for 1 kg of mussels, 320 g for 2 kg of whitefish; 6, 1.5 and 2.5 kg are planned.
    assert salt.need.mass == pytest.approx(0.950 * 2 + 0.110 * 1.5 + 0.320 * 1.25)
    assert (salt.packs, salt.bought) == (3, pytest.approx(3.0))
    assert salt.price == pytest.approx(3 * 1.90)
    assert lines["char, Arctic"].price == pytest.approx(6 * 21.0)
    assert found.total == pytest.approx(sum(each.price for each in found.lines if each.price is not None))
    assert not any(name.startswith("water") for name in lines)
    for each in found.lines:
        assert each.bought >= each.need.mass - 1e-9


def test_shopping_says_what_is_unknown(made, demo_book):
    """An item without a price is named, not guessed."""
    from msgspec.structs import replace

    house = replace(
        demo_book.house, prices=tuple(each for each in demo_book.house.prices if each.item != "honey"), planning=None
    )
    found = shopping(made.wish.wishes, made.reports, house)
    assert found.unpriced == ("honey",) and all(each.packs == 0 for each in found.lines)


def test_labels_count_from_the_heat(made):
    """Char: 7 days from the end of its heat on Friday 27 November; 60 days frozen; fish named; one label a load."""
    char = [each for each in labels(made.plan, made.reports) if each.method == "hot-smoked-char-sides"]
    assert sorted(each.load for each in char) == [1, 2] and len({each.batch for each in char}) == 2
    assert {(each.made_on, each.use_by, each.use_by_frozen) for each in char} == {
        (date(2026, 11, 27), date(2026, 12, 4), date(2027, 1, 26))
    }
    assert all(each.allergens == ("fish",) for each in char)


def test_labels_leave_open_what_is_not_stated(made):
    """Without a keeping block there is no use-by."""
    from msgspec.structs import replace

    reports = {
        name: replace(report, method=replace(report.method, keeping=None)) for name, report in made.reports.items()
    }
    assert all(
        (each.use_by, each.use_by_frozen, each.keep_at) == (None, None, "") for each in labels(made.plan, reports)
    )


def test_kept_plan_reads_back(made):
    """What is kept is read as it was."""
    text = kept_text(made.plan, "mark")
    plan, mark = read_kept(text, "days/x.plan.yml", made.wish)
    assert (plan, mark) == (made.plan, "mark")


def test_planned_times_are_judged_again(made, demo_book):
    """A rest on the bench stretched to a day is stopped by the method's own rules."""
    from datetime import timedelta

    from msgspec.structs import replace

    name = "smoked-mussels"
    steps = tuple(
        replace(each, end=each.end + timedelta(hours=24)) if (each.method, each.number) == (name, 9) else each
        for each in made.plan.steps
    )
    worse = replace(made.plan, steps=steps)
    faults = judge_plan(worse, made.reports, demo_book.house, demo_book.tables)
    assert faults and all(each.startswith("Smoked mussels") for each in faults)
    assert judged_mark(worse, made.reports) != judged_mark(made.plan, made.reports)
    method = made.reports[name].method
    assert planned_method(method, dict.fromkeys(range(1, 20), 90)).steps[8].time.low == 5400


def test_changed_method_puts_the_plan_out_of_date(folder, tmp_path):
    """A page whose times moved: a warning, no chart or clock on the page, and no plan to follow; strict stops."""
    edit(folder / "hot-smoked-char-sides.md", "time: 12-18 h", "time: 8-10 h")
    summary = build_site(folder, tmp_path / "site", Choices(shows_progress=False))
    assert any("out of date" in line and "handbook day" in line for line in summary.warnings)
    text = (tmp_path / "site" / "days" / f"{NAME}.html").read_text("utf-8")
    assert "out of date" in text and "waits" in text
    assert 'id="day-clock"' not in text and not (tmp_path / "site" / "days" / f"{NAME}.ics").exists()
    with pytest.raises(BuildError, match="out of date"):
        build_site(folder, tmp_path / "strict", Choices(strict=True, shows_progress=False))


def test_build_needs_no_solver(folder, tmp_path, monkeypatch):
    """Without the constraint solver the site is built with its kept plan; the command says how to install it."""
    for name in [name for name in sys.modules if name.split(".")[0] == "ortools"] or ["ortools"]:
        monkeypatch.setitem(sys.modules, name, None)
    monkeypatch.setitem(sys.modules, "ortools", None)
    build_site(folder, tmp_path / "site", Choices(strict=True, shows_progress=False))
    assert 'id="day-clock"' in (tmp_path / "site" / "days" / f"{NAME}.html").read_text("utf-8")
    result = CliRunner().invoke(main, ["day", str(folder / "days" / f"{NAME}.yml")])
    assert result.exit_code == 1 and "pip install" in result.stderr and len(result.stderr.strip().splitlines()) == 1


def test_command_plans_and_keeps(folder, tmp_path, made):
    """The command finds the plan that is kept in the demo, prints it and writes it and its calendar."""
    kept = folder / "days" / f"{NAME}.plan.yml"
    before = kept.read_text("utf-8")
    kept.unlink()
    file = tmp_path / "day.ics"
    result = CliRunner().invoke(main, ["day", str(folder / "days" / f"{NAME}.yml"), "--keep", "--calendar", str(file)])
    assert result.exit_code == 0, result.output
    assert open_handbook(folder).day(f"days/{NAME}.yml").plan is not None
    if version("ortools").startswith(PLANNED_WITH):  # same input, same solver, same plan
        assert kept.read_text("utf-8") == before
    assert Calendar.from_ical(file.read_bytes()).walk("VEVENT")
    assert "smoke shed" in result.stdout and "To buy" in result.stdout and "local codes" in result.stdout


def test_command_says_why_not(folder):
    """Too much char: how short the smoker is, on which day, and what would do."""
    wish = folder / "days" / f"{NAME}.yml"
    edit(wish, "batch: 6 kg", "batch: 14 kg")
    edit(wish, "begin: 2026-11-25", "begin: 2026-11-26")
    result = CliRunner().invoke(main, ["day", str(wish)])
    assert result.exit_code == 1
    assert re.search(r"The smoker is \d+ h( \d+ min)? short on Friday\.", result.stderr)
    assert "each of these alone is enough:" in result.stderr and "a second smoker" in result.stderr


@pytest.mark.parametrize(
    ("old", "new", "wanted"),
    [
        ("night: no ", "night: maybe ", 'days/jetty-saturday.yml:5: night: read "maybe"; allowed: yes, no'),
        ("title: The", "titel: The", "Did you mean title?"),
        ("smoked-mussels", "smoked-mussel", "Did you mean smoked-mussels?"),
        ("batch: 6 kg", "batch: six", 'methods.1.batch: read "six"'),
        ("ready: 2026-11-28 18:00", "ready: Saturday", "a day and a time, such as 2026-11-28 18:00"),
        ("ready: 2026-11-28 17:00", "ready: 2026-11-20 17:00", "a moment after the beginning"),
        ("method: smoked-mussels", "method: hot-smoked-char-sides", "each method once"),
        ("night_hours: 22:00-06:00", "night_hours: late", "two different times of day"),
        ("methods:\n", "shifts: [{who: Nobody, day: 2026-11-28, hours: 07:00-12:00}]\nmethods:\n", "shifts.1.who"),
    ],
)
def test_wish_faults(folder, demo_book, old, new, wanted):
    """Each fault of a wish is one line with its place, in the build as in the command."""
    edit(folder / "days" / f"{NAME}.yml", old, new)
    with pytest.raises(FaultsError) as caught:
        read_days(read_source(folder), demo_book.pages, demo_book.house, demo_book.tables)
    assert wanted in str(caught.value) and str(caught.value).startswith("methods/days/jetty-saturday.yml:")


@pytest.mark.parametrize(
    ("old", "new", "wanted"),
    [
        ("holds: 4 kg, ", "", "planning.equipment.holds: read nothing"),
        ("room: 170 L", "room: 170 kg", "planning.equipment.1".replace("1", "3")),
        ("{name: burner, place: stove", "{name: burner, place: stve", "Did you mean"),
        ("Wed 08:00-17:00, Thu", "Wed 08:00, Thu", 'such as "Sat 07:00-19:00"'),
        ("{name: oven, place: oven", "{name: smoke shed, place: oven", "each piece of equipment's name once"),
        ("{item: honey, size", "{item: hony, size", "Did you mean honey?"),
        ("place: freezer, room: 120 L", "place: fridge, room: 120 L", "one line for the fridge"),
    ],
)
def test_house_faults(folder, old, new, wanted):
    """Each fault of the planning table of the house file is named."""
    edit(folder / "house.yml", old, new)
    result = CliRunner().invoke(main, ["day", str(folder / "days" / f"{NAME}.yml")])
    assert result.exit_code == 1 and "methods/house.yml:" in result.stderr
    if wanted != "Did you mean":
        assert wanted in result.stderr


def test_command_wrong_file(folder):
    """A file that is no wish is named in one line."""
    for name in ("house.yml", "days/none.yml"):
        result = CliRunner().invoke(main, ["day", str(folder / name)])
        assert result.exit_code == 1 and "allowed: a wish file" in result.stderr
        assert len(result.stderr.strip().splitlines()) == 1


def test_check_says_what_is_out_of_date(folder):
    """``handbook check`` names a day whose plan is gone; that is a warning and no fault."""
    (folder / "days" / f"{NAME}.plan.yml").unlink()
    result = CliRunner().invoke(main, ["check", str(folder)])
    assert result.exit_code == 0 and "warning: methods/days/jetty-saturday.yml: out of date" in result.stderr


def test_kept_plan_that_was_edited_by_hand(folder, demo_book):
    """A kept plan that lost a key is a fault with its line; one moved by hand breaks a rule and is out of date."""
    kept = folder / "days" / f"{NAME}.plan.yml"
    text = kept.read_text("utf-8")
    first = text.splitlines()[3]
    read = lambda: read_days(read_source(folder), demo_book.pages, demo_book.house, demo_book.tables)  # noqa: E731
    kept.write_text(text.replace("step: 1,", "stp: 1,", 1), "utf-8")
    with pytest.raises(FaultsError, match=r"jetty-saturday\.plan\.yml:4: steps\.1\.stp: read"):
        read()
    kept.write_text(text.replace(first, re.sub(r"(end: 2026-11-26 \d\d:)\d\d", r"\g<1>55", first, count=1)), "utf-8")
    (found,) = read()
    assert found.plan is None and any("does not begin when" in each for each in found.troubles)


def test_pages_may_link_a_day_and_not_take_its_name(folder, tmp_path):
    """A page may lead to a day's page; a page of the author's with that name is a fault."""
    about = folder / "about.md"
    about.write_text(about.read_text("utf-8") + f"\n[The jetty table](days/{NAME}.md)\n", "utf-8")
    build_site(folder, tmp_path / "site", Choices(strict=True, shows_progress=False))
    assert f'href="days/{NAME}.html"' in (tmp_path / "site" / "about.html").read_text("utf-8")
    (folder / "days" / f"{NAME}.md").write_text("# Mine\n", "utf-8")
    with pytest.raises(BuildError, match="another name"):
        build_site(folder, tmp_path / "site", Choices(shows_progress=False))
