"""The starter pages and house files that ``handbook new`` and ``handbook begin`` write."""

from __future__ import annotations

import datetime
import re
from importlib.resources import files
from math import ceil, floor

import yaml

from handbook.base.did_you_mean import nearest
from handbook.base.errors import UnitError, format_fault, printable
from handbook.catalogue.tables import Tables
from handbook.folder.file_names import name_faults
from handbook.page.front_matter import KINDS
from site_build.reading.book import GENERATED

_PAGE = """---
title: {title}
food: {food}
kind: {kind}            # {kinds}
summary: One line for the contents page.
keeper: your name
reviewed: {today}
portions: 8                # from the batch that the page is written for
tags: [first try]
equipment: [scale, thermometer, tub]
---

Write here what the cook should know first: what it is, why it is done so, how it looks when it is right.

## The pieces

```pieces
shape: slab                # slab, block, cylinder or sphere
thickness: "20-25 mm"      # the smallest way through; the diameter of a cylinder or sphere
skin: "on"                 # off, on or shell
```

## The brine

```salting
kind: immersion            # immersion, equilibrium, injection, dry cure, ferment brine, dry-salted ferment
temperature: "3 °C"
ingredients:               # amounts for the batch named under batches
  - {{item: "water, tap", amount: "2 L"}}
  - {{item: "salt, fine sea", amount: "160 g"}}   # a volume needs the crystal type; `handbook names salt` lists them
```

## The work

```steps
- {{do: Mix the brine and chill it, stage: prepare, time: "20 min", hands_on: yes}}
- {{do: Lay the pieces in the brine, stage: salt, use: brine, time: "2-3 h", place: fridge, temperature: "3 °C"}}
- {{do: Cook to the core temperature, stage: cook, time: "75-90 min", place: oven, chamber: "120 °C", core: "74 °C", hold: "30 min"}}
- {{do: Serve hot, stage: serve, time: "5 min", hands_on: yes}}
```

```batches
written_for: "2 kg"
```
"""

_HOUSE = """# What is true for the whole kitchen. See DEVELOPERS.md for every key.
kitchen: My kitchen
measures: us               # us, metric or imperial cups and spoons
batches: ["1 kg", "2 kg", "5 kg"]
thicknesses: ["15 mm", "20 mm", "25 mm", "30 mm"]
fridge: "3 °C"
containers:
  - {name: small tub, length: "26 cm", width: "18 cm", height: "12 cm"}
  - {name: large tub, length: "40 cm", width: "30 cm", height: "20 cm"}
"""


#: Families of methods, each with a starter page, and their descriptions.
FAMILIES = {
    "wet-brine": "meat, fowl or fish an hour or a night in brine, then cooked",
    "equilibrium-brine": "a brine that ends as salty as the food",
    "dry-cure": "salt and curing salt rubbed on by weight",
    "hot-smoke": "brined, then smoked until the core is hot",
    "cold-smoke": "frozen, cured, smoked cold and eaten raw",
    "barbecue": "rubbed and smoked until it pulls apart",
    "sausage": "minced, cured, filled and smoked",
    "dried-meat": "strips heated, then dried",
    "brined-ferment": "vegetables soured under a brine",
    "dry-salted-ferment": "vegetables soured in their own juice",
    "vinegar-pickle": "vegetables in a vinegar pickle, kept cold",
    "cheese-brine": "cheese ripened under brine",
    "roast": "salted ahead and roasted",
}

