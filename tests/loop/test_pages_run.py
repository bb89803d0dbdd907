"""Every command that the pages show is run, in the order of the page, on the virtual rig.

What cannot be run here as it stands is in the tables below, with the reason, and is then changed as little as
it needs or held to the options that the command knows.
"""

import os
import re
import shlex
import subprocess
import sys
import time
from pathlib import Path

import click
import pytest

from ribwright_host import first_bend
from ribwright_host.cli import cli
from ribwright_host.page_commands import blocks, environment, lines_of, run, words_of

ROOT = Path(__file__).resolve().parents[2]
PAGES = sorted(
    path.relative_to(ROOT).as_posix()
    for folder in (".", ".github", "host", "sim", "wiring", "firmware")
    for path in (ROOT / folder).glob("*.md")
)
# First words of a command -> what is added to it, and why.
ADDED = {
    "ribwright new": ("--yes", "it asks at a terminal"),
    "ribwright start shop/profile.toml --from-stage 3": ("--yes", "it asks at a terminal whether to go on"),
    "ribwright rehearse": ("--plants 0", "one rig is enough to see that it runs"),
    "ribwright prove": ("--list", "its steps need a person; tests/host/test_prove.py goes through them"),
    "ribwright flash": (
        "--port /dev/ribwright-nothing",
        "a board that happens to be plugged in is left alone",
    ),
}
# Without a run of their own to act on they end with 7: the board understood and refused.
DURING = ("next", "nudge", "extend", "back-off", "mark", "start shop/profile.toml --from-stage 3")
ENDS = {**{f"ribwright {words}": (0, 7) for words in DURING}, "ribwright flash": (4,)}
# Held to the options that the command knows, and why.
NOT_RUN = {
    "ribwright demo": "tests/loop/test_demo_story.py runs it",
    "ribwright tune": "the first bend runs it: a minute and more",
    "ribwright plan --species": "the first bend runs it",
    "ribwright plan piece.toml": "the drawing of the form is the reader's; see tests/host/test_plan.py",
}
# Programs that are not ours.
OTHERS = {
    "pipx": "installs; tests/package builds the wheel it would install",
    "make": "targets are looked up",
}


def first(table, line):
    """What a table has for a command, None without."""
    return next((value for begin, value in table.items() if line.startswith(begin)), None)


def known(line):
    """Raise what click has against a command: a name or an option that is not there."""
    words = words_of(line)[1:]
    command, context = cli, click.Context(cli)
    while isinstance(command, click.Group) and words and not words[0].startswith("-"):
        name = words.pop(0)
        found = command.get_command(context, name)
        if found is None:
            raise LookupError(f"no command {name}")
        command = found
    command.make_context(command.name, words)


def targets():
    """Targets of the Makefile."""
    text = (ROOT / "Makefile").read_text(encoding="utf-8")
    return set(re.findall(r"^([a-z-]+):", text, flags=re.MULTILINE))


def wrong_in_text(text):
    """Commands named within sentences that are not as the command line would take them."""
    wrong = []
    prose = re.sub(r"^```.*?^```$", "", text, flags=re.MULTILINE | re.DOTALL)
    for line in re.findall(r"`(ribwright [^`]+)`", prose):
        try:
            known(line)
        except (click.NoSuchOption, LookupError) as error:
            wrong.append(f"{line}: {error}")
        except click.UsageError:
            # A sentence may leave out what a command needs, or say RUN for a number.
            continue
    return wrong + [
        f"make {name}" for name in re.findall(r"`make ([a-z-]+)[^`]*`", prose) if name not in targets()
    ]


@pytest.mark.parametrize("name", PAGES)
def test_commands_named_in_sentences_exist_with_their_options(name):
    assert wrong_in_text((ROOT / name).read_text(encoding="utf-8")) == []


