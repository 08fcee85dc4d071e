"""No public name of the engine or the generator lives for its tests alone: whatever nothing uses is deleted."""

from __future__ import annotations

import ast
import re
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PACKAGES = ("handbook", "site_build")
#: What is used in a way that the search cannot see. Each is a pattern of ``module:name`` with its reason.
USED_OTHERWISE = {
    r"handbook\.safety_rules\.\w+:(?:RULES|findings)": "used in a loop over the files of rules",
    r"site_build\.cli_\w+:register": "called in a loop over the files of commands",
    r"handbook\.uptake_records:StageResult\.salt_balance": "what the model keeps of its own balance, held at 1e-9 by tests",
    r"site_build\.plugin:HandbookPlugin": "an entry point of the package",
    r"site_build\.plugin:HandbookPlugin\.on_\w+": "events of mkdocs",
    r"site_build\.\w+:_\w+\.handle_\w+": "called by html.parser.HTMLParser",
    r"site_build\.render:CompiledTemplates\.\w+_bytecode": "called by jinja2.BytecodeCache",
    r"site_build\.\w+:_\w+\.emit": "called by logging.Handler",
}


def test_every_public_name_is_used():
    """Each public function, class, constant, method and field is named outside its own definition and the tests."""
    unused = [
        f"{module}:{name}"
        for module, tree in trees().items()
        for name, node in public_names(tree)
        if not is_used(module, name, node)
    ]
    assert [each for each in unused if not any(re.fullmatch(known, each) for known in USED_OTHERWISE)] == []
    assert all(any(re.fullmatch(known, each) for each in unused) for known in USED_OTHERWISE), "a reason too many"


def test_the_search_sees_what_nothing_uses():
    """A function that only itself calls, a field that nothing reads and a name of another module's are found out."""
    tree = ast.parse(
        "LEFT = 1\nTAKEN = LEFT\ndef again():\n    again()\nclass Row:\n    size: int\n    def area(self): 0"
    )
    names = dict(public_names(tree))
    assert list(names) == ["LEFT", "TAKEN", "again", "Row", "Row.size", "Row.area"]
    uses = words_in(tree)
    assert [uses[name] - words_in(names[name])[name] > 0 for name in ("LEFT", "TAKEN", "again")] == [True, False, False]


def public_names(tree: ast.Module) -> Iterator[tuple[str, ast.stmt]]:
    """(name, its definition) of each public name of a module, methods and fields as ``Class.name``."""
    for node in tree.body:
        for name in _defined(node):
            if not name.startswith("_"):
                yield name, node
        if isinstance(node, ast.ClassDef):
            for part in node.body:
                yield from ((f"{node.name}.{name}", part) for name in _defined(part) if not name.startswith("_"))


def is_used(module: str, name: str, node: ast.stmt) -> bool:
    """Whether a name is used: of a module, by who imports it or names it in its file; of a class, by anyone."""
    holder, _, short = name.rpartition(".")
    if holder:
        return (
            short in words_of_templates()
            or sum(words_in(tree)[short] for tree in trees().values()) > words_in(node)[short]
        )
    own = names_in(trees()[module])[name] > names_in(node)[name]
    return own or (module, name) in imports() or is_decorated(node)


def is_decorated(node: ast.stmt) -> bool:
    """Whether a decorator takes the function in, as that of a command does; those of this list only change it."""
    names = [ast.unparse(each).partition("(")[0] for each in getattr(node, "decorator_list", [])]
    return not {"dataclass", "lru_cache", "cache", "contextmanager"}.issuperset(names)


@cache
def trees() -> dict[str, ast.Module]:
    """Each module of the two packages by its dotted name."""
    files = [path for package in PACKAGES for path in sorted((ROOT / package).rglob("*.py"))]
    return {
        ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"): ast.parse(
            path.read_text("utf-8")
        )
        for path in files
    }


@cache
def words_of_templates() -> frozenset[str]:
    """Names in the marks of the templates, which read fields of records."""
    files = [path for path in (ROOT / "site_build").rglob("*.html")]
    marks = [mark for path in files for mark in re.findall(r"\{[{%].*?[%}]\}", path.read_text("utf-8"), re.S)]
    return frozenset(word for mark in marks for word in re.findall(r"[A-Za-z_]\w*", mark))


@cache
def imports() -> frozenset[tuple[str, str]]:
    """(module, name) of each name that some module takes from another, or reads as ``module.name``."""
    found = set()
    for tree in trees().values():
        modules = {}
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom):
                for each in node.names:
                    found.add((node.module, each.name))
                    modules[each.asname or each.name] = f"{node.module}.{each.name}"
        for node in ast.walk(tree):
            if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id in modules:
                found.add((modules[node.value.id], node.attr))
    return frozenset(found)


@cache
def names_in(tree: ast.AST) -> Counter[str]:
    """How often each bare name is read in a piece of code."""
    return Counter(node.id for node in ast.walk(tree) if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load))


@cache
def words_in(tree: ast.AST) -> Counter[str]:
    """How often each name is read in a piece of code, as a name, an attribute or a text of one word."""
    found: Counter[str] = Counter()
    for node in ast.walk(tree):
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
            found[node.id] += 1
        elif isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Load):
            found[node.attr] += 1
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value.isidentifier():
            found[node.value] += 1
    return found


def _defined(node: ast.stmt) -> tuple[str, ...]:
    if isinstance(node, ast.FunctionDef | ast.ClassDef):
        return (node.name,)
    targets = node.targets if isinstance(node, ast.Assign) else [node.target] if isinstance(node, ast.AnnAssign) else []
    return tuple(each.id for each in targets if isinstance(each, ast.Name))
