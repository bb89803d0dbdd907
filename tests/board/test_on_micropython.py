"""Every file of this folder again, in the interpreter that the board runs."""

import ast
from pathlib import Path

import pytest

HERE = Path(__file__).resolve().parent
# These need pytest, numpy or hypothesis, which no board has.
CPYTHON_ONLY = {path.stem for path in HERE.glob("test_*_cpython.py")} | {"test_on_micropython"}
NAMES = sorted(path.stem for path in HERE.glob("test_*.py") if path.stem not in CPYTHON_ONLY)


@pytest.mark.parametrize("name", NAMES)
def test_board_interpreter_passes_the_same_file(name, run_micropython):
    tree = ast.parse((HERE / f"{name}.py").read_text(encoding="utf-8"))
    written = [node.name for node in tree.body if isinstance(node, ast.FunctionDef)]
    wanted = sum(function.startswith("test_") for function in written)
    assert wanted > 0
    said = run_micropython(HERE / "run_tests.py", name, path=[HERE.parent], timeout=300)
    assert said.splitlines()[-1] == f"passed {wanted}", said


def test_failing_assertion_is_noticed(run_micropython, tmp_path):
    (tmp_path / "board").mkdir()
    (tmp_path / "board" / "test_wrong.py").write_text("def test_wrong():\n    assert 1 == 2\n")
    said = run_micropython(HERE / "run_tests.py", "test_wrong", path=[tmp_path], expect=1)
    assert "AssertionError" in said
