"""Reading a TOML file with bounds, finding the line of each of its keys; comments for one that is written.

The values come from `tomllib`. No kept TOML library tells where a key stands, so a scanner
walks the text once more; it may assume valid TOML, because `tomllib` has read it already.
"""

import re
import textwrap
import tomllib
from bisect import bisect_right
from pathlib import Path
from typing import Any

from .errors import FileError

# A rig with four zones takes about 3 kB and a long profile about 4 kB.
MAX_BYTES = 256 * 1024

# Of a written file, columns.
WIDTH = 110

Place = tuple[str | int, ...]


def comment_lines(text: str) -> list[str]:
    """A comment of as many lines as it needs; a name with a line break in it stays a comment.

    text: what it says.
    """
    # A sign that no TOML comment may hold becomes a question mark.
    plain = "".join(letter if letter.isprintable() else "?" for letter in " ".join(text.split()))
    return textwrap.wrap(plain, WIDTH, initial_indent="# ", subsequent_indent="#   ", break_on_hyphens=False)


def read_text(path: Path) -> str:
    """The text of a file a person wrote.

    path: file to read. Raises FileError: missing, a directory, unreadable, longer than MAX_BYTES, not UTF-8,
    empty.
    """
    where = {"file": str(path)}
    try:
        with path.open("rb") as handle:
            data = handle.read(MAX_BYTES + 1)
        size = path.stat().st_size
    except FileNotFoundError:
        raise FileError(
            f"{path} does not exist",
            "check the name; a first rig and profile are written by: ribwright new",
            code="missing_file",
            where=where,
        ) from None
    except IsADirectoryError:
        raise FileError(f"{path} is a folder", "name a file in it", code="folder", where=where) from None
    except OSError as error:
        if path.is_dir():
            raise FileError(f"{path} is a folder", "name a file in it", code="folder", where=where) from None
        raise FileError(
            f"{path} cannot be read: {error.strerror}",
            "check who may read it",
            code="unreadable",
            where=where,
        ) from None
    if len(data) > MAX_BYTES:
        seen = f"{path} holds {max(size, len(data))} bytes, the limit is {MAX_BYTES} bytes"
        raise FileError(seen, "this is not a rig or profile file; name another", code="too_big", where=where)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise FileError(
            f"{path} line {line} is not UTF-8 text (byte {error.start})",
            "save it as UTF-8 in your editor",
            code="not_utf8",
            where={**where, "line": line},
        ) from None
    if not text.strip():
        raise FileError(
            f"{path} is empty", "start from the file that `ribwright new` writes", code="empty", where=where
        )
    return text


def read_toml(path: Path) -> tuple[dict[str, Any], dict[Place, int]]:
    """Values of a TOML file and the line of every key and table in it.

    path: file to read. Raises FileError as read_text(), and for a mistake of syntax or a key that comes
    twice.
    """
    text = read_text(path)
    try:
        values = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise _syntax_error(path, text, error) from None
    except RecursionError:
        raise FileError(
            f"{path} nests lists too deeply", "write it flat, as `ribwright new` does", code="syntax"
        ) from None
    return values, find_lines(text)


def _syntax_error(path: Path, text: str, error: tomllib.TOMLDecodeError) -> FileError:
    """Own words for a mistake of syntax, with its line."""
    message = str(error)
    found = re.search(r"\(at line (\d+), column (\d+)\)", message)
    # Without a position tomllib means the end of the text; a last empty line is not a line to look at.
    line = int(found.group(1)) if found else len(text.rstrip().splitlines())
    what = re.sub(r"\s*\(at .*\)$", "", message)
    what = what[:1].lower() + what[1:]
    if "overwrite" in what or "twice" in what or "duplicate" in what:
        code, seen, hint = "doubled_key", "states a key or table a second time", "keep one of the two"
    else:
        code, seen, hint = "syntax", f"is not TOML: {what}", 'write key = value, and text in "quotes"'
    return FileError(f"{path} line {line} {seen}", hint, code=code, where={"file": str(path), "line": line})


def line_of(lines: dict[Place, int], place: Place) -> int:
    """The line of a place, or of the nearest table around it that the file does state; 1 at worst.

    lines: as find_lines() gives it. place: keys and positions, such as ("stages", 1, "target").
    """
    for length in range(len(place), 0, -1):
        line = lines.get(place[:length])
        if line is not None:
            return line
    return 1


