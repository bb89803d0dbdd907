"""Runs are taken in once, with sums that were reckoned by hand; simulated ones never mix with real ones."""

import json

import pytest
from click.testing import CliRunner

from host.book_runs import REAL_BOARD, bend_file, bend_log
from host.test_logbook import POWER_W, SIMULATED_BOARD, LogMaker
from ribwright_host.book.facts import given_from, thickness_by_place
from ribwright_host.book.heat import CURVE_STEP_S, Sums, pack, run_sums, side_sums, unpack
from ribwright_host.book.intake import Given, run_key, take_in
from ribwright_host.book.invented import memory_book
from ribwright_host.book.listing import runs, sides
from ribwright_host.book.models import Curve, Measurement, Piece, Run, RunZone, Side, Thickness
from ribwright_host.book.quantities import length_mm, show_mm, temperature_c, weight_g
from ribwright_host.cli import cli
from ribwright_host.errors import FileError, UsageError
from ribwright_host.logbook import read_csv, read_log, write_csv

BASS = Given("baritone 3", "bass")


@pytest.fixture(autouse=True)
def book():
    with memory_book() as database:
        yield database


def test_sums_are_those_reckoned_by_hand():
    whole, zones = run_sums(read_log(bend_log(), POWER_W))
    # 60 s at 152 C; the set's 40 s at 121 C lie within 3 K of 120; waist on for 10 + 30 + 10 s at 250 W:
    # 12500 J are 0.0034722 kWh. The run starts at 23 and 20 C.
    assert zones[0].heat_s == whole.heat_s == 60
    assert zones[0].peak_c == whole.peak_c == 152
    assert zones[0].set_s == whole.set_s == 40
    assert zones[0].set_c == whole.set_c == pytest.approx(121)
    assert whole.energy_kwh == pytest.approx(0.00347222, rel=1e-5)
    assert (zones[0].start_c, zones[1].start_c, whole.start_c) == (23, 20, 21.5)
    assert (zones[1].heat_s, zones[1].energy_kwh) == (0, 0)


def test_heat_is_that_of_the_hottest_zone_at_each_second_and_counts_no_hole():
    log = LogMaker(zones=["waist", "full"], board=REAL_BOARD)
    for second, waist, full in ((1, 150, 20), (2, 150, 145), (3, 20, 145), (63, 145, None)):
        log.row(second * 1000, 1, [(150, waist, 0, 0), (145, full, 0, 0)])
    whole, zones = run_sums(read_log(log.bytes()))
    assert (whole.heat_s, zones[0].heat_s, zones[1].heat_s) == (4, 3, 2)
    assert whole.energy_kwh is None


def test_heat_of_a_side_adds_up_over_its_runs():
    first = Sums(heat_s=300, peak_c=150, energy_kwh=0.05, set_c=126, set_s=300, start_c=22)
    again = Sums(heat_s=74, peak_c=156, energy_kwh=None, set_c=120, set_s=100, start_c=60)
    assert side_sums([first, again]) == Sums(374, 156, None, pytest.approx(124.5), 400, 22)
    assert side_sums([]) == Sums()


def test_run_is_taken_in_with_what_its_profile_says(tmp_path):
    taken = take_in(bend_file(tmp_path), BASS)
    assert (taken.outcome, taken.simulated) == ("taken in", False)
    side = Side.get()
    assert (side.species, side.wetted, side.tightest_radius_mm) == ("sapele", "misted", 45)
    assert (side.moisture_percent, side.runs_count, side.heat_s) == (12, 1, 60)
    assert [(row.place, row.thickness_mm) for row in Thickness.select()] == [("all along", 1.7)]
    assert Piece.get().made_on == "2026-11-18"
    run = Run.get()
    assert run.csv_path == str((tmp_path / "run-7.csv").resolve())
    assert run.json_path.endswith("run-7.json")
    assert run.log_path is None
    assert (run.ending, run.number, run.board) == ("done", 7, REAL_BOARD)
    values = unpack(bytes(Curve.select().join(RunZone).where(RunZone.zone == "waist").get().packed))
    assert len(values) == 120 // CURVE_STEP_S
    assert values[:3] == [23, 23, 152]


def test_taking_it_in_again_does_no_harm(tmp_path):
    path = bend_file(tmp_path)
    take_in(path, BASS)
    before = sides(), runs()
    assert take_in(path, BASS).outcome == "already in"
    assert (sides(), runs()) == before
    # The board's own log is the same run, though it knows no power.
    log = tmp_path / "copy.rlg"
    log.write_bytes(bend_log())
    assert run_key(read_log(bend_log())) == run_key(read_csv(path))
    assert take_in(log, BASS).outcome == "already in"
    assert (sides(), runs()) == before


