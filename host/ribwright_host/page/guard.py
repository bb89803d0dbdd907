"""What every request passes before anything else looks at it: host, origin, headers, size.

No page of another site may read, post, frame or be sent to; a name that is made to point here is refused.
"""

import ipaddress
import socket
from collections.abc import Iterable
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
    "form-action 'none'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "geolocation=(), microphone=()",
}


class TooLargeError(Exception):
    """A body beyond its limit."""


def own_names() -> frozenset[str]:
    """Names by which this computer may be called."""
    name = socket.gethostname().lower()
    return frozenset({"localhost", name, f"{name}.local"})


def host_is_ours(host: str, names: Iterable[str], *, loopback: bool) -> bool:
    """Whether a Host header can be meant for us: an address as such, or a name of this computer.

    host: the header. names: of this computer. loopback: only this very computer is served. Names are refused
    otherwise, since whoever owns a name can point it here and be one origin with us.

    >>> host_is_ours("127.0.0.1:8130", [], loopback=True), host_is_ours("a.example", ["a"], loopback=False)
    (True, False)
    """
    bare = urlsplit(f"//{host}").hostname if host else None
    if bare is None:
        return False
    try:
        address = ipaddress.ip_address(bare)
    except ValueError:
        return bare == "localhost" or (not loopback and bare in names)
    return address.is_loopback or not loopback


class Guard:
    """Wraps the application.

    app: what is guarded. loopback: only this very computer is served.
    """

    def __init__(self, app: ASGIApp, *, loopback: bool) -> None:
        self._app = app
        self._loopback = loopback
        self._names = own_names()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http":
            return
        refused = self._refused(scope["method"], Headers(scope=scope))

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers[name] = value
                if "cache-control" not in headers:
                    headers["cache-control"] = "no-store"
            await send(message)

        if refused:
            await PlainTextResponse(refused, 403)(scope, receive, send_with_headers)
        else:
            await self._app(scope, receive, send_with_headers)

    def _refused(self, method: str, headers: Headers) -> str:
        host = headers.get("host", "")
        if not host_is_ours(host, self._names, loopback=self._loopback):
            return "this page answers to its own address only"
        # Browsers of 2023 and later say where a request comes from (W3C Fetch Metadata).
        if headers.get("sec-fetch-site", "none") not in ("same-origin", "none") and not (
            method == "GET" and headers.get("sec-fetch-mode") == "navigate"
        ):
            return "this page answers to itself only"
        if method == "POST" and headers.get("origin") != f"http://{host}":
            return "posts are taken from this page only"
        return ""


async def body_of(request: Request, most: int) -> bytes:
    """The body of a request.

    request: read once. most: bytes. Raises TooLargeError as soon as it has more.
    """
    stated = request.headers.get("content-length", "")
    if stated.isdigit() and int(stated) > most:
        raise TooLargeError
    found = bytearray()
    async for piece in request.stream():
        found += piece
        if len(found) > most:
            raise TooLargeError
    return bytes(found)
