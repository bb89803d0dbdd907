"""A page says which port it owns, so that a command that finds the port taken can say by whom."""

import contextlib
import http.client
import ipaddress
import json
import os
from collections.abc import Iterator
from pathlib import Path

from platformdirs import user_state_path

from ribwright_host.errors import PortBusyError

PATTERN = "page-*.json"
ASK_S = 1.0


def _folder() -> Path:
    return user_state_path("ribwright", appauthor=False)


@contextlib.contextmanager
def noted(port: str, host: str, at: int) -> Iterator[None]:
    """Keep a note of a page while it runs. A note that cannot be written is none, and costs only good words.

    port: of the board, by its name. host, at: where the page listens.
    """
    address = ipaddress.ip_address(host)
    if address.is_unspecified:
        host = "127.0.0.1" if address.version == 4 else "::1"
    path = _folder() / f"page-{os.getpid()}.json"
    with contextlib.suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(json.dumps({"port": port, "host": host, "at": at}), encoding="utf-8")
    try:
        yield
    finally:
        with contextlib.suppress(OSError):
            path.unlink()


def page_with(port: str) -> str:
    """Address of the page of this user that owns a port and answers; "" for none.

    port: by its name, as an error tells it.
    """
    for path in _folder().glob(PATTERN):
        try:
            told = json.loads(path.read_text(encoding="utf-8"))
            host, at = str(told["host"]), int(told["at"])
            if told["port"] == port and _answers(host, at):
                return f"http://{f'[{host}]' if ':' in host else host}:{at}/"
        except ConnectionRefusedError:
            # Of a page that was killed.
            with contextlib.suppress(OSError):
                path.unlink()
        except (OSError, ValueError, KeyError, TypeError):
            continue
    return ""


def _answers(host: str, at: int) -> bool:
    """Whether a page of ours is there. Raises OSError, ConnectionRefusedError where nothing listens."""
    connection = http.client.HTTPConnection(host, at, timeout=ASK_S)
    try:
        connection.request("HEAD", "/static/page.js")
        return connection.getresponse().status == 200
    except http.client.HTTPException:
        return False
    finally:
        connection.close()


def named(error: PortBusyError) -> PortBusyError:
    """The same error, with the page that owns the port where it is one.

    error: of a port that is taken.
    """
    port = str(error.where.get("port", ""))
    url = page_with(port) if port else ""
    if not url:
        return error
    return PortBusyError(
        f"the bench page at {url} owns the board's port {port}",
        "do it on that page, or stop AT THE RIG; for anything else end the page with Ctrl-C in its "
        "terminal, give the command again, then start the page anew; the rig goes on by itself",
        where={**error.where, "page": url},
    )
