"""The book's file: what was saved stays, older books come along, others are refused, kills lose nothing."""

import random
import shutil
import sqlite3
import time
from pathlib import Path

import peewee
import pytest

from ribwright_host.book.killed import context, kills, write
from ribwright_host.book.listing import sides
from ribwright_host.book.migrations import SCHEMA, STEPS, take_steps
from ribwright_host.book.models import TABLES, Curve, Measurement, Photo, Piece, Side
from ribwright_host.book.pairs import whole_piece
from ribwright_host.book.store import APPLICATION_ID, BOOK_VARIABLE, book_path, opened
from ribwright_host.errors import FileError

OLD_BOOK = Path(__file__).parent / "book_schema_1.sqlite"
KILLS, KILLS_AT_BIRTH = 200, 30


def test_models_and_tables_have_the_same_columns(tmp_path):
    with opened(tmp_path / "book.sqlite", make=True) as database:
        for model in TABLES:
            there = {column.name for column in database.get_columns(model._meta.table_name)}
            assert there == {field.column_name for field in model._meta.sorted_fields}
        named = {model._meta.table_name for model in TABLES}
        assert named == set(database.get_tables())


def test_rests_as_one_file_that_says_what_it_is(tmp_path):
    path = tmp_path / "new folder" / "book.sqlite"
    with opened(path, make=True):
        Piece.create(name="baritone 1", simulated=False)
    assert [item.name for item in path.parent.iterdir()] == ["book.sqlite"]
    # The header of an SQLite file: user version at byte 60, application id at byte 68, big endian
    # (sqlite.org, Database File Format, 1.3).
    head = path.read_bytes()[:100]
    assert head[:16] == b"SQLite format 3\x00"
    assert int.from_bytes(head[60:64]) == SCHEMA == len(STEPS)
    assert int.from_bytes(head[68:72]) == APPLICATION_ID


def test_older_book_comes_along_whole_and_is_kept_beside(tmp_path):
    path = tmp_path / "book.sqlite"
    shutil.copyfile(OLD_BOOK, path)
    before = path.read_bytes()
    with opened(path) as database:
        assert database.user_version == SCHEMA
        found = sides()
        assert [(side.piece, side.which, side.heat_s, side.gaps_mm) for side in found] == [
            ("baritone 1", "bass", 852.0, (1.2, 0.6, 0.9)),
            ("baritone 1", "treble", 892.0, (1.2, 0.6, 0.9)),
        ]
        piece = whole_piece(Piece.get())
        assert piece.sides["treble"].defects[0]["kind"] == "scorched"
        assert piece.sides["bass"].runs[0]["zones"][1]["curve_c"] is None
        # What is new can be written.
        side = Side.get(Side.which == "bass")
        Measurement.create(side=side, noted_on="2026-04-01", twist_deg=1.5, cup_mm=0.2)
        Photo.create(side=side, path="side.jpg", copied=False)
        assert Curve.select().count() == 0
    assert (tmp_path / "book-schema-1.sqlite").read_bytes() == before
    with opened(path):
        assert Measurement.select().count() == 3


def test_step_that_fails_leaves_the_older_book_as_it_was(tmp_path, monkeypatch):
    path = tmp_path / "book.sqlite"
    shutil.copyfile(OLD_BOOK, path)

    def broken(database):
        STEPS[1](database)
        raise RuntimeError("half way")

    monkeypatch.setattr("ribwright_host.book.migrations.STEPS", (STEPS[0], broken))
    with pytest.raises(RuntimeError), opened(path):
        pass
    with sqlite3.connect(path) as plain:
        assert plain.execute("PRAGMA user_version").fetchone() == (1,)
        assert plain.execute("SELECT name FROM sqlite_master WHERE name = 'photos'").fetchall() == []
    plain.close()


def test_each_step_can_be_taken_alone():
    database = peewee.SqliteDatabase(":memory:")
    database.connect()
    for number in range(1, SCHEMA + 1):
        take_steps(database, upto=number)
        assert database.user_version == number
    database.close()


def test_newer_book_other_files_and_no_book_are_refused(tmp_path):
    newer = tmp_path / "newer.sqlite"
    with opened(newer, make=True) as database:
        database.user_version = SCHEMA + 1
    other = tmp_path / "other.sqlite"
    with sqlite3.connect(other) as plain:
        plain.execute("CREATE TABLE accounts (id)")
    plain.close()
    text = tmp_path / "text.sqlite"
    text.write_text("a letter, no book, and longer than a header of a hundred bytes would be, to be sure" * 9)
    for path, code in (
        (newer, "book_newer"),
        (other, "not_a_book"),
        (text, "not_a_book"),
        (tmp_path / "absent.sqlite", "no_book"),
    ):
        before = path.read_bytes() if path.exists() else None
        with pytest.raises(FileError) as found, opened(path):
            pass
        assert found.value.code == code
        assert str(path) in found.value.seen
        assert (path.read_bytes() if path.exists() else None) == before


