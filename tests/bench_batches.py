"""Batches at size: ``python -m tests.bench_batches [--batches 5000]``.

Five years of batches of the small handbook (tests/building.py), copied from one that the command began, each with its lot,
dates and some measurements, most of them ended. Printed are seconds of the processor, as ratios beside the same handbook without
batches: a first build, a build after nothing, after a line in one open batch, after one batch more; the files that each
read; the lists in the terminal; and pages that hold the years.
"""

from __future__ import annotations

import argparse
import re
import tempfile
import time
from datetime import datetime, timedelta
from pathlib import Path

from handbook.base.units import parse_quantity
from handbook.batches.batch_start import Start, start_text
from handbook.batches.due_list import due_list
from handbook.days.lot_numbers import lot_number
from handbook.folder.batch_files import batch_path, read_batch_files
from handbook.folder.handbook import open_handbook
from site_build.build import made_batches
from site_build.build.build_site import Choices, build_site
from tests.building import small_handbook

FIRST, DAYS, OPEN = datetime(2022, 1, 3, 8), 1820, 25


def main() -> None:
    """Print the table."""
    options = argparse.ArgumentParser(description="builds of a handbook with many batches")
    options.add_argument("--batches", type=int, default=5000)
    count = options.parse_args().batches
    with tempfile.TemporaryDirectory() as place:
        work = Path(place)
        folder = small_handbook(work / "book" / "methods")
        bare = [built(folder, work, "bare")[0], built(folder, work, "bare", touch=folder / "house.yml")[0]]
        lots = write_batches(folder, count)
        rows = [("first build", *built(folder, work, "many"))]
        rows.append(("nothing changed", *built(folder, work, "many")))
        append(folder, lots[-1], "- {at: 2027-01-01 08:00, words: looked at}\n")
        rows.append(("a line in an open batch", *built(folder, work, "many")))
        write_batches(folder, count + 1, count)
        rows.append(("one batch more", *built(folder, work, "many")))
        append(folder, lots[0], "- {at: 2023-01-01 08:00, words: found in the book}\n")
        rows.append(("a line in the oldest year", *built(folder, work, "many")))
        print(
            f"{count} batches, {OPEN} open; without batches: first {bare[0]:.1f} s, after a touched setting {bare[1]:.1f} s"
        )
        for what, seconds, read in rows:
            print(
                f"{what:28} {seconds:6.1f} s   x {seconds / bare[0]:5.2f} of the first build without   {read} batch files read"
            )
        begin = time.process_time()
        read_batch_files(open_handbook(folder).source, "us")
        middle = time.process_time()
        due = due_list(read_batch_files(open_handbook(folder).source, "us", only_open=True), datetime(2026, 12, 30, 8))
        print(
            f"in the terminal: all files read in {middle - begin:.1f} s, {len(due)} rows of what is due now, reading the open ones, in {time.process_time() - middle:.2f} s"
        )
        for page in sorted((work / "many").glob("batches/*.html")):
            print(f"{page.name}: {page.stat().st_size / 1000:.0f} kB")


def built(folder: Path, work: Path, site: str, touch: Path | None = None) -> tuple[float, int]:
    """Processor seconds of a build in this process, and how many batch files it read."""
    if touch is not None:
        touch.write_text(touch.read_text("utf-8") + "\n", "utf-8")
    read, old = [0], made_batches.read_batch_file

    def counted(*arguments):
        read[0] += 1
        return old(*arguments)

    made_batches.read_batch_file = counted
    begin = time.process_time()
    build_site(folder, work / site, Choices(shows_progress=False, workers=1, cache=work / f"kept-{site}"))
    made_batches.read_batch_file = old
    return time.process_time() - begin, read[0]


def write_batches(folder: Path, count: int, first: int = 0) -> list[str]:
    """Batches ``first`` to ``count``, evenly over five years; their lots."""
    handbook = open_handbook(folder)
    reports = [handbook.report(name) for name in handbook.methods]
    pattern = {
        report.method.name: start_text(
            report, Start(lot="LOT", version="0-0", batch=parse_quantity("3 kg", "mass"), begun=FIRST)
        )
        for report in reports
    }
    lots: list[str] = []
    taken: set[str] = set()
    for number in range(count):
        name = reports[number % len(reports)].method.name
        begun = FIRST + timedelta(days=number * DAYS // count)
        lot = lot_number(name, begun.date(), taken)
        taken.add(lot)
        lots.append(lot)
        if number < first:
            continue
        shift = begun - FIRST
        text = re.sub(
            r"\d{4}-\d\d-\d\d \d\d:\d\d",
            lambda found, by=shift: f"{datetime.fromisoformat(found[0]) + by:%Y-%m-%d %H:%M}",
            pattern[name],
        ).replace("lot: LOT", f"lot: {lot}")
        text += f"- {{at: {begun + timedelta(hours=1):%Y-%m-%d %H:%M}, step: 1, is: done}}\n"
        text += f"- {{at: {begun + timedelta(hours=5):%Y-%m-%d %H:%M}, temperature: 3 °C}}\n"
        if number < count - OPEN:
            text += f"- {{at: {begun + timedelta(days=6):%Y-%m-%d %H:%M}, ended: all of it is eaten}}\n"
        file = folder / batch_path(lot)
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text, "utf-8")
    return lots


def append(folder: Path, lot: str, line: str) -> None:
    """Add a line to a batch."""
    with (folder / batch_path(lot)).open("a", encoding="utf-8") as file:
        file.write(line)


if __name__ == "__main__":
    main()
