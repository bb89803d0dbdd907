"""Outlines: radius and length of curves that are known in closed form, from SVG and from DXF."""

import ezdxf
import numpy as np
import pytest
from scipy.special import ellipe, fresnel

from ribwright_host.errors import FileError
from ribwright_host.plan.curvature import curvature
from ribwright_host.plan.outline import joined, read_outline, svg_scale

SVG = '<svg xmlns="http://www.w3.org/2000/svg" {root}>{body}</svg>'
# Semi-axes, mm: the least radius of curvature of an ellipse is b^2 / a, at the ends of the long axis.
A_MM, B_MM = 150.0, 75.0


def svg(tmp_path, body, root='width="400mm" height="400mm" viewBox="0 0 400 400"'):
    path = tmp_path / "outline.svg"
    path.write_text(SVG.format(root=root, body=body))
    return path


def dxf(tmp_path, draw, units=4):
    document = ezdxf.new()
    document.units = units
    draw(document.modelspace())
    path = tmp_path / "outline.dxf"
    document.saveas(path)
    return path


def measured(path, unit=None):
    return curvature(read_outline(path, unit).points_mm, path.name)


def clothoid(length_mm=400.0, per_mm2=1.0 / (45.0 * 400.0)):
    """Points of a curve whose curvature grows evenly with its length; Fresnel integrals by scipy."""
    scale = np.sqrt(np.pi / per_mm2)
    along = np.linspace(0.0, length_mm, 1600)
    sine, cosine = fresnel(along / scale)
    return scale * np.stack([cosine, sine], axis=1), per_mm2


def test_ellipse_in_svg_has_the_radius_and_perimeter_of_the_closed_form(tmp_path):
    body = f'<g transform="translate(200 200)"><ellipse rx="{A_MM}" ry="{B_MM}"/></g>'
    seen = measured(svg(tmp_path, body))
    assert seen.closed
    assert seen.tightest()[0] == pytest.approx(B_MM**2 / A_MM, rel=0.01)
    # 4 a E(e^2): complete elliptic integral of the second kind, by scipy.
    perimeter_mm = 4.0 * A_MM * ellipe(1.0 - (B_MM / A_MM) ** 2)
    assert seen.length_mm == pytest.approx(perimeter_mm, rel=0.001)
    assert seen.strip_mm == pytest.approx(perimeter_mm / 2.0, rel=0.001)


def test_the_same_ellipse_in_dxf_agrees(tmp_path):
    seen = measured(dxf(tmp_path, lambda space: space.add_ellipse((0, 0), (A_MM, 0), B_MM / A_MM)))
    assert seen.tightest()[0] == pytest.approx(B_MM**2 / A_MM, rel=0.01)


def test_outline_as_large_as_a_town_is_refused_with_the_unit_to_try(tmp_path):
    with pytest.raises(FileError, match="at most 20000 mm") as refused:
        read_outline(svg(tmp_path, '<path d="M 0 0 L 40000000 0"/>'))
    assert "--outline-unit" in refused.value.hint
    town = dxf(tmp_path, lambda space: space.add_circle((0, 0), 100.0), units=6)
    with pytest.raises(FileError, match="at most 20000 mm"):
        read_outline(town)
    assert read_outline(town, "mm").points_mm.shape[1] == 2
    many = "".join(f'<path d="M 0 {n} L 9 {n}"/>' for n in range(2100))
    with pytest.raises(FileError, match="more than 2000 outlines"):
        read_outline(svg(tmp_path, many))


def test_dxf_in_inches_is_in_mm_here(tmp_path):
    in_inches = dxf(tmp_path, lambda space: space.add_ellipse((0, 0), (A_MM / 25.4, 0), 0.5), units=1)
    assert measured(in_inches).tightest()[0] == pytest.approx(37.5, rel=0.01)


