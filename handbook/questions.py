"""Questions to a cook: what is asked, why, what may be answered, and which default the handbook itself has.

An answer is read by the same forms as a page. What the notes say plainly is settled by them; a default is offered
only where the handbook has one, and it counts only once it is accepted.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from handbook.errors import PageError
from handbook.forms import Choice, Form, Reading
from handbook.names import nearest
from handbook.notes_figures import Read
from handbook.yaml_text import Text

NONE = "none"
#: Where a settled value comes from.
SOURCES = ("notes", "answer", "handbook")


@dataclass(frozen=True)
class Question:
    """One thing that the page needs and that the notes do not settle.

    ``choices`` are answers that fit, nearest first, not all that are allowed unless the form is a Choice. ``default``
    is empty unless the handbook has one; ``default_from`` says where. ``quoted`` are the words of the notes.
    """

    key: str
    words: str
    why: str
    form: Form
    choices: tuple[str, ...] = ()
    default: str = ""
    default_from: str = ""
    quoted: str = ""
    line: int = 0

    @property
    def allowed(self) -> str:
        """What may be answered, in the words of the form."""
        return self.form.allowed

    def fault(self, answer: str, measures: str = "us") -> PageError | None:
        """What is wrong with ``answer``, or None."""
        return _fault(self.form, self.key, Text(answer, 1), Reading("answer", measures))


@dataclass(frozen=True)
class Settled:
    """A value of the page with its ``source``: the ``words`` of the notes, an answer, or the handbook's own default."""

    key: str
    value: str
    source: str
    line: int = 0
    words: str = ""


@dataclass(frozen=True)
class OrNone(Form):
    """A form, or ``none``: the page then says nothing of it."""

    form: Form
    what: str = "none"

    @property
    def allowed(self) -> str:
        return f"{self.form.allowed}; or none ({self.what})" if self.what != NONE else f"{self.form.allowed}; or none"

    def read_text(self, node, key, reading):
        return NONE if node.value == NONE else self._inner(node, key, reading)

    def _inner(self, node, key, reading):
        inner = Reading(reading.file, reading.measures)
        value = self.form.read(node, key, inner)
        for each in inner.faults:
            reading.fault(each.line, each.key, each.read, self.allowed, each.suggestion)
        return value


@dataclass(frozen=True)
class OrWords(Form):
    """A form, or one of a few fixed words."""

    form: Form
    words: tuple[str, ...]

    @property
    def allowed(self) -> str:
        return f"{self.form.allowed}; or {', '.join(self.words)}"

    def read_text(self, node, key, reading):
        if node.value in self.words:
            return node.value
        inner = Reading(reading.file, reading.measures)
        value = self.form.read(node, key, inner)
        for each in inner.faults:
            reading.fault(each.line, each.key, each.read, self.allowed, nearest(node.value, self.words))
        return value


@dataclass
class Desk:
    """Where a draft's values are settled one by one, and what stays open is collected."""

    answers: Mapping[str, Text]
    reading: Reading
    questions: list[Question] = field(default_factory=list)
    values: dict[str, Settled] = field(default_factory=dict)

    def settle(
        self,
        key: str,
        form: Form,
        words: str,
        why: str,
        read: Read | None = None,
        default: str = "",
        default_from: str = "",
        choices: tuple[str, ...] = (),
        quoted: str = "",
        line: int = 0,
    ) -> Settled | None:
        """The value of ``key``: an answer, else what the notes say, else None after it was put among the questions."""
        answer = self._answer(key, form)
        if answer is not None:
            found = Settled(key, answer, "answer", line or (read.line if read else 0), read.words if read else quoted)
        elif (
            read is not None
            and read.value
            and _fault(form, key, Text(read.value, 1), Reading("", self.reading.measures)) is None
        ):
            found = Settled(key, read.value, "notes", read.line, read.words)
        else:
            self._ask(Question(key, words, why, form, choices, default, default_from, quoted, line), read)
            return None
        self.values[key] = found
        return found

    def take(self, key: str, form: Form, otherwise: Settled | None) -> Settled | None:
        """An answer to what is not asked of itself, else ``otherwise``."""
        answer = self._answer(key, form)
        found = Settled(key, answer, "answer", otherwise.line if otherwise else 0) if answer is not None else otherwise
        if found is not None:
            self.values[key] = found
        return found

    def check_keys(self, known: re.Pattern) -> None:
        """Record every answer to a key that no question has; those of questions not yet reached are let be."""
        asked = {*self.values, *(each.key for each in self.questions)}
        for key, node in self.answers.items():
            if key in asked or not node.value:
                continue
            if not known.fullmatch(key) or not self.questions:
                self.reading.fault(node.line, key, key, "a key that is asked for", nearest(key, asked))

    def _answer(self, key: str, form: Form) -> str | None:
        node = self.answers.get(key)
        if node is None or not node.value.strip():
            return None
        node = Text(" ".join(node.value.split()), node.line)
        fault = _fault(form, key, node, self.reading)
        if fault is not None:
            self.reading.faults.append(fault)
            return None
        return node.value

    def _ask(self, question: Question, read: Read | None) -> None:
        if read is not None:
            why = f"{question.why} ({read.why})" if read.why and not read.value else question.why
            question = Question(
                question.key, question.words, why, question.form, tuple(dict.fromkeys((*read.choices, *question.choices))),
                question.default, question.default_from, question.quoted or read.words, question.line or read.line,
            )  # fmt: skip
        fitting = [
            each
            for each in question.choices
            if _fault(question.form, "", Text(each, 1), Reading("", self.reading.measures)) is None
        ]
        self.questions.append(Question(**{**question.__dict__, "choices": tuple(fitting)}))


def choices_of(question: Question) -> tuple[str, ...]:
    """What can be offered to choose from by number."""
    inner = question.form.form if isinstance(question.form, OrNone) else question.form
    offered = question.choices or (inner.words if isinstance(inner, Choice) else ())
    return (*offered, NONE) if isinstance(question.form, OrNone) else offered


def _fault(form: Form, key: str, node: Text, reading: Reading) -> PageError | None:
    inner = Reading(reading.file, reading.measures)
    form.read(node, key, inner)
    return inner.faults[0] if inner.faults else None
