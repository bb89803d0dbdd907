"""Everything public in the core and the simulator says what it does, in which units."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
CORE = ROOT / "firmware" / "ribwright_board" / "core"
SIM = ROOT / "sim" / "ribwright_sim"
FILES = [
    path.relative_to(ROOT)
    for home in (CORE, SIM)
    for path in sorted(home.rglob("*.py"))
    if "shim" not in path.parts
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
