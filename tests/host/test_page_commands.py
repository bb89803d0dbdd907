"""Commands and what they say are found on a page, and what no longer holds is noticed."""

import pytest
from PIL import Image

from ribwright_host import first_bend
from ribwright_host.page_commands import Said, alike, blocks, pairs, renewed, run, words_of

PAGE = """Words.

```
ribwright one   # for readers
ribwright two "a b"
```

```text
zone waist: 150 C after 2.5 min
...
wrote run.csv
```

```toml
schema = 1
```
"""
SAID = "zone waist: 151 C after 2.6 min\nmore\nwrote run.csv\n"


def test_commands_and_what_belongs_to_them_are_found():
    assert [block.language for block in blocks(PAGE)] == ["", "text", "toml"]
    (one, none), (two, shown) = pairs(PAGE)
    assert words_of(one) == ["ribwright", "one"]
    assert none is None
    assert words_of(two) == ["ribwright", "two", "a b"]
    assert PAGE[shown.start : shown.end] == shown.text


@pytest.mark.parametrize(
    ("old", "new", "same"),
    [
        ("held 2:31 at 150 C", "held 2:32 at 151 C", True),
        ("at 150 C", "at 170 C", False),
        ("0.30 C", "0.32 C", True),
        ("0.30 C", "0.35 C", False),
        ("rig ab41ae20ffe6, 2026-11-29", "rig 0123456789ab, 2027-01-02", True),
        ("wrote run.csv", "wrote the run.csv", False),
    ],
)
def test_figures_may_move_a_hair_and_words_may_not(old, new, same):
    assert alike(old, new) == same


def test_lines_that_hold_stay_and_figures_that_moved_are_renewed():
    shown = "zone waist: 150 C after 2.5 min\n...\nwrote run.csv\n"
    assert renewed(shown, SAID) == shown
    assert renewed(shown, SAID.replace("151", "175")) == shown.replace("150", "175").replace("2.5", "2.6")


@pytest.mark.parametrize(
    ("shown", "missing"),
    [
        ("zone bouts: 150 C after 2.5 min\n...\n", "zone bouts"),
        ("zone waist: 150 C after 2.5 min\nwrote run.csv\n", "wrote run.csv"),
        ("more\n...\n", "more"),
        ("...\nmore\n", "wrote run.csv"),
        ("...\nwrote run.csv\nmore\n", "more"),
    ],
    ids=["not said", "something between", "something before", "something after", "order"],
)
def test_a_line_that_is_not_said_is_named(shown, missing):
    with pytest.raises(LookupError, match=missing):
        renewed(shown, SAID)


def test_a_command_is_run_away_from_the_users_own_files(tmp_path):
    home = tmp_path / "home"
    said = run("ribwright check *.toml   # each", tmp_path, home)
    assert said.code == 3
    assert "*.toml does not exist" in said.text
    (tmp_path / "a.toml").write_text("schema = 1\n")
    assert "a.toml" in run("ribwright check *.toml", tmp_path, home).text
    with pytest.raises(ValueError, match="no command of ribwright"):
        run("rm -r here", tmp_path, home)


def test_a_page_is_played_and_what_does_not_hold_is_told(tmp_path, monkeypatch):
    answers = {
        "ribwright one   # for readers": Said(3, "no_file: gone\n"),
        'ribwright two "a b"': Said(0, SAID),
    }
    monkeypatch.setattr(first_bend, "run", lambda line, _folder, _home: answers[line])
    new, wrong = first_bend.play(PAGE, tmp_path, lambda _line: None)
    assert new == PAGE
    assert wrong == ["ribwright one   # for readers\n  ended with 3: no_file: gone"]


def test_another_picture_is_seen_and_a_hair_is_not(tmp_path):
    def picture(wide):
        image = Image.new("RGB", (400, 300), "white")
        image.paste("black", (50, 100, 50 + wide, 110))
        path = tmp_path / f"{wide}.png"
        image.save(path)
        return path

    kept = tmp_path / "kept.png"
    assert not first_bend.looks_the_same(kept, first_bend.small(picture(200)))
    first_bend.small(picture(200)).save(kept)
    assert first_bend.looks_the_same(kept, first_bend.small(picture(201)))
    assert not first_bend.looks_the_same(kept, first_bend.small(picture(300)))
    assert not first_bend.looks_the_same(kept, first_bend.small(picture(200)).resize((200, 150)))


def test_pictures_are_drawn_when_asked_and_else_only_named(tmp_path, monkeypatch):
    kept = tmp_path / "kept"
    kept.mkdir()
    monkeypatch.setattr(first_bend, "PICTURES", kept)
    monkeypatch.setattr(first_bend, "MADE", {"a.png": "a.png", "b.svg": "b.svg"})
    work = tmp_path / "work"
    work.mkdir()
    Image.new("RGB", (40, 30), "red").save(work / "a.png")
    (work / "b.svg").write_text('<svg><line x="1.0"/></svg>')
    assert first_bend.pictures(work, write=False) == ["a.png", "b.svg"]
    assert not list(kept.iterdir())
    assert first_bend.pictures(work, write=True) == []
    assert first_bend.pictures(work, write=False) == []
    (work / "b.svg").unlink()
    assert "no command wrote b.svg" in first_bend.pictures(work, write=False)[0]
    assert "no command wrote b.svg" in first_bend.pictures(work, write=True)[0]
