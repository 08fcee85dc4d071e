"""Break builds in every way that build_faults.py and cache_faults.py know, many times, and report what held.

Run: python -m tests.break_build [--kills 50] [--seed 1] [--report FILE]. Exits with 1 when anything did not hold.
"""

from __future__ import annotations

import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from random import Random

import click
from msgspec import Struct, field

from tests import build_faults as faults
from tests import cache_faults
from tests.standing import Stand, Trees, prepare

#: Times as files may bear them: 1970, a second before, 2099, and the last one of 32 bits.
MOMENTS = (0.0, -1.0, 4102444800.0, 2147483647.0)
TOLD = ("0", "4102444800", "1700000000", "soon", "-5", "1e9", "99999999999999999999")
SIZES = (0, 1, 4096, 20_000, 60_000, 120_000, 400_000)
ROOMS = (0, 8192, 100_000, 400_000, 1_500_000)
ODD_NAMES = ("extra.md", "notes/extra.jpg", "extra.csv", "extra.txt")
CHANGED = ("soy-eggs.md", "notes/bench.md", "notes/bench.jpg", "house.yml", "notes/tub.md")


class Result(Struct, kw_only=True):
    """One kind of fault: how often it was tried, and what did not hold, with how often."""

    name: str
    tried: int = 0
    broken: dict[str, int] = field(default_factory=dict)
    note: str = ""

    @property
    def line(self) -> str:
        """The result in one line."""
        held = self.tried - sum(self.broken.values())
        return f"{held} of {self.tried} held" + (f" ({self.note})" if self.note else "")


class Breaker:
    """Tries faults, each on a standing site of its own."""

    def __init__(self, trees: Trees, place: Path):
        self.trees, self.place = trees, place
        self.results: list[Result] = []
        self._count = 0

    def stand(self) -> Stand:
        """A new standing site."""
        self._count += 1
        return self.trees.stand(self.place / f"stand-{self._count}" / "here")

    def attempt(self, name: str, jobs: list[Callable[[Stand], None]], note: str = "") -> None:
        """Try each job and keep what did not hold."""
        result = Result(name=name, note=note)
        started = time.monotonic()
        for job in jobs:
            result.tried += 1
            try:
                job(self.stand())
            except (AssertionError, subprocess.TimeoutExpired) as error:
                words = "it hangs" if isinstance(error, subprocess.TimeoutExpired) else str(error)
                first = " ".join(words.strip().split())[:300]
                result.broken[first] = result.broken.get(first, 0) + 1
        self.results.append(result)
        click.echo(f"{name}: {result.line}, {time.monotonic() - started:.0f} s")
        for words, times in result.broken.items():
            click.echo(f"    {times} × {words}")


@click.command()
@click.option("--kills", default=50, show_default=True, help="Builds killed at a random moment.")
@click.option("--seed", default=1, show_default=True, help="Another seed, other moments.")
@click.option("--report", type=click.Path(path_type=Path, dir_okay=False), help="Write the results as Markdown too.")
def main(kills: int, seed: int, report: Path | None) -> None:
    """Break builds and report what held."""
    with tempfile.TemporaryDirectory() as place:
        breaker = Breaker(prepare(Path(place) / "trees"), Path(place))
        _end_builds(breaker, kills, seed)
        _take_room(breaker)
        _put_odd_files(breaker)
        _build_meanwhile(breaker, seed)
        _spoil_what_is_kept(breaker, seed)
        _set_clocks(breaker)
    if report:
        report.write_text(_markdown(breaker.results), "utf-8")
    sys.exit(1 if any(each.broken for each in breaker.results) else 0)


