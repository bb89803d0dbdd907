"""Everything public says what it does, and what each thing is that it takes, in which units."""

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
# What is carried for others is not ours, and shim stands in for the board's own library.
FILES = [
    path.relative_to(ROOT)
    for room in ("firmware", "host", "sim")
    for path in sorted((ROOT / room).glob("ribwright_*/**/*.py"))
    if not {"shim", "carried"} & set(path.parts)
]
DEFINITIONS = (ast.ClassDef, ast.FunctionDef, ast.AsyncFunctionDef)


def undocumented(source: str) -> list[str]:
    """Public modules, classes, functions and methods without a docstring, each with its line."""

    def visit(node, name):
        if not ast.get_docstring(node):
            yield f"{getattr(node, 'lineno', 1)}: {name}"
        if not isinstance(node, ast.Module | ast.ClassDef):
            return
        for child in node.body:
            if isinstance(child, DEFINITIONS) and not child.name.startswith("_"):
                yield from visit(child, child.name)

    return list(visit(ast.parse(source), "module"))


# A name that ends so tells its unit: s, ms, c, k, mm and so on.
UNIT = re.compile(
    r"_(c|k|s|ms|us|ns|h|min|w|j|mm|m|kg|g|pa|hpa|v|mv|a|hz|percent|bytes|id|path|hash|per_\w+|w_m2|w_m_k|kg_m2"
    r"|j_k|k_w|w_k)$"
)


def unexplained(source: str) -> list[str]:
    """Public functions that take something whose name tells no unit, and which nothing explains.

    Explained is what the docstring of the function, of its class or of its module names. What a command of
    the command line takes has its help.
    """

    def visit(node, known):
        for child in node.body:
            if not isinstance(child, DEFINITIONS) or (child.name[0] == "_" and child.name != "__init__"):
                continue
            told = known + (ast.get_docstring(child) or "")
            if isinstance(child, ast.ClassDef):
                yield from visit(child, told)
                continue
            if any("option" in ast.dump(each) or "click" in ast.dump(each) for each in child.decorator_list):
                continue
            found = child.args
            for one in (*found.posonlyargs, *found.args, *found.kwonlyargs):
                name = one.arg
                clear = name in ("self", "cls") or name[0] == "_" or UNIT.search(name)
                if not clear and not re.search(rf"\b{name}\b", told):
                    yield f"{child.lineno}: {child.name}({name})"

    module = ast.parse(source)
    return list(visit(module, ast.get_docstring(module) or ""))


@pytest.mark.parametrize("path", FILES, ids=str)
def test_what_public_functions_take_is_explained(path):
    assert [f"{path}:{what}" for what in unexplained((ROOT / path).read_text())] == []


def test_an_argument_that_nothing_explains_is_seen():
    source = (
        '"""w: in the module."""\n'
        'class Plant:\n    """rig: in the class."""\n'
        "    def step(self, w, rig, zone, dt_s, _seen): ...\n"
        'def f(w, zone, rest):\n    """zone: in the function."""\n'
        "@click.command()\ndef g(out): ...\n"
    )
    assert unexplained(source) == ["4: step(zone)", "5: f(rest)"]


@pytest.mark.parametrize("path", FILES, ids=str)
def test_public_names_have_docstrings(path):
    assert [f"{path}:{what}" for what in undocumented((ROOT / path).read_text())] == []


def test_a_missing_docstring_is_seen():
    source = (
        '"""Module."""\n'
        'class Plant:\n    """It."""\n    def step(self): ...\n    def _own(self): ...\n'
        "def f(): ...\n"
    )
    assert undocumented(source) == ["4: step", "6: f"]
    assert undocumented("x = 1\n") == ["1: module"]
