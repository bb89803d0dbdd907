"""The ladder against the virtual rig: a healthy one passes, each planted fault stops at its own step."""

import json
import tomllib
from contextlib import contextmanager
from importlib.resources import files
from pathlib import Path

import pytest
import tomlkit
from click.testing import CliRunner

from ribwright_host import virtual
from ribwright_host.cli import cli
from ribwright_host.errors import FileError, LinkLostError, NotProvedError, UsageError
from ribwright_host.link import Link, hello
from ribwright_host.prove import command, ladder, record, sheet
from ribwright_host.prove.hands import VirtualHands
from ribwright_host.prove.step import LADDER, NAMES
from ribwright_host.prove.trial import PIECE, Trial
from ribwright_host.rigs import load_rig
from ribwright_host.transport import open_port
from ribwright_host.virtual import running as begun

ANSWERS = Path(__file__).with_name("prove_answers.toml")
DATE = "2026-01-02T03:04:05Z"
SETTLED_ROWS = 8
# Virtual seconds in a real one while nothing heats: most of a proof waits at rest.
PACE = 60.0


@contextmanager
def running(rig, piece, folder, **settings):
    """A virtual rig that rests quickly, and has done what hands do before anybody looks.

    An order that comes late on a busy machine is many seconds late by the board's clock, which steps go by.
    """
    with begun(rig, piece, folder, **{"idle_speed": PACE, **settings}) as process:
        order = process.command

        def at_once(command):
            order(command)
            # Orders are taken in their order, and one that is none is told.
            order({"no order": 0})
            process.wait_for("refused")

        process.command = at_once
        yield process


@pytest.fixture
def rig_path(tmp_path):
    path = tmp_path / "rig.toml"
    path.write_bytes((files("ribwright_host") / "library" / "rig_two_zone_120v.toml").read_bytes())
    return path


@pytest.fixture(autouse=True)
def rig_of_the_command_rests_quickly(monkeypatch):
    monkeypatch.setattr(virtual, "running", running)


def answers(tmp_path, changes=None):
    """A file of answers, some of them others; changes: dotted key -> value."""
    values = tomllib.loads(ANSWERS.read_text(encoding="utf-8"))
    for key, value in (changes or {}).items():
        *tables, name = key.split(".")
        table = values
        for each in tables:
            table = table[each]
        table[name] = value
    path = tmp_path / "answers.toml"
    path.write_text(tomlkit.dumps(values), encoding="utf-8")
    return path


def seeded(folder, rig_path, up_to):
    """A record in which every step before up_to was passed."""
    rig = load_rig(rig_path)
    found = record.Record(rig.hash, rig.name, simulated=True)
    for name in NAMES[: NAMES.index(up_to)]:
        found.steps[name] = record.Result(record.PASSED, DATE)
    record.save(found, folder)


def prove(rig_path, tmp_path, *orders, begin=None, board_rig=None, changes=None, **settings):
    """Prove a virtual rig with faults ordered at its start; the record in the folder."""
    held = load_rig(rig_path if board_rig is None else board_rig)

    def way(stack):
        process = stack.enter_context(running(held.mapping, PIECE, tmp_path / "board", **settings))
        link = Link(open_port(process.url))
        stack.callback(link.close)
        for order in orders:
            process.command(order)
        board = hello(link)
        # A fault stands before the proof begins: one that comes in the midst of its first seconds is a jump
        # of the reading, and that is told as no reading.
        seen = 0
        while orders and seen < SETTLED_ROWS:
            tells = link.listen(20.0)
            assert tells, "the board tells nothing"
            seen += sum(tell.verb == "row" for tell in tells)
        return link, board, VirtualHands(process.command)

    command.run(
        rig_path,
        port="virtual",
        begin=begin,
        out=tmp_path / "prove",
        only_list=False,
        keep_offsets=False,
        answers=answers(tmp_path, changes),
        quiet=True,
        connect=way,
    )
    return record.load(tmp_path / "prove")


