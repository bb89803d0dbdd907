"""A pair compared: the figure that decides, limits that say what they rest on, pages and exports."""

import csv
import json
import math
import re
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from host.book_runs import bend_file
from host.test_logbook import SIMULATED_BOARD
from host.test_report import Page
from ribwright_host.book import draw, listing, transfer
from ribwright_host.book.checking import _noted
from ribwright_host.book.compare import LIMITS, MAINS_SHARE, PROPOSAL, RATED_NOTE, figures, verdict
from ribwright_host.book.facts import given_from
from ribwright_host.book.finding import piece_named, side_of
from ribwright_host.book.heat import pack
from ribwright_host.book.intake import Given, take_in
from ribwright_host.book.invented import memory_book
from ribwright_host.book.models import Curve, Defect, Measurement, Photo, Piece, Run, RunZone, Side
from ribwright_host.book.pages import _photo
from ribwright_host.book.pairs import all_verdicts, mean_gap, whole_piece
from ribwright_host.book.results import add_photo, defect_from, measured_from, note
from ribwright_host.book.telling import piece_lines, sprung_words
from ribwright_host.book.transfer import as_tree, bring_in, export
from ribwright_host.cli import cli
from ribwright_host.errors import FileError, UsageError

SAME = {
    "heat_s": 300.0,
    "set_c": 127.0,
    "set_s": 720.0,
    "thickness_mm": 1.7,
    "peak_c": 156.0,
    "start_c": 23.0,
    "energy_kwh": 0.1,
}
# What only a session of its own has: no page may bring in anything from outside.
OUTSIDE = re.compile(r"""(?:src|href)\s*=\s*["'](?!data:|\#)""")
PNG_1X1 = bytes.fromhex(
    "89504e470d0a1a0a0000000d49484452000000010000000108060000001f15c4890000000d49444154789c6360606060000000"
    "0500010d0a2db40000000049454e44ae426082"
)


def told(**treble):
    return verdict(figures(SAME, SAME | treble))


def make_pair(folder, *, hot_s=(300, 374), simulated=False, name="baritone 3"):
    """A pair taken in, its treble side held longer."""
    for number, which, seconds in ((7, "bass", hot_s[0]), (8, "treble", hot_s[1])):
        how = {"board": SIMULATED_BOARD} if simulated else {}
        path = bend_file(folder, number, hot_s=seconds, unix=1_795_000_000 + 5400 * number, **how)
        take_in(path, Given(name, which, {"instrument": "baritone ukulele"}))
    return Piece.get(Piece.name == name)


@pytest.fixture(autouse=True)
def book():
    with memory_book() as database:
        yield database


def test_figure_that_decides_is_named_with_its_size():
    assert (
        told(heat_s=374.0)
        == "The treble side was held 74 s longer above 140 C: expect it to spring back less."
    )
    assert told(set_c=122.0) == "The bass side was set 5.0 K hotter: expect it to spring back less."
    assert told(set_s=600.0).startswith("The bass side was set 120 s longer")
    assert told(start_c=41.0).startswith("The treble side began 18.0 K warmer")
    assert "below 160 C" in told(peak_c=150.0)
    assert "begins to darken" in told(peak_c=166.0)
    assert "wetter blank" in told(energy_kwh=0.13)


def test_what_bears_on_spring_back_comes_before_what_goes_with_it():
    assert "held 40 s longer" in told(heat_s=340.0, start_c=90.0, energy_kwh=0.2)
    assert "set 9.0 K hotter" in told(heat_s=340.0, set_c=136.0)


def test_thicker_side_is_stiffer_by_the_cube():
    # Bending stiffness of a rectangle goes with b h^3 / 12 (second moment of area, any table of beams):
    # (1.87 / 1.70)^3 is 1.331.
    assert "33 % stiffer" in told(thickness_mm=1.87)


def test_alike_is_said_with_what_is_furthest_apart_and_the_limit_itself_is_alike():
    assert told(heat_s=330.0).startswith(
        "Both sides got the same treatment; furthest apart is time at bending"
    )
    assert "by 30 s of 30 s" in told(heat_s=330.0)
    assert told(heat_s=331.0).startswith("The treble side")
    assert told() == "Both sides got the same treatment: no figure differs."


