"""YAML read as text: lines kept, nothing guessed, bombs and tags refused."""

import pytest

from handbook.base.errors import PageError
from handbook.base.yaml_text import List, Table, Text, parse_yaml


def test_nothing_is_guessed():
    """What YAML 1.1 would read as 90, 8, False and None stays text."""
    table = parse_yaml("a: 1:30\nb: 010\nc: no\nd: ~\ne: 1_000", "page.md")
    assert [node.value for _, _, node in table.entries] == ["1:30", "010", "no", "~", "1_000"]


def test_lines_are_the_file_s():
    """Keys and values carry the line of the file that they stand on."""
    table = parse_yaml("a: x\nb:\n  - y\n  - {c: z}\n", "page.md", first_line=10)
    assert table == Table(
        entries=(
            ("a", 10, Text(value="x", line=10)),
            (
                "b",
                11,
                List(
                    items=(Text(value="y", line=12), Table(entries=(("c", 13, Text(value="z", line=13)),), line=13)),
                    line=12,
                ),
            ),
        ),
        line=10,
    )


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("{item: vinegar, cider, amount: 1 cup}", {"item": "vinegar, cider", "amount": "1 cup"}),
        ("{do: Rinse, pat dry, and rest, stage: rinse}", {"do": "Rinse, pat dry, and rest", "stage": "rinse"}),
        ("item: vinegar, cider\namount: 1 cup", {"item": "vinegar, cider", "amount": "1 cup"}),
        ('{item: "vinegar, cider", amount: }', {"item": "vinegar, cider", "amount": ""}),
        ("{a: salt, b: , c: x}", {"a": "salt", "b": "", "c": "x"}),
        ("item: cure #1 # a comment", {"item": "cure\u00a0#1"}),
        ("amount: 5 % # of food", {"amount": "5 %"}),
    ],
)
def test_commas_and_numbered_cures_as_cooks_write_them(text, values):
    """A comma within braces ends no value unless a key and a colon follow; the number of a curing salt is no comment."""
    assert {key: node.value for key, _, node in parse_yaml(text, "page.md").entries} == values


def test_nothing_at_all():
    """An empty text is an empty table."""
    assert parse_yaml("  \n# only a comment\n", "page.md") == Table(entries=(), line=1)


BOMB = "a: &a [x,x,x,x,x,x,x,x,x]\nb: &b [*a,*a,*a,*a,*a,*a,*a,*a,*a]\nc: &c [*b,*b,*b,*b,*b,*b,*b,*b,*b]\n"


@pytest.mark.parametrize(
    ("text", "line"),
    [
        (BOMB, 'page.md:3: block: read "an anchor or alias"'),
        ("[" * 50_000, "page.md:3: block: read no YAML (exceeded maximum nesting depth)"),
        ("a: " + "{b: " * 40 + "c" + "}" * 40, 'page.md:3: block: read "tables too deep"'),
        ("a: 1\na: 2", "page.md:4: block: read"),
        ("a: !!python/object/apply:os.system [ls]", "page.md:3: block: read"),
        ("a: 'open", "page.md:3: block: read no YAML"),
        ("a: b: c", "page.md:3: block: read no YAML"),
        ("a: \x00", "page.md:3: block: read no YAML"),
        ("? [a, b]\n: c", "page.md:3: block: read"),
        ("- x\n" * 30_000, "block: read"),
        ("a" * 300_000, "page.md:3: block: read"),
        ("a: 1\n---\nb: 2", 'page.md:4: block: read "a second document"'),
        ("a: &x 1", 'page.md:3: block: read "an anchor or alias"'),
        ("a: " + "b" * 5000, 'page.md:3: block: read "a text of 5000 characters"; allowed: at most 4000'),
    ],
)
def test_refused(text, line):
    """Each is one PageError with its line, quickly and without a traceback of another kind."""
    with pytest.raises(PageError) as caught:
        parse_yaml(text, "page.md", first_line=3)
    assert line in str(caught.value)
    assert "\n" not in str(caught.value)
