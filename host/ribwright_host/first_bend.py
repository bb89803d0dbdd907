"""The page of the first bend: its commands run on the virtual rig, what it shows is held to them.

`python -m ribwright_host.first_bend --write` renews figures and pictures that have moved, some minutes of
computing. Without --write it only says whether host/FIRST_BEND.md still says what the commands do; exit code
1 when not. Words are written by hand: a line that no command says any more ends it with that line's name.
"""

import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
from PIL import Image

from .page_commands import COMMAND, Said, pairs, renewed, run, words_of
from .wiring.folder import same as same_drawing

PAGE = Path(__file__).resolve().parents[1] / "FIRST_BEND.md"
PICTURES = PAGE.parent / "pictures"
# Picture of the page -> the file that a command of it writes. Drawings come out alike everywhere; curves are
# computed, and may move by a hair with the libraries.
MADE = {
    "first_bend_plan.png": "shop/planned_plan.png",
    "first_bend_rehearsal.png": "shop/rehearsal/rehearsal.png",
    "first_bend_strip.svg": "strip.svg",
    "first_bend_report.png": "run-1-report/run.png",
}
WIDE_PX = 1000
COLOURS = 96
# Two pictures are the same where no more than this share of their places, a few dots wide, has other grey.
PLACE_PX = 8
GREY = 40
MOVED_SHARE = 0.005


def small(path: Path) -> Image.Image:
    """A picture as the page carries it: narrow enough for a page, few colours.

    path: PNG.
    """
    with Image.open(path) as whole:
        wide = min(WIDE_PX, whole.width)
        size = (wide, round(whole.height * wide / whole.width))
        scaled = whole.convert("RGB").resize(size, Image.Resampling.LANCZOS)
    return scaled.quantize(COLOURS, Image.Quantize.MAXCOVERAGE, dither=Image.Dither.NONE)


def looks_the_same(old: Path, new: Image.Image) -> bool:
    """Whether a kept picture shows what a new one does, but for a hair.

    old: PNG, may be absent. new: as small() gives it.
    """
    try:
        with Image.open(old) as kept:
            if abs(kept.width - new.width) + abs(kept.height - new.height) > PLACE_PX:
                return False
            before = kept.convert("L")
    except OSError:
        return False
    size = (new.width // PLACE_PX, new.height // PLACE_PX)
    one, other = (
        np.asarray(each.resize(size, Image.Resampling.BOX), dtype=float)
        for each in (before, new.convert("L"))
    )
    return bool(np.mean(np.abs(one - other) > GREY) <= MOVED_SHARE)


def play(page: str, folder: Path, told: Callable[[str], None]) -> tuple[str, list[str]]:
    """Run every command of a page; the page with the figures of now, and what does not hold.

    page: Markdown. folder: an empty one. told: gets each line before it runs.
    """
    wrong: list[str] = []
    edits: list[tuple[int, int, str]] = []
    work, home = folder / "work", folder / "home"
    work.mkdir()
    home.mkdir()
    for line, shown in pairs(page):
        if words_of(line)[:1] != [COMMAND]:
            continue
        told(line)
        said = run(line, work, home)
        if said.code:
            wrong.append(f"{line}\n  ended with {said.code}: {_last(said)}")
        if shown is None:
            continue
        try:
            edits.append((shown.start, shown.end, renewed(shown.text, said.text)))
        except LookupError as missing:
            wrong.append(f"{line}\n  does not say: {missing.args[0]}")
    for start, end, text in reversed(edits):
        page = page[:start] + text + page[end:]
    return page, wrong


def _last(said: Said) -> str:
    return (said.text.strip().splitlines() or ["nothing"])[-1]


def pictures(work: Path, *, write: bool) -> list[str]:
    """Names of the pictures that are not what the commands drew; with write they are drawn again.

    work: where the commands ran.
    """
    old, lost = [], []
    for name, made in MADE.items():
        kept, new = PICTURES / name, work / made
        if not new.is_file():
            lost.append(f"{name} (no command wrote {made})")
            continue
        if name.endswith(".svg"):
            text = new.read_text(encoding="utf-8")
            if kept.is_file() and same_drawing(kept.read_text(encoding="utf-8"), text):
                continue
            if write:
                kept.write_text(text, encoding="utf-8", newline="\n")
        else:
            image = small(new)
            if looks_the_same(kept, image):
                continue
            if write:
                image.save(kept, optimize=True)
        old.append(name)
    return lost if write else lost + old


def main(arguments: list[str] | None = None) -> int:
    """Run the page and renew it, or say what is out of date; the exit code.

    arguments: --write, or nothing; None for the process's own.
    """
    write = "--write" in (sys.argv[1:] if arguments is None else arguments)
    page = PAGE.read_text(encoding="utf-8")
    # The virtual rig ends by itself a minute later: what it still writes then goes nowhere.
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        new, wrong = play(page, Path(folder), lambda line: print(f"  {line}", flush=True))  # noqa: T201
        wrong += [f"{PICTURES / name}: out of date" for name in pictures(Path(folder) / "work", write=write)]
    if new != page and write:
        PAGE.write_text(new, encoding="utf-8", newline="\n")
    elif new != page:
        wrong.append(f"{PAGE}: figures are out of date")
    for one in wrong:
        sys.stderr.write(f"{one}\n")
    if wrong:
        sys.stderr.write(
            "renew figures and pictures with: python -m ribwright_host.first_bend --write; words by hand\n"
        )
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
