"""How a strip lies: the hands are mirror images by geometry, drawings show it, contradictions have their
line."""

import itertools
import re
import tomllib

import jsonschema
import numpy as np
import pytest
from click.testing import CliRunner

from host.peer import PROFILE_TEXT, RIG_TEXT
from ribwright_host.cli import cli
from ribwright_host.profiles import load_profile
from ribwright_host.schema import schema_of
from ribwright_host.side import facts, picture
from ribwright_host.side.facts import Side, other, problems_of, side_of
from ribwright_host.side.lay import lay_of, pair_sentences, top_edge_at, words
from ribwright_host.side.sheet import sheet_of

ZONES = tomllib.loads(RIG_TEXT)["zones"]
PIECE = tomllib.loads(PROFILE_TEXT)["piece"]
SIDE_TEXT = """
[side]
show_face = "chalk cross"
top_edge = "blue line"
neck_end = "left"
waist_mark_mm = 245
neck_width_mm = 62
tail_width_mm = 78
"""
STATED = tomllib.loads(SIDE_TEXT)["side"]
TEXT = PROFILE_TEXT + SIDE_TEXT


def laid(hand="bass", zones=ZONES, **changes):
    return lay_of(side_of(STATED | changes, hand), PIECE, zones)


def edge_by_geometry(hand, neck, form):
    """Where the top edge lies, from the instrument itself: no parity, only vectors.

    Instrument: x to the right as one looks at the soundboard, y to the neck, z out of the soundboard towards
    who looks. Rig: x to the maker's right, y away from the maker, z up.
    """
    outwards, to_neck = np.array([-1 if hand == "bass" else 1, 0, 0]), np.array([0, 1, 0])
    to_board = np.array([0, 0, 1])
    # A strip is turned over and about as a whole, never mirrored: what its three directions make stays.
    handedness = round(float(np.linalg.det([outwards, to_neck, to_board])))
    up, right = np.array([0, 0, 1]), np.array([1, 0, 0])
    face = up if form == "inside" else -up
    neck_way = right if neck == "right" else -right
    board_way = handedness * np.cross(face, neck_way)
    return "far" if board_way[1] > 0 else "near"


@pytest.mark.parametrize(
    ("hand", "neck", "form"), list(itertools.product(facts.HANDS, facts.POINTS, facts.FORMS))
)
def test_top_edge_lies_where_geometry_puts_it(hand, neck, form):
    assert top_edge_at(hand, neck, form) == edge_by_geometry(hand, neck, form)
    assert top_edge_at(hand, neck, form) != top_edge_at(other(hand), neck, form)


def row_of(lines, word):
    return next(at for at, line in enumerate(lines) if line.endswith(word))


def test_drawing_for_the_other_hand_changes_the_edges_and_nothing_else():
    bass, treble = picture.drawn(laid("bass")), picture.drawn(laid("treble"))
    assert row_of(bass, "  top edge") < row_of(bass, "  back edge")
    assert row_of(treble, "  top edge") > row_of(treble, "  back edge")
    assert "═" in bass[row_of(bass, "  top edge")]
    assert "═" in treble[row_of(treble, "  top edge")]
    same = [(a, b) for a, b in zip(bass, treble, strict=True) if "edge" not in a]
    assert all(a == b for a, b in same)
    assert len(same) == len(bass) - 2


def test_neck_end_to_the_right_mirrors_left_and_right():
    left, right = laid("bass"), laid("bass", neck_end="right")
    assert right.waist_mm == PIECE["length_mm"] - left.waist_mm
    assert (left.left_mm, left.right_mm) == (right.right_mm, right.left_mm) == (62, 78)
    for a, b in zip(left.blankets, right.blankets, strict=True):
        assert (a.start_mm, a.end_mm) == (PIECE["length_mm"] - b.end_mm, PIECE["length_mm"] - b.start_mm)
    first = next(line for line in picture.drawn(left) if "neck end" in line and "mark" not in line)
    second = next(line for line in picture.drawn(right) if "neck end" in line and "mark" not in line)
    assert first.index("neck end") < first.index("tail end")
    assert second.index("tail end") < second.index("neck end")


def test_waist_mark_lies_under_the_middle_of_the_waist_blanket():
    found = laid()
    waist = next(one for one in found.blankets if one.name == "waist")
    assert (waist.start_mm + waist.end_mm) / 2 == found.waist_mm == 245
    full = next(one for one in found.blankets if one.name == "full")
    # 600 mm of blanket over 560 mm of strip: 20 mm beyond either end.
    assert (full.start_mm, full.end_mm, full.long) == (-20, 580, True)
    assert any("under the middle of blanket waist" in line for line in words(found))
    assert "the inside face lies down" in " ".join(words(found))
    assert "Show face down" in " ".join(words(laid(form="outside")))


