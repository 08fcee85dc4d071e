"""Every public function of the physics documents its parameters, result, errors, equation, source and an example.

The sections are those of numpydoc: https://numpydoc.readthedocs.io/en/latest/format.html. pytest runs the examples as
doctests. Every other public function, method and class of the engine has a docstring.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

import handbook
from handbook.base.sources import sources

#: Of the package that is imported: the tree, or the wheel as installed.
ROOT = Path(handbook.__file__).resolve().parent.parent
PHYSICS = ("acid", "brine", "catalogue/thermal_properties.py", "drying", "heat", "salt", "uncertainty", "warmth")
SECTIONS = ("Parameters", "Returns", "Raises", "Notes", "Examples", "Attributes", "See Also", "References")
#: Catching one of these hides the errors of the calls inside.
ENGINE_ERRORS = {"HandbookError", "RangeError", "UnitError", "ValueError", "Exception"}


def physics_files() -> list[Path]:
    """The files whose functions are counted."""
    places = [ROOT / "handbook" / each for each in PHYSICS]
    return sorted(path for place in places for path in (place.rglob("*.py") if place.is_dir() else [place]))


@pytest.mark.parametrize("path", physics_files(), ids=lambda path: str(path.relative_to(ROOT)))
def test_physics_functions_carry_every_section(path):
    """No public function of the file lacks a section; the list names the function and what it lacks."""
    raising = raising_functions()
    found = [
        f"{path.relative_to(ROOT)}:{each.lineno} {each.name}: {', '.join(lacking)}"
        for each in public_functions(ast.parse(path.read_text("utf-8")))
        if (lacking := missing_parts(each, (module_of(path), each.name) in raising))
    ]
    assert not found, "\n".join(["what is missing:", *found])


def test_the_count_finds_the_physics():
    """A file that moves out of the rooms cannot empty the test above."""
    counted = sum(1 for path in physics_files() for _ in public_functions(ast.parse(path.read_text("utf-8"))))
    assert counted >= 80


def test_everything_public_has_a_docstring():
    """Each public module, class, function and method of the engine begins with a sentence on one line."""
    lacking = [
        f"{path.relative_to(ROOT)}:{getattr(each, 'lineno', 1)} {getattr(each, 'name', 'module')}"
        for path in sorted((ROOT / "handbook").rglob("*.py"))
        for each in public_nodes(ast.parse(path.read_text("utf-8")))
        if not (ast.get_docstring(each) or "").strip()
    ]
    assert lacking == []


FULL = '''
def flow(rate, time):
    """Volume that has flowed.

    V = q t

    Parameters
    ----------
    rate : float [m3/s]
    time : float [s]

    Returns
    -------
    float [m3]

    Raises
    ------
    RangeError
        The time is negative.

    Notes
    -----
    Source: definition. Valid for constant flow.

    Examples
    --------
    >>> flow(2, 3)
    6
    """
    if time < 0:
        raise RangeError
    return rate * time
'''


@pytest.mark.parametrize(
    ("cut", "lacking"),
    [
        ("", []),
        ("    V = q t\n", ["an equation, or No equation"]),
        ("    rate : float [m3/s]\n", ["rate among its Parameters"]),
        ("    Returns\n    -------\n", ["Returns"]),
        ("    float [m3]\n", ["Returns"]),
        ("    Raises\n    ------\n", ["Raises"]),
        ("Source: definition. ", ["Source"]),
        ("Valid for constant flow.", ["its range (Valid ...)"]),
        ("    >>> flow(2, 3)\n", ["Examples"]),
        ("Volume that has flowed.", ["a summary on one line"]),
    ],
)
def test_each_missing_part_is_told(cut, lacking):
    """A docstring from which one part is cut lacks that part, and the whole one lacks nothing."""
    [function] = public_functions(ast.parse(FULL.replace(cut, "", 1) if cut else FULL))
    assert missing_parts(function, True) == lacking


@pytest.mark.parametrize(
    ("body", "raises"),
    [
        ("raise RangeError", True),
        ("return helper()", True),
        ("return other.checked()", True),
        ("return quiet()", False),
        ("try:\n        helper()\n    except RangeError:\n        pass", False),
        ("try:\n        pass\n    except RangeError:\n        raise", True),
    ],
)
def test_raising_is_followed_through_calls(body, raises):
    """A function can raise by itself, by its module's helpers and by imported ones, unless it catches the error."""
    here = f"from room import other\ndef helper():\n    raise RangeError\ndef quiet():\n    return 1\ndef asked():\n    {body}\n"
    there = "def checked():\n    raise RangeError\n"
    found = closure({"room.here": ast.parse(here), "room.other": ast.parse(there)})
    assert (("room.here", "asked") in found) is raises


