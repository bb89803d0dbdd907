"""Every kind of mistake in a profile is found, named and placed; a good one becomes the firmware's stages."""

from board.samples import bench_rig, drop, near, profile_mapping, put, refused
from ribwright_board.core import profile
from ribwright_board.core.errors import CheckError

NAN = float("nan")
INFINITE = float("inf")


def both(*changes):
    def change(values):
        for one in changes:
            one(values)

    return change


def problems_of(change, rig=None):
    values = profile_mapping()
    change(values)
    return profile.check(values, rig or bench_rig())


def many(count):
    """Stages that heat, one after the other, and a cool one at the end."""
    ramp = {"kind": "ramp", "zones": ["waist"], "target": 100}
    return [dict(ramp) for _ in range(count - 1)] + [{"kind": "cool", "below": 50}]


# Change, code of the first problem, its place. Stages of the sample: ramp, hold, ramp, hold, set, cool.
MISTAKES = (
    ("schema missing", drop("schema"), "schema", ("schema",)),
    ("schema of the future", put("schema", 2), "schema", ("schema",)),
    ("schema as text", put("schema", "1"), "schema", ("schema",)),
    ("schema true", put("schema", True), "schema", ("schema",)),
    ("unit missing", drop("unit"), "missing_unit", ("unit",)),
    ("unit of physics", put("unit", "K"), "unit", ("unit",)),
    ("unit in small letters", put("unit", "c"), "unit", ("unit",)),
    ("unit doubled", put("unit", ["C", "F"]), "doubled_unit", ("unit",)),
    ("unit a number", put("unit", 5), "unit", ("unit",)),
    ("name missing", drop("name"), "missing", ("name",)),
    ("name a number", put("name", 5), "not_text", ("name",)),
    ("name of two lines", put("name", "a\nb"), "text", ("name",)),
    ("name too long", put("name", "x" * 41), "text", ("name",)),
    ("unknown key", put("tempo", 1), "unknown_key", ("tempo",)),
    ("piece missing", drop("piece"), "missing", ("piece",)),
    ("piece a list", put("piece", [1]), "not_a_table", ("piece",)),
    ("piece of unknown kind", put("piece", "kind", "boat"), "choice", ("piece", "kind")),
    ("species missing", drop("piece", "species"), "missing", ("piece", "species")),
    ("thickness in tenths", put("piece", "thickness_mm", 17), "range", ("piece", "thickness_mm")),
    ("thickness as text", put("piece", "thickness_mm", "1.7"), "not_a_number", ("piece", "thickness_mm")),
    ("thickness true", put("piece", "thickness_mm", True), "not_a_number", ("piece", "thickness_mm")),
    ("thickness not a number", put("piece", "thickness_mm", NAN), "not_a_number", ("piece", "thickness_mm")),
    ("half a piece", put("piece", "pieces", 1.5), "not_whole", ("piece", "pieces")),
    ("no pieces", put("piece", "pieces", 0), "range", ("piece", "pieces")),
    ("drenched", put("piece", "wetted", "drenched"), "choice", ("piece", "wetted")),
    ("moisture as a share", put("piece", "moisture_percent", 0.09), "range", ("piece", "moisture_percent")),
    ("radius in metres", put("piece", "tightest_radius_mm", 0.045), "range", ("piece", "tightest_radius_mm")),
    ("radius of a plank", put("piece", "tightest_radius_mm", 2001), "range", ("piece", "tightest_radius_mm")),
    ("unknown key of the piece", put("piece", "colour", "red"), "unknown_key", ("piece", "colour")),
    ("stages missing", drop("stages"), "stages", ("stages",)),
    ("no stages", put("stages", []), "stages", ("stages",)),
    ("stages a table", put("stages", {"kind": "ramp"}), "stages", ("stages",)),
    ("25 stages", put("stages", many(25)), "stages", ("stages",)),
    ("stage a number", put("stages", 0, 5), "not_a_table", ("stages", 0)),
    ("kind missing", drop("stages", 0, "kind"), "missing", ("stages", 0, "kind")),
    ("kind unknown", put("stages", 0, "kind", "boil"), "choice", ("stages", 0, "kind")),
    ("zones missing", drop("stages", 0, "zones"), "missing", ("stages", 0, "zones")),
    ("zones null", put("stages", 0, "zones", None), "missing", ("stages", 0, "zones")),
    ("zones as text", put("stages", 0, "zones", "waist"), "list", ("stages", 0, "zones")),
    ("zones empty", put("stages", 0, "zones", []), "list", ("stages", 0, "zones")),
    ("zone a number", put("stages", 0, "zones", [1]), "text", ("stages", 0, "zones", 0)),
    (
        "zone the rig lacks",
        put("stages", 2, "zones", ["waist", "tail"]),
        "no_zone",
        ("stages", 2, "zones", 1),
    ),
    ("hold for null minutes", put("stages", 3, "minutes", None), "endless", ("stages", 3, "minutes")),
    (
        "hold for the maker, longest null",
        put("stages", 1, "longest_min", None),
        "endless",
        ("stages", 1, "longest_min"),
    ),
    ("zone twice", put("stages", 0, "zones", ["waist", "waist"]), "zone_twice", ("stages", 0, "zones", 1)),
    ("target missing", drop("stages", 0, "target"), "missing", ("stages", 0, "target")),
    ("target as text", put("stages", 0, "target", "150"), "not_a_number", ("stages", 0, "target")),
    ("target true", put("stages", 0, "target", True), "not_a_number", ("stages", 0, "target")),
    ("target not a number", put("stages", 0, "target", NAN), "not_a_number", ("stages", 0, "target")),
    ("target without end", put("stages", 0, "target", INFINITE), "not_a_number", ("stages", 0, "target")),
    ("target a list", put("stages", 0, "target", [150]), "not_a_number", ("stages", 0, "target")),
    ("target over the limit", put("stages", 0, "target", 190.5), "range", ("stages", 0, "target")),
    ("target in the other unit", put("stages", 0, "target", 302), "range", ("stages", 0, "target")),
    ("target under the limit", put("stages", 0, "target", 39), "range", ("stages", 0, "target")),
    (
        "target with a unit of its own",
        both(put("stages", 0, "target_f", 300), drop("stages", 0, "target")),
        "doubled_unit",
        ("stages", 0, "target_f"),
    ),
    (
        "target with a second one",
        put("stages", 0, "target_c", 150),
        "doubled_unit",
        ("stages", 0, "target_c"),
    ),
    (
        "rate with a unit",
        put("stages", 2, "rate_per_min_f", 9),
        "doubled_unit",
        ("stages", 2, "rate_per_min_f"),
    ),
    ("rate of nothing", put("stages", 2, "rate_per_min", 0), "range", ("stages", 2, "rate_per_min")),
    ("rate backwards", put("stages", 2, "rate_per_min", -5), "range", ("stages", 2, "rate_per_min")),
    ("band too narrow", put("stages", 0, "band", 0.1), "range", ("stages", 0, "band")),
    ("ramp without end", put("stages", 0, "longest_min", 0), "range", ("stages", 0, "longest_min")),
    ("ramp longer than a shift", put("stages", 0, "longest_min", 241), "range", ("stages", 0, "longest_min")),
    ("ramp with minutes", put("stages", 0, "minutes", 5), "unknown_key", ("stages", 0, "minutes")),
    ("hold without an end", drop("stages", 3, "minutes"), "endless", ("stages", 3, "minutes")),
    ("hold of no time", put("stages", 3, "minutes", 0), "range", ("stages", 3, "minutes")),
    ("maker never comes", drop("stages", 1, "longest_min"), "endless", ("stages", 1, "longest_min")),
    ("hold with two ends", put("stages", 1, "minutes", 5), "two_ends", ("stages", 1, "until")),
    ("hold until another", put("stages", 1, "until", "noon"), "choice", ("stages", 1, "until")),
    ("hold shorter than itself", put("stages", 3, "longest_min", 1), "endless", ("stages", 3, "longest_min")),
    ("cues as text", put("stages", 1, "cues", "press"), "list", ("stages", 1, "cues")),
    ("cue a number", put("stages", 1, "cues", ["press", 5]), "text", ("stages", 1, "cues", 1)),
    ("cue of two lines", put("stages", 1, "cues", ["a\nb"]), "text", ("stages", 1, "cues", 0)),
    ("key of two lines", put("a\nb" * 30, 1), "unknown_key", ("a\nb" * 30,)),
    ("13 cues", put("stages", 1, "cues", ["x"] * 13), "list", ("stages", 1, "cues")),
    ("cues in a ramp", put("stages", 0, "cues", ["x"]), "unknown_key", ("stages", 0, "cues")),
    ("set without an end", drop("stages", 4, "minutes"), "endless", ("stages", 4, "minutes")),
    ("set until the maker", put("stages", 4, "until", "maker"), "unknown_key", ("stages", 4, "until")),
    ("cool too low", put("stages", 5, "below", 20), "range", ("stages", 5, "below")),
    ("cool too high", put("stages", 5, "below", 91), "range", ("stages", 5, "below")),
    ("cool without an end", drop("stages", 5, "below"), "missing", ("stages", 5, "below")),
    ("cool with zones", put("stages", 5, "zones", ["waist"]), "unknown_key", ("stages", 5, "zones")),
    ("no cool at the end", drop("stages", 5), "no_cool", ("stages", 4, "kind")),
    ("heat after cool", put("stages", 2, {"kind": "cool", "below": 50}), "reheat", ("stages", 2, "kind")),
)


