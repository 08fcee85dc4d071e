"""Data files of a stranger (YAML, CSV, runs, days, signatures): each is read as it stands, or is fault lines of its own."""

import re

import pytest

from handbook.base.errors import CONTROLS
from tests.site_build.clone import run

PAGE, RUN, DAY = "soy-eggs.md", "runs/soy-eggs/2026-01-02", "days/sunday"
FAULT = re.compile(r"methods/[^:]*:\d+: [^:]+: read .*; allowed: .+")


def said(clone) -> list[str]:
    """The fault lines of a check, each of which is one."""
    result = run("check", "methods")
    lines = [line for line in result.stderr.splitlines() if not line.startswith("warning: ")]
    assert result.exit_code == (1 if lines else 0) and "Traceback" not in result.output, result.output
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    for line in lines:
        assert FAULT.fullmatch(line), line
        assert len(line) < 1500 and not CONTROLS.search(line) and "fault of the program" not in line, line
    return lines


def write(clone, name: str, data: str | bytes) -> None:
    file = clone / "methods" / name
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_bytes(data if isinstance(data, bytes) else data.encode("utf-8", "surrogatepass"))


#: What YAML 1.1 and 1.2 allow beside plain tables, lists and texts, and what its readers have stumbled over.
YAML = {
    "anchor": "on: &a 2026-01-02\n",
    "alias": "on: &a 2026-01-02\ncook: *a\n",
    "alias of nothing": "on: *nowhere\n",
    "merge key": "<<: {on: 2026-01-02}\n",
    "merge of an alias": "a: &a {on: 2026-01-02}\n<<: *a\n",
    "merge as a text": '"<<": {on: 2026-01-02}\n',
    "laughs": "a: &a [x,x,x]\nb: &b [*a,*a,*a]\nc: [*b,*b,*b]\n",
    "anchor within itself": "a: &a [*a]\n",
    "tag that runs": '!!python/object/apply:os.system ["touch /tmp/handbook-was-run"]\n',
    "tag in a value": 'on: !!python/object/apply:os.system ["touch /tmp/handbook-was-run"]\n',
    "tag of a name": "on: !!python/name:os.system\n",
    "own tag": "on: !include /etc/passwd\n",
    "binary": "on: !!binary aGVsbG8=\n",
    "set": "!!set {on, cook}\n",
    "ordered": "!!omap [on: 2026-01-02]\n",
    "tag directive": "%TAG ! tag:yaml.org,2002:python/\n---\non: !name:os.system x\n",
    "version": "%YAML 9.9\n---\non: 2026-01-02\n",
    "two documents": "on: 2026-01-02\n---\non: 2026-01-03\n",
    "end of a document": "on: 2026-01-02\n...\ncook: x\n",
    "table as a key": "? {a: b}\n: c\n",
    "list as a key": "[a, b]: c\n",
    "no key": ": c\n",
    "null as a key": "~: c\n",
    "twice one key": "on: 2026-01-02\non: 2026-01-02\n",
    "one key twice, once quoted": 'on: 2026-01-02\n"on": 2026-01-02\n',
    "deep": "a: " + "[" * 3000 + "\n",
    "deep and closed": "a: " + "[" * 900 + "]" * 900 + "\n",
    "deep tables": "".join(f"{' ' * level}a:\n" for level in range(400)),
    "many keys": "".join(f"k{number}: 1\n" for number in range(30_000)),
    "long key": "k" * 9000 + ": 1\n",
    "long text": "on: " + "x" * 300_000 + "\n",
    "tab": "on:\t2026-01-02\n\tcook: x\n",
    "control": 'on: "\\0\\e[31m\\u202e"\n',
    "lone surrogate": 'cook: "\\ud800"\n',
    "raw surrogate": "cook: \ud800\n",
    "raw NUL": "on: 2026-01-02\0\n",
    "other line ends": "on: 2026-01-02\u2028cook: x\x85batch: 1 kg\n",
    "mark in the middle": "on: 2026-01-02\n\ufeffcook: x\n",
    "sexagesimal": "on: 190:20:30\n",
    "infinite": "on: .inf\nbatch: -.inf kg\n",
    "not a number": "on: .nan\nbatch: .nan kg\n",
    "huge number": "batch: 1e400 kg\n",
    "digits of another script": "batch: \u0661\u0662 kg\n",
    "yes and no": "on: yes\ncook: no\nbatch: off\n",
    "equals": "on: =\n",
    "nothing": "",
    "comment": "# nothing\n",
    "list": "- a\n- b\n",
    "text": "only words\n",
    "quote left open": 'on: "2026-01-02\n',
    "bracket left open": "on: [2026-01-02\n",
    "block scalar": "on: |9\n  x\ncook: >-\n  y\n",
    "names of objects": "__proto__: 1\nconstructor: 2\n__class__: 3\n__init__: 4\n",
    "template": "cook: '{{ config }} {% raw %} ${{ github }} $(touch x) `x`'\n",
    "UTF-16": "on: 2026-01-02\n".encode("utf-16"),
    "Latin-1": "cook: Åse\n".encode("latin-1"),
}


