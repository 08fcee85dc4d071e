"""The form of questions to fill in, and the answers read back from it."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from handbook.draft import Draft
from handbook.errors import PageError, format_fault
from handbook.questions import Question, choices_of
from handbook.yaml_text import Table, Text, parse_yaml
from site_build.read_page import decode_page

_HEAD = """# What the page needs and the notes do not say. Write each answer after its colon and save.
# A value that already stands there is the handbook's own default: keep it or change it.
# Quote an answer that holds a colon or a # sign. Amounts are in this kitchen's own cups and spoons.
# Then: handbook new PAGE.md --from {notes} --answers FILE
# New questions may follow from the answers; they are listed until none is left.
"""


def read_answers(path: Path) -> dict[str, Text]:
    """The answers of a file by key. Raises PageError for a file that is no table of keys and values."""
    text = read_text(path)
    node = parse_yaml(text, str(path), 1, "answers")
    if not isinstance(node, Table):
        raise PageError(
            str(path),
            1,
            "answers",
            "a list" if not isinstance(node, Text) else node.value,
            "keys and values, such as portions: 8",
        )
    for key, line, value in node.entries:
        if not isinstance(value, Text):
            raise PageError(str(path), line, key, "a list or a table", "one value after the colon")
    return {key: value for key, _, value in node.entries}


def read_text(path: Path) -> str:
    """A file's text. Raises PageError where it cannot be read as one."""
    try:
        text, fault = decode_page(path.read_bytes(), str(path))
    except OSError as error:
        raise PageError(str(path), 1, "file", f"no file ({error.strerror})", "a readable text file") from None
    if fault is not None:
        raise fault
    return text


def form_text(draft: Draft, answers: Mapping[str, Text]) -> str:
    """The form: every open question, the answers so far, and as comments what was read from the notes."""
    lines = [_HEAD.format(notes=draft.notes.file)]
    for question in draft.questions:
        where = f" (line {question.line}: {_cut(question.quoted)})" if question.line and question.quoted else ""
        lines += [f"# {question.words}{where}", f"#   why: {question.why}", f"#   allowed: {question.allowed}"]
        if offered := choices_of(question):
            lines.append(f"#   such as: {' | '.join(offered)}")
        if question.default:
            lines.append(f"#   default: {question.default_from}")
        lines += [f"{question.key}: {_quoted(question.default)}".rstrip(), ""]
    given = [f"{key}: {_quoted(node.value)}" for key, node in answers.items() if node.value and key in draft.values]
    if given:
        lines += ["# Answered", *given, ""]
    read = [
        f"#   {value.key}: {value.value}"
        for value in draft.values.values()
        if value.source != "answer" and not value.key.endswith(".do")
    ]
    return "\n".join(
        [
            *lines,
            "# Read from the notes, or the handbook's default; write a line without the # to change it:",
            *read,
            "",
        ]
    )


def missing_line(question: Question, notes: str) -> str:
    """One open question as an error line."""
    offered = choices_of(question)
    fits = f", such as {' | '.join(offered[:4])}" if offered and offered[:1] != ("none",) and question.choices else ""
    fault = format_fault("nothing", question.allowed + fits)
    quoted = f' Line {question.line}: "{_cut(question.quoted)}".' if question.quoted and question.line else ""
    return f"{notes}:{question.line or 1}: {question.key}: {fault}. {question.words}{quoted}"


def _cut(words: str) -> str:
    words = " ".join(words.split())
    return words if len(words) <= 70 else words[:67] + "..."


def _quoted(value: str) -> str:
    import json

    return json.dumps(value, ensure_ascii=False) if value else ""
