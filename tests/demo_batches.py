"""Writes the demo's four weeks of batches: ``python -m tests.demo_batches``. The files are committed; this says how they came.

Invented, from a fixed seed. Amounts, plans and keeping are those of the methods' pages, begun by the command's own code.
Batches that have ended hold no weights, so that they teach nothing: what the demo's kitchen has learned is in its runs
(demo_runs.py). Batches in progress hold what was measured so far.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from random import Random

from msgspec import Struct, field

from handbook.base.units import parse_quantity
from handbook.base.yaml_lines import quoted, row_line
from handbook.batches.batch_record import read_batch
from handbook.batches.batch_start import Start, start_text
from handbook.batches.kitchen_lists import CHECKS_FORM, STOCK_FORM, read_list
from handbook.days.lot_numbers import lot_number
from handbook.folder.handbook import Handbook, open_handbook
from handbook.page.heated import heats
from handbook.report.method_report import Report
from site_build.record.method_figures import figures_without_cost

METHODS = Path(__file__).resolve().parent.parent / "methods"
#: The demo's present: nothing is written down later.
LAST = datetime(2026, 11, 28)
COOKS = ("Marit Osk", "Ivo Lindahl", "Tamsin Rhee")


class Planned(Struct, frozen=True, kw_only=True):
    """One batch: when it begins, its raw lots, how many of its steps are done (None: all), and lines of its own.

    ``ended`` and ``discarded`` are (days after the last step, words).
    """

    method: str
    batch: str
    begun: str
    lots: dict[str, str] = field(default_factory=dict)
    done: int | None = None
    ended: tuple[float, str] | None = None
    discarded: tuple[float, str] | None = None
    lines: tuple[dict[str, object], ...] = ()
    reach: tuple[str, ...] = ()


CHAR, SALT, FINE = "char, Arctic", "salt, fine sea", "salt, pickling/canning (fine, no additives)"
SOLD = (4.0, "all of it is sold")
EATEN = (2.0, "all of it is eaten")
PLANNED = (
    Planned(method="hot-smoked-char-sides", batch="6.2 kg", begun="2026-11-02 08:00", lots={CHAR: "EN-1101", SALT: "S-70"}, ended=SOLD),
    Planned(method="hot-smoked-char-sides", batch="5.4 kg", begun="2026-11-05 09:00", lots={CHAR: "EN-1104", SALT: "S-70"}, ended=SOLD),
    Planned(method="hot-smoked-char-sides", batch="7.3 kg", begun="2026-11-09 08:00", lots={CHAR: "EN-1109", SALT: "S-71"},
            lines=({"at": "2026-11-11 09:00", "went": "sold", "amount": "3.1 kg", "to": "Harbour school kitchen"},
                   {"at": "2026-11-12 15:00", "recalled": "the supplier calls back lot EN-1109: its cold chain broke"})),
    Planned(method="hot-smoked-char-sides", batch="4.1 kg", begun="2026-11-10 10:00", lots={CHAR: "EN-1109", SALT: "S-71"},
            discarded=(1.2, "the supplier calls back lot EN-1109; nothing had left the house")),
    Planned(method="hot-smoked-char-sides", batch="5.0 kg", begun="2026-11-16 08:00", lots={CHAR: "EN-1115", SALT: "S-71"}, ended=SOLD),
    Planned(method="hot-smoked-char-sides", batch="6.6 kg", begun="2026-11-24 08:00", lots={CHAR: "EN-1123", SALT: "S-72"}, done=3,
            lines=({"at": "2026-11-24 14:05", "step": 3, "weight": "6.64 kg"}, {"at": "2026-11-25 07:40", "step": 4, "temperature": "4 °C"})),
    Planned(method="glazed-whitefish-strips", batch="2.1 kg", begun="2026-11-03 16:00", lots={"whitefish, mixed": "EN-1102", SALT: "S-70"}, ended=EATEN),
    Planned(method="glazed-whitefish-strips", batch="2.4 kg", begun="2026-11-11 16:00", lots={"whitefish, mixed": "EN-1110", SALT: "S-71"}, ended=EATEN),
    Planned(method="glazed-whitefish-strips", batch="2.0 kg", begun="2026-11-18 16:00", lots={"whitefish, mixed": "EN-1117", SALT: "S-71"}, ended=EATEN),
    Planned(method="smoked-mussels", batch="1.5 kg", begun="2026-11-06 08:30", lots={"mussel, blue": "FJ-44"}, ended=EATEN),
    Planned(method="smoked-mussels", batch="1.8 kg", begun="2026-11-13 08:30", lots={"mussel, blue": "FJ-45"}, done=7,
            discarded=(0.2, "the fire went out and nobody saw it for two hours")),
    Planned(method="brined-chicken-thighs", batch="3 kg", begun="2026-11-04 18:00", lots={"chicken thigh, with skin": "P-310"}, ended=EATEN),
    Planned(method="brined-chicken-thighs", batch="3.2 kg", begun="2026-11-12 18:00", lots={"chicken thigh, with skin": "P-318"}, ended=EATEN),
    Planned(method="brined-chicken-thighs", batch="2.6 kg", begun="2026-11-19 18:00", lots={"chicken thigh, with skin": "P-325"}),
    Planned(method="equilibrium-pork-chops", batch="1.5 kg", begun="2026-11-07 10:00", lots={"pork loin, whole, lean+fat": "P-313"}, ended=EATEN),
    Planned(method="equilibrium-pork-chops", batch="1.6 kg", begun="2026-11-25 10:00", lots={"pork loin, whole, lean+fat": "P-331"}, done=1),
    Planned(method="dry-cured-duck", batch="2.2 kg", begun="2026-11-08 09:00", lots={"duck, domesticated, meat and skin": "P-314", FINE: "S-40"}, ended=EATEN),
    Planned(method="dry-cured-duck", batch="2.0 kg", begun="2026-11-23 09:00", lots={"duck, domesticated, meat and skin": "P-329", FINE: "S-40"}, done=2),
    Planned(method="cellar-cabbage", batch="12 kg", begun="2026-11-02 13:00", lots={"cabbage, green": "field 3", FINE: "S-40"}, done=5, reach=("ph: 4.6",),
            lines=({"at": "2026-11-03 08:00", "ph": 6.0}, {"at": "2026-11-05 08:00", "ph": 5.1}, {"at": "2026-11-07 08:00", "ph": 4.4},
                   {"at": "2026-11-12 08:00", "ph": 4.1}, {"at": "2026-11-20 08:00", "ph": 3.95, "temperature": "17 °C"})),
    Planned(method="cellar-cabbage", batch="10 kg", begun="2026-11-21 10:00", lots={"cabbage, green": "field 4", FINE: "S-40"}, done=4, reach=("ph: 4.6",),
            lines=({"at": "2026-11-22 09:00", "ph": 6.1}, {"at": "2026-11-23 09:00", "ph": 5.6}, {"at": "2026-11-24 09:00", "ph": 5.1})),
    Planned(method="brined-cucumbers", batch="2 kg", begun="2026-11-14 09:00", lots={"cucumber, with peel": "field 9", FINE: "S-40"}, done=3,
            lines=({"at": "2026-11-17 09:00", "ph": 5.0}, {"at": "2026-11-21 09:00", "ph": 4.0}, {"at": "2026-11-24 09:00", "ph": 3.8, "temperature": "24 °C"})),
    Planned(method="soy-eggs", batch="1.2 kg", begun="2026-11-05 15:00", lots={"egg, whole": "H-22"}, ended=EATEN),
    Planned(method="soy-eggs", batch="1.2 kg", begun="2026-11-24 15:00", lots={"egg, whole": "H-25"}, done=4),
    Planned(method="brined-white-cheese", batch="2 kg", begun="2026-11-10 09:00", lots={"cheese, feta": "D-8", FINE: "S-40"}, done=3),
    Planned(method="winter-smoked-trout", batch="3 kg", begun="2026-11-06 08:00", lots={"trout, rainbow, wild": "EN-1105", SALT: "S-70"}, ended=SOLD),
    Planned(method="pumped-ham", batch="5 kg", begun="2026-11-16 09:00", lots={"pork leg (fresh ham), whole, lean+fat": "P-322"}, done=3),
    # Begun before the four weeks, so that its course is long enough to see.
    Planned(method="winter-beef", batch="4.2 kg", begun="2026-09-14 09:00", lots={"beef eye of round, lean+fat": "P-255", SALT: "S-66"}, done=4, reach=("loss: 35 %",),
            lines=tuple({"at": f"2026-{at} 08:00", "step": 5, "weight": f"{weight} kg"} for at, weight in
                        (("09-30", 4.06), ("10-10", 3.72), ("10-20", 3.47), ("10-31", 3.26), ("11-10", 3.11), ("11-21", 2.98)))),
)  # fmt: skip


def main() -> None:
    """Write every batch, the shelf and the checks of thermometers."""
    shutil.rmtree(METHODS / "batches", ignore_errors=True)
    handbook, random, texts = open_handbook(METHODS), Random(20261102), dict[str, str]()
    for each in PLANNED:
        lot = lot_number(each.method, datetime.fromisoformat(each.begun).date(), texts)
        texts[lot] = batch_text(each, lot, handbook, random)
    folder = METHODS / "batches" / "2026"
    folder.mkdir(parents=True)
    for lot, text in texts.items():
        record, faults = read_batch(lot, f"{lot}.yml", text)
        assert record is not None, faults
        assert all(each.at < LAST for each in record.entries), lot
        (folder / f"{lot}.yml").write_text(text, "utf-8")
    for name, form, rows in (("stock", STOCK_FORM, stock_rows()), ("thermometers", CHECKS_FORM, check_rows(random))):
        text = "\n".join(rows) + "\n"
        assert not read_list(form, text, name, name)[1]
        (folder / f"{name}.yml").write_text(text, "utf-8")


def batch_text(plan: Planned, lot: str, handbook: Handbook, random: Random) -> str:
    """The text of one batch's file."""
    report, page = handbook.report(plan.method), handbook.page(f"{plan.method}.md")
    begun = datetime.fromisoformat(plan.begun)
    start = Start(
        lot=lot,
        version=figures_without_cost(report, page.text, handbook.house, handbook.catalogue).mark,
        batch=parse_quantity(plan.batch, "mass"),
        begun=begun,
        by=random.choice(COOKS),
        lots=list(plan.lots.items()),
        reach=plan.reach,
    )
    lines = [*_entries(plan, report, begun, random)]
    return start_text(report, start) + "".join(f"{line}\n" for _, line in sorted(lines, key=lambda each: each[0]))