def test_energy_at_unmeasured_mains_is_no_difference_of_treatment():
    """The same heat on 94 % of the voltage: relays on for 1 / 0.94^2 of the time (Ohm's law)."""
    lower = told(energy_kwh=0.1 / 0.94**2)
    assert lower == "Both sides got the same treatment: no figure differs."
    assert "furthest apart is peak" in told(energy_kwh=0.1 / 0.94**2, peak_c=SAME["peak_c"] + 1)
    assert "look for lower mains, which reads as more" in told(energy_kwh=0.13)
    assert "19 % less or 21 % more" in RATED_NOTE
    assert (pytest.approx(0.81), pytest.approx(1.21)) == ((1 - MAINS_SHARE) ** 2, (1 + MAINS_SHARE) ** 2)


def test_what_is_not_known_of_both_is_not_compared():
    found = figures(SAME | {"energy_kwh": None}, SAME)
    assert [one.alike for one in found if one.limit.name == "energy_kwh"] == [None]
    assert verdict(figures({}, SAME)).startswith("Nothing can be compared")


def test_every_limit_says_what_it_rests_on():
    assert all(limit.source == PROPOSAL or "data sheet" in limit.source for limit in LIMITS)


def test_colours_are_the_published_ones():
    # Okabe and Ito 2008, "Color Universal Design", RGB in 0 to 255: blue 0, 114, 178; vermillion 213, 94, 0
    # (from memory).
    assert [int(draw.BLUE[i : i + 2], 16) for i in (1, 3, 5)] == [0, 114, 178]
    assert [int(draw.VERMILLION[i : i + 2], 16) for i in (1, 3, 5)] == [213, 94, 0]
    assert draw.LINES["bass"]["ls"] != draw.LINES["treble"]["ls"]


def test_pair_of_runs_is_compared_from_what_the_book_holds(tmp_path):
    piece = whole_piece(make_pair(tmp_path))
    for path in tmp_path.iterdir():
        path.unlink()
    assert verdict(piece.figures()).startswith("The treble side was held 74 s longer above 140 C")
    assert all_verdicts() == {"baritone 3": verdict(piece.figures())}
    minutes, values = draw.series(piece.sides["treble"], "waist")
    assert max(value for value in values if not math.isnan(value)) == 152
    assert minutes[-1] == pytest.approx(434 / 60, abs=0.1)


def test_second_run_of_a_side_is_drawn_behind_its_first(tmp_path):
    make_pair(tmp_path)
    take_in(bend_file(tmp_path, 9, hot_s=30, unix=1_795_100_000), Given("baritone 3", "bass"))
    side = whole_piece(Piece.get()).sides["bass"]
    assert side.facts["heat_s"] == 330
    minutes, _ = draw.series(side, "waist")
    assert minutes == sorted(minutes)
    assert minutes[-1] > 360 / 60 + draw.GAP_MIN


def test_pair_without_its_second_side_says_what_to_do(tmp_path):
    take_in(bend_file(tmp_path), Given("baritone 3", "bass"))
    with pytest.raises(FileError) as found:
        whole_piece(Piece.get()).figures()
    assert found.value.code == "no_pair"
    assert "--side treble" in found.value.hint


def test_what_came_of_a_side_is_noted_and_the_last_measurement_counts(tmp_path):
    piece = make_pair(tmp_path)
    side = side_of(piece, "bass")
    note(side, measured_from({"upper": "1.4", "waist": "0.06in"}), [], "after two days", "2026-11-20")
    note(
        side,
        measured_from({"waist": "0.9", "twist": -1.5, "since": 336}),
        [defect_from("cracked@waist:2")],
        None,
    )
    note(side, {}, [defect_from("scorched")], "at the neck end")
    rested = whole_piece(piece).sides["bass"].rested
    assert mean_gap(rested) == 0.9
    assert (rested["twist_deg"], rested["hours_since_release"]) == (-1.5, 336)
    assert [row.gap_waist_mm for row in Measurement.select()] == [pytest.approx(1.524), 0.9]
    assert [(row.kind, row.badness, row.remark) for row in Defect.select()] == [
        ("cracked", 2, None),
        ("scorched", 1, "at the neck end"),
    ]
    line = next(side for side in listing.sides() if side.which == "bass")
    assert (line.gaps_mm, line.defects) == ((None, 0.9, None), 2)


@pytest.mark.parametrize("text", ["bent", "cracked:4", "cracked@", "", "cracked@waist:x"])
def test_defect_that_is_none_is_refused(text):
    with pytest.raises(UsageError):
        defect_from(text)


