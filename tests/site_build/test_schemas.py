"""The schemas that editors complete from are true: every demo page fits, every known mistake does not."""

from __future__ import annotations

import json
import re

import jsonschema
import pytest
import yaml
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from handbook.base.forms import Choice, Count, Form, ListOf, Name, Reading
from handbook.base.records import Record
from handbook.base.yaml_text import parse_yaml
from handbook.folder.page_text import split_page
from handbook.folder.read_page import read_page
from handbook.page.front_matter import front_matter_form
from handbook.page.method import BLOCKS, block_forms
from handbook.safety.limits import rules_and_limits
from site_build.cli.review_commands import schemas as command
from site_build.outputs.schemas import DRAFT, schemas
from site_build.record.figures import method_lines, record_parts
from site_build.record.method_figures import method_figures
from site_build.review.edition import folder_edition
from tests.site_build.review_edits import METHODS


class Yaml12(yaml.SafeLoader):
    """YAML as editors read it, by the core schema of YAML 1.2: no dates, and yes and no are words."""


Yaml12.yaml_implicit_resolvers = {
    sign: [each for each in found if each[0] not in ("tag:yaml.org,2002:timestamp", "tag:yaml.org,2002:bool")]
    for sign, found in yaml.SafeLoader.yaml_implicit_resolvers.items()
}
Yaml12.add_implicit_resolver(
    "tag:yaml.org,2002:bool", re.compile(r"^(?:true|True|TRUE|false|False|FALSE)$"), list("tTfF")
)


@pytest.fixture(scope="module")
def kitchen():
    """The demo handbook's house data."""
    return folder_edition(METHODS, "").kitchen()[0]


@pytest.fixture(scope="module")
def made(kitchen):
    """All schemas with the demo handbook's names."""
    return schemas(kitchen.words)


def check(schema: dict, value) -> None:
    jsonschema.Draft202012Validator(schema, format_checker=jsonschema.FormatChecker()).validate(value)


def blocks() -> list[tuple[str, str, str]]:
    """(page, kind, text) of each front matter and block of the demo methods."""
    found = []
    for path in sorted(METHODS.glob("*.md")):
        text, faults = split_page(path.read_text("utf-8"), path.name)
        assert faults == []
        if text.is_method:
            found += [(path.stem, each.kind, each.text) for each in (text.head, *text.blocks)]
    return found


@pytest.mark.parametrize(("page", "kind", "text"), blocks(), ids=lambda each: each if len(each) < 40 else "text")
def test_demo_pages_fit(made, page, kind, text):
    """Every front matter and block of the demo methods fits its schema."""
    name = "front-matter" if kind == "front matter" else f"block-{kind}"
    check(made[f"{name}.schema.json"], yaml.load(text, Yaml12))


def test_house_file_fits(made):
    """The demo house file fits its schema."""
    check(made["house.schema.json"], yaml.load((METHODS / "house.yml").read_text("utf-8"), Yaml12))


def test_figures_fit(made, kitchen):
    """The figures of a build fit their schema."""
    edition, methods = folder_edition(METHODS, ""), {}
    for path in ("cellar-cabbage.md", "cured-brisket.md", "hot-smoked-char-sides.md"):
        page = read_page(edition.page(path), kitchen)
        methods[path] = method_figures(page.report, page.text, kitchen.house, kitchen.tables)
    check(
        made["figures.schema.json"],
        json.loads("".join(record_parts("1", "x", (method_lines(path, methods[path]) for path in sorted(methods))))),
    )


def test_every_schema_is_one(made):
    """Each is a valid schema of its draft, with a title, and each block has one."""
    for name, schema in made.items():
        jsonschema.Draft202012Validator.check_schema(schema)
        assert schema["$schema"] == DRAFT and schema["title"], name
    assert {f"block-{each}.schema.json" for each in BLOCKS} <= set(made)


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("front-matter", "title: x\nfood: char, Arctik\nkind: hot smoke\nsummary: x\nkeeper: x\nreviewed: 2026-01-01\nportions: 2"),
        ("front-matter", "title: x\nfood: char, Arctic\nkind: hot smoke\nsummary: x\nkeeper: x\nreviewed: 2026-01-01\nportions: two"),
        ("front-matter", "title: x\nfood: char, Arctic\nkind: hot smoke\nsummary: x\nkeeper: x\nreviewed: January\nportions: 2"),
        ("front-matter", "title: x"),
        ("block-pieces", "shape: slabb\nthickness: 2 cm"),
        ("block-pieces", "shape: slab\nthickness: 2"),
        ("block-pieces", "shape: slab\nthickness: 2 cm\nthicknes: 3 cm"),
        ("block-salting", "kind: immersion\ningredients:\n  - {item: salt of the moon, amount: 3 g}"),
        ("block-salting", "kind: immersion\ncontainer: bath tub\ningredients:\n  - {item: honey, amount: 3 g}"),
        ("block-steps", "- do: x\n  stage: prepare\n  time: 30"),
        ("block-steps", "do: x\nstage: prepare"),
        ("block-batches", "show: [1 kg]"),
        ("signed", "- {method: x, mark: newest, by: x, on: 2026-01-01}"),
        ("house", "kitchen: x"),
    ],
)  # fmt: skip
def test_mistakes_do_not_fit(made, name, text):
    """A misspelt name, a missing key, an unknown key and a bare number are marked while typing."""
    with pytest.raises(jsonschema.ValidationError):
        check(made[f"{name}.schema.json"], yaml.load(text, Yaml12))


