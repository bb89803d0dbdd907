"""A process that writes into a book until it is killed, and what the book then holds of what it had saved."""

import multiprocessing
import random
import time
from multiprocessing.connection import Connection
from multiprocessing.context import BaseContext
from pathlib import Path

from .models import Measurement, Piece, Side, open_book
from .store import opened


def write(path: str, begin: int, said: Connection) -> None:
    """Save pieces with two measured sides each, one transaction each, and send the id once it is saved.

    path: of the book. begin: number of the first piece. said: takes the ids.
    """
    with opened(Path(path), make=True):
        number = begin
        while True:
            with open_book.atomic("IMMEDIATE"):
                piece = Piece.create(name=f"baritone {number}", simulated=False, made_on="2026-11-28")
                for which in ("bass", "treble"):
                    side = Side.create(piece=piece, which=which, species="sapele")
                    Measurement.create(side=side, noted_on="2026-11-28", gap_waist_mm=0.5, remark="x" * 400)
            said.send_bytes(b"%d" % piece.id)
            number += 1


def context() -> BaseContext:
    """How processes are begun: from a small clean one where that can be had."""
    ways = multiprocessing.get_all_start_methods()
    found = multiprocessing.get_context("forkserver" if "forkserver" in ways else "spawn")
    if found.get_start_method() == "forkserver":
        found.set_forkserver_preload([__name__])
    return found


def kill_a_writer(
    processes: BaseContext, path: Path, begin: int, dice: random.Random
) -> tuple[list[int], bool]:
    """Let a process write and kill it at some moment; the ids it said were saved, and if it was in a write.

    processes: of context(). path: of the book. begin: number of its first piece. dice: for the moment.
    """
    heard, said = processes.Pipe(duplex=False)
    writer = processes.Process(target=write, args=(str(path), begin, said))  # type: ignore[attr-defined]
    writer.start()
    said.close()
    saved: list[int] = []
    try:
        saved.append(int(heard.recv_bytes()))
        end = time.monotonic() + dice.uniform(0, 0.02)
        while (left := end - time.monotonic()) > 0:
            if heard.poll(left):
                saved.append(int(heard.recv_bytes()))
        writer.kill()
        journal = path.with_name(path.name + "-journal").exists()
        while True:
            saved.append(int(heard.recv_bytes()))
    except (EOFError, OSError):
        pass
    writer.join(30)
    writer.close()
    heard.close()
    return saved, journal


def kills(path: Path, count: int, seed: int = 2026) -> dict[str, int]:
    """Kill so many writers, one after the other, and look after each what the book holds.

    path: of a book, made when absent. count: of kills. seed: of their moments. Gives how many pieces were
    saved, how many of them are not there whole, how many looks found the file damaged, and how many kills
    came within a write.
    """
    processes, dice = context(), random.Random(seed)  # noqa: S311 - moments, no secrets
    saved: set[int] = set()
    lost = damaged = within = 0
    for _ in range(count):
        new, journal = kill_a_writer(processes, path, 10**6 + len(saved) * 1000, dice)
        saved |= set(new)
        within += journal
        with opened(path) as database:
            damaged += database.execute_sql("PRAGMA integrity_check").fetchone() != ("ok",)
            there = {row.id for row in Piece.select(Piece.id)}
            # A piece has both its measured sides or does not exist.
            whole = Side.select().count() == Measurement.select().count() == 2 * len(there)
            lost = max(lost, len(saved - there) + (not whole))
    return {"kills": count, "saved": len(saved), "lost": lost, "damaged": damaged, "within_a_write": within}
