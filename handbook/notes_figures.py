"""Numbers, amounts, times and temperatures as people write them, turned into the handbook's own form.

What is written and clear becomes a value. What is written and not clear (``a pinch``, ``overnight``, ``350 degrees``)
keeps its words and the reason why it has to be asked; nothing is filled in.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from handbook.errors import UnitError
from handbook.units import parse_quantity


@dataclass(frozen=True)
class Read:
    """One piece of the notes: its ``value`` in the handbook's form, the ``words`` it came from and their ``line``.

    An empty value means that the words are there and do not settle it: ``why`` says what is open, ``choices`` are
    the readings that the words allow.
    """

    value: str
    words: str
    line: int
    why: str = ""
    choices: tuple[str, ...] = ()


_SIGNS = "½⅓⅔¼¾⅛⅜⅝⅞⅕⅙"
_COUNTED = {
    "half an": "1/2", "half a": "1/2", "a half": "1/2", "a quarter": "1/4", "half": "1/2", "quarter": "1/4",
    "an": "1", "a": "1", "one": "1", "two": "2", "three": "3", "four": "4", "five": "5", "six": "6", "seven": "7",
    "eight": "8", "nine": "9", "ten": "10", "eleven": "11", "twelve": "12",
}  # fmt: skip
NUMBER = (
    rf"(?:\d{{1,5}}\s*[{_SIGNS}]|[{_SIGNS}]|\d{{1,5}}(?:\s+and\s+|\s*&\s*|\s*-\s*|\s+)\d{{1,2}}/\d{{1,3}}(?!\d)"
    rf"|\d{{1,2}}/\d{{1,3}}(?!\d)|\d{{1,6}}(?:[.,]\d{{1,4}})?(?!\d)|\b(?:{'|'.join(_COUNTED)})\b)"
)
BETWEEN = r"(?:\s*[-–—]\s*|\s+(?:to|or)\s+)"
#: As written, without full stops and capitals -> the handbook's unit.
AMOUNT_UNITS = {
    **dict.fromkeys(("cup", "cups", "c"), "cup"),
    **dict.fromkeys(("tablespoon", "tablespoons", "tbsp", "tbsps", "tbs", "tbl", "tblsp"), "tbsp"),
    **dict.fromkeys(("teaspoon", "teaspoons", "tsp", "tsps"), "tsp"),
    **dict.fromkeys(("fl oz", "fluid ounce", "fluid ounces"), "fl oz"),
    **dict.fromkeys(("pint", "pints", "pt", "pts"), "pint"),
    **dict.fromkeys(("quart", "quarts", "qt", "qts"), "quart"),
    **dict.fromkeys(("gallon", "gallons", "gal", "gals"), "gallon"),
    **dict.fromkeys(("ounce", "ounces", "oz"), "oz"),
    **dict.fromkeys(("pound", "pounds", "lb", "lbs"), "lb"),
    **dict.fromkeys(("kilogram", "kilograms", "kilo", "kilos", "kg", "kgs"), "kg"),
    **dict.fromkeys(("gram", "grams", "gramme", "grammes", "g"), "g"),
    **dict.fromkeys(("milligram", "milligrams", "mg"), "mg"),
    **dict.fromkeys(("liter", "liters", "litre", "litres", "l", "ltr"), "L"),
    **dict.fromkeys(("deciliter", "deciliters", "decilitre", "decilitres", "dl"), "dL"),
    **dict.fromkeys(("milliliter", "milliliters", "millilitre", "millilitres", "ml", "cc"), "mL"),
}  # fmt: skip
#: Household volumes, which differ by country.
HOUSEHOLD = ("cup", "tbsp", "tsp", "fl oz", "pint", "quart", "gallon")
#: Told by the piece: a value only where the handbook knows what a piece weighs.
PIECE_WORDS = ("clove", "cloves", "leaf", "leaves", "sprig", "sprigs", "piece", "pieces")
BY_THE_PIECE = "told by the piece"
_NO_MEASURE = (
    "pinch", "pinches", "dash", "dashes", "handful", "handfuls", "bunch", "bunches", "stick", "sticks", "can", "cans",
    "bottle", "bottles", "package", "packages", "packet", "packets", "pkg", "head", "heads", "slice", "slices", "drop",
    "drops", "splash", "knob", "stalk", "stalks", "part", "parts", "glass", "glasses", "spoon", "spoons", "scoop",
    "bag", "bags", "jar", "jars", "side", "sides", "fillet", "fillets", "whole", "large", "small", "medium",
)  # fmt: skip
_LOOKS = ("whole", "large", "small", "medium")
_LOOSE = ("heaping", "heaped", "scant", "rounded", "generous", "lightly packed", "big", "good")
_ABOUT = r"(?:about|around|approximately|approx\.?|roughly|ca\.?|~|≈)\s*"
_AMOUNT = re.compile(
    rf"(?P<about>{_ABOUT})?(?P<low>{NUMBER})(?:{BETWEEN}(?P<high>{NUMBER}))?\s*-?\s*(?P<rest>.*)",
    re.I | re.S | re.ASCII,
)
_EACH = re.compile(r"\(\s*(?P<inside>[^()]{1,40})\)\s*(?P<rest>.*)", re.S)
_UNIT = re.compile(
    r"(?P<unit>fl\.?\s*oz\b\.?|fluid\s+ounces?\b|[A-Za-z]+\b\.?|%)\s*(?:of\s+(?!the\b))?(?P<rest>.*)", re.S
)
_TIME_UNITS = {
    **dict.fromkeys(("s", "sec", "secs", "second", "seconds"), ("s", 1)),
    **dict.fromkeys(("min", "mins", "minute", "minutes"), ("min", 60)),
    **dict.fromkeys(("h", "hr", "hrs", "hour", "hours"), ("h", 3600)),
    **dict.fromkeys(("day", "days"), ("days", 86400)),
    **dict.fromkeys(("week", "weeks", "wk", "wks"), ("weeks", 7 * 86400)),
    **dict.fromkeys(("month", "months"), ("months", 0)),
}  # fmt: skip
_UNIT_WORDS = "|".join(sorted(_TIME_UNITS, key=len, reverse=True))
_TIME = re.compile(
    rf"(?<![\w/.])(?P<low>{NUMBER})(?:\s*-?\s*(?P<low_unit>{_UNIT_WORDS})\b\.?)?"
    rf"(?:{BETWEEN}(?P<high>{NUMBER}))?\s*-?\s*(?P<unit>{_UNIT_WORDS})\b\.?"
    rf"(?:\s*(?:and\s+)?(?P<more>\d{{1,2}})\s*(?:min|mins|minutes)\b\.?|(?P<half>\s+and\s+a\s+half\b))?",
    re.I | re.ASCII,
)
_VAGUE_TIME = re.compile(
    r"\b(?:overnight|all (?:day|night)|(?:a )?(?:few|couple of|several|some) (?:minutes|hours|days|weeks)|a while"
    r"|until (?:dry|done|tacky|cold|cool|sour|firm|golden|tender|dissolved))\b",
    re.I,
)
_NIGHT_TO = re.compile(rf"\bovernight\s+(?:to|or)\s+(?:{_TIME.pattern})", re.I | re.ASCII)
_BOUND = re.compile(
    r"(?:at least|minimum(?: of)?|min\.?|up to|no (?:more|longer|less) than|not (?:more|less) than|max(?:imum)?\.?(?: of)?"
    r"|less than|more than|over|under|within)\s*$",
    re.I,
)
_EVERY = re.compile(r"\b(?:every|each|per|once|twice|times)\s*$", re.I)
_PER = re.compile(
    r"\s*(?:per|/|a|for (?:each|every))\s*(?:lb|pound|kg|kilo|inch|cm|side)\b|\s*each side\b|\s*per\b", re.I
)
_DEGREE = r"(?:°|º|˚|degrees?|degs?\b\.?)"
_SCALE = r"(?:fahrenheit|celsius|centigrade|[FC])(?![A-Za-z])"
_HEAT = re.compile(
    rf"(?<![\w/.,])(?P<low>[-−]?\d{{1,3}}(?:\.\d)?)\s*(?P<mark1>{_DEGREE})?\s*(?P<scale1>{_SCALE})?"
    rf"(?:{BETWEEN}(?P<high>[-−]?\d{{1,3}}(?:\.\d)?)\s*(?P<mark>{_DEGREE})?\s*(?P<scale>{_SCALE})?)?",
    re.I | re.ASCII,
)
_UNCLEAR = "a number that can be read in two ways, or in none"
_SAME_HEAT = re.compile(r"\s*[(/]\s*$")


def number_form(words: str) -> str | None:
    """A number as written in the form that the handbook reads, or None where it could be two numbers.

    >>> number_form("1-1/2"), number_form("half a"), number_form("2,5"), number_form("1,500")
    ('1 1/2', '1/2', '2.5', None)
    """
    words = " ".join(words.lower().split())
    if words in _COUNTED:
        return _COUNTED[words]
    words = re.sub(r"(\d)(?: and | ?& ?| ?- ?| )(\d{1,2}/\d)", r"\1 \2", words)
    if "," in words:
        whole, _, part = words.partition(",")
        return f"{whole}.{part}" if len(part) <= 2 else None
    if "/" in words and Fraction(words.rpartition("/")[2]) == 0:
        return None
    return words


def amount_at(text: str, line: int) -> tuple[Read, str] | None:
    """The amount that ``text`` begins with and the words after it, or None where it does not begin with one."""
    found = _AMOUNT.match(text)
    if found is None:
        return None
    rest, written = found["rest"], found["low"].lower() in _COUNTED
    if found["low"].lower() in ("a", "an", "one") and not found["high"] and re.match(r"\d", rest):
        return amount_at(rest, line)  # "one 4-pound piece"
    each = _EACH.match(rest)
    if each and (inside := amount_at(each["inside"], line)) and inside[0].value and not inside[1].strip():
        return _several(found, inside[0].value, text, each["rest"], line), each["rest"]
    quality = next((word for word in _LOOSE if rest.lower().startswith(word + " ")), "")
    unit, after = _unit_at(rest[len(quality) :].lstrip())
    if unit is None:
        if written and not quality:
            return None  # "a" and "one" begin sentences too
        words = text[: len(text) - len(rest)].strip()
        return _counted(found, "", words, line), rest
    if unit in _LOOKS and written:
        return None
    words = text[: len(text) - len(after)].strip().removesuffix(" of")
    if quality:
        return Read("", words, line, f"a {quality} spoon or cup is no measure"), after
    if unit in _NO_MEASURE or unit in PIECE_WORDS:
        return _counted(found, unit, words, line), after
    if unit in ("T", "t"):
        number = number_form(found["low"]) or ""
        return Read("", words, line, "T and t are easily mixed up", (f"{number} tbsp", f"{number} tsp")), after
    return _measured(found, unit, words, after, line)


def times_in(text: str, line: int) -> list[tuple[Read, int, int]]:
    """Every time in ``text`` with where it begins and ends; ``overnight`` and ``at least`` are open."""
    found = []
    night = _NIGHT_TO.search(text)
    if night:
        found.append((Read("", night[0].strip(" ."), line, "one end of the range has no figure"), *night.span()))
        text = text[: night.start()] + " " * len(night[0]) + text[night.end() :]
    for match in _TIME.finditer(text):
        if not _EVERY.search(text[: match.start()]):
            found.append((_time(match, text, line), match.start(), match.end()))
    for match in _VAGUE_TIME.finditer(text):
        why = "no figure: a time is a number and a unit"
        found.append((Read("", match[0], line, why), match.start(), match.end()))
    return sorted(found, key=lambda each: each[1])


def every_in(text: str, line: int) -> tuple[Read, int] | None:
    """The first ``every 30 minutes`` or ``twice a day`` of ``text`` and where it begins."""
    for match in _TIME.finditer(text):
        before = _EVERY.search(text[: match.start()])
        if before and before[0].strip().lower() in ("every", "each"):
            return _time(match, text, line), before.start()
    return None


def temperatures_in(text: str, line: int) -> list[tuple[Read, int, int]]:
    """Every temperature in ``text`` with where it begins and ends; one without a scale is open.

    >>> temperatures_in("bake at 350F (175C)", 1)[0][0].value
    '350 °F'
    """
    found: list[tuple[Read, int, int]] = []
    for match in _HEAT.finditer(text):
        marks = match["mark"] or match["mark1"]
        scale = (match["scale"] or match["scale1"] or "").upper()[:1]
        if not _is_heat(match, text, marks, scale):
            continue
        read = _temperature(match, scale, line)
        second = found and _SAME_HEAT.fullmatch(text[found[-1][2] : match.start()])
        if second:
            found[-1] = _both(found[-1], read, match.end())
        else:
            found.append((read, match.start(), match.end()))
    return found


def _several(found, each: str, text: str, rest: str, line: int) -> Read:
    words = text[: len(text) - len(rest)].strip()
    count = number_form(found["low"])
    number, _, unit = each.partition(" ")
    if found["high"] or count is None or not count.isdigit() or not re.fullmatch(r"\d+(\.\d+)?", number):
        return Read("", words, line, "a count and the size of one: write the whole amount")
    return Read(f"{float(Fraction(number) * int(count)):g} {unit}", words, line)


def _unit_at(rest: str) -> tuple[str | None, str]:
    match = _UNIT.match(rest)
    if match is None:
        return None, rest
    written = match["unit"].rstrip(".")
    word = re.sub(r"[.\s]+", " ", written.lower())
    if written in ("T", "t"):
        return written, match["rest"]
    if word == "%":
        return "%", rest[1:].lstrip()
    if word in AMOUNT_UNITS:
        return AMOUNT_UNITS[word], match["rest"]
    return (word, match["rest"]) if word in (*_NO_MEASURE, *PIECE_WORDS) else (None, rest)


def _counted(found, unit: str, words: str, line: int) -> Read:
    count = number_form(found["low"]) or ""
    if unit in ("", *PIECE_WORDS) and count.isdigit() and int(count) and not found["high"]:
        return Read("", words, line, BY_THE_PIECE, (f"{int(count)} pieces",))
    return Read("", words, line, f"{unit or 'a count'} is no measure: a mass or a volume")


def _measured(found, unit: str, words: str, after: str, line: int) -> tuple[Read, str]:
    low, high = number_form(found["low"]), number_form(found["high"] or found["low"])
    if low is None or high is None:
        return Read("", words, line, _UNCLEAR), after
    if found["high"]:
        return Read(
            "", words, line, "a range: an ingredient takes one amount", (f"{low} {unit}", f"{high} {unit}")
        ), after
    if unit == "%":
        base = re.match(
            r"\s*(?:of|by)\s+(?:the\s+)?(?:weight\s+of\s+(?:the\s+)?)?(food|meat|fish|water)\b(?:\s+weight)?", after
        )
        if base is None:
            why = "a share of what?"
            return Read("", words, line, why, (f"{low} % of food", f"{low} % of water")), after
        whole = "water" if base[1] == "water" else "food"
        return Read(f"{low} % of {whole}", f"{words} {base[0].strip()}", line), after[base.end() :]
    value = f"{low} {unit}"
    second = _EACH.match(after) or re.match(r"/\s*(?P<inside>\d[\d.,]*\s*[A-Za-z]+\.?)\s+(?P<rest>.*)", after, re.S)
    other = amount_at(second["inside"], line) if second else None
    if other and other[0].value and not other[1].strip():
        whole = f"{words} ({second['inside'].strip()})"
        return _two_measures(value, other[0].value, whole, line), second["rest"]
    plus = re.match(r"(?:plus|\+|and)\s+(?P<more>.*)", after, re.S | re.I)
    more = amount_at(plus["more"], line) if plus else None
    if more and (more[0].value or more[0].choices):
        why = "two measures added: the handbook takes one"
        return Read("", f"{words} + {more[0].words}", line, why), more[1]
    return Read(value, words, line), after


def _two_measures(first: str, second: str, words: str, line: int) -> Read:
    """One amount told twice: taken where both say the same within 3 %, as rounding does."""
    try:
        left, right = (parse_quantity(each, "mass", "volume") for each in (first, second))
    except UnitError:
        return Read("", words, line, "told twice", (first, second))
    if left.dimension == right.dimension and abs(left.low - right.low) <= 0.03 * left.low:
        return Read(first, words, line)
    return Read("", words, line, "told twice, in two measures", (first, second))


def _time(match: re.Match, text: str, line: int) -> Read:
    words = match[0].strip(" .")
    low, high = number_form(match["low"]), number_form(match["high"] or match["low"])
    if low is None or high is None:
        return Read("", words, line, _UNCLEAR)
    unit, seconds = _TIME_UNITS[match["unit"].lower()]
    low_seconds = _TIME_UNITS[(match["low_unit"] or match["unit"]).lower()][1]
    bound = _BOUND.search(text[: match.start()])
    if bound:
        return Read("", f"{bound[0].strip()} {words}", line, "a bound: a time is a figure or a range")
    if _PER.match(text[match.end() :]):
        return Read("", words + " per ...", line, "a time for each: write the whole time")
    unit = unit.removesuffix("s") if low == "1" and not match["high"] and seconds != 1 else unit
    value = f"{low} {unit}" if not match["high"] else f"{low}-{high} {unit}"
    if low_seconds != seconds:
        if not (low_seconds and seconds) or not match["high"]:
            return Read("", words, line, "two units in one time")
        value = _two_units(low, low_seconds, high, seconds)
    if match["half"]:
        if match["high"] or not low.isdigit():
            return Read("", words, line, "two times in one")
        value = f"{low} 1/2 {_TIME_UNITS[match['unit'].lower()][0]}"
    if match["more"]:
        if match["high"] or unit != "h":
            return Read("", words, line, "two times in one")
        value = f"{float(_fraction(low) * 60 + int(match['more'])):g} min"
    return _checked(value, "time", words, line)


def _two_units(low: str, low_seconds: int, high: str, seconds: int) -> str:
    smaller, name = min((low_seconds, _name(low_seconds)), (seconds, _name(seconds)))
    ends = (float(_fraction(low) * low_seconds / smaller), float(_fraction(high) * seconds / smaller))
    return f"{ends[0]:g}-{ends[1]:g} {name}"


def _name(seconds: int) -> str:
    return next(name for name, size in _TIME_UNITS.values() if size == seconds)


def _fraction(number: str) -> Fraction:
    quantity = parse_quantity(f"{number} s", "time")
    return Fraction(quantity.low).limit_denominator(1000)


def _is_heat(match: re.Match, text: str, marks: str | None, scale: str) -> bool:
    """Whether a number is a temperature: a degree, a scale close to it, or an oven's number after "at" or "to"."""
    if marks:
        return True
    large = abs(int(float(match["low"].replace("−", "-")))) >= 20
    if scale:
        return large or match[0][match.end("low") - match.start() :][:1] in "FCfc"
    before = re.search(r"\b(?:at|reaches|hits|internal(?: temp(?:erature)?)?(?: of)?)\s+$", text[: match.start()], re.I)
    after = re.match(r"\s*(?:-?\s*[A-Za-z%]+)?", text[match.end() :])[0].strip(" -").lower()
    measured = (
        after in _TIME_UNITS or after in AMOUNT_UNITS or after in ("mm", "cm", "in", "inch", "inches", "%", "am", "pm")
    )
    before = before or after in ("internal", "core", "inside")
    return bool(before) and abs(float(match["low"].replace("−", "-"))) >= 60 and not measured


