"""One side bent on a virtual rig of the demo's own: laid out, watched to its end, read back, reported."""

import time
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import Executor, Future
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from .demo_folder import SIDES, SUMMARY, TRUTH
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
from .virtual import OFF_AFTER_S, running
from .watch import event_line

# A run of forty simulated minutes takes seconds; one that says nothing for so long has stopped.
SILENCE_S = 20.0
AGAIN = "run the demo again"
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

    @property
    def truth(self) -> Path:
        """The true state of the stack, second by second, of both sides and between them."""
        return self.out / TRUTH


@dataclass(frozen=True, slots=True)
class Rig:
    """The one virtual rig of the demo, its board greeted; both sides are bent on it.

    shop: what both sides have in common. interpreter: what runs the firmware. command: tells the person at
    the rig, or the mains, what is to change. happened: the next line the rig has told, None for none yet.
    """

    shop: Shop
    link: Link
    board: Board
    interpreter: str
    command: Callable[[Mapping[str, Any]], None]
    happened: Callable[[], Mapping[str, Any] | None]
    heard: list[Tell] = field(default_factory=list)

    def until_strip(self, which: str) -> float:
        """Look on until a strip is changed; when that was, simulated s.

        which: "out" once the bent side is off the form, "in" once the next strip lies there. Raises HostError
        when the rig says nothing for SILENCE_S of real time.
        """
        quiet_since = time.monotonic()
        while time.monotonic() - quiet_since < SILENCE_S:
            self.link.listen(0.1)
            if self.heard:
                quiet_since = time.monotonic()
                self.heard.clear()
            while (event := self.happened()) is not None:
                if (event.get("event"), event.get("which")) == ("strip", which):
                    return float(event["at_s"])
        raise HostError(f"the virtual rig said nothing for {SILENCE_S:.0f} s between the sides", AGAIN)


@contextmanager
def bench(shop: Shop, wood: Mapping[str, Any], day: Mapping[str, Any]) -> Iterator[Rig]:
    """The virtual rig both sides are bent on, from power-on to the end.

    shop: what both sides have in common. wood: [piece] of what lies in the stack. day: further keys of the
    virtual rig's scenario, as the maker's hands. Raises HostError.
    """
    with running(
        shop.rig.mapping,
        wood,
        shop.out / "board",
        seed=shop.seed,
        interpreter=shop.interpreter,
        truth_csv=str(shop.truth),
        summary_json=str(shop.out / SUMMARY),
        **day,
    ) as virtual:
        heard: list[Tell] = []
        link = Link(open_port(virtual.url), on_tell=heard.append)
        try:
            board = hello(link, unix=int(time.time()))
            shop.tell(f"board    {board.title()}; its firmware runs in {virtual.interpreter}")
            yield Rig(
                shop,
                link,
                board,
                virtual.interpreter,
                virtual.command,
                lambda: virtual.next_event(0.0),
                heard,
            )
        finally:
            link.close()


@dataclass(frozen=True, slots=True)
class Bent:
    """One side that was bent.

    hand: bass or treble. interpreter: what ran the firmware. board: who answered. ended: name of the last
    event. wall_s: real seconds from the asking to the end. status: the board's answer afterwards. run: as
    read back. csv, truth, page: its files, truth with the other side in it as well. drawn: done when the page
    is.
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

    @property
    def trips(self) -> int:
        """How often it was shut down."""
        return sum(event.name == "trip" for event in self.run.events)

    @property
    def stages_done(self) -> int:
        """Stages that were entered and left again."""
        begun = sum(event.name == "stage" for event in self.run.events)
        return begun if self.ended == "done" else max(0, begun - 1)

    @property
    def simulated_s(self) -> float:
        """From the run's first row to its last, simulated s."""
        return self.run.rows[-1].at_ms / 1000 if self.run.rows else 0.0

    @property
    def on_form_h(self) -> float:
        """Simulated hours from the first cue that was acknowledged until the side came off the form."""
        met_s = [event.at_ms / 1000 for event in self.run.events if event.name == "cue_done"]
        return (self.simulated_s - min(met_s) + OFF_AFTER_S) / 3600 if met_s else 0.0


def bend(rig: Rig, hand: str, profile: ProfileFile) -> Bent:
    """Bend one side on the rig as it is now.

    hand: bass or treble. profile: what to bend. Raises HostError.
    """
    shop, link, board = rig.shop, rig.link, rig.board
    folder = shop.out / hand
    folder.mkdir(parents=True, exist_ok=True)
    check_for_board(profile, board.zones)
    laying = _laying(shop, hand, profile, folder / "strip.svg")
    answer = put_profile(link, profile.data)
    shop.tell(f"upload   {answer['name']}, checked by the board, {answer['hash']}")
    begun = time.monotonic()
    number = link.ask("ready", {"profile": answer["hash"]})["run"]
    laying.keep(board, number, {"name": profile.name, "hash": profile.hash}, shop.sides)
    shop.tell(f"ready    run {number} waits for a press of start at the rig; no computer can press it")
    ended = _look_on(link, rig.heard, shop)
    wall_s = time.monotonic() - begun
    status, data = link.ask("status"), get_run(link, number)
    run = read_log(data, {zone.name: zone.power_w for zone in shop.rig.rig.zones}, int(time.time()))
    run.laid = of_run(run, shop.sides)
    csv = folder / "run.csv"
    write_csv(run, csv)
    drawn = shop.helper.submit(build, csv, folder, shop.rig.mapping["unit"])
    page = folder / PAGE
    shop.tell(f"fetch    {len(data)} bytes of log, read back into {csv}; its report is {page}")
    return Bent(hand, rig.interpreter, board, ended, wall_s, status, run, csv, shop.truth, page, drawn)


def _laying(shop: Shop, hand: str, profile: ProfileFile, drawing: Path) -> Laying:
    """How the strip must lie, drawn; nobody is asked, since nobody is there."""
    stated = dict(profile.side or {})
    lay = lay_of(side_of(stated, hand), profile.mapping["piece"], list(shop.rig.mapping["zones"]))
    save(lay, drawing, simulated=True)
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
    raise HostError(f"the virtual rig said nothing for {SILENCE_S:.0f} s in mid-run", AGAIN)
