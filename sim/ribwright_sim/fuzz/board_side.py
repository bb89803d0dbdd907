"""Frames into a real service on a real controller, and what must hold after every one of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ribwright_board.core.modes import HEAT_MODES
from ribwright_sim.modes_check.world import World

from .board_state import deep, fingerprint, forbidden, held, take_up, unsound
from .board_talk import BoardTalk
from .frames import Frame, Frames
from .oracle import LINE_BYTES, PROFILE_BYTES, Ear, Heard, heard
from .tally import Tally

# A board serves so many frames; a stop among them ends what it was at.
BLOCK = 60
TICK_EVERY = 20
HELD_EVERY = 30
# One block in so many holds nothing but frames that may change nothing, and is compared byte for byte.
QUIET_EVERY = 7
EVENTS_MOST = 40
# A refused ask changes nothing, except that a transfer which arrived changed is dropped.
DROPS = "put_close"
# A profile on its way, the one laid out; lines that wait or are read, the last ask, its answer, names.
HELD_MOST = 2 * PROFILE_BYTES + 24 * LINE_BYTES


class Desk:
    """One board under frames.

    world: the board. tally: where it is counted.
    """

    def __init__(self, world: World, tally: Tally) -> None:
        self.world = world
        self.tally = tally
        self.ear = Ear()
        self._seen = fingerprint(world)

    def feed(self, frame: Frame) -> None:
        """One frame, piece by piece, and every check that belongs to it.

        frame: its pieces as they arrive.
        """
        world, tally = self.world, self.tally
        mode = world.controller.mode
        tally.modes[mode] += 1
        asks, answers = [], []
        for piece in frame:
            lines = [heard(line) for line in self.ear.take(piece)]
            asks += [line for line in lines if line is not None and line.kind == "ask"]
            try:
                answers += world.service.feed(piece)
                # Lines that wait for a later call are served before anything is compared.
                for _ in range(piece.count(b"\n") - 1):
                    answers += world.service.feed(b"")
            except Exception as error:  # noqa: BLE001 - any at all is a finding
                tally.escape(error, mode, frame)
        after = fingerprint(world)
        verbs = tuple([ask.verb for ask in asks])
        if len(answers) == 1 == len(asks) and b" no " in answers[0][:12] and verbs[0] != DROPS:
            verbs = ()
        wrong = forbidden(self._seen, after, verbs)
        if wrong:
            tally.change(wrong, mode, frame)
        if asks or answers:
            self._judge(asks, answers, frame)
        self._seen = after

    def _judge(self, asks: Sequence[Heard], answers: Sequence[bytes], frame: Frame) -> None:
        """Every answer is whole, short enough and belongs to an ask; no relay has come on."""
        world, tally, mode = self.world, self.tally, str(self._seen[2])
        wanted = [ask.seq for ask in asks]
        for answer in answers:
            said = heard(answer)
            if said is None or said.kind != "ans" or said.seq not in wanted or said.verb not in ("ok", "no"):
                tally.change(f"an answer that belongs to no ask: {answer[:80]!r}", mode, frame)
                continue
            tally.answers[said.verb] += 1
            tally.hold(len(answer), LINE_BYTES, mode, frame)
        if len(asks) == 1 and len(answers) != 1:
            tally.change(f"{len(answers)} answers to one ask", mode, frame)
        before = list(world.relays)
        now = world.controller.outputs(world.now_ms)
        if any(on and not was for on, was in zip(now, before, strict=True)):
            tally.change("a relay came on by a frame", mode, frame)
        world.relays = list(now)
        if any(ask.verb == "ready" for ask in asks) and (wrong := unsound(world)):
            tally.change(wrong, mode, frame)
        tally.hold(len(world.controller.events), EVENTS_MOST, mode, frame)

    def tick(self) -> None:
        """Time passes without a press: nothing that a frame has left may lead towards heat now."""
        world, tally = self.world, self.tally
        controller, service = world.controller, world.service
        before = controller.mode
        try:
            tells = [service.event_line(event) for event in controller.events] + [service.row_line()]
            for tell in tells:
                tally.hold(len(tell), LINE_BYTES, before, "a tell")
            world.tick()
        except Exception as error:  # noqa: BLE001 - any at all is a finding
            tally.escape(error, before, "a tick after frames")
        cold = before not in HEAT_MODES
        if cold and (controller.mode in HEAT_MODES or any(world.relays) or controller.alive_due()):
            tally.change(f"{before} -> {controller.mode} without a press", before, "a tick after frames")
        self._seen = fingerprint(world)

    def weigh(self) -> None:
        """How much the service holds."""
        size = held(self.world.service)
        self.tally.bytes_most = max(self.tally.bytes_most, size)
        self.tally.hold(size, HELD_MOST, self.world.controller.mode, "buffers of the service")


def _mixed(desk: Desk, frames: Frames, count: int) -> None:
    for place in range(count):
        kind, frame = frames.draw()
        desk.tally.frames[kind] += 1
        desk.feed(frame)
        if place % HELD_EVERY == 0:
            desk.weigh()
        if place % TICK_EVERY == TICK_EVERY - 1:
            desk.tick()


def _quiet(desk: Desk, frames: Frames, count: int) -> None:
    """Frames without one ask that could be answered; what they leave must be what they found."""
    before = deep(desk.world)
    sent: list[Frame] = []
    while len(sent) < count:
        kind, frame = frames.draw()
        # A frame that ends without a line feed could make an ask of the next.
        if not frame[-1].endswith(b"\n") or any(heard(line) for line in b"".join(frame).split(b"\n")):
            continue
        desk.tally.frames[kind] += 1
        desk.feed(frame)
        sent.append(frame)
    desk.tally.deep_checks += 1
    if deep(desk.world) != before:
        desk.tally.change(
            "a block of frames without an ask left its mark", desk.world.controller.mode, sent[-5:]
        )


def play(seed: str, count: int, boards: Mapping[str, bytes], only: tuple[str, ...] | None = None) -> Tally:
    """So many frames into boards of every mode in turn.

    seed: of the frames. count: how many. boards: as board_state.warm_all(). only: kinds of frames, None for
    the mix.
    """
    tally = Tally()
    frames = Frames(seed, BoardTalk(), only)
    modes = list(boards)
    for block in range(-(-count // BLOCK)):
        size = min(BLOCK, count - block * BLOCK)
        desk = Desk(take_up(boards[modes[block // 2 % len(modes)]]), tally)
        quiet = block % QUIET_EVERY == 0 and only is None
        (_quiet if quiet else _mixed)(desk, frames, size)
    return tally
