"""The page in a real browser: watched, steered, stopped, cut off; seen by two; looked at by a scanner."""

import json
import math
import threading

import pytest

from host.book_runs import bend_file
from page.fake_board import FakeBoard, row
from page.support import SIZES, laid_out, named_profile, number, served, settled, text, until
from ribwright_host.book.models import Measurement, Photo
from ribwright_host.book.store import opened
from ribwright_host.profiles import load_profile
from ribwright_host.virtual import EXAMPLE_PROFILE

PNG = b"\x89PNG\r\n\x1a\n" + bytes(40)
SCANNED = (("phone", "light"), ("tablet", "light"), ("tablet", "dark"))
# Looked at by rule alone: the smallest phone, one that lies, a large wall.
MORE_SIZES = ((320, 568), (740, 360), (2560, 1440))
DIGIT_HEIGHT = """() => {
  const style = getComputedStyle(document.getElementById("mid"));
  const pen = document.createElement("canvas").getContext("2d");
  pen.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
  const size = pen.measureText("0");
  return size.actualBoundingBoxAscent + size.actualBoundingBoxDescent;
}"""
# How the focus shows itself: an outline of some width in a colour with 3 to 1 against what it lies on.
FOCUS = """() => {
  const one = document.activeElement;
  const style = getComputedStyle(one);
  const light = (text) => {
    const [r, g, b] = text.match(/[\\d.]+/g).map((part) => {
      const share = part / 255;
      return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const paper = getComputedStyle(document.documentElement).backgroundColor;
  const [low, high] = [light(style.outlineColor), light(paper)].sort((a, b) => a - b);
  return [style.outlineStyle, parseFloat(style.outlineWidth), (high + 0.05) / (low + 0.05)];
}"""
# Virtual seconds in a real one: quick, and slow enough for a hand.
SPEED = 40.0
IDLE_SPEED = 20.0


@pytest.fixture
def rig(tmp_path):
    with laid_out(tmp_path, named_profile(), speed=SPEED, idle_speed=IDLE_SPEED) as found:
        yield found


def well_laid_out(page, wide, high):
    """Nothing to scroll sideways; STOP whole, on the screen, the largest; the figure a fifth of it high."""
    where = f"{wide} x {high}"
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), where
    stop = page.locator("#stop").bounding_box()
    assert stop["x"] >= 0, where
    assert stop["x"] + stop["width"] <= wide, where
    assert stop["y"] + stop["height"] <= high, where
    others = [one.bounding_box() for one in page.locator("button:not(#stop):visible").all()]
    assert all(stop["width"] * stop["height"] > 1.4 * b["width"] * b["height"] for b in others), where
    # The digits as this browser draws them, whole, and not their line.
    size = page.evaluate(DIGIT_HEIGHT)
    assert 0.2 * high <= size <= page.locator("#figure").bounding_box()["height"], where
    for one in page.locator("button:visible, input:visible, textarea:visible, .caution a").all():
        box = one.bounding_box()
        # WCAG 2.2, 2.5.8; a gloved hand wants twice that of all but the link and the file.
        assert min(box["width"], box["height"]) >= 24, (where, one.inner_text())
    for one in page.locator("button:visible").all():
        box = one.bounding_box()
        assert min(box["width"], box["height"]) >= 48, (where, one.inner_text())
    figure, room = (page.locator(one).bounding_box() for one in ("#mid", "#figure"))
    assert figure["x"] + figure["width"] <= room["x"] + room["width"] + 1, where


def told_without_scrolling(page, where):
    """Figure, strip, stage, cue, time left and what ends the stage lie above the bar."""
    # The longest word of the heat leaves the others in their line.
    high, line = page.evaluate(
        """() => { document.getElementById("heat").textContent = "Heat may come";
        return [document.querySelector("header").clientHeight,
                parseFloat(getComputedStyle(document.documentElement).fontSize)]; }"""
    )
    assert high <= 3.2 * line, where
    bar = page.locator("#bar").bounding_box()
    for part in ("mid", "strip", "stage-title", "wish", "left", "ends"):
        box = page.locator(f"#{part}").bounding_box()
        assert box["y"] + box["height"] <= bar["y"] + 2, (where, part)


def scanned(page, where):
    """Findings of the axe engine (WCAG 2.2 AA), serious and critical ones, in words."""
    from axe_playwright_python.sync_playwright import Axe

    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
    found = Axe().run(page, options={"runOnly": {"type": "tag", "values": tags}}).response
    assert found["passes"], where
    return [
        f"{where}: {one['id']}: {node['target']} {node.get('failureSummary', '')}"
        for one in found["violations"]
        if one["impact"] in ("serious", "critical")
        for node in one["nodes"]
    ]


