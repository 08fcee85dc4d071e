"""Coverage-guided fuzzing of method pages: ``python -m tests.fuzz_pages --runs 1000000 --into fuzz``.

Atheris (libFuzzer for Python, the extra ``fuzz``) keeps the pages that reach new lines of the engine and the reader and
mutates them further, with the mutations of hostile_pages.py and its own of bytes. Every input is read: text taken
apart, YAML, forms, checks. A page that reads without a fault is computed and rendered whole where it holds a key with
a value that no page before it held, and so is one in 200 of the rest. The only outcomes allowed are a page or a list
of fault lines, each within two seconds of this thread's work and in bounded memory; anything else is a crash, kept in
the folder with its traceback. ``report.json`` there holds the counts and is printed at the end. Exit: 0 nothing found,
1 a crash or a slow page.

The fuzzer itself takes more memory with every input, so each ROUND of inputs has a process of its own; they share the
corpus.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import resource
import subprocess
import sys
import time
import traceback
from collections import Counter
from math import floor, log10
from pathlib import Path
from random import Random

from msgspec import Struct, field

PART = "round.json"
SLOW = 2.0  # s of one thread's work for one page
MOST_MEMORY = 1024  # MiB
ONE_IN = 200
ROUND = 50_000
#: Of an input: larger pages meet the limits that the tests name, and cost a hundred times as much.
MAX_BYTES = 12_000
#: Size of the shapes of growing.py among the pages to begin with.
GROWN = 15
#: What guides the mutations: everything that reads a page and decides about it. The physics behind runs all the same.
GUIDING = (
    "handbook.page.amounts", "handbook.report.heat_course", "handbook.report.evaluate", "handbook.base.forms", "handbook.report.heat_stages", "handbook.report.safety_inputs",
    "handbook.page.method", "handbook.page.salting", "handbook.page.steps", "handbook.base.records", "handbook.base.did_you_mean", "handbook.page.read_method", "handbook.page.ingredient_lines", "handbook.report.salt_course",
    "handbook.page.schedule", "handbook.base.units", "handbook.report.model_budget", "handbook.base.yaml_text", "handbook.folder.page_text",
    "site_build.reading.author_html", "site_build.reading.links", "handbook.folder.prose_limits", "handbook.folder.read_page",
)  # fmt: skip
_PAIR = re.compile(r"([a-z_]+): *([^,{}\n]{0,40})")
_NUMBER = re.compile(r"\d+(?:\.\d+)?")


class Tally(Struct, kw_only=True):
    """What has been seen so far; written out as the report."""

    into: Path
    counts: Counter = field(default_factory=Counter)
    kinds: Counter = field(default_factory=Counter)
    crashes: dict[str, str] = field(default_factory=dict)
    slowest: dict[str, float] = field(default_factory=lambda: {"read": 0.0, "whole": 0.0})
    began: float = field(default_factory=time.monotonic)
    peak: int = 0

    def took(self, what: str, seconds: float, page: bytes) -> None:
        """Note the time of one page; a slow one is kept."""
        if seconds > self.slowest[what]:
            self.slowest[what] = seconds
            (self.into / f"slowest-{what}.md").write_bytes(page)
        if seconds > SLOW:
            self.crash(f"slow {what}", f"{seconds:.1f} s", page)

    def crash(self, where: str, text: str, page: bytes) -> None:
        """Note a crash; the first page of each place is kept."""
        self.counts["crashes"] += 1
        if where not in self.crashes:
            self.crashes[where] = text
            number = sum(1 for _ in self.into.glob("crash-*.md")) + 1
            (self.into / f"crash-{number}.md").write_bytes(page)
            print(f"crash {number} at {where}\n{text}", file=sys.stderr, flush=True)

    def write(self) -> None:
        """Write what this process has seen, for the report."""
        found = {
            "counts": self.counts,
            "faults by key": self.kinds,
            "crash places": self.crashes,
            "slowest": self.slowest,
            "peak": peak_memory(),
        }
        (self.into / PART).write_text(json.dumps(found, ensure_ascii=False), "utf-8")

    def add(self, part: dict) -> None:
        """Take in what another process has seen."""
        self.counts.update(part["counts"])
        self.kinds.update(part["faults by key"])
        self.crashes = {**part["crash places"], **self.crashes}
        self.slowest = {what: max(seconds, part["slowest"][what]) for what, seconds in self.slowest.items()}
        self.peak = max(self.peak, part["peak"])

    def report(self) -> None:
        """Write report.json."""
        found = {
            **self.counts,
            "faults by key": dict(self.kinds.most_common(60)),
            "crash places": self.crashes,
            "slowest page in s": {what: round(seconds, 3) for what, seconds in self.slowest.items()},
            f"peak memory in MiB of {ROUND} inputs, the fuzzer's own in it": self.peak,
            "minutes": round((time.monotonic() - self.began) / 60, 1),
        }
        (self.into / "report.json").write_text(json.dumps(found, indent=1, ensure_ascii=False), "utf-8")


def peak_memory() -> int:
    """Largest memory of this process so far in MiB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024


