"""The board's side of the link: one answer for every ask, and nothing that arms."""

from board.samples import profile_mapping, readings
from board.service_bench import IDENTITY, Bench
from ribwright_board.core import wire
from ribwright_board.core.sensing import Missing


def test_hello_says_who_the_board_is():
    bench = Bench()
    values = bench.ok("hello", {"v": wire.PROTOCOL, "unix": 1790000000})
    for key, value in IDENTITY.items():
        assert values[key] == value
    assert values["v"] == wire.PROTOCOL
    assert values["zones"] == ["waist", "full"]
    assert values["unit"] == "C"
    assert bench.service.unix == 1790000000


def test_hello_without_a_clock_keeps_no_time():
    bench = Bench()
    bench.ok("hello", {"v": wire.PROTOCOL, "unix": None})
    assert bench.service.unix is None
    bench.ok("hello", {"v": wire.PROTOCOL, "unix": True})
    assert bench.service.unix is None


def test_hello_of_another_protocol_says_which_side_is_older():
    bench = Bench()
    older = bench.no("hello", {"v": 0, "unix": None})
    assert older["code"] == "protocol"
    assert older["text"] == "the computer speaks link 0, the board 1; update Ribwright on the computer"
    newer = bench.no("hello", {"v": 2, "unix": None})
    assert newer["text"] == "the computer speaks link 2, the board 1; update the board"


def test_values_that_an_ask_cannot_use_are_refused_without_an_error():
    bench = Bench()
    for verb, data in (
        ("hello", {}),
        ("hello", {"v": "one"}),
        ("hello", {"v": None}),
        ("put_open", {}),
        ("put_open", {"kind": "profile", "size": "big", "sha": "x"}),
        ("ready", {}),
        ("get", {}),
        ("get", {"run": 1}),
        ("runs", {"from": "one"}),
    ):
        bench.store.logs = {1: b"x"}
        values = bench.no(verb, data)
        assert values["code"] == "values", (verb, data)
        assert verb in values["text"]


def test_unknown_ask_is_refused_by_name():
    values = Bench().no("arm")
    assert values["code"] == "no_such_ask"
    assert "arm" in values["text"]


def test_damaged_line_is_counted_and_not_answered():
    bench = Bench()
    line = wire.encode("ask", 1, "status", {})
    assert bench.service.feed(line.replace(b"status", b"statvs")) == []
    assert bench.service.feed(b"\xff\xfe\x00noise\n") == []
    assert bench.service.crc_errors == 2
    assert len(bench.service.feed(line)) == 1
    assert wire.decode(bench.service.feed(line)[0]).data["crc_errors"] == 2


def test_only_asks_are_answered():
    bench = Bench()
    for kind in ("ans", "tell"):
        assert bench.service.feed(wire.encode(kind, 1, "stop", {})) == []
    assert bench.service.crc_errors == 0


def test_status_of_a_resting_rig_says_so():
    bench = Bench()
    for _ in range(15):
        bench.tick()
    values = bench.ok("status")
    assert sorted(values) == sorted(
        (
            "ms mode run stage stages stage_kind zones mids waiting cue late_ms heap crc_errors profile trip "
            "refused interrupted"
        ).split()
    )
    assert (values["mode"], values["stage"], values["waiting"], values["cue"]) == ("idle", 0, None, None)
    assert values["zones"] == [[None, 200, 0, 0], [None, 200, 0, 0]]
    assert values["mids"] is None
    assert values["profile"] is None
    assert values["trip"] is None
    assert bench.ok("trip") == {"text": None}


def test_status_of_a_run_says_stage_target_and_relays():
    bench = Bench()
    bench.run()
    for _ in range(12):
        bench.tick()
    values = bench.ok("status")
    assert (values["mode"], values["stage_kind"]) == ("running", "ramp")
    assert (values["stage"], values["stages"]) == (1, 6)
    target, measured, duty, relay = values["zones"][0]
    assert (target, duty, relay) == (1500, 1000, 1)
    # The mean of a second in which it warmed by five kelvin.
    assert 10.0 * bench.blankets.temps_c[0] - 60 < measured < 10.0 * bench.blankets.temps_c[0]
    assert values["zones"][1][0::2] == [None, 0]
    # The wood's middle is behind, in tenths of a degree, give or take 8 K.
    assert [band for _, band in values["mids"]] == [80, 80]
    assert 150 < values["mids"][0][0] < measured
    assert values["profile"]["name"] == "sapele baritone sides"
    assert values["run"] == 1