def test_whole_run_is_watched_and_steered_and_shown_at_every_size(tmp_path, open_page, rig, root):
    pictures = root / "build" / "page"
    book = tmp_path / "book.sqlite"
    options = ("--piece", "baritone 3", "--side", "bass", "--book", str(book))
    findings = []
    with served(rig.cable.url, *options) as desk:
        page = open_page(desk.url)
        settled(page, "wish", "Press the start button AT THE RIG")
        assert text(page, "heat") == "Relays off"
        rig.rig.press("start")
        settled(page, "stage-title", "warm the waist")
        settled(page, "wish", "waist home")
        # The middle of the wood is behind the steel, which has just come to 120 C.
        assert 50 <= number(page) <= 118
        rig.rig.form(0)
        for name, (wide, high) in SIZES.items():
            # Somebody is there: a press of start tells so, and does nothing else while a run is on.
            rig.rig.press("start")
            for scheme in ("light", "dark"):
                page.set_viewport_size({"width": wide, "height": high})
                page.emulate_media(color_scheme=scheme)
                page.wait_for_timeout(250)
                well_laid_out(page, wide, high)
                page.screenshot(path=pictures / f"{name}_{scheme}.png")
                told_without_scrolling(page, name)
                if (name, scheme) in SCANNED:
                    findings += scanned(page, f"{name} {scheme}")
        for wide, high in MORE_SIZES:
            page.set_viewport_size({"width": wide, "height": high})
            page.wait_for_timeout(250)
            well_laid_out(page, wide, high)
        page.set_viewport_size({"width": 1280, "height": 800})
        assert findings == []
        page.click("button[data-verb=next]")
        settled(page, "said", "Next: confirmed by the board")
        # The hold waits once more, after its cue: the maker ends it too.
        settled(page, "wish", "Press next when the wood is where you want it")
        page.wait_for_timeout(1000)
        page.click("button[data-verb=next]")
        settled(page, "stage-title", "warm it all")
        page.fill("#remark-text", "went round easily")
        page.click("#remark button")
        settled(page, "said", "Noted at baritone 3, bass")
        page.set_input_files("#photo-file", {"name": "a.png", "mimeType": "image/png", "buffer": PNG})
        page.click("#photo button")
        settled(page, "said", "photo is kept")
        assert page.locator("#plot canvas").count() == 1
        assert "middle of the wood, estimate with its band" in text(page, "keys")
        page.emulate_media(color_scheme="light")
        page.wait_for_timeout(1200)
        page.screenshot(path=pictures / "whole_light.png", full_page=True)
        settled(page, "stage-title", "at rest, relays off", 40)
        assert "the run ended as its profile says" in text(page, "recent")
        assert text(page, "heat") == "Relays off"
        with opened(book):
            assert [one.remark for one in Measurement.select()] == ["went round easily"]
            assert Photo.select().count() == 1


def test_stop_under_load_is_one_touch_and_confirmed(open_page, rig):
    ended = threading.Event()
    with served(rig.cable.url) as desk:
        page = open_page(desk.url)
        rig.rig.press("start")
        settled(page, "heat", "HEAT ON|Heat may come")
        pages = [open_page(desk.url) for _ in range(4)]
        for other in pages:
            other.evaluate(
                """() => { setInterval(() => fetch("/act", {method: "POST",
                    headers: {"content-type": "application/json"},
                    body: JSON.stringify({verb: "back_off", values: {}})}).catch(() => 0), 20); }"""
            )
        page.wait_for_timeout(500)
        page.click("#stop")
        settled(page, "said", "STOP: confirmed by the board")
        settled(page, "stage-title", "at rest")
        settled(page, "loud", "^$")
        for other in pages:
            settled(other, "stage-title", "at rest")
        ended.set()
    assert [event for event in rig.rig.events if event.get("event") == "crash"] == []


def test_lost_link_is_loud_shows_no_old_number_and_comes_back_by_itself(open_page, rig, root):
    with served(rig.cable.url) as desk:
        page = open_page(desk.url)
        rig.rig.press("start")
        until(lambda: (number(page) or 0) > 30)
        assert text(page, "loud") == ""
        rig.cable.cut()
        settled(page, "loud", "NO LINK to the board.*THERE")
        assert number(page) is None
        assert text(page, "heat") == "Heat not known"
        assert all("\u2013\u2013" in one for one in page.locator(".parts .mid").all_inner_texts())
        settled(page, "held", r"was \d+.* s ago")
        assert page.locator("#held s").count() == 1
        page.screenshot(path=root / "build" / "page" / "lost.png")
        assert scanned(page, "lost") == []
        # A stop in vain is not called one.
        page.click("#stop")
        settled(page, "loud", "STOP IS NOT CONFIRMED. Press stop AT THE RIG")
        rig.cable.mend()
        # It was kept, and is sent now that there is a link.
        settled(page, "said", "STOP: confirmed by the board")
        settled(page, "stage-title", "at rest")
        assert text(page, "loud") == ""
        assert text(page, "link") == "linked"


