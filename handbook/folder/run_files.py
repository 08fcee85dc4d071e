"""The files of a method's runs: ``runs/<method>/<day>.yml`` with a thermometer log ``<day>.csv`` beside it, and batches.

An ended batch is a run too (handbook/batches/batch_run.py); the newest of them count.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable

from msgspec import Struct

from handbook.base.dates import read_day
from handbook.base.did_you_mean import Names, nearest
from handbook.base.errors import PageError
from handbook.batches.batch_record import read_batch
from handbook.batches.batch_run import run_of_batch
from handbook.days.lot_numbers import is_lot_number
from handbook.folder.file_names import BATCHES
from handbook.folder.read_text import decode_page
from handbook.page.method import Method
from handbook.runs.run_record import Run, beside_log, read_run

RUNS = "runs/"
#: Limit of runs of one method, and of runs times steps of its page: each run computes the models for all steps.
MAX_RUNS = 100
MAX_RUN_STEPS = 1_500
_NAME = re.compile(r"\d{4}-\d{2}-\d{2}(?:-[a-z0-9]+)?")


class RunText(Struct, frozen=True, kw_only=True):
    """The bytes of one run: its file as shown in errors, and those of its log or None."""

    name: str
    file: str
    data: bytes
    log: bytes | None


def run_texts(path: str, folder: str, paths: Iterable[str], content: Callable[[str], bytes]) -> tuple[RunText, ...]:
    """The runs of the method page ``path`` among ``paths``, read by ``content``; ``folder`` is named in errors."""
    known, found = set(paths), []
    for run in sorted(each for each in known if each.startswith(_folder(path)) and each.endswith(".yml")):
        log = run.removesuffix(".yml") + ".csv"
        data = content(log) if log in known else None
        found.append(
            RunText(
                name=run[len(_folder(path)) :].removesuffix(".yml"), file=f"{folder}/{run}", data=content(run), log=data
            )
        )
    return tuple(found)


def method_page(path: str) -> str:
    """The method page to which a file of runs or a batch belongs, or "" for any other path.

    A batch names its method by the slug of its lot number, which is the page's name where that has no capitals, signs
    and folders.
    """
    if path.startswith(BATCHES):
        lot = path.rpartition("/")[2].rpartition(".")[0]
        return f"{lot.rpartition('-')[0]}.md" if is_lot_number(lot) else ""
    return path[len(RUNS) :].rpartition("/")[0] + ".md" if path.startswith(RUNS) and path.count("/") > 1 else ""


def stray_runs(folder: str, paths: Iterable[str], methods: set[str]) -> list[PageError]:
    """A fault for each file among the runs without a method or with a wrong name."""
    known, faults = set(paths), []
    names = Names(each.removesuffix(".md") for each in methods)
    for path in sorted(each for each in known if each.startswith(RUNS)):
        page, name = method_page(path), path.rsplit("/", 1)[-1]
        stem, _, ending = name.rpartition(".")
        file = f"{folder}/{path}"
        if page not in methods:
            read, allowed = page.removesuffix(".md") or path, "a folder with the name of a method's page"
            faults.append(PageError(file, 1, "run", read, allowed, nearest(page.removesuffix(".md"), names)))
        elif not is_run_name(stem) or ending not in ("yml", "csv"):
            allowed = "a day with .yml, or .csv for its log, such as 2026-10-12.yml or 2026-10-12-b.yml, in the years 1970 to 2099"
            faults.append(PageError(file, 1, "run", name, allowed))
        elif ending == "csv" and path.removesuffix(".csv") + ".yml" not in known:
            faults.append(PageError(file, 1, "run", name, f"a run {stem}.yml beside its log"))
    return faults


def is_run_name(name: str) -> bool:
    """Whether ``name`` is a day, or a day with a letter for a further run."""
    return bool(_NAME.fullmatch(name)) and read_day(name[:10]) is not None


def read_runs(texts: tuple[RunText, ...], method: Method, measures: str) -> tuple[tuple[Run, ...], list[PageError]]:
    """The runs of ``method``, and every fault of every file. Too many runs are not read at all."""
    most = min(MAX_RUNS, MAX_RUN_STEPS // len(method.steps))
    batches = [each for each in texts if is_lot_number(each.name)]
    texts = tuple(each for each in texts if not is_lot_number(each.name))
    if len(texts) > most:
        allowed = f"at most {most} runs of a method of so many steps ({MAX_RUNS}, and {MAX_RUN_STEPS} runs × steps)"
        return (), [PageError(texts[most].file, 1, "run", f"{len(texts)} runs", allowed)]
    runs, faults = list[Run](), list[PageError]()
    for each in (*batches[max(len(batches) + len(texts) - most, 0) :], *texts):
        read = _batch_run if is_lot_number(each.name) else _own_run
        run, found = read(each, method, measures)
        faults += found
        runs += [run] if run is not None else []
    return tuple(runs), faults


def _own_run(each: RunText, method: Method, measures: str) -> tuple[Run | None, list[PageError]]:
    """The run of one run file; none for a wrong name, which stray_runs reports."""
    if not is_run_name(each.name):
        return None, []
    text, fault = decode_page(each.data, each.file)
    log, log_fault = _decoded_log(each)
    if broken := [one for one in (fault, log_fault) if one]:
        return None, broken
    return read_run(each.name, each.file, text, log, method, measures)


def _batch_run(each: RunText, method: Method, measures: str) -> tuple[Run | None, list[PageError]]:
    """The run of one batch; none where it has not ended or is not usable."""
    text, fault = decode_page(each.data, each.file)
    if fault:
        return None, [fault]
    record, faults = read_batch(each.name, each.file, text, measures)
    found = run_of_batch(record, method) if record is not None and record.method == method.name else None
    if record is None or found is None:
        return None, faults
    log_text, log_fault = _decoded_log(each)
    if log_fault:
        return None, [log_fault]
    log, faults = beside_log(found, each.file, log_text)
    return (None if faults else Run(name=f"{found.on}-{each.name}", file=each.file, record=found, log=log)), faults


def _decoded_log(each: RunText) -> tuple[str | None, PageError | None]:
    if each.log is None:
        return None, None
    return decode_page(each.log, each.file.removesuffix(".yml") + ".csv")


def _folder(path: str) -> str:
    return RUNS + path.removesuffix(".md") + "/"