def test_no_message_arms_the_rig():
    bench = Bench()
    _, values = bench.upload()
    bench.ok("ready", {"profile": values["hash"]})
    for verb in "start press arm run proved acknowledge resume next hello status trip".split():
        bench.ask(verb, {"v": 1, "profile": values["hash"]})
        for _ in range(25):
            assert list(bench.tick()) == [False, False]
        assert bench.controller.mode == "ready"


def test_no_message_resumes_a_pause_or_clears_a_trip():
    bench = Bench()
    bench.run()
    assert bench.ok("pause") == {"mode": "paused"}
    for verb in ("start", "resume", "next", "pause", "ready", "press"):
        bench.ask(verb, {"profile": "x"})
        assert list(bench.tick()) == [False, False]
        assert bench.controller.mode == "paused"
    for _ in range(25):
        bench.tick(items=[Missing("open", bench.now_ms), Missing("open", bench.now_ms)])
    for _ in range(5):
        bench.tick()
    assert bench.controller.mode == "tripped"
    for verb in ("stop", "next", "pause", "ready", "acknowledge", "start", "hello"):
        bench.ask(verb, {"v": 1, "unix": None, "profile": "x"})
        bench.tick()
        assert bench.controller.mode == "tripped"


def test_trip_is_told_with_its_figures_and_in_words():
    bench = Bench()
    bench.run()
    for _ in range(25):
        bench.tick(items=[Missing("open", bench.now_ms)] + readings([20.0], bench.now_ms + 100))
    trip = bench.ok("status")["trip"]
    assert (trip["code"], trip["zone"], trip["limit"], trip["unit"]) == ("open", 0, 2.0, "s")
    assert trip["seen"] >= 2.0
    assert bench.ok("trip")["text"].startswith("open: waist: seen 2.00, limit 2.00 s; ")


def test_stop_pause_and_next_answer_with_the_mode():
    bench = Bench()
    assert bench.ok("stop") == {"mode": "idle"}
    assert bench.ok("next") == {"mode": "idle"}
    assert bench.no("pause")["code"] == "not_running"
    bench.run()
    assert bench.ok("next") == {"mode": "running"}
    assert bench.ok("stop") == {"mode": "idle"}
    assert list(bench.tick()) == [False, False]


def test_next_over_the_link_acknowledges_a_cue():
    stages = [
        {
            "kind": "hold",
            "zones": ["waist"],
            "target": 150,
            "until": "maker",
            "longest_min": 5,
            "cues": ["press the waist on"],
        },
        {"kind": "cool", "below": 50},
    ]
    bench = Bench()
    values = profile_mapping()
    values["stages"] = stages
    _, put = bench.upload(values)
    bench.ok("ready", {"profile": put["hash"]})
    bench.begin()
    assert bench.ok("status")["cue"] == "press the waist on"
    assert bench.ok("status")["waiting"] == "next"
    bench.ok("next")
    assert bench.ok("status")["cue"] is None


def test_same_ask_again_gets_the_same_answer_and_does_nothing_twice():
    bench = Bench()
    bench.run()
    calls = []
    bench.controller.next = lambda: calls.append("next")
    line = wire.encode("ask", 500, "next", {})
    first = bench.service.feed(line)
    assert bench.service.feed(line) == first
    assert bench.service.feed(line + line) == first + first
    assert calls == ["next"]
    bench.service.feed(wire.encode("ask", 501, "next", {}))
    assert calls == ["next", "next"]


def test_tells_are_numbered_and_carry_row_and_event():
    bench = Bench()
    bench.run()
    row = wire.decode(bench.service.row_line())
    event = wire.decode(bench.service.event_line((1200, "trip", 0, 2, -5, "open")))
    assert (row.kind, row.verb) == ("tell", "row")
    assert (event.kind, event.verb) == ("tell", "event")
    assert (event.seq - row.seq) % wire.SEQUENCE_MODULO == 1
    assert event.data == {
        "ms": 1200,
        "code": "trip",
        "zone": 0,
        "a": 2,
        "b": -5,
        "text": "open",
        "mode": "running",
    }


def test_sequence_of_tells_wraps():
    bench = Bench()
    bench.service._tell_seq = wire.SEQUENCE_MODULO - 1
    assert wire.decode(bench.service.row_line()).seq == 0


def test_ask_for_which_there_is_no_memory_is_refused_by_name_and_memory_is_tidied():
    bench = Bench()
    tidied = []
    bench.service.tidy = lambda: tidied.append(1)

    def full(_):
        raise MemoryError

    bench.store.get_profile = full
    values = bench.no("ready", {"profile": "0123456789ab"})
    assert values["code"] == "memory"
    assert "too little memory" in values["text"]
    # Before, so that there is room in one piece, and after.
    assert len(tidied) == 2
    assert bench.ok("status")["mode"] == "idle"
    assert len(tidied) == 2
