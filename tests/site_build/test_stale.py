"""No build shows a figure that has become another: whatever of the house, its tables or a page changes, a build over
what is kept gives the bytes of a build that keeps nothing.

Which cell of which table moves which page is told by the pages themselves: two of them rest on little, so that most
changes leave one of them alone. Whatever leaves a page alone by its key must leave its bytes alone.
"""

import csv
import io
import json
import pickle
import re
import shutil
from datetime import date
from pathlib import Path

import pytest
from msgspec.structs import asdict

import handbook
from handbook.base.units import parse_quantity
from handbook.catalogue import foods, ingredients
from handbook.catalogue.tables import engine_tables
from handbook.folder.kitchen_reads import ReadValues, watched
from handbook.folder.source import read_source
from handbook.page.house import Container, House
from site_build.base.fingerprint import fingerprint
from site_build.build.build_site import Choices, build_site, open_cache
from site_build.build.cache import Cache
from site_build.build.gather import gather, job_bases, job_of
from site_build.build.made_page import make_page
from site_build.html.priced import cost_html
from tests.site_build.test_identity import picture

PAGES = ("soy-eggs.md", "cellar-cabbage.md", "glazed-whitefish-strips.md")
_EXCEPTION = (
    'exceptions:\n  - {method: cellar-cabbage, rule: ferment-salt, by: Odd Varga, role: keeper, reason: "a '
    'trial", process: "sheet 4", on: 2026-01-01, until: 2099-01-01}\nbatches: '
)
#: A change of the house file for every setting: what stands there, and what takes its place.
SETTINGS = {
    "kitchen": ("The Net Loft, a", "The Boat Loft, a"),
    "measures": ("measures: us", "measures: metric"),
    "scale_step": ("\nscale_step: 1 g", "\nscale_step: 2 g"),
    "fine_scale_step": ("fine_scale_step: 0.1 g", "fine_scale_step: 0.2 g"),
    "fine_scale_limit": ("limit: 50 g", "limit: 40 g"),
    "household_tolerance": ("tolerance: 6 %", "tolerance: 3 %"),
    "batches": ("[1 kg, 2 kg, 5 kg]", "[1 kg, 3 kg]"),
    "thicknesses": ("[10 mm, 15 mm,", "[12 mm, 15 mm,"),
    "thickness_spread": ("spread: 12 %", "spread: 15 %"),
    "fridge": ("fridge: 3 °C", "fridge: 4 °C"),
    "containers": ("small jar, diameter: 95 mm", "small jar, diameter: 90 mm"),
    "currency": ("currency: crowns", "currency: marks"),
    "prices": ('shoyu", price: 6.50', 'shoyu", price: 7.50'),
    "audience": ("audience: home", "audience: commercial"),
    "address": ("currency: ", "address: https://loft.example/\ncurrency: "),
    "repository": ("# Inner sizes", "repository: https://code.example/loft\n# Inner sizes"),
    "exceptions": ("batches: ", _EXCEPTION),
    "planning": ("room_per_kg: 8 L", "room_per_kg: 9 L"),
    "place": ("audience: ", "place: European Union\naudience: "),
    "language": ("# Invented prices", "language: de\n# Invented prices"),
    "mark": ("# The house file", "mark: mark.png\n# The house file"),
    "colours": ("scale, and a fine one for small", "scale.\ncolours: {main: '#1a3b5c'}\n# And a fine one for small"),
    "footer": ("# cups and spoons:", "\nfooter: Open on Saturdays\n# cups and spoons:"),
    "degrees": ("# below this the fine", "\ndegrees: F\n# below this the fine"),
    "people_on_site": ("# a cup or spoon that", "\npeople_on_site: yes\n# a cup or spoon that"),
}
#: Other changes of the house file that some page must not notice.
ASIDE = {
    "a comment": ("# Two scales", "# Two scales\n# and a third one for the truck"),
    "another page's exception": ("batches: ", _EXCEPTION.replace("cellar-cabbage", "smoked-mussels")),
    "a container's name": ("name: bin,", "name: long bin,"),
    "a price in litres": ('cider", price: 3.40 per kg', 'cider", price: 3.50 per L'),
}
_SOME_CELLS = {"food_class", "kind", "ndb_number", "source", "trust", "pack_state", "density_class", "scombroid"}


