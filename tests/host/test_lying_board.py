"""A board that answers nonsense with the right checksum: an announced error each time, never another."""

import json
import zlib

import pytest

from ribwright_board.core import record
from ribwright_host.errors import HostError, RefusedByBoardError
from ribwright_host.link import MAX_RUN_BYTES, Link, get_run, hello, list_runs, put_profile
from ribwright_host.runlog import read_log
from ribwright_host.transport import MemoryTransport


class Clock:
    """Time that goes on by 0.3 s whenever it is looked at."""

    def __init__(self):
        self.now_s = 0.0

    def __call__(self):
        self.now_s += 0.3
        return self.now_s


def board_that_says(*bodies):
    """A link to a board that gives these answers in turn, the last one for ever."""
    said = list(bodies)

    def answer(line):
        body = said.pop(0) if len(said) > 1 else said[0]
        whole = b"ans " + line.split(b" ")[1] + b" " + body
        return whole + b" %08x\n" % zlib.crc32(whole)

    return Link(MemoryTransport(answer), clock=Clock())


BAD_RUNS = (
    b"{}",
    b'{"runs": 1}',
    b'{"runs": [1]}',
    b'{"runs": [[1]]}',
    b'{"runs": [[1, 2]], "more": false}',
    b'{"runs": [["1", 2, 0]], "more": false}',
    b'{"runs": [[1, NaN, 0]], "more": false}',
    b'{"runs": [[1, true, 0]], "more": false}',
    b'{"runs": [[1, 2, 7]], "more": false}',
    b'{"runs": [[1, 2, 0]], "more": false, "free": -1}',
    b'{"runs": [[2, 5, 0], [1, 5, 0]], "more": false}',
    b'{"runs": [[-1, 5, 0]], "more": false}',
    b'{"runs": [[1000000, 5, 0]], "more": false}',
)


@pytest.mark.parametrize("body", BAD_RUNS)
def test_a_list_of_runs_that_is_none_is_refused(body):
    with pytest.raises(RefusedByBoardError) as refused:
        list_runs(board_that_says(b"ok " + body))
    assert refused.value.code == "bad_answer"


def test_the_same_page_of_runs_for_ever_comes_to_an_end():
    with pytest.raises(RefusedByBoardError):
        list_runs(board_that_says(b'ok {"runs": [[1, 5, 0]], "more": true}'))


BAD_PIECES = (
    b"{}",
    b'{"size": 9}',
    b'{"at": 0, "size": "9", "data": ""}',
    b'{"at": 0, "size": Infinity, "data": ""}',
    b'{"at": 0, "size": -1, "data": ""}',
    b'{"at": false, "size": 9, "data": ""}',
    b'{"at": 3, "size": 9, "data": ""}',
    b'{"at": 0, "size": %d, "data": ""}' % (MAX_RUN_BYTES + 1),
    b'{"at": 0, "size": 9}',
    b'{"at": 0, "size": 9, "data": "\\u00e9"}',
    b'{"at": 0, "size": 9, "data": [1]}',
)


@pytest.mark.parametrize("body", BAD_PIECES)
def test_a_piece_of_a_log_that_is_none_is_refused(body):
    with pytest.raises(RefusedByBoardError) as refused:
        get_run(board_that_says(b"ok " + body), 1)
    assert refused.value.code in ("bad_answer", "bad_piece")


@pytest.mark.parametrize("body", [b"{}", b'{"at": true}', b'{"at": 1.0}', b'{"at": 99}', b'{"at": -1}'])
def test_a_place_to_go_on_from_that_is_none_is_refused(body):
    with pytest.raises(RefusedByBoardError):
        put_profile(board_that_says(b"ok " + body), b"0123456789")


GREETING = {
    "v": 1,
    "fw": "0",
    "board": "0",
    "python": "3",
    "rig": "r",
    "rig_name": "n",
    "zones": [],
    "unit": "C",
}


@pytest.mark.parametrize("half", [b"\\ud800", b"\xed\xa0\x80"])
def test_half_a_letter_is_a_damaged_line(half):
    body = json.dumps(GREETING | {"rig_name": "n~"}).encode().replace(b"n~", half)
    link = board_that_says(b"ok " + body)
    with pytest.raises(HostError) as silent:
        hello(link)
    assert link.bad_lines == 4
    silent.value.line().encode()


def test_what_moves_a_cursor_reaches_no_screen():
    board = hello(board_that_says(b"ok " + json.dumps(GREETING | {"rig_name": "a\x1b[2Jb\x07"}).encode()))
    assert board.title().startswith("a [2Jb ")
    with pytest.raises(RefusedByBoardError) as refused:
        board_that_says(b'no {"code": "busy", "text": "\\u001b[2J; wait"}').ask("stop")
    assert "\x1b" not in refused.value.line()


@pytest.mark.parametrize("code", [b"[1]", b'"two words"', b'"' + b"x" * 90 + b'"', b"null"])
def test_a_code_that_is_no_word_is_the_plain_refusal(code):
    with pytest.raises(RefusedByBoardError) as refused:
        board_that_says(b'no {"code": ' + code + b', "text": "not now"}').ask("stop")
    assert refused.value.code == "refused"
    assert "not now" in refused.value.line()


@pytest.mark.parametrize("band", ["9" * 400, "NaN", "Infinity", "-1", "[]"])
def test_a_band_that_is_no_temperature_is_left_out(band):
    header = {"zones": ["waist", "full"], "wood_band_k": [8.5, None]}
    body = json.dumps(header).replace("null", band).encode()
    log = b"RWL2" + len(body).to_bytes(2, "little") + body + zlib.crc32(body).to_bytes(4, "little")
    assert record.read_header(log)[1] == len(log)
    assert read_log(log).wood_bands_k == {"waist": 8.5}
