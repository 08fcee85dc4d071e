"""Reviews of methods: the reviewed versions (signed.yml in the methods folder), and later changes."""

from __future__ import annotations

import datetime
import re
from collections.abc import Collection
from typing import Annotated

from msgspec import Struct

from handbook.base.errors import FaultsError, PageError
from handbook.base.forms import Date, Form, Reading, Words
from handbook.base.records import Key, rows_of
from handbook.base.yaml_text import Table, parse_yaml
from handbook.folder.kept_days import FilesRead
from handbook.folder.read_text import decode_page

SIGNED_FILE = "signed.yml"
_MARK = r"[0-9a-f]{6}-[0-9a-f]{6}"


class MarkForm(Form, frozen=True):
    """A version mark as printed on the page."""

    allowed = 'a version mark as printed on the page, such as "04282d-604229"'

    def read_text(self, node, key, reading):
        return node.value if re.fullmatch(_MARK, node.value) else self._fault(node, key, reading)

    def schema(self):
        return {"type": "string", "pattern": f"^{_MARK}$"}


class Signature(Struct, frozen=True, kw_only=True):
    """One review: the page's name, the version reviewed, who signed and when."""

    method: Annotated[str, Key("page name without .md", Words(limit=80))]
    mark: Annotated[str, Key("version that was reviewed", MarkForm())]
    by: Annotated[str, Key("who reviewed it", Words(limit=80))]
    on: Annotated[datetime.date, Key("day of the review", Date())]
    line: int


class SignState(Struct, frozen=True, kw_only=True):
    """The review state of a page: NEVER, SIGNED, WORDS or CHANGED, with the signature that it depends on."""

    state: str
    signature: Signature | None


NEVER, SIGNED, WORDS, CHANGED = (
    "not reviewed",
    "reviewed",
    "words changed since review",
    "changed since review",
)
SIGNED_FORM = rows_of(Signature, 5000)


def read_signatures(source: FilesRead, methods: Collection[str]) -> tuple[tuple[Signature, ...], list[PageError]]:
    """The signatures of a folder whose method pages are ``methods``, and the faults of its signed.yml."""
    if SIGNED_FILE not in source.contents:
        return (), []
    file = source.file(SIGNED_FILE)
    text, fault = decode_page(source.contents[SIGNED_FILE], file)
    if fault:
        return (), [fault]
    try:
        return read_signed(text, file, {path.removesuffix(".md") for path in methods}), []
    except FaultsError as error:
        return (), error.faults


def read_signed(text: str, file: str, methods: set[str]) -> tuple[Signature, ...]:
    """The signatures of one file.

    Raises FaultsError with every fault, including unknown methods.
    """
    reading = Reading(file=file)
    try:
        node = parse_yaml(text, file, 1, "signed")
    except PageError as fault:
        raise FaultsError([fault]) from None
    if isinstance(node, Table) and not node.entries:
        return ()
    found = SIGNED_FORM.read(node, "signed", reading) or ()
    for each in found:
        if each.method not in methods:
            suggestion = reading.suggestion(each.method, methods)
            reading.fault(each.line, "signed.method", each.method, "a method of the handbook", suggestion)
    if reading.faults:
        raise FaultsError(reading.faults)
    return found


def sign_states(marks: dict[str, str], signatures: tuple[Signature, ...]) -> dict[str, SignState]:
    """Page path -> its review state, from the version mark of each page.

    A mark's first half identifies the computed figures as printed: while it equals the signed one, only words or house
    data have changed. Any of a page's signatures counts, so a change that is undone is reviewed again.
    """
    of_page: dict[str, list[Signature]] = {path: [] for path in marks}
    for each in sorted(signatures, key=lambda each: each.on):
        of_page.setdefault(f"{each.method}.md", []).append(each)
    return {path: _state(mark, of_page[path]) for path, mark in marks.items()}


def review_warnings(folder: str, marks: dict[str, str], signatures: tuple[Signature, ...]) -> list[str]:
    """Warnings for pages whose present version is not signed, in a handbook with signatures."""
    if not signatures:
        return []
    allowed = "a version that is signed: handbook sign, once somebody else has read it"
    return [
        str(PageError(f"{folder}/{path}", 1, "review", sign.state, allowed))
        for path, sign in sorted(sign_states(marks, signatures).items())
        if sign.state in (NEVER, CHANGED)
    ]


def with_signature(text: str, method: str, mark: str, by: str, on: datetime.date) -> str:
    """The text of signed.yml with one more signature at its end."""
    quoted = '"' + by.replace("\\", "\\\\").replace('"', '\\"') + '"'
    line = f"- {{method: {method}, mark: {mark}, by: {quoted}, on: {on.isoformat()}}}\n"
    return (text if not text or text.endswith("\n") else text + "\n") + line


def _state(mark: str, signatures: list[Signature]) -> SignState:
    if not signatures:
        return SignState(state=NEVER, signature=None)
    for state, length in ((SIGNED, len(mark)), (WORDS, 6), (CHANGED, 0)):
        fitting = [each for each in signatures if each.mark[:length] == mark[:length]]
        if fitting:
            return SignState(state=state, signature=fitting[-1])