def stopped(rig_path, tmp_path, *orders, up_to, **more):
    """The step and the word at which a rig with faults stops, and its words; begun before the step up_to."""
    seeded(tmp_path / "prove", rig_path, up_to)
    with pytest.raises(NotProvedError) as raised:
        prove(rig_path, tmp_path, *orders, **more)
    kept = record.load(tmp_path / "prove")
    step = raised.value.where["step"]
    assert kept.steps[step].result == record.FAILED
    assert kept.steps[step].code == raised.value.where["why"]
    return step, raised.value.where["why"], kept.steps[step].words


def test_healthy_rig_passes_every_step_and_ends_with_a_sheet(rig_path, tmp_path):
    result = CliRunner().invoke(
        cli,
        ["prove", str(rig_path), "--port", "virtual", "--answers", str(ANSWERS), "--json"],
        catch_exceptions=False,
    )
    assert result.exit_code == 0, result.output
    told = json.loads(result.stdout)
    assert told["schema"] == 1
    assert told["simulated"] is True
    assert list(told["steps"]) == sorted(NAMES)
    assert {step["result"] for step in told["steps"].values()} == {"passed"}
    assert told["rig"] == load_rig(rig_path).hash
    assert told["board"]
    page = (tmp_path / "prove" / "prove.html").read_text(encoding="utf-8")
    assert "SIMULATED" in page
    assert "All 12 steps were passed" in page
    assert "--keep-offsets" in page
    for words in LADDER:
        assert words.title.replace("'", "&#39;") in page
    # Both zones answered their own pulse, as the board measured it.
    answered = [figure for figure in told["steps"]["stack"]["figures"] if "answered" in figure["name"]]
    assert [1.0 < float(figure["seen"]) < 6.0 for figure in answered] == [True, True]


def test_exchanged_thermocouples_are_found_in_the_hand(rig_path, tmp_path):
    step, code, words = stopped(rig_path, tmp_path, {"swap": [0, 1]}, up_to="board")
    assert (step, code) == ("hands", "swapped")
    assert "with the junction of waist in the hand, zone full rose" in words


def test_wire_of_another_type_is_found_in_boiling_water(rig_path, tmp_path):
    # Type J gives 5.269 - 1.277 mV from 25 to 100 C where K gives 4.096 - 1.000 (ITS-90, from memory).
    gain = (5.269 - 1.277) / (4.096 - 1.000)
    step, code, words = stopped(
        rig_path, tmp_path, {"chip": 1, "state": "wrong_gain", "gain": gain}, up_to="board"
    )
    assert (step, code) == ("boiling", "wrong_type")
    assert "zone full" in words
    assert "wire of type J" in words


def test_exchanged_relays_are_seen_at_the_inputs_and_found_by_the_lamps(rig_path, tmp_path):
    crossed = {"crossed": [1, 0]}
    seen = {"pins.alone": "full"}
    assert stopped(rig_path, tmp_path, crossed, up_to="pins", changes=seen)[:2] == ("pins", "swapped")
    step, code, words = stopped(rig_path, tmp_path, crossed, up_to="lamp")
    assert (step, code) == ("lamp", "no_rise"), words
    assert "zone waist" in words


def test_welded_contactor_is_seen_by_the_lamp_or_found_by_the_board(rig_path, tmp_path):
    welded = {"contactor": "closed"}
    seen = {"lamp.lit.waist": "before it clicked"}
    assert stopped(rig_path, tmp_path, welded, up_to="lamp", changes=seen)[:2] == ("lamp", "contactor_closed")
    assert stopped(rig_path, tmp_path, welded, up_to="lamp")[:2] == ("lamp", "contactor_closed")


def test_dead_zone_is_found_before_the_next_ones_lamp(rig_path, tmp_path):
    step, code, words = stopped(rig_path, tmp_path, {"relay": 0, "stuck": "off"}, up_to="lamp")
    assert (step, code) == ("lamp", "no_rise"), words
    assert "zone waist" in words
    last = stopped(rig_path, tmp_path, {"relay": 1, "stuck": "off"}, up_to="stack")
    assert last[:2] == ("stack", "no_rise")