def test_a_wrong_command_in_a_sentence_is_seen():
    text = "`ribwright wathc` `ribwright watch --plane` `ribwright book ad` `make tests`"
    assert len(wrong_in_text(text)) == 4
    assert wrong_in_text("`ribwright runs --pin 3` `ribwright book` `make test`") == []


def page_shown(line, folder, home):
    """Start `ribwright page`, wait until it says where it is, end it; whether it did, and words."""
    words = [*words_of(line)[1:], "--listen", "127.0.0.1:0"]
    process = subprocess.Popen(
        [sys.executable, "-m", "ribwright_host", *words],
        cwd=folder,
        env={**environment(home), "PYTHONUNBUFFERED": "1"},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
    )
    said, until = [], time.monotonic() + 120
    try:
        while time.monotonic() < until and not any("http://127.0.0.1" in one for one in said):
            row = process.stdout.readline()
            if not row:
                break
            said.append(row)
        # An interrupt is nothing to a process that was started behind a shell's back.
        process.terminate()
        said.append(process.communicate(timeout=60)[0])
    finally:
        # It would start its virtual rig anew for as long as the computer runs.
        process.kill()
    return any("http://127.0.0.1" in one for one in said), "".join(said)


def play(name, folder):
    """Run the commands of a page's blocks in order; what went wrong."""
    work, home = folder / "work", folder / "home"
    work.mkdir()
    home.mkdir()
    wrong, ran = [], 0
    for block in blocks((ROOT / name).read_text(encoding="utf-8")):
        for line in lines_of(block) if not block.language else ():
            program = words_of(line)[0]
            if program in OTHERS:
                if program == "make" and words_of(line)[1] not in targets():
                    wrong.append(f"{line}: no such target")
                continue
            if first(NOT_RUN, line):
                known(line)
                continue
            ran += 1
            if line.startswith("ribwright page"):
                shown, text = page_shown(line, work, home)
                if not shown:
                    wrong.append(f"{line}: {text}")
                continue
            # Without the words for readers, so that nothing that is added stands behind a `#`.
            plain = " ".join([shlex.join(words_of(line)), *(first(ADDED, line) or ())[:1]])
            if first(ENDS, line) == (0, 7):
                plain += " --port virtual"
            said = run(plain, work, home)
            if said.code not in (first(ENDS, line) or (0,)):
                wrong.append(f"{plain}: ended with {said.code}: {said.text[-400:]}")
    return wrong, ran


@pytest.mark.skipif(os.name == "nt", reason="the virtual rig's notes cannot be kept apart by variables there")
def test_every_command_of_the_readme_does_what_it_says(tmp_path):
    wrong, ran = play("README.md", tmp_path)
    assert wrong == []
    assert ran > 25


def test_a_wrong_command_on_a_page_is_seen(tmp_path):
    page = tmp_path / "page.md"
    page.write_text(
        "```\nribwright check nothing.toml\nribwright runs --al\nmake cofee\n```\n", encoding="utf-8"
    )
    wrong, ran = play(page, tmp_path)
    assert [one.split(":")[0].strip() for one in wrong] == [
        "ribwright check nothing.toml",
        "ribwright runs --al",
        "make cofee",
    ]
    assert ran == 2


def test_every_exception_is_still_on_a_page():
    lines = [
        line
        for block in blocks((ROOT / "README.md").read_text(encoding="utf-8"))
        for line in (lines_of(block) if not block.language else ())
    ]
    for table in (ADDED, ENDS, NOT_RUN, OTHERS):
        for begin in table:
            assert any(line.startswith(begin) for line in lines), begin
    played = (ROOT / "host" / "FIRST_BEND.md").read_text(encoding="utf-8")
    for line in lines:
        if "the first bend runs it" in (first(NOT_RUN, line) or ""):
            assert line.partition("  #")[0] in played


@pytest.mark.skipif(os.name == "nt", reason="the virtual rig's notes cannot be kept apart by variables there")
def test_the_first_bend_goes_as_its_page_says(capsys):
    assert first_bend.main([]) == 0, capsys.readouterr().err
