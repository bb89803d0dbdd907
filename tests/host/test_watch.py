"""What a person sees while it runs: units, cues, trips, and SIMULATED wherever nothing is heated."""

import json

import pytest
from rich.console import Console

from host.peer import Peer
from ribwright_board.core import wire
from ribwright_host.errors import LinkLostError, RefusedByBoardError, TrippedError
from ribwright_host.link import Link, hello
from ribwright_host.screen import screen
from ribwright_host.transport import MemoryTransport
from ribwright_host.view import (
    event_line,
    interrupted_line,
    plain_line,
    refusal_words,
    shown,
    view_of,
)
from ribwright_host.watch import KEYS, Watcher, _obey, watch_run

NAMES = ["waist", "full"]
ROW = {
    "ms": 61000,
    "mode": "running",
    "run": 4,
    "stage": 2,
    "stages": 6,
    "stage_kind": "hold",
    "zones": [[1550, 1502, 420, 1], [None, 212, 0, 0]],
    "waiting": "next",
    "cue": "waist to 6 mm",
    "late_ms": 3,
    "heap": 90000,
    "crc_errors": 0,
}
VIRTUAL = b"ribsim".hex() + "0001"


def board(board_id="e6614103e7452d2f"):
    return hello(Link(MemoryTransport(Peer(board=board_id).take)))


def drawn(row, who, unit="C", recent=()):
    console = Console(width=90, record=True, file=None, quiet=True)
    with console.capture() as taken:
        console.quiet = False
        console.print(screen(view_of(row, NAMES), who, unit, list(recent)))
    return taken.get()


@pytest.mark.parametrize(
    ("verb", "data"),
    [
        ("row", ROW | {"zones": 3}),
        ("row", ROW | {"zones": [["hot", None, [], {}]]}),
        ("row", {}),
        ("row", ROW | {"stage": "two", "mode": ["running"]}),
        ("event", {"code": 7, "a": "x"}),
        ("event", {"code": "cue", "zone": "waist"}),
        ("status", {"mode": None, "trip": 5}),
    ],
)
@pytest.mark.parametrize("style", ["plain", "json", "screen"])
def test_message_that_makes_no_sense_is_told_once_and_the_next_one_is_shown(capsys, verb, data, style):
    watcher = Watcher(board(), "C", style)
    for _ in range(3):
        watcher.take(verb, data)
    watcher.take("row", ROW)
    assert watcher.view.mode == "running"
    assert not watcher.over
    said = capsys.readouterr().err
    assert said.count("makes no sense") <= len(watcher.odd)
    if style != "screen":
        assert said.count("makes no sense") == len(watcher.odd)


def test_row_with_a_wrong_table_of_zones_is_told(capsys):
    watcher = Watcher(board(), "C", "plain")
    watcher.take("row", ROW | {"zones": 3})
    assert "a message of the board makes no sense and is passed over: row" in capsys.readouterr().err


def test_screen_shows_zones_stage_and_the_cue_in_the_makers_words():
    text = drawn(ROW, board(), recent=["stage begins: 2"])
    assert "stage 2 of 6, hold" in text
    assert "waist to 6 mm" in text
    assert "155 C" in text
    assert "150 C" in text
    assert "42%" in text
    assert "stage begins: 2" in text
    assert "SIMULATED" not in text


def test_simulated_is_said_on_the_screen_and_in_every_line(capsys):
    assert "SIMULATED" in drawn(ROW, board(VIRTUAL))
    watcher = Watcher(board(VIRTUAL), "C", "plain")
    watcher.take("row", ROW)
    watcher.take("event", {"code": "cue", "zone": 0, "text": "waist to 6 mm"})
    lines = capsys.readouterr().out.strip().split("\n")
    assert len(lines) == 2
    assert all(line.startswith("SIMULATED ") for line in lines)
    machine = Watcher(board(VIRTUAL), "C", "json")
    machine.take("row", ROW)
    assert json.loads(capsys.readouterr().out)["simulated"] is True


