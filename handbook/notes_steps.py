"""One sentence of directions: what it does to the food, how long, where, how warm."""

from __future__ import annotations

import re
from dataclasses import dataclass

from handbook.notes_figures import Read, every_in, temperatures_in, times_in


@dataclass(frozen=True)
class NoteStep:
    """One step as noted. Each part is what the words say; None where they say nothing of it.

    ``every`` is the time between two actions of a repeated one, ``action`` its words.
    """

    number: int
    line: int
    do: str
    stage: Read | None
    hands_on: Read | None
    time: Read | None
    place: Read | None
    heat: Read | None
    core: Read | None
    hold: Read | None
    every: Read | None = None
    action: str = ""


#: First word of an action -> stage, and whether the cook is at it (None: the word does not say).
ACTIONS: dict[str, tuple[str, bool | None]] = {
    **dict.fromkeys(
        ["mix", "stir", "whisk", "combine", "dissolve", "trim", "cut", "slice", "cube", "fillet", "skin", "debone", "shred", "chop", "grate", "score", "peel", "weigh", "sort", "measure", "crush", "toast", "grind", "bone", "scale", "gut"],
        ("prepare", True),
    ),
    **dict.fromkeys(["brine", "submerge", "immerse", "soak", "cure", "marinate", "steep"], ("salt", None)),
    **dict.fromkeys(["salt", "rub", "massage", "inject", "pump", "sprinkle", "strew", "knead"], ("salt", True)),
    **dict.fromkeys(["rinse", "wash"], ("rinse", True)),
    **dict.fromkeys(["freshen", "desalt"], ("freshen", None)),
    **dict.fromkeys(["rest", "stand", "dry", "air-dry", "hang"], ("rest", None)),
    **dict.fromkeys(["glaze", "brush", "baste", "lacquer"], ("glaze", True)),
    **dict.fromkeys(["smoke", "hot-smoke", "cold-smoke"], ("smoke", False)),
    **dict.fromkeys(["cook", "bake", "roast", "grill", "broil", "poach", "simmer", "boil", "fry", "steam", "sear", "braise"], ("cook", None)),
    **dict.fromkeys(["cool", "chill"], ("cool", False)),
    **dict.fromkeys(["freeze"], ("freeze", False)),
    **dict.fromkeys(["thaw", "defrost"], ("thaw", False)),
    **dict.fromkeys(["ferment"], ("ferment", False)),
    **dict.fromkeys(["pack", "wrap", "jar", "bottle", "bag", "vacuum-pack", "vacuum-seal"], ("pack", True)),
    **dict.fromkeys(["serve", "eat", "carve"], ("serve", True)),
}  # fmt: skip
#: Words that open a step without saying which stage it is.
_OPENERS = frozenset([
    "add", "put", "place", "lay", "pour", "bring", "heat", "warm", "remove", "take", "let", "leave", "keep",
    "store", "cover", "turn", "drain", "pat", "wipe", "refrigerate", "raise", "lower", "set", "arrange", "hold",
    "press", "weight", "finish", "transfer", "light", "open", "close", "flip", "check", "skim", "top", "fill",
    "return", "pull", "discard", "preheat", "scatter", "then", "when", "after", "once", "use", "make", "prepare",
    "start", "allow", "tuck", "spread", "shake", "toss", "apply", "reserve", "move",
])  # fmt: skip
_PLACES = (
    ("fridge", r"fridge|refrigerat\w+|icebox|walk-in"),
    ("freezer", r"freezer"),
    ("smoker", r"smoker|smokehouse"),
    ("oven", r"oven"),
    ("cellar", r"cellar|basement"),
    ("room", r"(?:at )?room temp(?:erature)?|on the counter|countertop"),
    ("stove", r"stove|stovetop|saucepan|skillet|frying pan"),
)
_CORE_BEFORE = re.compile(
    r"\b(?:internal|core|inside|in the (?:middle|centre|center|thickest)|probe|thermometer)\b[^.;]{0,45}$", re.I
)
_CORE_AFTER = re.compile(r"^\s*(?:°\s*)?(?:internal|core|inside|in the (?:middle|centre|center|thickest|core))\b", re.I)
_REACHED = re.compile(
    r"\b(?:until|till)(?:\s+(?:it|they|the\s+\w+|fish|meat))?"
    r"(?:\s+(?:reach(?:es)?|hits?|is|are|registers?|reads?|gets?\s+to|comes?\s+to))?\s*$|\b(?:reaches|hits|registers|reads|to\s+reach)\s+$",
    re.I,
)
_CHAMBER = re.compile(r"\b(?:smoker|oven|grill|chamber|heat|fire|preheat\w*|raise|cabinet|pit)\b[^.;,]{0,30}$", re.I)
_HOLD = re.compile(r"\b(?:hold|held|keep(?: it)? (?:there|at that))\b[^.;,]{0,30}$", re.I)
_FIRST = re.compile(r"[\W\d_]*(?:(?:hot|cold)[ -](?=smok))?([^\W\d_]+(?:-[^\W\d_]+)?)", re.I)
_SALT_IT = re.compile(r"\W*salt\s+(?:the|it|them|both|each|all|well|lightly|generously|inside|every|down)\b", re.I)
_ABBREVIATED = r"(?<!\bTbsp)(?<!\btbsp)(?<!\btsp)(?<!\bTsp)(?<!\bapprox)(?<!\bhr)(?<!\bhrs)(?<!\bmin)(?<!\bmins)(?<!\blb)(?<!\blbs)(?<!\boz)(?<!\bin)(?<!\bdeg)(?<!\bca)"
_SENTENCE = re.compile(rf"{_ABBREVIATED}[.!]\s+(?=[^\W\d_a-z])|;\s+|\s*,?\s+(?:and\s+)?then\s+(?=[a-z])")


