"""Outlines on paper: pdfium reads back the points that the screen draws, and ink lies on them."""

from __future__ import annotations

import ctypes
from collections.abc import Iterator
from itertools import pairwise

import pypdfium2
import pypdfium2.raw as pdfium_c
import pytest

from tests.tickets.printing.reading import MM, images, ink, pages
from tickets.printing.canvas import Sheet
from tickets.printing.garment_drawing import draw_outline
from tickets.workroom.marks import ConditionMark
from tickets.workroom.outlines import OUTLINES
from tickets.workroom.sides import EDGE, FOLD, GarmentSide
from tickets.workroom.strokes import Point, Polygon, polygons

LEFT, TOP, HEIGHT, DPI = 15.0, 12.0, 100.0, 300
SCALE = HEIGHT / 134
CHORDS = 12
CASES = [("shirt", "front"), ("trousers", "back"), ("skirt", "front"), ("shoes", "front")]


def printed(key: str, side: str, *marks: ConditionMark) -> bytes:
    sheet = Sheet(120, 130, dpi=DPI, title="Outline", author="A shop")
    draw_outline(sheet, OUTLINES[key], side, LEFT, TOP, HEIGHT, marks)
    return sheet.finish()


def lines_of(page: pypdfium2.PdfPage, item: pypdfium2.PdfObject) -> Iterator[list[Point]]:
    """The corners of a path in millimetres from the top left, curves by Bernstein's formula."""
    line: list[Point] = []
    bends: list[Point] = []
    matrix = item.get_matrix()
    for at in range(pdfium_c.FPDFPath_CountSegments(item)):
        segment = pdfium_c.FPDFPath_GetPathSegment(item, at)
        x, y = ctypes.c_float(), ctypes.c_float()
        pdfium_c.FPDFPathSegment_GetPoint(segment, x, y)
        right = matrix.a * x.value + matrix.c * y.value + matrix.e
        up = matrix.b * x.value + matrix.d * y.value + matrix.f
        point = (right / MM, (page.get_height() - up) / MM)
        kind = pdfium_c.FPDFPathSegment_GetType(segment)
        if kind == pdfium_c.FPDF_SEGMENT_MOVETO:
            yield from [line] if line else []
            line = [point]
        elif kind == pdfium_c.FPDF_SEGMENT_LINETO:
            line.append(point)
        else:
            bends.append(point)
            if len(bends) == 3:
                start = line[-1]
                line += [bezier((start, *bends), step / CHORDS) for step in range(1, CHORDS + 1)]
                bends = []
        if pdfium_c.FPDFPathSegment_GetClose(segment):
            line.append(line[0])
    yield line


def bezier(points: tuple[Point, ...], t: float) -> Point:
    shares = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3)
    x, y = (
        sum(share * point[axis] for share, point in zip(shares, points, strict=True))
        for axis in (0, 1)
    )
    return x, y


@pytest.mark.parametrize(("key", "side"), CASES)
def test_paper_has_the_points_of_the_screen(key: str, side: str) -> None:
    strokes = OUTLINES[key].side(side).strokes
    page_lines = [
        [list(lines_of(page, item)) for item in page.get_objects()]
        for page in pages(printed(key, side))
    ]
    for lines, stroke in zip(*page_lines, strokes, strict=True):
        drawn = [list(dict.fromkeys(line)) for line in lines]
        wanted = [
            list(dict.fromkeys((LEFT + x * SCALE, TOP + y * SCALE) for x, y in line))
            for line in polygons(stroke.path)
        ]
        assert [len(line) for line in drawn] == [len(line) for line in wanted]
        for line, points in zip(drawn, wanted, strict=True):
            for (ax, ay), (bx, by) in zip(line, points, strict=True):
                assert (ax, ay) == pytest.approx((bx, by), abs=0.01)


def seen_points(garment: GarmentSide) -> set[Point]:
    """Points of lines, half a unit apart, that no later edge of cloth hides."""
    points: set[Point] = set()
    for at, stroke in enumerate(garment.strokes):
        above = [
            Polygon(tuple(polygon))
            for later in garment.strokes[at + 1 :]
            if later.kind == EDGE
            for polygon in polygons(later.path)
        ]
        points |= {
            point
            for point in along(polygons(stroke.path))
            if stroke.kind != FOLD and not any(polygon.holds(*point) for polygon in above)
        }
    return points


def along(lines: list[list[Point]]) -> Iterator[Point]:
    for line in lines:
        for (ax, ay), (bx, by) in pairwise(line):
            steps = max(1, round(2 * max(abs(ax - bx), abs(ay - by))))
            for step in range(steps):
                yield ax + (bx - ax) * step / steps, ay + (by - ay) * step / steps


def dot(x: float, y: float) -> tuple[int, int]:
    return round((LEFT + x * SCALE) * DPI / 25.4), round((TOP + y * SCALE) * DPI / 25.4)


@pytest.mark.parametrize(("key", "side"), CASES)
def test_ink_lies_on_the_lines_and_nowhere_else(key: str, side: str) -> None:
    (image,) = images(printed(key, side), DPI)
    garment = OUTLINES[key].side(side)
    points = seen_points(garment)
    dry = []
    for point in points:
        x, y = dot(*point)
        box = image.crop((x - 2, y - 2, x + 3, y + 3))
        dry += [point] if ink(box) is None else []
    assert dry == []
    assert len(points) > 500
    lines = [point for stroke in garment.strokes for point in along(polygons(stroke.path))]
    near = {(round(x) + right, round(y) + down) for x, y in lines for right in OFF for down in OFF}
    away = [(x, y) for x in range(121) for y in range(135) if (x, y) not in near]
    assert len(away) > 1000
    assert {image.getpixel(dot(x, y)) for x, y in away} == {255}


OFF = (-1, 0, 1)


def test_a_mark_is_a_ring_with_a_core_on_its_own_side() -> None:
    mark = ConditionMark("front", 45, 90, "Ink")
    (image,) = images(printed("shirt", "front", mark), DPI)
    assert image.getpixel(dot(45, 90)) == 0
    assert image.getpixel(dot(45, 100)) == 0
    assert image.getpixel(dot(45, 95)) == 255
    assert printed("shirt", "back", mark) == printed("shirt", "back")


def test_a_stitch_is_longer_than_its_gap() -> None:
    sheet = Sheet(120, 130, dpi=DPI, title="Stitch", author="A shop")
    sheet.stitch(10, 10, 110)
    for page in pages(sheet.finish()):
        (line,) = page.get_objects()
        dashes = (ctypes.c_float * 2)()
        assert pdfium_c.FPDFPageObj_GetDashArray(line, dashes, 2)
        stitch, gap = (length / MM for length in dashes)
        assert 1.5 < stitch < 2.5
        assert 1 < gap < stitch


@pytest.mark.parametrize(("key", "side"), CASES)
def test_folds_are_dashed_and_nothing_else_is(key: str, side: str) -> None:
    [dashed] = [
        [pdfium_c.FPDFPageObj_GetDashCount(item) > 0 for item in page.get_objects()]
        for page in pages(printed(key, side))
    ]
    assert dashed == [stroke.kind == FOLD for stroke in OUTLINES[key].side(side).strokes]


def test_the_drawings_with_folds_are_among_those_that_are_read_back() -> None:
    sides = [OUTLINES[key].side(side) for key, side in CASES]
    assert any(stroke.kind == FOLD for side in sides for stroke in side.strokes)