def test_terminal_without_lines_gets_signs_that_it_has():
    fine = picture.drawn(laid())
    assert picture.drawn_for(laid(), "UTF-8") == fine
    for encoding in ("cp1252", "cp437", "ascii", None):
        plain = picture.drawn_for(laid(), encoding)
        assert [len(line) for line in plain] == [len(line) for line in fine]
        assert all(line.isascii() for line in plain)
        assert sum("====" in line for line in plain) == 1


def test_what_is_not_known_is_said_and_not_drawn():
    unknown = laid(zones=None)
    assert unknown.blankets == ()
    assert any("--rig" in note for note in unknown.notes)
    assert not any("┄" in line for line in picture.drawn(unknown))
    bare = lay_of(Side("bass", neck_end="left"), PIECE, ZONES)
    assert any("No waist mark" in note for note in bare.notes)
    assert "Blanket waist: it lies by the waist mark, and none is stated, so it is not drawn." in bare.notes
    named = [{**zone, "name": "short"} if zone["name"] == "waist" else zone for zone in ZONES]
    marked = lay_of(side_of(STATED, "bass"), PIECE, named)
    assert "Blanket short: its name does not tell where it lies, so it is not drawn." in marked.notes
    assert "show face up" in "\n".join(picture.drawn(bare))
    # 560 mm of strip under 500 mm of blanket.
    short = laid(zones=[ZONES[0], dict(ZONES[1], length_mm=500)])
    assert [note for note in short.notes if "stay cold" in note] == [
        f"The last 30 mm at the {end} end lie under no blanket and stay cold." for end in ("neck", "tail")
    ]
    near_the_end = laid(waist_mark_mm=40)
    # 75 mm of blanket before a mark 40 mm from the end.
    assert any("Blanket waist reaches 35 mm past the strip" in note for note in near_the_end.notes)


def test_every_line_letter_has_a_plain_one():
    letters = {
        letter
        for hand in facts.HANDS
        for line in picture.drawn(laid(hand))
        for letter in line
        if ord(letter) > 126
    }
    assert letters
    assert all(letter.translate(picture.PLAIN).isascii() for letter in letters)


THREE = [
    dict(ZONES[0], name="waist", length_mm=120),
    dict(ZONES[0], name="upper bout", length_mm=160),
    dict(ZONES[0], name="lower bout", length_mm=170),
]
CASES = {
    "bass": laid(),
    "treble": laid("treble"),
    "turned": laid("treble", neck_end="right", form="outside"),
    "no taper": lay_of(Side("bass", neck_end="left", waist_mark_mm=245), PIECE, ZONES),
    "no mark": lay_of(Side("bass", neck_end="left"), PIECE, ZONES),
    "no rig": laid(zones=None),
    "one blanket": laid(zones=[ZONES[1]]),
    "three blankets": laid(zones=THREE),
    "narrow": laid(neck_width_mm=6, tail_width_mm=8),
    "long words": laid(show_face="M" * 40, top_edge="W" * 40),
    "mark near the neck end": laid(waist_mark_mm=60),
    "mark near the tail end": laid(waist_mark_mm=505),
}


@pytest.mark.parametrize("name", CASES)
def test_no_word_of_the_drawing_touches_a_line_or_another_word(name):
    sheet = sheet_of(CASES[name])
    assert len(sheet.texts) > 8
    for one, two in itertools.combinations(sheet.texts, 2):
        assert not one.overlaps(two), (one, two)
    for text in sheet.texts:
        crossing = [wire for wire in sheet.wires if text.crossed_by(*wire)]
        assert not crossing, (text, crossing)


@pytest.mark.parametrize("name", CASES)
def test_every_word_lies_within_the_picture(name):
    sheet = sheet_of(CASES[name])
    svg = sheet.svg()
    left, top, wide, high = map(float, re.search(r'viewBox="([^"]*)"', svg).group(1).split())
    # 36 points to the sheet's unit of half an inch, y downwards in both.
    for text in sheet.texts:
        assert left <= 36 * text.x0 <= 36 * text.x1 <= left + wide, text
        assert top <= 36 * text.y0 <= 36 * text.y1 <= top + high, text


def test_svg_is_one_drawing_with_its_words_as_words():
    svg = sheet_of(laid()).svg()
    texts = set(re.findall(r"<text[^>]*>([^<]*)</text>", svg))
    assert {"top edge", "back edge", "neck end", "tail end", "show face up"} <= texts
    assert "waist mark, 245 mm from the neck end" in texts
    assert not re.search(r"(?:href|src)=", svg)


