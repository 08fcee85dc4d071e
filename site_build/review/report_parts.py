"""A comparison as words, rows and tables, shared by all forms of the report. Without markup or escapes."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable

from msgspec import Struct
from msgspec.structs import force_setattr

from handbook.base.formats import shorten
from handbook.folder.file_names import PICTURES
from site_build.record.figures import FindingFigures, StepFigures
from site_build.review.changed_words import WordsChange, changed_words
from site_build.review.changes import (
    STOPPED,
    Comparison,
    FigureChange,
    FindingChange,
    HouseChange,
    MethodChange,
    StatedChange,
    StepChange,
)

#: Words of the serious lines, the most serious first.
STOP, FAULT, ACT, LESS = "NEW STOP", "FAULT", "NEW ACT", "NO LONGER JUDGED"
BETTER, LEVEL, STILL = "better", "level changed", "still a fault"
#: Headings of changed negations in prose.
WORDS = "WORDS"
_FINDING_WORDS = {0: STOP, 1: ACT, 2: LESS, 3: LEVEL}
SERIOUS = (STOP, FAULT)
Rows = Iterable[tuple[str, ...]]
_CAUTION = (
    "Figures are models; a calibrated thermometer, a scale and a pH meter decide, and local codes and licensed "
    "practice prevail."
)


class Alert(Struct, frozen=True, kw_only=True):
    """One prominent line: its word, its subject, and the rest."""

    word: str
    title: str
    text: str

    def __post_init__(self):
        # Strip control characters on construction.
        for name in ("title", "text"):
            force_setattr(self, name, visible(getattr(self, name)))


class ReportTable(Struct, frozen=True, kw_only=True):
    """Rows of ``what``, before, after, and in some tables the change. ``is_folded``: shown on request only."""

    title: str
    what: str
    rows: Rows
    is_folded: bool = False

    @property
    def head(self) -> tuple[str, ...]:
        """The words above the columns."""
        return (self.what, "Before", "After", "Change")[: len(self.rows[0])]

    def __post_init__(self):
        force_setattr(self, "rows", tuple(tuple(visible(cell) for cell in row) for row in self.rows))


class MethodParts(Struct, frozen=True, kw_only=True):
    """One method's part of the report, in its order: what was edited, then safety, then what follows."""

    title: str
    path: str
    status: str
    marks: tuple[str, str]
    edited: tuple[ReportTable, ...]
    alerts: tuple[Alert, ...]
    tables: tuple[ReportTable, ...]
    notes: tuple[str, ...]
    change: MethodChange

    @property
    def is_serious(self) -> bool:
        """Whether the change must not be merged as it is."""
        return self.change.code == STOPPED

    @property
    def headline(self) -> str:
        """The largest change in one line."""
        if self.alerts:
            return "; ".join(dict.fromkeys(f"{each.word}: {each.title}" for each in self.alerts[:3]))
        tables = sorted((*self.edited, *self.tables), key=lambda each: each.is_folded)
        rows = [row for table in tables for row in table.rows if len(row) == 4 or not table.is_folded]
        if rows:
            shown = ", ".join(f"{row[0]} {row[1]} → {row[2]}" for row in rows[:2])
            return shown + (f" and {len(rows) - 2} more" if len(rows) > 2 else "")
        return "; ".join(self.notes) or self.status


class HouseParts(Struct, frozen=True, kw_only=True):
    """The part of the house data: its faults, what was edited, and the methods that it alone moves."""

    alerts: tuple[Alert, ...]
    tables: tuple[ReportTable, ...]
    methods: tuple[MethodParts, ...]


class ReportParts(Struct, frozen=True, kw_only=True):
    """The whole report in its order. ``faults`` are those of pages whose methods did not change.

    ``others`` are a title and rows (path, change): pages without calculations, and files that are no pages.
    """

    summary: tuple[str, ...]
    faults: tuple[Alert, ...]
    methods: tuple[MethodParts, ...]
    house: HouseParts | None
    others: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]