def test_sample_profile_has_no_problem_with_and_without_a_rig():
    assert profile.check(profile_mapping(), bench_rig()) == []
    assert profile.check(profile_mapping()) == []


def test_every_kind_of_mistake_is_named_and_placed():
    for name, change, code, where in MISTAKES:
        problems = problems_of(change)
        assert problems, name
        first = problems[0]
        assert (first.code, first.where) == (code, where), (name, first.sentence())


def test_every_problem_is_one_line_that_says_what_to_do():
    for name, change, _, _ in MISTAKES:
        for problem in problems_of(change):
            sentence = problem.sentence()
            assert "\n" not in sentence, name
            assert 10 < len(problem.text) < 200, (name, sentence)
            assert sentence.startswith(problem.code + ": "), name


def test_nothing_but_a_mapping_is_a_profile():
    for values in (None, {}, [], "profile", 5, [1, 2]):
        problems = profile.check(values)
        assert [(problem.code, problem.where) for problem in problems] == [("empty", ())]


def test_misspelt_key_gets_the_nearest_word():
    for key, word in (("targte", "target"), ("zone", "zones"), ("rate_per_minute", "rate_per_min")):
        problems = problems_of(put("stages", 2, key, 60))
        assert [problem.text.split("; ")[-1] for problem in problems] == ["did you mean %s?" % word]