def test_temperatures_show_in_the_wanted_unit():
    # 155.0 C is 311 F and 150.2 C is 302.4 F, by the definition of the Fahrenheit scale.
    line = plain_line(view_of(ROW, NAMES), "F", simulated=False)
    assert "waist 302 F of 311 F" in line
    assert shown(-40.0, "F") == "-40 F"


def test_estimate_of_the_wood_is_shown_as_one_with_its_band():
    row = {**ROW, "mids": [[1184, 80], [None, 35]]}
    text = drawn(row, board())
    assert "middle of the wood, estimate" in text
    assert "about 118 C, give or take 8 K" in text
    # 118.4 C is 245.1 F, and 8 K are 14.4 degrees F, by the definition of the Fahrenheit scale.
    line = plain_line(view_of(row, NAMES), "F", simulated=False)
    assert line.count("estimate") == 1
    assert "waist 302 F of 311 F, heat 42%, middle of the wood (estimate) about 245 F, give or take" in line
    assert "give or take 14 degrees F;" in line
    calibrated = plain_line(view_of({**ROW, "mids": [[1184, 35], [None, 35]]}, NAMES), "C", simulated=False)
    assert "about 118 C, give or take 3.5 K" in calibrated
    for nothing in (None, [], [[None, 80], [None, 80]]):
        assert "middle of the wood" not in drawn({**ROW, "mids": nothing}, board())
    assert "middle of the wood" not in plain_line(view_of(ROW, NAMES), "C", simulated=False)
    assert event_line({"code": "wood_hot", "zone": -1, "a": 1184}, NAMES).endswith("hot enough, about 118 C")
    assert event_line({"code": "wood_late", "zone": -1, "a": 1103}, NAMES).endswith("enough yet, about 110 C")
    assert event_line({"code": "wood_late", "zone": -1, "a": -32768}, NAMES).endswith("enough yet, about -")


def test_missing_reading_is_never_shown_as_a_number():
    row = {**ROW, "zones": [[1550, None, 0, 0], [None, -32768, 0, 0]]}
    assert drawn(row, board()).count("no reading") == 2


def test_plain_style_says_one_line_for_every_change_only(capsys):
    watcher = Watcher(board(), "C", "plain")
    for ms in range(61000, 71000, 1000):
        watcher.take("row", {**ROW, "ms": ms})
    watcher.take("row", {**ROW, "cue": "waist home"})
    assert capsys.readouterr().out.count("\n") == 2


def test_events_are_told_in_words_with_their_figures():
    assert event_line({"code": "arrived", "zone": 0, "a": 1530}, NAMES, "F") == (
        "waist: the zone reached its target at 307 F"
    )
    assert event_line({"code": "of a newer firmware", "zone": -1}, NAMES) == "of a newer firmware"


class Script:
    """A board that answers status in turn and tells rows in between."""

    def __init__(self, statuses, tells=()):
        self.statuses = list(statuses)
        self.tells = list(tells)

    def __call__(self, data):
        message = wire.decode(data)
        if message.verb == "trip":
            answer = {"text": "ceiling: waist: seen 201.00, limit 200.00 C; let it cool"}
        elif message.verb in KEYS.values():
            return wire.encode(
                "ans", message.seq, "no", {"code": "not_running", "text": "the rig is idle; wait"}
            )
        else:
            answer = self.statuses.pop(0) if len(self.statuses) > 1 else self.statuses[0]
        told = b"".join(wire.encode("tell", n, verb, values) for n, (verb, values) in enumerate(self.tells))
        return wire.encode("ans", message.seq, "ok", answer) + told


def watch(script, style="plain", who=None, at=""):
    watch_run(Link(MemoryTransport(script)), who or board(), "C", style, at)


IDLE = {**ROW, "mode": "idle", "stage": 0, "waiting": None, "cue": None}


def test_watching_ends_with_the_run_and_says_how_to_read_it_back(capsys):
    watch(Script([ROW], [("event", {"code": "done", "zone": -1}), ("row", IDLE)]))
    ended = "Run 4 ended as its profile says. Read it back with: ribwright fetch 4"
    assert f"{ended}\n" in capsys.readouterr().out
    watch(Script([ROW], [("event", {"code": "done", "zone": -1}), ("row", IDLE)]), at=" --port virtual")
    assert f"{ended} --port virtual\n" in capsys.readouterr().out


