"""The chart and the table of where the models stand: positions, words, and that nothing rests on colour."""

import re
from itertools import pairwise
from math import log
from types import SimpleNamespace

import pytest

from handbook.validation.comparisons import standings
from handbook.validation.kept_times import kept_times
from site_build.build.cache import Cache
from site_build.charts.points_chart import POINTS_NARROW, POINTS_WIDE, points_chart
from site_build.charts.standing_chart import LEFT, RIGHT, ROW, standing_chart, standing_parts, together
from site_build.html.overview import overview_html


@pytest.fixture(scope="module")
def page():
    """The page of the models; it holds nothing of a handbook's methods."""
    book = SimpleNamespace(kitchen=SimpleNamespace(text=""), cache=Cache())
    return overview_html("figures.md", book)


def test_one_row_for_each_comparable_finding():
    """Every finding with a ratio has its row, the others stand in the table alone."""
    for part, shown in standing_parts().items():
        wanted = [each for each in standings() if each.finding.part == part]
        assert [row.label for row in shown.chart.rows] == [each.label for each in wanted if each.ratio]
        assert [each for _, rows in shown.groups for each in rows] == wanted


def test_positions_are_logarithms():
    """Two ratios stand as far apart as their logarithms do on the axis; the line stands at 1."""
    chart = standing_parts()["uptake"].chart
    ticks = {float(tick.label): tick.at for tick in chart.axis}
    scale = (ticks[10] - ticks[1]) / log(10)
    assert ticks[1] == chart.one
    shown = [each for each in standings() if each.finding.part == "uptake" and each.ratio]
    for row, each in zip(chart.rows, shown, strict=True):
        assert row.typical == pytest.approx(chart.one + scale * log(each.ratio.typical))
        assert row.model[0] == pytest.approx(chart.one + scale * log(each.ratio.low))
        assert sum(row.model) == pytest.approx(chart.one + scale * log(each.ratio.high))
        assert row.model[0] <= row.typical <= sum(row.model)
        assert row.printed[0] <= chart.one + 1.5 and sum(row.printed) >= chart.one - 1.5


def test_rows_do_not_overlap_and_stay_inside():
    """Rows are apart by their height; every mark is between the edges."""
    for part in standing_parts().values():
        chart = part.chart
        tops = [row.top for row in chart.rows]
        assert all(after - before >= ROW for before, after in pairwise(tops))
        for row in chart.rows:
            assert min(row.printed[0], row.model[0]) >= LEFT - 2 and max(sum(row.printed), sum(row.model)) <= RIGHT + 2


def test_open_end_runs_to_the_edge():
    """ "At least" has a band that reaches the right edge."""
    (pellicle,) = [each for each in standings() if each.finding.key == "rule_pellicle"]
    (row,) = standing_chart([pellicle]).rows
    assert sum(row.printed) == pytest.approx(RIGHT)


def test_page_shows_every_finding_with_its_trust(page):
    """Printed words, misfit and source of every finding stand in the page, each under its own model."""
    uptake, heat = page.index('id="uptake"'), page.index('id="heat"')
    for each in standings():
        at = page.index(f">{_escaped(each.label)} ", page.index(f'id="beside-{each.finding.part}-cap"'))
        assert (uptake < at < heat) == (each.finding.part == "uptake")
        row = page[at : page.index("</tr>", at)]
        assert _escaped(each.finding.text) in row and _escaped(each.misfit) in row
        assert f"#src-{each.finding.source}" in row and f">{each.finding.trust}</a>" in row


def test_chart_says_in_words_what_it_draws(page):
    """The text alternative names each row; colours and sizes are left to the style sheets."""
    described = dict(re.findall(r'<desc id="(beside-[a-z]+)-d-wide">(.*?)</desc>', page, re.S))
    for each in standings():
        if each.ratio:
            assert (
                _escaped(f"{each.label}: model").replace("\N{NO-BREAK SPACE}", " ")
                in described[f"beside-{each.finding.part}"]
            )
    drawn = page[page.index('id="beside-uptake-title"') : page.index('id="beside-uptake-cap"')]
    assert not re.search(r"style=|fill=|stroke=|font-size=", drawn)


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("19 mm: 56 % of the way after 12 h", "19_mm: 56_% of the way after 12_h"),
        ("core 55 (48 to 63) °C", "core 55 (48 to 63)_°C"),
        ("5 to 6 hens, 2 good ones", "5 to 6 hens, 2 good ones"),
    ],
)
def test_numbers_keep_their_units(text, kept):
    """A number and its unit stay on one line."""
    assert together(text) == kept.replace("_", "\N{NO-BREAK SPACE}")


def _escaped(text: str) -> str:
    return together(text).replace("&", "&amp;").replace("'", "&#39;").replace('"', "&#34;")


@pytest.mark.parametrize("layout", [POINTS_WIDE, POINTS_NARROW])
def test_every_published_time_has_its_point(layout):
    """Two scales alike, by factors: a point on the line has printed and model alike, and inside the band is within 20 %."""
    found = kept_times()
    chart = points_chart(found, layout)
    assert len(chart.marks) == len([each for each in found if each.time.typical is not None]) > 200
    scale = log(50 / 0.1)
    for mark, each in zip(chart.marks, found, strict=True):
        across = (mark.x - layout.left) / (layout.right - layout.left)
        up = (layout.bottom - mark.y) / (layout.bottom - layout.top)
        assert (up - across) * scale == pytest.approx(log(each.ratio), abs=1e-6)
        assert mark.high <= mark.y <= mark.low
        assert mark.is_held_out == each.published.is_held_out and each.published.item in mark.words
    held = [each for each in found if each.published.is_held_out]
    assert f"{len(held)} held out: {sum(each.is_close for each in held)} within 20 %" in chart.description


def test_page_draws_every_published_time(page):
    """Each point has its words in the wide and in the narrow form."""
    figure = page[page.index('id="times-title"') : page.index('id="beside-heat-title"')]
    assert figure.count("<title>") == 2 * len(kept_times())
