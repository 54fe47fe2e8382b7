"""What an outline is made of: two sides, their strokes, and regions that bear a place's name.

An outline is drawn in a box 120 wide and 134 high from its top left corner. Half of what is the
same on both halves is written; the other half is its mirror image.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from tickets.workroom.strokes import (
    Path,
    Point,
    Polygon,
    mirrored,
    path_data,
    placed,
    polygons,
    read_path,
    whole,
)

WIDTH, HEIGHT = 120, 134
MIDDLE = WIDTH / 2
FRONT, BACK = "front", "back"
SIDES = (FRONT, BACK)

EDGE, SEAM, FOLD = "edge", "seam", "fold"
"""A closed edge of cloth hides what was drawn before it; a seam is thin, a fold dashed."""

AS_DRAWN, BOTH, WHOLE = "as drawn", "both", "whole"
"""How a row is drawn: once; twice, on the picture's right and mirrored; or from its right half,
which goes from the top of the middle line to its foot."""

_BESIDE = 1e-6
"""A point on the line between two places is looked up this far to its right, in one of them."""

Row = tuple[str, str, str]
"""A kind of stroke or a place, how it is drawn, and path data."""


@dataclass(frozen=True)
class Stroke:
    kind: str
    path: Path

    @property
    def data(self) -> str:
        return path_data(self.path)


@dataclass(frozen=True)
class Region:
    """A part of one side. ``place`` is its key; ``left_`` and ``right_`` are the wearer's, and on
    what nobody wears those of who looks at that side."""

    place: str
    polygon: Polygon


@dataclass(frozen=True)
class GarmentSide:
    """One side of an outline, in the order of drawing.

    ``tiles`` share the whole side among them; ``details`` lie on top (a pocket, a cuff), the first
    one uppermost.
    """

    strokes: tuple[Stroke, ...]
    tiles: tuple[Region, ...]
    details: tuple[Region, ...]

    @cached_property
    def edges(self) -> list[Polygon]:
        return [
            Polygon(tuple(polygon))
            for stroke in self.strokes
            if stroke.kind == EDGE
            for polygon in polygons(stroke.path)
        ]

    def has(self, x: float, y: float) -> bool:
        """Whether there is cloth at a point of the box."""
        return any(polygon.holds(x, y) for polygon in self.edges)

    def place(self, x: float, y: float) -> str | None:
        """The key of the place at a point of the box, or None beside the garment."""
        if not self.has(x, y):
            return None
        for region in (*self.details, *self.tiles):
            if region.polygon.holds(x + _BESIDE, y):
                return region.place
        return None


@dataclass(frozen=True)
class Outline:
    key: str
    front: GarmentSide
    back: GarmentSide
    worn: bool = True

    def side(self, side: str) -> GarmentSide:
        """The ``front`` or the ``back``."""
        return {FRONT: self.front, BACK: self.back}[side]


def front(strokes: Iterable[Row], tiles: Iterable[Row], details: Iterable[Row] = ()) -> GarmentSide:
    """A worn front: the wearer's left is at the picture's right."""
    return _garment_side(strokes, tiles, details, ("left", "right"))


def back(strokes: Iterable[Row], tiles: Iterable[Row], details: Iterable[Row] = ()) -> GarmentSide:
    """A worn back, or either side of what nobody wears: left is at the picture's left."""
    return _garment_side(strokes, tiles, details, ("right", "left"))


flat = back
"""Either side of a piece that nobody wears, as one looks at it."""


def _garment_side(
    strokes: Iterable[Row],
    tiles: Iterable[Row],
    details: Iterable[Row],
    hands: tuple[str, str],
) -> GarmentSide:
    """``hands`` are the wearer's at the picture's right and left."""
    return GarmentSide(
        tuple(Stroke(kind, path) for kind, how, data in strokes for path in _paths(how, data)),
        tuple(region for row in tiles for region in _regions(row, hands)),
        tuple(region for row in details for region in _regions(row, hands)),
    )


def _paths(how: str, data: str) -> tuple[Path, ...]:
    """The mirrored half first, so that the wearer's left front laps over the right one."""
    path = read_path(data)
    if how == WHOLE:
        return (whole(path, MIDDLE),)
    return (mirrored(path, MIDDLE), path) if how == BOTH else (path,)


