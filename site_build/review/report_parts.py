"""A comparison as words, rows and tables, shared by all forms of the report. Without markup or escapes."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass

from handbook.folder.file_names import PICTURES
from site_build.record.figures import FindingFigures
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
#: Words of prose that came or went and turn a sentence round.
WORDS = "WORDS"
_FINDING_WORDS = {0: STOP, 1: ACT, 2: LESS, 3: LEVEL}
SERIOUS = (STOP, FAULT)
_CAUTION = (
    "Figures are models; a calibrated thermometer, a scale and a pH meter decide, and local codes and licensed "
    "practice prevail."
)


@dataclass(frozen=True, kw_only=True)
class Alert:
    """One line that must be seen: its word, its subject, and the rest."""

    word: str
    title: str
    text: str

    def __post_init__(self):
        # Strip control characters on construction.
        for name in ("title", "text"):
            object.__setattr__(self, name, visible(getattr(self, name)))


@dataclass(frozen=True, kw_only=True)
class ReportTable:
    """Rows of before and after under one title. ``is_folded``: shown on request only; ``pointer``: what stands elsewhere."""

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    is_folded: bool = False
    pointer: str = ""

    def __post_init__(self):
        object.__setattr__(self, "rows", tuple(tuple(visible(cell) for cell in row) for row in self.rows))


@dataclass(frozen=True, kw_only=True)
class MethodParts:
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
        rows = [row for table in tables for row in table.rows if len(row) == len(_FIGURE_HEAD) or not table.is_folded]
        if rows:
            shown = ", ".join(f"{row[0]} {row[1]} → {row[2]}" for row in rows[:2])
            return shown + (f" and {len(rows) - 2} more" if len(rows) > 2 else "")
        return "; ".join(self.notes) or self.status


def method_parts(change: MethodChange) -> MethodParts:
    """One method's part, with texts fit for one line."""
    edited = (
        ReportTable(title="Edited", head=("What", "Before", "After"), rows=_stated_rows(change.stated)),
        ReportTable(
            title="Edited ingredients", head=("Ingredient", "Before", "After", "Change"), rows=_ingredient_rows(change)
        ),
        ReportTable(
            title="Edited steps",
            head=("Step", "Before", "After"),
            rows=_step_rows(change.steps),
            pointer=_pointer(_turned_steps(change)),
        ),
        ReportTable(
            title="Edited words",
            head=("Weighs", "Before", "After"),
            rows=_word_rows(change),
            pointer=_pointer(_turned_words(change)),
        ),
    )
    first, others = _main_figures(change)
    tables = (
        ReportTable(title="What follows", head=_FIGURE_HEAD, rows=_figure_rows(first)),
        ReportTable(title="Other figures", head=_FIGURE_HEAD, rows=_figure_rows(others), is_folded=True),
        ReportTable(
            title="Times of steps",
            head=("Step", "Before", "After", "Change"),
            rows=_timing_rows(change),
            is_folded=True,
        ),
        ReportTable(
            title="Other findings", head=("Finding", "Before", "After"), rows=_finding_rows(change), is_folded=True
        ),
        ReportTable(title="Step by step", head=_FIGURE_HEAD, rows=_step_figure_rows(change.steps), is_folded=True),
        ReportTable(
            title="Other batches, pieces and crystals",
            head=_FIGURE_HEAD,
            rows=_figure_rows(each for each in change.figures if each.is_detail),
            is_folded=True,
        ),
    )
    marks = tuple(visible(each.mark) if each else "" for each in (change.before, change.after))
    return MethodParts(
        title=visible(change.title),
        path=visible(change.path),
        status=_status(change),
        marks=marks,
        edited=tuple(each for each in edited if each.rows or each.pointer),
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


def house_tables(house: HouseChange) -> tuple[ReportTable, ...]:
    """The changes of the house data."""
    found = ReportTable(title="House data", head=("Setting", "Before", "After"), rows=_stated_rows(house.stated))
    return (found,) if found.rows else ()


def house_alerts(house: HouseChange) -> tuple[Alert, ...]:
    """Faults of the house data, which prevent every method from being computed."""
    now = tuple(Alert(word=FAULT, title="house data", text=visible(each)) for each in house.faults)
    unknown = "the effect of the change is not known"
    then = tuple(
        Alert(word=LEVEL, title=f"house data before; {unknown}", text=visible(each)) for each in house.faults_before
    )
    return now + then


def page_faults(comparison: Comparison) -> tuple[Alert, ...]:
    """New faults of pages whose methods did not change."""
    return tuple(Alert(word=FAULT, title="a page has a fault", text=visible(each)) for each in comparison.faults)


def other_rows(comparison: Comparison) -> tuple[tuple[str, str], ...]:
    """Changed pages without calculations."""
    return tuple((visible(each.key), visible(each.after)) for each in comparison.other_pages)


def file_rows(comparison: Comparison) -> tuple[tuple[str, str], ...]:
    """Changed files that are not pages: first those that control a build or the site's address, pictures last."""
    files = sorted(comparison.other_files, key=lambda each: (each.key.lower().endswith(PICTURES), each.key))
    return tuple((visible(each.key), visible(each.after)) for each in files)


def visible(text: str) -> str:
    """One line of visible characters: control characters and direction marks are replaced."""
    shown = (" " if sign in "\t\r\n" else "\ufffd" if unicodedata.category(sign)[0] == "C" else sign for sign in text)
    return " ".join("".join(shown).split(" ")).strip()


_FIGURE_HEAD = ("Figure", "Before", "After", "Change")


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


def _figure_rows(changes, where: str = "") -> tuple[tuple[str, ...], ...]:
    return tuple((where + _label(each.key), *map(visible, each.texts), visible(each.size)) for each in changes)


def _timing_rows(change: MethodChange) -> tuple[tuple[str, ...], ...]:
    """Times of steps that follow from something else; edited times stand under what was edited."""
    return tuple(
        (_step_name(each), *map(visible, each.duration.texts), visible(each.duration.size))
        for each in change.steps
        if each.duration and not any(key == "time" for key, *_ in each.stated)
    )


def _word_rows(change: MethodChange) -> tuple[tuple[str, ...], ...]:
    return tuple(
        ("; ".join(each.marked) or "words", visible(each.before) or "–", visible(each.after) or "–")
        for each in change.words
        if not _turned(each)
    )


def _ingredient_rows(change: MethodChange) -> tuple[tuple[str, ...], ...]:
    several = len({each.mixture for each in change.ingredients}) > 1
    return tuple(
        (
            visible(f"{each.mixture}: {each.item}" if several else each.item),
            *map(visible, each.texts),
            visible(each.size),
        )
        for each in change.ingredients
    )


def _step_rows(steps: tuple[StepChange, ...]) -> tuple[tuple[str, ...], ...]:
    rows = []
    for each in steps:
        name = _step_name(each)
        if each.kind == "added":
            rows.append((name, "–", f"added: {_step_words(each.after)}"))
        elif each.kind == "removed":
            rows.append((name, f"removed: {_step_words(each.before)}", "–"))
        elif each.kind == "moved":
            rows.append((name, f"step {each.number_before}", f"moved to step {each.number}"))
        for key, before, after in each.stated:
            rows.append((f"{name}, {key.replace('_', ' ')}", visible(before) or "–", visible(after) or "–"))
        if each.is_reworded and not _step_alerts(each):
            rows.append((f"{name}, words", visible(each.before.do), visible(each.after.do)))
    return tuple(rows)


def _step_words(step) -> str:
    stated = "; ".join(f"{key.replace('_', ' ')} {each}" for key, each in step.stated.items() if key != "time")
    return visible(f"{step.stage}, {step.duration.text}" + (f"; {stated}" if stated else ""))


def _step_name(step: StepChange) -> str:
    number = step.number or step.number_before
    return f"{number}. {shorten(visible((step.after or step.before).do))}"


def _step_figure_rows(steps: tuple[StepChange, ...]) -> tuple[tuple[str, ...], ...]:
    return tuple(row for each in steps for row in _figure_rows(each.figures, f"step {each.number}, "))


def _stated_rows(changes: tuple[StatedChange, ...]) -> tuple[tuple[str, ...], ...]:
    return tuple((_label(key), visible(before) or "–", visible(after) or "–") for key, before, after in changes)


def _finding_rows(change: MethodChange) -> tuple[tuple[str, ...], ...]:
    rows = []
    for each in change.findings:
        if each.severity > 3:
            limit = each.key.partition("/")[2]
            levels = " → ".join(dict.fromkeys(one.level for one in (each.before, each.after) if one))
            name = f"{each.title}, {levels}" + (f" [{limit}]" if limit else "")
            rows.append((visible(name), _stands(each.before), _stands(each.after) + _decides(each, change)))
    return tuple(rows)


def _decides(each: FindingChange, change: MethodChange) -> str:
    """Which finding of the same rule decides, beside one that is only shown and is not met."""
    shown = each.after
    if shown is None or shown.level != "note" or not shown.verdict.startswith(("does not", "may not")):
        return ""
    rule = each.key.partition("/")[0]
    now = change.after.findings if change.after else {}
    for key, other in now.items():
        if key.partition("/")[0] == rule and other.level in ("stop", "act", "met"):
            return visible(f". Shown beside; what decides is {key.partition('/')[2] or rule}: {_level(other)}")
    return ". Shown beside; no figure of this rule decides here"


def _stands(finding: FindingFigures | None) -> str:
    if finding is None:
        return "–"
    signed = f" (exception signed by {finding.signed})" if finding.signed else ""
    return visible(": ".join(filter(None, (finding.verdict, finding.figure))) + signed) or "no figure"


def _alerts(change: MethodChange) -> tuple[Alert, ...]:
    found = [_finding_alert(each) for each in change.findings if each.severity == 0]
    known = set(change.faults_before)
    fault = "the page does not build" if change.after is None else "the page has a fault"
    for each in change.faults:
        found.append(
            Alert(word=STILL if each in known or change.still_broken else FAULT, title=fault, text=visible(each))
        )
    if change.before is None and change.was_there and change.after is not None:
        found += [
            Alert(word=BETTER, title="the page builds again", text=visible(each)) for each in change.faults_before
        ]
    found += [_finding_alert(each) for each in change.findings if 0 < each.severity <= 3]
    return (*found, *_turned_steps(change), *_turned_words(change))


def _turned_words(change: MethodChange) -> tuple[Alert, ...]:
    """The words of prose that no rule judges and that turn a sentence round."""
    return tuple(_words_alert(each) for each in change.words if _turned(each))


def _turned_steps(change: MethodChange) -> tuple[Alert, ...]:
    """The same for the words of steps."""
    return tuple(alert for each in change.steps for alert in _step_alerts(each))


def _step_alerts(step: StepChange) -> tuple[Alert, ...]:
    if not step.is_reworded:
        return ()
    passages = changed_words([step.before.do], [step.after.do])
    return tuple(_words_alert(each, f"step {step.number}, ") for each in passages if _turned(each))


def _words_alert(passage: WordsChange, where: str = "") -> Alert:
    text = f"{passage.before or '–'} → {passage.after or '–'}"
    return Alert(word=WORDS, title=where + "; ".join(passage.marked), text=text)


def _turned(passage: WordsChange) -> list[str]:
    return [mark for mark in passage.marked if not mark.startswith("number")]


def _pointer(alerts: tuple[Alert, ...]) -> str:
    """Where passages stand that are shown once, with what concerns safety."""
    return f"In full under {WORDS} below: {'; '.join(each.title for each in alerts)}" if alerts else ""


def _finding_alert(change: FindingChange) -> Alert:
    word = BETTER if change.is_better else _FINDING_WORDS[change.severity]
    shown = change.after or change.before
    limit = f" Limit: {shown.printed}" if shown.printed else ""
    return Alert(
        word=word, title=visible(shown.title), text=visible(f"{_level(change.before)} → {_level(change.after)}.{limit}")
    )


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


def shorten(text: str, limit: int = 60) -> str:
    """The first words of a text, up to ``limit`` characters."""
    return text if len(text) <= limit else text[: limit - 1].rsplit(" ", 1)[0] + " …"


def _label(key: str) -> str:
    return visible(key.replace("_", " "))


def _count(number: int, one: str, many: str = "") -> str:
    return "" if not number else f"{number} {one if number == 1 else many or one + 's'}"
