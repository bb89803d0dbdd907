"""What has been shown of a rig so far: results of steps in one JSON file, to go on with another day."""

import json
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from ribwright_host.errors import FileError
from ribwright_host.writing import unwritable

SCHEMA = 1
NAME = "prove.json"
PASSED, FAILED = "passed", "failed"


@dataclass(frozen=True)
class Figure:
    """One thing seen: its name, what was seen, its unit, the limit in words, where the limit is from."""

    name: str
    seen: str
    unit: str = ""
    limit: str = ""
    source: str = ""


@dataclass(frozen=True)
class Result:
    """How a step ended: PASSED or FAILED, when (ISO 8601, UTC), what was seen; a failure's code and words.

    offsets_k: what the step found each zone to show too much, K, as beside `fixed_point`; empty for a step
    that looks for none.
    """

    result: str
    date: str
    figures: list[Figure] = field(default_factory=list)
    code: str = ""
    words: str = ""
    offsets_k: list[float] = field(default_factory=list)
    fixed_point: str = ""


@dataclass
class Record:
    """The results of one rig, one board, real or simulated. board: id, "" until one has answered."""

    rig: str
    rig_name: str
    simulated: bool
    board: str = ""
    firmware: str = ""
    port: str = ""
    steps: dict[str, Result] = field(default_factory=dict)

    def passed(self, name: str) -> bool:
        """Whether a step was passed when it was done last; name: of the step."""
        return name in self.steps and self.steps[name].result == PASSED

    def as_json(self) -> dict[str, Any]:
        """The file's content."""
        return {"schema": SCHEMA, **asdict(self)}


def save(record: Record, folder: Path) -> Path:
    """Write the record whole, in place of the last one; its path. Raises FileError.

    record: of the rig. folder: made when absent.
    """
    path = folder / NAME
    try:
        folder.mkdir(parents=True, exist_ok=True)
        fresh = path.with_suffix(".new")
        fresh.write_text(json.dumps(record.as_json(), indent=1, sort_keys=True), encoding="utf-8")
        fresh.replace(path)
    except OSError as error:
        raise unwritable(path, error, "name another folder with --out") from error
    return path


def load(folder: Path) -> Record | None:
    """The record in a folder, None without one. Raises FileError for one that is none.

    folder: as save().
    """
    path = folder / NAME
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return None
    except (OSError, UnicodeError) as error:
        raise _bad(path, f"cannot be read ({error})") from error
    try:
        values = json.loads(text)
        schema = values.pop("schema")
        if schema != SCHEMA:
            raise _bad(path, f"has schema {schema}, these tools write {SCHEMA}")
        steps = {
            name: Result(**{**step, "figures": [Figure(**figure) for figure in step["figures"]]})
            for name, step in values.pop("steps").items()
        }
        return Record(**values, steps=steps)
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise _bad(path, f"is no record of these steps ({error})") from error


def _bad(path: Path, seen: str) -> FileError:
    hint = "keep it for yourself under another name, or name another folder with --out"
    return FileError(f"{path} {seen}", hint, code="bad_record", where={"file": str(path)})