def test_spring_back_is_put_beside_the_verdict(tmp_path):
    piece = make_pair(tmp_path)
    assert "bass side has not been measured" in sprung_words(whole_piece(piece))
    for which, gap in (("bass", 1.4), ("treble", 0.5)):
        note(side_of(piece, which), {"gap_waist_mm": gap}, [], None)
    assert sprung_words(whole_piece(piece)).startswith(
        "After rest the bass side stands further open: +1.4 mm"
    )
    note(side_of(piece, "bass"), {"gap_waist_mm": 0.9}, [], None)
    assert "alike" in sprung_words(whole_piece(piece))


def test_names_find_their_piece():
    for name in ("baritone 3", "baritone 30", "Tenor 1"):
        Piece.create(name=name, simulated=False)
    assert piece_named("baritone 3").name == "baritone 3"
    assert piece_named("tenor").name == "Tenor 1"
    for name, code in (("bari", "which_piece"), ("baritone 4", "no_piece")):
        with pytest.raises(FileError) as found:
            piece_named(name)
        assert found.value.code == code
    assert "baritone 3" in found.value.hint


def run_book(*words, book):
    return CliRunner().invoke(cli, ["book", *map(str, words), "--book", str(book)])


def taken_in_by_command(folder):
    """A book made by the commands alone, with hostile names; its path."""
    book = folder / "book.sqlite"
    for number, which, seconds in ((7, "bass", 300), (8, "treble", 374)):
        path = bend_file(folder, number, hot_s=seconds)
        done = run_book("add", path, "--piece", "<b>x</b>&3", "--side", which, "--remark", "<i>r", book=book)
        assert done.exit_code == 0, done.stderr
    photo = folder / "side.png"
    photo.write_bytes(PNG_1X1)
    words = ["--upper", "1.4", "--defect", "cracked@<u>:2", "--photo", photo, "--copy", "--remark", "=1+1"]
    done = run_book("measure", "<b>x</b>&3", "bass", *words, book=book)
    assert done.exit_code == 0, done.stderr
    return book


def test_page_of_a_pair_is_one_file_with_nothing_from_outside(tmp_path):
    book = taken_in_by_command(tmp_path)
    done = run_book("compare", "<b>x</b>&3", "-o", tmp_path / "pair", "--json", book=book)
    answer = json.loads(done.stdout)
    assert answer["verdict"].startswith("The treble side was held 74 s longer above 140 C")
    page = Page(tmp_path / "pair" / "pair.html")
    assert sorted(item.name for item in (tmp_path / "pair").iterdir()) == [
        "pair.html",
        "pair.png",
        "pair.svg",
    ]
    assert "<b>x" not in page.source
    assert "<u>" not in page.source.replace("</u>", "")
    assert not OUTSIDE.search(page.source)
    assert "http" not in page.source.replace("http-equiv", "")
    assert answer["verdict"] in page.text
    assert "cracked at the <u>, shows" in page.text
    assert [
        "time at bending heat",
        "5:00",
        "6:14",
        "74 s, differs",
        "30 s",
        "our proposal, no source",
    ] in page.rows
    pictures = [attrs["src"] for tag, attrs in page.tags if tag == "img"]
    assert len(pictures) == 1
    assert pictures[0].startswith("data:image/png;base64,")
    assert [item.suffix for item in (tmp_path / "book-photos").iterdir()] == [".png"]


def test_pages_of_a_simulated_pair_say_so(tmp_path):
    from ribwright_host.book.pages import list_page, pair_page

    piece = whole_piece(make_pair(tmp_path, simulated=True))
    page = Page(pair_page(piece, tmp_path / "pair", "F", "in"))
    assert "SIMULATED: computed by the virtual rig" in page.text
    assert "above 284 F" in page.text
    listed = Page(list_page(listing.sides(), all_verdicts(), tmp_path / "list.html", "November"))
    assert "SIMULATED: no wood was bent" in listed.text
    assert ["treble", "1", "6:14", "152 C", "0:40 at 121 C", "\u2013", "\u2013", "\u2013", "0"] in listed.rows


def test_photo_that_went_missing_is_said(tmp_path):
    from ribwright_host.book.pages import pair_page

    piece = make_pair(tmp_path)
    photo = tmp_path / "side.jpg"
    photo.write_bytes(b"\xff\xd8\xff\xe0")
    add_photo(side_of(piece, "bass"), photo, None)
    add_photo(side_of(piece, "bass"), photo, None)
    assert Photo.select().count() == 1
    photo.unlink()
    assert "side.jpg is not where it was" in Page(pair_page(whole_piece(piece), tmp_path / "pair")).text


