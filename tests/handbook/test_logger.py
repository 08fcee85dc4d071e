"""Logs of many loggers read to the same curve; what a log leaves open is asked for, with file and line."""

import pytest

from handbook.heat.lethality import log10_reductions, organisms
from handbook.runs.logger import LogSettings, read_log


def settings(**said) -> LogSettings:
    texts = dict.fromkeys(("core", "chamber", "time", "unit", "date", "decimal", "separator"), "")
    return LogSettings(begins_with=1, line=1, **(texts | said))


SAME = (
    ("Time,Core (°C)\n2026-10-12 18:00:00,10.0\n2026-10-12 18:30:00,40.5\n2026-10-12 19:00:00,70.0\n", {}),
    ("Zapis 7\nDate,Time,Core °F\n2026-10-12,18:00,50\n2026-10-12,18:30,104.9\n2026-10-12,19:00,158\n", {}),
    ("elapsed (min);core °C;chamber °C\n0;10,0;90\n30;40,5;91\n60;70,0;92\n", {"core": "core °C"}),
    ("Elapsed time [s]\tTemp\n0\t10\n1800\t40.5\n3600\t70\n", {"unit": "°C"}),
    ("date time;probe C\n12.10.2026 18:00:00;10\n12.10.2026 18:30:00;40,5\n12.10.2026 19:00:00;70\n", {}),
    ("time,temp_C\n10/12/2026 6:00 PM,10\n10/12/2026 6:30 PM,40.5\n10/12/2026 7:00 PM,70\n", {"date": "month first"}),
    ("clock,core (C)\n23:30:00,10\n00:00:00,40.5\n00:30:00,70\n", {}),
    ("time,core (C)\n0:00,10\n30:00,40.5\n60:00,70\n", {"time": "min:s"}),
    ("elapsed,core (C)\n0,10\n0.5,40.5\n1,70\n", {"time": "h"}),
)


@pytest.mark.parametrize(("text", "said"), SAME)
def test_read_log_same_curve(text, said):
    """Separators, decimals, clocks, dates, scales and spare columns all give 10, 40.5 and 70 °C in an hour."""
    log, faults = read_log(text, "log.csv", settings(**said))
    assert faults == []
    assert log.seconds == pytest.approx([0, 1800, 3600])
    assert log.core - 273.15 == pytest.approx([10, 40.5, 70], abs=1e-9)


OPEN = (
    ("time,temp\n2026-10-12 18:00,10\n2026-10-12 18:30,40\n2026-10-12 19:00,70\n", 1, "log.unit"),
    ("time,core (C)\n18:00,10\n18:30,40\n19:00,70\n", 1, "log.time"),
    ("time,core (C)\n0,10\n1,40\n2,70\n", 1, "log.time"),
    ("time,core (C)\n03/04/2026 18:00,10\n03/04/2026 18:30,40\n03/04/2026 19:00,70\n", 1, "log.date"),
    ("time (s),core (C),oven (C)\n0,10,90\n1,40,90\n2,70,90\n", 1, "log.core"),
    ("time (s);core (C)\n0;1.5\n1;40,5\n2;70\n", 1, "log.decimal"),
    ("time (s),core (C)\n0,10\n1,---\n2,70\n", 3, "core (C)"),
    ("time (s),core (C)\n0,10\n2,40\n1,70\n", 4, "time (s)"),
    ("time (s),core (C)\n0,10\n1,900\n2,70\n", 3, "core (C)"),
    ("time (s),core (C)\n0,10,5\n1,40,5\n2,70,5\n", 2, "log"),
    ("18:00:00,10\n18:30:00,40\n19:00:00,70\n", 1, "log"),
    ("nothing here\n", 1, "log.separator"),
    ("time (s),core (C)\n0,10\n", 1, "log"),
)


@pytest.mark.parametrize(("text", "line", "key"), OPEN)
def test_read_log_asks(text, line, key):
    """What is ambiguous or wrong is one fault at its line, never a guess."""
    log, faults = read_log(text, "log.csv", settings())
    assert log is None and (faults[0].line, faults[0].key) == (line, key)
    assert str(faults[0]).startswith(f"log.csv:{line}: {key}: read ")


def test_lethality_of_a_logged_curve_by_hand():
    """A logged curve of level parts kills what the general method adds up by hand from the printed times.

    Source: tests/published/lethality_tables.csv, Listeria in fish, six tenfold reductions (rows from memory): 17.0 min at
    63 C, 9.3 at 65 C, 2.0 at 70 C. Half of each: 6 (8.5 / 17.0 + 4.65 / 9.3 + 1 / 2.0) = 9. An hour at 58 C, below the
    table, adds nothing. Half the last printed digits are 0.009, 0.016 and 0.075 of these: 0.1 together.
    """
    levels, minute, rows = ((58.0, 60.0), (63.0, 8.5), (65.0, 4.65), (70.0, 1.0), (58.0, 5.0)), 0.0, []
    for celsius, minutes in levels:
        rows += [(minute + 1e-4, celsius), (minute + minutes, celsius)]
        minute += minutes
    text = "elapsed (min),core (°C)\n" + "".join(f"{at:.4f},{celsius}\n" for at, celsius in rows)
    log, faults = read_log(text, "log.csv", settings())
    assert not faults
    killed = log10_reductions(log.seconds, log.core, organisms()["listeria-fish"])
    assert float(killed) == pytest.approx(9.0, abs=0.1)


@pytest.mark.parametrize(
    "row", ["," * 390_000, '"' * 390_000, "1," + "1" * 300_000], ids=["commas", "quotes", "digits"]
)
def test_endless_row_is_told(row):
    """A row longer than any logger writes is one line, not an error of the reader of tables."""
    log, faults = read_log(f"time [s],core °C\n{row}\n1,20\n2,21\n", "log.csv", settings())
    assert log is None
    assert [str(each) for each in faults] == [
        f'log.csv:2: log: read "a row of {len(row)} characters"; allowed: at most 2000 characters'
    ]