@pytest.fixture(scope="module")
def folder(tmp_path_factory, methods_folder):
    """A handbook of three methods with rows of its own."""
    place = tmp_path_factory.mktemp("stale") / "methods"
    place.mkdir()
    shutil.copy(methods_folder / "house.yml", place)
    for name in PAGES:
        text = (methods_folder / name).read_text("utf-8")
        (place / name).write_text(re.sub(r"\[([^\]]+)\]\([^)]*\.md[^)]*\)", r"\1", text), "utf-8")
    own_rows(place, {})
    (place / "mark.png").write_bytes(picture(64, 64))
    return place


def own_rows(place: Path, changes: dict) -> None:
    """The house's tables: the food and one ingredient of each page as the engine has them, with ``changes`` of cells by
    (table, name, column).
    """
    own = {"foods": ("egg, whole", "cabbage, green"), "ingredients": ("soy sauce, shoyu", "caraway seed", "honey")}
    for table, names in own.items():
        text = (Path(handbook.__file__).parent / "data" / f"{table}.csv").read_text("utf-8")
        rows = list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))
        out = io.StringIO()
        writer = csv.DictWriter(out, rows[0].keys())
        writer.writeheader()
        for row in (row for row in rows if row["name"] in names):
            row["allergen"] = row["allergen"] or "none"
            writer.writerow({key: changes.get((table, row["name"], key), cell) for key, cell in row.items()})
        (place / f"{table}.csv").write_text(out.getvalue(), "utf-8")


def cells(place: Path) -> dict:
    """A change of every cell of the house's tables that holds a number or an allergen."""
    found = {}
    for table in ("foods", "ingredients"):
        for row in csv.DictReader((place / f"{table}.csv").read_text("utf-8").splitlines()):
            for column, cell in row.items():
                if column in ("name", *_SOME_CELLS):
                    continue
                if column == "allergen":
                    if cell == "none" or table == "ingredients":  # an egg's is that of its class
                        found[table, row["name"], column] = "mustard"
                elif cell and float(cell) > 0:
                    found[table, row["name"], column] = f"{float(cell) * 0.999:.6g}"
    return found


def house_changed(place: Path, *changes: tuple[str, str]) -> None:
    """The house file with ``changes``."""
    path = place / "house.yml"
    text = path.read_text("utf-8")
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    path.write_text(text, "utf-8")


def page_bytes(source, path: str) -> bytes:
    """Everything that one page gives the site, made anew."""
    made = make_page(job_of(source, path), fingerprint())
    assert not made.faults, made.faults
    return json.dumps([made.page, made.files], default=asdict).encode()


@pytest.fixture(scope="module")
def kept(folder):
    """The pages as first made: their keys, and the bytes of each."""
    source = read_source(folder)
    gathered = gather(source, Cache())
    return gathered, {path: page_bytes(source, path) for path in PAGES}


@pytest.fixture
def changed(folder, tmp_path):
    """A copy of the folder to change."""
    return Path(shutil.copytree(folder, tmp_path / "methods"))


def left_alone(gathered, place: Path) -> list[str]:
    """The pages that the folder at ``place`` takes from what is kept."""
    source = read_source(place)
    reads = type(gathered.reads)(source.kitchen(), gathered.cache)
    bases = job_bases(source)
    keys = reads.keys(bases.values())
    return [path for path in PAGES if keys[bases[path]] == gathered.keys[path]]


