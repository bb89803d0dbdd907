"""Between the cable and the browsers: takes what was heard, keeps the scene, carries acts to the board.

Lives in one event loop. Every page is sent the moment as it is when its turn comes, never what it missed, so
a slow one holds nobody up and gets nothing old.
"""

import asyncio
import contextlib
import json
import time
from collections.abc import AsyncIterator
from typing import Any

from ribwright_host.errors import HostError, RefusedByBoardError
from ribwright_host.view import ON

from . import notes
from .acts import Act
from .behind import Behind
from .cable import Cable
from .course import course_of
from .keepers import Door, Helm, NotNowError, Seat
from .notes import Notebook
from .scene import Scene
from .show import changes, course_of_page, now_of, points_of

# Pages are told the time at least so often, so that they can tell silence from a lost link.
BEAT_S = 1.0
# And no more often than this, however quick a simulated board is.
GAP_S = 0.05
HEAD_AGAIN_S = 3.0
# The board commits its log every half minute: sooner it would tell no more.
LOG_AGAIN_S = 35.0
RETRY_MS = 1000
ACT_S = 15.0


class Hub:
    """One rig, many pages.

    cable: to the board. scene, behind: what is shown. door: who may what. notebook: where remarks and photos
    go, None for nowhere.
    """

    def __init__(
        self, cable: Cable, scene: Scene, behind: Behind, door: Door, notebook: Notebook | None
    ) -> None:
        self.cable = cable
        self.scene = scene
        self.behind = behind
        self.door = door
        self.helm = Helm()
        self.notebook = notebook
        self.ended = False
        self.said: dict[str, Any] = {"n": 0, "verb": "", "state": "", "told": "", "by": ""}
        self._loop: asyncio.AbstractEventLoop | None = None
        self._woken = asyncio.Event()
        self._pages: set[asyncio.Event] = set()
        self._version = 0
        self._moment: tuple[int, dict[str, Any]] = (-1, {})
        self._head_again_s = self._log_again_s = 0.0
        self._book_lock = asyncio.Lock()

    # From the cable ------------------------------------------------------------------------------

    async def run(self) -> None:
        """Take what the cable hears until end()."""
        self._loop = asyncio.get_running_loop()
        self.cable.wake = self._wake
        while not self.ended:
            self._take()
            try:
                await asyncio.wait_for(self._woken.wait(), BEAT_S)
            except TimeoutError:
                continue
            finally:
                self._woken.clear()

    def _wake(self) -> None:
        """Called from the cable's thread."""
        loop = self._loop
        if loop is not None and not loop.is_closed():
            loop.call_soon_threadsafe(self._woken.set)

    def end(self) -> None:
        """Let all pages go."""
        self.ended = True
        self._woken.set()
        self.tell()

    def _take(self) -> None:
        heard = self.cable.heard()
        for one in heard:
            if one.kind == "board":
                self.scene.greet(one.data)
            elif one.kind == "lost":
                self.scene.lose(one.data)
            elif one.kind == "head":
                course = course_of(one.data.get("profile"))
                if course is not None:
                    self.scene.offer(course)
            elif one.kind == "log":
                self._log_again_s = one.at_s + LOG_AGAIN_S
                self.scene.catch_up(one.data)
            else:
                # What makes no sense is passed over, as a damaged line is; the figures grow old then.
                with contextlib.suppress(TypeError, ValueError, KeyError, AttributeError, OverflowError):
                    self.scene.take(one.kind, one.data, one.at_s)
        now_s = time.monotonic()
        if (self.scene.lacks_course() and now_s >= self._head_again_s) or (
            self.scene.lacks_seconds() and now_s >= self._log_again_s
        ):
            self._head_again_s = now_s + HEAD_AGAIN_S
            self.cable.catch_up(self.scene.run)
        self.helm.tend(now_s)
        if heard:
            self.tell()

    def tell(self) -> None:
        """Something has changed: every page is due."""
        self._version += 1
        for page in self._pages:
            page.set()

    # To the pages --------------------------------------------------------------------------------

    def moment(self) -> dict[str, Any]:
        """What all pages are shown now; made once for all of them."""
        if self._moment[0] != self._version:
            self._moment = self._version, now_of(self.scene, self.behind)
        return self._moment[1]

    async def stream(self, seat: Seat) -> AsyncIterator[str]:
        """Server-sent events for one page: "course" when it changes, "now" every moment and once a second.

        seat: whose page it is.
        """
        changed = asyncio.Event()
        self._pages.add(changed)
        seat.streams += 1
        sent, edition, last = 0, -1, None
        try:
            # A page that lost its stream asks again so soon, ms.
            yield f"retry: {RETRY_MS}\n\n"
            while not self.ended:
                changed.clear()
                if (now := changes(self.scene)) != last:
                    last = now
                    piece = self.notebook.title if self.notebook else ""
                    yield event_text("course", course_of_page(self.scene, self.behind, piece))
                if edition != self.scene.curve.edition:
                    edition, sent = self.scene.curve.edition, 0
                points, upto = points_of(self.scene.curve, sent, self.scene.unit)
                told = {
                    "at": time.monotonic(),
                    "from": upto - len(points),
                    "points": points,
                    "helm": self.helm.told(seat),
                    "looking": self.door.streams,
                    "said": self.said,
                }
                sent = upto
                yield event_text("now", self.moment() | told)
                if upto == len(self.scene.curve.points):
                    try:
                        await asyncio.wait_for(changed.wait(), BEAT_S)
                    except TimeoutError:
                        continue
                await asyncio.sleep(GAP_S)
        finally:
            self._pages.discard(changed)
            seat.streams -= 1
            seat.gone_s = time.monotonic()
            self.tell()

    # From the pages ------------------------------------------------------------------------------

    async def act(self, seat: Seat, act: Act, values: dict[str, Any], seen: object) -> tuple[bool, str]:
        """Ask the board for something; whether it did it, and that in words.

        seat: whose hand it was. act, values: checked. seen: stage and cue that were on its screen.
        Raises NotNowError.
        """
        now_s = time.monotonic()
        refusal = self._refusal(seat, act, seen, now_s)
        if refusal:
            return False, refusal
        self._say(act, "asked", f"{act.words}: asked, not confirmed yet.", seat)
        try:
            future = asyncio.wrap_future(self.cable.ask(act.verb, values))
            answer = await asyncio.wait_for(future, ACT_S)
        except RefusedByBoardError as error:
            return self._end_act(act, seat, "refused", self.scene.known.heard(act.verb, error))
        except TimeoutError:
            return self._end_act(act, seat, "lost", f"NOT CONFIRMED in {ACT_S:.0f} s. Go to the rig.")
        except HostError as error:
            words = f"{error.seen[:1].upper()}{error.seen[1:]}. {error.hint[:1].upper()}{error.hint[1:]}."
            return self._end_act(act, seat, "lost", words)
        mode = str(answer.get("mode") or "")
        if act.verb == "stop" and mode in ON:
            words = f"THE BOARD STILL SAYS {mode}. Press stop AT THE RIG."
            return self._end_act(act, seat, "lost", words)
        if act.verb == "next":
            # A second touch of a gloved hand must not go past a cue that nobody has read.
            self.scene.waiting = self.scene.cue = ""
        return self._end_act(act, seat, "confirmed", f"{act.words}: confirmed by the board, {act.done}.")

    def _refusal(self, seat: Seat, act: Act, seen: object, now_s: float) -> str:
        """Why this act of this seat is not sent, "" when it is. Raises NotNowError."""
        if not act.steers:
            return ""
        if seat.acts.full(now_s):
            raise NotNowError("too many touches in ten seconds; wait a moment. STOP always works")
        seat.acts.add(now_s)
        if self.helm.holder is None:
            self.helm.want(seat, now_s)
        if self.helm.holder is not seat:
            holder = self.helm.holder.name if self.helm.holder else "another screen"
            return f"{holder} steers now. Ask for the steering first; STOP works from here."
        shown = seen if isinstance(seen, dict) else {}
        if act.verb == "next" and (shown.get("stage"), shown.get("cue")) != (
            self.scene.stage,
            self.scene.cue,
        ):
            return "The rig has gone on since that was touched. Read what it asks for now."
        closed = self.scene.known.closed(self.scene.mode, self.scene.waiting).get(act.verb)
        return f"{act.words}: {closed}." if closed else ""

    def _say(self, act: Act, state: str, told: str, seat: Seat) -> None:
        self.said = {
            "n": self.said["n"] + 1,
            "verb": act.verb,
            "state": state,
            "told": told,
            "by": seat.name,
        }
        self.tell()

    def _end_act(self, act: Act, seat: Seat, state: str, told: str) -> tuple[bool, str]:
        # What came of a touch before a stop is told to its own hand alone: everybody is to see the stop.
        if act.verb == "stop" or (self.said["verb"], self.said["state"]) != ("stop", "confirmed"):
            self._say(act, state, told, seat)
        return state == "confirmed", told

    async def remark(self, text: str) -> str:
        """Write a remark at the side of the notebook; in words. Raises HostError.

        text: as typed, 1 to notes.REMARK_LETTERS letters.
        """
        book = self._book()
        await self._in_book(
            lambda: notes.add_remark(book, text, simulated=self._simulated(), listed=self._listed())
        )
        return f"Noted at {book.title}."

    async def photo(self, data: bytes) -> str:
        """Keep a photo of the side; in words. Raises HostError.

        data: a JPEG or PNG file of at most notes.PHOTO_BYTES.
        """
        book = self._book()
        await self._in_book(
            lambda: notes.add_picture(book, data, simulated=self._simulated(), listed=self._listed())
        )
        return f"The photo is kept at {book.title}."

    async def _in_book(self, work: Any) -> None:  # noqa: ANN401 - a call without arguments
        # One at a time: the book's library keeps one connection.
        async with self._book_lock:
            await asyncio.to_thread(work)

    def _book(self) -> Notebook:
        if self.notebook is None:
            raise HostError(
                "the page does not know which side this is",
                "start it with --piece and --side, as the notebook calls them",
                code="no_side",
            )
        return self.notebook

    def _simulated(self) -> bool:
        if self.scene.board is None:
            raise HostError("no board has answered yet", "wait for the link", code="no_board")
        return self.scene.board.simulated

    def _listed(self) -> dict[str, Any]:
        return dict(self.scene.course.piece) if self.scene.course else {}


def event_text(name: str, values: dict[str, Any]) -> str:
    """One server-sent event (WHATWG HTML, section server-sent events).

    name: of the event. values: what JSON can hold.
    """
    return f"event: {name}\ndata: {json.dumps(values, separators=(',', ':'), allow_nan=False)}\n\n"
