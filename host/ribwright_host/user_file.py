"""Small JSON files in the user's data folder: read with care, replaced whole, never written over unread."""

import json
from pathlib import Path
from typing import Any

from platformdirs import user_data_path

from .writing import unwritable


def in_data_folder(name: str) -> Path:
    """Where such a file lies.

    name: of the file.
    """
    return user_data_path("ribwright", appauthor=False) / name


def read(path: Path) -> Any:  # noqa: ANN401 - whatever JSON holds
    """What a file holds; None where there is none, and for one that is no JSON.

    path: the file.
    """
    try:
        return json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return None


def replace(path: Path, values: object, *, understood: bool) -> None:
    """Put values in place of what a file holds. Raises FileError when it cannot be written.

    path: the file. values: what JSON can hold. understood: whether what is there was read; what was not is
    put aside as NAME.unreadable.
    """
    fresh = path.with_suffix(".new")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if not understood and path.is_file() and path.stat().st_size:
            path.replace(path.with_suffix(".unreadable"))
        fresh.write_text(json.dumps(values, indent=1) + "\n", encoding="utf-8", newline="\n")
        fresh.replace(path)
    except OSError as error:
        raise unwritable(path, error, "check who may write to that folder") from error