def test_all_mistakes_of_a_file_are_found_at_once_in_its_order():
    problems = problems_of(
        both(put("piece", "plies", 9), put("stages", 0, "target", 500), drop("stages", 3, "minutes"))
    )
    assert [problem.where for problem in problems] == [
        ("piece", "plies"),
        ("stages", 0, "target"),
        ("stages", 3, "minutes"),
    ]


def test_target_over_the_limit_says_value_limit_unit_and_next_step():
    text = problems_of(put("stages", 1, "target", 310))[0].sentence()
    assert text == (
        "range: stage 2 target: is 310, allowed are 40 to 190 C; "
        "lower it, the board's limit cannot be lifted from here"
    )


def in_fahrenheit(values):
    values["unit"] = "F"
    for stage in values["stages"]:
        if stage["kind"] == "cool":
            stage["below"] = 122
        else:
            stage["target"] = 302


def test_limits_are_said_in_the_unit_of_the_file():
    assert problems_of(in_fahrenheit) == []
    # 190 C = 374 F, 40 C = 104 F, 35 C = 95 F.
    assert problems_of(both(in_fahrenheit, put("stages", 0, "target", 374))) == []
    assert problems_of(both(in_fahrenheit, put("stages", 0, "target", 104))) == []
    high = problems_of(both(in_fahrenheit, put("stages", 0, "target", 375)))[0]
    assert "is 375, allowed are 104 to 374 F" in high.text
    low = problems_of(both(in_fahrenheit, put("stages", 5, "below", 90)))[0]
    assert "is 90, allowed are 95 to 194 F" in low.text


