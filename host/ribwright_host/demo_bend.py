"""One side bent on a virtual rig of the demo's own: laid out, watched to its end, read back, reported."""

import json
import time
from collections.abc import Callable, Mapping
from concurrent.futures import Executor, Future
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from .demo_folder import SIDES
from .errors import HostError
from .link import Board, Link, Tell, get_run, hello, put_profile
from .logbook import read_log, write_csv
from .profiles import ProfileFile, check_for_board
from .report import PAGE, build
from .rigs import RigFile
from .runlog import RunLog
from .side.facts import side_of
from .side.kept import of_run
from .side.lay import lay_of, words
from .side.sheet import save
from .side.starting import Laying
from .transport import open_port
from .virtual import running
from .watch import event_line

# A run of forty simulated minutes takes seconds; one that says nothing for so long has stopped.
SILENCE_S = 20.0
OVER = ("done", "stop", "trip", "refused")


@dataclass(frozen=True, slots=True)
class Shop:
    """What both sides have in common.

    rig: its checked file. out: folder of the demo. piece: of the notebook. interpreter: of the firmware, as
    interpreter.choose(). seed: of the virtual rig. tell: takes a line for people. helper: draws reports
    meanwhile.
    """

    rig: RigFile
    out: Path
    piece: str
    interpreter: str
    seed: int
    tell: Callable[[str], None]
    helper: Executor

    @property
    def sides(self) -> Path:
        """Where it is kept which side each run was; the maker's own notes stay untouched."""
        return self.out / SIDES


@dataclass(frozen=True, slots=True)
class Bent:
    """One side that was bent.

    hand: bass or treble. interpreter: what ran the firmware. board: who answered. ended: name of the last
    event. wall_s: real seconds from the asking to the end. status: the board's answer afterwards. run: as
    read back. csv, truth, page: its files. drawn: done when the page is. summary: of the virtual rig.
    """

    hand: str
    interpreter: str
    board: Board
    ended: str
    wall_s: float
    status: dict[str, Any]
    run: RunLog
    csv: Path
    truth: Path
    page: Path
    drawn: Future[Path]
    summary: dict[str, Any]

    @property
    def trips(self) -> int:
        """How often it was shut down."""
        return sum(event.name == "trip" for event in self.run.events)

    @property
    def stages_done(self) -> int:
        """Stages that were entered and left again."""
        begun = sum(event.name == "stage" for event in self.run.events)
        return begun if self.ended == "done" else max(0, begun - 1)


def bend(
    shop: Shop,
    hand: str,
    wood: Mapping[str, Any],
    day: Mapping[str, Any],
    profile_for: Callable[[Link], ProfileFile],
) -> Bent:
    """Bend one side; the board's flash goes on from the side before.

    shop: what both sides have in common. hand: bass or treble. wood: [piece] of what lies in the stack. day:
    what is this side's own of the virtual rig's scenario, as the maker's hands. profile_for: what to bend,
    asked for once the board has answered. Raises HostError.
    """
    folder = shop.out / hand
    folder.mkdir(parents=True, exist_ok=True)
    truth, summary = folder / "truth.csv", folder / "summary.json"
    with running(
        shop.rig.mapping,
        wood,
        shop.out / "board",
        seed=shop.seed,
        interpreter=shop.interpreter,
        truth_csv=str(truth),
        summary_json=str(summary),
        **day,
    ) as virtual:
        heard: list[Tell] = []
        link = Link(open_port(virtual.url), on_tell=heard.append)
        try:
            board = hello(link, unix=int(time.time()))
            shop.tell(f"board    {board.title()}; its firmware runs in {virtual.interpreter}")
            profile = profile_for(link)
            check_for_board(profile, board.zones)
            laying = _laying(shop, hand, profile, folder / "strip.svg")
            answer = put_profile(link, profile.data)
            shop.tell(f"upload   {answer['name']}, checked by the board, {answer['hash']}")
            begun = time.monotonic()
            number = link.ask("ready", {"profile": answer["hash"]})["run"]
            laying.keep(board, number, {"name": profile.name, "hash": profile.hash}, shop.sides)
            shop.tell(
                f"ready    run {number} waits for a press of start at the rig; no computer can press it"
            )
            ended = _look_on(link, heard, shop)
            wall_s = time.monotonic() - begun
            status, data = link.ask("status"), get_run(link, number)
        finally:
            link.close()
    run = read_log(data, {zone.name: zone.power_w for zone in shop.rig.rig.zones}, int(time.time()))
    run.laid = of_run(run, shop.sides)
    csv = folder / "run.csv"
    write_csv(run, csv)
    drawn = shop.helper.submit(build, csv, folder, shop.rig.mapping["unit"])
    page = folder / PAGE
    shop.tell(f"fetch    {len(data)} bytes of log, read back into {csv}; its report is {page}")
    told = json.loads(summary.read_text(encoding="utf-8"))
    return Bent(hand, virtual.interpreter, board, ended, wall_s, status, run, csv, truth, page, drawn, told)


def _laying(shop: Shop, hand: str, profile: ProfileFile, drawing: Path) -> Laying:
    """How the strip must lie, drawn; nobody is asked, since nobody is there."""
    stated = dict(profile.side or {})
    lay = lay_of(side_of(stated, hand), profile.mapping["piece"], list(shop.rig.mapping["zones"]))
    save(lay, drawing)
    for line in words(lay):
        if line.startswith(("Show face", "Top edge")):
            shop.tell(f"strip    {line}" if line.startswith("Show") else f"         {line}")
    shop.tell(f"         Drawn in {drawing}; `ribwright start` asks whether it lies so, here nobody does.")
    return Laying(lay, stated, shop.piece)


def _look_on(link: Link, heard: list[Tell], shop: Shop) -> str:
    """Follow the board's tells; the name of the event that ended the run."""
    quiet_since = time.monotonic()
    while time.monotonic() - quiet_since < SILENCE_S:
        link.listen(0.2)
        if heard:
            quiet_since = time.monotonic()
        for told in heard:
            if told.verb != "event":
                continue
            shop.tell("         " + event_line(told.data, shop.rig.zone_names, shop.rig.mapping["unit"]))
            if told.data["code"] in OVER:
                return str(told.data["code"])
        heard.clear()
    raise HostError(f"the virtual rig said nothing for {SILENCE_S:.0f} s in mid-run", "run the demo again")