def test_longer_record_of_the_same_run_replaces_the_shorter(tmp_path):
    whole = bend_log()
    cut = tmp_path / "cut.rlg"
    cut.write_bytes(whole[: len(whole) // 2])
    assert take_in(cut, BASS).outcome == "taken in"
    assert Run.get().ending is None
    assert take_in(bend_file(tmp_path), BASS).outcome == "brought up to date"
    assert (Side.get().heat_s, Run.get().ending, RunZone.select().count()) == (60, "done", 2)
    assert take_in(cut, BASS).outcome == "already in"
    assert Side.get().heat_s == 60


def test_simulated_and_real_runs_never_share_a_piece(tmp_path):
    take_in(bend_file(tmp_path), BASS)
    pretended = bend_file(tmp_path, 8, board=SIMULATED_BOARD)
    with pytest.raises(FileError) as found:
        take_in(pretended, BASS)
    assert found.value.code == "mixed_piece"
    assert take_in(pretended, Given("rehearsal", "bass")).simulated
    with pytest.raises(FileError):
        take_in(bend_file(tmp_path, 9), Given("rehearsal", "treble"))
    assert (Run.select().count(), Side.select().count()) == (2, 2)


def test_run_of_another_side_is_refused_unless_it_is_moved(tmp_path):
    path, treble = bend_file(tmp_path), Given("baritone 3", "treble")
    take_in(path, BASS)
    with pytest.raises(FileError) as found:
        take_in(path, treble)
    assert found.value.code == "other_side"
    assert "baritone 3, bass" in found.value.seen
    assert Side.select().count() == 1
    assert take_in(path, Given("baritone 3", "treble", move=True)).outcome == "moved"
    # Of the side it left, nothing is left: it held nothing else.
    assert [(side.which, side.runs_count, side.heat_s) for side in Side.select()] == [("treble", 1, 60)]


def test_side_that_was_measured_stays_when_its_run_moves(tmp_path):
    path = bend_file(tmp_path)
    take_in(path, BASS)
    Measurement.create(side=Side.get(), noted_on="2026-11-20", gap_waist_mm=0.5)
    take_in(path, Given("baritone 4", "bass", move=True))
    counts = {side.piece.name: (side.runs_count, side.heat_s) for side in Side.select()}
    assert counts == {"baritone 3": (0, None), "baritone 4": (1, 60)}
    take_in(path, Given("baritone 5", "bass", move=True))
    assert sorted(piece.name for piece in Piece.select()) == ["baritone 3", "baritone 5"]


def test_adding_again_corrects_what_is_said(tmp_path):
    path = bend_file(tmp_path)
    take_in(path, BASS)
    take_in(path, given_from("baritone 3", "bass", ["1.8"], {"wetted": "wiped"}, move=False))
    assert (Side.get().wetted, Side.get().species, Thickness.get().thickness_mm) == ("wiped", "sapele", 1.8)


def test_run_that_names_no_board_or_holds_nothing_is_refused(tmp_path):
    empty = tmp_path / "empty.rlg"
    empty.write_bytes(LogMaker(board=REAL_BOARD).bytes())
    damaged = tmp_path / "damaged.rlg"
    whole = bytearray(bend_log())
    whole[20] ^= 1
    damaged.write_bytes(whole)
    for path, code in ((empty, "nothing_recorded"), (damaged, "unknown_board")):
        with pytest.raises(FileError) as found:
            take_in(path, BASS)
        assert found.value.code == code
    assert Piece.select().count() == 0


def test_names_that_no_file_can_hold_and_odd_numbers_are_taken_in(tmp_path):
    path = bend_file(tmp_path)
    side = json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))
    side["header"]["profile"]["name"] = "half \ud800 a pair"
    side["header"]["run"] = 10**30
    path.with_suffix(".json").write_text(json.dumps(side), encoding="utf-8")
    take_in(path, given_from("b \udcff", "bass", [], {"remark": "\ud800"}, move=False))
    assert (Run.get().profile, Run.get().number) == ("half ? a pair", None)
    assert (Piece.get().name, Side.get().remark) == ("b ?", "?")
    assert take_in(path, Given("b \udcff", "bass")).outcome == "already in"


def test_facts_of_the_maker_come_before_the_profile(tmp_path):
    facts = {"species": "sapele, ribbon", "radius": "1.75in", "before": "52.4", "after": "2oz"}
    facts |= {"made_on": "2026-11-20", "show_face": " pencilled S ", "remark": ""}
    given = given_from("baritone 3", "bass", ["1.7@upper bout", "0.065in@waist"], facts, move=False)
    take_in(bend_file(tmp_path), given)
    side = Side.get()
    assert (side.species, side.show_face, side.remark) == ("sapele, ribbon", "pencilled S", None)
    assert side.tightest_radius_mm == pytest.approx(44.45)
    assert side.weight_after_g == pytest.approx(56.69904625)
    assert {row.place: row.thickness_mm for row in Thickness.select()} == {
        "upper bout": 1.7,
        "waist": pytest.approx(1.651),
    }
    assert Piece.get().made_on == "2026-11-20"


