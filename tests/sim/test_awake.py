"""The wait for the board's next frame: awake while processors are to spare, asleep else, the same bytes."""

import os
import threading
import time

import pytest

from ribwright_sim import awake

pytestmark = pytest.mark.skipif(not awake.WANTED.exists(), reason="the system does not tell who waits")


@pytest.fixture
def pipe():
    """An Awake, and what writes to it."""
    out, into = os.pipe()
    reader = awake.Awake(os.fdopen(out, "rb", buffering=0))
    yield reader, into
    reader.close()


@pytest.mark.parametrize("spare", [True, False])
def test_what_comes_is_read_in_order_and_the_end_is_the_end(pipe, monkeypatch, spare):
    monkeypatch.setattr(awake, "spare", lambda: spare)
    reader, into = pipe

    def write():
        for piece in (b"a", b"bc"):
            time.sleep(0.01)
            os.write(into, piece)
        os.close(into)

    writer = threading.Thread(target=write)
    writer.start()
    got = []
    while data := reader.read(64):
        got.append(data)
    writer.join(5)
    assert b"".join(got) == b"abc"
    assert reader.looks is spare


def slept(monkeypatch, reader, into, pieces):
    """How often reads of so many pieces, each there at once or a little later, slept."""
    sleeps, real = [], awake.select.select
    monkeypatch.setattr(awake.select, "select", lambda *of: (sleeps.append(of), real(*of))[1])
    for _ in range(pieces):
        later = threading.Timer(0.0005, os.write, (into, b"x"))
        later.start()
        assert reader.read(8) == b"x"
        later.join(5)
    return len(sleeps)


def test_it_sleeps_where_others_want_the_processor_and_asks_anew(pipe, monkeypatch):
    asked = []
    monkeypatch.setattr(awake, "spare", lambda: asked.append(1) or False)
    reader, into = pipe
    assert slept(monkeypatch, reader, into, 2 * awake.ROUND) >= awake.ROUND
    assert len(asked) == 2
    os.close(into)


def test_a_long_wait_becomes_a_sleep(pipe, monkeypatch):
    monkeypatch.setattr(awake, "spare", lambda: True)
    monkeypatch.setattr(awake, "LOOK_S", 0.0)
    reader, into = pipe
    assert slept(monkeypatch, reader, into, 3) >= 2
    os.close(into)


@pytest.mark.parametrize(
    ("said", "processors", "found"),
    [
        ("2.50 1.00 0.90 2/345 11206\n", 2, True),
        ("0.10 1.00 0.90 3/345 11206\n", 2, False),
        ("0.10 1.00 0.90 2/345 11206\n", 1, False),
        ("nothing of the kind\n", 2, False),
        ("", 2, False),
    ],
)
def test_who_wants_a_processor_is_the_fourth_word(tmp_path, said, processors, found):
    # The layout is that of proc_loadavg(5).
    (tmp_path / "loadavg").write_text(said, encoding="ascii")
    assert awake.spare(tmp_path / "loadavg", processors) is found
    assert not awake.spare(tmp_path / "none", processors)


def test_nobody_waits_and_the_pipe_itself_is_read():
    out, into = os.pipe()
    with os.fdopen(out, "rb", buffering=0) as plain:
        assert awake.reader(plain, awake=False) is plain
        assert isinstance(awake.reader(plain, awake=True), awake.Awake)
    os.close(into)