def test_every_change_that_a_page_does_not_notice_leaves_its_bytes(kept, folder, changed):
    """Every setting and every cell: the changes that leave a page's key alone, all together, leave its bytes alone."""
    assert set(SETTINGS) == set(House.__struct_fields__) - {"line"}
    gathered, first = kept
    alone = {path: ([], {}) for path in PAGES}
    noticed = set()
    for name, change in (SETTINGS | ASIDE).items():
        shutil.copy(folder / "house.yml", changed)
        house_changed(changed, change)
        found = left_alone(gathered, changed)
        noticed |= {name} if len(found) < len(PAGES) else set()
        for path in found:
            alone[path][0].append(change)
    shutil.copy(folder / "house.yml", changed)
    for cell, value in cells(folder).items():
        own_rows(changed, {cell: value})
        found = left_alone(gathered, changed)
        noticed |= {cell[:2]} if len(found) < len(PAGES) else set()
        for path in found:
            alone[path][1][cell] = value
    # A price, a day's equipment, a comment or another page's exception moves nothing of a page.
    unmoved = {"currency", "prices", "planning", *ASIDE} - {"a container's name"}
    assert noticed & unmoved == set()
    assert noticed >= {"fridge", "measures", "batches", "thicknesses", "thickness_spread", "audience", "place"}
    assert noticed >= {("foods", "egg, whole"), ("ingredients", "soy sauce, shoyu"), ("ingredients", "caraway seed")}
    for path, (settings, rows) in alone.items():
        shutil.copy(folder / "house.yml", changed)
        house_changed(changed, *{old: (old, new) for old, new in settings}.values())
        own_rows(changed, rows)
        assert settings and rows and left_alone(gathered, changed).count(path) == 1
        assert page_bytes(read_source(changed), path) == first[path], path


def test_only_pages_that_rest_on_it_are_made_again(kept, changed):
    """A price makes no page again, a row of the tables only the pages that name it, the fridge those that chill."""
    gathered, _ = kept
    house_changed(changed, SETTINGS["prices"])
    assert left_alone(gathered, changed) == list(PAGES)
    own_rows(changed, {("ingredients", "caraway seed", "g_per_cup"): "99"})
    assert left_alone(gathered, changed) == [path for path in PAGES if path != "cellar-cabbage.md"]
    own_rows(changed, {("ingredients", "soy sauce, shoyu", "allergen"): "mustard"})
    assert left_alone(gathered, changed) == [path for path in PAGES if path != "soy-eggs.md"]


def test_price_changes_the_cost_alone(kept, changed):
    """The cost that stands in a page and in the record of figures is that of the new price."""
    gathered, _ = kept
    before = {path: cost_html(page.method.bill, gathered.house) for path, page in gathered.pages.items()}
    house_changed(changed, SETTINGS["prices"])
    house = read_source(changed).kitchen().house
    after = {path: cost_html(page.method.bill, house) for path, page in gathered.pages.items()}
    assert {path for path in before if before[path] != after[path]} == {"soy-eggs.md"}


#: What a handbook goes through, one after the other, each with a build over what the last one left.
LIFE = {
    "a price": lambda place: house_changed(place, SETTINGS["prices"]),
    "the currency": lambda place: house_changed(place, SETTINGS["currency"]),
    "the kitchen's name": lambda place: house_changed(place, SETTINGS["kitchen"]),
    "an address": lambda place: house_changed(place, SETTINGS["address"]),
    "the fridge": lambda place: house_changed(place, SETTINGS["fridge"]),
    "a container": lambda place: house_changed(place, SETTINGS["containers"]),
    "a density": lambda place: own_rows(place, {("ingredients", "soy sauce, shoyu", "g_per_cup"): "250"}),
    "an allergen": lambda place: own_rows(place, {("ingredients", "caraway seed", "allergen"): "mustard"}),
    "an exception": lambda place: house_changed(place, SETTINGS["exceptions"]),
    "a key of a page": lambda place: _edit(place / "soy-eggs.md", "portions: 12", "portions: 10"),
    "a word of a page": lambda place: _edit(place / "soy-eggs.md", "All by spoon and cup.", "All by spoon."),
    "no price": lambda place: _edit(place / "house.yml", '"soy sauce, shoyu", price', '"soy sauce, tamari", price'),
}


def _edit(path: Path, old: str, new: str) -> None:
    text = path.read_text("utf-8")
    assert text.count(old) == 1, old
    path.write_text(text.replace(old, new), "utf-8")


def test_every_file_of_the_site_is_that_of_a_cold_build(folder, tmp_path, monkeypatch):
    """Through a life of changes every file of the site is, byte for byte, that of a build that keeps nothing."""
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1793534400")
    place = Path(shutil.copytree(folder, tmp_path / "book" / "methods"))
    warm, cold = tmp_path / "warm", tmp_path / "cold"
    choices = Choices(workers=1, shows_progress=False, cache=tmp_path / "kept")
    with open_cache(place, choices) as cache:
        build_site(place, warm, choices, cache)
        before = _files(warm)
        for name, change in LIFE.items():
            change(place)
            build_site(place, warm, choices, cache)
            shutil.rmtree(cold, ignore_errors=True)
            build_site(place, cold, Choices(workers=1, shows_progress=False, is_fresh=True, cache=tmp_path / "other"))
            found = _files(warm)
            assert found == _files(cold), name
            assert found != before, name
            before = found


