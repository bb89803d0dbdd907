"""What the page's server takes and refuses, asked without a browser; a fake board knows all acts."""

import http.client
import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from itertools import pairwise
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from host.book_runs import bend_file
from page.fake_board import FakeBoard, row
from page.support import laid_out, served, until
from ribwright_host.book.intake import Given, take_in
from ribwright_host.book.models import Measurement, Photo, Side, Thickness
from ribwright_host.book.store import opened
from ribwright_host.identity import SIMULATED_ID
from ribwright_host.link import Link, hello
from ribwright_host.page import holder
from ribwright_host.page.guard import HEADERS
from ribwright_host.page.keepers import ACTS_IN_10_S
from ribwright_host.page.notes import PHOTO_BYTES
from ribwright_host.profiles import load_profile
from ribwright_host.transport import open_port
from ribwright_host.virtual import EXAMPLE_PROFILE

PNG = b"\x89PNG\r\n\x1a\n" + bytes(40)
ACTS = {
    "nudge": {"mode": "running", "target": 1570},
    "extend": {"mode": "running", "left_s": 500},
    "back_off": {"mode": "running"},
    "mark": {"mode": "running"},
}


class Visitor:
    """Somebody with a cookie, who may say where a request comes from."""

    def __init__(self, url):
        self.host = urlsplit(url).netloc
        self.cookie = ""

    def ask(self, method, path, body=None, **headers):
        """Status, headers and body of an answer."""
        connection = http.client.HTTPConnection(self.host, timeout=20)
        headers = {name.replace("_", "-"): value for name, value in headers.items()}
        if self.cookie and "cookie" not in headers:
            headers["cookie"] = self.cookie
        if isinstance(body, dict):
            body = json.dumps(body)
        if method == "POST" and "origin" not in headers:
            headers["origin"] = f"http://{headers.get('host', self.host)}"
        try:
            connection.request(method, path, body, headers)
            answer = connection.getresponse()
            if answer.getheader("set-cookie"):
                self.cookie = answer.getheader("set-cookie").split(";")[0]
            return answer.status, answer.headers, answer.read()
        finally:
            connection.close()

    def post(self, path, body, **headers):
        """Status of a post and what it tells."""
        status, _, data = self.ask("POST", path, body, **headers)
        try:
            return status, json.loads(data)["told"]
        except ValueError:
            return status, data.decode()

    def act(self, verb, values=None, **seen):
        """Status and words of an act."""
        seen = {"stage": 3, "cue": "waist to 6 mm"} | seen
        return self.post("/act", {"verb": verb, "values": values or {}, "seen": seen})

    def stream(self):
        """A stream whose lines come from its file."""
        sock = socket.create_connection(self.host.split(":"), 20)
        sock.sendall(
            f"GET /stream HTTP/1.1\r\nHost: {self.host}\r\nCookie: {self.cookie}\r\n\r\n".encode(),
        )
        return sock

    def moment(self, kind="now"):
        """The first event of a kind that a stream tells."""
        with self.stream() as sock, sock.makefile(encoding="utf-8") as lines:
            for line in lines:
                if line.startswith(f"event: {kind}"):
                    return json.loads(next(lines).removeprefix("data: "))
        raise AssertionError


@pytest.fixture
def board():
    with FakeBoard(ACTS) as one:
        yield one


@pytest.fixture
def page(board):
    with served(board.url) as one:
        yield one


@pytest.fixture
def visitor(page):
    one = Visitor(page.url)
    assert one.ask("GET", "/")[0] == 200
    return one


def test_every_act_reaches_the_board_with_its_own_values(board, visitor):
    for verb, values in [
        ("nudge", {"by_k": 2}),
        ("extend", {"minutes": 5}),
        ("back_off", {}),
        ("mark", {"what": "gave_way"}),
        ("next", {}),
        ("stop", {}),
    ]:
        status, told = visitor.act(verb, values)
        assert (status, "confirmed by the board" in told) == (200, True), told
        assert [asked for asked in board.asked if asked[0] == verb] == [(verb, values)]


