"""Path data is read as SVG 2 defines it (section 9.3), mirrored and asked for its inside."""

from __future__ import annotations

import pytest

from tickets.workroom.strokes import (
    Polygon,
    backwards,
    cubic,
    mirrored,
    path_data,
    placed,
    polygons,
    read_path,
    whole,
)


def test_path_data_is_read_and_written_alike() -> None:
    data = "M60 8L83 -2.5Q90 20 60 26C1 2 3 4 5 6Z"
    assert path_data(read_path(data)) == data


@pytest.mark.parametrize(
    ("data", "says"),
    [
        ("M0 0H5", "H with 1 numbers"),
        ("M0 0l5 5", "l with 2 numbers"),
        ("M0 0L1 2 3 4", "L with 4 numbers"),
        ("L1 2", "begin with M"),
        ("4 5M0 0", "starts with a number"),
        ("", "begin with M"),
    ],
)
def test_what_svg_and_pdf_do_not_draw_alike_is_refused(data: str, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        read_path(data)


def test_a_line_is_drawn_backwards_through_the_same_points() -> None:
    path = read_path("M0 0L10 0Q20 5 10 20C8 30 4 30 0 40")
    assert path_data(backwards(path)) == "M0 40C4 30 8 30 10 20Q20 5 10 0L0 0"
    assert backwards(backwards(path)) == path


def test_a_half_and_its_mirror_image_close_to_a_whole() -> None:
    assert path_data(whole(read_path("M60 0L80 10L60 30"), 60)) == "M60 0L80 10L60 30L40 10L60 0Z"


def test_a_path_is_mirrored_about_an_upright_line_and_placed() -> None:
    path = read_path("M61 2Q70 4 75 9")
    assert path_data(mirrored(path, 60)) == "M59 2Q50 4 45 9"
    assert path_data(placed(path, 0.5, 10, 100)) == "M40.5 101Q45 102 47.5 104.5"


def test_a_quadratic_curve_is_the_same_as_its_cubic() -> None:
    """SVG 2, appendix on path elements: control points lie at two thirds of the way."""
    quadratic = read_path("M0 0Q3 6 6 0")
    assert cubic((0, 0), quadratic[1]) == ((2, 4), (4, 4), (6, 0))
    raised = read_path("M0 0C2 4 4 4 6 0")
    for (ax, ay), (bx, by) in zip(polygons(quadratic)[0], polygons(raised)[0], strict=True):
        assert (ax, ay) == pytest.approx((bx, by))


def test_curves_pass_where_bezier_s_formula_puts_them() -> None:
    """Half way: a quarter, half, quarter of the three points; an eighth and three of the four."""
    corners = polygons(read_path("M0 0Q4 8 8 0"))[0]
    assert corners[len(corners) // 2] == (4, 4)
    corners = polygons(read_path("M0 0C0 8 8 8 8 0"))[0]
    assert corners[len(corners) // 2] == (4, 6)


@pytest.mark.parametrize(
    ("x", "y", "inside"),
    [(5, 5, True), (15, 5, False), (5, 15, True), (15, 15, True), (25, 15, False)],
)
def test_a_bent_polygon_holds_what_lies_inside_it(x: float, y: float, inside: bool) -> None:
    bent = Polygon(((0, 0), (10, 0), (10, 10), (20, 10), (20, 20), (0, 20)))
    assert bent.holds(x, y) is inside
