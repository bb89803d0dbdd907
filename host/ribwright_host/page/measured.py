"""How quick the page is, beside a virtual rig: `python -m ribwright_host.page.measured`, figures as JSON.

One real browser and as many plain readers as make up the viewers; some more never read what comes, and are
let go after ten seconds.
Message to pixels: from the moment a row leaves the rig to the frame after the one that shows it.
"""

import contextlib
import json
import re
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from ribwright_board.core.errors import WireError
from ribwright_board.core.wire import LineReader, decode
from ribwright_host.link import Link, hello, put_profile
from ribwright_host.profiles import load_profile
from ribwright_host.transport import open_port
from ribwright_host.virtual import EXAMPLE_PROFILE, example_piece, example_rig, running

from .relay import Relay

VIEWERS, DEAF = 20, 3
VIRTUAL_S = 600.0
# Virtual seconds in a real one: eight rows a second, so eight times what a real board tells.
SPEED = 8.0
PAINTS = 5
MAKER = {"start_after_s": 3, "next_after_s": 10}
BROWSERS = ("chromium", "chromium-browser", "google-chrome")
WATCH = """() => {
  window.seenRows = [];
  let last = 0;
  new MutationObserver(() => {
    const row = Number(document.body.dataset.row);
    if (row === last) return;
    last = row;
    const note = () => window.seenRows.push([row, performance.timeOrigin + performance.now()]);
    if (row) requestAnimationFrame(note);
  }).observe(document.body, { attributes: true, attributeFilter: ["data-row"] });
}"""


class _Rows:
    """When each row left the rig, and what it said. left_ms: wall time by board time, both ms."""

    def __init__(self) -> None:
        self.left_ms: dict[int, float] = {}
        self.late_ms: list[int] = []
        self.run_ms: list[int] = []
        self._reader = LineReader()

    def passed(self, data: bytes) -> None:
        """Bytes on their way to the computer."""
        now_ms = time.time() * 1000.0
        for line in self._reader.feed(data):
            with contextlib.suppress(WireError):
                message = decode(line)
                if message.kind == "tell" and message.verb == "row":
                    self.left_ms[int(message.data["ms"])] = now_ms
                    self.late_ms.append(int(message.data["late_ms"]))
                    if message.data["mode"] == "running":
                        self.run_ms.append(int(message.data["ms"]))


class _Reader(threading.Thread):
    """A viewer without a screen; one that is deaf opens its stream and never reads."""

    def __init__(self, url: str, *, deaf: bool) -> None:
        super().__init__(daemon=True)
        self._where = (str(urlsplit(url).hostname), urlsplit(url).port or 80)
        self._deaf = deaf
        self._sock = socket.create_connection(self._where, 20)
        self.bytes = 0

    def run(self) -> None:
        """Get a seat, then read until it is closed."""
        host = f"{self._where[0]}:{self._where[1]}"
        with socket.create_connection(self._where, 20) as sock:
            sock.sendall(f"GET / HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n".encode())
            head = b""
            while data := sock.recv(65536):
                head += data
        found = re.search(rb"set-cookie: ([^;]+);", head)
        cookie = found[1].decode() if found else ""
        self._sock.sendall(f"GET /stream HTTP/1.1\r\nHost: {host}\r\nCookie: {cookie}\r\n\r\n".encode())
        self._sock.settimeout(None)
        with contextlib.suppress(OSError):
            while not self._deaf and (data := self._sock.recv(65536)):
                self.bytes += len(data)

    def close(self) -> None:
        """Go away."""
        with contextlib.suppress(OSError):
            self._sock.shutdown(socket.SHUT_RDWR)
        self._sock.close()


@contextlib.contextmanager
def _page(url: str, profile: Path) -> Iterator[str]:
    """`ribwright page` in a process of its own; its address."""
    command = [sys.executable, "-u", "-m", "ribwright_host", "page", str(profile)]
    command += ["--port", url, "--listen", "127.0.0.1:0"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stdin=subprocess.DEVNULL, text=True) as process:
        try:
            for line in process.stdout or ():
                if found := re.search(r"http://\S+/", line):
                    yield found[0]
                    break
        finally:
            process.terminate()


