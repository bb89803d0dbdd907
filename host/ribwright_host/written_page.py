"""A page that is written from code: written anew, or said to be out of date."""

import sys
from pathlib import Path


def keep(path: Path, text: str, module: str, arguments: list[str] | None) -> int:
    """Write the page, or say whether it is up to date; the exit code.

    path, text: of the page. module: whose `--write` writes it. arguments: of its command line, None for the
    process's own.
    """
    if "--write" in (sys.argv[1:] if arguments is None else arguments):
        path.write_text(text, encoding="utf-8", newline="\n")
        return 0
    try:
        same = path.read_text(encoding="utf-8") == text
    except OSError:
        same = False
    if not same:
        sys.stderr.write(f"{path} is out of date; write it again: python -m {module} --write\n")
    return 0 if same else 1