def test_cut_off_in_another_zones_lead_is_found(rig_path, tmp_path):
    step, code, words = stopped(rig_path, tmp_path, {"cutoff": 1, "open": True}, up_to="stack")
    assert (step, code) == ("stack", "no_rise")
    assert "zone full" in words


def test_board_with_another_rigs_hash_is_found_at_its_first_word(rig_path, tmp_path):
    other = tmp_path / "other.toml"
    other.write_text(rig_path.read_text(encoding="utf-8").replace("power_w = 105", "power_w = 120"), "utf-8")
    step, code, words = stopped(rig_path, tmp_path, up_to="board", board_rig=other)
    assert (step, code) == ("board", "other_rig")
    assert load_rig(rig_path).hash in words
    assert load_rig(other).hash in words


@pytest.mark.parametrize(
    ("changes", "step", "code"),
    [
        ({"papers.cautions": "no"}, "papers", "seen"),
        ({"papers.electrician": ""}, "papers", "unnamed"),
        # A blanket for 230 V: 230^2/105 = 504 ohm where 120^2/105 = 137 is meant.
        ({"cold.blanket_ohm.waist": 504}, "cold", "resistance"),
        ({"cold.insulation_mohm.full": 0.4}, "cold", "insulation"),
        ({"cold.earth_ohm": 0.21}, "cold", "earth"),
        ({"cold.earth_ohm": float("nan")}, "cold", "earth"),
    ],
)
def test_a_figure_beyond_its_limit_is_refused(rig_path, tmp_path, changes, step, code):
    def nobody(_stack):
        pytest.fail("no board is needed for this")

    with pytest.raises(NotProvedError) as raised:
        command.run(
            rig_path,
            port="virtual",
            begin=None,
            out=tmp_path / "prove",
            only_list=False,
            answers=answers(tmp_path, changes),
            quiet=True,
            connect=nobody,
        )
    assert (raised.value.where["step"], raised.value.where["why"]) == (step, code)
    assert raised.value.exit_code == 11
    assert "NOT PASSED" in (tmp_path / "prove" / "prove.html").read_text(encoding="utf-8")


def test_a_step_is_offered_only_after_those_before_it(rig_path, tmp_path):
    seeded(tmp_path / "prove", rig_path, "hands")
    kept = record.load(tmp_path / "prove")
    assert ladder.first_step(kept, None) == NAMES.index("hands")
    assert ladder.first_step(kept, "cold") == NAMES.index("cold")
    with pytest.raises(UsageError, match="step lamp comes after step hands, which has not been done"):
        ladder.first_step(kept, "lamp")
    kept.steps["cold"] = record.Result(record.FAILED, DATE, [], "earth", "0.4 ohm")
    with pytest.raises(UsageError, match="after step cold, which was not passed"):
        ladder.first_step(kept, "hands")
    with pytest.raises(UsageError, match="no step is called kettle"):
        ladder.first_step(kept, "kettle")


def test_record_of_another_rig_or_of_another_kind_is_not_mixed(rig_path, tmp_path):
    seeded(tmp_path / "prove", rig_path, "hands")
    rig = load_rig(rig_path)
    with pytest.raises(FileError, match="holds the steps of rig"):
        ladder.opened(tmp_path / "prove", "0" * 12, "another", simulated=True)
    with pytest.raises(FileError, match="holds the steps of a simulated rig, this is a real rig"):
        ladder.opened(tmp_path / "prove", rig.hash, rig.name, simulated=False)


@pytest.mark.parametrize(
    "content", ["", "[]", '{"schema": 2}', '{"schema": 1, "steps": {"cold": 5}}', "\xff"]
)
def test_a_record_that_is_none_is_refused_and_kept(tmp_path, content):
    path = tmp_path / record.NAME
    path.write_text(content, encoding="latin-1")
    with pytest.raises(FileError) as raised:
        record.load(tmp_path)
    assert raised.value.code == "bad_record"
    assert path.read_text(encoding="latin-1") == content


