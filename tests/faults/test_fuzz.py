"""Frames of every kind into both ends of the link, kept inputs again, and planted defects that must show."""

import json
import sys
from pathlib import Path
from types import FunctionType, SimpleNamespace

import pytest

from ribwright_board.core import record, wire
from ribwright_board.core.errors import CoreError, RefusedError, WireError
from ribwright_board.core.messages import ASKS
from ribwright_board.core.modes import MODES
from ribwright_board.core.service import Service
from ribwright_host import errors as host_errors
from ribwright_host import link as host_link
from ribwright_host import runlog
from ribwright_sim.fuzz import __main__ as command
from ribwright_sim.fuzz import board_side, guided, host_side
from ribwright_sim.fuzz.board_state import warm_all
from ribwright_sim.fuzz.board_talk import BoardTalk
from ribwright_sim.fuzz.frames import KINDS, Frames, seal
from ribwright_sim.fuzz.host_side import Host
from ribwright_sim.fuzz.inputs import PLACES, EscapedError, Target
from ribwright_sim.fuzz.oracle import Ear, heard
from ribwright_sim.fuzz.watching import functions, harmed

CORPUS = Path(__file__).resolve().parents[1] / "fuzz_corpus"
FRAMES = 4000


@pytest.fixture(scope="module")
def boards():
    return warm_all()


@pytest.fixture(scope="module")
def target():
    return Target()


def shown(tally):
    """What was found, for a failing test."""
    return "\n".join(tally.findings.values())


# The sound firmware and the sound computer ----------------------------------------------------


def test_no_frame_escapes_or_changes_what_it_may_not_on_the_board(boards):
    tally = board_side.play("suite", FRAMES, boards)
    assert tally.wrong == 0, shown(tally)
    assert tally.total == FRAMES
    assert set(tally.frames) == set(KINDS)
    assert set(tally.modes) == set(MODES)
    assert min(tally.answers["ok"], tally.answers["no"]) > 100
    assert tally.deep_checks > 5


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_frame_alone_is_survived_by_both_ends(kind, boards):
    board = board_side.play(f"only {kind}", 240, boards, (kind,))
    host = host_side.play(f"only {kind}", 240, only=(kind,))
    assert board.wrong + host.wrong == 0, shown(board) + shown(host)
    assert board.frames[kind] == 240
    assert host.frames[kind] >= 240


def test_only_announced_errors_come_out_of_the_computers_side():
    tally = host_side.play("suite", FRAMES)
    assert tally.wrong == 0, shown(tally)
    assert set(KINDS) < set(tally.frames)
    assert set(tally.modes) == set(host_side.CALLS)
    assert {kind for kind in tally.frames if kind.startswith("log")} == {
        "log_good",
        "log_header",
        "log_spoiled",
        "log_cut",
        "log_noise",
    }
    assert tally.answers["ok"] > 100


@pytest.mark.parametrize("path", sorted(CORPUS.iterdir()), ids=lambda path: path.name)
def test_a_kept_input_does_no_harm(path, target):
    target.run(path.read_bytes())


def test_the_kept_inputs_reach_every_place_and_stay_small():
    inputs = [path.read_bytes() for path in CORPUS.iterdir()]
    assert {PLACES.get(data[:1]) for data in inputs} >= set(PLACES.values())
    assert sum(map(len, inputs)) < 200_000


def test_one_seed_gives_one_stream_and_another_seed_another():
    def stream(seed):
        frames = Frames(seed, BoardTalk())
        return [frames.draw() for _ in range(300)]

    assert stream("a") == stream("a")
    assert stream("a") != stream("b")


def test_the_oracle_and_the_wire_agree_on_every_line():
    frames, ear, reader = Frames("agree", BoardTalk()), Ear(), wire.LineReader()
    good = 0
    for _ in range(3000):
        for piece in frames.draw()[1]:
            lines = ear.take(piece)
            assert reader.feed(piece) == lines
            for line in lines:
                said = heard(line)
                try:
                    message = wire.decode(line)
                except WireError:
                    assert said is None, line
                    continue
                assert (said.kind, said.seq, said.verb) == (message.kind, message.seq, message.verb)
                good += 1
    assert good > 500