def test_photo_that_is_none_is_not_noted(tmp_path):
    book = taken_in_by_command(tmp_path)
    false = tmp_path / "notes.jpg"
    false.write_text("waist: 0.6 mm", encoding="utf-8")
    done = run_book("measure", "<b>x</b>&3", "bass", "--photo", false, "--copy", book=book)
    assert done.exit_code == 3
    assert "neither a JPEG nor a PNG; name the photo" in done.stderr
    assert [item.suffix for item in (tmp_path / "book-photos").iterdir()] == [".png"]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "its JSON is damaged in line 1"),
        ('{"kind": "ribwright notebook", "schema": 1}', "its JSON has no pieces"),
        ('{"kind": "a list", "schema": 1, "pieces": []}', "it is of the kind 'a list'"),
        ("[]", "of the wrong kind"),
    ],
)
def test_file_that_is_no_export_is_told_in_plain_words(tmp_path, text, said):
    folder = tmp_path / "out"
    folder.mkdir()
    (folder / "book.json").write_text(text, encoding="utf-8")
    done = run_book("import", folder, book=tmp_path / "book.sqlite")
    assert done.exit_code == 3
    assert done.stderr.startswith("not_an_export: ")
    assert said in done.stderr
    assert "Error" not in done.stderr


def test_sheets_of_an_export_have_their_first_line_before_they_have_rows(tmp_path):
    book = tmp_path / "book.sqlite"
    done = run_book("add", bend_file(tmp_path, 7), "--piece", "baritone 3", "--side", "bass", book=book)
    assert done.exit_code == 0
    assert run_book("export", tmp_path / "out", book=book).exit_code == 0
    for name, column in (("measurements", "gap_waist_mm"), ("defects", "badness"), ("photos", "path")):
        first, *rows = (tmp_path / "out" / f"{name}.csv").read_text(encoding="utf-8").splitlines()
        assert not rows
        assert first.startswith("name,instrument,made_on,simulated,which,")
        assert column in first.split(",")
    for name in ("sides", "runs"):
        with (tmp_path / "out" / f"{name}.csv").open(newline="", encoding="utf-8") as sheet:
            table = list(csv.reader(sheet))
        assert len(table) == 2
        assert len(table[0]) == len(set(table[0])) == len(table[1])


def folder_bytes(folder):
    return {item.name: item.read_bytes() for item in folder.iterdir()}


def test_export_comes_back_exactly_and_repeating_it_does_no_harm(tmp_path):
    book, other = taken_in_by_command(tmp_path), tmp_path / "other.sqlite"
    assert run_book("export", tmp_path / "out", book=book).exit_code == 0
    assert "1 piece taken in, 0 there" in run_book("import", tmp_path / "out", book=other).stdout
    assert "0 pieces taken in, 1 there" in run_book("import", tmp_path / "out", book=other).stdout
    assert run_book("export", tmp_path / "again", book=other).exit_code == 0
    assert folder_bytes(tmp_path / "out") == folder_bytes(tmp_path / "again")
    shown = [run_book("show", "<b>x</b>&3", "--json", book=path).stdout for path in (book, other)]
    assert shown[0] == shown[1]


@settings(max_examples=40, deadline=None)
@given(
    remark=st.text(min_size=1, max_size=40),
    gap_mm=st.floats(-60, 60),
    hours=st.floats(0, 1e4),
    curve_c=st.lists(st.none() | st.integers(-500, 3000).map(lambda tenths: tenths / 10), max_size=30),
)
def test_anything_that_can_stand_in_a_book_comes_back_exactly(remark, gap_mm, hours, curve_c):
    with TemporaryDirectory() as folder, memory_book():
        piece = Piece.create(name=remark, simulated=False, remark=remark)
        side = Side.create(piece=piece, which="bass", taper=remark)
        Measurement.create(side=side, noted_on="2026-11-28", gap_waist_mm=gap_mm, hours_on_form=hours)
        about = dict.fromkeys(
            ("key", "board", "profile", "profile_hash", "rig", "firmware", "sha256"), remark
        )
        run = Run.create(side=side, simulated=False, seconds=hours, **about)
        zone = RunZone.create(run=run, zone=remark, peak_c=gap_mm)
        Curve.create(run_zone=zone, step_s=5, packed=pack(curve_c))
        export(Path(folder) / "out")
        before = as_tree(whole_piece(Piece.get()))
        Piece.delete().execute()
        bring_in(Path(folder) / "out")
        assert as_tree(whole_piece(Piece.get())) == before
        export(Path(folder) / "again")
        assert folder_bytes(Path(folder) / "out") == folder_bytes(Path(folder) / "again")


