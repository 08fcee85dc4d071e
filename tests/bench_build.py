"""Handbook builds beside a bare MkDocs build of the same reading matter, and how both grow with the handbook.

Run: python -m tests.bench_build [--sizes 100 --sizes 1000 | --sizes "100 1000 5000"] [--report FILE]

Every build is a process of its own, started as a user starts it, so that the start of Python counts on both sides.
A ratio is to bare MkDocs in the same run. Times are the best of up to three runs, with no further run once those of a
row have taken twenty seconds: from about a thousand methods on, a long row runs once.
"""

from __future__ import annotations

import compileall
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

import click
from msgspec import Struct

from tests.bench_plain import markdown_command, mkdocs_command, write_plain
from tests.bench_preview import edit_to_page
from tests.big_handbook import MOST_METHODS, write_handbook
from tests.building import CACHE, COMMAND, ROOT, environment
from tests.measure import Growth, Measured, best_of, growth, measure

RUNS, PATIENCE = 3, 20.0
PACKAGES = ("handbook", "site_build")
BARE, FLOOR, COLD = "bare MkDocs", "python-markdown alone", "cold"
NOTHING, PAGE, PRICE, SETTING = "nothing changed", "one page changed", "one price changed", "one setting changed"
ROW = "one ingredient changed"
CHECK, COMPARE, START, EDIT = "check", "compare, one page changed", "preview: first page", "preview: edit to page"
#: The most that a row may take as a ratio to bare MkDocs: of its time, its processor's time, its memory. They are those of
#: 300 methods and more, a price's of 1,000.
TARGETS = {
    COLD: {"processor": 2.0, "memory": 2.0},
    NOTHING: {"time": 0.5, "memory": 2.0},
    PAGE: {"time": 0.05, "memory": 2.0},
    PRICE: {"time": 0.1, "memory": 2.0},
}
#: The most that an edit may take to be served, in s.
MOST_EDIT = 1.0


class Size(Struct, frozen=True, kw_only=True):
    """The rows of one size of handbook."""

    methods: int
    pages: int
    rows: dict[str, Measured]

    def ratios(self, row: str) -> dict[str, float]:
        """Time, processor's time and memory of a row beside bare MkDocs."""
        bare, found = self.rows[BARE], self.rows[row]
        return {
            "time": found.seconds / bare.seconds,
            "processor": found.processor / bare.processor,
            "memory": found.megabytes / bare.megabytes,
        }


@click.command()
@click.option("--sizes", multiple=True, default=("100",), show_default=True, help="Numbers of methods.")
@click.option("--seed", default=7, show_default=True, help="Seed of the handbooks.")
@click.option("--preview/--no-preview", "with_preview", default=True, help="Measure the preview too.")
@click.option("--report", type=click.Path(path_type=Path, dir_okay=False), help="Write the tables as Markdown too.")
def main(sizes: tuple[str, ...], seed: int, with_preview: bool, report: Path | None) -> None:
    """Print time and memory of handbook builds beside a bare MkDocs build."""
    numbers = sorted(set(_numbers(" ".join(sizes))))
    done = []
    for package in PACKAGES:  # as pip does it at an install, and as all of MkDocs is compiled
        compileall.compile_dir(ROOT / package, quiet=1)
    for number in numbers:
        with tempfile.TemporaryDirectory() as home:
            os.environ["XDG_CACHE_HOME"] = f"{home}/kept"
            done.append(bench(number, Path(home) / "work", seed, with_preview))
        click.echo(table(done[-1]))
    text = growth_lines(done)
    click.echo(text)
    if report:
        report.write_text(report_text(done, text), "utf-8")


def _numbers(text: str) -> list[int]:
    words = re.split(r"[ ,]+", text.strip())
    if not all(word.isdecimal() and 1 <= int(word) <= MOST_METHODS for word in words):
        raise click.BadParameter(f'read "{text}"; allowed: numbers from 1 to {MOST_METHODS} between blanks')
    return [int(word) for word in words]


