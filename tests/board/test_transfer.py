"""Profiles to the board and run logs from it, in pieces; and every line fits."""

import binascii
import json

from board.samples import piece_mapping, profile_mapping, zone_mapping
from board.service_bench import IDENTITY, Bench
from ribwright_board.core import wire
from ribwright_board.core.bulk import MAX_PROFILE_BYTES, RUNS_PER_ANSWER
from ribwright_board.core.controller import Controller
from ribwright_board.core.sensing import Missing


def test_refusal_always_fits_a_line_whatever_it_quotes():
    bench = Bench()
    for verb in ("\\" * 240, '"' * 240, "\u6728" * 80):
        assert bench.no(verb)["code"] == "no_such_ask"
    for key in ("\u6728" * 200, '"' * 400, "\\" * 900, "a\nb" * 100):
        values = profile_mapping()
        values[key] = 1
        how, answer = bench.upload(values)
        assert how == "no"
        assert answer["code"] == "unknown_key"
        assert answer["text"].startswith("unknown_key")


def test_repeated_piece_is_not_added_twice():
    bench = Bench()
    body = json.dumps(profile_mapping()).encode()
    bench.ok("put_open", {"kind": "profile", "size": len(body), "sha": bench.store.sha256(body)})
    piece = {"at": 0, "data": binascii.b2a_base64(body[:100]).decode().strip()}
    assert bench.ok("put_piece", piece) == {"at": 100}
    # Again with a new sequence number: the board says where it stands.
    assert bench.ok("put_piece", piece) == {"at": 100}
    later = {"at": 300, "data": piece["data"]}
    assert bench.ok("put_piece", later) == {"at": 100}


def test_broken_upload_goes_on_where_it_stopped():
    bench = Bench()
    body = json.dumps(profile_mapping()).encode()
    head = {"kind": "profile", "size": len(body), "sha": bench.store.sha256(body)}
    assert bench.ok("put_open", head) == {"at": 0}
    bench.ok("put_piece", {"at": 0, "data": binascii.b2a_base64(body[:200]).decode().strip()})
    assert bench.ok("put_open", head) == {"at": 200}
    # Another profile begins anew.
    other = {"kind": "profile", "size": len(body), "sha": "0" * 64}
    assert bench.ok("put_open", other) == {"at": 0}
    assert bench.ok("put_open", head) == {"at": 0}


def test_upload_is_checked_whole_before_it_is_stored():
    bench = Bench()
    how, values = bench.upload()
    assert how == "ok"
    assert values["name"] == "sapele baritone sides"
    assert list(bench.store.profiles) == [values["hash"]]
    wrong = profile_mapping()
    wrong["stages"][0]["target"] = 310
    how, values = bench.upload(wrong)
    assert (how, values["code"]) == ("no", "range")
    assert "stage 1 target: is 310, allowed are 40 to 190 C" in values["text"]
    strange = profile_mapping()
    strange["stages"][0]["zones"] = ["tail"]
    assert bench.upload(strange)[1]["code"] == "no_zone"
    assert len(bench.store.profiles) == 1


def test_upload_that_is_no_profile_is_refused():
    bench = Bench()
    for body in (b"{", b"\xff\xfe\xfd", b"[" * 4000 + b"]" * 4000, b"[]", b"null", b"5"):
        how, values = bench.upload(body)
        assert how == "no"
        assert values["code"] in ("json", "empty")
    assert bench.store.profiles == {}


def test_upload_that_arrived_changed_is_refused():
    bench = Bench()
    body = json.dumps(profile_mapping()).encode()
    text = binascii.b2a_base64(body[:240]).decode().strip()
    bench.ok("put_open", {"kind": "profile", "size": 240, "sha": "0" * 64})
    bench.ok("put_piece", {"at": 0, "data": text})
    assert bench.no("put_close")["code"] == "sha"
    assert bench.no("put_close")["code"] == "not_whole"


def test_upload_out_of_order_or_out_of_size_is_refused():
    bench = Bench()
    assert bench.no("put_piece", {"at": 0, "data": "QQ=="})["code"] == "not_open"
    assert bench.no("put_close")["code"] == "not_whole"
    assert bench.no("put_open", {"kind": "firmware", "size": 5, "sha": "0" * 64})["code"] == "kind"
    for size in (0, MAX_PROFILE_BYTES + 1):
        assert bench.no("put_open", {"kind": "profile", "size": size, "sha": "0" * 64})["code"] == "size"
    bench.ok("put_open", {"kind": "profile", "size": 3, "sha": "0" * 64})
    assert bench.no("put_piece", {"at": 0, "data": "QUFBQQ=="})["code"] == "piece"
    assert bench.no("put_piece", {"at": 0, "data": ""})["code"] == "piece"
    assert bench.no("put_close")["code"] == "not_whole"


def test_ready_needs_a_whole_profile_that_the_board_holds():
    bench = Bench()
    assert bench.no("ready", {"profile": "0123456789ab"})["code"] == "no_profile"
    _, values = bench.upload()
    bench.store.profiles[values["hash"]] += b" "
    assert bench.no("ready", {"profile": values["hash"]})["code"] == "damaged"
    bench.upload()
    assert bench.ok("ready", {"profile": values["hash"]}) == {"run": 1, "stage": 1}
    assert bench.ok("status")["waiting"] == "start"