def test_spreadsheet_gets_no_formula(tmp_path):
    book = taken_in_by_command(tmp_path)
    run_book("export", tmp_path / "out", book=book)
    with (tmp_path / "out" / "measurements.csv").open(newline="", encoding="utf-8") as sheet:
        assert next(csv.DictReader(sheet))["remark"] == "'=1+1"
    whole = json.loads((tmp_path / "out" / "book.json").read_text(encoding="utf-8"))
    assert whole["pieces"][0]["sides"][0]["measurements"][0]["remark"] == "=1+1"


@pytest.mark.parametrize("change", ["truncated", "newer", "other", "no_sides", "text_for_a_list"])
def test_export_that_cannot_be_taken_in_leaves_the_book_alone(tmp_path, change):
    make_pair(tmp_path)
    export(tmp_path / "out")
    path = tmp_path / "out" / "book.json"
    whole = json.loads(path.read_text(encoding="utf-8"))
    if change == "newer":
        whole["schema"] += 1
    elif change == "other":
        whole["pieces"][0]["remark"] = "told otherwise"
    elif change == "no_sides":
        whole["pieces"][0] = {"name": "baritone 4", "simulated": False}
    elif change == "text_for_a_list":
        whole["pieces"][0]["name"] = "baritone 5"
        whole["pieces"][0]["sides"] = "none"
    text = json.dumps(whole)
    path.write_text(text[: len(text) // 2] if change == "truncated" else text, encoding="utf-8")
    before = listing.sides(), listing.runs()
    with pytest.raises(FileError):
        bring_in(tmp_path / "out")
    assert (listing.sides(), listing.runs()) == before


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda piece: piece.update(id=1), "piece 1 has a column 'id'"),
        (lambda piece: piece.update(name=None), "piece 1 has no name"),
        (lambda piece: piece.update(name=7), "the name 7"),
        (lambda piece: piece["sides"][0].update(nonsense=3), "piece 1, sides 1 has a column 'nonsense'"),
        (lambda piece: piece["sides"][1]["runs"][0].update(side=1), "piece 1, sides 2, runs 1 has a column"),
        (lambda piece: piece["sides"][0].update(runs=3), "has runs that are no list"),
        (lambda piece: piece["sides"][0]["runs"][0].update(key=None), "runs 1 has no key"),
        (lambda piece: piece["sides"].append("bass"), "sides 3 is str"),
        (lambda piece: piece["sides"].append(piece["sides"][0] | {"runs": []}), "not a notebook's export"),
    ],
)
def test_hand_edited_export_is_refused_with_its_place(tmp_path, change, said):
    make_pair(tmp_path)
    export(tmp_path / "out")
    path = tmp_path / "out" / "book.json"
    whole = json.loads(path.read_text(encoding="utf-8"))
    change(whole["pieces"][0])
    path.write_text(json.dumps(whole), encoding="utf-8")
    Piece.delete().execute()
    with pytest.raises(FileError, match=re.escape(said)):
        bring_in(tmp_path / "out")
    assert Piece.select().count() == Run.select().count() == 0


def test_export_of_any_size_is_not_read_whole(tmp_path, monkeypatch):
    make_pair(tmp_path)
    export(tmp_path / "out")
    monkeypatch.setattr(transfer, "MOST_BYTES", 1000)
    with pytest.raises(FileError, match="at most 1000 are read"):
        bring_in(tmp_path / "out")


