"""The panel's step against the virtual rig: whole panels pass, each planted fault is told by its own word."""

import tomllib
from importlib.resources import files

import pytest
import tomlkit

from host.test_prove import answers, prove, seeded, stopped
from ribwright_host.prove import command, record, steps_panel
from ribwright_host.prove.person import read_answers
from ribwright_host.prove.step import NAMES
from ribwright_host.rigs import load_rig

WHOLE = {
    "display": "SSD1306",
    "sda": 4,
    "scl": 5,
    "knob_a": 6,
    "knob_b": 7,
    "buzzer": 8,
    "buzzer_type": "active",
}
PUSHED = WHOLE | {"knob_push": 9}
KNOB = {"knob_a": 6, "knob_b": 7}
BUZZER = {"buzzer": 8}
# What somebody sees at a whole panel in a shop of 21 C, and measures where nothing shows.
SEEN = {
    "panel.figure": "21",
    "panel.name": "trial one",
    "panel.buzzer": "yes",
    "panel.knob": "knob_a",
}


class OnlyThePanelError(Exception):
    """Ends the ladder after its step."""


@pytest.fixture
def rig_path(tmp_path):
    path = tmp_path / "rig.toml"
    path.write_bytes((files("ribwright_host") / "library" / "rig_two_zone_120v.toml").read_bytes())
    return path


@pytest.fixture(autouse=True)
def ends_after_it(monkeypatch):
    """The steps behind it have tests of their own."""

    def end(_work):
        raise OnlyThePanelError

    monkeypatch.setitem(command.climb.__globals__["DO"], "hands", end)


def with_panel(rig_path, parts):
    document = tomlkit.parse(rig_path.read_text(encoding="utf-8"))
    document["panel"] = parts
    rig_path.write_text(tomlkit.dumps(document), encoding="utf-8")


def passes(rig_path, tmp_path, parts, *orders, changes=None):
    """The figures of a panel that passes, by name."""
    if parts:
        with_panel(rig_path, parts)
    seeded(tmp_path / "prove", rig_path, "panel")
    with pytest.raises(OnlyThePanelError):
        prove(rig_path, tmp_path, *orders, changes=SEEN | (changes or {}))
    kept = record.load(tmp_path / "prove")
    assert kept.passed("panel")
    return {figure.name: figure for figure in kept.steps["panel"].figures}


def fails(rig_path, tmp_path, parts, *orders, changes=None):
    """The word and the words of a panel that does not."""
    if parts:
        with_panel(rig_path, parts)
    step, code, words = stopped(rig_path, tmp_path, *orders, up_to="panel", changes=SEEN | (changes or {}))
    assert step == "panel"
    return code, words


def test_whole_panel_is_judged_by_what_the_board_lays_out(rig_path, tmp_path):
    seen = passes(rig_path, tmp_path, WHOLE)
    assert seen["stop"].seen == "seen"
    assert seen["start laid out"].seen == "trial one"
    assert seen["after next, start laid out"].seen == "trial two"
    assert seen["after a detent clockwise, start laid out"].seen == "trial three"
    assert seen["after a detent anticlockwise, start laid out"].seen == "trial two"
    assert seen["start"].source == "judged by the board"
    # The room is near 21.5 C: which way it is rounded hangs on the noise of the moment it was read.
    assert seen["figure on the display"].limit in ("19 to 23 C", "20 to 24 C")
    assert seen["beside its buttons"].seen.startswith("buzzer 8, buzzer_type active, display SSD1306")


def test_push_of_the_knob_is_seen_by_the_start_after_it(rig_path, tmp_path):
    seen = passes(rig_path, tmp_path, PUSHED)
    assert (seen["push"].seen, seen["push"].source) == ("seen", "judged by the board")


@pytest.mark.parametrize("wires", ["cut", "closed"])
def test_push_switch_that_is_cut_or_stuck_is_told(rig_path, tmp_path, wires):
    code, words = fails(rig_path, tmp_path, PUSHED, {"wires": "push", "are": wires})
    assert code == "no_push"
    assert "start after it laid nothing out" in words


@pytest.mark.parametrize("parts", [None, KNOB, BUZZER, KNOB | BUZZER], ids=["none", "knob", "buzzer", "both"])
def test_panel_without_a_display_is_judged_as_far_as_it_shows(rig_path, tmp_path, parts):
    seen = passes(rig_path, tmp_path, parts)
    assert seen["stop"].seen == seen["start"].seen == "seen"
    by_board = [name for name in ("next", "knob") if name in seen]
    assert by_board == (["next", "knob"] if parts == KNOB | BUZZER else ["next"] if parts == BUZZER else [])
    measured = [name for name in seen if name.startswith("contact of the knob")]
    assert bool(measured) == bool(parts and "knob_a" in parts)


