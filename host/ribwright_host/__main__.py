"""Entry of the `ribwright` command."""

import sys
import traceback

from .cli import cli


def main() -> None:
    """Run the command line; a mistake of ours is kept in a file and told in one line."""
    try:
        cli(prog_name="ribwright")
    except Exception as error:  # noqa: BLE001 - the last door: anything must still be one line
        sys.stderr.write(f"mistake: {type(error).__name__} in Ribwright itself; please send {_keep()}\n")
        sys.exit(70)


def _keep() -> str:
    """Write the traceback where it can be found again; the file's name."""
    from pathlib import Path

    from platformdirs import user_log_dir

    try:
        folder = Path(user_log_dir("ribwright", appauthor=False))
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / "mistake.txt"
        path.write_text(traceback.format_exc(), encoding="utf-8")
    except OSError:
        return "what you did just now (no log could be written)"
    return str(path)


if __name__ == "__main__":
    main()