@pytest.mark.parametrize("verb", ["ready", "put_open", "to_prompt", "pin", "hello", "", None, 3])
def test_nothing_but_an_act_reaches_the_board(board, visitor, verb):
    assert visitor.post("/act", {"verb": verb, "values": {"profile": "x"}})[0] == 400
    assert board.verbs() == []


def test_unknown_ask_closes_its_act_for_every_page_until_another_board_is_greeted(board, visitor):
    del board.knows["nudge"]
    status, told = visitor.act("nudge", {"by_k": 2})
    assert (status, told.startswith("This board does not know")) == (200, True)
    assert visitor.moment()["closed"]["nudge"] == "this board does not know it"
    assert "back_off" not in visitor.moment()["closed"]
    assert board.verbs() == ["nudge"]
    assert visitor.act("nudge", {"by_k": 2})[1] == "Target: this board does not know it."
    assert board.verbs() == ["nudge"]


def test_second_touch_of_next_does_not_go_past_a_cue_that_nobody_has_read(board, visitor):
    board.after["next"] = row(62_000, cue="waist home")
    assert "confirmed" in visitor.act("next")[1]
    assert "gone on since" in visitor.act("next")[1]
    until(lambda: visitor.moment()["cue"] == "waist home")
    assert "gone on since" in visitor.act("next")[1]
    assert "confirmed" in visitor.act("next", cue="waist home")[1]
    assert board.verbs() == ["next", "next"]


def test_next_is_not_asked_while_nothing_waits_for_it(board, visitor):
    board.tell("row", row(62_000, waiting="presence"))
    until(lambda: "next" in visitor.moment()["closed"])
    assert visitor.act("next")[1] == "Next: nothing waits for it."
    assert board.verbs() == []


def test_one_steers_everybody_stops(board, page, visitor):
    other = Visitor(page.url)
    other.ask("GET", "/")
    with visitor.stream(), other.stream():
        assert "confirmed" in visitor.act("mark", {"what": "stiff"})[1]
        assert "screen 1 steers now" in other.act("pause")[1]
        other.post("/steer", {"do": "give"})
        other.post("/steer", {"do": "want"})
        assert "screen 1 steers now" in other.act("pause")[1]
        assert visitor.moment()["helm"]["asker"] == "screen 2"
        visitor.post("/steer", {"do": "give"})
        assert "confirmed" in other.act("pause")[1]
        assert "screen 2 steers now" in visitor.act("back_off")[1]
        assert "confirmed" in visitor.act("stop")[1]
        assert board.verbs() == ["mark", "pause", "stop"]


def test_acts_are_limited_and_stop_is_not(board, visitor):
    status = [visitor.act("mark", {"what": "stiff"})[0] for _ in range(ACTS_IN_10_S + 3)]
    assert status == [200] * ACTS_IN_10_S + [429] * 3
    assert "confirmed" in visitor.act("stop")[1]
    assert board.verbs()[-1] == "stop"


def test_stop_overtakes_an_ask_that_the_board_does_not_answer(board, visitor):
    board.deaf.add("mark")
    told = []
    slow = threading.Thread(target=lambda: told.append(visitor.act("mark", {"what": "stiff"})))
    slow.start()
    until(lambda: "mark" in board.verbs())
    assert "confirmed" in visitor.act("stop")[1]
    # The unanswered ask was sent once: it was given up for the stop before its repeat was due.
    assert board.verbs() == ["mark", "stop"]
    slow.join(10)
    assert "a stop came first" in told[0][1]


def test_what_waited_when_a_stop_came_is_not_sent_and_the_stop_stays_to_be_read(board, visitor):
    board.deaf.add("mark")
    with visitor.stream():
        told = []
        touches = (("mark", {"what": "stiff"}), ("pause", {}), ("back_off", {}))
        slow = [
            threading.Thread(target=lambda touch=touch: told.append(visitor.act(*touch)[1]))
            for touch in touches
        ]
        slow[0].start()
        until(lambda: "mark" in board.verbs())
        for each in slow[1:]:
            each.start()
        # Each is said to be asked in the very turn in which it is put behind the others.
        until(lambda: visitor.moment()["said"]["n"] == len(touches))
        assert "confirmed" in visitor.act("stop")[1]
        for each in slow:
            each.join(10)
        # A slow machine may have repeated the first one; the others never went.
        assert [verb for verb in board.verbs() if verb != "mark"] == ["stop"]
        assert ["a stop came first" in each for each in told] == [True] * 3
        said = visitor.moment()["said"]
        assert (said["verb"], said["state"]) == ("stop", "confirmed")


