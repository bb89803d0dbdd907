"""Every mistake in a file: one line with place, value, limit and next step, and the documented exit code."""

import json
import subprocess
import sys

import pytest
from click.testing import CliRunner

from host.peer import PROFILE_TEXT, RIG_TEXT
from ribwright_host.cli import cli


def line_with(text, source=PROFILE_TEXT):
    """The first line that begins with a text, counted from 1."""
    return next(n for n, line in enumerate(source.split("\n"), start=1) if line.startswith(text))


def edited(old, new, source=PROFILE_TEXT):
    assert old in source
    return source.replace(old, new, 1)


@pytest.fixture
def check(tmp_path):
    """Check a profile text beside the example rig; the result of the command."""

    def run(text, *more, rig=RIG_TEXT):
        (tmp_path / "rig.toml").write_text(rig, encoding="utf-8")
        (tmp_path / "bend.toml").write_text(text, encoding="utf-8")
        return CliRunner().invoke(
            cli, ["check", str(tmp_path / "bend.toml"), str(tmp_path / "rig.toml"), *more]
        )

    return run


MISTAKES = [
    ("unknown key", 'name = "warm the waist"', 'nmae = "warm the waist"', "unknown_key", "nmae", ["name"]),
    ("missing unit", 'unit = "C" ', "# unit ", "missing_unit", None, ['unit = "C"', 'unit = "F"']),
    (
        "doubled unit in the key",
        "target = 155",
        "target_c = 155",
        "doubled_unit",
        "target_c",
        ['unit = "C"', "target"],
    ),
    (
        "doubled unit in the value",
        "target = 155 ",
        'target = "155 C" ',
        "not_a_number",
        "target",
        ['"155 C"', "190 C"],
    ),
    (
        "over the firmware's limit",
        "target = 155 ",
        "target = 310 ",
        "range",
        "target",
        ["310", "40 to 190 C", "lower"],
    ),
    (
        "never ends",
        "longest_min = 8 ",
        "# longest_min = 8 ",
        "endless",
        "[[stages]]",
        ["longest_min", "never end"],
    ),
    ("wrong schema", "schema = 1", "schema = 7", "schema", "schema", ["7", "1", "update"]),
    (
        "text for a number",
        "thickness_mm = 1.7 ",
        'thickness_mm = "thin" ',
        "not_a_number",
        "thickness_mm",
        ['"thin"', "6 mm"],
    ),
    (
        "a zone the rig lacks",
        'zones = ["full"]',
        'zones = ["tail"]',
        "no_zone",
        "zones",
        ['"tail"', "waist, full"],
    ),
    ("true for a number", "target = 155 ", "target = true ", "not_a_number", "target", ["true", "190 C"]),
    (
        "a face's limit below the target",
        "target = 155 ",
        'heat_for = "wood"\nmid_wood = 118\nwood_face = 150\ntarget = 155 ',
        "range",
        "wood_face",
        ["150", "155 C", "raise"],
    ),
    ("not a finite number", "target = 155 ", "target = nan ", "not_a_number", "target", ["nan", "190 C"]),
]


@pytest.mark.parametrize(
    ("old", "new", "code", "key", "words"),
    [mistake[1:] for mistake in MISTAKES],
    ids=[m[0] for m in MISTAKES],
)
def test_mistake_is_told_with_place_value_limit_and_next_step(check, old, new, code, key, words):
    text = edited(old, new)
    result = check(text)
    assert result.exit_code == 3
    bad = result.stderr.strip().split("\n")
    named = [line for line in bad if line.startswith(f"{code}: ")]
    assert len(named) == 1, result.output
    assert all(word in named[0] for word in words), named[0]
    said_line = int(named[0].split(" line ")[1].split(":")[0])
    if key is None:
        assert said_line == 1
    elif key == "[[stages]]":
        # What is missing is looked for in its table, whose head is the last one before the mistake.
        lines = text.split("\n")
        mistake = next(number for number, line in enumerate(lines) if line.startswith(new))
        heads = [number + 1 for number, line in enumerate(lines[:mistake]) if line == "[[stages]]"]
        assert said_line == heads[-1]
    else:
        assert key in text.split("\n")[said_line - 1], named[0]
    assert "Traceback" not in result.output


def test_target_over_a_zones_ceiling_speaks_in_the_files_own_unit(check):
    rig = (
        edited('unit = "C" ', 'unit = "F" ', RIG_TEXT)
        .replace("ceiling = 190", "ceiling = 300")
        .replace("= 21 ", "= 70 ")
    )
    result = check(PROFILE_TEXT, rig=rig)
    # 300 F less 10 K of margin is 282 F, in the profile's unit 138.89 C.
    assert result.exit_code == 3
    assert "138.89 C" in result.stderr
    assert f"line {line_with('target = 155')}" in result.stderr


def test_all_mistakes_are_told_at_once_in_the_order_of_the_lines(check):
    text = edited("target = 155 ", "target = 999 ", edited("minutes = 12 ", 'minutes = "long" '))
    result = check(text, "--json")
    report = next(r for r in json.loads(result.stdout) if r["kind"] == "profile")
    assert [problem["error"] for problem in report["problems"]] == ["range", "not_a_number"]
    lines = [problem["line"] for problem in report["problems"]]
    assert lines == sorted(lines)
    assert report["problems"][0]["key"] == ["stages", 0, "target"]
    assert result.exit_code == 3


def test_good_files_are_told_in_plain_words(check):
    result = check(PROFILE_TEXT, "--unit", "F")
    assert result.exit_code == 0
    assert "warm waist to 311 F" in result.stdout
    assert "until you press next, 8 minutes at most. Cues: waist to 6 mm, waist home." in result.stdout
    # What was hotter before cools by itself, whatever the stage is called.
    assert "warm waist to 311 F as fast as the blanket can" in result.stdout
    assert "cool waist to 176 F by itself; a shutdown" in result.stdout
    # 105 W and 420 W at 120 V: 0.875 A and 3.5 A.
    assert "All zones at once draw 4.4 A of the 12 A" in result.stdout
    assert result.stderr == ""