def test_watching_an_idle_rig_ends_at_once(capsys):
    watch(Script([IDLE]))
    assert "No run is on" in capsys.readouterr().out


def test_trip_ends_the_watching_with_what_was_seen_and_what_to_do():
    tripped = {**IDLE, "mode": "tripped", "trip": {"code": "ceiling", "zone": 0}}
    with pytest.raises(TrippedError) as raised:
        watch(Script([ROW, tripped], [("row", {**IDLE, "mode": "tripped"})]))
    line = raised.value.line()
    assert raised.value.exit_code == 9
    assert "seen 201.00, limit 200.00 C" in line
    assert "let it cool" in line
    assert "do not force it" in line


def test_start_that_the_rig_refuses_says_what_to_look_at():
    refused = ("event", {"code": "refused", "zone": -1, "a": 2, "text": "open"})
    with pytest.raises(RefusedByBoardError) as raised:
        watch(Script([{**ROW, "mode": "proving"}], [refused, ("row", IDLE)]))
    assert "thermocouple" in raised.value.line()


def test_refusal_says_where_what_was_seen_and_the_limit():
    refused = ("event", {"code": "refused", "zone": 1, "a": 12, "text": "no_rise"})
    figures = {"code": "no_rise", "zone": 1, "seen": 0.2, "limit": 0.84, "unit": "K", "ms": 5000}
    with pytest.raises(RefusedByBoardError) as raised:
        watch(Script([{**ROW, "mode": "proving"}, {**IDLE, "refused": figures}], [refused, ("row", IDLE)]))
    line = raised.value.line()
    assert raised.value.exit_code == 7
    assert "no_rise, full: seen 0.20, limit 0.84 K" in line
    assert "fuse, relay, cut-off" in line
    files = {"code": "files", "zone": -1, "seen": 0.0, "limit": 0.0, "unit": "", "ms": 5000}
    assert refusal_words(files, NAMES) == "files, rig"
    assert refusal_words({}, NAMES) == ""


def test_question_whether_anybody_is_there_stands_before_any_cue():
    text = " ".join(drawn({**ROW, "waiting": "presence"}, board()).replace("│", " ").split())
    assert "Press any button AT THE RIG" in text
    assert "waist to 6 mm" not in text
    assert event_line({"code": "presence", "zone": -1, "a": 120}, NAMES) == (
        "press any button to say that you are there, 120 s are left"
    )


def test_doubt_is_told_with_what_to_look_at():
    line = event_line({"code": "suspect", "zone": 0, "a": 12, "b": 0, "text": "no_rise"}, NAMES)
    assert line.startswith("waist: something is doubtful")
    assert "(no_rise)" in line
    assert "check the thermocouple" in line
    over = event_line({"code": "suspect_over", "zone": 0, "a": 12, "b": 0, "text": "no_rise"}, NAMES)
    assert over == "waist: the doubt is gone (no_rise)"


def test_run_that_a_reset_cut_off_is_said_when_the_rig_is_idle(capsys):
    watch(Script([{**IDLE, "interrupted": 12}]))
    said = capsys.readouterr().out
    assert "Run 12 was cut off by a reset or by the mains" in said
    assert "ribwright fetch 12" in said
    assert interrupted_line({"interrupted": None}) == ""
    assert event_line({"code": "interrupted", "zone": -1, "a": 12, "b": 1}, NAMES).endswith(": run 12")


def test_lost_link_ends_the_watching():
    transport = MemoryTransport(Script([ROW]))
    link = Link(transport)
    link.on_tell = None
    link.ask("status")
    transport.close()
    with pytest.raises(LinkLostError):
        watch_run(link, board(), "C", "plain")