def test_touch_while_a_stop_waits_for_its_answer_does_not_take_its_place(board, visitor):
    board.deaf.add("stop")
    with visitor.stream():
        told = []
        stop = threading.Thread(target=lambda: told.append(visitor.act("stop")[1]))
        stop.start()
        until(lambda: "stop" in board.verbs())
        mark = threading.Thread(target=lambda: told.append(visitor.act("mark", {"what": "stiff"})[1]))
        mark.start()
        until(lambda: visitor.moment()["said"]["verb"] == "mark")
        board.deaf.clear()
        stop.join(15)
        mark.join(15)
        assert "mark" in board.verbs()
        assert all("confirmed by the board" in each for each in told)
        assert visitor.moment()["said"]["verb"] == "stop"


def test_stop_that_no_board_answers_is_said_to_be_unconfirmed(board, visitor):
    board.deaf |= {"stop", "status", "hello"}
    _, told = visitor.act("stop")
    assert "not confirmed" in told
    assert "AT THE RIG" in told


@pytest.mark.parametrize("mode", ["running", "proving", "paused", "ready"])
def test_stop_that_leaves_a_run_on_is_said_loudly(board, visitor, mode):
    board.knows["stop"] = {"mode": mode}
    assert visitor.act("stop")[1] == f"THE BOARD STILL SAYS {mode}. Press stop AT THE RIG."


def test_board_that_cannot_be_reached_again_keeps_a_stop_for_a_moment(board, visitor):
    # Cut in the middle of it: what was asked is sent again as soon as there is a link.
    board.deaf.add("stop")
    told = []
    stop = threading.Thread(target=lambda: told.append(visitor.act("stop")))
    stop.start()
    until(lambda: "stop" in board.verbs())
    board._client.shutdown(socket.SHUT_RDWR)
    board.deaf.clear()
    stop.join(15)
    assert "confirmed by the board" in told[0][1]


# Who may ask at all ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "headers",
    [
        {"host": "rebound.example:8130"},
        {"host": "192.168.1.20"},
        {"origin": "http://other.example"},
        {"origin": "null"},
        {"origin": ""},
        {"sec_fetch_site": "cross-site"},
        {"sec_fetch_site": "same-site"},
    ],
)
def test_post_from_anywhere_else_reaches_nothing(board, visitor, headers):
    status, told = visitor.post("/act", {"verb": "stop"}, **headers)
    assert status == 403, told
    assert board.verbs() == []


def test_stream_is_not_read_by_other_sites_and_not_without_a_seat(visitor):
    assert visitor.ask("GET", "/stream", sec_fetch_site="cross-site")[0] == 403
    assert visitor.ask("GET", "/stream", cookie="ribwright_seat=guessed")[0] == 401
    assert visitor.post("/act", {"verb": "stop"}, cookie="ribwright_seat=guessed")[0] == 401


def test_pages_of_two_rigs_at_one_computer_do_not_take_each_others_seat(visitor):
    with FakeBoard(ACTS) as second, served(second.url) as other:
        there = Visitor(other.url)
        there.ask("GET", "/")
        # Browsers keep cookies by host, whatever the port.
        jar = dict(one.cookie.split("=", 1) for one in (visitor, there))
        both = "; ".join(f"{name}={value}" for name, value in jar.items())
        for one in (visitor, there):
            assert one.post("/steer", {"do": "keep"}, cookie=both)[0] == 200


def test_link_from_another_site_opens_the_page_and_does_nothing_else(visitor):
    answer = visitor.ask("GET", "/", sec_fetch_site="cross-site", sec_fetch_mode="navigate")
    assert answer[0] == 200


def test_every_answer_has_its_headers_and_the_cookie_is_kept_from_scripts(page):
    fresh = Visitor(page.url)
    status, headers, _ = fresh.ask("GET", "/")
    assert status == 200
    cookie = headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=strict" in cookie
    for path in ("/", "/static/page.js", "/static/none", "/nowhere", "/act"):
        _, headers, _ = fresh.ask("GET", path)
        assert {name: headers[name] for name in HEADERS} == HEADERS, path
        assert "server" not in headers
    assert "unsafe" not in HEADERS["content-security-policy"]


