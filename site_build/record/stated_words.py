"""The statements of a page and of a house in words, for comparison and for the version mark."""

from __future__ import annotations

import datetime

from msgspec import Struct
from msgspec.structs import asdict

from handbook.base.units import Quantity
from handbook.catalogue.tables import Tables, engine_tables
from handbook.page.amounts import CurePpm, Gauge, Packed, PieceCount, Share, ToTarget
from handbook.page.house import House
from handbook.page.method import Method
from handbook.page.steps import Step
from handbook.page.until import Until
from handbook.report.method_report import Report
from site_build.record.dependencies import depends_on

#: Settings on which only the cost depends.
_OF_COST = ("prices", "currency")
#: Settings that are no figures of a method: day plans, and what the site shows of people.
_NOT_OF_FIGURES = ("line", "planning", "people_on_site")
#: Fields of a page without effect on the food.
_ASIDE = ("inspection", "line", "title", "summary", "keeper", "reviewed", "tags", "ingredients", "do", "note", "name")


def method_words(method: Method) -> dict[str, str]:
    """All statements of a page, for comparison where its figures cannot be computed."""
    found = method_stated(method)
    for mixture in (*method.saltings, *method.glazes):
        found |= {f"{mixture.name}: {line.item}": _word(line.amount) for line in mixture.ingredients}
    for number, step in enumerate(method.steps, 1):
        found |= {f"step {number}: {key}": each for key, each in step_stated(step).items()}
        found[f"step {number}: stage"] = step.stage
    return found


def method_stated(method: Method) -> dict[str, str]:
    """The statements of a page without its ingredients and steps: field -> words."""
    found = stated(method.front_matter) | {f"pieces: {key}": each for key, each in stated(method.pieces).items()}
    found |= {f"batches: {key}": each for key, each in stated(method.batches).items()}
    if method.keeping:
        found |= {f"keeping: {key}": each for key, each in stated(method.keeping).items()}
    for part in method.formula:
        found |= {f"formula: {part.food}: {key}": value for key, value in stated(part).items() if key != "food"}
    for each in (*method.saltings, *method.glazes):
        found |= {f"{each.name}: {key}": value for key, value in stated(each).items()}
    return found


def step_stated(step: Step) -> dict[str, str]:
    """The statements of one step: field -> words."""
    found = stated(step)
    if step.repeat:
        found["repeat"] = f"every {step.repeat.every.text}: {plain(step.repeat.do)}"
    found.pop("changes", None)
    found.pop("stage", None)
    return found | ({"changes": str(step.changes)} if step.changes != 1 else {})


def house_text(house: House, tables: Tables) -> str:
    """The house's settings as text, without line numbers, so that comments and the order of keys do not count."""
    return "\n".join(f"{name}: {value}" for name, value in sorted(house_values(house, tables).items()))


def house_values(house: House, tables: Tables) -> dict[str, str]:
    """Each setting of the house in words: containers, prices, signed exceptions and its own foods one by one."""
    found = _own_rows("foods", tables.foods, engine_tables().foods)
    found |= _own_rows("ingredients", tables.ingredients, engine_tables().ingredients)
    for name, value in asdict(house).items():
        if name == "containers":
            found |= {f"containers: {one.name}": _stated_text(one) for one in value}
        elif name == "prices":
            found |= {f"prices: {one.item}": _price_text(one.price) for one in value}
        elif name == "exceptions":
            found |= {f"exceptions: {one.method}: {one.rule}": _stated_text(one) for one in value}
        elif name not in _NOT_OF_FIGURES:
            found[name] = _word(value)
    return found


def house_of_figures(report: Report, house: House, tables: Tables) -> str:
    """The house data on which a method's figures depend, as text. Nothing else of the house is read."""
    method, mixtures = report.method, report.mixtures
    rows = [part.ingredient for each in mixtures for part in each.made.parts] + list(tables.salts if mixtures else ())
    foods = {name: tables.foods[name] for name, _ in report.food_masses}
    found = _own_rows("foods", foods, engine_tables().foods)
    found |= _own_rows("ingredients", {each.name: each for each in rows}, engine_tables().ingredients)
    for name in house.__struct_fields__:
        if name == "containers" and any(each.is_bath for each in method.saltings):
            found |= {f"containers: {one.name}": _stated_text(one) for one in house.containers}
        elif name == "exceptions":
            found |= {f"exceptions: {one.rule}": _stated_text(one) for one in house.exceptions_of(method.name)}
        elif name not in (*_OF_COST, "line", "containers") and depends_on(method, name):
            found[name] = _word(getattr(house, name))
    return "\n".join(f"{name}: {value}" for name, value in sorted(found.items()))


def stated(record) -> dict[str, str]:
    """The statements of one record as written: field -> words, without empty fields."""
    return {
        name: _word(value)
        for name, value in asdict(record).items()
        if name not in _ASIDE and value not in (None, "", (), False)
    }


def plain(text: str) -> str:
    """A text on one line, with single spaces."""
    return " ".join(text.split())


def _own_rows(kind: str, rows: dict, engine: dict) -> dict[str, str]:
    own = {name: each for name, each in rows.items() if engine.get(name) != each}
    return {
        f"{kind}: {name}": ", ".join(f"{part} {plain(str(value))}" for part, value in asdict(each).items())
        for name, each in own.items()
    }


def _price_text(price: tuple[float, str]) -> str:
    return f"{price[0]:g} per kg" if price[1] == "mass" else f"{price[0] / 1000:g} per L"


def _stated_text(record) -> str:
    return ", ".join(f"{key} {each}" for key, each in stated(record).items())


def _word(value) -> str:
    if isinstance(value, Quantity | Share | Packed | PieceCount | ToTarget | Gauge | CurePpm | Until):
        return value.text
    if isinstance(value, tuple):
        return "; ".join(_word(each) for each in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime.date):
        return value.isoformat()
    if isinstance(value, Struct):
        return _stated_text(value)
    return plain(str(value))
