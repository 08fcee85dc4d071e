"""My batch: the page's own arithmetic against the engine, and the table it shows against the built one."""

import math
import random
import re

import pytest
from playwright.sync_api import expect

from handbook.base.formats import (
    format_clock,
    format_length,
    format_mass,
    format_number,
    format_percent,
    format_signed_percent,
    format_time_range,
    format_volume,
)
from handbook.base.ranges import Range
from handbook.page.container import fill
from handbook.page.measures import nearest_measure
from handbook.report import mixtures
from site_build.html.batch_data import batch_data, tools_data
from tests.site_build.browser import NEXT_TO_NOTHING

SIZES = 20
_TABLE = """(named) => Array.from(document.querySelectorAll(named)).map(table => Array.from(table.tBodies[0].rows)
  .filter(row => row.cells.length > 1).map(row => Array.from(row.cells).map(cell => cell.innerText.replace(/\\s+/g, " ").trim())))"""


@pytest.fixture(scope="module")
def page(tab, demo_site):
    """One page of the demo in the browser."""
    return tab.open((demo_site / "hot-smoked-char-sides.html").as_uri())


def _sizes(seed: str, written: float) -> list[float]:
    """Random green weights over four decades, random round ones, and the one that the page is written for."""
    found = random.Random(seed)
    odd = [10 ** found.uniform(-1.5, 2.5) for _ in range(SIZES)]
    return [*odd, *(round(found.uniform(0.1, 20), 1) for _ in range(SIZES)), *(n / 4 for n in range(1, 20)), written]


def _engine(column) -> dict:
    """One column of the engine as the built table prints it."""
    rows = []
    for row in column.rows:
        spoons = row.household
        rows.append(
            {
                "name": row.part.ingredient.name,
                "note": row.part.note,
                "cupSpread": format_percent(spoons.spread, 0) if row.filling_is_off else "",
                "mass": format_mass(row.weighed.mass),
                "household": spoons.text if spoons else "",
                "spoonsOff": f"spoons {format_signed_percent(spoons.rounding_error, 0)}"
                if spoons and spoons.rounding_is_off
                else "",
                "roundingOff": f"rounding {format_signed_percent(row.weighed.error, 0)}"
                if abs(row.weighed.error) >= 0.02
                else "",
            }
        )
    filled = column.fill
    return {
        "food": format_mass(column.food_mass),
        "rows": rows,
        "total": format_mass(column.mass),
        "volume": format_volume(column.volume) if column.volume else "",
        "fill": filled
        and {
            "name": filled.container.name,
            "cover": format_volume(filled.brine_to_cover),
            "covers": filled.covers,
            "level": f"{format_length(filled.level_after)} of {format_length(filled.container.height.low)}",
            "overflows": filled.overflows,
        },
    }


def test_column_is_the_engine_s(page, demo_book):
    """Every shown word of every row agrees with the engine, every demo method, many random sizes."""
    compared = 0
    for each in demo_book.methods:
        report, house = each.report, demo_book.house
        data = batch_data(report, house)
        written = report.method.batches.written_for.low
        sizes = _sizes(each.path, written)
        shown = page.evaluate(
            "([data, sizes]) => data.mixtures.map(mixture => sizes.map(food => handbookBatch.column(mixture, food, data, '')))",
            [data, sizes],
        )
        for mixture, columns in zip(report.mixtures, shown, strict=True):
            for food, column in zip(sizes, columns, strict=True):
                made = mixtures._column(
                    food,
                    False,
                    mixture.made.scaled(food / written),
                    mixture.strength,
                    mixture.mixture,
                    report.food,
                    house,
                )
                ratio = format_number(made.to_food, 2) + " : 1" if mixture.strength else ""
                weights = [column.pop("kg"), *(row.pop("kg") for row in column["rows"])]
                assert weights == pytest.approx([made.mass, *(row.weighed.mass for row in made.rows)], rel=1e-12)
                assert column == {**_engine(made), "toFood": ratio}, (each.path, mixture.mixture.name, food)
                compared += 1
    assert compared > 14 * SIZES