@pytest.mark.parametrize(
    "path", ["/static/../command.py", "/static/%2e%2e/web.py", "/static//etc/hostname", "/static/vendor/"]
)
def test_only_the_pages_own_files_are_served(visitor, path):
    assert visitor.ask("GET", path)[0] == 404


def test_files_ask_for_nothing_from_elsewhere(visitor):
    for path in ("/", "/static/page.js", "/static/chart.js", "/static/strip.js", "/static/page.css"):
        text = visitor.ask("GET", path)[2].decode()
        outside = [word for word in text.split() if "://" in word and "www.w3.org/2000/svg" not in word]
        assert outside == []


@pytest.mark.parametrize("body", [b"", b"[]", b"nonsense", b"\xff\xfe", b'"' + b"x" * 9000, b"[" * 3000])
def test_body_that_is_none_harms_nothing(board, visitor, body):
    for path in ("/act", "/steer", "/remark"):
        assert visitor.ask("POST", path, body)[0] in (400, 409, 413)
    assert board.verbs() == []
    assert "confirmed" in visitor.act("stop")[1]


# On a network ------------------------------------------------------------------------------------


def test_network_needs_the_code_and_the_code_is_in_the_terminal(board):
    with served(board.url, listen="0.0.0.0:0") as page:
        one = Visitor(page.url)
        status, headers, text = one.ask("GET", "/")
        assert (status, headers["ribwright-page"], b"Pairing code" in text) == (200, "pair", True)
        assert one.cookie == ""
        assert one.ask("GET", "/stream")[0] == 401
        assert one.act("stop")[0] == 401
        wrong = "000000" if page.code.replace(" ", "") != "000000" else "000001"
        assert one.post("/pair", {"code": wrong})[0] == 403
        assert one.post("/pair", {"code": page.code})[0] == 200
        assert b"STOP" in one.ask("GET", "/")[2]
        assert "confirmed" in one.act("stop")[1]
        status = [Visitor(page.url).post("/pair", {"code": wrong})[0] for _ in range(6)]
        assert status == [403, 403, 403, 403, 429, 429]
        # Who is in stays in.
        assert "confirmed" in one.act("stop")[1]
        assert any("NOT encrypted" in line for line in page.lines)


# The notebook ------------------------------------------------------------------------------------


@pytest.fixture
def noting(board, tmp_path, root):
    path = root / "host/ribwright_host/library" / EXAMPLE_PROFILE
    checked = load_profile(path)
    board.profile = {"name": checked.name, "hash": checked.hash}
    book = tmp_path / "book.sqlite"
    with served(board.url, str(path), "--piece", "baritone 3", "--side", "bass", "--book", str(book)) as page:
        one = Visitor(page.url)
        one.ask("GET", "/")
        yield one, book


def test_remark_and_photo_go_to_the_side_and_begin_it_with_the_profiles_facts(noting):
    visitor, book = noting
    assert visitor.post("/remark", {"text": "  a little\n stiff at the waist "}) == (
        200,
        "Noted at baritone 3, bass.",
    )
    assert visitor.post("/photo", PNG) == (200, "The photo is kept at baritone 3, bass.")
    assert visitor.post("/photo", PNG)[0] == 200
    # Half a character pair, which no file can hold.
    assert visitor.post("/remark", {"text": "steam \ud83d"})[0] == 200
    with opened(book):
        side = Side.get()
        assert (side.which, side.piece.name, side.piece.simulated) == ("bass", "baritone 3", False)
        assert (side.species, side.tightest_radius_mm) == ("sapele", 45)
        assert Thickness.get().thickness_mm == 1.7
        assert [note.remark for note in Measurement.select()] == [
            "a little stiff at the waist",
            "steam ?",
        ]
        photos = list(Photo.select())
        assert len(photos) == 1
        assert photos[0].copied
    kept = book.with_name("book-photos")
    assert [path.read_bytes() for path in kept.iterdir()] == [PNG]


