"""A bend with everything that a maker may ask for from a computer: on the board, in log and report."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from loop.bending import OVER, Bench, bench, short_profile
from ribwright_host import acts
from ribwright_host.errors import RefusedByBoardError
from ribwright_host.logbook import RunLog, read_log
from ribwright_host.report import build

# Nobody presses next at the rig: the computer does.
MAKER = {"start_after_s": 3, "next_after_s": 5000}


def wait_for(rig: Bench, name: str, count: int = 1) -> None:
    """Listen until an event was told so many times."""
    rig.listen_until(lambda: rig.events().count(name) >= count)


@pytest.fixture(scope="module")
def bent(
    tmp_path_factory: pytest.TempPathFactory, micropython_cmd: list[str]
) -> tuple[Bench, RunLog, dict[str, Any]]:
    """One bend in real MicroPython: the bench, what was read back, and what the acts answered."""
    assert micropython_cmd
    found: dict[str, Any] = {}
    with bench(tmp_path_factory.mktemp("acts"), maker=MAKER, interpreter="micropython", speed=120) as rig:
        run = acts.make_ready(rig.link, rig.upload(short_profile()))
        for act in (lambda: acts.nudge(rig.link, 1), lambda: acts.mark(rig.link, "steam")):
            with pytest.raises(RefusedByBoardError):
                act()
        wait_for(rig, "cue")
        found["target_c"] = acts.nudge(rig.link, 4)
        found["left_s"] = acts.extend(rig.link, 3)
        acts.mark(rig.link, "steam")
        rig.link.ask("next")
        acts.mark(rig.link, "gave_way")
        rig.link.ask("next")
        wait_for(rig, "stage", 3)
        found["stage"] = acts.back_off(rig.link)
        assert rig.until(*OVER) == "done"
        found["heap"] = min(row["heap"] for row in rig.rows() if row["mode"] == "running")
        log = read_log(rig.log(run))
    return rig, log, found


def test_acts_answer_what_they_did(bent: tuple[Bench, RunLog, dict[str, Any]]) -> None:
    rig, _, found = bent
    assert rig.rig.interpreter.startswith("MicroPython")
    assert found["target_c"] == 124.0
    # Five minutes of the profile, three more, less what had gone by.
    assert 400 < found["left_s"] <= 480
    assert found["stage"] == 5


def test_log_holds_every_act_in_its_place(bent: tuple[Bench, RunLog, dict[str, Any]]) -> None:
    _, log, found = bent
    assert log.problems == []
    assert log.from_stage == 1
    kinds = ("nudge", "extend", "mark", "back_off")
    told = [(event.name, event.stage + 1, event.a, event.b) for event in log.events if event.name in kinds]
    assert told == [
        ("nudge", 2, 1240, 4),
        ("extend", 2, 3, found["left_s"]),
        ("mark", 2, 4, 0),
        ("mark", 2, 1, 0),
        # The act is told with the stage that follows.
        ("back_off", 5, 3, 5),
    ]
    held = [row.zones[0].target_c for row in log.rows if row.stage == 1]
    assert held[-1] == 124.0
    assert not [row for row in log.rows if row.stage == 3]


def test_report_tells_acts_in_words_and_on_the_picture(
    bent: tuple[Bench, RunLog, dict[str, Any]], tmp_path: Path
) -> None:
    page = build(bent[1], tmp_path, "F").read_text(encoding="utf-8")
    for words in (
        "The target was moved by hand, to 255.2 \u00b0F.",
        f"The stage was given 3 min more, {bent[2]['left_s']} s of its longest time were left.",
        "The maker noted: steam came.",
        "The maker noted: the wood gave way.",
        "The maker backed off from stage 3 to stage 5.",
    ):
        assert words in page.replace("&#39;", "'")


def test_bend_is_taken_up_from_a_later_stage(tmp_path: Path, micropython_cmd: list[str]) -> None:
    assert micropython_cmd
    with bench(tmp_path, maker=MAKER, interpreter="micropython") as rig:
        key = rig.upload(short_profile())
        with pytest.raises(RefusedByBoardError, match="only cools"):
            acts.make_ready(rig.link, key, 6)
        run = acts.make_ready(rig.link, key, 3)
        wait_for(rig, "stage")
        rig.link.ask("stop")
        assert rig.until(*OVER) == "stop"
        log = read_log(rig.log(run))
    assert log.from_stage == 3
    began = [event for event in log.events if event.name == "stage"]
    assert [(event.a, event.b) for event in began] == [(3, 1300)]
    assert {row.stage for row in log.rows} <= {2}
