"""No name of the engine or the generator lives for its tests alone: whatever nothing else uses is deleted.

The search goes by names. A name that is also something else's may hide one that nothing uses; none is reported in vain.
"""

from __future__ import annotations

import ast
import re
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import handbook
import site_build

#: As they are imported, from the tree or from the wheel: a search of no files would find nothing to say.
PACKAGES = [Path(each.__file__).parent for each in (handbook, site_build)]
#: What is used in a way that the search cannot see. Each is a pattern of ``module:name`` with its reason.
USED_OTHERWISE = {
    r"handbook\.safety\.rules\.\w+:(?:RULES|findings)": "used in a loop over the files of rules",
    r"handbook\.(?:heat|salt)\.\w+_example:[A-Z]+": "used in the examples of docstrings",
    r"handbook\.folder\.words_file:_Catalog\.num_plurals": "read by babel's PoFileParser",
    r"site_build\.cli\.\w+:register": "called for the file of the command that is named",
    r"site_build\.cli\.main:_Commands\.get_command": "called by click.Group",
    r"handbook\.salt\.uptake_records:UptakeStageResult\.salt_balance": "what the model keeps of its own balance, held at 1e-9 by tests",
    r"site_build\.build\.plugin:HandbookPlugin": "an entry point of the package",
    r"site_build\.build\.plugin:HandbookPlugin\.on_\w+": "events of mkdocs",
    r"site_build\.[\w.]+:_\w+\.handle_\w+": "called by html.parser.HTMLParser",
    r"site_build\.html\.render:CompiledTemplates\.\w+_bytecode": "called by jinja2.BytecodeCache",
    r"site_build\.[\w.]+:_\w+\.emit": "called by logging.Handler",
    r"site_build\.build\.preview:_Server\.serve_request": "called by mkdocs' LiveReloadServer",
    r"site_build\.build\.site_record:Identity\.\w+": "compared as a whole and kept as a row",
    r"site_build\.outputs\.closed_server:\w+\.(?:daemon_threads|handle_error|do_GET|log_message)": "used by http.server",
}
#: Decorators that only change a function; any other takes it in, as that of a command does.
CHANGE_ONLY = {"lru_cache", "cache", "cached_property", "property", "classmethod", "contextmanager"}


def test_every_name_is_used():
    """Each function, class, constant, method and field is named outside its own definition and the tests."""
    files = [(package, path) for package in PACKAGES for path in sorted(package.rglob("*.py"))]
    assert len(files) > 200
    modules = {
        ".".join(path.relative_to(package.parent).with_suffix("").parts).removesuffix(".__init__"): path.read_text(
            "utf-8"
        )
        for package, path in files
    }
    templates = "\n".join(path.read_text("utf-8") for path in PACKAGES[1].rglob("*.html"))
    unused = unused_names(modules, templates)
    assert [each for each in unused if not any(re.fullmatch(known, each) for known in USED_OTHERWISE)] == []
    idle = [known for known in USED_OTHERWISE if not any(re.fullmatch(known, each) for each in unused)]
    assert idle == [], "reasons that nothing needs"


def test_what_nothing_uses_is_found():
    """A constant, a function that only calls itself, a field and a method; not what the other file or a template takes."""
    first = """
TAKEN, _left = 1, 2
LONELY: int = TAKEN
def again():
    again()
def used():
    return TAKEN
@command()
def command_of_the_line(): ...
class Row:
    shown: int
    hidden: int
    def area(self): ...
    def edge(self): ...
"""
    second = "from first import Row, used\nimport first as other\nused(Row(1, 2).edge())\n"
    assert unused_names({"first": first, "second": second}, "{{ row.shown }} hidden") == [
        "first:_left", "first:LONELY", "first:again", "first:Row.hidden", "first:Row.area",
    ]  # fmt: skip
    assert unused_names({"first": "def used(): ...", "second": "import first\nfirst.used()"}, "") == []
    assert unused_names({"first": "def used(): ...", "second": "other.used()"}, "") == ["first:used"]


def unused_names(modules: dict[str, str], templates: str) -> list[str]:
    """``module:name`` of what no other code of ``modules`` and no mark of ``templates`` uses."""
    trees = {module: ast.parse(text) for module, text in modules.items()}
    everywhere = Counter()
    for tree in trees.values():
        everywhere.update(words_in(tree))
    taken = {each for tree in trees.values() for each in imports_of(tree)}
    marks = " ".join(re.findall(r"\{[{%].*?[%}]\}", templates, re.S))
    shown = set(re.findall(r"[A-Za-z_]\w*", marks))
    found = []
    for module, tree in trees.items():
        own = names_in(tree)
        for name, node in defined_names(tree):
            holder, _, short = name.rpartition(".")
            if holder:
                is_used = short in shown or everywhere[short] > words_in(node)[short]
            else:
                is_used = own[name] > names_in(node)[name] or (module, name) in taken or is_taken_in(node)
            if not is_used:
                found.append(f"{module}:{name}")
    return found


def defined_names(tree: ast.Module) -> Iterator[tuple[str, ast.stmt]]:
    """(name, its definition) of each name of a module, methods and fields as ``Class.name``."""
    for node in tree.body:
        yield from ((name, node) for name in _defined(node))
        if isinstance(node, ast.ClassDef):
            for part in node.body:
                yield from ((f"{node.name}.{name}", part) for name in _defined(part))


def is_taken_in(node: ast.stmt) -> bool:
    """Whether a decorator takes the function in."""
    names = {ast.unparse(each).partition("(")[0] for each in getattr(node, "decorator_list", [])}
    return not names <= CHANGE_ONLY


def imports_of(tree: ast.Module) -> Iterator[tuple[str, str]]:
    """(module, name) of each name that this module takes from another, or reads as ``module.name``."""
    modules = {}
    for node in nodes_in(tree):
        if isinstance(node, ast.ImportFrom):
            for each in node.names:
                yield node.module or "", each.name
                modules[each.asname or each.name] = f"{node.module}.{each.name}"
        elif isinstance(node, ast.Import):
            modules |= {each.asname or each.name: each.name for each in node.names}
    for node in nodes_in(tree):
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id in modules:
            yield modules[node.value.id], node.attr


@cache
def nodes_in(tree: ast.AST) -> tuple[ast.AST, ...]:
    """Every node of a piece of code."""
    return tuple(ast.walk(tree))


def names_in(tree: ast.AST) -> Counter[str]:
    """How often each bare name is read in a piece of code."""
    return Counter(node.id for node in nodes_in(tree) if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load))


@cache
def words_in(tree: ast.AST) -> Counter[str]:
    """How often each name is read in a piece of code, as a name, an attribute or a text of one word."""
    found = names_in(tree)
    for node in nodes_in(tree):
        if isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Load):
            found[node.attr] += 1
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value.isidentifier():
            found[node.value] += 1
    return found


def _defined(node: ast.stmt) -> list[str]:
    if isinstance(node, ast.FunctionDef | ast.ClassDef):
        names = [node.name]
    elif isinstance(node, ast.Assign | ast.AnnAssign):
        targets = node.targets if isinstance(node, ast.Assign) else [node.target]
        names = [part.id for each in targets for part in ast.walk(each) if isinstance(part, ast.Name)]
    else:
        names = []
    return [name for name in names if not name.startswith("__")]
