"""The page's addresses: two pages, their files, one stream, and posts that are checked one by one."""

import asyncio
import gzip
import hashlib
import json
import time
from collections.abc import AsyncIterator, Awaitable, Callable, Mapping
from dataclasses import dataclass
from importlib.resources import files
from typing import Any

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, Response, StreamingResponse
from starlette.routing import Route
from starlette.types import ASGIApp

from ribwright_host.errors import HostError

from .acts import ActError, checked
from .guard import Guard, TooLargeError, body_of
from .hub import Hub
from .keepers import MOST_STREAMS, STREAMS_A_SEAT, NotNowError, Seat
from .notes import PHOTO_BYTES

COOKIE = "ribwright_seat"
JSON_BYTES = 4096
KINDS = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css",
    ".js": "text/javascript",
    ".txt": "text/plain",
}
PAGE, PAIRING = "page.html", "pair.html"
SERVED = (
    "page.css",
    "page.js",
    "chart.js",
    "stop.js",
    "strip.js",
    "pair.js",
    "vendor/uplot.js",
    "vendor/uplot.css",
    "vendor/uplot_LICENSE.txt",
)
Handler = Callable[[Request], Awaitable[Response]]


@dataclass(frozen=True)
class Static:
    """One file as it is served: its bytes, the same compressed, its kind and its mark."""

    data: bytes
    packed: bytes
    kind: str
    mark: str


def static(name: str) -> Static:
    """A file of the page. name: below the folder static, with one of the endings of KINDS."""
    data = (files("ribwright_host.page") / "static" / name).read_bytes()
    mark = f'"{hashlib.sha256(data).hexdigest()[:16]}"'
    return Static(data, gzip.compress(data, 9, mtime=0), KINDS[name[name.rindex(".") :]], mark)


def _yes(told: str) -> JSONResponse:
    return JSONResponse({"ok": True, "told": told})


def _cookie(request: Request) -> str:
    """Name of the seat's cookie: a browser has one jar for all ports of a computer, and may see two rigs."""
    return f"{COOKIE}_{request.url.port or 80}"


def _no(told: str, status: int) -> JSONResponse:
    return JSONResponse({"ok": False, "told": told}, status)


def _file(request: Request, one: Static) -> Response:
    headers = {"etag": one.mark, "cache-control": "no-cache", "vary": "accept-encoding"}
    if request.headers.get("if-none-match") == one.mark:
        return Response(status_code=304, headers=headers)
    if "gzip" in request.headers.get("accept-encoding", ""):
        return Response(one.packed, media_type=one.kind, headers=headers | {"content-encoding": "gzip"})
    return Response(one.data, media_type=one.kind, headers=headers)


async def _json(request: Request) -> Mapping[str, Any]:
    """The values of a post; empty for what are none. Raises TooLargeError."""
    try:
        found = json.loads(await body_of(request, JSON_BYTES))
    except (ValueError, RecursionError):
        return {}
    return found if isinstance(found, dict) else {}