def test_a_line_nested_deeper_than_the_stack_has_left_is_a_damaged_line():
    line = seal(b'ask 1 status {"a": ' + b"[" * 230 + b"]" * 230 + b"}")
    depth, frame = 0, sys._getframe()
    while frame is not None:
        depth, frame = depth + 1, frame.f_back
    before = sys.getrecursionlimit()
    sys.setrecursionlimit(depth + 100)
    try:
        said = wire.decode(line).verb
    except WireError as error:
        said = error.code
    finally:
        sys.setrecursionlimit(before)
    # An interpreter that counts the calls of its library apart may read it.
    assert said == ("json" if sys.version_info < (3, 12) else "status")


def test_command_writes_figures_and_notes(tmp_path, capsys):
    assert command.main([str(tmp_path), "--frames", "600", "--workers", "1"]) == 0
    figures = json.loads((tmp_path / "fuzz.json").read_text())
    notes = json.loads((tmp_path / "fuzz_notes.json").read_text())
    assert figures["fuzz_frames_board"] == 600
    assert figures["fuzz_frames_host"] >= 600
    assert (figures["fuzz_exceptions"], figures["fuzz_state_changes"]) == (0, 0)
    assert 0 < figures["fuzz_board_bytes_most"] <= board_side.HELD_MOST
    assert sum(notes["frames_board"].values()) == 600
    assert "fuzz_exceptions" in capsys.readouterr().out


# Defects that must be noticed -----------------------------------------------------------------


class Raising(Service):
    """Lets an error out that the service does not turn into an answer."""

    def _ask_runs(self, data):
        return data["from"].first


class Arming(Service):
    """Takes `next` for the press at the rig."""

    def _ask_next(self, data):
        self.controller._press("start")
        return {}


class Clearing(Service):
    """Acknowledges a trip over the link."""

    def _ask_hello(self, data):
        if self.controller.mode == "tripped":
            self.controller.mode = "idle"
        return super()._ask_hello(data)


class Deep(Service):
    """Leaves its mark in the guard with every damaged line."""

    def answer(self, line):
        found = super().answer(line)
        self.controller.guard._spread_ms += not found
        return found


class Hoarding(Service):
    """Keeps every line it was given."""

    def answer(self, line):
        self.kept = [*getattr(self, "kept", []), line * 20]
        return super().answer(line)


class Hasty(Service):
    """Changes what it then refuses."""

    def _ask_next(self, data):
        self.controller.run += 1
        raise RefusedError("busy", "not now")


class Silent(Service):
    """Does not answer what it does not know."""

    def answer(self, line):
        found = super().answer(line)
        return b"" if b"no_such_ask" in found else found


@pytest.mark.parametrize(
    ("service", "counted", "words"),
    [
        (Raising, "escaped", "Error in _ask_runs"),
        (Arming, "changed", "ready -> proving"),
        (Clearing, "changed", "mode changed by hello: tripped -> idle"),
        (Deep, "changed", "left its mark"),
        (Hoarding, "bounds", "are held"),
        (Hasty, "changed", "plan changed by no ask that was taken"),
        (Silent, "changed", "0 answers to one ask"),
    ],
)
def test_a_service_with_a_defect_is_noticed(service, counted, words):
    tally = board_side.play("planted", FRAMES, warm_all(service))
    assert getattr(tally, counted) > 0
    assert words in shown(tally)


def test_a_decoder_that_ignores_the_checksum_is_noticed(boards, monkeypatch):
    sound = wire.decode

    def careless(line):
        body = bytes(line).rstrip(b"\r\n")[:-9]
        return sound(body + b" " + wire.checksum(body))

    monkeypatch.setattr("ribwright_board.core.wire.decode", careless)
    tally = board_side.play("planted", FRAMES, boards)
    assert "changed by no ask that was taken" in shown(tally)


def test_a_profile_that_never_ends_is_noticed(boards, monkeypatch):
    monkeypatch.setattr("ribwright_board.core.checks.Table.has", lambda table, key: key in table.values)
    tally = board_side.play("planted", FRAMES, boards, ("exchange",))
    assert "was accepted without zones, target or longest time" in shown(tally)


