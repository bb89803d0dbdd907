"""Writes the folder `wiring` of the project: its README and the drawings of two example rigs.

python -m ribwright_host.wiring.folder --write
"""

import re
import sys
from importlib.resources import files
from pathlib import Path

import tomlkit
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from ribwright_board.core import rig as core_rig
from ribwright_host.inline import TEMPLATES
from ribwright_host.rigs import RigFile, rig_hash

from .design import Plan, Site, plan
from .page import PAGE, WORDS, drawings, texts

FOLDER = Path(__file__).parents[3] / "wiring"
EXAMPLE = "rig_two_zone_120v.toml"
# Stands where a date does, so that the drawings change only with what they show.
DATE = "example"


def example(volts: int) -> Plan:
    """The example rig, as shipped at 120 V, or the same blankets made for 230 V.

    volts: 120 or 230.
    """
    text = (files("ribwright_host") / "library" / EXAMPLE).read_text(encoding="utf-8")
    mapping = tomlkit.parse(text).unwrap()
    if volts != mapping["mains"]["volts"]:
        mapping["mains"] = {"volts": volts, "hertz": 50, "branch_limit_a": 8}
        mapping["name"] = "two-zone bench rig, 230 V"
        mapping["pins"]["feedback"] = 22
    rig = RigFile(Path(EXAMPLE), mapping, rig_hash(mapping), core_rig.parse(mapping))
    return plan(rig, Site())


def contents() -> dict[str, str]:
    """Path inside the folder and content of every file; the printable page is left to the command."""
    found = {}
    for volts in (120, 230):
        drawn = example(volts)
        for name, content in texts(drawn, DATE, drawings(drawn, DATE)).items():
            if name != PAGE:
                found[f"two_zone_{volts}v/{name}"] = content
    pages = Environment(
        autoescape=False,  # noqa: S701 - Markdown from our own words, no page for a browser
        undefined=StrictUndefined,
        loader=FileSystemLoader(TEMPLATES),
        trim_blocks=True,
        keep_trailing_newline=True,
    )
    found["README.md"] = pages.get_template("wiring_readme.md.j2").render(words=WORDS)
    return found


_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
# Another version of a font or of the drawing library may move a line by so much, points.
MOVED = 1.5


def same(old: str, new: str) -> bool:
    """Whether two SVG texts draw the same: all words alike, no number in a tag further off than a hair.

    old, new: the texts.
    """
    before, after = ([*re.finditer(r"<[^>]*>|[^<]+", text)] for text in (old, new))
    if len(before) != len(after):
        return False
    for one, other in zip(before, after, strict=True):
        tag, now = one.group(), other.group()
        if tag == now:
            continue
        if not tag.startswith("<") or _NUMBER.sub("#", tag) != _NUMBER.sub("#", now):
            return False
        pairs = zip(_NUMBER.findall(tag), _NUMBER.findall(now), strict=True)
        if any(abs(float(a) - float(b)) > MOVED for a, b in pairs):
            return False
    return True


def stale(folder: Path) -> list[str]:
    """Files of the folder that are not what the code makes, or are not there.

    folder: the project's `wiring`.
    """
    old = []
    for name, content in contents().items():
        path = folder / name
        found = path.read_text(encoding="utf-8") if path.is_file() else ""
        if not (same(found, content) if name.endswith(".svg") else found == content):
            old.append(name)
    return old


def main(arguments: list[str]) -> int:
    """Write the folder, or say whether it is up to date; the exit code.

    arguments: --write, or nothing.
    """
    if "--write" in arguments:
        for name, content in contents().items():
            path = FOLDER / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(content, encoding="utf-8", newline="\n")
        return 0
    old = stale(FOLDER)
    if old:
        sys.stderr.write(
            f"{FOLDER}: out of date: {', '.join(old)}; "
            "write it again: python -m ribwright_host.wiring.folder --write\n"
        )
    return 1 if old else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