def report_parts(comparison: Comparison) -> ReportParts:
    """The whole report, with texts fit for one line."""
    # Files that control a build or the site's address come first, pictures last.
    files = sorted(comparison.other_files, key=lambda each: (each.key.lower().endswith(PICTURES), each.key))
    others = (("Other pages", comparison.other_pages), ("Other files", files))
    return ReportParts(
        summary=summary(comparison),
        faults=tuple(Alert(word=FAULT, title="a page has a fault", text=each) for each in comparison.faults),
        methods=tuple(map(method_parts, comparison.methods)),
        house=_house_parts(comparison.house) if comparison.house else None,
        others=tuple(
            (title, tuple((visible(each.key), visible(each.after)) for each in found))
            for title, found in others
            if found
        ),
    )


def _house_parts(house: HouseChange) -> HouseParts:
    unknown = "house data before; the effect of the change is not known"
    stated = ReportTable(title="House data", what="Setting", rows=_stated_rows(house.stated))
    return HouseParts(
        alerts=(
            *(Alert(word=FAULT, title="house data", text=each) for each in house.faults),
            *(Alert(word=LEVEL, title=unknown, text=each) for each in house.faults_before),
        ),
        tables=(stated,) if stated.rows else (),
        methods=tuple(map(method_parts, house.methods)),
    )


def method_parts(change: MethodChange) -> MethodParts:
    """One method's part, with texts fit for one line."""
    first, others = _main_figures(change)
    details = [each for each in change.figures if each.is_detail]
    edited = (
        ReportTable(title="Edited", what="What", rows=_stated_rows(change.stated)),
        ReportTable(title="Edited ingredients", what="Ingredient", rows=_ingredient_rows(change)),
        ReportTable(title="Edited steps", what="Step", rows=_step_rows(change.steps)),
        ReportTable(title="Edited words", what="Weighs", rows=_word_rows(change)),
    )
    folded = (
        ("Other figures", "Figure", _figure_rows(others)),
        ("Times of steps", "Step", _timing_rows(change)),
        ("Other findings", "Finding", _finding_rows(change)),
        ("Step by step", "Figure", _step_figure_rows(change.steps)),
        ("Other batches, pieces and crystals", "Figure", _figure_rows(details)),
    )
    tables = (
        ReportTable(title="What follows", what="Figure", rows=_figure_rows(first)),
        *(ReportTable(title=title, what=what, rows=rows, is_folded=True) for title, what, rows in folded),
    )
    marks = tuple(visible(each or "") for each in change.marks)
    return MethodParts(
        title=visible(change.title),
        path=visible(change.path),
        status=_status(change),
        marks=marks,
        edited=tuple(each for each in edited if each.rows),
        alerts=_alerts(change),
        tables=tuple(each for each in tables if each.rows),
        notes=_notes(change),
        change=change,
    )


def summary(comparison: Comparison) -> tuple[str, ...]:
    """The report's first lines: the versions compared and the result."""
    every = [*comparison.methods, *(comparison.house.methods if comparison.house else ())]
    stops = sum(each.is_new_stop for change in every for each in change.findings)
    broken = sum(each.no_longer_builds or each.has_new_fault for each in every)
    broken += len({each.split(":")[0] for each in comparison.faults})
    moved = sum(each.is_computed for each in comparison.methods)
    words = sum(each.prose is not None and not each.is_computed for each in comparison.methods)
    parts = [
        _count(stops, "new stop"),
        _count(broken, "page that no longer builds", "pages that no longer build"),
        _count(moved, "method with a computed change", "methods with computed changes"),
        _count(
            len(comparison.house.methods) if comparison.house else 0,
            "method moved by the house data alone",
            "methods moved by the house data alone",
        ),
        _count(words, "method with changed words only", "methods with changed words only"),
        _count(len(comparison.other_pages), "other page", "other pages"),
        _count(len(comparison.other_files), "other file", "other files"),
    ]
    found = ", ".join(filter(None, parts)) or "nothing differs"
    lines = [
        f"{found[:1].upper()}{found[1:]}.",
        f"Compared {visible(comparison.before)} with {visible(comparison.after)}.",
    ]
    lines += map(visible, comparison.absent)
    if comparison.engines[0] != comparison.engines[1]:
        lines.append(f"Engine {visible(comparison.engines[0])} before, {visible(comparison.engines[1])} after.")
    return (*lines, _CAUTION)