def test_units_are_those_of_nist():
    # NIST SP 811 (2008), appendix B.8: inch 2.54 E-02 m exactly; ounce (avoirdupois) 2.834952 E-02 kg; its
    # figures from memory. Freezing and boiling water on Fahrenheit's scale.
    assert length_mm("1in", "x", 0, 100) == 25.4
    assert weight_g("1 oz", "x") == pytest.approx(28.34952, abs=5e-6)
    assert (temperature_c("212F", "x"), temperature_c("32 f", "x"), temperature_c("127", "x")) == (
        100,
        0,
        127,
    )
    assert show_mm(-0.04, signed=True) == "+0.0 mm"


@pytest.mark.parametrize("text", ["", "thin", "1.7 km", "1,7", "nan", "0.1", "1e400", "40"])
def test_thickness_that_cannot_be_is_refused(text):
    with pytest.raises(UsageError):
        thickness_by_place([text])


def test_heavier_before_than_after_wetting_is_refused():
    with pytest.raises(UsageError, match="after wetting"):
        given_from("b", "bass", [], {"before": "60", "after": "52"}, move=False)


def test_curve_survives_packing():
    values = [None, -20.0, 0.0, 20.1, 199.9, None]
    assert unpack(pack(values)) == values


def ask(*words, book, given=None):
    return CliRunner().invoke(cli, ["book", *map(str, words), "--book", str(book)], input=given)


def test_command_takes_in_lists_and_says_what_is_simulated(tmp_path):
    book = tmp_path / "book.sqlite"
    first, pretended = bend_file(tmp_path), bend_file(tmp_path, 8, board=SIMULATED_BOARD)
    assert ask("add", first, "--piece", "baritone 3", "--side", "bass", book=book).exit_code == 0
    done = ask("add", pretended, "--piece", "rehearsal", "--side", "bass", book=book)
    assert "SIMULATED" in done.stdout
    text = ask("list", "--runs", book=book).stdout
    assert "rehearsal  SIMULATED" in text
    assert "1:00 at bending heat, peak 152 C, set 0:40 at 121 C" in text
    assert "peak 306 F" in ask("list", "--unit", "F", book=book).stdout
    assert "rehearsal" not in ask("list", "--real", book=book).stdout
    assert "baritone" not in ask("list", "--simulated", book=book).stdout
    assert "Nothing" in ask("list", "--month", "2025-01", book=book).stdout
    told = json.loads(ask("list", "--runs", "--json", book=book).stdout)
    assert sorted((row["piece"], row["simulated"]) for row in told["runs"]) == [
        ("baritone 3", False),
        ("rehearsal", True),
    ]
    assert "set_c" in told["sides"][0]
    shown = ask("show", "baritone", book=book).stdout
    assert "run 7 of board 452b2f" in shown
    # A simulated piece is never meant by the beginning of its name.
    assert ask("show", "rehears", book=book).exit_code == 3
    assert "SIMULATED" in ask("show", "rehearsal", book=book).stdout


def test_command_that_cannot_ask_says_what_is_missing(tmp_path):
    done = ask("add", bend_file(tmp_path), book=tmp_path / "book.sqlite")
    assert done.exit_code == 2
    assert "--piece is not given" in done.stderr
    assert not (tmp_path / "book.sqlite").exists()


def test_somebody_at_the_keyboard_is_asked(monkeypatch):
    from ribwright_host import cli_book

    answers = iter(["  baritone 3 ", "treble"])
    monkeypatch.setattr(cli_book.sys.stdin, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(cli_book.click, "prompt", lambda *_, **__: next(answers))
    assert cli_book._asked(None, None, as_json=False) == ("baritone 3", "treble")
    assert cli_book._asked("tenor 1", "bass", as_json=True) == ("tenor 1", "bass")
    with pytest.raises(UsageError):
        cli_book._asked("tenor 1", None, as_json=True)


def test_several_runs_belong_to_one_side(tmp_path):
    book = tmp_path / "book.sqlite"
    paths = [bend_file(tmp_path, 7), bend_file(tmp_path, 8, unix=1_795_003_600)]
    assert ask("add", *paths, "--piece", "baritone 3", "--side", "bass", book=book).exit_code == 0
    assert "2 runs, 2:00 at bending heat" in ask("list", book=book).stdout


def test_csv_of_a_spreadsheet_that_ruined_it_is_refused_and_the_book_stays(tmp_path):
    book, path = tmp_path / "book.sqlite", bend_file(tmp_path)
    path.write_text(path.read_text(encoding="utf-8").replace(",", ";"), encoding="utf-8")
    done = ask("add", path, "--piece", "baritone 3", "--side", "bass", book=book)
    assert done.exit_code == 3
    assert "not_a_run_file" in done.stderr
    write_csv(read_log(bend_log(), POWER_W), path)
    assert ask("add", path, "--piece", "baritone 3", "--side", "bass", book=book).exit_code == 0
