"""The whole job on the virtual rig, start to report, for a machine with no hardware at all."""

from __future__ import annotations

import json
import shutil
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ribwright_board import __version__

from . import tune as tuner
from .demo_figures import control_figures
from .errors import HostError
from .link import Board, Link, get_run, hello, put_profile
from .logbook import read_log, write_csv
from .profiles import ProfileFile, check_for_board, load_profile
from .report import build
from .rigs import RigFile, load_rig
from .transport import open_port
from .virtual import EXAMPLE_PROFILE, EXAMPLE_RIG, running
from .watch import event_line

if TYPE_CHECKING:
    from .link import Tell

SEED = 7
# The person beside the virtual rig works the waist down slowly: 40 s for every cue.
MAKER = {"start_after_s": 4, "form_after_s": 2, "next_after_s": 40}
# A run of forty simulated minutes takes seconds; one that says nothing for so long has stopped.
SILENCE_S = 20.0
OVER = ("done", "stop", "trip", "refused")


@dataclass(frozen=True, slots=True)
class Bend:
    """One run on the virtual rig.

    interpreter: what ran the firmware. board: who answered. ended: name of the last event. wall_s: real
    seconds from the asking to the end. status: the board's answer afterwards. log: the board's own file.
    """

    interpreter: str
    board: Board
    ended: str
    wall_s: float
    status: dict[str, Any]
    log: bytes


def run(out: Path, *, as_json: bool = False) -> dict[str, Any]:
    """Run the demo and return its figures.

    out: folder for everything it makes; what the last demo left there is replaced. as_json: figures for
    programs instead of words. Raises HostError when any step does not end as it should.
    """

    def tell(text: str) -> None:
        if not as_json:
            click.echo(text)

    begun = time.monotonic()
    rig_path, profile_path = _fresh_files(out)
    profile = load_profile(profile_path, load_rig(rig_path).rig)
    tell(f"rig      {rig_path}, profile {profile_path}: checked")
    tuned = tuner.tune_file(rig_path)
    rig = load_rig(rig_path)
    tell(f"tune     {tuner.words(rig_path, tuned)}")
    with running(
        rig.mapping,
        profile.mapping["piece"],
        out / "board",
        seed=SEED,
        maker=MAKER,
        truth_csv=str(out / "truth.csv"),
        summary_json=str(out / "summary.json"),
    ) as virtual:
        bend = _bend(virtual.url, virtual.interpreter, rig, profile, tell)
    run_log = read_log(bend.log, {zone.name: zone.power_w for zone in rig.rig.zones}, None)
    write_csv(run_log, out / "run.csv")
    page = build(out / "run.csv", out, rig.mapping["unit"])
    summary = json.loads((out / "summary.json").read_text(encoding="utf-8"))
    figures: dict[str, Any] = {
        "interpreter": bend.interpreter,
        "simulated": bend.board.simulated,
        "firmware": __version__,
        "rig": rig.hash,
        "simulated_s": summary["simulated_s"],
        "run_wall_s": round(bend.wall_s, 2),
        "demo_wall_s": round(time.monotonic() - begun, 2),
        "ended": bend.ended,
        "trips": sum(event.name == "trip" for event in run_log.events),
        "stages_done": _stages_done(run_log.events, bend.ended),
        "crc_errors": bend.status["crc_errors"],
        "log_rows": len(run_log.rows),
        "log_problems": len(run_log.problems),
        "heap_low_bytes": bend.status["heap"],
        "tick_board_ms": summary["tick_board_ms"],
        "energy_residual_fraction": summary["energy_residual"],
        "tune_overshoot_k": round(
            max(zone["firmware"]["controller"]["overshoot_k"] for zone in tuned["zones"]), 3
        ),
        "seed": SEED,
    }
    figures |= control_figures(out / "truth.csv", run_log)
    (out / "demo.json").write_text(json.dumps(figures, indent=1) + "\n", encoding="utf-8")
    if bend.ended != "done":
        raise HostError(f"the demo's run ended with {bend.ended}, not as its profile says", f"see {page}")
    if as_json:
        click.echo(json.dumps(figures, sort_keys=True))
    for line in _closing_words(figures, page):
        tell(line)
    return figures


def _fresh_files(out: Path) -> tuple[Path, Path]:
    """The example rig and profile in a folder cleared of what an earlier demo left."""
    out.mkdir(parents=True, exist_ok=True)
    shutil.rmtree(out / "board", ignore_errors=True)
    for name in ("demo.json", "run.csv", "run.json", "report.html", "truth.csv", "summary.json"):
        (out / name).unlink(missing_ok=True)
    library = files("ribwright_host") / "library"
    targets = (out / "rig.toml", out / "profile.toml")
    for target, name in zip(targets, (EXAMPLE_RIG, EXAMPLE_PROFILE), strict=True):
        target.write_bytes((library / name).read_bytes())
    return targets


def _bend(
    url: str, interpreter: str, rig: RigFile, profile: ProfileFile, tell: Callable[[str], None]
) -> Bend:
    """Upload, make ready, look on until the end, read back: all through the serial link."""
    heard: list[Tell] = []
    link = Link(open_port(url), on_tell=heard.append)
    try:
        board = hello(link, unix=int(time.time()))
        tell(f"board    {board.title()}; its firmware runs in {interpreter}")
        check_for_board(profile, board.zones)
        answer = put_profile(link, profile.data)
        tell(f"upload   {answer['name']}, checked by the board, {answer['hash']}")
        begun = time.monotonic()
        number = link.ask("ready", {"profile": answer["hash"]})["run"]
        tell(f"ready    run {number} waits for the start button on the rig's panel, never pressed from here")
        ended = _look_on(link, heard, rig, tell)
        wall_s = time.monotonic() - begun
        status = link.ask("status")
        log = get_run(link, number)
        tell(f"fetch    {len(log)} bytes of log")
        return Bend(interpreter, board, ended, wall_s, status, log)
    finally:
        link.close()


def _look_on(link: Link, heard: list[Tell], rig: RigFile, tell: Callable[[str], None]) -> str:
    """Follow the board's tells; the name of the event that ended the run."""
    quiet_since = time.monotonic()
    while time.monotonic() - quiet_since < SILENCE_S:
        link.listen(0.2)
        if heard:
            quiet_since = time.monotonic()
        for told in heard:
            if told.verb != "event":
                continue
            tell("         " + event_line(told.data, rig.zone_names, rig.mapping["unit"]))
            if told.data["code"] in OVER:
                return str(told.data["code"])
        heard.clear()
    raise HostError(f"the virtual rig said nothing for {SILENCE_S:.0f} s in mid-run", "run the demo again")


def _stages_done(events: list[Any], ended: str) -> int:
    """Stages that were entered and left again."""
    begun = [event for event in events if event.name == "stage"]
    return len(begun) if ended == "done" else max(0, len(begun) - 1)


def _closing_words(figures: Mapping[str, Any], page: Path) -> list[str]:
    """What a person should know at the end."""
    minutes, wall_s = figures["simulated_s"] / 60, figures["run_wall_s"]
    ended = f"{figures['stages_done']} stages, {figures['trips']} trips (SIMULATED: nothing was heated)"
    ripple = f"overshoot {figures['overshoot_k']:.2f} K, ripple while holding {figures['hold_rms_k']:.2f} K"
    return [
        f"done     {minutes:.0f} simulated minutes in {wall_s:.1f} s, {ended}",
        f"         {ripple}, on the plant's true temperature",
        f"look at  {page}: the pictures first, then what each stage reached",
    ]
