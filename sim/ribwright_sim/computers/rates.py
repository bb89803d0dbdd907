"""How fast files go over the link: the computer's own code on a pty, the board at its own pace."""

from __future__ import annotations

import contextlib
import importlib
import json
import os
import select
import socket
import tempfile
import threading
import time
from collections.abc import Iterator
from pathlib import Path

from ribwright_board.core import record
from ribwright_sim.campaign.board_runs import fresh_flash
from ribwright_sim.campaign.rigs import Setting, piece_mapping, rig_mapping
from ribwright_sim.interpreter import choose, install_files
from ribwright_sim.virtual_rig import VirtualRig

from .trial import STAGES

# The computer's modules, named here so that this room need not know that one.
LINK, TRANSPORT = "ribwright_host.link", "ribwright_host.transport"
ROWS = 3600
RUN = 1
BUFFER = 4096


def an_hour_of_log(zones: list[str]) -> bytes:
    """A run log of an hour, as the board writes it; zones: their names, 1 to 4."""
    data = record.header_bytes({"run": RUN, "zones": zones, "profile": None})
    buffer = bytearray(record.record_size(len(zones)))
    for seq in range(ROWS):
        figures = [[1270, 1270 + seq % 7, 300 + seq % 50, 300, 1200] for _ in zones]
        record.pack_row(buffer, 0, seq, 1000 * (seq + 1), 3, 0, 0, figures)
        data += bytes(buffer)
    return data


@contextlib.contextmanager
def pty_to(port: int) -> Iterator[str]:
    """Path of a pty whose bytes go to a TCP port of this machine and back."""
    import pty  # noqa: PLC0415 - not on every system
    import tty  # noqa: PLC0415

    master, slave = pty.openpty()
    tty.setraw(slave)
    ended = threading.Event()
    cable = socket.create_connection(("127.0.0.1", port))

    def carry() -> None:
        while not ended.is_set():
            ready, _, _ = select.select([master, cable.fileno()], [], [], 0.1)
            if master in ready:
                cable.sendall(os.read(master, BUFFER))
            if cable.fileno() in ready:
                data = cable.recv(BUFFER)
                if not data:
                    return
                os.write(master, data)

    carrier = threading.Thread(target=carry, daemon=True)
    carrier.start()
    try:
        yield os.ttyname(slave)
    finally:
        ended.set()
        carrier.join()
        cable.close()
        os.close(master)
        os.close(slave)


def measured() -> dict[str, object]:
    """`upload_kb_per_s` and `fetch_kb_per_s`, kB of 1000 bytes, on a board that runs in real time.

    Raises RigError when the board does not come up, OSError where there is no pty.
    """
    link_of, ports = importlib.import_module(LINK), importlib.import_module(TRANSPORT)
    setting = Setting(4)
    mapping = rig_mapping(setting)
    log = an_hour_of_log(["waist", "full"])
    # As long a profile as the board takes in one: every stage many times over, with words.
    stages = [dict(stage) for stage in STAGES[:-1] * 3] + [STAGES[-1]]
    for place, stage in enumerate(stages):
        stage["name"] = f"stage {place + 1} of a long bend"
    profile = {
        "schema": 1,
        "name": "a long bend",
        "unit": "C",
        "piece": piece_mapping(setting),
        "stages": stages,
    }
    body = json.dumps(profile).encode()
    with tempfile.TemporaryDirectory(prefix="ribwright_rates_") as folder:
        image = fresh_flash(setting, Path(folder))
        install_files(image, _kept(image) | {f"runs/{RUN:05d}.rlg": log})
        scenario = {"image": image, "rig": mapping, "piece": piece_mapping(setting), "idle_speed": 1.0}
        with VirtualRig(scenario) as rig, pty_to(rig.port) as path:
            link = link_of.Link(ports.open_port(path))
            try:
                link_of.hello(link)
                begun = time.monotonic()
                link_of.put_profile(link, body)
                sent_s = time.monotonic() - begun
                begun = time.monotonic()
                fetched = link_of.get_run(link, RUN)
                fetched_s = time.monotonic() - begun
            finally:
                link.close()
    if fetched != log:
        raise ValueError(f"the log came back with {len(fetched)} bytes instead of {len(log)}, or changed")
    return {
        "upload_kb_per_s": round(len(body) / 1000 / sent_s, 2),
        "fetch_kb_per_s": round(len(log) / 1000 / fetched_s, 2),
        "upload_bytes": len(body),
        "fetch_bytes": len(log),
    }


def _kept(image: Path) -> dict[str, bytes]:
    """The files of the flash as they are: those that are not given again would be removed."""
    from ribwright_sim.interpreter import read_files  # noqa: PLC0415

    return read_files(image, choose())