def visible(text: str) -> str:
    """One line of visible characters: control characters and direction marks are replaced."""
    shown = (" " if sign in "\t\r\n" else "\ufffd" if unicodedata.category(sign)[0] == "C" else sign for sign in text)
    return "".join(shown).strip()


#: Figures that somebody tastes, sees or plans by, in the order of a report.
PLANNED = (
    "food: salt finished",
    "heat: highest core",
    "yield: of green weight",
    "time: in all",
    "time: hands-on",
    "portion: sugar",
    "portion: mass",
    "cost: as written",
)


def _main_figures(change: MethodChange) -> tuple[list[FigureChange], list[FigureChange]]:
    """The figures to plan by, at most one of each kind, and the other figures of the written batch."""
    main = [each for each in change.figures if not each.is_detail]
    first = sorted((each for each in main if each.key in PLANNED), key=lambda each: PLANNED.index(each.key))
    return first, [each for each in main if each.key not in PLANNED]


def _figure_rows(changes: Iterable[FigureChange], where: str = "") -> Rows:
    return ((where + _label(each.key), *each.texts, each.size) for each in changes)


def _timing_rows(change: MethodChange) -> Rows:
    """Times of steps that follow from something else; edited times stand under what was edited."""
    return (
        (_step_name(each), *each.duration.texts, each.duration.size)
        for each in change.steps
        if each.duration and not any(key == "time" for key, *_ in each.stated)
    )


def _word_rows(change: MethodChange) -> Rows:
    """Changed passages; one that turns a sentence round stands with the alerts instead."""
    return (
        ("; ".join(each.marked) or "words", each.before or "–", each.after or "–")
        for each in change.words
        if not each.turns
    )


def _ingredient_rows(change: MethodChange) -> Rows:
    several = len({each.mixture for each in change.ingredients}) > 1
    return (
        (f"{each.mixture}: {each.item}" if several else each.item, *each.texts, each.size)
        for each in change.ingredients
    )


def _step_rows(steps: tuple[StepChange, ...]) -> Rows:
    for each in steps:
        name = _step_name(each)
        if each.kind == "added":
            yield name, "–", f"added: {_step_words(each.after)}"
        elif each.kind == "removed":
            yield name, f"removed: {_step_words(each.before)}", "–"
        elif each.kind == "moved":
            yield name, f"step {each.number_before}", f"moved to step {each.number}"
        yield from ((f"{name}, {label}", before, after) for label, before, after in _stated_rows(each.stated))
        if each.is_reworded and not _turned_in_step(each):
            yield f"{name}, words", each.before.do, each.after.do


def _step_words(step: StepFigures) -> str:
    stated = "; ".join(f"{key.replace('_', ' ')} {each}" for key, each in step.stated.items() if key != "time")
    return f"{step.stage}, {step.duration.text}" + (f"; {stated}" if stated else "")


def _step_name(step: StepChange) -> str:
    number = step.number or step.number_before
    return f"{number}. {shorten(visible(step.shown.do), 60)}"


def _step_figure_rows(steps: tuple[StepChange, ...]) -> Rows:
    return (row for each in steps for row in _figure_rows(each.figures, f"step {each.number}, "))


def _stated_rows(changes: tuple[StatedChange, ...]) -> Rows:
    return ((_label(key), before or "–", after or "–") for key, before, after in changes)


def _finding_rows(change: MethodChange) -> Rows:
    for each in change.findings:
        if each.severity > 3:
            limit = each.key.partition("/")[2]
            levels = " → ".join(dict.fromkeys(one.level for one in (each.before, each.after) if one))
            name = f"{each.title}, {levels}" + (f" [{limit}]" if limit else "")
            yield name, _stands(each.before), _stands(each.after) + _decides(each, change)