def test_silent_board_loses_its_figures_after_three_seconds(open_page):
    with FakeBoard() as board, served(board.url) as desk:
        page = open_page(desk.url)
        board.tell("row", row(62_000))
        settled(page, "mid", "118")
        board.deaf.add("status")
        settled(page, "loud", "gone silent|NO LINK")
        assert number(page) is None
        board.deaf.clear()
        board.tell("row", row(70_000, mids=[[1215, 80], [220, 80]]))
        settled(page, "mid", "122")
        assert text(page, "loud") == ""


def test_page_whose_computer_is_gone_says_so_and_finds_it_again(open_page):
    with FakeBoard() as board:
        with served(board.url) as desk:
            page = open_page(desk.url)
            settled(page, "mid", "118")
            at = desk.url.rsplit(":", 1)[1].strip("/")
        settled(page, "loud", "NO ANSWER from the computer")
        assert number(page) is None
        page.click("#stop")
        settled(page, "loud", "STOP IS NOT CONFIRMED")
        with served(board.url, listen=f"127.0.0.1:{at}"):
            settled(page, "mid", "118", 20)


def test_two_look_on_and_the_steering_is_handed_over(open_page):
    knows = {"back_off": {"mode": "running"}}
    with FakeBoard(knows) as board, served(board.url) as desk:
        one, two = open_page(desk.url), open_page(desk.url, "phone", "dark")
        settled(one, "helm-words", "2 pages look on")
        one.click("button[data-verb=back_off]")
        settled(two, "said", r"Back off: confirmed by the board.*\(screen 1\)")
        # Grey, and still says why when it is touched.
        two.click("button[data-verb=back_off]", force=True)
        settled(two, "said", "screen 1 steers")
        assert board.verbs() == ["back_off"]
        two.click("button[data-steer=want]")
        settled(one, "helm-words", "screen 2 asks for it")
        one.click("button[data-steer=give]")
        settled(two, "helm-words", "You steer")
        two.wait_for_timeout(1000)
        two.click("button[data-verb=back_off]")
        until(lambda: board.verbs() == ["back_off", "back_off"])
        # Whoever does not steer stops all the same.
        one.click("#stop")
        settled(two, "said", r"STOP: confirmed by the board.*\(screen 1\)")


def test_button_of_an_unknown_ask_goes_grey_with_a_plain_word(open_page):
    with FakeBoard() as board, served(board.url) as desk:
        page = open_page(desk.url)
        settled(page, "mid", "118")
        button = page.locator("button[data-verb=mark]", has_text="stiff")
        assert button.get_attribute("aria-disabled") == "false"
        button.click()
        settled(page, "said", "This board does not know 'mark' yet")
        until(lambda: button.get_attribute("aria-disabled") == "true")
        assert page.locator("#stop").get_attribute("aria-disabled") is None


def test_pairing_refused_and_accepted(open_page, root):
    with FakeBoard() as board, served(board.url, listen="0.0.0.0:0") as desk:
        page = open_page(desk.url, "phone")
        assert scanned(page, "pairing") == []
        page.screenshot(path=root / "build" / "page" / "pairing.png")
        page.fill("#code", "12")
        page.click("button")
        settled(page, "answer", "That is not the code")
        page.fill("#code", desk.code)
        page.keyboard.press("Enter")
        settled(page, "mid", "118")
        page.click("#stop")
        settled(page, "said", "STOP: confirmed")


def test_keyboard_alone_reaches_stop_first_and_every_act(open_page):
    with FakeBoard() as board, served(board.url) as desk:
        page = open_page(desk.url)
        settled(page, "mid", "118")
        page.keyboard.press("Tab")
        page.keyboard.press("Enter")
        page.keyboard.press("Tab")
        seen = []
        for _ in range(40):
            seen.append(page.evaluate("document.activeElement.id || document.activeElement.textContent"))
            inside = page.evaluate(
                """() => { const at = document.activeElement.getBoundingClientRect();
                    const bar = document.getElementById("bar");
                    return document.activeElement === document.body || bar.contains(document.activeElement)
                        || at.bottom <= bar.getBoundingClientRect().top + 1; }"""
            )
            assert inside, seen[-1]
            if seen[-1] and page.evaluate("document.activeElement !== document.body"):
                outline, wide, contrast = page.evaluate(FOCUS)
                assert outline != "none", seen[-1]
                assert wide >= 2, seen[-1]
                assert contrast >= 3, seen[-1]
            page.keyboard.press("Tab")
        assert {"stop", "Next", "Pause", "Back off", "stiff", "remark-text"} <= set(seen)
        page.focus("#stop")
        page.keyboard.press("Space")
        settled(page, "said", "STOP: confirmed")
        assert board.verbs() == ["stop"]