def _end_builds(breaker: Breaker, kills: int, seed: int) -> None:
    def at_random(number: int, sign: int, earliest: float = 0.0):
        return lambda stand: faults.killed_at_random(stand, Random(f"{seed}/{sign}/{number}"), sign, earliest)

    breaker.attempt("killed at a random moment", [at_random(number, signal.SIGKILL) for number in range(kills)])
    breaker.attempt("interrupted", [at_random(number, signal.SIGINT, 0.6) for number in range(kills // 10)])
    breaker.attempt("asked to end", [at_random(number, signal.SIGTERM) for number in range(kills // 10)])
    number = faults.count_events(breaker.stand())
    chosen = sorted(Random(seed).sample(range(1, number + 1), min(number, kills // 2)))
    jobs = [lambda stand, at=at: faults.killed_before(stand, at) for at in chosen]
    breaker.attempt("killed before touching a file", jobs, f"{len(chosen)} of {number} such moments")
    number = faults.count_events(breaker.stand(), "os.rename", "two steps")
    jobs = [lambda stand, at=at: faults.killed_between_two_steps(stand, at) for at in range(1, number + 1)]
    breaker.attempt("killed before renaming, where folders cannot be exchanged", jobs, f"{number} such moments")


def _take_room(breaker: Breaker) -> None:
    jobs = [lambda stand, size=size: faults.file_size_limited(stand, size) for size in SIZES]
    breaker.attempt("file size limited", jobs, f"to {', '.join(map(str, SIZES))} bytes")
    if faults.may_mount(breaker.place / "probe"):
        jobs = [lambda stand, room=room: faults.disk_full(stand, room) for room in ROOMS]
        breaker.attempt("disk full", jobs, f"{', '.join(map(str, ROOMS))} bytes left")
    else:
        click.echo("disk full: no right to mount a small disk here; the file size limit above stands for it")
    jobs = [lambda stand, what=what: faults.read_only(stand, what) for what in ("around", "site", "cache")]
    breaker.attempt("read-only", jobs, "the folder around, the site, the cache")


def _put_odd_files(breaker: Breaker) -> None:
    breaker.attempt("unreadable page", [faults.unreadable_page])
    for kind in faults.ODD:
        jobs = [lambda stand, kind=kind, name=name: faults.odd_file(stand, kind, name) for name in ODD_NAMES]
        breaker.attempt(f"no file: {kind}", jobs, f"as {', '.join(ODD_NAMES)}")


def _build_meanwhile(breaker: Breaker, seed: int) -> None:
    jobs = [
        lambda stand, name=name, turn=turn: faults.changed_meanwhile(stand, name, Random(f"{seed}/{name}/{turn}"))
        for name in CHANGED
        for turn in range(3)
    ]
    breaker.attempt("changed during the build", jobs, ", ".join(CHANGED))
    waits = (0.0, 0.0, 0.0, 0.2, 0.5, 0.8, 1.0, 1.3)
    breaker.attempt(
        "two builds, one site", [lambda stand, wait=wait: faults.built_twice(stand, wait) for wait in waits]
    )
    breaker.attempt("two builds, two sites", [faults.built_into_two_sites] * 3)


def _spoil_what_is_kept(breaker: Breaker, seed: int) -> None:
    for how in cache_faults.SPOILT:
        jobs = [
            lambda stand, how=how, share=share, keeps=keeps: cache_faults.spoilt_cache(
                stand, how, Random(seed), share, keeps_site=keeps
            )
            for share in (1.0, 0.3)
            for keeps in (True, False)
        ]
        breaker.attempt(f"cache: {how}", jobs, "all files, a third of them; with and without the site")
    jobs = [lambda stand, how=how: cache_faults.spoilt_record(stand, how, Random(seed)) for how in cache_faults.SPOILT]
    breaker.attempt("record of the site spoilt", jobs)
    jobs = [lambda stand, kind=kind: cache_faults.cache_is_no_folder(stand, kind) for kind in ("file", "link")]
    breaker.attempt("cache is no folder", jobs)
    breaker.attempt("cache of another version", [cache_faults.cache_of_another_version])
    jobs = [lambda stand, turn=turn: cache_faults.damaged_site(stand, Random(f"{seed}/{turn}")) for turn in range(3)]
    breaker.attempt("site damaged", jobs)


def _set_clocks(breaker: Breaker) -> None:
    jobs = [lambda stand, moment=moment: cache_faults.wrong_times(stand, moment) for moment in MOMENTS]
    breaker.attempt("wrong times of files", jobs)
    breaker.attempt("change that keeps size and time", [cache_faults.change_that_keeps_size_and_time])
    jobs = [lambda stand, moment=moment: cache_faults.told_moment(stand, moment) for moment in TOLD]
    breaker.attempt("told moment", jobs, ", ".join(TOLD))


def _markdown(results: list[Result]) -> str:
    lines = ["# Builds broken on purpose", "", "| Fault | Held | What did not |", "|---|---|---|"]
    for each in results:
        said = "; ".join(f"{times} × {words}" for words, times in each.broken.items()).replace("|", "\\|")
        lines.append(f"| {each.name} | {each.line} | {said} |")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    main()