_BEGAN = """# What is true for the whole kitchen. `handbook manual` has every key.
kitchen: {kitchen}
# Cups and spoons: us, metric or imperial.
measures: {measures}
# The scale that readers see first: C or F. Pages may write both.
degrees: {degrees}
# Whose guidance applies: home, retail or commercial; whose law judges the pages: United States, European Union or none named.
audience: {audience}
place: {place}
# Prices are optional: prices: [{{item: fine sea salt, price: 1.90 per kg}}]
currency: {currency}
# As its thermometer reads.
fridge: {fridge}
# Batch sizes and thicknesses that every page shows.
batches: [{batches}]
thicknesses: [10 mm, 15 mm, 20 mm, 25 mm, 30 mm, 40 mm]
# Inner sizes. Put your own here.
containers:
  - {{name: small tub, length: 26 cm, width: 18 cm, height: 12 cm}}
  - {{name: large tub, length: 40 cm, width: 30 cm, height: 20 cm}}
  - {{name: bin, length: 50 cm, width: 36 cm, height: 34 cm}}
"""


def family_page(family: str, name: str, degrees: str = "C", food: str = "") -> str:
    """The starter page of a family, for a page called ``name``.

    Its blanks are questions in angle brackets, which ``check`` asks. Temperatures are in ``degrees``, C or F.
    """
    text = files("site_build").joinpath("starters", f"{family}.md").read_text("utf-8")
    text = text.replace("{title}", name.replace("-", " ").capitalize()).replace("{today}", str(datetime.date.today()))
    if food:
        text = re.sub(r"^food: .*$", lambda _: f"food: {_quoted(food)}", text, count=1, flags=re.MULTILINE)
    return _in_fahrenheit(text) if degrees == "F" else text


def refused_name(name: str) -> str:
    """The fault of the name of a new page, or an empty text."""
    if not re.fullmatch(r"[a-z0-9][a-z0-9-]{0,79}", name):
        return format_fault(printable(name), "small letters, digits and hyphens, at most 80")
    if f"{name}.md" in GENERATED:
        return format_fault(f"{name}.md", "another name: the generator makes this page")
    faults = name_faults("", [f"{name}.md"], GENERATED)
    return format_fault(faults[0].read, faults[0].allowed) if faults else ""


def began_house(kitchen: str, measures: str, degrees: str, currency: str, audience: str, place: str) -> str:
    """The house file of a new handbook, with the answers of the user and plain values for the rest."""
    return _BEGAN.format(
        kitchen=_quoted(kitchen),
        measures=measures,
        degrees=degrees,
        audience=audience,
        place=place,
        currency=_quoted(currency),
        fridge="37 °F" if degrees == "F" else "3 °C",
        batches="2 lb, 5 lb, 10 lb" if measures == "us" else "1 kg, 2 kg, 5 kg",
    )


def _quoted(text: str) -> str:
    """A text as a value of YAML, in quotes where it needs them."""
    return yaml.safe_dump(text, allow_unicode=True, width=10_000).removesuffix("...\n").strip()


def _in_fahrenheit(text: str) -> str:
    """Temperatures in °F: heat rounded up, cold down, so that no limit is missed by rounding."""

    def written(match: re.Match[str]) -> str:
        ends = []
        for number in filter(None, (match[1], match[2])):
            celsius, fahrenheit = int(number), int(number) * 9 / 5 + 32
            ends.append(ceil(fahrenheit) if celsius >= 50 else floor(fahrenheit) if celsius <= 5 else round(fahrenheit))
        return "-".join(map(str, ends)) + " °F"

    return re.sub(r"(?<![\d-])(-?\d+)(?:-(\d+))? °C", written, text)


def starter_page(name: str, food: str, kind: str, tables: Tables) -> str:
    """A commented page that ``check`` accepts. Raises UnitError for an unknown food or kind."""
    if food not in tables.foods:
        raise UnitError(food, "a food of the handbook (handbook names lists them)", nearest(food, tables.foods))
    if kind not in KINDS:
        raise UnitError(kind, ", ".join(KINDS), nearest(kind, KINDS))
    title = name.replace("-", " ").capitalize()
    return _PAGE.format(title=title, food=food, kind=kind, kinds=", ".join(KINDS), today=datetime.date.today())


def starter_house() -> str:
    """A small house file."""
    return _HOUSE
