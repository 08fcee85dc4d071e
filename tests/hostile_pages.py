"""Method pages gone wrong: mutations that know how a page is built, for the suite and for the fuzz target.

``mutated`` takes anything with the methods of ``random.Random``, so that Hypothesis can drive and shrink it.
"""

from __future__ import annotations

import re
from pathlib import Path

METHODS = Path(__file__).resolve().parent.parent / "methods"
#: Texts that would do harm somewhere: in HTML, SVG, XML, a terminal, a spreadsheet, a shell, a template, a path.
HARMFUL = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "' onmouseover='alert(1)",
    "</title></style></textarea><svg/onload=alert(1)>",
    "]]><x/>",
    "--><b>",
    "javascript:alert(1)",
    "[x](javascript:alert(1))",
    "data:text/html,<script>alert(1)</script>",
    "file:///etc/passwd",
    "../../../../etc/passwd",
    "..\\..\\windows",
    "=cmd|' /C calc'!A1",
    "+1+1",
    "@SUM(1)",
    "{{ 7 * 7 }}",
    "{% for x in y %}",
    "${7*7}",
    "$(reboot)",
    "`reboot`",
    "%s%n%x",
    "!!python/object/apply:os.system [reboot]",
    "&a [*a, *a]",
    "handbook-block-0-here",
    "| a | b |",
    "# heading",
    "---",
    "```steps",
    "~~~",
)
#: Texts that are only unusual: other scripts, marks that join, very long words.
UNUSUAL = (
    "דג לבן מעושן",
    "سمك أبيض مدخن",
    "白身魚の燻製",
    "훈제 흰살생선",
    "👩\u200d🍳🐟",
    "e\u0301" * 20,
    "Donaudampfschifffahrtsgesellschaft" * 3,
    "x" * 90,
    "ﬀ İ ß Ǆ",
    "\u00ad\u200b\u200e\u200f",
    "\u202e gnirts",
    "\x00\x07\x1b[31m",
    "\ufeff",
    "\u2028",
    "١٢ kg",
    "１２ kg",
)
QUANTITIES = (
    "0", "0 kg", "-1 kg", "1e3 kg", "1e308 g", "NaN kg", "inf s", "1/0 cup", "0/1 cup", "999999999 kg",
    "0.000000001 g", "1-1 h", "24-12 h", "1 h 30 min", "1,5 kg", "½ cup", "1 ½ cup", "400 days", "1 s", "1 min",
    "-18 °C", "-60 °C", "0 °C", "100 °C", "400 °C", "451 °F", "0 %", "100 %", "0.001 mm", "1 mm", "1 m", "5000 kg",
    "100 % of food", "300 % of water", "1 ppm of food", "26 % of all", "to target", "9999 leaves", "0 leaves", "yes", "no", "null", "~", "", "[]", "{}", "[a, b]", "{a: b}", "core", "target salt",
)  # fmt: skip
UNITS = ("kg", "g", "mg", "lb", "oz", "L", "ml", "cup", "tbsp", "tsp", "m", "cm", "mm", "in", "s", "min", "h", "days",
         "weeks", "months", "°C", "°F", "%", "ppm", "% of food", "% of water", "pieces")  # fmt: skip
KEYS = ("title", "food", "kind", "portions", "shape", "thickness", "width", "length", "mass", "skin", "sizes", "name",
        "ingredients", "item", "amount", "target_salt", "pump", "temperature", "container", "stays_on", "do", "stage",
        "time", "until", "hands_on", "place", "chamber", "humidity", "air", "core", "hold", "use", "water", "changes",
        "loss", "gain", "final_ph", "repeat", "every", "takes", "written_for", "show", "pack", "frozen")  # fmt: skip
_PAIR = re.compile(r"(?P<key>\b[a-z_]+): *(?P<value>\"[^\"\n]*\"|[^,{}\[\]\n\"]+)")
_NUMBER = re.compile(r"\d+(?:\.\d+)?")
_UNIT = re.compile(r"(?<=\d) ?(kg|g|mg|lb|oz|L|ml|cup|tbsp|tsp|mm|cm|m|in|s|min|h|days|weeks|°C|°F|%)(?![a-z])")
_FENCED = re.compile(r"^```[a-z]+\n.*?^```$", re.M | re.S)