def _decides(each: FindingChange, change: MethodChange) -> str:
    """The finding of the same rule that decides, for one that is only shown and is not met."""
    shown = each.after
    if shown is None or shown.level != "note" or not shown.verdict.startswith(("does not", "may not")):
        return ""
    rule = each.key.partition("/")[0]
    now = change.after.findings if change.after else {}
    for key, other in now.items():
        if key.partition("/")[0] == rule and other.level in ("stop", "act", "met"):
            return f". Shown beside; what decides is {key.partition('/')[2] or rule}: {_level(other)}"
    return ". Shown beside; no figure of this rule decides here"


def _stands(finding: FindingFigures | None) -> str:
    if finding is None:
        return "–"
    signed = f" (exception signed by {finding.signed})" if finding.signed else ""
    return ": ".join(filter(None, (finding.verdict, finding.figure))) + signed or "no figure"


def _alerts(change: MethodChange) -> tuple[Alert, ...]:
    found = [_finding_alert(each) for each in change.findings if each.severity == 0]
    known = set(change.faults_before)
    fault = "the page does not build" if change.after is None else "the page has a fault"
    for each in change.faults:
        found.append(Alert(word=STILL if each in known or change.still_broken else FAULT, title=fault, text=each))
    if change.before is None and change.was_there and change.after is not None:
        found += [Alert(word=BETTER, title="the page builds again", text=each) for each in change.faults_before]
    found += [_finding_alert(each) for each in change.findings if 0 < each.severity <= 3]
    return (*found, *_word_alerts(change))


def _word_alerts(change: MethodChange) -> tuple[Alert, ...]:
    """Changed negations in steps and prose, which no rule judges."""
    found = [(f"step {step.number}, ", each) for step in change.steps for each in _turned_in_step(step)]
    found += [("", each) for each in change.words if each.turns]
    return tuple(
        Alert(
            word=WORDS,
            title=where + "; ".join(each.marked),
            text=f"{visible(each.before) or '–'} → {visible(each.after) or '–'}",
        )
        for where, each in found
    )


def _turned_in_step(step: StepChange) -> tuple[WordsChange, ...]:
    """The passages of a reworded step that turn its sentence round."""
    if not step.is_reworded:
        return ()
    passages = changed_words([step.before.do], [step.after.do])
    return passages if any(each.turns for each in passages) else ()


def _finding_alert(change: FindingChange) -> Alert:
    word = BETTER if change.is_better else _FINDING_WORDS[change.severity]
    shown = change.after or change.before
    limit = f" Limit: {shown.printed}" if shown.printed else ""
    return Alert(word=word, title=shown.title, text=f"{_level(change.before)} → {_level(change.after)}.{limit}")


def _level(finding: FindingFigures | None) -> str:
    return f"{finding.level} ({_stands(finding)})" if finding else "not judged"


def _status(change: MethodChange) -> str:
    if change.status == "renamed":
        return visible(f"renamed from {change.old_path}")
    if change.still_broken:
        return f"{change.status}, did not build before and does not now"
    if change.no_longer_builds:
        return f"{change.status}, does not build"
    return change.status


def _notes(change: MethodChange) -> tuple[str, ...]:
    notes = []
    if change.before and change.after and change.before.title != change.after.title:
        notes.append(visible(f"Title: {change.before.title} → {change.after.title}"))
    if change.prose:
        prose = change.prose
        words = f"{prose.words_before} words before, {prose.words_after} after"
        gone = _count(prose.gone, "paragraph") or "none"
        notes.append(f"Prose: {gone} gone or changed, {prose.new} new or changed ({words})")
    if change.below_rounding:
        notes.append(f"{_count(change.below_rounding, 'figure')} moved by less than their rounding")
    return tuple(notes)


def _label(key: str) -> str:
    return key.replace("_", " ")


def _count(number: int, one: str, many: str = "") -> str:
    return "" if not number else f"{number} {one if number == 1 else many or one + 's'}"
