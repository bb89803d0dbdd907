"""Pictures of a run: both files are drawn, holes stay holes, labels keep clear of each other."""

import random
import warnings
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from host.test_logbook import PROFILE, LogMaker, sample_log
from ribwright_board.core import events, record
from ribwright_host import figures
from ribwright_host.figures import SIMULATED, draw, drawable, lanes, save
from ribwright_host.logbook import read_log

PNG_MAGIC = b"\x89PNG\r\n\x1a\n"


@pytest.fixture(scope="module")
def run():
    return read_log(sample_log())


def words_of(figure):
    inside = [text.get_text() for axes in figure.axes for text in axes.texts]
    return inside + [text.get_text() for text in figure.texts]


def panels_of(figure):
    """Temperature axes and duty axes in turn, behind the two strips at the top."""
    return figure.axes[2:]


def test_png_and_svg_are_written(run, tmp_path):
    png, svg = save(run, tmp_path)
    assert png.read_bytes().startswith(PNG_MAGIC)
    assert ET.parse(svg).getroot().tag == "{http://www.w3.org/2000/svg}svg"  # noqa: S314 - our own file
    assert sorted(path.name for path in tmp_path.iterdir()) == ["run.png", "run.svg"]


def test_the_same_run_gives_the_same_svg(tmp_path):
    run = read_log(sample_log(90))
    (tmp_path / "again").mkdir()
    assert save(run, tmp_path)[1].read_bytes() == save(run, tmp_path / "again")[1].read_bytes()


def test_every_zone_has_a_temperature_and_a_duty_panel(run):
    figure = draw(run)
    assert [axes.get_ylabel() for axes in panels_of(figure)] == ["°C", "duty", "°C", "duty"]
    assert {"waist", "full", "5 let it take", "6 rest"} <= set(words_of(figure))


def test_fahrenheit_is_drawn_in_fahrenheit():
    log = LogMaker(zones=["waist"])
    for second in (1, 2):
        log.row(second * 1000, 0, [(100, 50, 0, 0)])
    axes = panels_of(draw(read_log(log.bytes()), "F"))[0]
    target, measured = (line.get_ydata() for line in axes.get_lines()[:2])
    assert axes.get_ylabel() == "°F"
    # 100 C boils water, 212 F; 50 C is 122 F: both by the definition of the scale.
    assert list(target) == pytest.approx([212, 212])
    assert list(measured) == pytest.approx([122, 122])


def test_missing_readings_and_lost_rows_are_gaps():
    log = LogMaker(zones=["waist"])
    for second in (1, 2, 3, 10, 11):
        log.row(second * 1000, 0, [(100, None if second == 2 else 40, 0, 0)])
    line = panels_of(draw(read_log(log.bytes())))[0].get_lines()[1]
    # Second 2 has no reading; the hole before second 10 breaks the line once.
    assert list(np.isnan(line.get_ydata())) == [False, True, False, True, False, False]


def test_simulated_stands_in_the_picture_only_when_it_is(run):
    assert SIMULATED in words_of(draw(run))
    assert SIMULATED not in words_of(draw(read_log(sample_log(60, board="e6614103e7452d2f"))))


def test_labels_in_the_picture_do_not_overlap(run):
    figure = draw(run)
    figure.canvas.draw()
    boxes = [text.get_window_extent() for axes in figure.axes[:2] for text in axes.texts]
    assert len(boxes) >= 12
    for i, box in enumerate(boxes):
        assert not any(box.overlaps(other) for other in boxes[i + 1 :])
        assert box.x0 >= 0
        assert box.x1 <= figure.bbox.x1


def test_crowded_events_lose_labels_before_they_overlap():
    log = LogMaker()
    for second in range(1, 600):
        log.row(second * 1000, 1, [(150, 150, 0.2, 200)] * 2)
        if second > 500:
            log.event(second * 1000, "pause")
    figure = draw(read_log(log.bytes()))
    figure.canvas.draw()
    boxes = [text.get_window_extent() for text in figure.axes[1].texts]
    assert 3 <= len(boxes) <= 99
    assert not any(a.overlaps(b) for i, a in enumerate(boxes) for b in boxes[i + 1 :])


def test_lanes_keep_labels_and_stems_apart():
    dice = random.Random(5)
    stems = sorted(dice.uniform(0, 100) for _ in range(60))
    labels = [(stem, stem, stem + dice.uniform(1, 20)) for stem in stems]
    chosen = lanes(labels, 6)
    placed = [(lane, *label) for lane, label in zip(chosen, labels, strict=True) if lane is not None]
    assert len(placed) > 12
    for i, (lane, stem, left, right) in enumerate(placed):
        for other_lane, other_stem, other_left, other_right in placed[i + 1 :]:
            assert lane != other_lane or right <= other_left or other_right <= left
            assert not (other_lane < lane and left < other_stem < right)
            assert not (lane < other_lane and other_left < stem < other_right)