@pytest.mark.parametrize(
    ("path", "body", "status"),
    [
        ("/photo", b"<svg onload=x>", 409),
        ("/photo", b"\xff\xd8\xff" + bytes(PHOTO_BYTES), 413),
        ("/remark", {"text": ""}, 409),
        ("/remark", {"text": "x" * 601}, 409),
        ("/remark", {"text": 7}, 409),
    ],
)
def test_what_is_no_remark_and_no_photo_changes_nothing(noting, path, body, status):
    visitor, book = noting
    assert visitor.post(path, body)[0] == status
    assert not book.with_name("book-photos").exists()
    if book.exists():
        with opened(book):
            assert Measurement.select().count() == Photo.select().count() == 0


def test_page_without_a_side_says_how_to_name_one(visitor):
    status, told = visitor.post("/remark", {"text": "stiff"})
    assert (status, "--piece and --side" in told) == (409, True)


# Many and slow -----------------------------------------------------------------------------------


def test_page_that_reads_nothing_holds_neither_the_board_nor_the_others(board, visitor, page):
    stuck = [visitor.stream() for _ in range(2)]
    other = Visitor(page.url)
    other.ask("GET", "/")
    ended = threading.Event()
    told = []

    def look():
        with other.stream() as sock, sock.makefile(encoding="utf-8") as lines:
            for line in lines:
                if ended.is_set():
                    return
                if line.startswith('data: {"row_ms"'):
                    told.append(json.loads(line.removeprefix("data: "))["row_ms"])

    looker = threading.Thread(target=look)
    looker.start()
    for n in range(400):
        board.tell("row", row(62_000 + 1000 * n, cue="x" * 100))
        time.sleep(0.01)
    until(lambda: told and told[-1] == 461_000)
    assert "confirmed" in other.act("stop")[1]
    ended.set()
    for sock in stuck:
        sock.close()
    looker.join(5)
    assert not looker.is_alive()


def test_pages_are_counted_and_bounded(visitor):
    open_ones = [visitor.stream() for _ in range(3)]
    try:
        # Each has been answered, so each is counted.
        assert all(sock.recv(1) for sock in open_ones)
        assert visitor.ask("GET", "/stream")[0] == 503
    finally:
        for sock in open_ones:
            sock.close()
    until(lambda: visitor.moment()["looking"] == 1)


def test_last_run_of_the_piece_comes_from_the_notebook_and_real_stays_apart_from_simulated(board, tmp_path):
    book = tmp_path / "book.sqlite"
    with opened(book, make=True):
        take_in(bend_file(tmp_path), Given("baritone 3", "bass"))
    options = ("--piece", "baritone 3", "--side", "treble", "--book", str(book))
    with served(board.url, *options) as page:
        visitor = Visitor(page.url)
        visitor.ask("GET", "/")
        course = visitor.moment("course")
        assert course["last_words"] == "baritone 3, bass, run 7"
        waist = dict(map(tuple, course["last"]["waist"]))
        assert (waist[5], waist[20]) == (23.0, 152.0)
    with FakeBoard(board=SIMULATED_ID + "0001") as simulated, served(simulated.url, *options) as page:
        visitor = Visitor(page.url)
        visitor.ask("GET", "/")
        course = visitor.moment("course")
        assert (course["simulated"], course["last"]) == (True, {})
        status, told = visitor.post("/remark", {"text": "stiff"})
        assert (status, "kept apart" in told) == (409, True)


def test_page_that_comes_late_reads_what_it_has_missed_from_the_running_board(tmp_path):
    with laid_out(
        tmp_path, maker={"start_after_s": 1, "next_after_s": 90}, speed=20.0, idle_speed=20.0
    ) as rig:
        link = Link(open_port(rig.cable.url))
        hello(link)
        until(lambda: link.ask("status")["stage_kind"] == "hold", 30)
        link.close()
        with served(rig.cable.url) as page:
            visitor = Visitor(page.url)
            visitor.ask("GET", "/")
            until(lambda: visitor.moment()["stage"]["left"] is not None, 20)
            told = visitor.moment()
            assert (told["from"], told["points"][0][0]) == (0, pytest.approx(1.0, abs=1.1))
            steps = [later[0] - earlier[0] for earlier, later in pairwise(told["points"])]
            assert max(steps) < 2.5
            assert len(told["points"]) > 60