def test_sheet_for_a_batch_is_the_built_column(page, demo_site, demo_book):
    """The size of a built column in the address gives that column's amounts on the sheet, on every method's page."""
    masses = """(named) => Array.from(document.querySelectorAll(named)).map(table => Array.from(table.tBodies[0].rows)
      .filter(row => row.cells.length > 1).map(row => Array.from(row.cells).map(cell => (cell.querySelector(".mass") || {}).textContent)))"""
    page.set_viewport_size(NEXT_TO_NOTHING)
    for each in demo_book.methods:
        page.goto((demo_site / each.url.replace(".html", ".why.html")).as_uri())
        built = page.evaluate(masses, "section.amounts > .table-region > table")
        columns = each.report.mixtures[0].columns
        for place, column in enumerate(columns, 1):
            page.goto((demo_site / each.url).as_uri() + f"?batch={column.food_mass:.6g}kg")
            mine = page.evaluate(masses, ".need-table")
            assert len(mine) == len(built) > 0
            for one, other in zip(mine, built, strict=True):
                wanted = [row[place] for row in other if row[place]]
                assert [row[1] for row in one] == wanted[: len(one)], (each.path, column.food_mass)
    page.set_viewport_size({"width": 1280, "height": 900})


@pytest.mark.parametrize("measures", ["us", "metric", "imperial"])
def test_spoons_in_every_measure(page, demo_book, measures):
    """The search for cups and spoons agrees with the engine in each country's measures."""
    from msgspec.structs import replace

    report = demo_book.methods[0].report
    data = batch_data(report, replace(demo_book.house, measures=measures))
    data["mixtures"] = [
        {
            "name": "x",
            "is_wet": False,
            "density": None,
            "holds_food": False,
            "container": None,
            "parts": [{"name": "x", "note": "", "mass": 1.0, "density": 1000.0, "cup_spread": ""}],
        }
    ]
    data["written_for"] = 1.0
    found = random.Random(measures)
    foods = [10 ** found.uniform(-4, 1) for _ in range(400)]
    shown = page.evaluate(
        "([data, foods]) => foods.map(food => handbookBatch.column(data.mixtures[0], food, data, '').rows[0].household)",
        [data, foods],
    )
    assert shown == [nearest_measure(food / 1000.0, measures)[0] for food in foods]


def test_numbers_round_as_at_build_time(page):
    """Halves go to the even digit, as Python's own formatting does; toFixed alone would take them up."""
    found = random.Random(5)
    cases = [(n / 8, digits) for n in range(-200, 200) for digits in (0, 1, 2)]
    cases += [(found.uniform(-50, 50), digits) for _ in range(300) for digits in (0, 1, 2, 9)]
    cases += [(0.125, 2), (2.5, 0), (0.5, 0), (1.005, 2), (-0.04, 1)]
    shown = page.evaluate("cases => cases.map(each => handbookBatch.formatNumber(each[0], each[1]))", cases)
    assert shown == [format_number(value, digits) for value, digits in cases]


