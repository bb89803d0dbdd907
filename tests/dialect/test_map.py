"""The map in DEVELOPERS.md names every file of the packages, and nothing that is not there."""

import re
from fnmatch import fnmatch
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("firmware/ribwright_board", "host/ribwright_host", "sim/ribwright_sim")
FOLDER = re.compile(r"^( *)([\w/]+)/ ")
# A file, or a pattern of files, as the map writes them.
NAME = re.compile(r"(?<![\w/.])[\w*]+\*?\.(?:py|csv|css|html|js|toml|j2)(?!\w)|\b\w+_\*(?!\w)")


def sections(text):
    """Folder -> the lines of the map that are about it."""
    block = text.split("## The map")[1].split("```text\n")[1].split("```")[0]
    found, stack = {}, []
    for line in block.splitlines():
        indent = len(line) - len(line.lstrip())
        opened = FOLDER.match(line)
        if opened and indent <= 6:
            stack = [one for one in stack if one[0] < indent]
            above = stack[-1][1] + "/" if stack else ""
            stack.append((indent, above + opened[2]))
            names = opened[2].split(" ")
            found[above + names[0]] = [line]
        else:
            while len(stack) > 1 and indent <= stack[-1][0]:
                stack.pop()
            found.setdefault(stack[-1][1], []).append(line)
    return {folder: "\n".join(lines) for folder, lines in found.items()}


def unnamed(text, files):
    """Files of the packages that the map does not name.

    A folder about which the map has one sentence and no names stands for all that is in it.
    """
    parts = sections(text)
    missing = []
    for path in files:
        home = next((str(one) for one in path.parents if str(one) in parts), None)
        said = parts.get(home or "", "")
        names = NAME.findall(said)
        if path.name in ("__init__.py", "__main__.py") or (home and not names):
            continue
        if not any(fnmatch(path.name, name if "." in name else name + ".py") for name in names):
            missing.append(str(path))
    return missing


def files():
    return [
        path.relative_to(ROOT)
        for package in PACKAGES
        for path in sorted((ROOT / package).rglob("*.py"))
        if "__pycache__" not in path.parts
    ]


def test_every_file_of_the_packages_is_on_the_map():
    assert unnamed((ROOT / "DEVELOPERS.md").read_text(encoding="utf-8"), files()) == []


def test_the_map_names_nothing_that_is_not_there():
    gone = []
    for folder, said in sections((ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")).items():
        every = [path.name for path in (ROOT / folder).rglob("*")]
        everywhere = [path.name for package in PACKAGES for path in (ROOT / package).rglob("*")]
        for name in NAME.findall(said):
            pattern = name if "." in name else name + ".py"
            if not any(fnmatch(one, pattern) for one in (every or everywhere)):
                gone.append(f"{folder}: {name}")
    assert gone == []


def test_a_file_that_is_left_out_is_seen():
    lines = ("host/ribwright_host/   what", "  a.py b_*.py   one", "  side/   two", "    c.py")
    text = "\n".join(("## The map", "```text", *lines, "```"))
    paths = [
        Path("host/ribwright_host") / one for one in ("a.py", "b_x.py", "d.py", "side/c.py", "side/a.py")
    ]
    assert unnamed(text, paths) == ["host/ribwright_host/d.py", "host/ribwright_host/side/a.py"]
