"""Every key is found on its line, and a file that cannot be read says why in one line."""

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ribwright_host.errors import FileError
from ribwright_host.toml_lines import MAX_BYTES, comment_lines, find_lines, line_of, read_toml

SOURCE = '''# a remark with [[stages]] and = in it
unit = "C"

"odd key" = """
target = 1   # inside a text, not a key
"""
[piece]
"thickness_mm" = 1.7 # with a remark, and "quotes"
notes.maker = 'a ] and } and #'
[[stages]]
kind = "ramp"
zones = [
  "waist",   # first
  "full",
]
[[stages]]
kind = "hold"
inner = { a = 1, b = [1, 2] }
[stages.extra]
deep = true
[[stages.marks]]
at = 1
[[stages.marks]]
at = 2
'''


def test_every_key_table_and_item_is_found_on_its_line():
    lines = find_lines(SOURCE)
    assert lines[("unit",)] == 2
    assert lines[("odd key",)] == 4
    assert lines[("piece",)] == 7
    assert lines[("piece", "thickness_mm")] == 8
    assert lines[("piece", "notes", "maker")] == 9
    assert lines[("stages", 0)] == 10
    assert lines[("stages", 0, "zones", 0)] == 13
    assert lines[("stages", 0, "zones", 1)] == 14
    assert lines[("stages", 1)] == 16
    assert lines[("stages", 1, "inner", "b", 1)] == 18
    assert lines[("stages", 1, "extra", "deep")] == 20
    assert lines[("stages", 1, "marks", 0, "at")] == 22
    assert lines[("stages", 1, "marks", 1, "at")] == 24
    assert ("target",) not in lines


def test_windows_line_ends_change_no_line():
    assert find_lines(SOURCE.replace("\n", "\r\n")) == find_lines(SOURCE)


def test_key_that_is_missing_points_at_its_table():
    lines = find_lines(SOURCE)
    assert line_of(lines, ("stages", 1, "minutes")) == 16
    assert line_of(lines, ("absent",)) == 1


def places(values, at=()):
    """Every place in read values."""
    pairs = values.items() if isinstance(values, dict) else enumerate(values)
    for key, value in pairs:
        yield (*at, key)
        if isinstance(value, dict | list):
            yield from places(value, (*at, key))


words = st.text(alphabet="abcxyz_-0", min_size=1, max_size=5)
values = st.one_of(
    st.integers(-5, 5).map(str),
    st.sampled_from(
        ['"a # b"', "'[x]'", '"\\"}"', "true", "1.5", "2026-11-25", '""', '"""x\n]y"""', "'''a\n'''"]
    ),
)
whole = st.recursive(
    values,
    lambda inner: st.one_of(
        st.lists(inner, max_size=3).map(lambda items: "[\n" + ",\n".join(items) + " # end\n]"),
        # A new line inside braces is only allowed in a text, which the values above do contain.
        st.lists(st.tuples(words, inner), max_size=3, unique_by=lambda pair: pair[0]).map(
            lambda pairs: "{ " + ", ".join(f"{key} = {value}" for key, value in pairs) + " }"
        ),
    ),
    max_leaves=6,
)


@given(
    st.lists(st.tuples(words, whole), max_size=4, unique_by=lambda pair: pair[0]),
    st.lists(st.tuples(words, whole), max_size=4, unique_by=lambda pair: pair[0]),
)
def test_scanner_finds_the_places_that_the_parser_finds(top, below):
    source = "\n".join(f"{key} = {value}" for key, value in top)
    source += "\n[[zz]]\n" + "\n".join(f"{key} = {value}" for key, value in below)
    try:
        parsed = tomllib.loads(source)
    except tomllib.TOMLDecodeError:
        # A list over several lines inside braces is not TOML 1.0; such a file never reaches the scanner.
        return
    lines = find_lines(source)
    assert set(lines) == set(places(parsed))
    # A key stands where its text does: the line found must hold it.
    source_lines = source.split("\n")
    assert all(
        str(place[-1]) in source_lines[line - 1]
        for place, line in lines.items()
        if isinstance(place[-1], str)
    )


@pytest.mark.parametrize(
    ("content", "code", "words"),
    [
        (b"", "empty", "is empty"),
        (b"\n  \n", "empty", "is empty"),
        (b"a" * 10_000_000, "too_big", f"10000000 bytes, the limit is {MAX_BYTES} bytes"),
        (b'name = "x"\nunit = "\xff"\n', "not_utf8", "line 2 is not UTF-8"),
        (b"schema = 1\nunit = C\n", "syntax", "line 2 is not TOML"),
        (b'unit = "C"\nname = "x"\nunit = "F"\n', "doubled_key", "line 3 states a key"),
        (b"[piece]\nkind = 1\n[piece]\n", "doubled_key", "line 3 states a key"),
        (b"zones = [1,\n\n", "syntax", "is not TOML"),
        (b"a = " + b"[" * 100_000, "syntax", "nests lists too deeply"),
    ],
)
def test_unreadable_file_is_told_in_one_line(tmp_path, content, code, words):
    path = tmp_path / "profile.toml"
    path.write_bytes(content)
    with pytest.raises(FileError) as raised:
        read_toml(path)
    line = raised.value.line()
    assert raised.value.code == code
    assert words in line
    assert str(path) in line
    assert "\n" not in line
    assert raised.value.hint


def test_missing_file_and_folder_are_told_apart(tmp_path):
    with pytest.raises(FileError) as missing:
        read_toml(tmp_path / "absent.toml")
    with pytest.raises(FileError) as folder:
        read_toml(tmp_path)
    assert (missing.value.code, folder.value.code) == ("missing_file", "folder")


def test_byte_order_mark_of_windows_editors_is_no_mistake(tmp_path):
    path = tmp_path / "rig.toml"
    path.write_bytes(b"\xef\xbb\xbfname = 1\n")
    assert read_toml(path) == ({"name": 1}, {("name",): 1})


@given(st.text(max_size=300))
def test_whatever_a_comment_says_it_stays_one_that_toml_takes(text):
    written = "\n".join(comment_lines(text)).encode().decode()
    assert tomllib.loads(written) == {}


def test_half_a_character_pair_and_a_delete_become_question_marks():
    assert comment_lines("a\x7fb\ud83d\tc") == ["# a?b? c"]
