"""Five first methods, as a chef who has read only the README writes them from plain notes.

``run1`` is what the chef writes. ``run2`` and ``run3`` are the pages after each run of ``check``, changed in nothing but
what its lines ask for. ``python -m tests.first_pages.count_faults`` prints the faults of each page in each run.
"""

from __future__ import annotations

from pathlib import Path

from handbook.folder.handbook import open_handbook
from handbook.report.page_warnings import page_warnings

FOLDER = Path(__file__).parent
RUNS = ("run1", "run2", "run3")
PAGES = tuple(sorted(path.stem for path in (FOLDER / "run1").glob("*.md")))


def faults(run: str, into: Path) -> dict[str, list[str]]:
    """Page -> what a strict ``check`` says of it in ``run``; the handbook is laid out in the folder ``into``."""
    methods = into / run / "methods"
    methods.mkdir(parents=True)
    (methods / "house.yml").write_bytes((FOLDER / "house.yml").read_bytes())
    for name in PAGES:
        (methods / f"{name}.md").write_bytes((FOLDER / run / f"{name}.md").read_bytes())
    handbook = open_handbook(methods)
    found = {name: [str(each) for each in handbook.page(f"{name}.md").faults] for name in PAGES}
    for name in PAGES:
        report = handbook.page(f"{name}.md").report
        found[name] += [str(each) for each in page_warnings(report)] if report else []
    return found


def main() -> None:
    """Print a table: page, faults in each run."""
    import tempfile

    with tempfile.TemporaryDirectory() as place:
        counts = {run: faults(run, Path(place)) for run in RUNS}
    print(f"{'page':<16}" + "".join(f"{run:>6}" for run in RUNS))
    for name in PAGES:
        print(f"{name:<16}" + "".join(f"{len(counts[run][name]):>6}" for run in RUNS))


if __name__ == "__main__":
    main()