def bench(methods: int, place: Path, seed: int, with_preview: bool) -> Size:
    """All rows for one size, in the new folder ``place``."""
    bench = _Bench(place, write_handbook(methods, place / "methods", seed))
    rows = {COLD: bench.row(bench.cold)}
    bench.log(COLD, rows)
    pages = write_plain(bench.folder, bench.site, place / "plain")
    steps: list[tuple[str, Callable[[], Measured]]] = [
        (BARE, lambda: measure(mkdocs_command(place / "plain"), env=environment())),
        (FLOOR, lambda: measure(markdown_command(place / "plain"), env=environment())),
        (NOTHING, bench.build),
        (PAGE, bench.page_changed),
        (PRICE, bench.price_changed),
        (ROW, bench.ingredient_changed),
        (SETTING, bench.setting_changed),
        (CHECK, bench.check),
    ]
    for name, job in steps:
        rows[name] = bench.row(job)
        bench.log(name, rows)
    bench.keep_in_git()
    rows[COMPARE] = bench.row(bench.compare)
    bench.log(COMPARE, rows)
    if with_preview:
        first, edits = edit_to_page(bench.folder, bench.page, bench.change_page)
        rows |= {START: first, EDIT: edits}
        bench.log(EDIT, rows)
    return Size(methods=methods, pages=pages, rows=rows)


class _Bench:
    """One handbook and what is done to it."""

    def __init__(self, place: Path, paths: list[str]):
        self.place, self.folder, self.site = place, place / "methods", place / "site"
        # A page with brine, rest, two fires and a long smoke: among those that take longest to compute.
        self.page = next((path for path in paths if path.startswith("smoke/lake/")), paths[0])
        self._changes = 0

    def row(self, job: Callable[[], Measured]) -> Measured:
        """The best of some runs."""
        return best_of(job, RUNS, PATIENCE)

    def log(self, name: str, rows: dict[str, Measured]) -> None:
        """Say on the terminal how far it is."""
        click.echo(f"  {name}: {rows[name].seconds:.2f} s, {rows[name].megabytes:.0f} MB", err=True)

    def build(self) -> Measured:
        """Build over what stands."""
        return self._run("build", str(self.folder), "--into", str(self.site), "--quiet")

    def cold(self) -> Measured:
        """Build with neither site nor cache."""
        for path in (self.site, Path(os.environ["XDG_CACHE_HOME"], CACHE)):
            shutil.rmtree(path, ignore_errors=True)
        return self.build()

    def page_changed(self) -> Measured:
        """Build after a figure and a word of one page changed."""
        self.change_page()
        return self.build()

    def change_page(self) -> str:
        """Change the thickness of a page's pieces and add a word; the word, which no page held before."""
        self._changes += 1
        path, word = self.folder / self.page, f"Remark{self._changes}x"
        text = path.read_text("utf-8")
        text = re.sub(
            r"^thickness: ([\d.]+)", lambda found: f"thickness: {float(found[1]) - 0.1:.1f}", text, count=1, flags=re.M
        )
        path.write_text(f"{text}\n{word}.\n", "utf-8")
        return word

    def price_changed(self) -> Measured:
        """Build after the price of one ingredient changed."""
        return self._house_changed("item: honey, price: ", " per kg")

    def ingredient_changed(self) -> Measured:
        """Build after a row of the house's own ingredients changed, on which the pages with that ingredient rest."""
        self._changes += 1
        row = f"honey,syrup,{328 - self._changes / 10:.1f},339,349.2,liquid,0.171,0.8212,0,none"
        head = "name,kind,g_per_cup_low,g_per_cup,g_per_cup_high,density_class,water,sugars,salt,allergen"
        (self.folder / "ingredients.csv").write_text(f"{head}\n{row}\n", "utf-8")
        return self.build()

    def setting_changed(self) -> Measured:
        """Build after a setting changed on which the times of every page rest."""
        return self._house_changed("thickness_spread: ", " %")

    def _house_changed(self, before: str, after: str) -> Measured:
        path = self.folder / "house.yml"
        text = path.read_text("utf-8")
        found = re.search(rf"{re.escape(before)}([\d.]+){re.escape(after)}", text)
        assert found, before
        less = f"{float(found[1]) - 0.01:.2f}"
        path.write_text(text[: found.start(1)] + less + text[found.end(1) :], "utf-8")
        return self.build()

    def check(self) -> Measured:
        """``handbook check``."""
        return self._run("check", str(self.folder))

    def keep_in_git(self) -> None:
        """Put the handbook under git, and change one page of it."""
        for words in (["init", "--quiet"], ["add", "methods"], ["commit", "--quiet", "--message", "All methods"]):
            identity = ["-c", "user.name=Bench", "-c", "user.email=bench@example.org", "-c", "commit.gpgsign=false"]
            subprocess.run(["git", *identity, *words], cwd=self.place, check=True, env=environment())
        self.change_page()

    def compare(self) -> Measured:
        """``handbook compare`` with the last commit."""
        return self._run("compare", "HEAD", "--folder", "methods", codes=(1,))

    def _run(self, *arguments: str, codes=(0,)) -> Measured:
        return measure([*COMMAND, *arguments], cwd=self.place, env=environment(), codes=codes)