@pytest.mark.parametrize("name", YAML)
def test_yaml_of_a_stranger(clone, name):
    """In a wish, a kept plan, signatures, a run, front matter and a block: fault lines of each file, nothing runs."""
    data = YAML[name] if isinstance(YAML[name], bytes) else YAML[name].encode("utf-8", "surrogatepass")
    for file in (f"{DAY}.yml", f"{DAY}.plan.yml", "signed.yml", f"{RUN}.yml"):
        write(clone, file, data)
    write(clone, "front.md", b"---\n" + data + b"---\n\n# Words\n")
    write(clone, "block.md", b"---\ntitle: A block\n---\n\n```salting\n" + data + b"```\n")
    lines = said(clone)
    for file in (f"{DAY}.yml", f"{RUN}.yml"):
        assert any(line.startswith(f"methods/{file}:") for line in lines), (file, lines)
    assert any(line.startswith("methods/signed.yml:") for line in lines) == (name not in ("nothing", "comment"))


@pytest.mark.parametrize("name", YAML)
def test_house_of_a_stranger(clone, name):
    """The same in the house file, alone and behind what stands there."""
    data = YAML[name] if isinstance(YAML[name], bytes) else YAML[name].encode("utf-8", "surrogatepass")
    good = (clone / "methods" / "house.yml").read_bytes()
    for text in (data, good + b"\n" + data):
        write(clone, "house.yml", text)
        lines = said(clone)
        assert all(line.startswith("methods/house.yml:") for line in lines)
        assert lines or (text != data and name in ("nothing", "comment", "end of a document")), lines


FOODS = "name,food_class,water,fat,protein,carbohydrate,ash,sodium_mg_per_100g,allergen,parasite_risk,scombroid"
LAKE = "fish,0.79,0.008,0.19,0,0.012,95,fish,wild,no"


def foods(*names: str) -> str:
    """A table of foods that is right but for the names."""
    return f"{FOODS}\n" + "".join(f"{name},{LAKE}\n" for name in names)


def cells(column: str, *values: str) -> str:
    """A table of foods that is right but for the cells of one column."""
    good = dict(zip(FOODS.split(","), ["burbot", *LAKE.split(",")], strict=True))
    rows = [good | {"name": f"burbot {number}", column: value} for number, value in enumerate(values)]
    return f"{FOODS}\n" + "".join(",".join(row.values()) + "\n" for row in rows)


