"""Lethality from D and z: the printed tables row by row where their source states D and z, closed forms, properties.

lethality_tables.csv says for each row how it is known: most are FROM MEMORY, so agreement shows that table and model are
consistent, not that the printed table was seen.
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from handbook.base.csv_rows import read_table
from handbook.base.ranges import Range
from handbook.base.sources import TRUSTS
from handbook.catalogue.thermal_properties import Composition
from handbook.heat.heat_run import HeatPiece, HeatSpread, HeatStage, run
from handbook.heat.lethality import lethality_range, log10_reductions, organisms
from handbook.heat.temperature_curve import time_in_range
from tests.published import half_last_digit, rows

LISTERIA, BOTULINUM = organisms()["listeria-fish"], organisms()["botulinum-fish"]
TABLE = rows("lethality_tables.csv")
STATED = [row for row in TABLE if row["organism"] in ("listeria-fish", "botulinum-fish")]
#: The row that does not agree with its own D and z; the printed table was not seen.
DISAGREES = ("listeria-fish", "72")


def decimal_time(organism, kelvin):
    """D in s: the time that a constant temperature takes for one reduction."""
    return 1 / float(log10_reductions([0, 1], [kelvin, kelvin], organism))


@pytest.mark.parametrize("row", STATED, ids=lambda row: f"{row['organism']} {row['temperature_C']} C")
def test_stated_d_and_z_reproduce_the_table(row):
    """Each printed time (from memory) follows from D and z to its last digit or to the rounding of the printed time that
    D is taken from: 2.0 min is good to 2.5 %; 10 min to 1 % with its lethal rates.

    Listeria at 72 degC prints 1.0 min where its own D and z give 1.08: kept as a known disagreement.
    """
    at = float(row["temperature_C"]) + 273.15
    found = float(row["log10"]) * decimal_time(organisms()[row["organism"]], at) / 60
    printed = float(row["time_min"])
    rounding = {"listeria-fish": 0.025, "botulinum-fish": 0.01}[row["organism"]]
    if (row["organism"], row["temperature_C"]) == DISAGREES:
        assert found == pytest.approx(1.083, abs=0.001)
        assert found > printed
    else:
        assert found == pytest.approx(printed, abs=half_last_digit(row["time_min"]), rel=rounding)


@pytest.mark.parametrize("key", ["salmonella-meat", "salmonella-poultry"])
def test_laid_lines_never_claim_more_than_the_table(key):
    """Where the source prints times but no D and z, ours need at least the printed time in every row they are laid on."""
    organism = organisms()[key]
    products = {"salmonella-meat": "meat", "salmonella-poultry": "12 % fat"}[key]
    laid_on = [
        row for row in TABLE if row["organism"] == key and products in row["product"] and float(row["time_min"]) > 0
    ]
    assert len(laid_on) >= 6
    slowest = {"salmonella-meat": 1.17, "salmonella-poultry": 1.36}[key]
    longest = {}
    for row in laid_on:
        place = row["temperature_F"], row["log10"]
        longest[place] = max(float(row["time_min"]), longest.get(place, 0.0))
    for (degrees, log10), printed in longest.items():
        found = float(log10) * decimal_time(organism, (float(degrees) - 32) / 1.8 + 273.15) / 60
        assert 0.9995 <= found / printed <= slowest


def test_the_poultry_line_is_slower_than_every_printed_cell():
    """All cells of FSIS Tables 3 and 4 with a dwell, within the range of the line."""
    organism = organisms()["salmonella-poultry"]
    checked = 0
    for row in read_table("dwell_tables.csv"):
        for degrees, dwell in row.items():
            if (
                row["product"] == "meat"
                or not degrees.isdigit()
                or not 136 <= int(degrees) <= 160
                or not float(dwell or 0)
            ):
                continue
            checked += 1
            assert 7 * decimal_time(organism, (int(degrees) - 32) / 1.8 + 273.15) >= 0.9999 * float(dwell)
    assert checked == 2 * 12 * 25


def test_poultry_line_covers_the_leaner_columns():
    """The 12 % fat line asks for more than every leaner column within its range."""
    for row in TABLE:
        at, seconds = float(row["temperature_C"]) + 273.15, 60 * float(row["time_min"])
        if row["organism"] == "salmonella-poultry" and seconds > 0 and at < 342.0:
            assert float(row["log10"]) * decimal_time(organisms()["salmonella-poultry"], at) >= 0.98 * seconds


def test_organisms_say_how_they_are_known():
    """Every organism carries source, trust, rising joined segments and a reference inside them or beside."""
    for organism in organisms().values():
        assert organism.trust in TRUSTS
        assert organism.source and organism.note and organism.log10_target > 0
        for first, second in zip(organism.segments, organism.segments[1:], strict=False):
            assert first[1] == second[0]
        assert all(low < high and z > 0 for low, high, z in organism.segments)
        assert organism.lowest <= organism.reference_temperature <= organism.highest


def test_constant_hold_worked_by_hand():
    """30 min at 63 degC: 6 x 30 / (2 x 10^(7/7.5)) = 10.49 log10 reductions, worked by hand from the table's model."""
    found = log10_reductions([0, 1800], [336.15, 336.15], LISTERIA)
    assert float(found) == pytest.approx(10.49, abs=0.01)