def test_ready_during_a_run_is_refused():
    bench = Bench()
    bench.run()
    key = next(iter(bench.store.profiles))
    values = bench.no("ready", {"profile": key})
    assert values["code"] == "not_idle"
    assert "running" in values["text"]


def test_runs_are_listed_in_parts():
    bench = Bench()
    assert bench.ok("runs") == {"runs": [], "more": False, "free": 1000000}
    bench.store.logs = {run: bytes(run) for run in range(1, RUNS_PER_ANSWER + 5)}
    first = bench.ok("runs", {"from": 0})
    assert len(first["runs"]) == RUNS_PER_ANSWER
    assert first["more"] is True
    rest = bench.ok("runs", {"from": first["runs"][-1][0] + 1})
    assert rest == {
        "runs": [[run, run, 0] for run in range(RUNS_PER_ANSWER + 1, RUNS_PER_ANSWER + 5)],
        "more": False,
        "free": 1000000,
    }


def test_run_log_comes_in_pieces_that_join_to_the_whole():
    bench = Bench()
    whole = bytes([(7 * i) % 256 for i in range(1000)])
    bench.store.logs = {3: whole}
    found = b""
    while True:
        values = bench.ok("get", {"run": 3, "at": len(found)})
        assert (values["at"], values["size"]) == (len(found), 1000)
        piece = binascii.a2b_base64(values["data"])
        if not piece:
            break
        found += piece
    assert found == whole
    assert bench.no("get", {"run": 4, "at": 0})["code"] == "no_run"


def test_longest_names_on_four_zones_still_fit_every_line():
    def widest(values):
        values["name"] = "\u6728" * 40
        values["mains"]["branch_limit_a"] = 32
        values["zones"] = [zone_mapping("\u6728" * 15 + str(i), i) for i in range(4)]
        for i in range(4):
            values["zones"][i]["relay_pin"] = 30 + i

    identity = dict(IDENTITY)
    identity["rig_name"] = "\u6728" * 40
    bench = Bench(widest, identity)
    zones = [zone.name for zone in bench.rig.zones]
    values = {
        "schema": 1,
        "name": "\u6728" * 40,
        "unit": "C",
        "piece": piece_mapping(),
        "stages": [
            {
                "kind": "hold",
                "zones": zones,
                "target": 190,
                "until": "maker",
                "longest_min": 5,
                "cues": ["\u6728" * 60],
            },
            {"kind": "cool", "below": 50},
        ],
    }
    bench.now_ms = 4294000000
    bench.controller = bench.service.controller = Controller(bench.rig, bench.now_ms)
    how, put = bench.upload(values)
    assert how == "ok"
    bench.ok("ready", {"profile": put["hash"]})
    bench.begin()
    for _ in range(10):
        bench.tick()
    row = wire.decode(bench.service.row_line()).data
    assert row["zones"][3][0] == 1900
    assert [len(mid) for mid in row["mids"]] == [2, 2, 2, 2]
    assert bench.ok("status")["mode"] == "running"
    assert bench.ok("hello", {"v": 1, "unix": None})["v"] == 1
    assert wire.decode(bench.service.event_line((1, "cue", 3, 1, 0, "\u6728" * 60))).data["code"] == "cue"
    for _ in range(30):
        bench.tick(items=[Missing("open", bench.now_ms) for _ in range(4)])
    assert bench.ok("status")["trip"]["code"] == "open"
    assert bench.ok("trip")["text"].startswith("open: ")


def another_profile():
    values = profile_mapping()
    values["name"] = "another"
    return values


def test_upload_during_a_run_is_refused_because_it_writes_to_the_flash():
    bench = Bench()
    bench.run()
    before = dict(bench.store.profiles)
    how, values = bench.upload(another_profile())
    assert (how, values["code"]) == ("no", "busy")
    assert bench.store.profiles == before
    assert bench.controller.mode == "running"


def test_flash_that_fails_is_an_answer_and_not_the_end_of_the_loop():
    bench = Bench()

    def full(*_):
        raise OSError(28, "no space")

    bench.store.put_profile = full
    how, values = bench.upload()
    assert (how, values["code"]) == ("no", "flash")
    assert "28" in values["text"]
    assert bench.ok("status")["mode"] == "idle"


def test_offset_beyond_any_file_is_an_answer_too():
    bench = Bench()

    def far(*_):
        raise OverflowError

    bench.store.read_run = far
    assert bench.no("get", {"run": 1, "at": 2**70})["code"] == "values"


def test_status_names_the_profile_that_arrived_last_while_the_rig_is_at_rest():
    bench = Bench()
    _, first = bench.upload()
    assert bench.ok("status")["profile"] == first
    bench.ok("ready", {"profile": first["hash"]})
    _, second = bench.upload(another_profile())
    # The run that is laid out keeps its own.
    assert bench.ok("status")["profile"] == first
    bench.ok("stop")
    assert bench.ok("status")["profile"] == second