def _files(site: Path) -> dict[str, bytes]:
    return {str(path.relative_to(site)): path.read_bytes() for path in sorted(site.rglob("*")) if path.is_file()}


@pytest.mark.parametrize(
    "file", ["limits/cold.yml", "notions.yml", "foods.csv", "ingredients.csv", "sources.yml", "diffusivity.yml"]
)
def test_limit_or_row_of_the_engine_makes_all_anew(tmp_path, monkeypatch, file):
    """The keys of everything that is kept begin with a mark of the engine: one sign of its data, and it is another."""
    copy = Path(shutil.copytree(Path(handbook.__file__).parent, tmp_path / "handbook"))
    monkeypatch.setattr(handbook, "__file__", str(copy / "__init__.py"))
    assert fingerprint.__wrapped__() == fingerprint()
    data = (copy / "data" / file).read_bytes()
    (copy / "data" / file).write_bytes(data.replace(b"1", b"2", 1))
    assert fingerprint.__wrapped__() != fingerprint()


def test_every_line_of_a_page_counts(folder, changed):
    """A page with a line taken out has another key, whatever the line."""
    base = job_bases(read_source(folder))["soy-eggs.md"]
    text = (folder / "soy-eggs.md").read_text("utf-8")
    lines = text.splitlines(keepends=True)
    for number in range(len(lines)):
        (changed / "soy-eggs.md").write_text("".join(lines[:number] + lines[number + 1 :]), "utf-8")
        assert job_bases(read_source(changed))["soy-eggs.md"] != base, lines[number]


def test_exception_that_expires(changed):
    """What a page shows of a signed exception becomes stale on the day after its last."""
    house_changed(changed, SETTINGS["exceptions"])
    kitchen = read_source(changed).kitchen()
    marks = {
        day: ReadValues(kitchen, day).mark("exceptions cellar-cabbage")
        for day in (date(2098, 12, 31), date(2099, 1, 1), date(2099, 1, 2))
    }
    assert len(set(marks.values())) == 2 and marks[date(2099, 1, 1)] != marks[date(2099, 1, 2)]


def test_view_notes_whole_tables_and_missing_rows(methods_folder):
    """Asking for all rows, for a row that is not there or for a name is a read of its own, and has a value."""
    source = read_source(methods_folder)
    kitchen = source.kitchen()
    view = watched(kitchen)
    assert "no such food" not in view.kitchen.tables.foods and len(view.kitchen.tables.ingredients) > 50
    assert "crock" in view.kitchen.words.containers and view.kitchen.tables.salts == kitchen.tables.salts
    assert view.kitchen.house.without_exceptions().fridge == kitchen.house.fridge
    assert view.reads == {"food no such food", "every-ingredient", "has containers: crock", "salts", "setting fridge"}
    assert pickle.loads(pickle.dumps(view.kitchen.house)) == kitchen.house
    assert pickle.loads(pickle.dumps(view.kitchen.tables)).salts == kitchen.tables.salts
    values = ReadValues(kitchen)
    assert len({values.mark(each) for each in view.reads}) == len(view.reads)
    for unknown in ("nothing", "setting of_nothing", "has nothing: x"):
        with pytest.raises((KeyError, AttributeError)):
            values.mark(unknown)


def test_rows_have_no_part_that_their_text_leaves_out():
    """A row's mark is one of its text: every part of it but the line it stands on is in there."""
    for each in (next(iter(foods.load())), next(iter(ingredients.load()))):
        assert all(f"{name}=" in repr(each) for name in each.__struct_fields__)
    container, moved = (Container(name="crock", height=parse_quantity("20 cm", "length"), line=line) for line in (1, 2))
    assert all(f"{name!r}: " in repr(container) for name in set(Container.__struct_fields__) - {"line"})
    assert repr(moved) == repr(container)
    assert engine_tables().foods
