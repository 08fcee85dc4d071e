"""A house's own foods, ingredients and names: foods.csv, ingredients.csv and other_names.csv in the methods folder.

Their columns are those of the engine's tables.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Mapping
from functools import partial

from handbook.base.errors import CONTROLS, HandbookError, PageError, RangeError, SourceError, UnitError
from handbook.base.forms import MAX_FAULTS
from handbook.base.sources import source
from handbook.catalogue import foods, ingredients
from handbook.catalogue.name_resolver import may_be_curing_salt
from handbook.catalogue.own_columns import COLUMNS
from handbook.catalogue.tables import Tables, engine_tables, tables_with
from handbook.folder.house_names import name_fault, names_of, with_names

#: The files of these tables in the methods folder.
OWN_TABLES = ("foods.csv", "ingredients.csv", "other_names.csv")
#: Function that reads the rows of a table.
Load = Callable[[list[dict[str, str]]], object]
#: Fault of a row, given the names of the rows before it: (read, allowed, suggestion).
FaultOf = Callable[[dict[str, str], set[str]], tuple[str, str, str] | None]
MAX_ROWS = 2000
MAX_BYTES = 1_000_000
MAX_CELL = 200
_MANY = (f"more than {MAX_FAULTS} faults", "a file without its first faults")
#: The source of a house's own row that names none.
DEFAULTS = {"source": "house-figures", "trust": "second-hand"}


def house_tables(folder_name: str, contents: Mapping[str, bytes]) -> tuple[Tables, list[PageError]]:
    """The engine's tables with the rows of OWN_TABLES in ``contents``, and the faults of those rows with file and line."""
    faults: list[PageError] = []

    def rows(name: str, fault_of: FaultOf) -> list[dict[str, str]]:
        return _rows(f"{folder_name}/{name}", contents[name], fault_of, faults) if name in contents else []

    own_foods = rows("foods.csv", partial(_fault, foods.load))
    own_ingredients = rows("ingredients.csv", partial(_fault, ingredients.load))
    tables = tables_with(own_foods, own_ingredients) if own_foods or own_ingredients else engine_tables()
    # A name for a faulty row of another table would only be a second fault.
    names = [] if faults else rows("other_names.csv", lambda row, _: _cells_fault(row) or name_fault(row, tables))
    return (with_names(tables, names) if names else tables), faults


def _rows(file: str, data: bytes, fault_of: FaultOf, faults: list[PageError]) -> list[dict[str, str]]:
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
            row = {key: value for key, value in cells.items() if value}
            is_full, is_wrong = len(rows) >= MAX_ROWS, len(faults) - before >= MAX_FAULTS
            if is_full or is_wrong:
                read, allowed = ("too many rows", f"at most {MAX_ROWS}") if is_full else _MANY
                faults.append(PageError(file, numbers[reader.line_num - 1], "row", read, allowed))
                break
            if fault := fault_of(row, names):
                faults.append(PageError(file, numbers[reader.line_num - 1], "row", *fault))
            else:
                rows.append(row)
                names.add(row["name"].strip())
    except (UnicodeDecodeError, csv.Error) as error:
        faults.append(PageError(file, 1, "file", f"no table ({error})", "a CSV table in UTF-8"))
    return rows


def _fault(load: Load, row: dict[str, str], names: set[str]) -> tuple[str, str, str] | None:
    if fault := _cells_fault(row):
        return fault
    for column, value in DEFAULTS.items():
        row.setdefault(column, value)
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


def _cells_fault(row: Mapping[str, str]) -> tuple[str, str, str] | None:
    if None in row:
        return "more cells than columns", "one cell for each column", ""
    for column, cell in row.items():
        if len(column) + len(cell) > MAX_CELL or CONTROLS.search(column + cell):
            return f"{column}: {cell}", f"cells of at most {MAX_CELL} characters without control characters", ""
    return None


def _lacking(row: Mapping[str, str], *, is_food: bool) -> tuple[str, str, str] | None:
    """The fault of a house's own readable row: a required cell is missing, or its name is not its own."""
    name, columns = row["name"].strip(), COLUMNS["foods" if is_food else "ingredients"]
    if not is_food and row.get("kind") != "curing salt" and may_be_curing_salt(name):
        allowed = (
            "for a name that may be said of a curing salt, the kind curing salt with its nitrite; else another name"
        )
        return f"{name}: {row['kind']}", allowed, ""
    for column in ("allergen",) if is_food else ("salt", "sugars", "water", "allergen"):
        if column not in row:
            return f"{name}: {column}: nothing", columns[column].removeprefix("needed: "), ""
    same = names_of("food" if is_food else "ingredient", engine_tables()).resolve(name, suggest=False).name
    if same and same != name:
        return name, f'a name that means no other food or ingredient, or "{same}" to replace that row', same
    return None
