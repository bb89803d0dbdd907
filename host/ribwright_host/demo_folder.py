"""The demo's folder: cleared of what an earlier demo left, and of nothing else."""

import shutil
from importlib.resources import files
from pathlib import Path

from .errors import FileError
from .virtual import EXAMPLE_RIG
from .writing import unwritable

MARK = "SIMULATED.txt"
ABOUT = (
    "Everything in this folder was computed by `ribwright demo` on the virtual rig.\n"
    "No blanket was heated and no wood was bent. The next demo replaces it.\n"
)
FOLDERS = ("board", "bass", "treble")
PROFILE, AGAIN, SIDES, BOOK, FIGURES, SUMMARY, TRUTH = (
    "profile.toml",
    "again.toml",
    "sides.json",
    "notebook.sqlite",
    "demo.json",
    "summary.json",
    "truth.csv",
)
MADE = (
    *("rig.toml", "rig_tuning.png", PROFILE, AGAIN, SIDES, BOOK, f"{BOOK}-journal", FIGURES, SUMMARY, TRUTH),
    *(f"profile_plan.{kind}" for kind in ("html", "json", "png", "svg")),
    *(f"pair.{kind}" for kind in ("html", "png", "svg")),
    # Of a demo that bent one side only.
    *("report.html", "run.csv", "run.json", "run.png", "run.svg"),
)


def fresh_rig(out: Path) -> Path:
    """Make the folder ready and put the example rig there; the rig's path.

    out: the folder. Raises FileError: not_a_demo for one that holds something and no demo, so that nobody's
    own runs are lost; unwritable.
    """
    try:
        if (
            out.exists()
            and any(out.iterdir())
            and not any((out / name).is_file() for name in (MARK, FIGURES))
        ):
            raise FileError(
                f"{out} holds files that are not of a demo, and they are left alone",
                "name a new folder with --out",
                code="not_a_demo",
                where={"file": str(out)},
            )
        out.mkdir(parents=True, exist_ok=True)
        (out / MARK).write_text(ABOUT, encoding="utf-8", newline="\n")
        for name in FOLDERS:
            shutil.rmtree(out / name, ignore_errors=True)
        for name in MADE:
            (out / name).unlink(missing_ok=True)
        rig = out / "rig.toml"
        rig.write_bytes((files("ribwright_host") / "library" / EXAMPLE_RIG).read_bytes())
    except OSError as error:
        raise unwritable(out, error, "name another folder with --out") from None
    return rig
