"""One virtual board that is asked, laid out, pressed and read back, run after run, with nobody there."""

from __future__ import annotations

import base64
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from ribwright_board.core.wire import Message
from ribwright_sim.campaign.board_cable import PIECE_BYTES, ShortCable, Talk, upload
from ribwright_sim.campaign.board_runs import board_payload
from ribwright_sim.interpreter import RigError, choose, install_files
from ribwright_sim.rig_loop import RigLoop
from ribwright_sim.rig_physics import SECOND_US, PlantLike
from ribwright_sim.rig_scenario import TICK_PERIOD_MS, from_mapping

from .lumped import Lumped
from .setting import PIECE, rig_mapping

PATIENCE_US = 20 * SECOND_US
# The tick counter comes to its end in the middle of the first run.
WRAP_AFTER_MS = 400_000
ASKED_AT_ONCE = 2
# Nobody is kept waiting in real time.
UNPACED = 1e12

Hear = Callable[[Message, float], None]


def _story(event: Mapping[str, object]) -> str:
    """Why the board came down, or the last of what its program said then."""
    text = str(event.get("why") or event.get("traceback") or "").strip().splitlines()
    return " ".join(line.strip() for line in text[-3:])


class LongBoard:
    """The shipped firmware on a lumped stack, its maker, and the cable a computer would use.

    folder: room for the flash. seed: of noise and of the maker's pace. hear: gets every row and event with
    the virtual second. heap: of the board. plant: in place of the lumped stack. collect_every: of the
    firmware's collections of memory, really made. awake: as of a Scenario. Raises RigError when the
    board does not come up or resets.
    """

    def __init__(
        self,
        folder: Path,
        seed: int,
        hear: Hear,
        heap: str = "190wk",
        plant: PlantLike | None = None,
        collect_every: int = 1,
        *,
        awake: bool = False,
    ) -> None:
        rig = rig_mapping()
        image = folder / "image"
        kind = choose()
        install_files(image, board_payload(rig, kind), kind)
        self._talk = Talk(ShortCable())
        scenario: dict[str, Any] = {"image": image, "rig": rig, "piece": PIECE, "maker": {}, "reach": True}
        scenario |= {
            "heap": heap,
            "seed": seed,
            "collect_every": collect_every,
            "awake": awake,
            "idle_speed": UNPACED,
            "start_ticks_ms": TICK_PERIOD_MS - WRAP_AFTER_MS,
        }
        self.stack = Lumped.from_rig(rig, PIECE)
        self.fell: list[str] = []
        self.loop = RigLoop(
            from_mapping(scenario), self._event, plant=plant or self.stack, cable=self._talk.cable
        )
        makers = self.loop.hear

        def heard(message: Message, second: float) -> None:
            if makers is not None:
                makers(message, second)
            hear(message, second)

        self.loop.hear = heard

    def _event(self, event: Mapping[str, object]) -> None:
        if event.get("event") in ("reset", "crash", "hang"):
            self.fell.append(f"{event.get('event')} at {event.get('at_s')} s: {_story(event)}")

    @property
    def now_s(self) -> float:
        """Seconds of the simulation."""
        return self.loop.physics.now_us / SECOND_US

    @property
    def wraps(self) -> int:
        """How often the board's tick counter has begun anew."""
        board_us = self.loop.physics.now_us - self.loop.ahead_us
        return board_us // 1000 // TICK_PERIOD_MS

    def step(self) -> None:
        """Live through one frame; what the board answered is taken. Raises RigError when the board ends."""
        self.loop.step()
        if self.loop.quit is not None:
            raise RigError(f"board: {self.loop.quit}; {' '.join(self.fell[-1:])}")
        if self._talk.cable.said:
            self._talk.read()

    def order(self, code: str) -> None:
        """Have a statement executed in the board's interpreter at its next waking.

        code: the statement, which knows the firmware's `loop` and `controller`.
        """
        self.loop.order_board(code)

    # The link -------------------------------------------------------------------------------

    def ask(self, verb: str, data: Mapping[str, Any]) -> dict[str, Any]:
        """Ask and wait for the answer; raises RigError when the board refuses or stays silent.

        verb, data: of the ask, as the link has them.
        """
        return self._ask_all([(verb, data)])[0]

    def _ask_all(self, asks: Sequence[tuple[str, Mapping[str, Any]]]) -> list[dict[str, Any]]:
        numbers = [self._talk.ask(verb, data) for verb, data in asks]
        answers: dict[int, dict[str, Any]] = {}
        end_us = self.loop.physics.now_us + PATIENCE_US
        while len(answers) < len(numbers):
            if self.loop.physics.now_us > end_us:
                raise RigError(f"board: no answer to {asks[0][0]} within {PATIENCE_US // SECOND_US} s")
            self.step()
            for seq, (verb, _) in zip(numbers, asks, strict=True):
                answer = self._talk.answer(seq)
                if answer is not None and answer.verb != "ok":
                    raise RigError(f"board: refused {verb}: {answer.data}")
                if answer is not None:
                    answers[seq] = dict(answer.data)
        return [answers[seq] for seq in numbers]

    def upload(self, profile: Mapping[str, Any]) -> str:
        """Put a profile on the board; return the name it is kept under. Raises as ask().

        profile: its mapping.
        """
        return upload(self.ask, profile)

    def lay_out(self, key: str) -> int:
        """Make a profile ready; return the run's number. The maker presses start. Raises as ask().

        key: the name upload() gave.
        """
        return int(self.ask("ready", {"profile": key})["run"])

    def read_log(self, run: int) -> bytes:
        """The whole log of a run, piece by piece over the link; raises RigError when there is none.

        run: its number.
        """
        first = self.ask("get", {"run": run, "at": 0})
        size, body = int(first["size"]), bytearray(base64.b64decode(first["data"]))
        places = range(PIECE_BYTES, size, PIECE_BYTES)
        for at in range(0, len(places), ASKED_AT_ONCE):
            asks = [("get", {"run": run, "at": place}) for place in places[at : at + ASKED_AT_ONCE]]
            for answer in self._ask_all(asks):
                body += base64.b64decode(answer["data"])
        return bytes(body)

    def close(self) -> None:
        """End the board."""
        self.loop.close()