def measured() -> dict[str, Any]:
    """The figures; raises RuntimeError where there is no browser to measure with."""
    browser_path = next((found for name in BROWSERS if (found := shutil.which(name))), None)
    if browser_path is None:
        raise RuntimeError("no Chromium is installed; on Debian and Ubuntu: sudo apt install chromium")
    from playwright.sync_api import sync_playwright

    rows = _Rows()
    with contextlib.ExitStack() as stack:
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory()))
        rig = stack.enter_context(
            running(
                example_rig().mapping,
                example_piece(),
                folder,
                seed=3,
                maker=MAKER,
                speed=SPEED,
                idle_speed=SPEED,
            )
        )
        profile = Path(__file__).parents[1] / "library" / EXAMPLE_PROFILE
        _lay_out(rig.port, profile)
        relay = Relay(rig.port, rows.passed)
        stack.callback(relay.close)
        url = stack.enter_context(_page(relay.url, profile))
        readers = [_Reader(url, deaf=n < DEAF) for n in range(DEAF + VIEWERS - 1)]
        for reader in readers:
            stack.callback(reader.close)
            reader.start()
        play = stack.enter_context(sync_playwright())
        browser = play.chromium.launch(executable_path=browser_path, args=["--no-sandbox", "--disable-gpu"])
        stack.callback(browser.close)
        page = browser.new_page(viewport={"width": 1280, "height": 800})
        page.goto(url)
        page.evaluate(WATCH)
        begun = time.monotonic()
        while not rows.run_ms or rows.run_ms[-1] - rows.run_ms[0] < VIRTUAL_S * 1000:
            if time.monotonic() - begun > 3 * VIRTUAL_S / SPEED:
                raise RuntimeError(f"the run took too long; it told {len(rows.run_ms)} rows")
            page.wait_for_timeout(500)
        seen = page.evaluate("() => window.seenRows")
        looking = int(re.search(r"(\d+) pages? look", page.inner_text("#helm-words"))[1])  # type: ignore[index]
        seconds = time.monotonic() - begun
        paints, sizes = zip(*(_fresh(browser, url) for _ in range(PAINTS)), strict=True)
        read = [reader.bytes / seconds for reader in readers if reader.bytes]
    latency = sorted(at - rows.left_ms[row] for row, at in seen if row in rows.left_ms)
    return {
        "page_latency_ms_p50": round(statistics.median(latency), 1),
        "page_latency_ms_p95": round(latency[int(0.95 * (len(latency) - 1))], 1),
        "page_latency_ms_max": round(latency[-1], 1),
        "page_rows_seen": len(latency),
        "page_first_paint_ms": round(statistics.median(paints), 1),
        "page_bytes": round(statistics.median(sizes)),
        "page_viewers": looking,
        "page_viewers_deaf": DEAF,
        "page_virtual_s": round((rows.run_ms[-1] - rows.run_ms[0]) / 1000),
        "page_worst_tick_late_ms": max(rows.late_ms),
        "page_stream_bytes_a_second": round(statistics.median(read)),
    }


def _lay_out(port: int, profile: Path) -> None:
    link = Link(open_port(f"socket://127.0.0.1:{port}"))
    try:
        hello(link)
        link.ask("ready", {"profile": put_profile(link, load_profile(profile).data)["hash"]})
    finally:
        link.close()


def _fresh(browser: Any, url: str) -> tuple[float, int]:  # noqa: ANN401 - of a library that loads late
    """First contentful paint, ms, and bytes over the wire, of a browser that has nothing kept."""
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    page = context.new_page()
    page.goto(url)
    page.wait_for_selector("#plot canvas")
    first, size = page.evaluate(
        """() => [performance.getEntriesByName("first-contentful-paint")[0].startTime,
        [...performance.getEntriesByType("navigation"), ...performance.getEntriesByType("resource")]
            .reduce((sum, one) => sum + one.transferSize, 0)]"""
    )
    context.close()
    return float(first), int(size)


if __name__ == "__main__":
    try:
        print(json.dumps(measured()))  # noqa: T201 - what it is run for
    except (RuntimeError, ImportError) as why:
        sys.exit(f"the page was not measured: {why}")
