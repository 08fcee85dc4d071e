"""The manual: every key, every command, every public name, made from the program so that it cannot drift."""

import importlib
import pkgutil
import re
from html.parser import HTMLParser
from importlib.resources import files
from typing import Annotated, get_origin, get_type_hints

import pytest
from click.testing import CliRunner
from lxml import html
from msgspec import Struct

import handbook
import site_build
from handbook.base.records import Key
from handbook.catalogue.own_columns import COLUMNS
from site_build.cli.main import main
from site_build.cli.starter import FAMILIES
from site_build.outputs.manual import written_parts
from site_build.outputs.reference_keys import key_tables

#: Records that the program alone writes and reads: nobody writes their keys.
KEPT_BY_THE_PROGRAM = {"_KeptPlan", "PlanStep", "Hand", "Limit"}  # Limit: the engine's own data (limits/about.txt)


@pytest.fixture(scope="module")
def manual(tmp_path_factory):
    """The manual as the command writes it, parsed."""
    place = tmp_path_factory.mktemp("manual")
    done = CliRunner().invoke(main, ["manual", "--into", str(place)])
    assert done.exit_code == 0, done.output
    return html.parse(place / "index.html", html.HTMLParser(encoding="utf-8")).getroot()


def _records():
    """Every record of the program with its keys as YAML writes them."""
    for package in (handbook, site_build):
        for found in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
            if found.name.endswith("__main__"):
                continue
            for each in vars(importlib.import_module(found.name)).values():
                if isinstance(each, type) and issubclass(each, Struct) and each.__module__ == found.name:
                    hints = get_type_hints(each, include_extras=True)
                    keys = {
                        mark.name or name: mark.help
                        for name, hint in hints.items()
                        if get_origin(hint) is Annotated
                        for mark in hint.__metadata__
                        if isinstance(mark, Key)
                    }
                    if keys:
                        yield each.__name__, keys


def test_every_key_is_in_the_reference(manual):
    """A key that a record reads stands in the manual with what it is for."""
    told = {
        (row.findtext(".//code").rpartition(".")[2], " ".join(row[1].text_content().split()))
        for row in manual.get_element_by_id("keys").iterfind(".//tbody/tr")
    }
    missing = {
        f"{record}.{key}"
        for record, keys in _records()
        if record not in KEPT_BY_THE_PROGRAM
        for key, text in keys.items()
        if (key, " ".join(text.split())) not in told
    }
    assert missing == set()


def test_a_record_of_the_program_is_found():
    """The search above sees the records of pages and of the house file."""
    found = dict(_records())
    assert {"FrontMatter", "House", "Step", "Salting", "Signature"} <= set(found) and "was" in found["FrontMatter"]


def test_every_column_of_the_own_tables_is_in_the_reference(manual):
    """Foods and ingredients of a house."""
    for table, columns in COLUMNS.items():
        anchor = f"keys-{table.replace('_', '-')}-csv"
        told = [each.text for each in manual.xpath(f"//h2[@id='{anchor}']/following-sibling::div[1]//tbody//code")]
        assert told == list(columns)


def test_every_command_and_option_is_told(manual):
    """Commands of groups too, each with all its options."""
    text = manual.get_element_by_id("commands").text_content()

    def check(group, before):
        for name, command in group.commands.items():
            assert manual.xpath(f"//h2[text()='{' '.join((*before, name))}']"), name
            for option in command.params:
                for flag in getattr(option, "opts", []) if option.param_type_name == "option" else []:
                    assert flag in text, (name, flag)
            if hasattr(command, "commands"):
                check(command, (*before, name))

    check(main, ("handbook",))


def test_every_family_has_its_page(manual):
    """With the starter page that ``handbook new --family`` writes."""
    for name in FAMILIES:
        assert "```steps" in manual.get_element_by_id(f"family-{name}").text_content()


def test_every_public_name_is_told(manual):
    """What scripts may import, with its documentation."""
    text = manual.get_element_by_id("python").text_content()
    for name in handbook.__all__:
        assert name in text or name == "__version__"
    assert "Handbook.report" in text


def test_every_address_within_leads_somewhere(manual):
    """No link of the manual is dead, no id stands twice, nothing is loaded from elsewhere."""
    ids = [each.get("id") for each in manual.iter() if each.get("id")]
    assert len(ids) == len(set(ids))
    assert {each.get("href")[1:] for each in manual.iterfind(".//a") if each.get("href").startswith("#")} <= set(ids)
    assert not manual.xpath("//script|//img|//link|//iframe")


def test_the_written_parts_name_commands_that_there_are():
    """A command in a written part is one of the program, an option one of that command."""
    for _, text in written_parts().values():
        plain = html.fromstring(f"<div>{text}</div>").text_content()
        for name, rest in re.findall(r"handbook ([a-z]+)([^\n`]*)", plain):
            if name in main.commands:
                known = {flag for option in main.commands[name].params for flag in option.opts}
                assert set(re.findall(r"--[a-z-]+", rest)) <= known | {"--help"}, (name, rest)


def test_the_written_parts_ship_with_the_program():
    """They stand in the package, which the wheel carries."""
    names = {each.name for each in files("site_build").joinpath("manual").iterdir()}
    assert {"1-tutorial.md", "6-upgrading.md", "7-ci.md", "8-security.md"} <= names
    assert all(len(table.rows) for table in key_tables())


def test_the_page_is_well_formed(manual):
    """Every element that is opened is closed."""

    class Depth(HTMLParser):
        def __init__(self):
            super().__init__()
            self.open = []

        def handle_starttag(self, tag, attrs):
            if tag not in ("meta", "link", "br"):
                self.open.append(tag)

        def handle_endtag(self, tag):
            assert self.open.pop() == tag

    found = Depth()
    found.feed(html.tostring(manual, encoding="unicode", method="html"))
    assert found.open == []


def test_the_manual_takes_no_other_page_s_place(tmp_path):
    """A page of somebody's own stays; an older manual is replaced."""
    (tmp_path / "index.html").write_text("mine")
    done = CliRunner().invoke(main, ["manual", "--into", str(tmp_path)])
    assert done.exit_code == 1 and "another index.html" in done.output
    assert (tmp_path / "index.html").read_text() == "mine"
    (tmp_path / "index.html").write_text("<title>Manual of the cook-method handbook, 0.0.1</title>")
    assert CliRunner().invoke(main, ["manual", "--into", str(tmp_path)]).exit_code == 0
    assert len((tmp_path / "index.html").read_text("utf-8")) > 50_000
