"""Values of a file are read with their bounds, and a key that nobody reads is a problem."""

from board.samples import near
from ribwright_board.core.checks import Table, is_number, seen_text
from ribwright_board.core.units import number_text


def table(values, unit="C"):
    problems = []
    return Table(values, ("part",), problems, unit), problems


def codes(problems):
    return [(problem.code, problem.where) for problem in problems]


def test_numbers_for_people_have_no_exponent_and_no_trailing_zeros():
    for value, text in (
        (392.0, "392"),
        (1.75, "1.75"),
        (0.1, "0.1"),
        (-5, "-5"),
        (1e9, "1000000000"),
        (0, "0"),
    ):
        assert number_text(value) == text


def test_true_text_nan_and_the_infinite_are_no_numbers():
    for value in (True, False, "5", None, [], {}, float("nan"), float("inf"), float("-inf"), 1e30):
        assert not is_number(value)
    for value in (0, -3, 1.5, 1e9):
        assert is_number(value)


def test_what_was_seen_fits_on_one_line():
    assert seen_text(True) == "true"
    assert seen_text(False) == "false"
    assert seen_text("two") == '"two"'
    assert seen_text("x" * 500) == '"' + "x" * 37 + '..."'
    assert seen_text([1, 2, 3]) == "a list of 3"
    assert seen_text({"a": 1}) == "a table"
    assert seen_text(None) == "nothing"
    assert seen_text(7) == "7"
    assert seen_text(b"raw") == "a value of another kind"


def test_number_inside_its_limits_is_given_back_as_it_is():
    part, problems = table({"length_mm": 420, "low": 1, "high": 5.0})
    assert part.number("length_mm", 50, 1500, "mm") == 420
    assert part.number("low", 1, 5, "") == 1
    assert part.number("high", 1, 5, "") == 5.0
    assert problems == []


def test_number_outside_says_value_limits_unit_and_next_step():
    part, problems = table({"length_mm": 1500.5})
    assert part.number("length_mm", 50, 1500, "mm", advice="cut it") is None
    assert codes(problems) == [("range", ("part", "length_mm"))]
    assert problems[0].text == "is 1500.5, allowed are 50 to 1500 mm; cut it"


def test_number_of_another_kind_is_named():
    for value, words in (
        ("12", '"12"'),
        (True, "true"),
        ([12], "a list of 1"),
        ({}, "a table"),
        (1e30, "1e+30"),
    ):
        part, problems = table({"plies": value})
        assert part.number("plies", 1, 6, "") is None
        assert codes(problems) == [("not_a_number", ("part", "plies"))]
        assert words in problems[0].text


def test_nan_is_no_number():
    part, problems = table({"plies": float("nan")})
    assert part.number("plies", 1, 6, "") is None
    assert codes(problems) == [("not_a_number", ("part", "plies"))]


def test_whole_number_refuses_a_fraction():
    part, problems = table({"pieces": 1.5, "plies": 2})
    assert part.number("pieces", 1, 60, "", True, True) is None
    assert part.number("plies", 1, 6, "", True, True) == 2
    assert codes(problems) == [("not_whole", ("part", "pieces"))]


def test_missing_key_is_a_problem_only_when_required():
    part, problems = table({})
    assert part.number("plies", 1, 6, "", False) is None
    assert part.text("cut", False) is None
    assert part.choice("wetted", ("dry",), False) is None
    assert part.words("cues", 3) == []
    assert problems == []
    assert part.number("plies", 1, 6, "") is None
    assert part.text("species") is None
    assert part.choice("kind", ("side", "trial")) is None
    assert codes(problems) == [
        ("missing", ("part", "plies")),
        ("missing", ("part", "species")),
        ("missing", ("part", "kind")),
    ]
    assert problems[2].text == 'is not stated; add kind = one of "side", "trial"'


def test_text_must_be_one_short_line():
    for value, code in (
        (5, "not_text"),
        (["a"], "not_text"),
        ("", "text"),
        ("a\nb", "text"),
        ("x" * 61, "text"),
    ):
        part, problems = table({"name": value})
        assert part.text("name") is None
        assert codes(problems) == [(code, ("part", "name"))]
    part, problems = table({"name": "x" * 60})
    assert part.text("name") == "x" * 60
    assert problems == []


def test_choice_takes_only_its_words():
    for value in ("Side", "", 3, None, ["side"]):
        part, problems = table({"kind": value})
        assert part.choice("kind", ("side", "trial")) is None
        assert len(problems) == 1
    part, problems = table({"kind": "trial"})
    assert part.choice("kind", ("side", "trial")) == "trial"
    assert problems == []


def test_temperature_limits_are_said_in_the_unit_of_the_file():
    part, problems = table({"target": 400}, "F")
    assert part.temperature("target", 40.0, 190.0) is None
    # 40 C = 104 F and 190 C = 374 F.
    assert problems[0].text == "is 400, allowed are 104 to 374 F; change it"
    part, problems = table({"target": 374}, "F")
    assert part.temperature("target", 40.0, 190.0) == 374
    assert problems == []


def test_difference_limits_are_said_in_the_unit_of_the_file():
    part, problems = table({"rate_per_min": 300}, "F")
    assert part.difference("rate_per_min", 0.5, 120.0, "per min") is None
    # 120 K are 216 degrees F, without the 32 of a point.
    assert problems[0].text == "is 300, allowed are 0.9 to 216 degrees F per min; change it"


def test_unit_stated_a_second_time_in_a_key_is_refused():
    for suffix in ("_c", "_f", "_k", "_C", "_F"):
        part, problems = table({"target" + suffix: 150})
        part.temperature("target", 40.0, 190.0, False)
        part.finish()
        assert codes(problems) == [("doubled_unit", ("part", "target" + suffix))]
        assert 'unit = "C"' in problems[0].text


def test_list_of_texts_is_checked_one_by_one():
    part, problems = table({"cues": ["press", "turn"]})
    assert part.words("cues", 2) == ["press", "turn"]
    assert problems == []
    bad = (("press", ()), ([], ()), (["a", "b", "c"], ()), (["a", 5], (1,)), ([""], (0,)), (["x" * 61], (0,)))
    for value, at in bad:
        part, problems = table({"cues": value})
        assert part.words("cues", 2) == []
        assert [problem.where for problem in problems] == [("part", "cues") + at]


def test_unread_key_is_a_problem_with_the_nearest_known_word():
    part, problems = table({"tagret": 150, "zzz": 1})
    part.number("target", 0, 200, "C", False)
    part.finish()
    found = {problem.where[-1]: problem for problem in problems}
    assert len(problems) == 2
    assert found["tagret"].code == found["zzz"].code == "unknown_key"
    assert found["tagret"].text.endswith("did you mean target?")
    assert found["zzz"].text.endswith("remove it")


def test_something_else_than_a_table_reads_as_an_empty_one():
    for value, words in (([1], "a list of 1"), (5, "5"), (None, "nothing"), ("x", '"x"')):
        part, problems = table(value)
        assert codes(problems) == [("not_a_table", ("part",))]
        assert words in problems[0].text
        assert not part.has("anything")


def test_value_within_single_precision_of_a_limit_is_kept():
    part, problems = table({"ceiling": 392}, "F")
    assert near(part.temperature("ceiling", 80.0, 200.0), 392, 0.0)
    assert problems == []
