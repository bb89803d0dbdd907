"""Files and folders that cannot be written: said alike by every command, and before long work."""

import errno
import os
from pathlib import Path

from .errors import FileError


def _why(error: OSError) -> str:
    """What stood in the way, in plain words."""
    if isinstance(error, FileExistsError | NotADirectoryError):
        return f"{error.filename or 'one of its parts'} is a file, and no folder"
    if isinstance(error, IsADirectoryError):
        return "it is a folder"
    if isinstance(error, FileNotFoundError):
        return "its folder does not exist and cannot be made here"
    if isinstance(error, PermissionError):
        return "this user may not write there"
    return error.strerror or str(error)


def unwritable(path: Path, error: OSError, hint: str) -> FileError:
    """The error of a file or folder that cannot be written.

    path: the file or folder. error: what the system said. hint: the next step.
    """
    return FileError(
        f"{path} cannot be written: {_why(error)}", hint, code="unwritable", where={"file": str(path)}
    )


def must_take_files(folder: Path, hint: str) -> None:
    """Before long work: raise FileError for a folder in which its results could not be written.

    folder: made later where it is missing; nothing is made here. hint: the next step.
    """
    whole = folder.absolute()
    nearest = next(one for one in (whole, *whole.parents) if os.access(one, os.F_OK))
    if not nearest.is_dir():
        raise unwritable(folder, NotADirectoryError(errno.ENOTDIR, "", str(nearest)), hint)
    if not os.access(nearest, os.W_OK | os.X_OK):
        raise unwritable(folder, PermissionError(errno.EACCES, "", str(nearest)), hint)
