"""``handbook new --from``: a page from notes, asked for on a terminal or from a file of answers."""

from __future__ import annotations

import datetime
import sys
import textwrap
from pathlib import Path
from string import ascii_lowercase

import click

from handbook.draft import Draft, make_draft
from handbook.errors import HandbookError, PageError
from handbook.evaluate import Report
from handbook.forms import Name
from handbook.notes_names import near_names
from handbook.questions import NONE, OrNone, OrWords, Question, choices_of
from handbook.yaml_text import Text
from site_build.answers import form_text, missing_line, read_answers, read_text
from site_build.files import write_file
from site_build.from_notes import WrittenPage, check_page, in_words_of_notes, open_kitchen, write_page
from site_build.kitchen import HOUSE_FILE
from site_build.places import own_tree

_HELP = (
    "A letter takes that answer, ENTER the default. ?WORD lists names, < goes back, Ctrl-C stops and keeps the answers."
)
_CAUTION = (
    "Figures were copied from notes and answers, not judged by a person. Read the page's safety notes, above all core\n"
    "temperature, curing salt and keeping time, before anyone cooks from it. Local codes and licensed practice prevail."
)


class NotesError(HandbookError):
    """The page could not be made; the text holds every reason, a line each."""


def new_from_notes(
    page: Path, notes: Path, answers: Path | None, questions: Path | None, given: dict[str, str]
) -> list[str]:
    """Write ``page`` from ``notes``, or the form of ``questions``; the lines to show.

    ``given`` are answers from the command line. Raises HandbookError with every reason for which no page is written.
    """
    if questions is not None and questions.exists():
        raise NotesError(f'--questions: read "{questions}"; allowed: a file that is not there yet')
    work = _Work(
        page,
        notes,
        {key: Text(value, 1) for key, value in given.items()} | (read_answers(answers) if answers else {}),
        str(answers or "answers"),
    )
    if questions is not None:
        draft = work.draft()
        _write(questions, form_text(draft, work.answers), page)
        return [f"wrote {questions}: {len(draft.questions)} open questions"]
    if answers is None:
        if not on_terminal():
            raise NotesError(
                "--from: read no terminal to ask on; allowed: --answers FILE, or --questions FILE for a form to fill in"
            )
        return _Talk(work).run()
    return work.finish(work.draft())


def on_terminal() -> bool:
    """Whether somebody can be asked."""
    return sys.stdin.isatty()


class _Work:
    """One page in the making: its notes, its kitchen, the answers so far."""

    def __init__(self, page: Path, notes: Path, answers: dict[str, Text], answers_file: str):
        self.page, self.notes, self.answers, self.answers_file = page, notes, answers, answers_file
        self.text = read_text(notes)
        self.folder, self.kitchen, self.house_text = open_kitchen(page)

    def draft(self) -> Draft:
        return make_draft(
            self.text, str(self.notes), self.answers, self.answers_file, self.kitchen, datetime.date.today()
        )

    def finish(self, draft: Draft) -> list[str]:
        """Write the page where nothing is open and ``check`` accepts it. Raises NotesError with everything that is not so."""
        if draft.faults or draft.questions:
            lines = [*map(str, draft.faults), *(missing_line(each, str(self.notes)) for each in draft.questions)]
            raise NotesError("\n".join([*lines, f"{self.page} is not written: {len(lines)} to answer"]))
        written, report, faults = self.checked(draft)
        if faults:
            raise NotesError(
                "\n".join(
                    [
                        *faults,
                        *_stated(draft, faults),
                        f"{self.page} is not written: handbook check would not accept it",
                    ]
                )
            )
        shown = []
        if self.house_text:
            _write(self.folder / HOUSE_FILE, self.house_text, self.page)
            shown.append(f"wrote {self.folder / HOUSE_FILE}")
        _write(self.page, written.text, self.page)
        return [*shown, f"wrote {self.page}: no fault found", *_safety(report), _CAUTION]

    def checked(self, draft: Draft) -> tuple[WrittenPage, Report | None, list[str]]:
        """The page as it would be written, its report, and its faults in the words of the notes."""
        written = write_page(draft)
        report, faults = check_page(written.text, self.folder, self.page, self.kitchen)
        return written, report, [in_words_of_notes(each, written, draft) for each in faults]


