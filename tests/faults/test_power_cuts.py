"""Power cut in the middle of what the store writes: nothing promised is lost; a store that loses is seen."""

import base64
import hashlib

import pytest

from ribwright_sim.flash.cuts import cut
from ribwright_sim.flash.scenes import KEY_LETTERS, Scene, header, logging, marks, profile, rows, scenes
from ribwright_sim.flash.story import Story
from ribwright_sim.flash.verdict import judge
from ribwright_sim.flash.wear import wear
from ribwright_sim.interpreter import SHIM

pytestmark = pytest.mark.usefixtures("micropython_cmd")


def text(data):
    return base64.b64encode(data).decode()


def replaced():
    """A stored profile that a worn cell has changed, and the upload that replaces it."""
    key, body = profile(1)
    acts = [("boot", ()), ("put", (key, "?" + body[1:])), ("put", profile(2)), ("put", (key, body))]
    return Scene("replaced", 24, tuple(acts))


def short_run():
    """A run of a few flushes."""
    acts = [("boot", ()), ("next", ()), ("open", (text(header(1)),)), ("mark", (0,))]
    acts += [("append", (text(rows(30, 30 * flush)),)) for flush in range(4)]
    return Scene("short run", 24, (*acts, ("close", ()), ("unmark", ()), ("next", ())))


def test_sampled_cuts_lose_no_record_and_no_mark():
    tally = cut([logging(), marks()], every=12, again=12)
    assert tally.cuts > 250
    assert tally.torn > 200
    assert tally.in_recovery > 20
    assert tally.examples == {}
    assert (tally.lost, tally.misled, tally.wrong) == (0, 0, [])


# As many profiles as a small board would keep, so that every upload finds the store full.
FEW = """
import ribwright_board.drivers.store as firmware
firmware.MAX_PROFILES = 3
"""


def crowded():
    """Uploads to a store that is full, and each of them again over a file that has changed."""
    acts = [("boot", ()), *[("put", profile(number)) for number in range(5)]]
    for key, body in map(profile, range(5)):
        acts += [("put", (key, "?" + body[1:])), ("put", (key, body))]
    return Scene("crowded", 24, (*acts, ("boot", ())))


def test_upload_to_a_full_store_costs_no_profile_before_the_new_one_is_there():
    tally = cut([crowded()], every=2, again=12, plant=FEW)
    assert tally.cuts > 200
    assert tally.examples == {}
    assert (tally.lost, tally.misled, tally.wrong) == (0, 0, [])


def test_every_cut_of_the_scenes_with_planted_defects_is_harmless_without_them():
    tally = cut([replaced(), short_run()], every=2, again=0)
    assert tally.cuts > 100
    assert tally.examples == {}
    assert (tally.lost, tally.misled, tally.wrong) == (0, 0, [])


# What a store may not do, and what the check must then find.
IN_PLACE = """
class Store(Store):
    def put_profile(self, key, body):
        with open("profiles/" + key + ".json", "wb") as file:
            file.write(body[:100])
            file.flush()
            file.write(body[100:])
"""
REMOVES_FIRST = """
import os
class Store(Store):
    def put_profile(self, key, body):
        if self.get_profile(key) is not None:
            os.remove("profiles/" + key + ".json")
        super().put_profile(key, body)
"""
UNMARKS_FIRST = """
class Store(Store):
    def mark_run(self, run, resets=0):
        super().mark_run(0)
        super().mark_run(run, resets)
"""
SAYS_SO_TOO_EARLY = """
class Store(Store):
    kept = b""
    def append(self, data):
        late, self.kept = self.kept, bytes(data)
        if late:
            super().append(late)
    def close_run(self):
        super().append(self.kept)
        self.kept = b""
        super().close_run()
"""
GIVES_NUMBERS_AGAIN = """
class Store(Store):
    def next_run(self):
        return max(1, super().next_run() - 1)
"""
BEGINS_AGAIN = """
class Store(Store):
    def append(self, data):
        found = self.read_run(1, 0, 10000)[1]
        self.open_run(1, b"")
        super().append(found + data)
"""
DOES_NOT_WAKE = """
import os
class Store(Store):
    def __init__(self):
        super().__init__()
        if "mark.json.new" in os.listdir() or "mark.json" in os.listdir():
            raise ValueError("a mark")
"""


@pytest.mark.parametrize(
    ("scene", "plant", "kind"),
    [
        (replaced(), IN_PLACE, "profile"),
        (replaced(), REMOVES_FIRST, "profile"),
        (marks(), UNMARKS_FIRST, "mark"),
        (short_run(), SAYS_SO_TOO_EARLY, "record"),
        (short_run(), GIVES_NUMBERS_AGAIN, "number"),
        (short_run(), BEGINS_AGAIN, "record"),
        (short_run(), DOES_NOT_WAKE, "unreadable"),
    ],
    ids="in_place removes_first unmarks_first too_early numbers_again begins_again does_not_wake".split(),
)
def test_a_store_that_breaks_its_promise_is_seen(scene, plant, kind):
    tally = cut([scene], every=2, again=0, plant=plant)
    assert tally.kinds[kind] > 0
    assert tally.lost + tally.misled > 0
    assert tally.examples[kind]