def test_photo_path_of_somebody_elses_export_shows_no_picture_of_this_computer(tmp_path):
    make_pair(tmp_path)
    private = tmp_path / "private" / "0123456789ab.png"
    private.parent.mkdir()
    private.write_bytes(b"not for pages")
    Photo.create(side=Side.get(), path=str(private), copied=False)
    export(tmp_path / "out")
    assert _photo(str(private), copied=False)[0] is not None
    # One's own export is known again as it is.
    assert bring_in(tmp_path / "out") == {"new": 0, "known": 1}
    Piece.delete().execute()
    assert bring_in(tmp_path / "out") == {"new": 1, "known": 0}
    (row,) = whole_piece(Piece.get()).sides["bass"].photos
    assert row["path"] == private.name
    assert _photo(row["path"], copied=False) == (None, f"{private.name} is not where it was")
    assert bring_in(tmp_path / "out") == {"new": 0, "known": 1}
    # One that claims to be a copy is shown only if it is what was copied.
    assert _photo(str(private), copied=True)[0] is None
    for sly in ("../private/mine.png", "..", "C:\\private\\mine.png"):
        assert "/" not in _noted(sly, (tmp_path,))
        assert _photo(_noted(sly, (tmp_path,)), copied=False)[0] is None
    inside = tmp_path / "out" / "bend.png"
    assert _noted(str(inside), (tmp_path / "out",)) == str(inside)


def test_older_export_comes_in(tmp_path):
    # As the first schema would have told it: no curves, no photos, no twist.
    make_pair(tmp_path)
    note(Side.get(), {"gap_waist_mm": 1.0}, [], None)
    export(tmp_path / "out")
    path = tmp_path / "out" / "book.json"
    whole = json.loads(path.read_text(encoding="utf-8"))
    whole["schema"] = 1
    for side in whole["pieces"][0]["sides"]:
        del side["photos"]
        for row in side["measurements"]:
            del row["twist_deg"], row["cup_mm"]
        for run in side["runs"]:
            for zone in run["zones"]:
                del zone["step_s"], zone["curve_c"]
    path.write_text(json.dumps(whole), encoding="utf-8")
    Piece.delete().execute()
    assert Run.select().count() == 0
    assert bring_in(tmp_path / "out") == {"new": 1, "known": 0}
    assert mean_gap(whole_piece(Piece.get()).sides["bass"].rested) == 1.0


def test_given_facts_reach_the_comparison(tmp_path):
    for number, which, thick in ((7, "bass", "1.70"), (8, "treble", "1.87")):
        path = bend_file(tmp_path, number)
        take_in(path, given_from("baritone 3", which, [thick], {}, move=False))
    assert "0.17 mm thicker" in verdict(whole_piece(Piece.get()).figures())


def test_export_of_the_second_schema_is_the_same_piece(tmp_path):
    # It did not tell which side a run was laid out as.
    make_pair(tmp_path)
    export(tmp_path / "out")
    path = tmp_path / "out" / "book.json"
    whole = json.loads(path.read_text(encoding="utf-8"))
    whole["schema"] = 2
    for side in whole["pieces"][0]["sides"]:
        # Nor what form and slat were measured at.
        del side["form_start_c"], side["slat_start_c"]
        for run in side["runs"]:
            del run["laid"]
    path.write_text(json.dumps(whole), encoding="utf-8")
    assert bring_in(tmp_path / "out") == {"new": 0, "known": 1}


def test_form_and_slat_at_the_start_are_noted_compared_and_kept(tmp_path):
    make_pair(tmp_path)
    names = [one.limit.name for one in whole_piece(Piece.get()).figures()]
    assert not {"form_start_c", "slat_start_c"} & set(names)
    assert [line for line in piece_lines(whole_piece(Piece.get())) if "at the start" in line] == []
    name = Piece.get().name
    for which, form in (("bass", "75.2F"), ("treble", "41")):
        noted = given_from(name, which, [], {"form_at": form, "slat_at": "30C"}, move=False)
        side = Side.get(Side.which == which)
        for key in ("form_start_c", "slat_start_c"):
            setattr(side, key, noted.side_facts[key])
        side.save()
    piece = whole_piece(Piece.get())
    form = next(one for one in piece.figures() if one.limit.name == "form_start_c")
    assert form.difference == pytest.approx(17.0)
    assert form.alike is False
    assert "  at the start, measured: form 75 F, slat 86 F" in list(piece_lines(piece, "F"))
    assert verdict([form]) == (
        "The treble side began on a form 17.0 K warmer: warm steel and a warm form take less heat out of the "
        "wood."
    )
    export(tmp_path / "out")
    assert bring_in(tmp_path / "out") == {"new": 0, "known": 1}
    assert "form_start_c" in (tmp_path / "out" / "sides.csv").read_text(encoding="utf-8").splitlines()[0]