def test_names_complete(made, kitchen):
    """Foods, ingredients and containers of this handbook are spelt out, the house's own among them."""
    foods = made["front-matter.schema.json"]["properties"]["food"]["enum"]
    assert set(foods) == set(kitchen.tables.foods)
    line = made["block-salting.schema.json"]["properties"]["ingredients"]["items"]["anyOf"][0]["properties"]
    assert "salt, fine sea" in line["item"]["enum"]
    containers = made["block-salting.schema.json"]["properties"]["container"]["enum"]
    assert containers == sorted(each.name for each in kitchen.house.containers)
    exceptions = made["house.schema.json"]["properties"]["exceptions"]["items"]["properties"]
    assert set(exceptions["rule"]["enum"]) == set(rules_and_limits())


def test_every_key_is_explained(made):
    """Each key of each block carries its help."""
    for name in ("front-matter", *(f"block-{each}" for each in BLOCKS)):
        schema = made[f"{name}.schema.json"]
        table = schema.get("items", schema)
        table = table.get("anyOf", [table])[0]  # where a line of text may stand for it too
        assert table["properties"] and all(each.get("description") for each in table["properties"].values())


def forms(form: Form, key: str = "") -> list[tuple[str, Form]]:
    """Every form inside a form."""
    found = [(key, form)]
    if isinstance(form, Record):
        found += [inner for each in form.fields for inner in forms(each.form, f"{key}.{each.key}")]
    if isinstance(form, ListOf):
        found += forms(form.form, key)
    return found


@pytest.fixture(scope="module")
def scalars(kitchen):
    """Every form of a page that reads one value, with its key."""
    every = [each for block, form in block_forms(kitchen.words).items() for each in forms(form, block)]
    every += forms(front_matter_form(kitchen.words), "sheet")
    return [(key, form) for key, form in every if not isinstance(form, Record | ListOf)]


@settings(max_examples=100, deadline=None)
@given(st.data())
def test_schema_is_no_stricter_than_the_reader(scalars, data):
    """A scalar that the engine reads without a fault is never marked by the schema, as editors read it."""
    key, form = data.draw(st.sampled_from(scalars))
    if isinstance(form, Choice):
        text = data.draw(st.sampled_from(form.words))
    elif isinstance(form, Name):
        text = data.draw(st.sampled_from(sorted(form.names())))
    elif isinstance(form, Count):
        text = str(data.draw(st.integers(form.low, form.high)))
    else:
        text = data.draw(st.sampled_from(["2 cm", "1/2 in", "½ cup", "12-24 h", "3 °C", "-18 °C", "5 % of food", "2 kg", "4 leaves",
                                          "to target", "1 cup, packed", "2 % of all", "0.5 %", "a word", "yes", "no", "3.8", "2026-03-01"]))  # fmt: skip
    reading = Reading(file="f")
    value = form.read(parse_yaml(json.dumps(text, ensure_ascii=False), "f"), key, reading)
    if value is not None and not reading.faults:
        loaded = (
            int(text) if isinstance(form, Count) else float(text) if form.schema().get("type") == "number" else text
        )
        check(form.schema(), loaded)


def test_command(tmp_path):
    """The command writes every schema, of the folder's handbook or of the engine alone."""
    result = CliRunner().invoke(command, [str(tmp_path / "out"), "--folder", str(METHODS)])
    assert result.exit_code == 0 and "wrote 15 schemas" in result.output
    empty = CliRunner().invoke(command, [str(tmp_path / "bare"), "--folder", str(tmp_path)])
    assert empty.exit_code == 0
    for folder in ("out", "bare"):
        for path in (tmp_path / folder).iterdir():
            jsonschema.Draft202012Validator.check_schema(json.loads(path.read_text("utf-8")))