@pytest.mark.parametrize("kind", ["svg", "dxf"])
def test_curvature_of_a_clothoid_is_linear(tmp_path, kind):
    points, per_mm2 = clothoid()
    if kind == "svg":
        words = " L".join(f"{x:.6f},{400 - y:.6f}" for x, y in points)
        path = svg(tmp_path, f'<path d="M{words}"/>')
    else:
        path = dxf(tmp_path, lambda space: space.add_lwpolyline(points.tolist()))
    seen = measured(path)
    assert not seen.closed
    inside = seen.along_mm > 40.0
    expected = per_mm2 * seen.along_mm[inside]
    assert np.abs(np.abs(seen.per_mm[inside]) / expected - 1.0).max() < 0.01
    assert seen.length_mm == pytest.approx(400.0, rel=0.001)


def test_a_waist_turns_the_other_way_than_a_bout(tmp_path):
    # Two half circles that run into each other.
    seen = measured(svg(tmp_path, '<path d="M0,200 A50,50 0 0 1 100,200 A40,40 0 0 0 180,200"/>'))
    assert seen.per_mm.min() == pytest.approx(-1 / 50, rel=0.01)
    assert seen.per_mm.max() == pytest.approx(1 / 40, rel=0.01)


def test_arcs_and_lines_of_a_dxf_are_joined_in_any_order(tmp_path):
    def draw(space):
        space.add_line((200, 0), (0, 0))
        space.add_arc((200, 50), 50, 270, 90)
        space.add_line((200, 100), (50, 100))
        space.add_text("a title", height=5)

    seen = measured(dxf(tmp_path, draw))
    assert seen.length_mm == pytest.approx(200 + np.pi * 50 + 150, rel=0.001)
    assert seen.tightest()[0] == pytest.approx(50.0, rel=0.01)


@pytest.mark.parametrize(
    ("root", "mm"),
    [
        # CSS Values and Units Level 3: 96 px to the inch.
        ({}, 25.4 / 96),
        ({"width": "100mm", "viewBox": "0 0 200 50"}, 0.5),
        ({"width": "10cm", "height": "10cm", "viewBox": "0 0 100 200"}, 0.5),
        ({"width": "4in", "viewBox": "0 0 101.6 10"}, 1.0),
        ({"width": "100%", "viewBox": "0 0 200 50"}, 25.4 / 96),
    ],
)
def test_unit_of_an_svg(root, mm):
    assert svg_scale(root) == pytest.approx(mm)


def test_a_stated_unit_takes_the_place_of_the_files(tmp_path):
    path = svg(tmp_path, '<circle cx="20" cy="20" r="5"/>', root="")
    assert measured(path, "cm").tightest()[0] == pytest.approx(50.0, rel=0.01)


def test_joining_keeps_separate_outlines_apart():
    line = np.array([[0.0, 0.0], [10.0, 0.0]])
    assert [
        len(one) for one in joined([line, line + np.array([10.0, 0.0]), line + np.array([0.0, 5.0])])
    ] == [3, 2]


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("a.svg", "<svg", "no SVG that can be read"),
        ("a.svg", '<svg xmlns="http://www.w3.org/2000/svg"/>', "holds no line or curve"),
        ("a.dxf", "nothing", "no DXF that can be read"),
        ("a.png", "", "neither .svg nor .dxf"),
        ("a.svg", SVG.format(root="", body='<path d="M0,0 L400,0 L400,300"/>'), "corner of 90 degrees"),
        ("a.svg", SVG.format(root="", body='<circle r="2"/>'), "at least 12 mm are needed"),
    ],
)
def test_bad_drawings_end_in_one_clear_error(tmp_path, name, text, said):
    path = tmp_path / name
    path.write_text(text)
    with pytest.raises(FileError, match=said):
        measured(path)


def test_a_dxf_without_a_unit_is_asked_for_one(tmp_path):
    path = dxf(tmp_path, lambda space: space.add_circle((0, 0), 50), units=0)
    with pytest.raises(FileError, match="does not state its unit"):
        measured(path)
    assert measured(path, "mm").tightest()[0] == pytest.approx(50.0, rel=0.01)


def test_a_missing_drawing_is_said(tmp_path):
    with pytest.raises(FileError, match="cannot be read"):
        read_outline(tmp_path / "none.svg")