def test_container_holds(page, demo_book):
    """What a container is said to hold fits it by the engine's own sums, and a tenth more does not."""
    tried = 0
    for each in demo_book.methods:
        data = batch_data(each.report, demo_book.house)
        for index, mixture in enumerate(each.report.mixtures):
            if not data["mixtures"][index]["holds_food"]:
                continue
            for number, container in enumerate(demo_book.house.containers):
                most = page.evaluate(
                    "([data, m, c]) => handbookBatch.mostFood(data.containers[c], data.mixtures[m], data)",
                    [data, index, number],
                )
                written, density = each.report.method.batches.written_for.low, mixture.strength.density

                def filled(food, container=container, mixture=mixture, written=written, density=density, each=each):
                    return fill(
                        container, food / each.report.food.density, mixture.made.mass * food / written / density
                    )

                assert most > 0 and not filled(most).overflows and filled(most * 1.12).overflows, (
                    each.path,
                    container.name,
                )
                named = page.evaluate(
                    "([data, m, most, c]) => handbookBatch.column(data.mixtures[m], most, data, c).fill",
                    [data, index, most, container.name],
                )
                made = filled(most)
                assert (named["name"], named["cover"], named["covers"], named["overflows"]) == (
                    container.name,
                    format_volume(made.brine_to_cover),
                    made.covers,
                    False,
                )
                tried += 1
    assert tried > 20


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("2.5", 2.5),
        ("2,5", 2.5),
        (" 12 ", 12),
        (".75", 0.75),
        ("2.", 2),
        ("1 1/2", 1.5),
        ("3/4", 0.75),
        ("½", 0.5),
        ("2½", 2.5),
        ("1/0", None),
        ("1,500", None),
        ("1,5,0", None),
        ("0", None),
        ("-1", None),
        ("1e3", None),
        ("", None),
        ("two", None),
        ("9999999", None),
    ],
)
def test_parse_number(page, text, number):
    """One comma is a decimal sign unless it may stand for thousands; nothing is guessed."""
    assert page.evaluate("text => handbookBatch.parseNumber(text)", text) == number


@pytest.mark.parametrize(
    ("thickness", "rows"),
    [
        (0.010, [0]),
        (0.012, [0, 1]),
        (0.020, [2]),
        (0.0219, [2, 3]),
        (0.050, [6]),
        (0.051, []),
        (0.009, []),
        (0.0254, [3, 4]),
    ],
)
def test_thickness_rows(page, thickness, rows):
    """A thickness of the table picks its row, one between two rows both, one outside none (house: 10 to 50 mm)."""
    table = [{"thickness": each / 1000, "label": ""} for each in (10, 15, 20, 25, 30, 40, 50)]
    assert page.evaluate("([t, table]) => handbookBatch.thicknessRows(t, table)", [thickness, table]) == rows


def test_fields_go_together(page, demo_site):
    """Weight, portions and container set one another; a fault is said beside its field and changes nothing."""
    page.goto((demo_site / "hot-smoked-char-sides.html").as_uri())
    page.click("#batch > summary")
    page.fill("#batch-portions", "36")  # the page is written for 18 portions from 3 kg
    assert page.input_value("#batch-weight") == "6"
    page.select_option("#batch-unit", "lb")
    assert math.isclose(float(page.input_value("#batch-weight")), 13.2277, rel_tol=1e-5)  # 1 lb = 0.45359237 kg exactly
    page.fill("#batch-weight", "7.3 kg")  # a unit in the field is read with its number
    assert page.evaluate("location.search") == "?batch=7.3kg" and page.input_value("#batch-unit") == "kg"
    page.fill("#batch-weight", "12")
    page.select_option("#batch-unit", "oz")  # the unit picked after a typed number is the one that was meant
    assert page.evaluate("location.search") == "?batch=12oz"
    page.fill("#batch-portions", "36")
    page.select_option("#batch-unit", "kg")
    page.fill("#batch-weight", "1,500")
    assert page.get_attribute("#batch-weight", "aria-invalid") == "true"
    assert "above 0" in page.inner_text("#batch-weight-note") and page.input_value("#batch-portions") == "36"
    page.fill("#batch-weight", "6")
    assert (
        page.get_attribute("#batch-weight", "aria-invalid") == "false"
        and page.locator("#batch-weight-note").is_hidden()
    )
    page.select_option("#batch-container", "deep tub")
    assert "deep tub" in page.inner_text("[data-vessel]")
    expect(page.locator("#batch-status")).to_contain_text("deep tub")
    page.click("#batch-form button[type=reset]")
    expect(page.locator("#batch-weight")).to_have_value("3")


