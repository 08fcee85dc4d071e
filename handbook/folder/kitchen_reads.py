"""Records which house data a computation reads. With equal values of these its result is the same.

``watched`` gives a view of a kitchen that records each read by a name, such as ``setting fridge`` or ``food cod,
Atlantic``; ``ReadValues`` hashes the value under such a name. A read of a missing row counts too.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from hashlib import sha256
from typing import Any, TypeVar

from msgspec import Struct
from msgspec.structs import asdict

from handbook.base.did_you_mean import Resolution, Resolver
from handbook.catalogue.ingredients import Ingredient
from handbook.catalogue.tables import Tables
from handbook.folder.kitchen import Kitchen
from handbook.page.house import House, SignedException
from handbook.page.vocabulary import Vocabulary

Row = TypeVar("Row")
_SETTINGS = frozenset(House.__struct_fields__)
_VOCABULARIES = Vocabulary.__struct_fields__


class Watched(Struct, frozen=True, kw_only=True):
    """A kitchen that adds the name of each read to ``reads``."""

    kitchen: Kitchen
    reads: set[str]


def watched(kitchen: Kitchen) -> Watched:
    """A view of ``kitchen`` with nothing read yet."""
    reads: set[str] = set()
    tables = _WatchedTables(
        foods=_WatchedRows("food", kitchen.tables.foods, reads.add),
        ingredients=_WatchedRows("ingredient", kitchen.tables.ingredients, reads.add),
    )
    vars(tables).update({"_whole": kitchen.tables, "_note": reads.add})
    words = Vocabulary(
        **{kind: _watched_names(kind, getattr(kitchen.words, kind), reads.add) for kind in _VOCABULARIES}
    )
    view = Kitchen(house=_watched_house(kitchen.house, reads.add), tables=tables, wording=kitchen.wording)
    vars(view)["words"] = words  # in place of the cached property, which would read every name
    return Watched(kitchen=view, reads=reads)


class ReadValues:
    """The values of one kitchen by the names of reads, each as a short hash."""

    def __init__(self, kitchen: Kitchen, today: datetime.date | None = None):
        self._kitchen, self._today = kitchen, today or datetime.date.today()
        self._marks: dict[str, str] = {}

    def mark(self, read: str) -> str:
        """The hash of the name ``read`` with its value. Raises KeyError for an unknown name."""
        if read not in self._marks:
            said = f"{read}\0{self._value(read)!r}"
            self._marks[read] = sha256(said.encode("utf-8", "surrogatepass")).hexdigest()[:24]
        return self._marks[read]

    def marks(self, reads: Iterable[str]) -> str:
        """The hashes of several names, joined. Raises KeyError for an unknown name."""
        return "".join([self._marks.get(each) or self.mark(each) for each in reads])

    def _value(self, read: str) -> object:
        (kind, _, name), kitchen = read.partition(" "), self._kitchen
        list_name, _, said = name.partition(": ")
        match kind:
            case "setting" if name in _SETTINGS:
                return getattr(kitchen.house, name)
            case "wording":
                return kitchen.wording.mark
            case "price":
                return kitchen.house.price_of(name)
            case "exceptions":  # and which have expired, since findings change on that day
                own = kitchen.house.exceptions_of(name)
                return [(each, each.is_early(self._today), each.is_over(self._today)) for each in own]
            case "food":
                return kitchen.tables.foods.get(name)
            case "ingredient":
                return kitchen.tables.ingredients.get(name)
            case "every-food":
                return list(kitchen.tables.foods.values())
            case "every-ingredient":
                return list(kitchen.tables.ingredients.values())
            case "salts":
                return kitchen.tables.salts
            case "has":
                return said in getattr(kitchen.words, list_name)
            case "means":
                return getattr(kitchen.words, list_name).resolve(said)
            case "names":
                return list(getattr(kitchen.words, name))
        raise KeyError(read)


def _sent(view: Struct) -> str | tuple[Any, ...]:
    """A view goes to another process as the record that it shows: nobody there asks what was read."""
    whole: Struct = vars(view)["_whole"]
    return whole.__reduce__()


class _WatchedHouse(House, frozen=True, dict=True, kw_only=True):
    """A house that records each setting that is read. A price and a method's exceptions are separate reads."""

    __reduce__ = _sent

    def __getattribute__(self, name: str) -> Any:
        if name in _SETTINGS:
            vars(self)["_note"](f"setting {name}")
        return super().__getattribute__(name)

    def price_of(self, item: str) -> tuple[float, str] | None:
        vars(self)["_note"](f"price {item}")
        whole: House = vars(self)["_whole"]
        return whole.price_of(item)

    def exceptions_of(self, method: str) -> tuple[SignedException, ...]:
        vars(self)["_note"](f"exceptions {method}")
        whole: House = vars(self)["_whole"]
        return whole.exceptions_of(method)

    def without_exceptions(self) -> House:
        return _watched_house(vars(self)["_whole"].without_exceptions(), vars(self)["_note"])

    def for_audience(self, audience: str) -> House:
        return _watched_house(vars(self)["_whole"].for_audience(audience), vars(self)["_note"])


def _watched_house(whole: House, note: Callable[[str], object]) -> House:
    house = _WatchedHouse(**asdict(whole))
    vars(house).update({"_whole": whole, "_note": note})
    return house


class _WatchedTables(Tables, frozen=True, dict=True, kw_only=True):
    """Tables in which all salts together are one read."""

    __reduce__ = _sent

    @property
    def salts(self) -> tuple[Ingredient, ...]:
        vars(self)["_note"]("salts")
        whole: Tables = vars(self)["_whole"]
        return whole.salts


class _WatchedRows(Mapping[str, Row]):
    """Rows by name that record which are read: one, or all of them."""

    def __init__(self, kind: str, rows: Mapping[str, Row], note: Callable[[str], object]):
        self._kind, self._rows, self._note = kind, rows, note

    def __getitem__(self, name: str) -> Row:
        self._note(f"{self._kind} {name}")
        return self._rows[name]

    def __iter__(self) -> Iterator[str]:
        self._note(f"every-{self._kind}")
        return iter(self._rows)

    def __len__(self) -> int:
        self._note(f"every-{self._kind}")
        return len(self._rows)


class _WatchedNames(Collection[str]):
    """Names of one kind that record which are requested: one, or all of them."""

    def __init__(self, kind: str, names: Collection[str], note: Callable[[str], object]):
        self._kind, self._names, self._note = kind, names, note

    def __contains__(self, name: object) -> bool:
        self._note(f"has {self._kind}: {name}")
        return name in self._names

    def __iter__(self) -> Iterator[str]:
        self._note(f"names {self._kind}")
        return iter(self._names)

    def __len__(self) -> int:
        self._note(f"names {self._kind}")
        return len(self._names)


class _WatchedResolver(_WatchedNames):
    """Names that are also found by other names. The meaning of a name is one read."""

    def resolve(self, said: str, suggest: bool = True) -> Resolution:
        self._note(f"means {self._kind}: {said}")
        names = self._names
        return names.resolve(said, suggest) if isinstance(names, Resolver) else Resolution()


def _watched_names(kind: str, names: Collection[str], note: Callable[[str], object]) -> _WatchedNames:
    return (_WatchedResolver if isinstance(names, Resolver) else _WatchedNames)(kind, names, note)