def test_a_missing_answer_names_its_key(rig_path, tmp_path):
    path = tmp_path / "answers.toml"
    result = CliRunner().invoke(cli, ["prove", str(rig_path), "--port", "virtual", "--answers", str(path)])
    assert result.exit_code == 3
    assert "does not exist; without --answers whoever stands at the rig is asked" in result.stderr
    path.write_text('[papers]\ncautions = "maybe"\n', encoding="utf-8")
    result = CliRunner().invoke(cli, ["prove", str(rig_path), "--port", "virtual", "--answers", str(path)])
    assert result.exit_code == 3
    assert "papers.cautions is 'maybe'; put one of yes, no" in result.stderr
    path.write_text('[papers]\ncautions = "yes"\n', encoding="utf-8")
    result = CliRunner().invoke(cli, ["prove", str(rig_path), "--port", "virtual", "--answers", str(path)])
    assert "papers.who is missing" in result.stderr


def test_list_shows_every_step_and_touches_no_board(rig_path, tmp_path):
    seeded(tmp_path / "prove", rig_path, "cold")
    result = CliRunner().invoke(cli, ["prove", str(rig_path), "--list"])
    assert result.exit_code == 0, result.output
    assert all(name in result.stdout for name in NAMES)
    assert "SIMULATED" in result.stdout
    assert "not done" in result.stdout


def test_json_needs_a_file_of_answers(rig_path):
    result = CliRunner().invoke(cli, ["prove", str(rig_path), "--json"])
    assert result.exit_code == 2
    assert "--answers" in result.stderr


def test_another_board_does_not_inherit_what_the_first_one_showed():
    class Other:
        board_id, firmware, port, simulated = "b2", "0.1.0", "COM3", False

    kept = record.Record("r", "n", simulated=False, board="b1")
    for name in NAMES:
        kept.steps[name] = record.Result(record.PASSED, DATE)
    with pytest.raises(FileError, match="by board b1, here answers b2"):
        ladder.take_board(kept, Other, NAMES.index("lamp"))
    ladder.take_board(kept, Other, NAMES.index("board"))
    assert list(kept.steps) == ["papers", "cold"]
    assert kept.board == "b2"


def test_sheet_of_a_real_rig_says_nothing_of_simulation_and_what_was_not_done():
    kept = record.Record("ab12", "rig <one>", simulated=False)
    kept.steps["papers"] = record.Result(record.PASSED, DATE)
    page = sheet.page(kept)
    assert "SIMULATED" not in page
    assert "rig &lt;one&gt;" in page
    assert f"Not shown:</b> {', '.join(NAMES[1:])}" in page
    assert "no certificate" in page


def test_at_a_terminal_it_asks_keeps_each_step_and_goes_on_another_day(rig_path, tmp_path):
    said = ["yes", "the maker", "the shop's electrician", "a meter", "y"]
    measured = ["138", "200", "35", "150", "0.12", "n"]
    begun = ["prove", str(rig_path), "--port", "virtual"]
    result = CliRunner().invoke(cli, begun, input="\n".join([*said, *measured]) + "\n")
    assert result.exit_code == 0, result.output
    assert "Mains voltage kills." in result.stdout
    assert "SIMULATED" in result.stdout
    kept = record.load(tmp_path / "prove")
    assert [kept.passed(name) for name in NAMES[:3]] == [True, True, False]
    # Another day; a figure beyond its limit is asked for again when the person wants it.
    again = "\n".join(["504", "y", *measured]) + "\n"
    result = CliRunner().invoke(cli, [*begun, "--from", "cold"], input=again)
    assert result.exit_code == 0, result.output
    assert "NOT PASSED" in result.stdout
    assert record.load(tmp_path / "prove").passed("cold")


def test_a_file_cannot_say_what_is_seen_at_a_real_rig(rig_path):
    result = CliRunner().invoke(cli, ["prove", str(rig_path), "--port", "COM3", "--answers", str(ANSWERS)])
    assert result.exit_code == 2
    assert "somebody has to look" in result.stderr