def test_linear_ramp_is_the_closed_form():
    """Straight warming within one z has the integral z / (ln 10 rate) (1/D_end - 1/D_start), however few points."""
    low, high, time = 337.15, 355.15, 1200.0
    for count in (2, 7):
        found = log10_reductions(np.linspace(0, time, count), np.linspace(low, high, count), LISTERIA)
        by_hand = (
            7.5
            / (np.log(10) * (high - low) / time)
            * (1 / decimal_time(LISTERIA, high) - 1 / decimal_time(LISTERIA, low))
        )
        assert float(found) == pytest.approx(by_hand, rel=1e-9)


def test_piecewise_z_changes_at_its_temperature():
    """D of the spore falls by z 7 below 90 degC and by z 10 above; 90 degC itself is the reference."""
    assert decimal_time(BOTULINUM, 363.15) == pytest.approx(100.0, rel=1e-4)
    assert decimal_time(BOTULINUM, 358.15) / decimal_time(BOTULINUM, 363.15) == pytest.approx(10 ** (5 / 7))
    assert decimal_time(BOTULINUM, 363.15) / decimal_time(BOTULINUM, 373.15) == pytest.approx(10.0)


def test_hold_at_a_joint_or_end_counts_once():
    """A constant temperature on the joint of two z, or at the top of the range, is not counted twice."""
    for organism, at in ((BOTULINUM, 363.15), (BOTULINUM, 373.15), (LISTERIA, 358.15)):
        found = log10_reductions([0, 60], [at, at], organism)
        assert float(found) == pytest.approx(60 / decimal_time(organism, at))


def test_outside_the_range_is_safe():
    """Below the range nothing counts, above it the rate of the upper end does."""
    below = log10_reductions([0, 7200], [335.0, 335.0], LISTERIA)
    assert float(below) == 0.0
    above = log10_reductions([0, 60], [370.0, 370.0], LISTERIA)
    assert float(above) == pytest.approx(60 / decimal_time(LISTERIA, 358.15))


@given(st.lists(st.floats(275, 372), min_size=2, max_size=12), st.floats(10, 4000))
def test_hotter_or_longer_kills_more(temperatures, step):
    """Two kelvin more everywhere, or a longer hold, never kill less."""
    time = np.arange(len(temperatures)) * step
    base = float(log10_reductions(time, temperatures, LISTERIA))
    assert float(log10_reductions(time, np.array(temperatures) + 2, LISTERIA)) >= base - 1e-9
    assert float(log10_reductions(2 * time, temperatures, LISTERIA)) == pytest.approx(2 * base)


@given(st.lists(st.floats(275, 372), min_size=3, max_size=9))
def test_curve_split_in_two_adds_up(temperatures):
    """Lethality adds up over the parts of a curve."""
    time = np.arange(len(temperatures)) * 100.0
    temperatures = np.array(temperatures)
    whole = float(log10_reductions(time, temperatures, BOTULINUM))
    first, second = (log10_reductions(time[part], temperatures[part], BOTULINUM) for part in (slice(2), slice(1, None)))
    assert whole == pytest.approx(float(first) + float(second))