def test_fahrenheit_file_becomes_the_same_stages_as_its_celsius_twin():
    values = profile_mapping()
    in_fahrenheit(values)
    values["stages"][2]["rate_per_min"] = 108
    values["stages"][2]["band"] = 4.5
    made = profile.parse(values, bench_rig())
    assert near(made.stages[0].target_c, 150.0, 1e-3)
    assert near(made.stages[2].rate_k_per_min, 60.0, 1e-3)
    assert near(made.stages[2].band_k, 2.5, 1e-3)
    assert near(made.stages[5].below_c, 50.0, 1e-3)


def test_zone_with_a_lower_ceiling_limits_only_its_own_stages():
    def lower(values):
        values["zones"][1]["ceiling"] = 150

    rig = bench_rig(lower)
    problems = problems_of(both(put("stages", 0, "target", 160), put("stages", 1, "target", 160)), rig)
    assert [(problem.code, problem.where) for problem in problems] == [
        ("range", ("stages", 2, "target")),
        ("range", ("stages", 3, "target")),
    ]
    assert "zone full allows up to 140 C (its ceiling less 10 K)" in problems[0].text


def test_highest_target_under_any_fahrenheit_ceiling_is_allowed():
    # 18 F are 10 K: the limit that the message names must itself pass.
    for ceiling_f in range(212, 393, 3):

        def lower(values, ceiling_f=ceiling_f):
            values["unit"] = "F"
            values["zones"][0]["ceiling"] = ceiling_f

        rig = bench_rig(lower)
        values = profile_mapping()
        in_fahrenheit(values)
        values["stages"] = [
            {"kind": "ramp", "zones": ["waist"], "target": ceiling_f - 18},
            {"kind": "cool", "below": 122},
        ]
        assert profile.check(values, rig) == []
        values["stages"][0]["target"] = ceiling_f - 17
        assert [problem.code for problem in profile.check(values, rig)] == ["range"]


def test_numbers_of_24_stages_and_12_cues_are_allowed():
    assert problems_of(put("stages", many(24))) == []
    assert problems_of(put("stages", 1, "cues", ["x"] * 12)) == []


def test_parsed_profile_holds_the_firmware_units():
    made = profile.parse(profile_mapping(), bench_rig())
    assert (made.name, made.unit, made.zone_names) == ("sapele baritone sides", "C", ["waist", "full"])
    assert [stage.kind for stage in made.stages] == ["ramp", "hold", "ramp", "hold", "set", "cool"]
    assert [stage.zones for stage in made.stages] == [[0], [0], [0, 1], [0, 1], [0, 1], []]
    ramp, by_maker, slow, by_minutes, setting, cool = made.stages
    assert (ramp.rate_k_per_min, ramp.longest_ms, ramp.band_k) == (None, 1200000, 2.0)
    assert (by_maker.hold_ms, by_maker.longest_ms, by_maker.cues) == (None, 300000, ["press the waist on"])
    assert slow.rate_k_per_min == 60
    assert (by_minutes.hold_ms, by_minutes.band_k) == (120000, 3.0)
    # Without a longest time of its own: twice the minutes and five more.
    assert by_minutes.longest_ms == 2 * 120000 + 300000
    assert (setting.hold_ms, setting.band_k, setting.target_c) == (60000, 5.0, 120.0)
    assert (cool.below_c, cool.target_c, cool.longest_ms) == (50.0, None, None)


def test_stage_without_a_name_is_called_by_kind_and_number():
    values = profile_mapping()
    values["stages"][2]["name"] = "whole side"
    made = profile.parse(values, bench_rig())
    assert [stage.name for stage in made.stages[:3]] == ["ramp 1", "hold 2", "whole side"]


def test_parsing_raises_every_problem():
    values = profile_mapping()
    values["stages"][0]["target"] = 500
    values["name"] = ""
    error = refused(CheckError, profile.parse, values, bench_rig())
    assert [problem.code for problem in error.problems] == ["text", "range"]
    assert error.code == "text"
