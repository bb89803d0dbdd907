"""Commands that a page shows: found in its blocks, run in order, and what they say held to the page.

A block without a language holds commands, one a line; a block of `text` under it holds what the last of them
says, `...` for lines that are left out.
"""

import os
import re
import shlex
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

COMMAND = "ribwright"
LEFT_OUT = "..."
LONGEST_S = 900.0
_FENCE = re.compile(r"^```(\w*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
# Days, hashes and numbers of boards are another's every time; figures may move a little with the libraries.
_NAMES = re.compile(r"\b(?:[0-9a-f]{12,16}|\d{4}-\d\d-\d\d(?:T[\d:+]+)?)\b")
_FIGURE = re.compile(r"\d+(?:\.\d+)?")
SHARE = 0.05
LAST_DIGITS = 2


@dataclass(frozen=True)
class Block:
    """A block between fences.

    language: as it is named, empty for commands. text: inside. start, end: places of the text in the page.
    """

    language: str
    text: str
    start: int
    end: int


@dataclass(frozen=True)
class Said:
    """What a command said, both streams, and its exit code."""

    code: int
    text: str


def blocks(page: str) -> list[Block]:
    """The blocks of a page, in order.

    page: Markdown.
    """
    return [Block(one[1], one[2], one.start(2), one.end(2)) for one in _FENCE.finditer(page)]


def lines_of(block: Block) -> list[str]:
    """The lines of a block of commands, without blank ones and comments."""
    return [line for line in block.text.splitlines() if line.strip() and not line.startswith("#")]


def words_of(line: str) -> list[str]:
    """A line as the words of a command; what stands after `#` is for readers."""
    return shlex.split(line, comments=True)


def run(line: str, folder: Path, home: Path) -> Said:
    """Run one `ribwright` line as a person without a terminal would; what it said.

    line: of a page. folder: where. home: for the notes, the notebook and the virtual rig, not the user's.
    Raises subprocess.TimeoutExpired after LONGEST_S.
    """
    first, *words = words_of(line)
    if first != COMMAND:
        raise ValueError(f"{line!r} is no command of {COMMAND}")
    found = [name for word in words for name in _files(word, folder)]
    done = subprocess.run(
        [sys.executable, "-m", "ribwright_host", *found],
        cwd=folder,
        env=environment(home),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        timeout=LONGEST_S,
        check=False,
    )
    return Said(done.returncode, done.stdout)


def environment(home: Path) -> dict[str, str]:
    """Variables under which a command keeps its notes in a folder of ours.

    home: that folder.
    """
    own = {"XDG_DATA_HOME": home, "XDG_STATE_HOME": home, "RIBWRIGHT_BOOK": home / "book.sqlite"}
    plain = {"COLUMNS": "100", "NO_COLOR": "1", "PYTHONIOENCODING": "utf-8", "PYTHONUTF8": "1"}
    return {**os.environ, **{name: str(value) for name, value in own.items()}, **plain}


def _files(word: str, folder: Path) -> list[str]:
    """A word, or the files that it stands for, as a shell would have it."""
    if "*" not in word:
        return [word]
    return sorted(path.relative_to(folder).as_posix() for path in folder.glob(word)) or [word]


def _mask(line: str) -> str:
    """A line without what may differ."""
    return _FIGURE.sub("#", _NAMES.sub("~", line)).rstrip()


def alike(old: str, new: str) -> bool:
    """Whether two lines say the same: the same words, figures within a twentieth or two of their last digit.

    old, new: the lines.
    """
    if _mask(old) != _mask(new):
        return False
    figures = zip(_FIGURE.findall(_NAMES.sub("", old)), _FIGURE.findall(_NAMES.sub("", new)), strict=True)
    return all(
        abs(float(one) - float(other))
        <= max(SHARE * abs(float(one)), LAST_DIGITS * 10.0 ** -len(one.partition(".")[2])) + 1e-9
        for one, other in figures
    )


def renewed(shown: str, said: str) -> str:
    """What a page shows of what a command says, with figures of now where they have moved.

    shown: the text of the block. said: by the command.
    Raises LookupError naming the first line whose words are not there, or not next where nothing is left out.
    """
    rows, new, at, gap = said.splitlines(), [], 0, False
    for line in shown.splitlines():
        if line.strip() == LEFT_OUT:
            new.append(line)
            gap = True
            continue
        fitting = (place for place in range(at, len(rows)) if _mask(rows[place]) == _mask(line))
        place = next(fitting, None)
        if place is None or (place > at and not gap):
            raise LookupError(line)
        new.append(line if alike(line, rows[place]) else rows[place].rstrip())
        at, gap = place + 1, False
    if at < len(rows) and not gap:
        raise LookupError(f"(the end; there follows: {rows[at]})")
    return "".join(f"{line}\n" for line in new)


def pairs(page: str) -> Iterator[tuple[str, Block | None]]:
    """Every command line of a page, with the block that shows what it says, if there is one."""
    every = blocks(page)
    for at, block in enumerate(every):
        if block.language:
            continue
        lines = lines_of(block)
        shown = every[at + 1] if at + 1 < len(every) and every[at + 1].language == "text" else None
        for number, line in enumerate(lines, 1):
            yield line, shown if number == len(lines) else None
