"""Which side a start is of: drawn, asked about, kept with the run, and known to its files, report and
notebook."""

import json

import pytest

from host.book_runs import REAL_BOARD, bend_log
from host.commands import run
from host.peer import BOARD_ID, PROFILE_TEXT, RIG_TEXT
from host.test_logbook import POWER_W
from host.test_side import SIDE_TEXT
from ribwright_host.book.intake import Given, laid_as, take_in
from ribwright_host.book.invented import memory_book
from ribwright_host.book.models import Run, Side
from ribwright_host.book.pairs import whole_piece
from ribwright_host.book.telling import piece_lines
from ribwright_host.errors import FileError
from ribwright_host.logbook import read_csv, read_log, read_run, write_csv
from ribwright_host.profiles import load_profile
from ribwright_host.report import build
from ribwright_host.side import kept, starting


@pytest.fixture(autouse=True)
def notes(tmp_path, monkeypatch):
    """Notes and notebook of this test alone."""
    path = tmp_path / "own" / "sides.json"
    monkeypatch.setattr(kept, "default_file", lambda: path)
    monkeypatch.setenv("RIBWRIGHT_BOOK", str(tmp_path / "own" / "book.sqlite"))
    return path


@pytest.fixture
def profile(tmp_path):
    path = tmp_path / "bend.toml"
    path.write_text(PROFILE_TEXT + SIDE_TEXT, encoding="utf-8")
    (tmp_path / "rig.toml").write_text(RIG_TEXT, encoding="utf-8")
    return path


@pytest.fixture
def start(port, profile):
    """Start the profile, which the board holds, with more options."""
    sent = run("upload", profile, "--port", port)
    assert sent.exit_code == 0, sent.output
    return lambda *more, answers=None: run("start", profile, "--port", port, *more, answers=answers)


def kept_notes(path):
    return json.loads(path.read_text(encoding="utf-8")) if path.is_file() else []


def test_strip_is_drawn_laid_out_and_kept_without_a_terminal_and_nobody_is_asked(start, peer, notes, profile):
    result = start("--side", "bass", "--piece", "baritone 3")
    assert result.exit_code == 0, result.output
    assert "top edge" in result.stdout
    assert "waist 150" not in result.stdout
    assert " waist " in result.stdout
    assert "Nobody was asked whether the strip lies so (there is no terminal)." in result.stdout
    assert peer.controller.mode == "ready"
    (note,) = kept_notes(notes)
    assert (note["board"], note["run"], note["hand"]) == (BOARD_ID, 1, "bass")
    assert (note["piece"], note["answer"]) == ("baritone 3", "not asked")
    assert note["profile_hash"] == load_profile(profile).hash
    assert note["side"]["waist_mark_mm"] == 245


@pytest.mark.parametrize(("answer", "mode", "kept_as"), [("y", "ready", "yes"), ("n", "idle", None)])
def test_in_a_terminal_one_question_decides(start, peer, notes, monkeypatch, answer, mode, kept_as):
    monkeypatch.setattr(starting, "somebody", lambda: True)
    result = start("--side", "treble", answers=f"{answer}\n")
    assert result.exit_code == (0 if answer == "y" else 130), result.output
    assert result.output.count("?") == 1
    assert starting.QUESTION in result.output
    assert peer.controller.mode == mode
    assert [note["answer"] for note in kept_notes(notes)] == ([kept_as] if kept_as else [])


def test_yes_asks_nobody_and_says_so(start, notes, monkeypatch):
    monkeypatch.setattr(starting, "somebody", lambda: True)
    result = start("--side", "bass", "--yes")
    assert "Nobody was asked whether the strip lies so (--yes)." in result.stdout
    assert kept_notes(notes)[0]["answer"] == "not asked"


def test_answer_for_a_program_is_one_line_and_the_drawing_goes_elsewhere(start):
    result = start("--side", "treble", "--json")
    told = json.loads(result.stdout)
    assert told["side"]["hand"] == "treble"
    assert (told["side"]["top_edge"], told["side"]["face"], told["side"]["answer"]) == (
        "near",
        "up",
        "not asked",
    )
    assert "top edge" in result.stderr