BY_WOOD = 'until = "wood"\nmid_wood = 118\nmid_wood_s = 20\nlongest_min = 6\n'


def test_hold_by_the_wood_is_told_in_plain_words(check):
    result = check(edited("minutes = 2 ", BY_WOOD + "# "), "--unit", "F")
    assert result.exit_code == 0, result.stderr
    # 118 C is 244.4 F by the definition of the Fahrenheit scale.
    assert (
        "until the middle of the wood is estimated above 244 F for 20 s, 6 minutes at most." in result.stdout
    )


@pytest.mark.parametrize(
    ("find", "put", "code", "said"),
    [
        ("mid_wood = 118", "mid_wood = 152", "range", ["152", "147 C", "raise the target"]),
        ("mid_wood = 118", "mid_wood_f = 118", "doubled_unit", ["mid_wood"]),
        ("mid_wood_s = 20", "mid_wood_s = 0", "range", ["1 to 1800 s"]),
        ("longest_min = 6", "# none", "endless", ["waits for the wood", "longest_min"]),
        ('until = "wood"', 'until = "maker"', "not_by_wood", ['until = "wood"']),
    ],
)
def test_mistakes_in_a_hold_by_the_wood_name_line_limit_and_next_step(check, find, put, code, said):
    result = check(edited("minutes = 2 ", BY_WOOD.replace(find, put) + "# "), "--json")
    problem = next(r for r in json.loads(result.stdout) if r["kind"] == "profile")["problems"][0]
    assert problem["error"] == code
    text = json.dumps(problem, ensure_ascii=False).replace('\\"', '"')
    assert "line" in problem
    assert all(word in text for word in said), text


RIG_MISTAKES = [
    ("ceiling = 190", "ceiling = 260", "range", ["260", "200 C", "lower"]),
    ("relay_pin = 11", "relay_pin = 10", "pin_twice", ["10", "free pin"]),
    ("power_w = 420", "power_w = 1900", "branch", ["15.83 A", "12 A"]),
    ('thermocouple = "K"', 'thermocouple = "Q"', "choice", ['"Q"', '"K"']),
    ("volts = 120 ", "volts = 12 ", "range", ["12", "100 to 250 V"]),
]


@pytest.mark.parametrize(
    ("old", "new", "code", "words"), RIG_MISTAKES, ids=[m[2] + " " + m[1] for m in RIG_MISTAKES]
)
def test_mistake_in_a_rig_is_told_with_its_line(check, old, new, code, words):
    rig = edited(old, new, RIG_TEXT)
    result = check(PROFILE_TEXT, rig=rig)
    named = [line for line in result.stderr.strip().split("\n") if line.startswith(f"{code}: ")]
    assert result.exit_code == 3
    assert len(named) == 1
    assert all(word in named[0] for word in words), named[0]
    said_line = int(named[0].split(" line ")[1].split(":")[0])
    assert new.split(" ")[0] in rig.split("\n")[said_line - 1]


def test_gains_of_another_rig_are_refused(check):
    gains = "".join(
        f"{key} = 1.0\n" for key in ("c_gain", "c_integral", "c_derivative", "kappa", "kp", "ki", "kd")
    )
    rig = RIG_TEXT + '[zones.gains]\nfor_rig = "000000000000"\ntuned_by = "ribwright"\n' + gains
    # The gains' table must follow its zone, so the stack goes before the zones here.
    stack = RIG_TEXT[RIG_TEXT.index("[stack]") :]
    head, zones = (
        RIG_TEXT[: RIG_TEXT.index("[[zones]]")],
        RIG_TEXT[RIG_TEXT.index("[[zones]]") : RIG_TEXT.index("[stack]")],
    )
    rig = head + stack + "\n" + zones + rig[len(RIG_TEXT) :]
    result = check(PROFILE_TEXT, rig=rig)
    assert result.exit_code == 3
    assert "other_rigs_gains" in result.stderr
    assert "ribwright tune" in result.stderr


@pytest.mark.parametrize(
    ("content", "code"), [(b"", "empty"), (b"x" * 10_000_000, "too_big"), (b"\xff\xfe", "not_utf8")]
)
def test_ruined_file_is_one_line_in_a_real_process(tmp_path, content, code):
    path = tmp_path / "bend.toml"
    path.write_bytes(content)
    done = subprocess.run(
        [sys.executable, "-m", "ribwright_host", "check", str(path)],
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert done.returncode == 3
    assert done.stdout == ""
    assert done.stderr.startswith(f"{code}: ")
    assert done.stderr.count("\n") == 1


def test_file_that_is_neither_rig_nor_profile_is_refused(tmp_path):
    path = tmp_path / "notes.toml"
    path.write_text('title = "shopping"\n', encoding="utf-8")
    result = CliRunner().invoke(cli, ["check", str(path)])
    assert result.exit_code == 3
    assert result.stderr.startswith("which_file: ")


def test_ramp_for_the_wood_is_told_in_a_sentence(check):
    keys = 'heat_for = "wood"\nmid_wood = 118\nwood_face = 160\n'
    result = check(edited("target = 155 ", keys + "target = 155 "))
    assert result.exit_code == 0, result.output
    said = " ".join(result.output.split())
    wanted = (
        "to 155 C, hotter while the wood's face is estimated below 160 C, until its middle is estimated at"
    )
    assert wanted in said
    assert "at 118 C; after 12 minutes it goes on, or shuts down if a thermocouple is not there." in said