def find_lines(text: str) -> dict[Place, int]:
    r"""Line, counted from 1, of every key, table and list item of valid TOML.

    text: TOML that `tomllib` has accepted.

    >>> find_lines('unit = "C"\n[[stages]]\ntarget = 150\n')[("stages", 0, "target")]
    3
    """
    return _Scanner(text).lines


_BARE = re.compile(r"[A-Za-z0-9_-]+")
_SCALAR = re.compile(r"[^,\]}\r\n#]+")
_STRING = re.compile(
    r'"""(?:\\.|[^\\])*?"{3,5}' + r"|'''.*?'{3,5}" + r'|"(?:\\.|[^"\\\n])*"' + r"|'[^'\n]*'", re.DOTALL
)
_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")


class _Scanner:
    """Walks the text once; `lines` holds what it found."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.lines: dict[Place, int] = {}
        self._counts: dict[Place, int] = {}
        self._starts = [found.end() for found in re.finditer("\n", text)]
        self._walk()

    def _line(self) -> int:
        return bisect_right(self._starts, self.at) + 1

    def _note(self, place: Place) -> None:
        self.lines.setdefault(place, self._line())

    def _skip(self, pattern: re.Pattern[str]) -> None:
        found = pattern.match(self.text, self.at)
        if found:
            self.at = found.end()

    def _walk(self) -> None:
        table: Place = ()
        while True:
            self._skip(_BLANK)
            if self.at >= len(self.text):
                return
            if self.text.startswith("[[", self.at):
                table = self._header(2)
            elif self.text[self.at] == "[":
                table = self._header(1)
            else:
                self._pair(table)

    def _header(self, brackets: int) -> Place:
        start = self.at
        self.at += brackets
        keys = self._dotted()
        self.at += brackets
        end, self.at = self.at, start
        place: Place = ()
        for position, key in enumerate(keys):
            place = (*place, key)
            if brackets == 2 and position == len(keys) - 1:
                count = self._counts.get(place, 0)
                self._counts[place] = count + 1
                self._note(place)
                place = (*place, count)
            elif place in self._counts:
                # A table below a list of tables belongs to the list's last one.
                place = (*place, self._counts[place] - 1)
            self._note(place)
        self.at = end
        return place

    def _dotted(self) -> list[str]:
        keys = []
        while True:
            self._skip(_SPACE)
            keys.append(self._key())
            self._skip(_SPACE)
            if not self.text.startswith(".", self.at):
                return keys
            self.at += 1

    def _key(self) -> str:
        quoted = _STRING.match(self.text, self.at)
        if quoted:
            self.at = quoted.end()
            return str(next(iter(tomllib.loads(quoted.group() + " = 0"))))
        bare = _BARE.match(self.text, self.at)
        if not bare:
            # Not reached with valid TOML; stepping on keeps the scan finite if it ever is.
            self.at += 1
            return ""
        self.at = bare.end()
        return bare.group()

    def _pair(self, table: Place) -> None:
        start = self.at
        keys = self._dotted()
        end, self.at = self.at, start
        place = table
        for key in keys:
            place = (*place, key)
            self._note(place)
        self.at = end + 1  # the equals sign
        self._skip(_SPACE)
        self._value(place)

    def _value(self, place: Place) -> None:
        if self.at >= len(self.text):
            return
        opening = self.text[self.at]
        if opening == "[":
            self._list(place)
        elif opening == "{":
            self._inline(place)
        elif opening in "\"'":
            self._skip(_STRING)
        else:
            self._skip(_SCALAR)

    def _list(self, place: Place) -> None:
        self.at += 1
        count = 0
        while True:
            self._skip(_BLANK)
            if self.at >= len(self.text) or self.text[self.at] == "]":
                self.at += 1
                return
            if self.text[self.at] == ",":
                self.at += 1
                continue
            self._note((*place, count))
            self._value((*place, count))
            count += 1

    def _inline(self, place: Place) -> None:
        self.at += 1
        while True:
            self._skip(_BLANK)
            if self.at >= len(self.text) or self.text[self.at] == "}":
                self.at += 1
                return
            if self.text[self.at] == ",":
                self.at += 1
                continue
            self._pair(place)