def test_book_that_another_program_writes_is_said_to_be_busy(tmp_path, monkeypatch):
    monkeypatch.setattr("ribwright_host.book.store.WAIT_S", 0.05)
    path = tmp_path / "book.sqlite"
    with opened(path, make=True):
        pass
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    with pytest.raises(FileError) as found, opened(path):
        Piece.create(name="baritone 1", simulated=False)
    other.close()
    assert found.value.code == "book_busy"


def test_place_of_the_book(monkeypatch, tmp_path):
    monkeypatch.setenv(BOOK_VARIABLE, str(tmp_path / "mine.sqlite"))
    assert book_path() == tmp_path / "mine.sqlite"
    assert book_path(tmp_path / "other.sqlite") == tmp_path / "other.sqlite"
    monkeypatch.delenv(BOOK_VARIABLE)
    assert book_path().name == "book.sqlite"
    assert "ribwright" in book_path().parts


def test_no_kill_while_a_book_is_begun_leaves_one_that_cannot_be_opened(tmp_path):
    processes, dice = context(), random.Random(7)
    begun = 0
    for number in range(KILLS_AT_BIRTH):
        path = tmp_path / f"{number}.sqlite"
        heard, said = processes.Pipe(duplex=False)
        writer = processes.Process(target=write, args=(str(path), 1, said))
        writer.start()
        said.close()
        end = time.monotonic() + 20
        while not path.exists() and time.monotonic() < end:
            time.sleep(0.0005)
        time.sleep(dice.uniform(0, 0.03))
        writer.kill()
        writer.join(30)
        heard.close()
        begun += path.exists()
        with opened(path, make=True) as database:
            assert database.user_version == SCHEMA
            assert database.execute_sql("PRAGMA integrity_check").fetchone() == ("ok",)
            Piece.create(name="after", simulated=False)
    assert begun == KILLS_AT_BIRTH


def test_two_writers_wait_for_each_other(tmp_path):
    processes, path = context(), tmp_path / "book.sqlite"
    writers = []
    for begin in (1, 10**6):
        heard, said = processes.Pipe(duplex=False)
        writer = processes.Process(target=write, args=(str(path), begin, said))
        writer.start()
        said.close()
        writers.append((writer, heard))
    saved = [int(heard.recv_bytes()) for _ in range(12) for _, heard in writers]
    for writer, heard in writers:
        writer.kill()
        writer.join(30)
        heard.close()
    assert len(set(saved)) == 24
    with opened(path):
        assert set(saved) <= {row.id for row in Piece.select(Piece.id)}


def test_no_kill_at_any_moment_loses_what_was_saved(tmp_path):
    found = kills(tmp_path / "book.sqlite", KILLS)
    assert (found["lost"], found["damaged"]) == (0, 0)
    assert found["saved"] >= KILLS
    # Otherwise the kills came between the writes and showed nothing.
    assert found["within_a_write"] >= KILLS // 20


def test_measuring_tells_every_figure(monkeypatch):
    from ribwright_host.book import measured

    monkeypatch.setattr(measured, "RUNS", 40)
    monkeypatch.setattr(measured, "ROUNDS", 1)
    figures = measured.measured()
    for name in ("open", "list", "list_sides", "compare", "compare_one"):
        assert figures[f"book_{name}_s"] > 0
        # CPU time cannot be more than the wall clock's, but for the clocks' grain.
        ratio_s = figures[f"book_{name}_of_kernel"] * figures["book_kernel_s"]
        assert 0 <= ratio_s <= figures[f"book_{name}_s"] + 0.05
    assert figures["book_runs"] == 40


def test_made_up_book_is_one_that_can_be_read(tmp_path):
    from ribwright_host.book.measured import fill
    from ribwright_host.book.pairs import all_verdicts

    with opened(tmp_path / "book.sqlite", make=True):
        fill(10)
        assert len(sides()) == 6
        assert len(all_verdicts()) == 3
        assert all(side.simulated for side in sides())
        assert len(whole_piece(Piece.get()).sides["bass"].runs[0]["zones"][0]["curve_c"]) == 480
