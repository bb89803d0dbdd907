"""Flashing that is cut at every act: whatever is left boots off, and is flashed to the end the next time."""

import sys
import tomllib
import types
from hashlib import sha256

import pytest

from host.peer import RIG_TEXT
from ribwright_host.errors import LinkLostError
from ribwright_host.flash_plan import SPARE_BYTES, carry_out, make_plan, to_hash
from ribwright_host.payload import MANIFEST, board_files, manifest
from ribwright_host.rigs import rig_hash

RIG = tomllib.loads(RIG_TEXT)
OTHER_RIG = {**RIG, "pins": {**RIG["pins"], "alive": 22}, "name": "another"}
NEW = board_files(RIG)
ROOMY = 1 << 20
APP = next(path for path in NEW if path.startswith("lib/ribwright_board/app."))
# What is the maker's and must not change.
THEIRS = {
    "counters.json": b"{} 1",
    "profiles/ab.json": b"{}",
    "runs/00001.rlg": b"log",
    "profiles.json": b"[]",
}


def older():
    """A board with the sources of another rig, one module of which is gone by now."""
    files = board_files(OTHER_RIG, source=True)
    del files[MANIFEST]
    files["lib/ribwright_board/old.py"] = b"GONE = True\n"
    files[MANIFEST] = manifest(files, rig_hash(OTHER_RIG))
    return files


class CutError(Exception):
    """The power is gone."""


