"""Errors carry a code, a place and a sentence; fault numbers stay what old logs say."""

from ribwright_board.core import errors


def test_place_counts_stages_and_zones_from_one():
    place = errors.Problem("range", ("stages", 1, "target"), "is 310").place()
    assert place == "stage 2 target"
    assert errors.Problem("x", ("zones", 0, "gains", "kp"), "").place() == "zone 1 gains kp"
    assert errors.Problem("x", ("stages", 0, "zones", 1), "").place() == "stage 1 zone 2"
    assert errors.Problem("x", (), "").place() == "the file"


def test_strange_keys_stay_short_and_on_one_line():
    assert errors.Problem("x", ("a\nb",), "").place() == "a b"
    assert len(errors.Problem("x", ("k" * 5000,), "").place()) == 40


def test_sentence_says_code_place_and_text_in_one_line():
    problem = errors.Problem("range", ("stages", 1, "target"), "is 310, allowed are 40 to 190 C; lower it")
    assert problem.sentence() == "range: stage 2 target: is 310, allowed are 40 to 190 C; lower it"


def test_check_error_speaks_of_the_first_problem_and_keeps_all():
    problems = [errors.Problem("unit", ("unit",), "is K"), errors.Problem("text", ("name",), "is empty")]
    error = errors.CheckError(problems)
    assert error.code == "unit"
    assert error.text == problems[0].sentence()
    assert error.problems == problems
    assert str(error) == error.text


def test_every_error_is_one_of_ours():
    for kind in (errors.WireError, errors.RefusedError):
        error = kind("code", "text")
        assert isinstance(error, errors.CoreError)
        assert (error.code, error.text) == ("code", "text")


def test_fault_numbers_of_old_logs_keep_their_meaning():
    # A number that once stood in a log never changes: this list may only grow.
    written = {
        1: "ceiling",
        2: "open",
        3: "short_ground",
        4: "short_supply",
        5: "no_chip",
        6: "bus",
        7: "implausible",
        8: "stale",
        9: "ramp_late",
        10: "late_loop",
        11: "software",
        12: "no_rise",
        13: "weak_rise",
        14: "detached",
        15: "leap",
        16: "heat_while_off",
        17: "too_hot",
        18: "contactor_closed",
        19: "contactor_open",
        20: "swapped",
        21: "reversed",
        22: "fast_rise",
        23: "frozen",
        24: "noisy",
        25: "cold_spread",
        26: "memory",
        27: "files",
        28: "resets",
        29: "unattended",
        30: "session_over",
        31: "hold_power",
    }
    for number, name in written.items():
        assert errors.fault_name(number) == name
        assert errors.fault_number(name) == number


def test_fault_numbers_are_used_once_and_each_has_advice():
    numbers = [entry[0] for entry in errors.FAULTS.values()]
    assert len(set(numbers)) == len(numbers)
    for entry in errors.FAULTS.values():
        assert len(entry[1]) > 20
        assert "\n" not in entry[1]


def test_unknown_faults_have_no_number_and_no_name():
    assert errors.fault_number("moonlight") == 0
    assert errors.fault_name(250) == "unknown"