class _Talk:
    """Questions and answers on a terminal."""

    def __init__(self, work: _Work):
        self.work = work
        self.order: list[str] = []

    def run(self) -> list[str]:
        try:
            draft = self.work.draft()
            for line in read_lines(draft):
                click.echo(line)
            click.echo(f"\n{_HELP}")
            return self._until_written()
        except (click.Abort, EOFError, KeyboardInterrupt):
            raise NotesError("\n".join(["", *self._kept(), f"{self.work.page} is not written"])) from None

    def _until_written(self) -> list[str]:
        while True:
            draft = self.work.draft()
            for fault in draft.faults:  # an answer that a later one made wrong is asked again
                click.echo(str(fault), err=True)
                self.work.answers.pop(fault.key, None)
            if draft.faults:
                continue
            if draft.questions:
                self._one(draft.questions[0], len(draft.questions))
                continue
            _, _, faults = self.work.checked(draft)
            if not faults:
                if not self._change(draft, "Nothing is open. ENTER writes the page; a key asks that again"):
                    return self.work.finish(draft)
                continue
            for line in (*faults, *_stated(draft, faults)):
                click.echo(line, err=True)
            if not self._change(draft, "The page would not be accepted. A key asks that again; ENTER stops"):
                raise click.Abort

    def _one(self, question: Question, left: int) -> None:
        for line in question_lines(question, left):
            click.echo(line)
        while True:
            text = click.prompt(">", default=question.default, show_default=False, prompt_suffix=" ").strip()
            if text.startswith("?"):
                for line in self._names(question, text[1:].strip()):
                    click.echo(line)
            elif text == "<":
                if self.order:
                    self.work.answers.pop(self.order.pop(), None)
                return
            elif not text:
                click.echo(f"   read nothing; allowed: {question.allowed}")
            else:
                answer = _by_letter(text, choices_of(question))
                fault = question.fault(answer, self.work.kitchen.house.measures)
                if fault is None:
                    self.work.answers[question.key] = Text(answer, 1)
                    self.order.append(question.key)
                    return
                click.echo(f"   {str(fault).partition(': ')[2].partition(': ')[2]}")

    def _change(self, draft: Draft, prompt: str) -> bool:
        """Ask again what the cook names; False when nothing was named."""
        while True:
            key = click.prompt(f"\n{prompt}\n>", default="", show_default=False, prompt_suffix=" ").strip()
            if not key:
                return False
            if key not in draft.values:
                near = near_names(key, draft.values) or tuple(each for each in draft.values if key in each)
                click.echo(f"   read {key}; allowed: a key{': ' + ', '.join(near[:12]) if near else ''}")
                continue
            click.echo(f"   {key}: {draft.values[key].value}")
            answer = click.prompt("   instead", default="", show_default=False, prompt_suffix=": ").strip()
            if answer:
                self.work.answers[key] = Text(answer, 1)
                self.order.append(key)
            return True

    @staticmethod
    def _names(question: Question, wanted: str) -> list[str]:
        form = question.form.form if isinstance(question.form, OrNone | OrWords) else question.form
        if not isinstance(form, Name):
            return [f"   allowed: {question.allowed}"]
        words = wanted.casefold().split()
        found = [name for name in form.names() if all(word in name.casefold() for word in words)]
        return [f"   {name}" for name in found] or [f"   no name holds {wanted}"]

    def _kept(self) -> list[str]:
        """Where the answers given so far were put, so that nobody answers twice."""
        if not self.order:
            return []
        stem = self.work.notes.with_suffix("")
        path = next(
            each
            for number in range(1, 1000)
            if not (each := Path(f"{stem}.answers{'' if number == 1 else f'-{number}'}.yml")).exists()
        )
        _write(path, form_text(self.work.draft(), self.work.answers), self.work.page)
        return [f"wrote {path}: the answers so far; go on with --answers {path}"]


def read_lines(draft: Draft) -> list[str]:
    """What was recognised, a line each, and what stays as words."""
    notes = draft.notes
    lines = [f"Read from {notes.file}:"]
    for value in draft.values.values():
        if value.source == "notes" and value.line and not value.key.endswith((".do", ".note")):
            lines.append(f"  {value.key + ':':24}{value.value:32}< {value.words[:50]}")
    kept = [f"  line {number}: {notes.lines[number - 1].strip()[:80]}" for number in notes.unread]
    return [*lines, *(["Kept as words, not understood:", *kept] if kept else [])]


def question_lines(question: Question, left: int) -> list[str]:
    """One question as it is shown: how many are left, the words of the notes, why, and what may be answered."""
    lines = ["", f"{question.words}  ({question.key}; {left} left)"]
    if question.line and question.quoted:
        lines += textwrap.wrap(
            f"line {question.line}: {question.quoted}", 100, initial_indent="   ", subsequent_indent="   "
        )[:6]
    lines.append(f"   why: {question.why}")
    offered = choices_of(question)
    lines += [f"   {letter}  {each}" for letter, each in zip(ascii_lowercase, offered, strict=False)]
    if not offered or question.choices or len(offered) == 1:
        lines.append(f"   {'or' if offered else 'allowed'}: {question.allowed}")
    if question.default:
        lines.append(f"   ENTER: {question.default} ({question.default_from})")
    return lines


def _by_letter(text: str, offered: tuple[str, ...]) -> str:
    place = ascii_lowercase.find(text) if len(text) == 1 else -1
    return offered[place] if 0 <= place < len(offered) else " ".join(text.split())


def _stated(draft: Draft, faults: list[str]) -> list[str]:
    """Beside a stop of the safety rules: the figures that it may rest on, with their keys."""
    if not any(" safety." in each for each in faults):
        return []
    names = ("core", "hold", "chamber", "time", "frozen", "temperature", "pack", "origin", "final_ph", "kind")
    stated = [
        f"{each.key}: {each.value}"
        for each in draft.values.values()
        if each.key.rpartition(".")[2] in names and each.value != NONE
    ]
    return [f"stated so far: {'; '.join(stated)}"]


def _safety(report: Report | None) -> list[str]:
    if report is None:
        return []
    acts = [each for each in report.findings if each.level == "act"]
    notes = sum(each.level == "note" for each in report.findings)
    return [f"  safety: {each.title}: {each.figure}".rstrip(": ") for each in acts] + [
        f"Safety: {len(acts)} to act on, {notes} notes, computed on the page."
    ]


def _write(path: Path, text: str, page: Path) -> None:
    try:
        write_file(path, text, own_tree(page.parent), is_new=True)
    except OSError as error:
        raise PageError(
            str(path), 1, "file", f"no way to write ({error.strerror})", "a place that can be written to"
        ) from None