def entry(at, result, runs=None, profiles=None):
    return {
        "before": at,
        "after": at + 2,
        "result": result,
        "seen": {"runs": runs or {}, "profiles": profiles or {}},
    }


def left(at, how="half", **changes):
    seen = {"cut": [at, how], "then": None, "profiles": {}, "runs": {}, "mark": [0, 0], "next": 2, "new": []}
    return {**seen, "refused": 0, "counted": 0, **changes}


def test_pins_and_counters_are_held_to_their_word():
    head = header(1)
    acts = (("next", ()), ("open", (text(head),)), ("pin", (1, 1)), ("count", (7,)))
    runs = {"1": [len(head), len(head), "", 0]}
    entries = [entry(0, 1), entry(2, 1, runs), entry(4, "", runs), entry(6, "", runs)]
    story = Story(Scene("pins", 8, acts), {"max_profiles": 2}, entries)
    sha = hashlib.sha256(head).hexdigest()
    stored = [len(head), len(head), sha]
    assert judge(story, left(5, runs={"1": [*stored, 0]})) == set()
    assert judge(story, left(5, runs={"1": [*stored, 1]})) == set()
    assert judge(story, left(6, "clean", runs={"1": [*stored, 0]})) == {"pin"}
    assert judge(story, left(7, runs={"1": [*stored, 1]}, counted=7)) == set()
    assert judge(story, left(7, runs={"1": [*stored, 1]}, counted=6)) == {"counter"}
    assert judge(story, left(8, "clean", runs={"1": [*stored, 1]})) == {"counter"}
    assert judge(story, left(8, "clean", counted=7)) == {"record"}


def test_room_takes_the_oldest_that_are_not_pinned():
    acts = (("next", ()), ("open", (text(header(1)),)), ("next", ()), ("open", (text(header(2)),)))
    acts += (("pin", (1, 1)), ("room", (1,)))

    def story(kept):
        runs = {"1": [], "2": []}
        entries = [entry(0, 1), entry(2, 1), entry(4, 2), entry(6, 2), entry(8, "", runs)]
        return Story(Scene("room", 8, acts), {"max_profiles": 2}, [*entries, entry(10, "", kept)])

    assert story({"1": []}).wrong == []
    assert [act for act, _ in story({"2": []}).wrong] == ["room"]


def test_every_act_of_a_scene_has_its_promise():
    assert all(hasattr(Story, f"_after_{act}") for scene in scenes() for act, _ in scene.acts)
    assert all(len(profile(number)[0]) == KEY_LETTERS for number in range(3))


def test_flash_refuses_a_page_that_is_not_erased_and_tears_only_clear_bits(run_micropython):
    code = """
import cut_flash as c
memory, log = c.blank(2), []
flash = c.CutFlash(memory, log)
page = bytes(range(256))
print(flash.writeblocks(0, page, 256), flash.writeblocks(0, page, 256), flash.refused, len(log))
print(memory[256:512] == page, flash.ioctl(6, 0), memory == c.blank(2), list(flash.worn), flash.pages)
for how in c.TEARS:
    c.tear(memory, (0, page), how, 5)
    same = sum(memory[n] == page[n] for n in range(256))
    print(how, same, all(memory[n] & page[n] == page[n] for n in range(256)))
    c.tear(memory, (0, None), how, 5)
    print(how, sum(byte == 255 for byte in memory[:4096]))
    memory[:] = c.blank(2)
flash.dead = True
print(flash.writeblocks(0, page, 0), memory == c.blank(2))
"""
    said = run_micropython(code, path=[SHIM]).split("\n")
    assert said[:2] == ["0 -5 1 1", "True 0 True [1, 0] 1"]
    kept = {line.split()[0]: int(line.split()[1]) for line in said[2:8:2]}
    assert all(line.endswith("True") for line in said[2:8:2])
    # Page 255 is all ones: half a page is 128 bytes of it and one more.
    assert kept["half"] == 129
    assert kept["late"] == 248
    assert 64 < kept["junk"] < 128
    assert said[8] == "-5 True"


def test_hour_of_logging_costs_what_its_flushes_cost():
    figures, notes = wear((60,), hours=2)
    slow, shipped = notes["flush_table"][1], notes["flush_table"][0]
    assert (slow["flush_s"], shipped["flush_s"]) == (60, 30)
    # A flush begins a fresh block at least, and another one where the log grows into it.
    assert 120 <= figures["erases_per_hour"] <= 240
    assert 60 <= slow["erases_per_hour"] < shipped["erases_per_hour"]
    # What is logged is programmed at least once.
    assert shipped["kb_per_hour"] > 3600 * 36 / 1024
    assert 45.0 < figures["flush_worst_ms"] < figures["flush_worst_max_ms"] < 2000.0
    # The file system's own count of what is free errs by blocks; the chip's size does not.
    fit = figures["log_hours_that_fit"] * 3600 * 36
    assert 0.9 * figures["flash_free_bytes"] < fit < 352 * 4096
    assert figures["flash_worst_block_erases"] >= 1


def test_full_flash_loses_nothing_that_was_flushed_and_takes_a_run_when_old_ones_made_room():
    figures, _ = wear((30,), hours=1)
    assert figures["log_lost_when_full_s"] == 0
    assert figures["log_hour_after_full_s"] == 3600
