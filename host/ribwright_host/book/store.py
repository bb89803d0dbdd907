"""The book's file: where it lies, opened, brought up to date, and closed.

One SQLite file, its journal beside it only while something is written. The rollback journal with
synchronous EXTRA keeps what was saved through a kill at any point (tested) and a cut of power (SQLite's
documentation), and leaves one file to copy at rest; a write-ahead log would leave two more beside it, and
does not work on a network drive. Writers begin with IMMEDIATE: they wait for each other instead of failing
halfway.
"""

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import peewee
from platformdirs import user_data_path

from ribwright_host.errors import FileError
from ribwright_host.writing import unwritable

from .migrations import SCHEMA, take_steps
from .models import open_book

# "RwBk", by which a book is told from any other SQLite file.
APPLICATION_ID = 0x5277426B
BOOK_VARIABLE = "RIBWRIGHT_BOOK"
# Another command that is writing is waited for.
WAIT_S = 20
PRAGMAS = {"journal_mode": "delete", "synchronous": "extra", "foreign_keys": 1}


def book_path(chosen: Path | None = None) -> Path:
    """Where the book lies.

    chosen: by --book, or None for RIBWRIGHT_BOOK in the environment, else the user's data folder.
    """
    if chosen is not None:
        return chosen
    named = os.environ.get(BOOK_VARIABLE)
    return Path(named) if named else user_data_path("ribwright", appauthor=False) / "book.sqlite"


@contextmanager
def opened(path: Path, *, make: bool = False) -> Iterator[peewee.SqliteDatabase]:
    """The book at a path, open for the length of a with statement; one at a time in a process.

    path: the file. make: begin a new one where there is none. Raises FileError: no_book, not_a_book,
    book_newer, book_busy, unwritable.
    """
    new = not path.is_file() or path.stat().st_size == 0
    if new and not make:
        raise FileError(
            f"there is no notebook at {path}", "take a run in first: ribwright book add RUN", code="no_book"
        )
    database = peewee.SqliteDatabase(str(path), pragmas=PRAGMAS, timeout=WAIT_S)
    try:
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            database.connect()
            _ready(database, path)
        except OSError as error:
            raise unwritable(path, error, "choose another with --book") from error
        open_book.initialize(database)
        yield database
    except peewee.DatabaseError as error:
        raise _told(path, error) from error
    finally:
        database.close()


def _ready(database: peewee.SqliteDatabase, path: Path) -> None:
    """See that it is a book of a schema this version knows, and bring it up to date."""
    schema = int(database.user_version)
    empty = not database.execute_sql("SELECT count(*) FROM sqlite_master").fetchone()[0]
    if empty and schema == 0:
        database.application_id = APPLICATION_ID
        take_steps(database)
        return
    if database.application_id != APPLICATION_ID:
        raise FileError(
            f"{path} is an SQLite file, but no notebook of Ribwright (mark {database.application_id})",
            "name another file with --book",
            code="not_a_book",
        )
    if schema > SCHEMA:
        raise FileError(
            f"{path} has schema {schema}, this version knows up to {SCHEMA}",
            "use the version that wrote it, or a later one",
            code="book_newer",
        )
    if schema < SCHEMA:
        kept = path.with_name(f"{path.stem}-schema-{schema}{path.suffix}")
        if not kept.exists():
            shutil.copyfile(path, kept)
        take_steps(database)


def _told(path: Path, error: peewee.DatabaseError) -> Exception:
    """What SQLite objects to, as one of our errors; the error itself where it is a mistake of ours."""
    text = str(error)
    if "locked" in text or "busy" in text:
        hint = "wait for the other command to end, then try again"
        return FileError(f"{path} is being written by another program ({text})", hint, code="book_busy")
    if any(words in text for words in ("unable to open", "readonly", "full", "disk I/O")):
        hint = "look at the folder's permissions and room, or choose another with --book"
        return FileError(f"{path} cannot be used: {text}", hint, code="unwritable")
    if any(words in text for words in ("not a database", "malformed")):
        hint = "put back a copy, or bring in an export with: ribwright book import FOLDER --book NEW"
        return FileError(f"{path} is no notebook that can be read ({text})", hint, code="not_a_book")
    return error