def test_equal_kills():
    """Minutes at another temperature kill as much as minutes at the reference: 17.2 min at 63 degC are 2 min at 70 degC."""
    seconds = 6.0 * decimal_time(LISTERIA, 336.15)
    assert seconds == pytest.approx(17.2 * 60, abs=3)
    found = log10_reductions([0, seconds], [336.15, 336.15], LISTERIA) * LISTERIA.decimal_time
    assert float(found) == pytest.approx(120.0, rel=1e-4)


def test_units_of_temperature_do_not_matter():
    """145 degF and 62.78 degC are the same place on the meat line."""
    meat = organisms()["salmonella-meat"]
    assert decimal_time(meat, (145 - 32) / 1.8 + 273.15) == pytest.approx(
        decimal_time(meat, 62.7778 + 273.15), rel=1e-4
    )


def test_joined_ranges_share_out_the_time():
    """Joined ranges with an open end add up to the time above the first."""
    time, curve = np.linspace(0, 7200, 9), 275.0 + 60 * np.sin(np.linspace(0, 3, 9))
    joined = [(277.15, 283.15), (283.15, 294.15), (294.15, np.inf)]
    found = sum(float(time_in_range(time, curve, low, high)) for low, high in joined)
    assert found == pytest.approx(float(time_in_range(time, curve, 277.15, np.inf)))


def test_over_a_heat_run():
    """Ranges come from every sample: the slowest sample kills least."""
    fish = HeatPiece(
        shape="slab",
        thickness=Range(0.018, 0.022, 0.028),
        composition=Composition(water=0.75, protein=0.21, fat=0.04),
        temperature=Range.exact(277.15),
        exudes="fish",
    )
    stage = HeatStage(
        name="smoke",
        medium="air",
        duration=2 * 3600.0,
        temperature=Range.exact(368.15),
        relative_humidity=Range(0.3, 0.4, 0.5),
    )
    result = run(fish, [stage], HeatSpread(samples=24))
    found = lethality_range(result, LISTERIA)
    each = log10_reductions(result.time, result.samples.core, LISTERIA)
    assert (found.low, found.high) == pytest.approx(np.quantile(each[1:], (0.05, 0.95), method="hazen"))
    assert found.typical == pytest.approx(each[0], rel=1e-12)
    assert found.low < found.high
    assert not log10_reductions(result.time[-1:], result.samples.core[:, -1:], LISTERIA).any()


def test_a_rise_after_the_heat_counts_for_nothing():
    """A roast comes out at a core of 62 °C and rises by some kelvin on the bench: printed rises are smaller than the model's
    (data/carry_over.csv), so the reductions are those of a core that stays at 62 °C until it falls, by hand."""
    salmonella = organisms()["salmonella-meat"]
    beef = HeatPiece(
        shape="cylinder",
        thickness=Range.exact(0.11),
        length=0.24,
        composition=Composition(water=0.72, protein=0.21, fat=0.06, ash=0.01),
        temperature=Range.exact(277.15),
        exudes="meat",
    )
    at, oven = (
        335.15,
        HeatStage(name="oven", medium="air", duration=12 * 3600.0, temperature=Range.exact(436.15), until_core=335.15),
    )
    bench = HeatStage(name="rest", medium="air", duration=7200.0, temperature=Range.exact(293.15), air="still")
    result = run(beef, [oven, bench], HeatSpread(samples=8))
    core = result.samples.core
    assert core.max() > at + 2
    out = result.time > result.stages[0].end - 1e-6
    counted = log10_reductions(result.clock[:, out], np.minimum(core[:, out], at), salmonella)
    heating = log10_reductions(result.clock[:, ~out], core[:, ~out], salmonella)
    whole = lethality_range(result, salmonella)
    assert whole.typical == pytest.approx(float(heating[0] + counted[0]), rel=0.1)
    assert whole.typical < 0.5 * float(log10_reductions(result.clock, core, salmonella)[0])