def test_a_reader_without_a_limit_is_noticed(boards, monkeypatch):
    def feed(self, data):
        self._part.extend(data)
        *lines, part = bytes(self._part).split(b"\n")
        self._part = bytearray(part)
        return [line for line in lines if line]

    monkeypatch.setattr("ribwright_board.core.wire.LineReader.feed", feed)
    long = ("too_long", "valid")
    assert "belongs to no ask" in shown(board_side.play("planted", 600, boards, long))
    assert host_side.play("planted", 600, only=long).bounds > 0


def broken_host(**changed):
    """The computer's side with some functions of its link replaced."""
    return Host(SimpleNamespace(**{**vars(host_link), **changed}), host_errors, runlog)


def _careless_runs(link):
    return [(int(number), int(size)) for number, size in link.ask("runs")["runs"]]


def _endless_runs(link):
    while True:
        try:
            link.ask("runs", tries=1)
        except host_errors.HostError:
            continue


def _texts(link):
    return [SimpleNamespace(number=str(one), size_bytes=0) for one in link.ask("runs").values()], 0


@pytest.mark.parametrize(
    ("runs", "words"),
    [(_careless_runs, "ValueError"), (_endless_runs, "EndlessError"), (_texts, "no pairs of numbers")],
)
def test_a_link_with_a_defect_is_noticed(runs, words, monkeypatch):
    monkeypatch.setattr(host_side, "ASKS_MOST", 60)
    tally = host_side.play("planted", FRAMES, broken_host(list_runs=runs))
    assert tally.escaped > 0
    assert words in shown(tally)


def test_an_error_that_no_screen_can_show_is_noticed():
    class Hasty(host_link.Link):
        def _answer_to(self, seq):
            for line in self._reader.feed(self.transport.read()):
                try:
                    message = wire.decode(line)
                except WireError:
                    continue
                if message.seq == seq and message.verb == "no":
                    raise host_errors.RefusedByBoardError(str(message.data.get("text")), "")
                if message.seq == seq:
                    return message
            return None

    tally = host_side.play("planted", FRAMES, broken_host(Link=Hasty), ("texts", "valid"))
    assert "UnicodeEncodeError" in shown(tally)


def test_more_tells_than_are_kept_are_noticed():
    tally = host_side.play("planted", FRAMES, broken_host(MAX_TELLS=0))
    assert tally.bounds > 0


def test_a_log_reader_with_a_defect_is_noticed():
    def careless(log, power_w, fetched_unix):
        record.read_header(log)
        return runlog.read_log(log, power_w, fetched_unix)

    tally = host_side.play(
        "planted", FRAMES, Host(host_link, host_errors, SimpleNamespace(read_log=careless))
    )
    assert tally.escaped > 0
    assert CoreError.__name__ in shown(tally)


def test_an_input_that_does_harm_ends_the_guided_run():
    target = Target(broken_host(list_runs=_careless_runs))
    with pytest.raises(EscapedError, match="KeyError"):
        target.run(b"L=ans # ok {}")
    target.run(b"L=ans # no {}")


# The engine -------------------------------------------------------------------------------------


def test_a_missing_engine_is_told_in_words(monkeypatch, capsys, tmp_path):
    monkeypatch.setattr(guided, "ENGINE", "no_such_engine")
    assert guided.main([str(tmp_path)]) == 2
    assert "Linux on x86_64" in capsys.readouterr().err


def test_both_ends_are_watched():
    names = {f"{found.__module__}.{found.__qualname__}" for found in functions(guided.WATCHED)}
    assert {name.rpartition("ask_")[2] for name in names} >= set(ASKS)
    for name in ("core.wire.LineReader.feed", "core.wire.decode"):
        assert f"ribwright_board.{name}" in names
    for name in ("link.get_run", "runlog.read_log", "runlog.RunLog.wood_bands_k"):
        assert f"ribwright_host.{name}" in names


@pytest.mark.parametrize(("steps", "too_far"), [(2, False), (200, True)])
def test_a_jump_too_long_for_one_byte_is_seen(steps, too_far):
    source = "def loop(n):\n    while n:\n" + "        n = n - 1 if n else n + 2\n" * steps
    found = {}
    exec(compile(source, "loop", "exec"), found)  # noqa: S102 - a loop of a chosen length
    assert isinstance(found["loop"], FunctionType)
    assert harmed(found["loop"].__code__) == too_far