def _temperature(match: re.Match, scale: str, line: int) -> Read:
    words, low = match[0].strip(), match["low"].replace("−", "-")
    number = low if match["high"] is None else f"{low}-{match['high'].replace('−', '-')}"
    if not scale:
        return Read("", words, line, "which scale?", (f"{number} °F", f"{number} °C"))
    return _checked(f"{number} °{scale}", "temperature", words, line)


def _both(first: tuple[Read, int, int], second: Read, end: int) -> tuple[Read, int, int]:
    """One temperature told in both scales: taken where they agree within 3 K, as rounding does."""
    read, start, _ = first
    words = f"{read.words} / {second.words}"
    if not (read.value and second.value):
        return Read(read.value or second.value, words, read.line), start, end
    ends = [parse_quantity(each.value, "temperature") for each in (read, second)]
    if abs(ends[0].low - ends[1].low) <= 3 and abs(ends[0].high - ends[1].high) <= 3:
        return Read(read.value, words, read.line), start, end
    return Read("", words, read.line, "both scales, and they disagree", (read.value, second.value)), start, end


def _checked(value: str, dimension: str, words: str, line: int) -> Read:
    try:
        parse_quantity(value, dimension)
    except UnitError as error:
        return Read("", words, line, f"not a {dimension} that the handbook reads: {error.allowed}")
    return Read(value, words, line)