class Flash:
    """A board's flash in memory that is cut at an act; a write that is cut leaves half of it."""

    def __init__(self, files, cut_at=-1, *, half=False):
        self.files = dict(files)
        self.acts = 0
        self._cut_at = cut_at
        self._half = half

    def _act(self):
        self.acts += 1
        if self.acts - 1 == self._cut_at:
            raise CutError

    def hashes(self, paths):
        self._act()
        return {path: sha256(self.files[path]).hexdigest() if path in self.files else "" for path in paths}

    def write(self, path, data, progress):
        try:
            self._act()
        except CutError:
            if self._half:
                self.files[path] = data[: len(data) // 2]
            raise
        self.files[path] = data
        progress(len(data))

    def put_in_place(self, path):
        self._act()
        self.files[path] = self.files.pop(path + ".new")

    def remove(self, path):
        self._act()
        self.files.pop(path, None)

    def tidy(self):
        self._act()


def planned(files, free_bytes=ROOMY):
    there = {path: len(data) for path, data in files.items() if "/" not in path or path.startswith("lib/")}
    hashes = {path: sha256(files[path]).hexdigest() for path in to_hash(NEW, there)}
    return make_plan(NEW, there, hashes, free_bytes)


class Pin:
    """Notes what is driven high; every input shows its pull-up."""

    IN, OUT, PULL_UP = 0, 1, 1
    high = None

    def __init__(self, number, mode=-1, pull=-1, value=None):
        if value:
            Pin.high.append(number)

    def value(self, level=None):
        return 1


class Booted:
    """A folder that follows a flash in memory, and boots its root's files as a board does."""

    def __init__(self, folder, monkeypatch):
        self.folder = folder
        self.holds = {}
        self.started = False
        monkeypatch.chdir(folder)
        app = types.ModuleType("ribwright_board.app")
        app.run = lambda _board: setattr(self, "started", True)
        driver = types.ModuleType("ribwright_board.drivers.board")
        driver.make_board = lambda: None
        machine = types.ModuleType("machine")
        machine.Pin = Pin
        for module in (app, driver, machine):
            monkeypatch.setitem(sys.modules, module.__name__, module)
        self._patch = monkeypatch
        # CPython has no threshold of that kind.
        monkeypatch.setattr("gc.threshold", lambda *_: None, raising=False)

    def boot(self, files):
        """Whether the firmware was started; the prompt is there either way."""
        for path in self.holds.keys() - files.keys():
            (self.folder / path).unlink()
        for path, data in files.items():
            if self.holds.get(path) != data:
                (self.folder / path).parent.mkdir(parents=True, exist_ok=True)
                (self.folder / path).write_bytes(data)
        self.holds = dict(files)
        self.started = False
        for name in ("pins", "stay"):
            self._patch.delitem(sys.modules, name, raising=False)
            if name + ".py" in files and (name == "pins" or "pins.py" in files):
                module = types.ModuleType(name)
                exec(files[name + ".py"], module.__dict__)  # noqa: S102 - the board runs exactly this text
                self._patch.setitem(sys.modules, name, module)
        for name in ("boot.py", "main.py"):
            if name in files:
                try:
                    exec(compile(files[name], name, "exec"), {"__name__": "__main__"})  # noqa: S102 - as above
                except ImportError:
                    assert not {"pins.py", "stay.py"} <= set(files)
        return self.started


def check(files, before):
    """What must hold of a flash after any cut; whether its firmware is whole."""
    assert {path: files[path] for path in THEIRS if path in before} == THEIRS
    if MANIFEST not in files:
        return False
    whole = {path: data for path, data in files.items() if path not in THEIRS and not path.endswith(".new")}
    # The old firmware, to the last byte, or the new one; never something of both.
    assert whole in ({path: data for path, data in before.items() if path not in THEIRS}, NEW)
    return True


@pytest.mark.parametrize("half", [False, True])
@pytest.mark.parametrize(
    ("before", "free_bytes"),
    [(dict(THEIRS), ROOMY), ({**older(), **THEIRS}, ROOMY), ({**older(), **THEIRS}, SPARE_BYTES)],
    ids=["fresh", "older", "older, little room"],
)
def test_cut_at_every_act_leaves_a_board_that_stays_off_and_can_be_flashed(
    before, free_bytes, half, tmp_path, monkeypatch
):
    whole = Flash(before)
    plan = planned(before, free_bytes)
    carry_out(whole, plan, lambda *_: None)
    assert whole.files == {**NEW, **THEIRS}
    assert len(plan.groups) == (1 if free_bytes == ROOMY else len(plan.changed))
    place = Booted(tmp_path, monkeypatch)
    Pin.high = []
    assert whole.acts > 2 * len(plan.changed)
    for cut_at in range(whole.acts):
        flash = Flash(before, cut_at, half=half)
        with pytest.raises(CutError):
            carry_out(flash, plan, lambda *_: None)
        sound = check(flash.files, before)
        assert place.boot(flash.files) == sound, cut_at
        again = Flash(flash.files)
        carry_out(again, planned(flash.files, free_bytes), lambda *_: None)
        assert again.files == {**NEW, **THEIRS}, cut_at
    assert place.boot(whole.files)
    assert Pin.high == []


def test_nothing_is_written_where_nothing_differs():
    flash = Flash({**NEW, **THEIRS})
    plan = planned(flash.files)
    assert plan.nothing
    carry_out(flash, plan, lambda *_: pytest.fail("nothing is to be written"))
    assert flash.acts == 0


def test_only_what_changed_is_written():
    files = {**NEW, APP: b"other", "lib/stale.py": b""}
    plan = planned(files)
    assert (plan.changed, plan.stale, plan.manifest) == (
        [APP],
        ["lib/stale.py"],
        False,
    )
    flash = Flash(files)
    carry_out(flash, plan, lambda *_: None)
    assert flash.files == NEW


def test_what_was_left_half_written_is_removed_even_where_nothing_differs():
    flash = Flash({**NEW, "main.py.new": b"half", APP + ".new": b"", "mine.new": b"kept"})
    carry_out(flash, planned(flash.files), lambda *_: None)
    assert flash.files == {**NEW, "mine.new": b"kept"}


def test_progress_rises_to_the_whole():
    seen = []
    carry_out(Flash(THEIRS), planned(THEIRS), lambda done, whole: seen.append((done, whole)))
    assert [done for done, _ in seen] == sorted(done for done, _ in seen)
    assert seen[-1][0] == seen[-1][1] == sum(map(len, NEW.values()))


def test_a_file_that_arrives_changed_is_not_put_in_place():
    flash = Flash(dict(older()))
    write = flash.write
    flash.write = lambda path, data, progress: write(path, data[:-1] + b"?", progress)
    with pytest.raises(LinkLostError) as raised:
        carry_out(flash, planned(flash.files), lambda *_: None)
    assert raised.value.code == "not_verified"
    assert flash.files[MANIFEST] == older()[MANIFEST]
    assert {path: data for path, data in flash.files.items() if not path.endswith(".new")} == older()