def test_key_that_the_board_refuses_does_not_end_the_watching():
    watcher = Watcher(board(), "C", "screen")
    _obey(Link(MemoryTransport(Script([ROW]))), watcher, "p")
    assert watcher.recent == ["not_running: the rig is idle; wait"]
    # No key of the computer starts heating, and others mean nothing.
    assert set(KEYS.values()) == {"next", "pause", "stop"}
    _obey(Link(MemoryTransport(lambda _data: pytest.fail("asked"))), watcher, "x")


def tripped_hint(zones, rows):
    """What is advised after a shutdown that followed so many rows."""
    watcher = Watcher(board(), "C", "json")
    for _ in range(rows):
        watcher.take("row", ROW | {"zones": zones})
    trip = {"code": "ceiling", "zone": 0, "seen": 191.0, "limit": 190.0, "unit": "C"}
    watcher.take("status", ROW | {"mode": "tripped", "zones": zones, "trip": trip})
    with pytest.raises(TrippedError) as raised:
        watcher.end()
    return str(raised.value.hint)


def test_shutdown_of_a_rig_that_only_watched_says_that_heat_goes_on():
    # A rig without relays gives no heat however far below its target a zone is.
    watched = [[1550, 900, 0, 0], [None, 212, 0, 0]]
    assert "it ends no heat from elsewhere, switch that off yourself" in tripped_hint(watched, 10)
    assert "elsewhere" not in tripped_hint(watched, 9)
    assert "elsewhere" not in tripped_hint([[1550, 900, 1000, 1], [None, 212, 0, 0]], 30)
    # Hot enough, or cooling: no relay need come on.
    assert "elsewhere" not in tripped_hint([[1550, 1549, 0, 0], [None, 212, 0, 0]], 30)
    assert "elsewhere" not in tripped_hint([[None, 900, 0, 0], [None, 212, 0, 0]], 30)
    assert "no heat" not in drawn(ROW | {"mode": "tripped"}, board())


TRIPPED = {**IDLE, "mode": "tripped"}


def tripped_in(*rows, code="open"):
    """The error a watching ends with that saw these rows, then a trip."""
    trip = {**TRIPPED, "trip": {"code": code, "zone": 0}}
    tells = [("row", row) for row in rows[1:]] + [("row", TRIPPED)]
    with pytest.raises(TrippedError) as raised:
        watch(Script([rows[0], trip], tells))
    return raised.value


def test_trip_names_the_stage_the_bend_can_be_taken_up_with():
    ramp = {**ROW, "stage": 1, "stage_kind": "ramp"}
    again = tripped_in(ramp, ROW)
    assert again.where["from_stage"] == 1
    assert "ribwright start PROFILE --from-stage 1" in again.line()
    assert again.line().count("\n") == 0
    assert tripped_in({**ROW, "stage": 5, "stage_kind": "set"}).where["from_stage"] == 5
    # Seen from the hold on: what came before it is not known.
    assert tripped_in(ROW).where["from_stage"] == 2


def test_trip_that_overheated_or_came_while_cooling_names_no_stage():
    for error in (
        tripped_in(ROW, code="too_hot"),
        tripped_in({**ROW, "stage": 6, "stage_kind": "cool"}),
        tripped_in({**ROW, "mode": "proving", "stage": 0, "stage_kind": None}),
    ):
        assert error.where["from_stage"] is None
        assert "--from-stage" not in error.line()


def test_acts_are_told_in_lines():
    said = [
        event_line({"code": code, "zone": -1, "a": a, "b": b, "text": text}, NAMES)
        for code, a, b, text in (
            ("extend", 3, 170, ""),
            ("back_off", 2, 5, ""),
            ("mark", 1, 0, "gave_way"),
            ("nudge", 1540, 4, ""),
        )
    ]
    assert said == [
        "the stage may last longer: 3 min more, 170 s of its longest time are left",
        "the maker backed off to set or cool: from stage 2 to stage 5",
        "the maker noted what the wood did (gave way)",
        "the stage's target was moved by hand to 154 C, +4 K from the profile's",
    ]
    nudged = {"code": "nudge", "zone": -1, "a": 1540, "b": -5}
    assert event_line(nudged, NAMES, "F").endswith("to 309 F, -9 degrees F from the profile's")