def test_state_stands_in_the_address(page, demo_site, demo_book):
    """Batch and piece survive a reload, go along to the further pages, and change amounts, times and what is judged."""
    page.goto((demo_site / "hot-smoked-char-sides.html").as_uri())
    page.click("#batch > summary")
    page.fill("#batch-weight", "7.3")
    page.fill("#piece-thickness", "30")
    assert page.evaluate("location.search") == "?batch=7.3kg&piece=30mm"
    for _ in range(2):
        salt = page.locator("#brine tr").filter(has_text="salt, fine sea").locator(".mass")
        assert salt.inner_text() == format_mass(round(0.950 * 7.3 / 3, 3))
        assert "7.30 kg" in page.inner_text(".bar-written") and "30 mm" in page.inner_text(".bar-written")
        standing = page.inner_text("#standing")
        assert "30 mm is thicker than the 18-22 mm" in standing and "Met:" not in standing
        assert not any("met" in each for each in page.locator(".work-limit a").all_inner_texts())
        assert page.text_content("[data-card='0'] .num:has(.mass) >> nth=1") == salt.inner_text()
        page.reload()
    report = demo_book.pages["hot-smoked-char-sides.md"].report
    hours = next(each.hours for each in report.salted.by_thickness if abs(each.thickness - 0.030) < 1e-9)
    wanted = format_time_range(Range(hours.low * 3600, hours.typical * 3600, hours.high * 3600))
    assert page.inner_text("#step-2 [data-takes]") == wanted
    page.click(".layers a >> nth=1")
    page.wait_for_url(re.compile(r"\.why\.html\?.*piece=30mm"))
    assert page.locator("tr.my-row").count() == 1


def test_times_of_a_piece_between_two_rows(page, demo_book):
    """Between two rows the time goes by the square of the thickness, as diffusion does (Crank 1975); outside none is told."""
    report = demo_book.pages["hot-smoked-char-sides.md"].report
    data = tools_data(report, demo_book.house)
    rows = report.salted.by_thickness
    one, other = rows[-2], rows[-1]
    middle = ((one.thickness**2 + other.thickness**2) / 2) ** 0.5
    ask = "([data, t]) => { const made = handbookBatch.stepsFor(data, t); return [made.steps[1].typical / 3600, made.unknown]; }"
    assert page.evaluate(ask, [data, middle]) == [
        pytest.approx((one.hours.typical + other.hours.typical) / 2),
        [],
    ]
    assert page.evaluate(ask, [data, 0.2])[1] == [2]
    same = "data => handbookBatch.stepsFor(data, null).total"
    total = report.schedule.total
    assert page.evaluate(same, data) == pytest.approx([total.low, total.typical, total.high])


def test_times_are_written_as_at_build_time(page):
    """Ranges of times and running times read as the engine writes them."""
    found = random.Random(7)
    cases = [sorted(10 ** found.uniform(0, 7) for _ in range(3)) for _ in range(400)] + [[600.0] * 3, [7200.0] * 3]
    cases += [[600.0, 900.0, 9000.0, True], [56880.0, 86400.0, 86400.0, True]]  # the high end is not known
    shown = page.evaluate("all => all.map(each => handbookBatch.formatTimeRange(...each))", cases)
    assert shown == [format_time_range(Range(*each[:3], is_open=len(each) > 3)) for each in cases]
    shown = page.evaluate("all => all.map(each => handbookBatch.formatClock(each[1]))", cases)
    assert shown == [format_clock(each[1]) for each in cases]


@pytest.mark.parametrize(
    ("kg", "text"),
    [(0.0113, "0.40 oz"), (0.1, "3.5 oz"), (0.45359237, "1 lb"), (0.95, "2 lb 1.5 oz"), (3.0, "6 lb 9.75 oz")],
)
def test_pounds_and_ounces(page, kg, text):
    """1 lb = 0.45359237 kg = 16 oz exactly (international yard and pound agreement, 1959)."""
    assert page.evaluate("kg => handbookBatch.formatPounds(kg)", kg) == text


def test_data_block_cannot_end_early(demo_book):
    """Words of a page cannot close the data block, and it is read back as it was."""
    import json

    from site_build.html.batch_data import json_block

    data = tools_data(demo_book.methods[0].report, demo_book.house) | {"title": "</script><b>&\u2028"}
    text = str(json_block(data))
    assert "<" not in text and ">" not in text and "\u2028" not in text
    assert json.loads(text) == json.loads(json.dumps(data))