#: What CSV (RFC 4180) leaves to its readers; True where the table is read, the text being nothing but a name.
CSV = {
    "formula": (foods("=cmd|' /C calc'!A0"), True),
    "formula by a sign": (foods("@SUM(1)", "+1", "-1"), True),
    "HTML": (foods("<img src=x onerror=alert(1)>", '"""><script>alert(1)</script>"'), True),
    "names of objects": (foods("__proto__", "constructor"), True),
    "template": (foods("{{ config }}", "{% raw %}", "${x}"), True),
    "mark": ("\ufeff" + foods("a"), True),
    "old line ends": (foods("a").replace("\n", "\r"), True),
    "quoted": (foods('"a, ""b"""'), True),
    "comments": ("# a\n" + foods("a") + "# b\n", True),
    "empty": ("", True),
    "head alone": (foods(), True),
    "NUL": (foods("a\0b"), False),
    "NUL in the head": (foods("a").replace("water", "wa\0ter"), False),
    "two marks": ("\ufeff\ufeff" + foods("a"), False),
    "UTF-16": (foods("a").encode("utf-16"), False),
    "Latin-1": (foods("Åse").encode("latin-1"), False),
    "quote left open": (foods(*['"a'] * 50), False),
    "huge cell": (foods("x" * 200_000), False),
    "huge quoted cell": (foods('"' + "x\n" * 100_000 + '"'), False),
    "huge head": ("n" * 200_000 + "\na\n", False),
    "many columns": (",".join(f"c{number}" for number in range(20_000)) + "\n" + "," * 19_999 + "a\n", False),
    "many cells": (FOODS + "\n" + "," * 50_000 + "\n", False),
    "line ends of Unicode": (foods("a\x0bb", "c\u2028d", "e\x1cf", "g\x85h"), False),
    "one name twice": (foods("a", " a"), False),
    "no name": (foods("a").replace("name,", "nome,", 1), False),
    "blank name": (foods(" "), False),
    "semicolons": ("sep=;\n" + foods("a").replace(",", ";"), False),
    "control": (foods("a\x1b[31m"), False),
    "reordered": (foods("a\u202eb"), False),
    "surrogate": (foods("a\ud800"), False),
    "source that is a path": (foods("a").replace("scombroid", "scombroid,source").replace(",no\n", ",no,../../etc/passwd\n"), False),
    "water": (cells("water", "nan", "inf", "1e999", "-1", "2", "1/0", "0x1", "=1"), False),
    "sodium": (cells("sodium_mg_per_100g", "1e308", "-1e308", "1e-400x"), False),
    "risk": (cells("parasite_risk", "=1", "none; wild", "<b>"), False),
    "bytes": (bytes(range(256)) * 40, False),
}  # fmt: skip


@pytest.mark.parametrize("name", CSV)
def test_table_of_a_stranger(clone, name):
    """A house table is read, its words as words, or is fault lines of its own."""
    text, is_read = CSV[name]
    write(clone, "foods.csv", text)
    lines = said(clone)
    assert all(line.startswith("methods/foods.csv:") for line in lines) and bool(lines) != is_read, lines


@pytest.mark.parametrize(
    "name", ["empty", "UTF-16", "huge cell", "many columns", "bytes", "semicolons", "two marks", "NUL in the head"]
)
def test_other_table_of_a_stranger(clone, name):
    """The table of ingredients too."""
    write(clone, "ingredients.csv", CSV[name][0])
    lines = said(clone)
    assert all(line.startswith("methods/ingredients.csv:") for line in lines) and bool(lines) != (name == "empty")


LOG = "time,core\n"
LOGS = {
    **{name: CSV[name][0] for name in ("NUL", "UTF-16", "bytes", "empty", "huge cell", "many columns")},
    "backwards": LOG + "10:00,20\n09:00,30\n",
    "the same time": LOG + "10:00,20\n" * 500,
    "not a number": LOG + "10:00,nan\n10:01,inf\n10:02,1e999\n",
    "digits of another script": LOG + "\u0661\u0660:00,\u0662\u0660\n",
    "formula": LOG + "=NOW(),=1+1\n",
    "far away": LOG + "0001-01-01 00:00,20\n9999-12-31 23:59,30\n",
    "cold and hot": LOG + "10:00,-9e9\n10:01,9e9\n",
    "many rows": LOG + "".join(f"{number},20\n" for number in range(100_100)),
    "one row": LOG + "10:00,20\n",
    "quote left open": LOG + '"10:00,20\n' * 90,
    "HTML heading": "time,<script>x</script>\n10:00,20\n",
}  # fmt: skip


@pytest.mark.parametrize("name", LOGS)
def test_log_of_a_stranger(clone, name):
    """A thermometer's log is read or is fault lines of the run or the log."""
    write(clone, f"{RUN}.yml", "on: 2026-01-02\nbatch: 1 kg\nlog: {begins_with: 1}\n")
    write(clone, f"{RUN}.csv", LOGS[name])
    lines = said(clone)
    assert lines and all(line.startswith(f"methods/{RUN}.") for line in lines), lines