def test_rig_that_only_watches_has_its_panel_shown_as_well(rig_path, tmp_path):
    document = tomlkit.parse(rig_path.read_text(encoding="utf-8"))
    for zone in document["zones"]:
        zone["relay"] = "none"
        del zone["relay_pin"]
    rig_path.write_text(tomlkit.dumps(document), encoding="utf-8")
    assert passes(rig_path, tmp_path, WHOLE)["start"].seen == "seen"


@pytest.mark.parametrize(
    ("order", "code", "words"),
    [
        ({"wires": "stop", "are": "cut"}, "no_stop", "stop was not seen within 60 s; the rig was ready"),
        ({"wires": "start", "are": "cut"}, "no_start", "start was not seen"),
        ({"wires": "start", "are": "closed"}, "no_start", "stuck closed"),
        ({"wires": "next", "are": "cut"}, "no_next", "what start laid out did not change"),
        ({"wires": "next", "are": "closed"}, "no_next", "next was not seen"),
        ({"wires": "knob", "are": "cut"}, "dead", "a detent clockwise changed nothing"),
        ({"wires": "knob", "are": "crossed"}, "swapped", "knob_a and knob_b are exchanged"),
    ],
)
def test_planted_fault_of_a_whole_panel_is_told(rig_path, tmp_path, order, code, words):
    told = fails(rig_path, tmp_path, WHOLE, order)
    assert told[0] == code, told
    assert words in told[1]


@pytest.mark.parametrize("part", ["knob", "next"])
def test_dead_part_beside_a_buzzer_alone_is_told(rig_path, tmp_path, part):
    code, words = fails(rig_path, tmp_path, KNOB | BUZZER, {"wires": part, "are": "cut"})
    assert code == f"no_{part}"
    assert "start after it laid nothing out" in words


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"panel.figure": "none"}, "no_display"),
        ({"panel.figure": "---"}, "no_display"),
        ({"panel.figure": "71"}, "other_figure"),
        ({"panel.name": "none"}, "other_name"),
        ({"panel.buzzer": "no"}, "silent"),
    ],
)
def test_what_the_person_sees_and_hears_counts(rig_path, tmp_path, changes, code):
    assert fails(rig_path, tmp_path, WHOLE, changes=changes)[0] == code


def test_display_that_is_absent_is_found_even_where_somebody_says_it_shows(rig_path, tmp_path):
    # With a buzzer start lays out, but unseen nothing can be chosen: next goes nowhere.
    absent = {"display": "absent"}
    assert fails(rig_path, tmp_path, WHOLE, absent)[0] == "no_next"
    alone = {key: value for key, value in WHOLE.items() if not key.startswith("buzzer")}
    assert fails(rig_path, tmp_path, alone, absent)[0] == "no_start"


@pytest.mark.parametrize(
    ("parts", "changes", "code"),
    [
        (None, {"panel.next": "no"}, "next"),
        (KNOB, {"panel.knob": "knob_b"}, "swapped"),
        (KNOB, {"panel.knob": "none"}, "dead"),
    ],
)
def test_what_a_meter_shows_counts_where_the_board_tells_nothing(rig_path, tmp_path, parts, changes, code):
    assert fails(rig_path, tmp_path, parts, changes=changes)[0] == code


def test_another_panel_than_was_shown_is_open_again(rig_path, tmp_path):
    passes(rig_path, tmp_path, KNOB)
    folder = tmp_path / "prove"
    kept = record.load(folder)
    assert not steps_panel.changed(kept, load_rig(rig_path).mapping)
    hash_before = load_rig(rig_path).hash
    with_panel(rig_path, WHOLE)
    assert load_rig(rig_path).hash == hash_before
    assert steps_panel.changed(kept, load_rig(rig_path).mapping)
    told = command.run(rig_path, port=None, begin=None, out=folder, only_list=True, answers=None, quiet=True)
    assert "panel" not in told["steps"]
    assert list(told["steps"]) == sorted(NAMES[: NAMES.index("panel")])


def test_answers_name_the_panels_questions(tmp_path):
    person = read_answers(answers(tmp_path, SEEN))
    assert person.text(("panel", "figure"), "the figure") == "21"
    assert set(tomllib.loads((tmp_path / "answers.toml").read_text())["panel"]) == {
        "next",
        "figure",
        "name",
        "buzzer",
        "knob",
    }