def _regions(row: Row, hands: tuple[str, str]) -> list[Region]:
    place, how, data = row
    *mirror, drawn = [Polygon(tuple(polygons(path)[0])) for path in _paths(how, data)]
    if not mirror:
        return [Region(place, drawn)]
    return [Region(f"{hands[1]}_{place}", mirror[0]), Region(f"{hands[0]}_{place}", drawn)]


def laid_below(key: str, upper: Outline, lower: Outline, names: Mapping[str, str]) -> Outline:
    """Two pieces of a set in one box, the lower one below the upper one, each half as large.

    ``names`` are new names for places of the lower piece, without their hand.
    """

    def both_pieces(side: str) -> GarmentSide:
        high = _halved(upper.side(side), 0, {})
        low = _halved(lower.side(side), HEIGHT / 2, names)
        return GarmentSide(
            high.strokes + low.strokes, high.tiles + low.tiles, high.details + low.details
        )

    return Outline(key, both_pieces(FRONT), both_pieces(BACK))


def _halved(side: GarmentSide, down: float, names: Mapping[str, str]) -> GarmentSide:
    """A side half as large, about the middle of the box and ``down`` from its top."""
    right = MIDDLE / 2

    def halved(regions: Iterable[Region]) -> tuple[Region, ...]:
        return tuple(
            Region(
                _renamed(region.place, names),
                Polygon(tuple((x / 2 + right, y / 2 + down) for x, y in region.polygon.corners)),
            )
            for region in regions
        )

    return GarmentSide(
        tuple(
            Stroke(stroke.kind, placed(stroke.path, 0.5, right, down)) for stroke in side.strokes
        ),
        halved(side.tiles),
        halved(side.details),
    )


def _renamed(place: str, names: Mapping[str, str]) -> str:
    hand, parting, base = place.partition("_")
    if hand in ("left", "right"):
        return hand + parting + names.get(base, base)
    return names.get(place, place)


def box(left: float, top: float, right: float, foot: float) -> str:
    """Path data of an upright rectangle."""
    return f"M{left:g} {top:g}L{right:g} {top:g}L{right:g} {foot:g}L{left:g} {foot:g}Z"


def button(x: float, y: float, radius: float = 1.3) -> str:
    """Path data of a small circle, as four curves (0.5523 of the radius makes them round)."""
    bend = radius * 0.5523
    return (
        f"M{x + radius:g} {y:g}"
        f"C{x + radius:g} {y + bend:g} {x + bend:g} {y + radius:g} {x:g} {y + radius:g}"
        f"C{x - bend:g} {y + radius:g} {x - radius:g} {y + bend:g} {x - radius:g} {y:g}"
        f"C{x - radius:g} {y - bend:g} {x - bend:g} {y - radius:g} {x:g} {y - radius:g}"
        f"C{x + bend:g} {y - radius:g} {x + radius:g} {y - bend:g} {x + radius:g} {y:g}Z"
    )


def buttons(x: float, *levels: float, radius: float = 1.3) -> str:
    """Path data of buttons below each other."""
    return "".join(button(x, level, radius) for level in levels)


def bars(start: Point, end: Point, fall: Point, count: int) -> str:
    """Path data of ``count`` lines by ``fall`` from evenly spaced points: ribs, pleats, fringes."""
    shares = [at / (count - 1) for at in range(count)]
    feet = [
        (start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share)
        for share in shares
    ]
    return "".join(
        f"M{round(x, 2):g} {round(y, 2):g}L{round(x + fall[0], 2):g} {round(y + fall[1], 2):g}"
        for x, y in feet
    )


def slices(line: Sequence[Point], *rows: tuple[str, str, float]) -> list[Row]:
    """Tiles one below the other between the middle and a line that falls at the picture's right.

    A row is a place, ``BOTH`` or ``WHOLE``, and the height where it ends.
    """
    tiles: list[Row] = []
    top = line[0][1]
    for place, how, foot in rows:
        between = [point for point in line if top < point[1] < foot]
        corners = [(_across(line, top), top), *between, (_across(line, foot), foot)]
        side = "".join(f"L{x:g} {y:g}" for x, y in corners)
        tiles.append((place, how, f"M{MIDDLE:g} {top:g}{side}L{MIDDLE:g} {foot:g}"))
        top = foot
    return tiles


def _across(line: Sequence[Point], height: float) -> float:
    """Where a falling line is at a height."""
    for (ax, ay), (bx, by) in pairwise(line):
        if ay <= height <= by:
            return ax + (bx - ax) * (height - ay) / (by - ay)
    raise ValueError(f"{height:g} is above or below the line.")
