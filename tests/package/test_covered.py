"""What `make coverage` says of the rooms."""

import json

import pytest

import covered


def report(lines, of_lines, branches=1, of_branches=1):
    keys = ("covered_lines", "num_statements", "covered_branches", "num_branches")
    summary = dict(zip(keys, (lines, of_lines, branches, of_branches), strict=True))
    return {"summary": summary | {"percent_covered": 1.0, "missing_lines": of_lines - lines}}


FOUND = {
    "files": {
        "firmware/ribwright_board/core/guard.py": report(99, 100, 97, 100),
        "firmware/ribwright_board/core/wire.py": report(95, 100),
        "firmware/ribwright_board/drivers/relay.py": report(0, 100),
        "host/ribwright_host/cli.py": report(95, 100, 8, 10),
        "sim\\ribwright_sim\\wood.py": report(90, 100),
    }
}


def test_rooms_are_counted_and_the_guard_within_the_core():
    figures = covered.shares(FOUND)
    assert [figures[room]["lines_percent"] for room in ("core", "guard", "host", "sim")] == [
        97.0,
        99.0,
        95.0,
        90.0,
    ]
    assert figures["host"]["branches_percent"] == 80.0


def test_what_is_below_is_named_and_ends_it(tmp_path, capsys):
    (tmp_path / "found.json").write_text(json.dumps(FOUND), "utf-8")
    assert covered.main([str(tmp_path / "found.json"), str(tmp_path / "out.json")]) == 1
    said = capsys.readouterr().out
    assert "core: lines 97 %, at least 98 % are wanted; core: branches" in said
    assert "guard: branches 97 %, at least 98 % are wanted" in said
    # Of host and sim the lines count.
    assert "host:" not in said
    assert json.loads((tmp_path / "out.json").read_text("utf-8"))["sim"]["lines_percent"] == 90.0


def test_room_without_files_is_no_full_share():
    with pytest.raises(ValueError, match="no file of sim"):
        covered.shares({"files": {path: one for path, one in FOUND["files"].items() if "sim" not in path}})


def test_every_file_of_the_guard_is_there(root):
    for name in covered.GUARD:
        assert (root / "firmware" / "ribwright_board" / "core" / f"{name}.py").is_file(), name
