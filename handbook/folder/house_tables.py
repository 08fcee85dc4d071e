"""A house's own foods and ingredients: foods.csv and ingredients.csv in the methods folder, with the engine's columns."""

from __future__ import annotations

import csv
from collections.abc import Callable, Mapping
from functools import lru_cache

from handbook.base.errors import CONTROLS, HandbookError, PageError, RangeError, SourceError, UnitError
from handbook.base.forms import MAX_FAULTS
from handbook.base.sources import source
from handbook.catalogue import foods, ingredients
from handbook.catalogue.name_resolver import NameList, food_names, ingredient_names, may_be_curing_salt
from handbook.catalogue.own_columns import COLUMNS
from handbook.catalogue.tables import Tables, engine_tables

#: The files of these tables in the methods folder.
OWN_TABLES = ("foods.csv", "ingredients.csv")
MAX_ROWS = 2000
MAX_BYTES = 1_000_000
MAX_CELL = 200
_MANY = (f"more than {MAX_FAULTS} faults", "a file without its first faults")
#: The source of a house's own row that names none.
DEFAULTS = {"source": "house-figures", "trust": "second-hand"}


def house_tables(folder_name: str, contents: Mapping[str, bytes]) -> tuple[Tables, list[PageError]]:
    """The engine's tables with the rows of OWN_TABLES in ``contents``, and the faults of those rows with file and line."""
    faults: list[PageError] = []
    own_foods, own_ingredients = (
        _rows(f"{folder_name}/{name}", contents[name], load, faults) if name in contents else []
        for name, load in zip(OWN_TABLES, (foods.load, ingredients.load), strict=True)
    )
    if not own_foods and not own_ingredients:
        return engine_tables(), faults
    return Tables(
        foods={each.name: each for each in foods.load(own_foods)},
        ingredients={each.name: each for each in ingredients.load(own_ingredients)},
    ), faults


def _rows(
    file: str, data: bytes, load: Callable[[list[dict[str, str]]], object], faults: list[PageError]
) -> list[dict[str, str]]:
    rows: list[dict[str, str]] = []
    names: set[str] = set()
    try:
        if len(data) > MAX_BYTES:
            faults.append(PageError(file, 1, "file", f"{len(data)} bytes", f"at most {MAX_BYTES} bytes"))
            return []
        lines = data.decode("utf-8-sig").splitlines()
        numbers = [number for number, line in enumerate(lines, 1) if not line.startswith("#")]
        reader = csv.DictReader(lines[number - 1] for number in numbers)
        before = len(faults)
        for cells in reader:
            row = {**DEFAULTS, **{key: value for key, value in cells.items() if value}}
            is_full, is_wrong = len(rows) >= MAX_ROWS, len(faults) - before >= MAX_FAULTS
            if is_full or is_wrong:
                read, allowed = ("too many rows", f"at most {MAX_ROWS}") if is_full else _MANY
                faults.append(PageError(file, numbers[reader.line_num - 1], "row", read, allowed))
                break
            if fault := _fault(row, names, load):
                faults.append(PageError(file, numbers[reader.line_num - 1], "row", *fault))
            else:
                rows.append(row)
                names.add(row["name"].strip())
    except (UnicodeDecodeError, csv.Error) as error:
        faults.append(PageError(file, 1, "file", f"no table ({error})", "a CSV table in UTF-8"))
    return rows


def _fault(
    row: dict[str, str], names: set[str], load: Callable[[list[dict[str, str]]], object]
) -> tuple[str, str, str] | None:
    if None in row:
        return "more cells than columns", "one cell for each column", ""
    for column, cell in row.items():
        if len(column) + len(cell) > MAX_CELL or CONTROLS.search(column + cell):
            return f"{column}: {cell}", f"cells of at most {MAX_CELL} characters without control characters", ""
    if row.get("name", "").strip() in names:
        return row["name"].strip(), "a name that no other row of the house has", ""
    try:
        load([row])
        source(row["source"])
    except UnitError as error:
        return error.read, error.allowed, error.suggestion
    except RangeError as error:
        return f"{error.name} {error.value:g}", error.allowed, ""
    except (SourceError, HandbookError) as error:
        return str(error), "a key of the handbook's sources", ""
    return _lacking(row, is_food=load is foods.load)


def _lacking(row: Mapping[str, str], *, is_food: bool) -> tuple[str, str, str] | None:
    """What a house's own row lacks, though it can be read: a cell that must be stated, or a name of its own."""
    name, columns = row["name"].strip(), COLUMNS["foods" if is_food else "ingredients"]
    if not is_food and row.get("kind") != "curing salt" and may_be_curing_salt(name):
        allowed = (
            "for a name that may be said of a curing salt, the kind curing salt with its nitrite; else another name"
        )
        return f"{name}: {row['kind']}", allowed, ""
    for column in ("allergen",) if is_food else ("salt", "sugars", "water", "allergen"):
        if column not in row:
            return f"{name}: {column}: nothing", columns[column].removeprefix("needed: "), ""
    same = _names(is_food).resolve(name, suggest=False).name
    if same and same != name:
        return name, f'a name that means no other food or ingredient, or "{same}" to replace that row', same
    return None


@lru_cache
def _names(is_food: bool) -> NameList:
    return food_names(engine_tables()) if is_food else ingredient_names(engine_tables())
