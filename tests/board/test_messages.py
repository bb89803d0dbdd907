"""The table of messages: what it says is what the board does."""

import binascii
import json

from board.samples import profile_mapping
from board.service_bench import Bench
from ribwright_board.core import wire
from ribwright_board.core.messages import ASKS, TELLS

# For every kind of field what it must not be; "any?" takes all.
WRONG = {
    "whole": (None, "7", 1.5, True, []),
    "text": (None, 7, True, []),
    "flag": (None, 0, 1, "true"),
}


def bench_with_everything():
    """A bench with a run on its flash, a transfer open, a profile stored; and good values for every ask."""
    bench = Bench()
    _, stored = bench.upload()
    body = json.dumps(profile_mapping()).encode()
    sha = bench.store.sha256(body)
    bench.store.logs = {3: b"log"}
    piece = binascii.b2a_base64(body[:30]).decode().strip()
    good = {
        "hello": {"v": wire.PROTOCOL, "unix": None},
        "put_open": {"kind": "profile", "size": len(body), "sha": sha},
        "put_piece": {"at": 0, "data": piece},
        "ready": {"profile": stored["hash"], "stage": 2},
        "nudge": {"by_k": 1},
        "extend": {"minutes": 1},
        "mark": {"what": "steam"},
        "runs": {"from": 0},
        "get": {"run": 3, "at": 0},
        "pin": {"run": 3, "pinned": True},
    }
    return bench, good


def test_every_answer_has_the_names_that_the_table_says():
    bench, good = bench_with_everything()
    # Sorted, so that a transfer is opened before its piece comes.
    acts = ("nudge", "extend", "mark", "next", "back_off", "pause", "stop", "to_prompt")
    later = ("put_close",) + acts
    order = [verb for verb in sorted(ASKS) if verb not in later]
    for verb in order:
        assert sorted(bench.ok(verb, good.get(verb))) == sorted(ASKS[verb][1]), verb
    bench = Bench()
    assert sorted(bench.upload()[1]) == sorted(ASKS["put_close"][1])
    bench.run()
    # A hold: there is something to move, to extend and to back off from.
    bench.controller.runner.begin(1)
    for verb in acts:
        assert sorted(bench.ok(verb, good.get(verb))) == sorted(ASKS[verb][1]), verb


def test_tells_have_the_names_that_the_table_says():
    bench = Bench()
    bench.tick()
    for line in (bench.service.row_line(), bench.service.event_line((1, "stop", -1, 0, 0, ""))):
        message = wire.decode(line)
        assert sorted(message.data) == sorted(TELLS[message.verb])


def test_every_field_is_needed_and_has_its_kind():
    bench, good = bench_with_everything()
    bench.ok("put_open", good["put_open"])
    tried = 0
    for verb, (fields, _) in ASKS.items():
        for name, kind, least, most in fields:
            values = dict(good[verb])
            del values[name]
            if not kind.endswith("?"):
                told = bench.no(verb, values)
                assert told["code"] == "values"
                assert told["text"].startswith("%s lacks %s" % (verb, name))
            beyond = ("x" * (most + 1),) if kind == "text" else (least - 1, most + 1)
            for wrong in WRONG.get(kind.replace("?", ""), ()) + beyond[: 2 if kind in WRONG else 0]:
                values[name] = wrong
                told = bench.no(verb, values)
                assert told["code"] == "values", (verb, name, wrong)
                assert told["text"].startswith("%s of %s is " % (name, verb))
                tried += 1
    assert tried > 40
    # None of it did anything.
    assert bench.controller.mode == "idle"
    assert bench.ok("put_open", good["put_open"]) == {"at": 0}


def test_further_values_are_passed_over():
    bench = Bench()
    assert bench.ok("status", {"of": "a newer computer"})["mode"] == "idle"
