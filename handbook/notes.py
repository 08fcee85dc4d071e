"""A method written elsewhere as plain text, taken apart: title, ingredients, steps and what was not understood.

Every piece keeps its line and its words. A line that is not understood stays in ``unread``; nothing is dropped and
nothing is filled in. The words are English, as the handbook's own are.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass

from handbook.errors import PageError
from handbook.notes_figures import NUMBER, Read, temperatures_in, times_in
from handbook.notes_ingredients import NoteIngredient, read_bare_ingredient, read_ingredient, strip_bullet
from handbook.notes_steps import NoteStep, opens_step, read_step, sentences

MAX_LINES = 600
MAX_LINE = 2000
MAX_PARTS = 60  # ingredients of a page's list; steps are fewer in any method that a cook follows
#: What a line may be said to be.
LINE_KINDS = ("ingredient", "step", "words")
_HIDDEN = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_SPACES = dict.fromkeys(map(ord, "\u00a0\u2002\u2003\u2007\u2009\u200a\u202f\u3000"), " ") | {ord("⁄"): "/"}


@dataclass(frozen=True)
class Group:
    """Ingredients under one heading; ``use`` says what they make where the heading says it."""

    number: int
    heading: str
    line: int
    use: Read | None
    way: Read | None


@dataclass(frozen=True)
class Notes:
    """Plain text taken apart. ``lines`` are all lines as written; ``facts`` are pieces by the key they answer.

    ``unread`` are lines kept as words, ``heads`` lines that only say that the steps follow.
    """

    file: str
    lines: tuple[str, ...]
    title: Read | None
    facts: dict[str, Read]
    groups: tuple[Group, ...]
    ingredients: tuple[NoteIngredient, ...]
    steps: tuple[NoteStep, ...]
    unread: tuple[int, ...]
    heads: frozenset[int] = frozenset()


_NUMBERED = re.compile(r"^\s*(?:step\s*)?\d{1,2}\s*[.):]\s+(?=\S)", re.I)
_HEADING = re.compile(r"^[#\s*_=-]*(?P<words>[^\d#*_=:]{2,60}?)\s*(?P<mark>:?)[\s*_=:-]*$")
_LIST_HEADS = re.compile(
    r"\b(?:ingredients|you(?:'ll)? need|shopping|brine|cure|rub|glaze|marinade|salt mix|for the)\b", re.I
)
_STEP_HEADS = re.compile(
    r"\b(?:method|directions?|instructions?|steps?|process|procedure|how to|preparation|to do|what (?:to|we) do)\b",
    re.I,
)
_WORD_HEADS = re.compile(r"\b(?:notes?|tips?|storage|storing|keeping|serving|source|from|variations?)\b", re.I)
_MIXTURE_HEAD = re.compile(r"(?:for )?(?:the )?(?:[^\W\d_]+[ -])?(?:brine|cure|rub|glaze|marinade)", re.I)
_USES = (("glaze", r"glaze|lacquer|basting"), ("salting", r"brine|dry rub|cure|curing mix|pickle|salt mix"))
_WAYS = (
    ("equilibrium", r"equilibrium brine"),
    ("dry cure", r"dry cure|dry brine|dry rub"),
    ("ferment brine", r"ferment(?:ing|ation)? brine"),
    ("injection", r"(?:injection|pumping|injecting) brine"),
    ("immersion", r"wet brine|immersion brine|soaking brine"),
)
_FACTS = (
    ("portions", r"\b(?:serves|feeds|(?:makes|yields?):?\s+(?=\d+\s+(?:portions|servings)))\s*:?\s*(?P<value>\d{1,4})\b(?!\s*[-–]\s*\d)", "{}"),
    ("pieces.thickness", rf"(?P<value>{NUMBER}(?:\s*(?:-|–|to)\s*{NUMBER})?)[\s-]*(?P<unit>inch(?:es)?|in\.?|cm|mm|\")[\s-]*thick", "{} {}"),
    ("pieces.skin", r"\b(?P<value>skin[- ]on|skin left on|leave the skin on|skinless|skin[- ]off|skin removed)\b", "{}"),
    ("pieces.origin", r"\b(?P<value>farmed|wild(?:[- ]caught)?)\b", "{}"),
)  # fmt: skip
_KEEPS = re.compile(r"\b(?:keeps|lasts|will keep|stores|keep(?:s|ing)? time)\b", re.I)
_ONLY_FACT = re.compile(r"^(?:it )?(?:keeps|lasts|will keep|stores|serves|feeds|makes|yields?)\b", re.I)
_KINDS = (
    ("hot smoke", r"hot[- ]smok\w+"),
    ("cold smoke", r"cold[- ]smok\w+"),
    ("ferment", r"ferment(?:ed|ing)\b"),
    ("dry cure", r"dry[- ]cured"),
)


def read_notes(text: str, file: str, said: Mapping[int, str] | None = None) -> Notes:
    """Take ``text`` apart; ``said`` says of some lines (by number, from 1) what they are: one of LINE_KINDS.

    Raises PageError, with the line, for text that is too long, not text, or written to be seen otherwise than it is.
    """
    lines = tuple(text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").split("\n"))
    while lines and not lines[-1].strip():
        lines = lines[:-1]
    _check(lines, file)
    return _Reader(lines, file, dict(said or {})).notes()


class _Reader:
    """Goes through the lines once, knowing under which heading it is."""

    def __init__(self, lines: tuple[str, ...], file: str, said: dict[int, str]):
        self.lines, self.file, self.said = lines, file, said
        self.title: Read | None = None
        self.section = ""  # "", list, steps, words
        self.groups: list[Group] = []
        self.ingredients: list[NoteIngredient] = []
        self.steps: list[NoteStep] = []
        self.unread: list[int] = []
        self.heads: set[int] = set()

    def notes(self) -> Notes:
        for number, written in enumerate(self.lines, 1):
            text = " ".join(written.translate(_SPACES).split())
            if text:
                self._line(text, number)
        for parts, what in ((self.ingredients, "ingredients"), (self.steps, "steps")):
            if len(parts) > MAX_PARTS:
                raise PageError(self.file, parts[MAX_PARTS].line, what, f"{len(parts)} {what}", f"at most {MAX_PARTS}")
        facts = _facts(self.lines)
        return Notes(
            self.file, self.lines, self.title, facts, tuple(self.groups), tuple(self.ingredients), tuple(self.steps),
            tuple(self.unread), frozenset(self.heads),
        )  # fmt: skip

    def _line(self, text: str, number: int) -> None:
        said = self.said.get(number)
        if said is not None:
            self._said(text, number, said)
        elif self.title is None and not self.groups and self._is_title(text, number):
            self.title = Read(text.strip("#*_= ").rstrip(":").strip(), text, number)
        elif not self._is_heading(text, number):
            self._content(text, number)

    def _said(self, text: str, number: int, said: str) -> None:
        if said == "step":
            self._add_steps(text, number, certain=True)
        elif said == "ingredient":
            self._add(
                read_ingredient(text, number, self._group(number), 0)
                or read_bare_ingredient(text[:80], number, self._group(number), 0),
                number,
            )
        else:
            self.unread.append(number)

    def _is_title(self, text: str, number: int) -> bool:
        if self.ingredients or self.steps or self.unread or text.endswith((".", ",", ";")):
            return False
        return (
            len(text) <= 100
            and not read_ingredient(text, number, 0, 0)
            and not self._plain_head(text)
            and bool(re.search(r"[^\W\d_]{2}", text))
        )

    @staticmethod
    def _plain_head(text: str) -> bool:
        return text.rstrip(":").lower() in (
            "ingredients",
            "method",
            "directions",
            "brine",
            "glaze",
            "cure",
            "steps",
            "instructions",
        )

    def _is_heading(self, text: str, number: int) -> bool:
        found = _HEADING.match(text)
        if found is None or (strip_bullet(text) != text and not text.startswith(("*", "#"))):
            return False
        words = found["words"].strip()
        if _MIXTURE_HEAD.fullmatch(words) and (
            words.split()[0].lower() == "dry" or not opens_step(words) or len(words.split()) == 1
        ):
            self.section = "list"
            self._open_group(words, number)
            return True
        is_marked = bool(found["mark"]) or text.startswith("#") or (text.startswith("*") and text.endswith("*"))
        short = len(words.split()) <= 5 and not re.search(r"[.!,;]", words)
        if not (is_marked or (short and not opens_step(words) and words[:1].isupper()) or self._plain_head(words)):
            return False
        if _STEP_HEADS.search(words):
            self.section = "steps"
            self.heads.add(number)
        elif _LIST_HEADS.search(words):
            self.section = "list"
            self._open_group(words, number)
        elif _WORD_HEADS.search(words):
            self.section = "words"
            self.unread.append(number)
        elif is_marked and self.section != "steps":
            self.section = "list"
            self._open_group(words, number)
        else:
            return False
        return True

    def _open_group(self, heading: str, number: int) -> None:
        self.groups.append(
            Group(len(self.groups) + 1, heading, number, _word(heading, number, _USES), _word(heading, number, _WAYS))
        )

    def _group(self, number: int) -> int:
        if not self.groups:
            self._open_group("", number)
        return self.groups[-1].number

    def _content(self, text: str, number: int) -> None:
        bare = _NUMBERED.sub("", text)
        was_numbered = bare != text
        if _ONLY_FACT.match(strip_bullet(bare)) or self.section == "words":
            self.unread.append(number)
        elif (part := read_ingredient(bare, number, 0, 0)) and self._is_ingredient(part, bare):
            self._add(read_ingredient(bare, number, self._group(number), 0), number)
        elif (
            self.section == "list"
            and not was_numbered
            and not opens_step(strip_bullet(bare))
            and not bare.endswith(".")
            and (read_bare_ingredient(bare, number, 0, 0))
        ):
            self._add(read_bare_ingredient(bare, number, self._group(number), 0), number)
        else:
            self._add_steps(strip_bullet(bare), number, certain=self.section == "steps" or was_numbered)

    def _is_ingredient(self, part: NoteIngredient, text: str) -> bool:
        """Not a sentence that only begins with a number: those have times and temperatures, or come among steps."""
        if self.section == "steps":
            return False
        has_figures = times_in(text, 1) or temperatures_in(text, 1)
        return not has_figures and len(part.item) <= 80 and not opens_step(text)

    def _add(self, part: NoteIngredient | None, number: int) -> None:
        if part is None:
            self.unread.append(number)
            return
        values = {**part.__dict__, "number": len(self.ingredients) + 1}
        self.ingredients.append(NoteIngredient(**values))

    def _add_steps(self, text: str, number: int, certain: bool) -> None:
        found: list[str] = []
        for sentence in sentences(text):
            starts = opens_step(sentence) or bool(times_in(sentence, number) or temperatures_in(sentence, number))
            if found and not starts:
                found[-1] += f". {sentence}"  # a remark on the step before it
            elif starts or certain:
                found.append(sentence)
            else:
                found = []
                break
        if not found and not (certain and text):
            self.unread.append(number)
        for sentence in found:
            self.steps.append(read_step(sentence.strip(), number, len(self.steps) + 1))


def _check(lines: tuple[str, ...], file: str) -> None:
    if len(lines) > MAX_LINES:
        raise PageError(file, MAX_LINES + 1, "notes", f"{len(lines)} lines", f"at most {MAX_LINES} lines: one method")
    if not any(line.strip() for line in lines):
        raise PageError(file, 1, "notes", "nothing", "a method in plain text")
    for number, line in enumerate(lines, 1):
        if len(line) > MAX_LINE:
            raise PageError(
                file, number, "notes", f"{len(line)} characters", f"at most {MAX_LINE} characters in a line"
            )
        for character in line:
            if character in _HIDDEN:
                name = unicodedata.name(character).lower()
                raise PageError(file, number, "notes", f"a hidden {name}", "text that reads as it is written")
            if (
                unicodedata.category(character) in ("Cc", "Zl", "Zp", "Cs") and character != "\t"
            ) or character == "\x85":
                raise PageError(file, number, "notes", f"no plain text (character {ord(character):#x})", "plain text")


def _word(text: str, line: int, table) -> Read | None:
    for value, words in table:
        if found := re.search(rf"\b(?:{words})\b", text, re.I):
            return Read(value, found[0], line)
    return None


def _facts(lines: tuple[str, ...]) -> dict[str, Read]:
    """What the lines say of the whole method. Said twice in two ways, it is open with both as choices."""
    found: dict[str, list[Read]] = {}
    for number, written in enumerate(lines, 1):
        text = " ".join(written.translate(_SPACES).split())
        for key, pattern, form in _FACTS:
            for match in re.finditer(pattern, text, re.I | re.ASCII):
                found.setdefault(key, []).append(Read(_fact(key, match, form), match[0], number))
        for value, words in _KINDS:
            if match := re.search(rf"\b{words}", text, re.I):
                found.setdefault("kind", []).append(Read(value, match[0], number))
        if _KEEPS.search(text):
            for read, *_ in times_in(text, number):
                found.setdefault("keeping.time", []).append(read)
    return {key: _one(reads) for key, reads in found.items()}


def _fact(key: str, match: re.Match, form: str) -> str:
    value = " ".join(match["value"].split())
    if key == "pieces.skin":
        return "on" if "on" in value.lower().split("-")[-1].split() else "off"
    if key == "pieces.origin":
        return "farmed" if value.lower() == "farmed" else "wild"
    if key == "pieces.thickness":
        unit = match["unit"].lower().rstrip(".")
        return form.format(value, "in" if unit in ("inch", "inches", "in", '"') else unit)
    return value


def _one(reads: list[Read]) -> Read:
    values = tuple(dict.fromkeys(each.value for each in reads if each.value))
    if len(values) == 1:
        return next(each for each in reads if each.value)
    words = ", ".join(dict.fromkeys(each.words for each in reads))
    return Read("", words, reads[0].line, "said in more than one way" if values else reads[0].why, values)
