"""The starter page and house file that ``handbook new`` writes."""

from __future__ import annotations

import datetime

from handbook.base.did_you_mean import nearest
from handbook.base.errors import UnitError
from handbook.catalogue.tables import Tables
from handbook.page.front_matter import KINDS

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