# The command ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("options", "code", "words"),
    [
        (("--listen", "nowhere"), 2, "--listen 'nowhere' is no address"),
        (("--piece", " ", "--side", "bass"), 2, "--piece is empty"),
        (("--piece", "baritone 3"), 2, "--piece and --side belong together"),
        (("--rehearsal", "none.json"), 3, "none.json cannot be read"),
        (("--port", "socket://127.0.0.1:9"), 4, "nothing listens at socket://127.0.0.1:9"),
    ],
)
def test_command_that_cannot_begin_says_why_in_one_line(board, tmp_path, options, code, words):
    if "--port" not in options:
        options = ("--port", board.url, *options)
    done = subprocess.run(
        [sys.executable, "-m", "ribwright_host", "page", "--listen", "127.0.0.1:0", *options],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert (done.returncode, done.stderr.count("\n")) == (code, 1), done.stderr
    assert words in done.stderr


def test_second_page_at_the_same_address_is_refused(board, page):
    at = urlsplit(page.url).netloc
    done = subprocess.run(
        [sys.executable, "-m", "ribwright_host", "page", "--port", board.url, "--listen", at],
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 2
    assert "nothing can listen at" in done.stderr


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGINT to a process alone")
def test_keyboard_ends_it_though_pages_look_on_and_the_rig_goes_on(board, page, visitor):
    with visitor.stream() as sock:
        assert sock.recv(1)
        page.process.send_signal(signal.SIGINT)
        assert page.process.wait(10) == 130
    assert "the rig, if it runs, goes on by itself" in page.lines[-1]
    assert board.verbs() == []


# Beside other programs ---------------------------------------------------------------------------


def asked(*command):
    """A command in a process of its own."""
    words = [sys.executable, "-m", "ribwright_host", *command]
    return subprocess.run(words, capture_output=True, text=True, timeout=60, check=False)


def test_command_that_finds_the_port_taken_names_the_page_and_the_next_step(tmp_path):
    with laid_out(tmp_path) as found:
        with served(found.rig.url) as one:
            done = asked("pause", "--port", found.rig.url)
            assert done.returncode == 5
            assert f"the bench page at {one.url} owns the board's port {found.rig.url}" in done.stderr
            assert "end the page with Ctrl-C in its terminal, give the command again" in done.stderr
            told = json.loads(asked("watch", "--json", "--port", found.rig.url).stdout)
            assert (told["error"], told["page"]) == ("port_busy", one.url)
        until(lambda: asked("stop", "--port", found.rig.url).returncode == 0)


def test_note_of_a_page_that_is_gone_is_taken_away_and_of_another_port_says_nothing(page):
    assert holder.page_with("socket://127.0.0.1:1") == ""
    folder = Path(os.environ["XDG_STATE_HOME"]) / "ribwright"
    (note,) = folder.glob("page-*.json")
    port = json.loads(note.read_text())["port"]
    assert holder.page_with(port) == page.url
    (folder / "page-0.json").write_text("{")
    with socket.create_server(("127.0.0.1", 0)) as taken:
        free = taken.getsockname()[1]
    killed = folder / "page-1.json"
    killed.write_text(json.dumps({"port": "COM9", "host": "127.0.0.1", "at": free}))
    assert holder.page_with("COM9") == ""
    assert not killed.exists()
    assert note.exists()


@pytest.mark.skipif(not socket.has_dualstack_ipv6(), reason="this system has no IPv6 beside IPv4")
def test_all_addresses_are_listed_in_both_kinds_and_both_answer(board):
    with served(board.url, listen="[::]:0") as one:
        listed = [line.split(": ", 1)[1] for line in one.lines if line.startswith("The page: ")]
        at = urlsplit(one.url).port
        assert {f"http://127.0.0.1:{at}/", f"http://[::1]:{at}/"} <= set(listed)
        assert not any("%" in url or "[fe80" in url for url in listed)
        for url in listed:
            assert Visitor(url).ask("GET", "/")[0] == 200, url
    with served(board.url, listen="0.0.0.0:0") as one:
        assert not any("[" in line for line in one.lines if line.startswith("The page: "))
