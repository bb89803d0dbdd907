"""What the page says loudly, and when it falls quiet again: a first message, a stop that nobody confirmed."""

import pytest

from page.fake_board import FakeBoard, row
from page.support import number, served, settled, text, until

# All that was ever shown, from the first picture on.
RECORD = """window.shown = { loud: [], mid: [], link: [], title: [] };
document.addEventListener("DOMContentLoaded", () => {
  const keep = () => {
    for (const [name, id] of [["loud", "loud"], ["mid", "mid"], ["link", "link"], ["title", "stage-title"]]) {
      const text = document.getElementById(id).textContent;
      if (shown[name][shown[name].length - 1] !== text) shown[name].push(text);
    }
  };
  keep();
  new MutationObserver(keep).observe(document.body, { subtree: true, childList: true, characterData: true });
});"""
WAITING = "waiting for the first message"
UNCONFIRMED = "STOP IS NOT CONFIRMED. Press stop AT THE RIG"


def test_page_that_has_just_come_waits_quietly_and_shows_nothing_old(open_page):
    with FakeBoard() as board, served(board.url) as desk:
        page = open_page(desk.url, script=RECORD)
        settled(page, "mid", "118")
        assert page.evaluate("shown.loud") == [""]
        assert page.evaluate("shown.link") == [WAITING, "linked"]
        assert page.evaluate("shown.mid") == ["\u2013\u2013", "118"]
        assert page.evaluate("shown.title")[0] == "Waiting for the first message"


def test_first_message_that_does_not_come_is_loud_after_a_while(open_page, root):
    with FakeBoard() as board, served(board.url) as desk:
        page = open_page(desk.url, script=RECORD, routes=[("**/stream", lambda _route: None)])
        page.screenshot(path=root / "build" / "page" / "waiting.png")
        settled(page, "loud", "NO ANSWER from the computer", 12)
        assert page.evaluate("shown.link") == [WAITING, "NO LINK"]
        assert number(page) is None
        # Also then STOP is a touch.
        page.click("#stop")
        settled(page, "said", "STOP: confirmed by the board")


def test_board_that_never_told_anything_is_not_called_silent_at_once(open_page):
    with FakeBoard() as board:
        board.deaf.add("status")
        with served(board.url) as desk:
            page = open_page(desk.url, script=RECORD)
            settled(page, "loud", "NO LINK|told nothing yet", 12)
            assert page.evaluate("shown.link") == [WAITING, "NO LINK"]
            assert page.evaluate("shown.mid") == ["\u2013\u2013"]


@pytest.fixture
def unconfirmed(open_page):
    """A page whose stop no board answers, and that board, which tells rows all the same."""
    with FakeBoard() as board, served(board.url) as desk:
        page = open_page(desk.url)
        settled(page, "mid", "118")
        board.knows["stop"] = {"code": "busy", "text": "not now; ask again"}
        page.click("#stop")
        settled(page, "loud", UNCONFIRMED)
        # Rows that show the same run go on: it stays loud.
        board.tell("row", row(63_000))
        until(lambda: page.evaluate("document.body.dataset.row") == "63000")
        assert UNCONFIRMED in text(page, "loud")
        yield page, board


def test_unconfirmed_stop_stays_loud_in_a_pause_and_ends_when_no_run_is_on(unconfirmed):
    page, board = unconfirmed
    # A press of start goes on with a pause: that is no end.
    board.tell("row", row(64_000, mode="paused", zones=[[None, 1502, 0, 0], [None, 212, 0, 0]]))
    settled(page, "heat", "Relays off")
    assert UNCONFIRMED in text(page, "loud")
    board.tell("row", row(65_000, mode="idle", run=4, stage=0, zones=[[None, 1502, 0, 0], [None, 212, 0, 0]]))
    settled(
        page, "said", "STOP was not confirmed, but no run is on any more. The board says: at rest, relays off"
    )
    assert text(page, "loud") == ""


def test_unconfirmed_stop_ends_with_a_shutdown(unconfirmed):
    page, board = unconfirmed
    board.tell("row", row(65_000, mode="tripped", zones=[[None, None, 0, 0], [None, 212, 0, 0]]))
    settled(page, "said", "no run is on any more. The board says: SHUT DOWN, relays off")
    assert text(page, "loud") == ""


def test_unconfirmed_stop_ends_with_a_later_start_and_says_so(unconfirmed):
    page, board = unconfirmed
    board.tell("row", row(70_000, run=5))
    settled(
        page, "said", "Run 4 is over all the same: the board is at run 5 now, from a later start. Touch STOP"
    )
    assert text(page, "loud") == ""
    board.knows["stop"] = {"mode": "idle"}
    page.click("#stop")
    settled(page, "said", "STOP: confirmed by the board")


def test_target_buttons_and_readings_speak_the_unit_that_is_shown(open_page):
    with FakeBoard({"nudge": {"mode": "running", "target": 1580}}) as board:
        with served(board.url, "--unit", "F") as desk:
            page = open_page(desk.url)
            settled(page, "mid", "245")
            settled(page, "measured", "measured 302\u00b0, target 311\u00b0")
            page.get_by_role("button", name="Target 5 \u00b0F higher", exact=True).click()
            settled(page, "said", "Target: confirmed by the board")
            until(lambda: ("nudge", {"by_k": 3}) in board.asked)
            until(lambda: "measured" in text(page, "keys").split("\n"))
        with served(board.url) as desk:
            page = open_page(desk.url)
            page.get_by_role("button", name="Target 2 K lower", exact=True).click()
            settled(page, "said", "Target: confirmed by the board")
            until(lambda: ("nudge", {"by_k": -2}) in board.asked)