class Pages:
    """The handlers.

    hub: the rig and its pages. request: of a browser; the values of a post are JSON, but for a photo. seat:
    of the browser that asked. What a handler with a seat raises is put into words by seated().
    """

    def __init__(self, hub: Hub) -> None:
        self._hub = hub
        self._pages = {name: static(name) for name in (PAGE, PAIRING)}
        self._static = {name: static(name) for name in SERVED}

    def _seat(self, request: Request) -> Seat | None:
        return self._hub.door.seat(request.cookies.get(_cookie(request)))

    def routes(self) -> list[Route]:
        """Every address."""
        return [
            Route("/", self.page, methods=["GET"]),
            Route("/static/{name:path}", self.file, methods=["GET"]),
            Route("/stream", self.seated(self.stream), methods=["GET"]),
            Route("/act", self.seated(self.act), methods=["POST"]),
            Route("/steer", self.seated(self.steer), methods=["POST"]),
            Route("/remark", self.seated(self.remark), methods=["POST"]),
            Route("/photo", self.seated(self.photo), methods=["POST"]),
            Route("/pair", self.pair, methods=["POST"]),
            Route("/favicon.ico", self.no_icon, methods=["GET"]),
        ]

    def seated(self, handler: Callable[[Request, Seat], Awaitable[Response]]) -> Handler:
        """A handler for those who were let in; its errors in words.

        handler: takes the request and the seat of the browser that asked.
        """

        async def handle(request: Request) -> Response:
            seat = self._seat(request)
            if seat is None:
                return _no("This screen is not paired. Load the page again.", 401)
            try:
                return await handler(request, seat)
            except TooLargeError:
                return _no(f"That is too large; a photo may have {PHOTO_BYTES // 2**20} MB.", 413)
            except ActError as error:
                return _no(f"{error}.", 400)
            except NotNowError as error:
                return _no(f"{error}.", 429)
            except HostError as error:
                return _no(f"{error.seen}; {error.hint}.", 409)

        return handle

    async def page(self, request: Request) -> Response:
        """The page, or the one that asks for the code."""
        door = self._hub.door
        if self._seat(request) is not None:
            return _file(request, self._pages[PAGE])
        if door.open_to_network:
            response = _file(request, self._pages[PAIRING])
            response.headers["ribwright-page"] = "pair"
            return response
        return self._with_seat(request, _file(request, self._pages[PAGE]), door.admit(time.monotonic())[0])

    def _with_seat(self, request: Request, response: Response, token: str) -> Response:
        response.set_cookie(_cookie(request), token, path="/", httponly=True, samesite="strict")
        return response

    async def no_icon(self, _request: Request) -> Response:
        """Browsers ask for one by themselves."""
        return Response(status_code=204)

    async def file(self, request: Request) -> Response:
        """One of the page's files."""
        one = self._static.get(request.path_params["name"])
        return Response(status_code=404) if one is None else _file(request, one)

    async def pair(self, request: Request) -> Response:
        """A code is tried; request: its `code`."""
        try:
            code = str((await _json(request)).get("code") or "")
            found = self._hub.door.pair(code, time.monotonic())
        except TooLargeError:
            return _no("That is no code.", 413)
        except NotNowError as error:
            return _no(f"{error}.", 429)
        if found is None:
            return _no("That is not the code. It stands in the terminal that shows this page's address.", 403)
        return self._with_seat(request, _yes("Paired."), found[0])

    async def stream(self, _request: Request, seat: Seat) -> Response:
        """Looking on."""
        if self._hub.door.streams >= MOST_STREAMS or seat.streams >= STREAMS_A_SEAT:
            return _no(f"{self._hub.door.streams} pages look on already; close one.", 503)

        async def lines() -> AsyncIterator[str]:
            # Closed here and now when the browser goes, so that the seat is known to be empty.
            source = self._hub.stream(seat)
            try:
                async for line in source:
                    yield line
            finally:
                await source.aclose()  # type: ignore[attr-defined] # an async generator has it

        return StreamingResponse(lines(), media_type="text/event-stream")

    async def act(self, request: Request, seat: Seat) -> Response:
        """Something is asked of the board; request: `verb`, `values`, and `seen`: stage and cue on its
        screen.
        """
        values = await _json(request)
        act, kept = checked(values.get("verb"), values.get("values"))
        # A browser that closes at once must not take its stop back.
        ok, told = await asyncio.shield(
            asyncio.ensure_future(self._hub.act(seat, act, kept, values.get("seen")))
        )
        return _yes(told) if ok else _no(told, 200)

    async def steer(self, request: Request, seat: Seat) -> Response:
        """The steering is asked for, given, kept; request: `do`, which is want, give or keep."""
        helm, now_s = self._hub.helm, time.monotonic()
        do = (await _json(request)).get("do")
        if do == "want":
            helm.want(seat, now_s)
        elif do == "give":
            helm.give(seat)
        elif do == "keep":
            helm.keep(seat)
        else:
            return _no("That is nothing the steering knows.", 400)
        self._hub.tell()
        return _yes("")

    async def remark(self, request: Request, _seat: Seat) -> Response:
        """A remark for the notebook; request: its `text`."""
        text = (await _json(request)).get("text")
        return _yes(await self._hub.remark(text if isinstance(text, str) else ""))

    async def photo(self, request: Request, _seat: Seat) -> Response:
        """A photo for the notebook; request: the JPEG or PNG file as its body."""
        return _yes(await self._hub.photo(await body_of(request, PHOTO_BYTES)))


def application(hub: Hub, *, loopback: bool) -> ASGIApp:
    """All of it, guarded.

    hub: the rig and its pages. loopback: only this very computer is served.
    """
    return Guard(Starlette(routes=Pages(hub).routes()), loopback=loopback)