def sentences(text: str) -> list[str]:
    """The sentences of a line, "then" beginning one of its own; too long ones are left whole."""
    found: list[str] = []
    for each in filter(None, map(str.strip, _SENTENCE.split(text))):
        if found and re.match(r"(?:and\s+)?(?:hold|core|internal)\b", each, re.I) and temperatures_in(found[-1], 1):
            found[-1] += f"; {each}"  # "hold for 30 min" belongs to the temperature before it
        else:
            found.append(each)
    return found


def stages_in(text: str) -> tuple[str, ...]:
    """The stages that the words of ``text`` name as actions, in their order."""
    return tuple(dict.fromkeys(ACTIONS[word][0] for word in _actions(text)))


def opens_step(text: str) -> bool:
    """Whether the words begin as directions do: with an action, or "put", "let", "when"."""
    first = _FIRST.match(text)
    if first and first[1].lower() == "salt" and not _SALT_IT.match(text):
        return False  # "salt, 160 g" names an ingredient
    return bool(first) and (first[1].lower() in ACTIONS or first[1].lower() in _OPENERS)


def read_step(text: str, line: int, number: int) -> NoteStep:
    """One sentence as a step. Two figures for one thing, or two stages, are left open with both as choices."""
    times = times_in(text, line)
    held = [each for each in times if _HOLD.search(text[: each[1]]) and temperatures_in(text[: each[1]], line)]
    lasting = [each[0] for each in times if each not in held]
    heats, cores = _heats(text, line)
    stage, hands_on = _stage(text, line)
    every = every_in(text, line)
    return NoteStep(
        number, line, text, stage, hands_on,
        _only(lasting, "time"), _place(text, line, stage), _only(heats, "temperature"),
        _only(cores, "core temperature"), _only([each[0] for each in held], "time"),
        every[0] if every else None, _clause(text, every[1]) if every else "",
    )  # fmt: skip


def _heats(text: str, line: int) -> tuple[list[Read], list[Read]]:
    """Temperatures of the surroundings, and of the core; "until it reaches" without more is the core's, but open."""
    heats, cores = [], []
    for read, start, end in temperatures_in(text, line):
        before, after = text[:start], text[end:]
        if _CORE_BEFORE.search(before) or _CORE_AFTER.match(after):
            cores.append(read)
        elif _REACHED.search(before) and not _CHAMBER.search(before):
            choices = read.choices or (read.value,)
            cores.append(Read("", read.words, line, "of the core, or of the air around it?", choices))
        else:
            heats.append(read)
    return heats, cores


def _only(found: list[Read], what: str) -> Read | None:
    if len(found) < 2:
        return found[0] if found else None
    words = ", ".join(each.words for each in found)
    choices = tuple(dict.fromkeys(each.value for each in found if each.value))
    return Read("", words, found[0].line, f"more than one {what} in one sentence", choices)


def _actions(text: str) -> list[str]:
    found = re.findall(r"[^\W\d_]+(?:-[^\W\d_]+)?|[,;.]", text.lower())
    named = []
    for place, word in enumerate(found):
        before = found[place - 1] if place else ""
        is_noun = before in (
            "the",
            "a",
            "an",
            "of",
            "your",
            "cold",
            "this",
            "in",
            "no",
            "with",
            "warm",
            "each",
            "some",
            "more",
        )
        if word == "dry" and before in ("pat", "wipe", "towel", "pat-dry"):
            continue
        if word in ACTIONS and not is_noun:
            named.append(word)
    return named


def _stage(text: str, line: int) -> tuple[Read | None, Read | None]:
    actions = _actions(text)
    found = stages_in(text)
    opening = _FIRST.match(text)
    first = opening[1].lower() if opening else ""
    if not found:
        return None, None
    if len(found) > 1 or first not in ACTIONS:
        why = "more than one stage in one sentence" if len(found) > 1 else "the action is named in passing"
        return Read("", ", ".join(dict.fromkeys(actions)), line, why, found), None
    is_at_it = {ACTIONS[word][1] for word in actions}
    said = is_at_it.pop() if len(is_at_it) == 1 else None
    return Read(found[0], first, line), None if said is None else Read("yes" if said else "no", first, line)


def _place(text: str, line: int, stage: Read | None) -> Read | None:
    found = [(name, match[0]) for name, words in _PLACES if (match := re.search(rf"\b(?:{words})\b", text, re.I))]
    if len(found) > 1:
        words = ", ".join(word for _, word in found)
        return Read("", words, line, "more than one place in one sentence", tuple(name for name, _ in found))
    if found:
        return Read(found[0][0], found[0][1], line)
    for word, place in (("smoke", "smoker"), ("bake", "oven"), ("roast", "oven"), ("freeze", "freezer")):
        if stage is not None and stage.value and stage.words == word:
            return Read(place, word, line)
    return None


def _clause(text: str, start: int) -> str:
    """The words around "every 30 minutes": from the comma or "and" before it to the end of the clause."""
    before = re.split(r"[,;]|\band\b", text[:start])[-1]
    after = re.split(r"[,;.]|\band\b", text[start:])[0]
    return " ".join((before + after).split())[:120]
