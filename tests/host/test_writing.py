"""What cannot be written: told in plain words, with a next step, before work is lost to it."""

import os

import pytest

from host.commands import one_line, run
from host.peer import PROFILE_TEXT, RIG_TEXT
from ribwright_host.errors import FileError
from ribwright_host.writing import must_take_files, unwritable


def failing(act):
    """The error of an act that cannot be done."""
    try:
        act()
    except OSError as error:
        return error
    return pytest.fail("it could be done")


def test_each_obstacle_has_plain_words(tmp_path):
    file, folder = tmp_path / "notes.txt", tmp_path / "side"
    file.write_text("kept", encoding="utf-8")
    folder.mkdir()
    words = [
        (file.mkdir, f"{file} is a file, and no folder"),
        ((file / "below").mkdir, "is a file, and no folder"),
        (lambda: folder.write_text("", encoding="utf-8"), "it is a folder"),
        (lambda: (tmp_path / "no" / "side").write_text("", encoding="utf-8"), "its folder does not exist"),
    ]
    for act, said in words:
        error = unwritable(tmp_path / "out", failing(act), "name another")
        assert (error.code, error.exit_code, error.hint) == ("unwritable", 3, "name another")
        assert said in error.seen
        assert error.as_json()["file"] == str(tmp_path / "out")
    assert "this user may not" in unwritable(folder, PermissionError(13, "denied"), "").seen
    assert "No space left" in unwritable(folder, OSError(28, "No space left on device"), "").seen


def test_folder_is_asked_before_and_not_made(tmp_path, monkeypatch):
    must_take_files(tmp_path / "new" / "below", "name another")
    assert not list(tmp_path.iterdir())
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(FileError, match="is a file, and no folder"):
        must_take_files(tmp_path / "file" / "below", "name another")
    monkeypatch.setattr("os.access", lambda path, mode: mode == os.F_OK and path.exists())
    with pytest.raises(FileError, match="this user may not write there"):
        must_take_files(tmp_path / "new", "name another")


@pytest.mark.parametrize(
    ("work", "words"),
    [
        ("ribwright_host.rehearse.rehearsed", ["rehearse", "side.toml", "--out", "file"]),
        (
            "ribwright_host.plan.command._with_a_bar",
            ["plan", "--like", "waist", "--yes", "--rig", "rig.toml", "-o", "file/planned.toml"],
        ),
    ],
)
def test_long_work_does_not_begin_for_a_folder_that_takes_nothing(tmp_path, monkeypatch, work, words):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "rig.toml").write_text(RIG_TEXT, encoding="utf-8")
    (tmp_path / "side.toml").write_text(PROFILE_TEXT, encoding="utf-8")
    (tmp_path / "file").write_text("kept", encoding="utf-8")
    monkeypatch.setattr(work, lambda *_args, **_more: pytest.fail("work was done in vain"))
    line = one_line(run(*words), "unwritable", 3)
    assert "file is a file, and no folder" in line
    assert (tmp_path / "file").read_text(encoding="utf-8") == "kept"