def table(size: Size) -> str:
    """One size's rows as a Markdown table, which reads on a terminal too."""
    lines = [
        f"\n## {size.methods} methods, {size.pages} pages\n",
        "| job | runs | seconds | × bare MkDocs | processor s | × bare MkDocs | MB | × bare MkDocs | targets |",
        "|---|---:|---:|---:|---:|---:|---:|---:|---|",
    ]
    for name, found in size.rows.items():
        ratios = size.ratios(name)
        work = f"{found.processor:.2f}", f"{ratios['processor']:.3g}"
        cells = (name, found.runs, f"{found.seconds:.2f}", f"{ratios['time']:.3g}", *work, f"{found.megabytes:.0f}")
        lines.append(f"| {' | '.join(map(str, cells))} | {ratios['memory']:.2f} | {_told(name, found, ratios)} |")
    return "\n".join(lines)


def _told(name: str, row: Measured, ratios: dict[str, float]) -> str:
    if name == EDIT:
        return f"≤ {MOST_EDIT:g} s: {'met' if row.seconds <= MOST_EDIT else 'missed'}"
    targets = TARGETS.get(name, {}).items()
    return ", ".join(f"{what} ≤ {most:g}: {'met' if ratios[what] <= most else 'missed'}" for what, most in targets)


def growth_lines(sizes: list[Size]) -> str:
    """How each row grows with the number of methods."""
    if len(sizes) < 2:
        return "\nOne size only: growth needs two, and three to tell a straight line from a bent one.\n"
    numbers = [each.methods for each in sizes]
    lines = [f"\n## Growth from {numbers[0]} to {numbers[-1]} methods\n"]
    lines += ["| job | n to the power | fixed, s | each method, ms | farthest from a straight line |"]
    lines += ["|---|---:|---:|---:|---:|"]
    for name in sizes[0].rows:
        found: Growth = growth(numbers, [each.rows[name].seconds for each in sizes])
        cells = (f"{found.exponent:.2f}", f"{found.fixed:.2f}", f"{found.each * 1000:.1f}", f"{found.distance:.0%}")
        lines.append(f"| {name} | {' | '.join(cells)} |")
    lines.append("\nLeast squares: a power law through the logarithms, a straight line through the times.")
    if len(sizes) == 2:
        lines.append("Two sizes always lie on a straight line; three tell more.")
    return "\n".join(lines) + "\n"


def report_text(sizes: list[Size], growth_text: str) -> str:
    """Everything as one Markdown report."""
    intro = f"""# Builds beside a bare MkDocs build

{os.cpu_count()} cores, Python {sys.version.split()[0]}. Best of up to {RUNS} runs, none begun after {PATIENCE:.0f} s of a row.
{" ".join((Measured.__doc__ or "").split())}
"Bare MkDocs" builds the authors' pages as plain Markdown with all computed tables, headings, paragraphs and lists
(charts and scripts left out), pictures copied, a theme of one file, no plugin. "Cold": no site, no cache.
The targets are those of 300 methods and more, a price's of a thousand.
"""
    return intro + "\n".join(table(each) for each in sizes) + "\n" + growth_text


if __name__ == "__main__":
    main()