def test_same_hand_twice_for_one_piece_is_warned_of(start):
    assert "MIND" not in start("--side", "bass", "--piece", "baritone 3").stdout
    assert "MIND" not in start("--side", "bass", "--piece", "baritone 4").stdout
    again = start("--side", "treble", "--piece", "baritone 4")
    assert "MIND" not in again.stdout
    twice = start("--side", "bass", "--piece", "baritone 3")
    assert twice.exit_code == 0
    assert "MIND: the strip of baritone 3 laid out last was a bass side too (run 1" in twice.stdout
    assert "this one has to be the treble side" in twice.stdout
    # Pieces without a name are told apart by the profile.
    assert "MIND" not in start("--side", "bass").stdout
    assert "by the profile sapele baritone side laid out last" in start("--side", "bass").stdout


def test_notebook_warns_as_well(start, tmp_path):
    path = tmp_path / "run.csv"
    write_csv(read_log(bend_log(), POWER_W), path)
    assert run("book", "add", path, "--piece", "baritone 9", "--side", "bass").exit_code == 0
    assert "MIND" not in start("--side", "treble", "--piece", "baritone 9").stdout
    kept.default_file().unlink()
    assert "the notebook has the bass side of baritone 9 already (1 run)" in (
        start("--side", "bass", "--piece", "baritone 9").stdout
    )


def test_options_go_before_the_file_and_are_checked(start, notes):
    assert start("--side", "bass", "--waist-mark", "10in", "--show-face", "star").exit_code == 0
    own = kept_notes(notes)[0]["side"]["bass"]
    assert own == {"show_face": "star", "waist_mark_mm": 254.0}
    wrong = start("--side", "bass", "--waist-mark", "600mm")
    assert wrong.exit_code == 2
    assert "ends at 560 mm" in wrong.stderr
    assert len(kept_notes(notes)) == 1


@pytest.mark.parametrize("more", [("--piece", "x"), ("--waist-mark", "255"), ("--neck-end", "left")])
def test_what_belongs_to_a_side_is_not_taken_without_one(start, peer, more):
    result = start(*more)
    assert result.exit_code == 2
    assert "without --side" in result.stderr
    assert peer.controller.mode == "idle"


def test_neck_end_is_never_guessed(peer, port, tmp_path, monkeypatch):
    bare = tmp_path / "bare.toml"
    bare.write_text(PROFILE_TEXT, encoding="utf-8")
    run("upload", bare, "--port", port)
    result = run("start", bare, "--port", port, "--side", "bass")
    assert (result.exit_code, peer.controller.mode) == (2, "idle")
    assert result.stderr.startswith("no_neck_end: ")
    monkeypatch.setattr(starting, "somebody", lambda: True)
    asked = run("start", bare, "--port", port, "--side", "bass", answers="right\ny\n")
    assert asked.exit_code == 0, asked.output
    assert "Neck end to your right" in asked.stdout
    assert "name the rig with --rig" in asked.stdout


def test_side_without_a_profile_or_with_a_start_that_names_none(start, port):
    result = run("start", "--port", port, "--side", "bass")
    assert result.exit_code == 2
    assert "needs the profile's file" in result.stderr
    assert "Which side this is was not said" in start("--yes").stdout


def test_drawing_is_written_and_a_wrong_name_starts_nothing(start, peer, tmp_path):
    wrong = start("--side", "bass", "--drawing", tmp_path / "strip.png")
    assert (wrong.exit_code, peer.controller.mode) == (3, "idle")
    out = tmp_path / "strip.svg"
    assert start("--side", "bass", "--drawing", out).exit_code == 0
    assert "<svg" in out.read_text(encoding="utf-8")


def test_note_that_cannot_be_kept_is_said_and_the_run_stays_ready(start, peer, notes):
    notes.parent.parent.joinpath("own").write_text("in the way", encoding="utf-8")
    result = start("--side", "bass")
    assert result.exit_code == 0
    assert "was not kept" in result.stderr
    assert peer.controller.mode == "ready"