SMALL = """---
title: Char in a quick brine
food: char, Arctic
kind: {kind}
summary: Short.
keeper: Ilse
reviewed: 2026-10-02
portions: 8
---
```pieces
shape: {shape}
thickness: 20-25 mm
width: 40 mm
length: 120 mm
```
```salting
kind: {salting}
{more}
ingredients:
  - {{item: "water, tap", amount: 2 L}}
  - {{item: "salt, fine sea", amount: 90 g}}
```
```glaze
stays_on: 4 % of food
ingredients:
  - {{item: "syrup, birch", amount: 1/2 cup}}
```
```steps
- {{do: Brine, stage: salt, time: 60-75 min, place: fridge, temperature: 3 °C}}
- {{do: Rinse, stage: rinse, time: 5 min}}
- {{do: Rest, stage: rest, time: 2 h, place: fridge, temperature: 3 °C, loss: 1 %}}
- {{do: Bake, stage: {stage}, until: core, place: oven, chamber: 120 °C, core: 63 °C, use: glaze, repeat: {{every: 10 min, do: brush}}}}
- {{do: Chill, stage: cool, time: 2 h, place: fridge, air: forced, temperature: 1 °C}}
```
```batches
written_for: 2 kg
```
```keeping
pack: air
temperature: 3 °C
time: 2 days
```
"""


def seed_pages() -> tuple[str, ...]:
    """Pages to begin with: the demo methods, and one small page for each way of salting and shape."""
    salting = {"equilibrium": "target_salt: 2 % of all", "injection": "pump: 10 %"}
    kinds = ("immersion", "equilibrium", "injection", "dry cure", "ferment brine", "dry-salted ferment")
    shapes = ("slab", "block", "cylinder", "sphere")
    small = [
        SMALL.format(
            kind="cook",
            shape=shapes[number % 4],
            salting=kind,
            more=salting.get(kind, "name: brine"),
            stage="smoke" if number % 2 else "cook",
        )
        for number, kind in enumerate(kinds)
    ]
    return tuple(small) + tuple(path.read_text("utf-8") for path in sorted(METHODS.glob("*.md")))


def mutated(text: str, others: tuple[str, ...], random, rounds: int = 1) -> str:
    """``text`` after ``rounds`` mutations drawn from ``random``; ``others`` are pages to take parts from."""
    for _ in range(rounds):
        text = random.choice(_MUTATIONS)(text, others, random)
    return text


def _drop_line(text, others, random):
    lines = text.split("\n")
    at = random.randrange(len(lines))
    return "\n".join(lines[:at] + lines[at + random.choice((1, 1, 1, 2, 5)) :])


def _double_line(text, others, random):
    lines = text.split("\n")
    at = random.randrange(len(lines))
    count = random.choice((1, 1, 2, 10, 40))
    return "\n".join(lines[: at + 1] + [lines[at]] * count + lines[at + 1 :])


def _swap_lines(text, others, random):
    lines = text.split("\n")
    a, b = random.randrange(len(lines)), random.randrange(len(lines))
    lines[a], lines[b] = lines[b], lines[a]
    return "\n".join(lines)


def _at_pair(text, random, replaced):
    pairs = list(_PAIR.finditer(text))
    if not pairs:
        return text + replaced("", "")
    found = random.choice(pairs)
    return text[: found.start()] + replaced(found["key"], found["value"]) + text[found.end() :]


def _swap_values(text, others, random):
    values = [found["value"] for found in _PAIR.finditer(text)] or [""]
    return _at_pair(text, random, lambda key, value: f"{key}: {random.choice(values)}")


def _same_key_elsewhere(text, others, random):
    """The value that the same key has on another page: most such pages still read without a fault."""
    other = random.choice(others)

    def replaced(key, value):
        values = [found["value"] for found in _PAIR.finditer(other) if found["key"] == key] or [value]
        return f"{key}: {random.choice(values)}"

    return _at_pair(text, random, replaced)