def _entries(plan: Planned, report: Report, begun: datetime, random: Random) -> Iterator[tuple[str, str]]:
    at, is_over = begun, bool(plan.ended or plan.discarded)
    for each in report.schedule.steps[: plan.done]:
        # Within the page's own range, on five minutes.
        seconds = random.uniform(each.duration.low, each.duration.high)
        at += timedelta(minutes=max(round(seconds / 300) * 5, 5))
        values: dict[str, object] = {"by": random.choice(COOKS), "step": each.number}
        if each.step.core and heats(each.step):
            values["core"] = f"{each.step.core.low - 273.15 + random.uniform(0.3, 2.5):.1f} °C"
        if not (is_over and each.step.core and heats(each.step)):
            values["is"] = "done"
        yield _line(at, values)
    for own in plan.lines:
        yield _line(
            datetime.fromisoformat(str(own["at"])), {name: _text(value) for name, value in own.items() if name != "at"}
        )
    for closing, key in ((plan.ended, "ended"), (plan.discarded, "discarded")):
        if closing:
            yield _line(_rounded(at + timedelta(days=closing[0])), {"by": random.choice(COOKS), key: _text(closing[1])})


def stock_rows() -> list[str]:
    """What was counted and bought."""
    rows = [
        ("2026-11-01 18:00", SALT, {"counted": "9 kg"}),
        ("2026-11-01 18:00", FINE, {"counted": "4 kg", "lot": "S-40"}),
        ("2026-11-01 18:00", "sugar, demerara / turbinado (coarse)", {"counted": "2.5 kg"}),
        ("2026-11-02 07:30", CHAR, {"bought": "6.2 kg", "lot": "EN-1101", "from": "Ennisk lake fishers"}),
        ("2026-11-09 07:30", CHAR, {"bought": "11.4 kg", "lot": "EN-1109", "from": "Ennisk lake fishers"}),
        ("2026-11-09 07:45", SALT, {"bought": "10 kg", "lot": "S-71", "from": "Tollen stores"}),
        ("2026-11-24 07:30", CHAR, {"bought": "6.6 kg", "lot": "EN-1123", "from": "Ennisk lake fishers"}),
    ]
    return [
        _line(
            datetime.fromisoformat(at), {"item": quoted(item), **{name: _text(value) for name, value in more.items()}}
        )[1]
        for at, item, more in rows
    ]


def check_rows(random: Random) -> list[str]:
    """A check of each thermometer every Monday; one was off."""
    found = []
    for week in range(4):
        at = datetime(2026, 11, 2, 7, 15) + timedelta(days=7 * week)
        for name in ("core probe 1", "core probe 2", "fridge"):
            off = 1.8 if (week, name) == (2, "core probe 2") else random.uniform(-0.3, 0.3)
            more = {"done": "new battery, read 0.1 °C after it"} if off > 1 else {}
            found.append(
                _line(
                    at,
                    {
                        "by": random.choice(COOKS),
                        "thermometer": name,
                        "in": "ice water",
                        "read": f"{off:.1f} °C",
                        **more,
                    },
                )[1]
            )
    return found


def _line(at: datetime, values: dict[str, object]) -> tuple[str, str]:
    moment = f"{at:%Y-%m-%d %H:%M}"
    return moment, row_line(at=moment, **{name: _text(value) for name, value in values.items()})


def _text(value: object) -> object:
    return value if not isinstance(value, str) or value.startswith('"') else quoted(value)


def _rounded(at: datetime) -> datetime:
    return at.replace(minute=at.minute // 5 * 5)


if __name__ == "__main__":
    main()