def test_message_that_waited_on_its_way_is_not_taken_for_new(open_page):
    with FakeBoard() as board, served(board.url) as desk:
        page = open_page(desk.url)
        settled(page, "mid", "118")
        # The page's clock jumps, as after a tablet's sleep: what comes then is as old as the sleep was long.
        page.evaluate(
            "() => { const was = performance.now.bind(performance); performance.now = () => was() + 60000; }"
        )
        board.tell("row", row(62_000))
        until(lambda: number(page) is None, 3)
        assert text(page, "heat") == "Heat not known"
        # It was the clock and no queue: a stream that begins anew shows it.
        for n in range(100):
            board.tell("row", row(63_000 + 1000 * n))
            page.wait_for_timeout(100)
            if number(page) is not None:
                break
        assert number(page) == 118


def test_shutdown_is_told_with_its_words_and_has_no_button(open_page, rig, root):
    with served(rig.cable.url) as desk:
        page = open_page(desk.url, "phone", "dark")
        rig.rig.press("start")
        settled(page, "heat", "HEAT ON|Heat may come")
        settled(page, "stage-title", "warm the waist")
        rig.rig.command({"chip": 0, "state": "open"})
        settled(page, "stage-title", "SHUT DOWN, relays off")
        settled(page, "wish", "open.*The wood: leave it clamped")
        assert text(page, "heat") == "Relays off"
        page.screenshot(path=root / "build" / "page" / "shutdown.png")
        page.click("#stop")
        settled(page, "said", "STOP: confirmed by the board")
        page.wait_for_timeout(300)
        assert text(page, "stage-title") == "SHUT DOWN, relays off"


def test_rehearsal_and_last_run_stand_behind_the_curve(open_page, root, tmp_path):
    path = root / "host/ribwright_host/library" / EXAMPLE_PROFILE
    checked = load_profile(path)
    times = list(range(0, 1200, 5))
    mid = [120 - 98 * math.exp(-at / 150) for at in times]
    column = {"low": [one - 9 for one in mid], "mid": mid, "high": [one + 7 for one in mid]}
    rehearsal = tmp_path / "rehearsal.json"
    figures = {
        "profile_hash": checked.hash,
        "stages": [{"number": n, "start_s": 100 * n, "end_s": 100 * n + 100} for n in range(1, 9)],
        "series": {"time_s": times, "columns": {"waist": {"mid_c": column}}},
    }
    rehearsal.write_text(json.dumps(figures))
    last = bend_file(tmp_path, hot_s=500)
    with FakeBoard() as board:
        board.profile = {"name": checked.name, "hash": checked.hash}
        board.row = row(1000, stage=1, stage_kind="ramp", cue=None)
        with served(board.url, str(path), "--rehearsal", str(rehearsal), "--last", str(last)) as desk:
            page = open_page(desk.url)
            settled(page, "stage-title", "warm the waist")
            for n in range(1, 120):
                warm = [[1550, round(1550 - 1300 * math.exp(-n / 40)), 900, 1], [None, 220, 0, 0]]
                mids = [[round(1150 - 930 * math.exp(-n / 60)), 80], [220, 80]]
                board.tell(
                    "row", row(1000 + 1000 * n, stage=1, stage_kind="ramp", zones=warm, mids=mids, cue=None)
                )
            settled(page, "keys", "wood as rehearsed")
            settled(page, "keys", "measured last time: run 7")
            # Each gives the part that is looked at: the lower bout has no rehearsal and no band.
            page.click(".parts button:nth-child(3)")
            settled(page, "curve-title", "lower bout")
            until(lambda: "wood as rehearsed" not in text(page, "keys"))
            page.click(".parts button:nth-child(2)")
            settled(page, "keys", "wood as rehearsed")
            page.wait_for_timeout(300)
            page.screenshot(path=root / "build" / "page" / "behind.png")
            drawn = page.evaluate(
                """() => { const c = document.querySelector("#plot canvas");
                    const all = c.getContext("2d").getImageData(0, 0, c.width, c.height).data;
                    const seen = new Set();
                    for (let i = 0; i < all.length; i += 4) seen.add(all.slice(i, i + 3).join());
                    return seen.size; }"""
            )
            assert drawn > 20