def test_unreadable_notes_are_put_aside_and_not_written_over(notes):
    notes.parent.mkdir()
    notes.write_text("{ half", encoding="utf-8")
    kept.keep({"hand": "bass", "board": "b", "run": 1})
    assert [note["run"] for note in kept_notes(notes)] == [1]
    assert notes.with_suffix(".unreadable").read_text(encoding="utf-8") == "{ half"


# The run's files, the report and the notebook.

STATED = {
    "show_face": "chalk cross",
    "neck_end": "left",
    "waist_mark_mm": 245,
    "treble": {"waist_mark_mm": 250},
}


def laid_run(tmp_path, hand="treble", number=7, **note):
    """A fetched run that was laid out as one side of baritone 3; its CSV."""
    run_log = read_log(bend_log(number), POWER_W)
    base = {"board": REAL_BOARD, "run": number, "profile_hash": run_log.word("profile_hash"), "side": STATED}
    base["unix"] = run_log.started_unix - 60
    kept.keep(base | {"hand": hand, "piece": "baritone 3", "answer": "yes", "profile": "x"} | note)
    run_log.laid = kept.of_run(run_log)
    path = tmp_path / f"run-{number}.csv"
    write_csv(run_log, path)
    path.with_suffix(".rlg").write_bytes(bend_log(number))
    return path


def test_side_travels_in_the_side_file_and_is_known_of_the_log_as_well(tmp_path):
    path = laid_run(tmp_path)
    told = json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))["side"]
    assert (told["hand"], told["piece"], told["answer"]) == ("treble", "baritone 3", "yes")
    assert read_csv(path).laid == read_run(path.with_suffix(".rlg")).laid == told


@pytest.mark.parametrize(
    "change", [{"board": "another"}, {"run": 8}, {"profile_hash": "other"}, {"unix": 1_794_000_000}]
)
def test_note_of_another_run_is_not_taken(tmp_path, change):
    assert read_csv(laid_run(tmp_path, **change)).laid == {}


def test_report_names_the_side(tmp_path):
    page = build(laid_run(tmp_path), tmp_path / "page").read_text(encoding="utf-8")
    assert "<dt>Side</dt><dd>treble side of baritone 3, confirmed as drawn before the start</dd>" in page
    bare = tmp_path / "bare.csv"
    write_csv(read_log(bend_log(9), POWER_W), bare)
    assert "<dt>Side</dt>" not in build(bare, tmp_path / "bare").read_text(encoding="utf-8")


def test_report_escapes_what_a_note_says(tmp_path):
    page = build(laid_run(tmp_path, piece="<b>x"), tmp_path / "page").read_text(encoding="utf-8")
    assert "&lt;b&gt;x" in page
    assert "<b>x" not in page


def test_notebook_knows_piece_side_and_marks(tmp_path):
    path = laid_run(tmp_path)
    with memory_book():
        assert laid_as([path], None, None) == ("baritone 3", "treble")
        assert laid_as([path], "another", None) == ("another", "treble")
        take_in(path, Given("baritone 3", "treble"))
        side = Side.get()
        assert (side.which, side.show_face, side.waist_mark) == (
            "treble",
            "chalk cross",
            "250 mm from the neck end",
        )
        assert Run.get().laid == "treble side of baritone 3, confirmed as drawn before the start"
        assert any("laid out as treble side" in line for line in piece_lines(whole_piece(side.piece)))


def test_notebook_refuses_the_other_side_unless_it_is_meant(tmp_path):
    path = laid_run(tmp_path)
    with memory_book():
        with pytest.raises(FileError) as wrong:
            take_in(path, Given("baritone 3", "bass"))
        assert wrong.value.code == "other_hand"
        assert Side.select().count() == 0
        take_in(path, Given("baritone 3", "bass", move=True))
        assert Side.get().show_face is None


def test_runs_of_both_sides_are_not_taken_for_one(tmp_path):
    paths = [laid_run(tmp_path, "treble", 7), laid_run(tmp_path, "bass", 8)]
    assert laid_as(paths, None, None) == (None, None)
    assert laid_as([tmp_path / "absent.csv"], None, None) == (None, None)
