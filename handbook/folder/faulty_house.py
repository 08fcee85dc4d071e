"""Faults of pages while the house file or the house's own tables are faulty, so that one run reports all."""

from __future__ import annotations

from handbook.base.errors import FaultsError, PageError
from handbook.base.units import MEASURES
from handbook.base.yaml_text import Table, Text, parse_yaml
from handbook.folder.house_tables import OWN_TABLES, house_tables
from handbook.folder.kitchen import HOUSE_FILE, Kitchen, read_kitchen
from handbook.folder.read_page import stated_page
from handbook.folder.source import FolderSource

_PLAIN_HOUSE = """kitchen: none
measures: {measures}
batches: [1 kg]
thicknesses: [20 mm]
fridge: 3 °C
containers: [{{name: none, length: 10 cm, width: 10 cm, height: 10 cm}}]
"""


def faults_of_all(source: FolderSource, house_faults: FaultsError) -> FaultsError:
    """The faults of the house, and those of its pages that do not depend on faulty house data.

    Figures and rules need the house and are left out.
    """
    contents = dict(source.house_data)
    own, wrong = house_tables(source.folder.name, {name: contents[name] for name in OWN_TABLES if name in contents})
    kitchen, _ = read_kitchen(
        source.folder.name, {HOUSE_FILE: _PLAIN_HOUSE.format(measures=_measures(contents)).encode()}
    )
    if kitchen is None:
        return house_faults
    kitchen = Kitchen(house=kitchen.house, tables=own)
    unsure = (".container", *(("food", ".item") if wrong else ()))
    found = [
        fault
        for path in source.pages
        for fault in stated_page(source.page(path), kitchen).faults
        if not fault.key.endswith(unsure)
    ]
    known = {(each.file, each.line, each.key) for each in house_faults.faults}
    return FaultsError(
        [*house_faults.faults, *(each for each in found if (each.file, each.line, each.key) not in known)]
    )


def _measures(contents: dict[str, bytes]) -> str:
    """The cups and spoons that a faulty house file names, where they can be read; else the usual ones."""
    try:
        node = parse_yaml(contents.get(HOUSE_FILE, b"").decode("utf-8", "replace"), HOUSE_FILE)
    except PageError:
        return MEASURES[0]
    entries = node.entries if isinstance(node, Table) else ()
    said = next((value.value for name, _, value in entries if name == "measures" and isinstance(value, Text)), "")
    return said if said in MEASURES else MEASURES[0]
