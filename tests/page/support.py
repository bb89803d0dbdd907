"""What the page's tests share: a cable that can be cut, a server in a process of its own, a browser."""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from loop.bending import short_profile
from ribwright_host.link import Link, hello, put_profile
from ribwright_host.page.relay import Relay
from ribwright_host.profiles import canonical_json
from ribwright_host.transport import open_port
from ribwright_host.virtual import example_piece, example_rig, running
from ribwright_sim.virtual_rig import VirtualRig

CHROMIUM = next(
    (found for name in ("chromium", "chromium-browser", "google-chrome") if (found := shutil.which(name))),
    None,
)
SIZES = {"phone": (360, 740), "tablet": (1280, 800), "wall": (1920, 1080)}
REQUIRED = os.environ.get("RIBWRIGHT_REQUIRE_BROWSER", "0") not in ("", "0")


@dataclass
class Served:
    """A page that is served. url: of it. lines: what the terminal says, as it grows."""

    url: str
    lines: list[str]
    process: subprocess.Popen[str]

    @property
    def code(self) -> str:
        """The newest pairing code."""
        return [line for line in self.lines if line.startswith("Pairing code")][-1].split(": ")[1]


# As `python -m ribwright_host`. What is started in the background ignores the keyboard, and hands that on.
HEARS_CTRL_C = (
    "import runpy, signal; signal.signal(signal.SIGINT, signal.default_int_handler);"
    " runpy.run_module('ribwright_host', run_name='__main__', alter_sys=True)"
)


@contextlib.contextmanager
def served(port_url: str, *options: str, listen: str = "127.0.0.1:0") -> Iterator[Served]:
    """`ribwright page` in a process of its own, until the with statement ends."""
    process = subprocess.Popen(
        [
            sys.executable,
            "-u",
            "-c",
            HEARS_CTRL_C,
            "page",
            "--port",
            port_url,
            "--listen",
            listen,
            *options,
        ],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        stdin=subprocess.DEVNULL,
        text=True,
    )
    lines: list[str] = []

    def read() -> None:
        lines.extend(line.rstrip() for line in process.stdout)

    reader = threading.Thread(target=read, daemon=True)
    reader.start()
    try:
        until(lambda: any("Ctrl-C" in line for line in lines) or process.poll() is not None, 60)
        found = [match[0] for line in lines if (match := re.search(r"http://127\.0\.0\.1:\d+/", line))]
        assert found, lines
        if not listen.startswith("127."):
            until(lambda: any(line.startswith("Pairing code") for line in lines))
        yield Served(found[0], lines, process)
    finally:
        process.terminate()
        process.wait(15)
        reader.join(5)
        process.stdout.close()


def until(true, seconds: float = 20.0) -> None:
    """Wait until something holds."""
    deadline = time.monotonic() + seconds
    while time.monotonic() < deadline:
        if true():
            return
        time.sleep(0.02)
    pytest.fail(f"not within {seconds} s")


@dataclass
class Rig:
    """A virtual rig with a run laid out, and the cable to it."""

    rig: VirtualRig
    cable: Relay


def lay_out(port: int, profile: dict) -> int:
    """Upload a profile and make it ready; the run's number."""
    link = Link(open_port(f"socket://127.0.0.1:{port}"))
    try:
        hello(link)
        found = put_profile(link, canonical_json(profile))
        return int(link.ask("ready", {"profile": found["hash"]})["run"])
    finally:
        link.close()


@contextlib.contextmanager
def laid_out(folder: Path, profile: dict | None = None, **settings) -> Iterator[Rig]:
    """A virtual rig whose run waits for the press of start."""
    with running(example_rig().mapping, example_piece(), folder, **{"seed": 3, **settings}) as rig:
        lay_out(rig.port, profile or short_profile())
        cable = Relay(rig.port)
        try:
            yield Rig(rig, cable)
        finally:
            cable.close()


@contextlib.contextmanager
def chromium() -> Iterator[object]:
    """A headless Chromium; the test is skipped with the reason where there is none."""
    reason = ""
    if CHROMIUM is None:
        reason = "no Chromium is installed; on Debian and Ubuntu: sudo apt install chromium"
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        reason = "playwright is not installed"
    if reason and REQUIRED:
        pytest.fail(reason + " (RIBWRIGHT_REQUIRE_BROWSER is set)")
    if reason:
        pytest.skip(reason)
    with sync_playwright() as play:
        # A container has no user namespaces for Chromium's own sandbox; it opens nothing but our page.
        browser = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        try:
            yield browser
        finally:
            browser.close()


def named_profile():
    """The short bend with names for its stages, and time to look at the one that waits."""
    profile = short_profile()
    # At forty times life two minutes and a half, which a busy machine may need for all the sizes.
    profile["stages"][1]["longest_min"] = 100
    names = ("warm the waist", "press the waist", "warm it all", "bring the bouts round", "set", "cool")
    return profile | {
        "stages": [stage | {"name": name} for stage, name in zip(profile["stages"], names, strict=True)]
    }


def text(page, name):
    """The text of an element, by its id."""
    return page.inner_text(f"#{name}")


def settled(page, name, pattern, seconds=20):
    """Wait until an element's text has a pattern in it."""
    until(lambda: re.search(pattern, text(page, name)), seconds)


def number(page):
    """The figure of the part in work; None for dashes."""
    found = text(page, "mid")
    return int(found) if found.lstrip("-").isdigit() else None
