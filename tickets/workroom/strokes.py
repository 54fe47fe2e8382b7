"""Path data of a drawing: read, mirrored, joined, and asked whether it holds a point.

Only ``M``, ``L``, ``Q``, ``C`` and ``Z``, all absolute: what SVG and PDF draw alike.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

Point = tuple[float, float]

_POINTS_OF = {"M": 1, "L": 1, "Q": 2, "C": 3, "Z": 0}
_TOKEN = re.compile(r"[A-Za-z]|-?\d+(?:\.\d+)?|\S")
_CHORDS = 12
"""Straight lines that stand for one curve: within 0.1 of the drawings' units."""


@dataclass(frozen=True)
class Segment:
    """One command of a path with its points; the last one is where the pen stands then."""

    letter: str
    points: tuple[Point, ...]

    def __str__(self) -> str:
        return self.letter + " ".join(f"{x:g} {y:g}" for x, y in self.points)


Path = tuple[Segment, ...]


def read_path(data: str) -> Path:
    """The segments of path data; a letter is written before each command.

    Raises ValueError for another letter or a wrong count of numbers.
    """
    segments: list[Segment] = []
    letter, numbers = "", list[float]()
    for token in [*_TOKEN.findall(data), ""]:
        if token and not token.isalpha():
            numbers.append(float(token))
            continue
        if letter:
            segments.append(_segment(letter, numbers))
        elif numbers:
            raise ValueError(f"{data!r} starts with a number: begin with M.")
        letter, numbers = token, []
    if not segments or segments[0].letter != "M":
        raise ValueError(f"{data!r} is no path: begin with M.")
    return tuple(segments)


def _segment(letter: str, numbers: Sequence[float]) -> Segment:
    if letter not in _POINTS_OF or len(numbers) != 2 * _POINTS_OF[letter]:
        raise ValueError(
            f"{letter} with {len(numbers)} numbers: use {', '.join(_POINTS_OF)} with two a point."
        )
    return Segment(letter, tuple(zip(numbers[::2], numbers[1::2], strict=True)))


def path_data(path: Iterable[Segment]) -> str:
    return "".join(map(str, path))


def mirrored(path: Iterable[Segment], axis: float) -> Path:
    """The path on the other side of the upright line at ``axis``."""
    return tuple(
        Segment(segment.letter, tuple((2 * axis - x, y) for x, y in segment.points))
        for segment in path
    )


def placed(path: Iterable[Segment], scale: float, right: float, down: float) -> Path:
    """The path made smaller or larger, then moved."""
    return tuple(
        Segment(
            segment.letter, tuple((x * scale + right, y * scale + down) for x, y in segment.points)
        )
        for segment in path
    )


def backwards(path: Path) -> Path:
    """One open line drawn from its end to its start."""
    pens = [segment.points[-1] for segment in path]
    turned = [Segment("M", (pens[-1],))]
    for at in range(len(path) - 1, 0, -1):
        bends = path[at].points[:-1]
        turned.append(Segment(path[at].letter, (*reversed(bends), pens[at - 1])))
    return tuple(turned)


def whole(half: Path, axis: float) -> Path:
    """The closed shape of which ``half`` is the line from its top to its foot on the axis."""
    return (*half, *backwards(mirrored(half, axis))[1:], Segment("Z", ()))


def polygons(path: Iterable[Segment]) -> list[list[Point]]:
    """The corners of each line of the path, curves as short straight lines."""
    lines: list[list[Point]] = []
    for segment in path:
        if segment.letter == "M":
            lines.append([segment.points[0]])
        elif segment.letter == "Z":
            lines[-1].append(lines[-1][0])
        elif segment.letter == "L":
            lines[-1].append(segment.points[0])
        else:
            corners = (lines[-1][-1], *segment.points)
            lines[-1] += [_on_curve(corners, step / _CHORDS) for step in range(1, _CHORDS + 1)]
    return lines


def _on_curve(corners: Sequence[Point], share: float) -> Point:
    """The point after ``share`` of a Bézier curve (de Casteljau's construction)."""
    while len(corners) > 1:
        corners = [
            (ax + (bx - ax) * share, ay + (by - ay) * share)
            for (ax, ay), (bx, by) in pairwise(corners)
        ]
    return corners[0]


def cubic(pen: Point, segment: Segment) -> tuple[Point, Point, Point]:
    """A curve as the three points that PDF takes; a quadratic one is raised by a degree."""
    if segment.letter == "C":
        first, second, end = segment.points
        return first, second, end
    bend, end = segment.points
    return _on_curve((pen, bend), 2 / 3), _on_curve((end, bend), 2 / 3), end


@dataclass(frozen=True)
class Polygon:
    corners: tuple[Point, ...]

    @cached_property
    def _box(self) -> tuple[float, float, float, float]:
        across, down = zip(*self.corners, strict=True)
        return min(across), min(down), max(across), max(down)

    def holds(self, x: float, y: float) -> bool:
        """Whether a point lies inside, by the crossings of a level line from it."""
        left, top, right, foot = self._box
        if not (left <= x <= right and top <= y <= foot):
            return False
        inside = False
        for (ax, ay), (bx, by) in pairwise((*self.corners, self.corners[0])):
            if (ay > y) != (by > y) and x < (bx - ax) * (y - ay) / (by - ay) + ax:
                inside = not inside
        return inside