def missing_parts(function: ast.FunctionDef, can_raise: bool) -> list[str]:
    """What the docstring of one function lacks, in words. A table without arguments has no equation and no wrong arguments."""
    document = ast.get_docstring(function) or ""
    head, parts = split_sections(document)
    notes = parts.get("Notes", "")
    signature = function.args
    arguments = [*signature.posonlyargs, *signature.args, *signature.kwonlyargs]
    arguments += [each for each in (signature.vararg, signature.kwarg) if each]
    returns_nothing = function.returns is not None and ast.unparse(function.returns) == "None"
    wanted = {
        "a summary on one line": bool(re.match(r".+\.(\n\n|$)", document)),
        "an equation, or No equation": bool(re.search(r" [<=>]=? |No equation", head)) or not arguments,
        "Returns": bool(parts.get("Returns", "").strip()) or returns_nothing,
        "Raises": bool(parts.get("Raises", "").strip()) or not (can_raise and arguments),
        "Source": bool(re.search(r"\bSources?: ", notes)),
        "its range (Valid ...)": bool(re.search(r"\b[Vv]alid\b", notes)),
        "Examples": ">>> " in parts.get("Examples", ""),
    }
    lacking = [name for name, stands in wanted.items() if not stands]
    documented = parts.get("Parameters", "")
    named = {
        name.strip(" *") for line in re.findall(r"^([\w*, ]+?)(?: *:|$)", documented, re.M) for name in line.split(",")
    }
    lacking += [f"{each.arg} among its Parameters" for each in arguments if each.arg not in named]
    return lacking + [f"a source called {key}" for key in unknown_keys(notes)]


def split_sections(document: str) -> tuple[str, dict[str, str]]:
    """The text before the first section, and each section's text by its name."""
    pieces = re.split(rf"^({'|'.join(SECTIONS)})\n-+$", document, flags=re.M)
    return pieces[0], dict(zip(pieces[1::2], pieces[2::2], strict=True))


def unknown_keys(notes: str) -> list[str]:
    """Source keys in brackets that the list of sources does not hold."""
    return [key for key in re.findall(r"\[([a-z][a-z0-9]*(?:-[a-z0-9]+)+)\]", notes) if key not in sources()]


def public_functions(module: ast.Module) -> Iterator[ast.FunctionDef]:
    """The functions of a module without the helpers and the signatures of overloads."""
    for each in module.body:
        overloaded = isinstance(each, ast.FunctionDef) and any(
            ast.unparse(one) == "overload" for one in each.decorator_list
        )
        if isinstance(each, ast.FunctionDef) and not each.name.startswith("_") and not overloaded:
            yield each


def public_nodes(module: ast.Module) -> Iterator[ast.Module | ast.ClassDef | ast.FunctionDef]:
    """The module, its public classes and functions, and the methods and properties of the classes."""
    yield module
    yield from public_functions(module)
    for each in module.body:
        if isinstance(each, ast.ClassDef) and not each.name.startswith("_"):
            yield each
            is_protocol = any(ast.unparse(base) == "Protocol" for base in each.bases)
            overrides = {"read_text", "schema", "allowed", "read"} if each.bases else set()
            for one in each.body:
                is_method = isinstance(one, ast.FunctionDef) and not one.name.startswith("_")
                if is_method and not is_protocol and one.name not in overrides:
                    yield one


@cache
def raising_functions() -> frozenset[tuple[str, str]]:
    """Module and name of each function of the engine that can raise an error of its own."""
    return closure({module_of(path): ast.parse(path.read_text("utf-8")) for path in (ROOT / "handbook").rglob("*.py")})


def closure(modules: dict[str, ast.Module]) -> frozenset[tuple[str, str]]:
    """Functions that raise, or call one that does outside a ``try`` that catches it. Methods are not followed."""
    calls: dict[tuple[str, str], set[tuple[str, str]]] = {}
    found = set()
    for module, tree in modules.items():
        names = imported_names(tree) | {each.name: (module, each.name) for each in public_and_private(tree)}
        for each in public_and_private(tree):
            raises, called = reached(each.body, names)
            calls[module, each.name] = called
            if raises:
                found.add((module, each.name))
    while more := {each for each, called in calls.items() if each not in found and called & found}:
        found |= more
    return frozenset(found)


def reached(body: list[ast.stmt], names: dict[str, tuple[str, str]]) -> tuple[bool, set[tuple[str, str]]]:
    """Whether the statements raise, and the functions that they call with their errors uncaught."""
    raises, called, left = False, set(), list[ast.AST](body)
    while left:
        node = left.pop()
        if isinstance(node, ast.Try) and any(catches(handler) for handler in node.handlers):
            left += [*node.handlers, *node.orelse, *node.finalbody]
            continue
        raises = raises or isinstance(node, ast.Raise)
        if isinstance(node, ast.Call):
            if isinstance(node.func, ast.Name) and node.func.id in names:
                called.add(names[node.func.id])
            elif isinstance(node.func, ast.Attribute) and isinstance(node.func.value, ast.Name):
                package, name = names.get(node.func.value.id, ("", ""))
                called.add((f"{package}.{name}", node.func.attr))
        left += ast.iter_child_nodes(node)
    return raises, called


def catches(handler: ast.ExceptHandler) -> bool:
    """Whether the handler is for errors of the engine."""
    return handler.type is None or bool(
        ENGINE_ERRORS & {each.strip() for each in ast.unparse(handler.type).strip("()").split(",")}
    )


def imported_names(module: ast.Module) -> dict[str, tuple[str, str]]:
    """Local name -> module and name that it stands for."""
    found = [each for each in ast.walk(module) if isinstance(each, ast.ImportFrom)]
    return {one.asname or one.name: (each.module or "", one.name) for each in found for one in each.names}


def public_and_private(module: ast.Module) -> list[ast.FunctionDef]:
    """All functions at the top of a module."""
    return [each for each in module.body if isinstance(each, ast.FunctionDef)]


def module_of(path: Path) -> str:
    """Dotted name of a file's module."""
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