def test_a_hanging_label_is_not_crossed_by_an_earlier_stem():
    # Label two hangs to the left of its stem at 10, over the first stem at 5: it has to go above it.
    assert lanes([(1, 1, 6), (5, 5, 7), (10, 4, 10)], 3) == [0, 1, None]


@pytest.mark.parametrize(
    "name", ["$\\frac{", "$x_$", "a\nb\x07", "\ud800 half", "\u2603 \U0001f525", "", "x" * 500]
)
def test_hostile_names_are_drawn_as_plain_text(name, tmp_path):
    log = LogMaker(profile=PROFILE | {"name": name}, zones=[name, "full"])
    log.event(1000, "arrived", zone=0, a=1500)
    log.row(1000, 0, [(150, 150, 0.1, 100)] * 2)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        png, _ = save(read_log(log.bytes()), tmp_path)
    assert png.stat().st_size > 1000


def test_what_the_font_lacks_becomes_a_question_mark():
    assert drawable("Jörg \U0001f525\n") == "Jörg ??"
    assert drawable("abcdef", 4) == "abc…"


@pytest.mark.parametrize("data", [b"", sample_log(1), sample_log(0)])
def test_next_to_nothing_is_drawn_too(data, tmp_path):
    png, svg = save(read_log(data), tmp_path)
    assert png.exists()
    assert svg.exists()


def test_a_zone_without_any_reading_says_so():
    log = LogMaker()
    for second in (1, 2):
        log.row(second * 1000, 0, [(100, 40, 0, 0), (None, None, 0, 0)])
    assert words_of(draw(read_log(log.bytes()))).count("no reading") == 1


def test_estimate_is_drawn_with_its_band_and_named_as_one():
    figure = draw(read_log(sample_log(wood_band_k=[8.0, 8.0])), "F")
    waist, _, full, _ = panels_of(figure)
    line = next(line for line in waist.get_lines() if line.get_label() == figures.ESTIMATE)
    drawn = line.get_ydata()
    band = waist.collections[0].get_paths()[0].vertices
    at = [y for x, y in band if x == line.get_xdata()[1000]]
    # 8 K are 14.4 degrees F either way, by the definition of the scale.
    assert max(at) - min(at) == pytest.approx(28.8)
    assert min(at) < drawn[1000] < max(at)
    assert figures.ESTIMATE not in [line.get_label() for line in full.get_lines()]
    assert figures.ESTIMATE in [text.get_text() for text in figure.legends[0].get_texts()]
    bare = draw(read_log(LogMaker(zones=["waist"]).bytes()))
    assert figures.ESTIMATE not in [text.get_text() for text in bare.legends[0].get_texts()]


def test_words_exist_for_every_event_and_mode_of_the_firmware():
    assert set(figures.WORDS["events"]) == set(events.EVENTS)
    assert set(figures.WORDS["flags"]) <= set(events.EVENTS)
    assert set(figures.WORDS["modes"]) == set(record.MODES) - {"running", "paused"}


def test_what_the_maker_did_has_a_sign_on_the_curve_of_the_zones_in_work():
    log = LogMaker()
    for second in range(1, 60):
        log.row(second * 1000, 1, [(150, 100 + second, 0.5, 500), (None, 20, 0, 0)])
    log.event(20_400, "mark", stage=1, a=1, text="gave_way")
    log.event(30_000, "nudge", stage=1, zone=0, a=1540, b=4)
    figure = draw(read_log(log.bytes()), "F")
    waist, _, full, _ = panels_of(figure)
    signs = [line for line in waist.get_lines() if line.get_marker() in ("o", "s")]
    # 120 and 130 C are 248 and 266 F, by the definition of the scale.
    assert [(line.get_xdata()[0] * 60, line.get_ydata()[0]) for line in signs] == [
        (pytest.approx(20.4), pytest.approx(248)),
        (pytest.approx(30.0), pytest.approx(266)),
    ]
    assert [line for line in full.get_lines() if line.get_marker() in ("o", "s")] == []
    assert {"gave way", "to 309 °F"} <= set(words_of(figure))
    told = [text.get_text() for text in figure.legends[0].get_texts()]
    assert told[-2:] == ["noted by the maker", "changed by hand"]
    plain = draw(read_log(sample_log(90)))
    assert "changed by hand" not in [text.get_text() for text in plain.legends[0].get_texts()]


def test_flags_of_the_maker_find_room_before_all_others():
    log = LogMaker()
    for second in range(1, 600):
        log.row(second * 1000, 1, [(150, 150, 0.5, 500), (None, 20, 0, 0)])
    for second in range(100, 110):
        log.event(second * 1000, "cue", stage=1, zone=0, a=1)
    for at, second in enumerate(range(105, 109)):
        log.event(second * 1000, "mark", stage=1, a=at + 1)
    words = words_of(draw(read_log(log.bytes())))
    assert {"gave way", "stiff", "CRACKED", "steam"} <= set(words)