def main() -> None:
    """Run ``--runs`` inputs in rounds, and write the report after each."""
    options = argparse.ArgumentParser(description="fuzz method pages")
    options.add_argument("--runs", type=int, default=1_000_000)
    options.add_argument("--into", type=Path, default=Path("fuzz"))
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--round", action="store_true", help=argparse.SUPPRESS)
    chosen = options.parse_args()
    (chosen.into / "corpus").mkdir(parents=True, exist_ok=True)
    if chosen.round:
        fuzz(chosen.into, chosen.runs, chosen.seed)
    tally, left = Tally(into=chosen.into), chosen.runs
    while left > 0:
        runs, seed = min(left, ROUND), chosen.seed + left
        (chosen.into / PART).unlink(missing_ok=True)
        command = [sys.executable, "-m", "tests.fuzz_pages", "--round"]
        command += ["--runs", runs, "--into", chosen.into, "--seed", seed]
        with (chosen.into / "fuzzer.txt").open("wb") as log:
            ended = subprocess.run([str(each) for each in command], stdout=log, stderr=log, check=False).returncode
        if (chosen.into / PART).is_file():
            tally.add(json.loads((chosen.into / PART).read_text("utf-8")))
        if ended not in (0, 1):
            tally.crashes[f"the process ended with {ended}"] = (chosen.into / "fuzzer.txt").read_text("utf-8")[-2000:]
        tally.report()
        left -= runs
        print(f"{chosen.runs - left} inputs, {len(tally.crashes)} places that crash", flush=True)
    print((chosen.into / "report.json").read_text("utf-8"))
    sys.exit(1 if tally.crashes else 0)


def fuzz(into: Path, runs: int, seed: int) -> None:
    """One round in this process, which ends with it."""
    import atheris

    with atheris.instrument_imports(include=list(GUIDING)):
        from tests.growing import SHAPES
        from tests.hostile_pages import mutated, seed_pages
        from tests.one_page import OnePage
    growing = tuple(shape(GROWN) for shape in SHAPES.values())
    seeds, corpus = (*seed_pages(), *growing), into / "corpus"
    for number, page in enumerate((*seeds[:12], *growing)):
        (corpus / f"seed-{number}.md").write_text(page, "utf-8")
    target = Target(page=OnePage(), tally=Tally(into=into), runs=runs)

    def mutate(data: bytes, most: int, seed: int) -> bytes:
        random = Random(seed)
        if random.random() < 0.1:
            return atheris.Mutate(data, most)
        # Pages that reach new lines are mostly broken ones; one in three begins whole again.
        text = (
            random.choice(seeds[: 6 if random.random() < 0.7 else None])
            if random.random() < 0.33 or not data
            else data.decode("utf-8", "surrogateescape")
        )
        text = mutated(text, seeds, random, random.choice((1, 1, 1, 2, 3, 6)))
        return text.encode("utf-8", "surrogatepass")[:most]

    flags = [f"-seed={seed}", f"-max_len={MAX_BYTES}", "-len_control=0", "-rss_limit_mb=2048", "-timeout=3600"]
    flags += ["-verbosity=0", "-reload=0", "-detect_leaks=0", f"-artifact_prefix={into}/"]
    atheris.Setup([sys.argv[0], *flags, str(corpus)], target.one_input, custom_mutator=mutate)
    atheris.Fuzz()


class Target(Struct, kw_only=True):
    """Takes every input through the program and counts what came of it."""

    page: object
    tally: Tally
    runs: int
    seen: set[tuple[str, str]] = field(default_factory=set)

    def one_input(self, data: bytes) -> None:
        """One input; ends the process after the last one."""
        counts = self.tally.counts
        counts["inputs"] += 1
        self._guarded("read", self._read, data)
        if counts["inputs"] % 5000 == 0:
            self.tally.write()
        if counts["inputs"] >= self.runs:
            if peak_memory() > MOST_MEMORY:
                self.tally.crash("memory", f"{peak_memory()} MiB", data)
            self.tally.write()
            os._exit(1 if self.tally.crashes else 0)

    def _guarded(self, what: str, work, *values) -> None:
        began = time.thread_time()
        try:
            later = work(*values)
        except Exception as error:
            last = traceback.extract_tb(error.__traceback__)[-1]
            where = f"{type(error).__name__} {Path(last.filename).name}:{last.lineno}"
            self.tally.crash(where, traceback.format_exc(), values[0])
            return
        self.tally.took(what, time.thread_time() - began, values[0])
        if later:
            self._guarded("whole", *later)

    def _read(self, data: bytes):
        text, method, faults = self.page.read(data)
        counts = self.tally.counts
        if faults:
            counts["read with faults"] += 1
            self._note(faults)
            return None
        counts["read without a fault"] += 1
        if method is None:
            counts["pages of plain reading"] += 1
        if not (self._is_new(data) or counts["read without a fault"] % ONE_IN == 0):
            return None
        return self._whole, data, text, method

    def _whole(self, data: bytes, text, method) -> None:
        counts = self.tally.counts
        report = None
        if method is not None:
            counts["computed"] += 1
            report, faults = self.page.compute(method)
            self._note(faults)
            counts["computed, with a fault or a stop" if faults else "computed without a fault"] += 1
            if report is None:
                return
        self.page.html(text, report)
        counts["rendered"] += 1

    def _note(self, faults) -> None:
        for each in faults:
            line = str(each)
            assert "\n" not in line and len(line) < 1500, "a fault is one line"
            self.tally.kinds[re.sub(r"\.\d+", "", each.key)[:60]] += 1

    def _is_new(self, data: bytes) -> bool:
        """Whether the page holds a key with a value, numbers told apart by their decade, that none held before."""
        found = {(key, _NUMBER.sub(_decade, value)) for key, value in _PAIR.findall(data.decode("utf-8"))}
        new = found - self.seen
        self.seen |= new
        return bool(new)


def _decade(found: re.Match) -> str:
    number = float(found[0])
    return f"e{floor(log10(number))}" if number else "0"


if __name__ == "__main__":
    main()
