"""The front matter of a method page: its title, food, kind and other descriptions."""

from __future__ import annotations

import datetime
import re
from functools import lru_cache
from typing import Annotated, Any

from msgspec import Struct

from handbook.base.forms import Choice, Count, Date, Form, ListOf, Name, Reading, Words, YesNo
from handbook.base.records import Key, Record, record_of
from handbook.base.yaml_text import Text
from handbook.page.vocabulary import Vocabulary

KINDS = ("hot smoke", "cold smoke", "cook", "dry cure", "brine", "ferment", "pickle", "dried")
_ADDING = "a new one is a row of the house's foods.csv: `handbook names --columns foods` writes its head"
#: Who makes the food safe to eat: the page, or the eater who cooks it.
EATEN = ("as it is", "cooked by the eater")


class EarlierName(Form, frozen=True, kw_only=True):
    """The name that a page had: its path in the folder without ``.md``, such as ``smoked-char`` or ``fish/char``."""

    allowed = 'the name that the page had in this folder, such as "smoked-char" or "fish/char"'

    def read_text(self, node: Text, key: str, reading: Reading) -> Any:
        name = node.value.removesuffix(".md")
        if len(name) <= 200 and all(re.fullmatch(r"[A-Za-z0-9_][\w .,()+-]{0,99}", part) for part in name.split("/")):
            return name
        return self._fault(node, key, reading)


class FrontMatter(Struct, frozen=True, kw_only=True):
    """The front matter of a page."""

    title: Annotated[str, Key("name of the method", Words(limit=100))]
    food: Annotated[str, Key("the food, as in the list of foods")]
    kind: Annotated[str, Key("kind of method", Choice(words=KINDS))]
    summary: Annotated[str, Key("one line for the contents", Words(limit=300))]
    keeper: Annotated[str, Key("who keeps the page", Words(limit=80))]
    reviewed: Annotated[datetime.date, Key("day of the last review", Date())]
    portions: Annotated[int, Key("portions from the batch the page was written for", Count(low=1, high=10_000))]
    tags: Annotated[tuple[str, ...], Key("words for the search", ListOf(form=Words(limit=40), limit=20))] = ()
    equipment: Annotated[tuple[str, ...], Key("equipment needed", ListOf(form=Words(limit=60), limit=30))] = ()
    inspection: Annotated[bool, Key("whether the site holds an inspector's folder of the method", YesNo())] = False
    eaten: Annotated[str, Key("eaten as it is, or cooked by the eater", Choice(words=EATEN))] = EATEN[0]
    was: Annotated[
        tuple[str, ...],
        Key("earlier names of the page; their addresses redirect to it", ListOf(form=EarlierName(), limit=20)),
    ] = ()
    line: int


@lru_cache(maxsize=8)
def front_matter_form(words: Vocabulary) -> Record:
    """The form of the front matter in a house with these names."""
    return record_of(FrontMatter, food=Name(kind="a food", names=lambda: words.foods, adding=_ADDING))