def _odd_quantity(text, others, random):
    return _at_pair(text, random, lambda key, value: f"{key}: {random.choice(QUANTITIES)}")


def _odd_text(text, others, random):
    odd = random.choice(HARMFUL + UNUSUAL)
    if random.random() < 0.5:
        odd = '"' + odd.replace("\\", "\\\\").replace('"', '\\"') + '"'
    return _at_pair(text, random, lambda key, value: f"{key}: {odd}")


def _insert_text(text, others, random):
    at = random.randrange(len(text) + 1)
    return text[:at] + random.choice(HARMFUL + UNUSUAL) + text[at:]


def _scale_number(text, others, random):
    found = list(_NUMBER.finditer(text))
    if not found:
        return text
    number = random.choice(found)
    scaled = float(number[0]) * 10.0 ** random.randint(-9, 9) if random.random() < 0.5 else float(number[0]) * 2
    written = f"{scaled:.9f}".rstrip("0").rstrip(".") or "0"
    return text[: number.start()] + written + text[number.end() :]


def _swap_unit(text, others, random):
    found = list(_UNIT.finditer(text))
    if not found:
        return text
    unit = random.choice(found)
    return text[: unit.start(1)] + random.choice(UNITS) + text[unit.end(1) :]


def _swap_key(text, others, random):
    return _at_pair(text, random, lambda key, value: f"{random.choice(KEYS)}: {value}")


def _drop_pair(text, others, random):
    return _at_pair(text, random, lambda key, value: "")


def _double_pair(text, others, random):
    joint = random.choice((", ", "\n", "\n  "))
    return _at_pair(text, random, lambda key, value: f"{key}: {value}{joint}{key}: {value}")


def _add_pair(text, others, random):
    new = f"{random.choice(KEYS)}: {random.choice(QUANTITIES)}"
    return _at_pair(text, random, lambda key, value: f"{key}: {value}, {new}")


def _break_fence(text, others, random):
    fences = [found.start() for found in re.finditer(r"^(```|---)", text, re.M)]
    if not fences:
        return text + "\n```steps\n"
    at = random.choice(fences)
    return text[:at] + random.choice(("", "`", "````", "~~~", " ```", "```x", ">```", "\t")) + text[at + 3 :]


def _indent(text, others, random):
    lines = text.split("\n")
    at = random.randrange(len(lines))
    lines[at] = random.choice((" ", "  ", "\t", "- ", "- - ", "> ", "    ")) + lines[at]
    return "\n".join(lines)


def _take_block(text, others, random):
    blocks = _FENCED.findall(random.choice(others))
    if not blocks:
        return text
    block, own = random.choice(blocks), list(_FENCED.finditer(text))
    if not own or random.random() < 0.3:
        return f"{text}\n{block}\n"
    found = random.choice(own)
    return text[: found.start()] + block + text[found.end() :]


def _bomb(text, others, random):
    count = random.choice((20, 300, 3000))
    bomb = random.choice(("[", "{a: ", "- ", "&a ", "*a, ", "<", "[](", "> ", "1. ", "a", "ﷺ", "`", "#", "\n- {do: a}"))
    at = random.randrange(len(text) + 1)
    return text[:at] + bomb * count + text[at:]


def _line_ends(text, others, random):
    return text.replace("\n", random.choice(("\r\n", "\r", "\n\n", "\n \n", "\u2028")))


def _cut(text, others, random):
    at = random.randrange(len(text) + 1)
    return text[:at] if random.random() < 0.5 else text[at:]


def _drop_character(text, others, random):
    at = random.randrange(len(text) + 1)
    return text[:at] + text[at + 1 :]


_MUTATIONS = (
    _drop_line, _double_line, _swap_lines, _swap_values, _same_key_elsewhere, _same_key_elsewhere, _odd_quantity,
    _odd_text, _insert_text, _scale_number, _scale_number, _swap_unit, _swap_key, _drop_pair, _double_pair, _add_pair,
    _break_fence, _indent, _take_block, _bomb, _line_ends, _cut, _drop_character,
)  # fmt: skip