BAD = [
    ("waist_mark_mm = 245", "waist_mark_mm = 560", "range", "ends at 560 mm"),
    ("tail_width_mm = 78", "tail_width_mm = 81", "range", "80 mm at its widest"),
    ("tail_width_mm = 78", "", "half_taper", "tail_width_mm is not"),
    ('"blue line"', '"Chalk cross"', "same_mark", "mark the two differently"),
    ('neck_end = "left"', 'neck_end = "up"', "choice", '"left", "right"'),
    ('neck_end = "left"', 'neck_ends = "left"', "unknown_key", "did you mean neck_end"),
    ("waist_mark_mm = 245", 'waist_mark_mm = "middle"', "not_a_number", "plain number"),
    (
        "tail_width_mm = 78",
        "tail_width_mm = 78\n[side.treble]\nwaist_mark_mm = 700",
        "range",
        "ends at 560 mm",
    ),
]


@pytest.mark.parametrize(("old", "new", "code", "said"), BAD, ids=[f"{bad[2]} {bad[1][:20]}" for bad in BAD])
def test_contradictions_are_refused_with_their_line(tmp_path, old, new, code, said):
    path = tmp_path / "bend.toml"
    text = PROFILE_TEXT + SIDE_TEXT.replace(old, new, 1)
    path.write_text(text, encoding="utf-8")
    result = CliRunner().invoke(cli, ["check", str(path)])
    assert result.exit_code == 3
    assert result.stderr.startswith(f"{code}: {path} line ")
    assert result.stderr.count("\n") == 1
    assert said in result.stderr
    line = int(re.search(r"line (\d+)", result.stderr).group(1))
    key = "neck_width_mm" if code == "half_taper" else (new.splitlines() or [old])[-1].split(" ")[0]
    assert text.splitlines()[line - 1].startswith("top_edge" if code == "same_mark" else key)


def test_taper_wider_than_a_blanket_is_refused_beside_its_rig(tmp_path):
    rig, profile = tmp_path / "narrow.toml", tmp_path / "bend.toml"
    rig.write_text(RIG_TEXT.replace("width_mm = 90 ", "width_mm = 70 ", 1), encoding="utf-8")
    profile.write_text(TEXT, encoding="utf-8")
    alone = CliRunner().invoke(cli, ["check", str(profile)])
    assert alone.exit_code == 0
    result = CliRunner().invoke(cli, ["check", str(rig), str(profile)])
    assert result.exit_code == 3
    assert "tail_width_mm is 78, blanket waist is 70 mm wide" in result.stderr


def test_check_says_how_strip_one_and_strip_two_differ(tmp_path):
    path = tmp_path / "bend.toml"
    path.write_text(TEXT, encoding="utf-8")
    text = CliRunner().invoke(cli, ["check", str(path)]).stdout
    assert "Strip one is the bass side (left as you look at the soundboard, neck up)" in text
    assert "its top edge far from you" in text
    assert "Strip two, treble, is its mirror image" in text
    assert "but its top edge near you" in text
    told = " ".join(pair_sentences(STATED | {"hand": "treble", "bass": {"waist_mark_mm": 250}}))
    assert "Strip one is the treble side (right" in told
    assert "Strip two's waist mark is at 250 mm, strip one's 245 mm." in told


def test_board_gets_the_same_profile_with_and_without_it(tmp_path):
    with_side, without = tmp_path / "a.toml", tmp_path / "b.toml"
    with_side.write_text(TEXT, encoding="utf-8")
    without.write_text(PROFILE_TEXT, encoding="utf-8")
    one, two = load_profile(with_side), load_profile(without)
    assert (one.data, one.hash, one.mapping) == (two.data, two.hash, two.mapping)
    assert one.side == STATED
    assert two.side is None


def test_schema_knows_what_the_reader_knows():
    checker = jsonschema.Draft202012Validator(schema_of("profile"))
    document = tomllib.loads(TEXT)
    assert not list(checker.iter_errors(document))
    document["side"]["treble"] = {"waist_mark_mm": 250}
    assert not list(checker.iter_errors(document))
    for key, value in (("neck_end", "up"), ("shwo_face", "x"), ("waist_mark_mm", "x")):
        wrong = document | {"side": document["side"] | {key: value}}
        assert list(checker.iter_errors(wrong)), key
        assert problems_of(wrong["side"], document, None)


@pytest.mark.parametrize(
    "stated", [[], "bass", 3, {"bass": 3}, {"bass": {"hand": "bass"}}, {"hand": ["bass"]}]
)
def test_anything_else_in_its_place_is_a_named_problem(stated):
    problems = problems_of(stated, {"piece": PIECE}, None)
    assert problems
    assert all(problem.where[0] == "side" for problem in problems)