def test_whoever_leaves_during_a_start_leaves_no_run_behind(rig_path, tmp_path):
    rig = load_rig(rig_path)
    with running(rig.mapping, PIECE, tmp_path / "board") as process:
        link = Link(open_port(process.url))
        trial = Trial(link, hello(link), rig)

        def leave():
            assert trial.status()["mode"] == "ready"
            raise KeyboardInterrupt

        with pytest.raises(KeyboardInterrupt):
            trial.start(leave)
        assert trial.status()["mode"] == "idle"
        process.press("start")
        assert {row.mode for row in trial.rows(3.0)} == {"idle"}
        link.close()


def test_rig_in_fahrenheit_with_feedback_has_its_emergency_stop_judged_by_the_board(rig_path, tmp_path):
    values = tomlkit.parse(rig_path.read_text(encoding="utf-8"))
    values["unit"] = "F"
    values["pins"]["feedback"] = 22
    values["stack"]["ambient"] = 70
    for zone in values["zones"]:
        zone["ceiling"] = 374
    rig_path.write_text(tomlkit.dumps(values), encoding="utf-8")
    seeded(tmp_path / "prove", rig_path, "board")
    kept = prove(rig_path, tmp_path, changes={"sensors.room": 70.5})
    assert all(kept.passed(name) for name in NAMES)
    seen = {figure.name: figure.seen for figure in kept.steps["emergency"].figures}
    assert seen["start was"] == "contactor_open the rig"
    lamps = [figure.name for figure in kept.steps["lamp"].figures]
    assert lamps.count("feedback pin of the contactor") == 2
    reads = next(figure for figure in kept.steps["sensors"].figures if figure.name == "zone waist reads")
    assert reads.unit == "F"
    assert 68 < float(reads.seen) < 72


def test_thermometer_that_disagrees_and_a_stop_outside_the_coils_loop_are_refused(rig_path, tmp_path):
    far = {"sensors.room": 27}
    assert stopped(rig_path, tmp_path, up_to="board", changes=far)[:2] == ("sensors", "off_room")
    slow = {"emergency.dropped": "no"}
    assert stopped(rig_path, tmp_path, up_to="emergency", changes=slow)[:2] == ("emergency", "emergency")


def test_a_board_that_starts_anew_is_told(rig_path, tmp_path):
    rig = load_rig(rig_path)
    with running(rig.mapping, PIECE, tmp_path / "board") as process:
        link = Link(open_port(process.url))
        trial = Trial(link, hello(link), rig)
        rows = iter(trial.rows(600.0))
        for _ in range(20):
            next(rows)
        process.command({"reset": "power"})
        with pytest.raises(LinkLostError, match="started anew after"):
            list(rows)
        link.close()


def test_quiet_converters_do_not_make_an_unheated_zone_another_fault(rig_path, tmp_path):
    seeded(tmp_path / "prove", rig_path, "board")
    kept = prove(rig_path, tmp_path, noise_k=0.05)
    assert all(kept.passed(name) for name in NAMES)


def test_rig_that_only_watches_has_nothing_to_switch_and_comes_to_its_sheet(rig_path, tmp_path):
    document = tomlkit.parse(rig_path.read_text(encoding="utf-8"))
    for zone in document["zones"]:
        zone["relay"] = "none"
        del zone["relay_pin"]
    rig_path.write_text(tomlkit.dumps(document), encoding="utf-8")
    kept = prove(rig_path, tmp_path)
    assert {step.result for step in kept.steps.values()} == {record.PASSED}
    for name in ladder.SWITCHING:
        assert [figure.seen for figure in kept.steps[name].figures] == ["nothing to switch"]
    # A junction in the hand or in water is no shutdown where nothing could have heated it.
    assert "unasked" not in " ".join(figure.name for figure in kept.steps["hands"].figures)
    assert len(kept.steps["boiling"].offsets_k) == 2
