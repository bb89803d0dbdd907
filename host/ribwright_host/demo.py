"""The story of a matched pair on the virtual rig, plan to report, for a machine with no hardware at all."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from multiprocessing import get_context
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ribwright_board import __version__
from ribwright_board.core.errors import fault_name

from . import tune as tuner
from .again import command as again
from .demo_bend import Bent, Rig, Shop, bench, bend
from .demo_figures import bends, control_figures
from .demo_folder import AGAIN, BOOK, FIGURES, PROFILE, SUMMARY, fresh_rig
from .demo_pair import INVENTED, paired
from .demo_words import agreement_lines, closing_lines, plan_lines, shutdowns
from .errors import HostError
from .plan.command import write as write_plan
from .plan.jobs import JOBS
from .plan.piece import asked_for
from .plan.plan import above_softening_k, planned
from .plan.spring import NO_BOOK, over_bend
from .profiles import ProfileFile, load_profile
from .rigs import load_rig
from .side.facts import BASS, TREBLE
from .virtual import OFF_AFTER_S

if TYPE_CHECKING:
    from .demo_pair import Pair
    from .link import Link
    from .rigs import RigFile

SEED = 7
PIECE = "baritone 1"
# The person beside the virtual rig works side one down slowly and is quicker with side two, when the mains is
# lower: a pair is matched by what side one got, not by the same hands and day.
CUE_S = {BASS: 40, TREBLE: 25}
MAINS_PERCENT = {BASS: 100, TREBLE: 97}
# How long form, slats and blankets lie open between the sides. Four minutes left the form at 60 C, and the
# unheated waist peaked 5.5 K hotter than on side one; a quarter of an hour is what makes a pair alike here.
OPEN_S = 900
# How the strips of the pair lie: marks, places and widths of our own.
LIES = {
    "hand": BASS,
    "show_face": "cross",
    "top_edge": "line",
    "neck_end": "left",
    "waist_mark_mm": 245,
    "neck_width_mm": 62,
    "tail_width_mm": 78,
}
SECOND = (
    f"the bass side comes off the form {OFF_AFTER_S} s after its run; the treble strip, wetted, lies in the",
    f"stack {OPEN_S // 60} minutes later. Form, slats and blankets have what heat the room has left them.",
    f"A cue takes {CUE_S[TREBLE]} s now, not {CUE_S[BASS]} s, on {MAINS_PERCENT[TREBLE]} % of the voltage.",
)


@dataclass
class Parts:
    """How long each part of the story took, s by its name."""

    took_s: dict[str, float] = field(default_factory=dict)

    @contextmanager
    def part(self, name: str) -> Iterator[None]:
        """Time one part; a part done twice is summed."""
        begun = time.monotonic()
        yield
        self.took_s[name] = round(self.took_s.get(name, 0.0) + time.monotonic() - begun, 2)

    def words(self, name: str) -> str:
        """How long a part took, for people."""
        return f"{self.took_s[name]:.1f} s"


def run(out: Path, *, as_json: bool = False, interpreter: str = "auto") -> dict[str, Any]:
    """Run the demo and return its figures.

    out: folder for everything it makes; what the last demo left there is replaced. as_json: figures for
    programs instead of words. interpreter: of the firmware, as interpreter.choose(). Raises HostError when
    any step does not end as it should.
    """

    def tell(text: str) -> None:
        if not as_json:
            click.echo(text)

    begun, parts = time.monotonic(), Parts()
    rig_path = fresh_rig(out)
    tell("SIMULATED, all of it: the two sides of a sapele baritone ukulele, 1.7 mm. No wood is bent.")
    # What does not wait for each other goes side by side: the tuning beside the plan, pictures and side one's
    # report beside the bending.
    with beside() as helper:
        tuning = helper.submit(_tuned, rig_path)
        with parts.part("plan"):
            plan = _plan(out / PROFILE, load_rig(rig_path))
        for line in plan_lines(plan, out, parts.words("plan")):
            tell(line)
        tuned, parts.took_s["tune"] = tuning.result()
        tell(f"tune     {tuner.words(rig_path, tuned)}; {parts.words('tune')}, beside the plan")
        drawn = helper.submit(tuner.draw, tuned)
        shop = Shop(load_rig(rig_path), out, PIECE, interpreter, SEED, tell, helper)
        sides, pair = bend_pair(shop, out / PROFILE, parts)
        drawn.result()
    summary = json.loads((out / SUMMARY).read_text(encoding="utf-8"))
    softness = {one.hand: bends(one.truth, one.run, above_softening_k) for one in sides}
    figures = _side_figures(sides[0]) | {
        "tune_overshoot_k": round(
            max(zone["firmware"]["controller"]["overshoot_k"] for zone in tuned["zones"]), 3
        ),
        "seed": SEED,
        "whole_simulated_s": summary["simulated_s"],
        "tick_board_ms": summary["tick_board_ms"],
        "energy_residual_fraction": summary["energy_residual"],
        "treble": _side_figures(sides[1]),
        "plan": {"grade": plan["grade"], "least_k": [one["least_k"] for one in plan["bends"]]},
        "least_above_softening_k": softness,
        "pair": {
            "verdict": pair.verdict,
            "alike": pair.alike,
            "figures": [one.as_json() for one in pair.figures],
            "gaps": INVENTED,
            "page": str(pair.page),
        },
        "parts_s": parts.took_s,
        "demo_wall_s": round(time.monotonic() - begun, 2),
    }
    (out / FIGURES).write_text(json.dumps(figures, indent=1) + "\n", encoding="utf-8")
    for line in agreement_lines(plan, softness):
        tell(line)
    if as_json:
        click.echo(json.dumps(figures, sort_keys=True))
    for line in closing_lines(figures, pair):
        tell(line)
    return figures


@contextmanager
def beside() -> Iterator[Executor]:
    """One more process for what can be done meanwhile; what it has not begun at an error is left out."""
    # Started afresh: a fork would copy whatever threads the caller has, and not every system has one.
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as helper:
        try:
            yield helper
        finally:
            helper.shutdown(cancel_futures=True)


def _tuned(rig_path: Path) -> tuple[dict[str, Any], float]:
    """The tuning of a rig file, its picture yet to be drawn, and its seconds."""
    begun = time.monotonic()
    return tuner.gains_file(rig_path), round(time.monotonic() - begun, 2)


def bend_pair(shop: Shop, profile: Path, parts: Parts) -> tuple[tuple[Bent, Bent], Pair]:
    """Bend side one, side two as side one was bent, and hold them against each other.

    shop: what both have in common. profile: of side one, with its [side]. parts: takes the times. Raises
    HostError when a run does not end as its profile says.
    """
    checked = load_profile(profile, shop.rig.rig)
    hands = {"start_after_s": 4, "form_after_s": 2, "next_after_s": CUE_S[BASS]}
    day = {
        "maker": hands | {"off_after_s": OFF_AFTER_S, "open_s": OPEN_S},
        "mains": MAINS_PERCENT[BASS] / 100,
    }
    with bench(shop, checked.mapping["piece"], day) as rig:
        with parts.part(BASS):
            one = _ended(bend(rig, BASS, checked))
        shop.tell(f"bass     {_run_words(one)}; {parts.words(BASS)}")
        with parts.part(TREBLE):
            rig.until_strip("in")
            for number, line in enumerate(SECOND):
                shop.tell(f"{'again   ' if number == 0 else '        '} {line}")
            rig.command({"hands": {"next_after_s": CUE_S[TREBLE]}})
            rig.command({"mains": MAINS_PERCENT[TREBLE] / 100})
            two = _ended(bend(rig, TREBLE, _repeated(one, rig)))
        shop.tell(f"treble   {_run_words(two)}; {parts.words(TREBLE)}")
    with parts.part("pair"):
        pair = paired(shop.out / BOOK, shop.piece, (one, two), shop.out, shop.rig.mapping["unit"])
        # A page that could not be written is an error here, not silence.
        for side in (one, two):
            side.drawn.result()
    shop.tell(f"book     both runs are in {shop.out / BOOK}, a notebook of the demo's own; {INVENTED}")
    shop.tell(f"pair     {pair.verdict}")
    shop.tell(f"         {pair.sprung} (invented); {parts.words('pair')}")
    return (one, two), pair


def _plan(path: Path, rig: RigFile) -> dict[str, Any]:
    """Plan the side, write the profile with how its strips lie; figures of the plan."""
    asked = asked_for(JOBS["waist"].piece, None, "planned baritone side")
    found = planned(rig, asked, rig.rig.unit)
    found.figures["over_bend"] = over_bend(NO_BOOK, found.figures)
    write_plan(found, path, side=LIES)
    return found.figures


def _repeated(one: Bent, rig: Rig) -> ProfileFile:
    """Side one as it was bent, as the profile of side two."""
    shop = rig.shop
    written = again.run(
        one.csv,
        shop.rig,
        out=shop.out / AGAIN,
        thickness=None,
        up_to=None,
        same_rig=False,
        replace=True,
        now_c=_readings_c(rig.link),
    )
    shop.tell(f"again    side one as it was bent, in {written.out}: {written.warm}")
    for took in written.found.took:
        shop.tell(f"         {took.line()}")
    return load_profile(written.out, shop.rig.rig)


def _readings_c(link: Link) -> list[float]:
    """What the thermocouples read, C; none if the board, just up, has none within a few seconds."""
    for _ in range(20):
        if found := again.readings_c(link.ask("status")):
            return found
        link.listen(0.1)
    return []


def _ended(bent: Bent) -> Bent:
    """The side, if it ended as its profile says."""
    if bent.ended != "done":
        bent.drawn.result()
        raise HostError(
            f"the demo's {bent.hand} side ended with {bent.ended}, not as its profile says",
            f"look at {bent.page}",
        )
    return bent


def _run_words(bent: Bent) -> str:
    minutes, wall_s = bent.simulated_s / 60, bent.wall_s
    stopped = shutdowns(bent.trips)
    return f"{minutes:.0f} simulated minutes in {wall_s:.1f} s, {bent.stages_done} stages, {stopped}"


def _side_figures(bent: Bent) -> dict[str, Any]:
    """What is counted of one side."""
    return {
        "interpreter": bent.interpreter,
        "simulated": bent.board.simulated,
        "firmware": __version__,
        "rig": bent.board.rig,
        "simulated_s": round(bent.simulated_s, 3),
        "run_wall_s": round(bent.wall_s, 2),
        "ended": bent.ended,
        "trips": bent.trips,
        "stages_done": bent.stages_done,
        "crc_errors": bent.status["crc_errors"],
        "doubts": [
            [bent.run.zones[event.zone], fault_name(event.a)]
            for event in bent.run.events
            if event.name == "suspect"
        ],
        "log_rows": len(bent.run.rows),
        "log_problems": len(bent.run.problems),
        "heap_low_bytes": bent.status["heap"],
        **control_figures(bent.truth, bent.run),
    }
