"""Pages that a stranger reads first: what they link to and name is there."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PAGES = (
    "README.md",
    "DEVELOPERS.md",
    ".github/CONTRIBUTING.md",
    "wiring/README.md",
    "wiring/TROUBLESHOOTING.md",
    "wiring/CONVERTERS.md",
    "wiring/PROVING.md",
    "firmware/LINK.md",
    "host/FILES.md",
    "host/FIRST_BEND.md",
    "sim/PHYSICS.md",
    "sim/LEARNING.md",
)
LINK = re.compile(r"!?\[[^\]]*\]\(([^)\s]+)\)")
# A path of this project in code marks: its first folder tells.
NAMED = re.compile(r"`((?:firmware|host|sim|tests|wiring|\.github)/[\w./-]+)`")


def prose(text: str) -> str:
    """A page without its blocks of code."""
    return re.sub(r"^```.*?^```$", "", text, flags=re.MULTILINE | re.DOTALL)


def anchors(text: str) -> set[str]:
    """What the headings of a page are linked by."""
    found = set()
    for title in re.findall(r"^#+ (.*)$", prose(text), flags=re.MULTILINE):
        kept = "".join(letter for letter in title.lower() if letter.isalnum() or letter in " -_")
        found.add(kept.strip().replace(" ", "-"))
    return found


def dead_links(page: Path, text: str) -> list[str]:
    """Links of a page to a file or heading of this project that is not there."""
    dead = []
    for target in LINK.findall(prose(text)):
        if re.match(r"[a-z]+:", target):
            continue
        name, _, anchor = target.partition("#")
        file = (page.parent / name).resolve() if name else page
        if not file.exists() or (anchor and anchor not in anchors(file.read_text(encoding="utf-8"))):
            dead.append(target)
    return dead


@pytest.mark.parametrize("name", PAGES)
def test_every_link_leads_somewhere(name):
    page = ROOT / name
    assert dead_links(page, page.read_text(encoding="utf-8")) == []


# The page for developers leaves out the packages' own folders.
@pytest.mark.parametrize("name", [name for name in PAGES if name != "DEVELOPERS.md"])
def test_every_named_file_is_there(name):
    named = NAMED.findall((ROOT / name).read_text(encoding="utf-8"))
    assert [path for path in named if not (ROOT / path).exists()] == []


def test_a_dead_link_is_seen():
    page = ROOT / "README.md"
    text = "# One\n[a](#one) [b](#two) [c](nowhere.md) [d](DEVELOPERS.md#the-map) [e](https://example.org/x)"
    page_here = ROOT / "sim" / "PHYSICS.md"
    assert dead_links(page, text) == ["#one", "#two", "nowhere.md"]
    assert dead_links(page_here, "[f](../LICENSE) [g](LICENSE)") == ["LICENSE"]


def test_a_report_from_a_rig_asks_first_whether_everybody_is_safe():
    form = (ROOT / ".github" / "ISSUE_TEMPLATE" / "rig.yml").read_text(encoding="utf-8")
    first = form.split("body:")[1].split("- type:")[1]
    assert "safe" in first
    assert "required: true" in first
