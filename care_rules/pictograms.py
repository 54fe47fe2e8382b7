"""Care symbols drawn as SVG, for staff to match against the label in their hand.

Every drawing is built from the same few parts (tub, triangle, square, iron, circle; bars, dots,
cross, figures, letters), so that two symbols differ only where the labels differ. Shapes follow
the public descriptions of ISO 3758 in the care symbol table's ``geometry`` column; no artwork is
copied. The symbols are registered marks in many countries, so these drawings are for matching
on screen and printed papers use words.

Figures and letters are strokes, so no font is needed. Colour is ``currentColor``: the page sets
it. Each shape carries ``data-part`` naming what it is.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from pathlib import Path
from types import MappingProxyType
from xml.sax.saxutils import escape

VIEW_BOX = "0 0 64 64"
SPRITE_PREFIX = "care-"
SPECIAL_KEYS: tuple[str, ...] = ("not_on_label", "unreadable", "no_label")
"""Drawings for the intake picker that are no care symbol: what staff found instead of one."""

_XMLNS = "http://www.w3.org/2000/svg"
_PEN = (
    'fill="none" stroke="currentColor" stroke-width="3" '
    'stroke-linecap="round" stroke-linejoin="round"'
)

# Stroke shapes in a box 10 wide and 18 high; letters have their own width and are 22 high.
_DIGITS = {
    "0": "M5 0C8.6 0 10 4.2 10 9S8.6 18 5 18S0 13.8 0 9S1.4 0 5 0Z",
    "1": "M1.5 4L6 0V18",
    "2": "M.4 4.6A4.7 4.7 0 0 1 9.6 4.6C9.6 9 3.6 12.4 .2 18H10",
    "3": "M.8 3A4.6 4.3 0 1 1 4.8 8.5A4.8 4.75 0 1 1 .2 14.8",
    "4": "M7.4 18V0L0 12.6H10.4",
    "5": "M9.2 0H1.6L.8 8.2C1.9 7.2 3.3 6.6 5 6.6C8 6.6 10 9 10 12.2S8 18 5 18C3 18 1 17 0 15",
    "6": "M8.6 .6C3.6 1.6 0 6.4 0 12.4A5 5.6 0 1 0 10 12.4A5 5.2 0 0 0 .2 11",
    "7": "M0 0H10L3.6 18",
    "8": "M5 0A4.3 4.2 0 0 1 5 8.4A4.3 4.2 0 0 1 5 0ZM5 8.4A5 4.8 0 0 1 5 18A5 4.8 0 0 1 5 8.4Z",
    "9": "M1.4 17.4C6.4 16.4 10 11.6 10 5.6A5 5.6 0 1 0 0 5.6A5 5.2 0 0 0 9.8 7",
}
_LETTERS = {
    "A": (18, "M0 22L9 0L18 22M3.3 14H14.7"),
    "F": (13, "M0 22V0H13M0 11H10"),
    "P": (14, "M0 22V0H7.5A6.5 6.5 0 0 1 7.5 13H0"),
    "W": (24, "M0 0L6 22L12 3L18 22L24 0"),
}


def _path(part: str, d: str, extra: str = "") -> str:
    return f'<path data-part="{part}" d="{d}"{extra}/>'


def _line(part: str, x1: float, y1: float, x2: float, y2: float) -> str:
    return f'<line data-part="{part}" x1="{x1:g}" y1="{y1:g}" x2="{x2:g}" y2="{y2:g}"/>'


def _ring(cx: float, cy: float, r: float) -> str:
    return f'<circle data-part="circle" cx="{cx:g}" cy="{cy:g}" r="{r:g}"/>'


def _solid(part: str, cx: float, cy: float, r: float) -> str:
    return (
        f'<circle data-part="{part}" cx="{cx:g}" cy="{cy:g}" r="{r:g}" '
        'fill="currentColor" stroke="none"/>'
    )


def _cross(cx: float, cy: float, half_width: float, half_height: float) -> str:
    left, right = cx - half_width, cx + half_width
    top, bottom = cy - half_height, cy + half_height
    falling, rising = (
        f"M{left:g} {top:g}L{right:g} {bottom:g}",
        f"M{left:g} {bottom:g}L{right:g} {top:g}",
    )
    return _path("cross", falling + rising)


def _bars(count: int) -> str:
    """Gentler-process bars, one below the other, under a tub or circle."""
    return "".join(_line("bar", 16, y, 48, y) for y in (54.5, 61)[:count])


def _dots(count: int, cx: float, cy: float, pitch: float) -> str:
    first = cx - pitch * (count - 1) / 2
    return "".join(_solid("dot", first + pitch * i, cy, 3.6) for i in range(count))


def _number(text: str) -> str:
    """Figures centred in the tub."""
    gap = 15
    first = 32 - (gap * (len(text) - 1) + 10) / 2
    return "".join(
        _path(
            "digit", _DIGITS[c], f' data-glyph="{c}" transform="translate({first + gap * i:g} 23)"'
        )
        for i, c in enumerate(text)
    )


def _letter(text: str) -> str:
    """One capital centred in the circle."""
    width, d = _LETTERS[text]
    left = 32 - width / 2
    return _path("letter", d, f' data-glyph="{text}" transform="translate({left:g} 15)"')


_TUB = _path("tub", "M3 8L11 47H53L61 8")
_WATER = _path("water", "M5 15q4.5 -6 9 0t9 0t9 0t9 0t9 0t9 0")
# The water stops either side of the hand, which would otherwise be a tangle at small sizes.
_WATER_ROUND_HAND = _path("water", "M5 15q4 -6 8 0M51 15q4 -6 8 0")
_HAND = _path(
    "hand",
    "M25 3V10C19 12.5 15 17 14 22.5C13.6 26.5 17 27.4 18.6 24.4L21 20.5V34A3.2 3.2 0 0 0 27.4 34V27"
    "M27.4 34V37A3.2 3.2 0 0 0 33.8 37V27M33.8 36A3.2 3.2 0 0 0 40.2 36V27"
    "M40.2 32A3.2 3.2 0 0 0 46.6 32V20C46.6 15 44 12 40 10V3",
)
_TRIANGLE = _path("triangle", "M32 6.5L4 55L60 55Z")
_OBLIQUE = _line("oblique", 21, 55, 40.5, 21.2) + _line("oblique", 37, 55, 48.5, 35.1)
_SQUARE = '<rect data-part="square" x="8" y="8" width="48" height="48"/>'
_DRYER = _SQUARE + _ring(32, 32, 21)
_SHADE = _line("shade", 8, 25, 25, 8)
_IRON = _path("iron", "M4 51H60L55 21Q54 15 48 15H22M4 51Q6 32 24 32H56.8")
_CIRCLE = _ring(32, 26, 22)


def _tub(inside: str, bars: int = 0) -> str:
    return _TUB + _WATER + inside + _bars(bars)


def _circle(inside: str, bars: int = 0) -> str:
    return _CIRCLE + inside + _bars(bars)


def _upright(count: int) -> str:
    return "".join(_line("upright", x, 18, x, 46) for x in ((32,), (26, 38))[count - 1])


def _level(count: int) -> str:
    return "".join(_line("level", 18, y, 46, y) for y in ((32,), (26, 38))[count - 1])


def _washes() -> Iterator[tuple[str, str]]:
    mildest = {"95": 0, "70": 0, "60": 1, "50": 1, "40": 2, "30": 2}
    for number, most_bars in mildest.items():
        for bars, suffix in enumerate(("", "_mild", "_very_mild")[: most_bars + 1]):
            yield f"wash_{number}{suffix}", _tub(_number(number), bars)
    hand = _TUB + _WATER_ROUND_HAND + _HAND
    yield "hand_wash", hand
    yield "hand_wash_30", hand + _bars(1)
    yield "no_wash", _tub(_cross(32, 28, 23, 25))
    twisted = _path(
        "cloth",
        "M18 32C22 17 42 17 46 32C42 47 22 47 18 32Z"
        "M18 32L4 21Q8 32 4 43ZM46 32L60 21Q56 32 60 43Z",
    )
    yield "us_do_not_wring", twisted + _cross(32, 32, 24, 24)


def _bleaches() -> Iterator[tuple[str, str]]:
    yield "bleach_any", _TRIANGLE
    yield "bleach_oxygen_only", _TRIANGLE + _OBLIQUE
    yield "no_bleach", _TRIANGLE + _cross(32, 35, 26, 26)


def _dryings() -> Iterator[tuple[str, str]]:
    two_dots = _DRYER + _dots(2, 32, 32, 14)
    yield "tumble_normal", two_dots
    yield "tumble_low", _DRYER + _dots(1, 32, 32, 14)
    yield "no_tumble", _DRYER + _cross(32, 32, 29, 29)
    yield "us_tumble_medium", two_dots
    yield "us_tumble_no_heat", _SQUARE + _solid("disc", 32, 32, 20)
    for key, lines in (
        ("line_dry", _upright(1)),
        ("drip_line_dry", _upright(2)),
        ("flat_dry", _level(1)),
        ("drip_flat_dry", _level(2)),
    ):
        yield key, _SQUARE + lines
        yield f"{key}_shade", _SQUARE + lines + _SHADE


def _irons() -> Iterator[tuple[str, str]]:
    for key, dots in (("iron_200", 3), ("iron_150", 2), ("iron_110", 1)):
        yield key, _IRON + _dots(dots, 33, 41.5, 12)
    raised = f'<g transform="translate(0 -11)">{_IRON}{_dots(1, 33, 41.5, 12)}</g>'
    steam = "".join(_line("steam", x, 46.5, x, 60.5) for x in (20, 44))
    yield "iron_120_no_steam", raised + steam + _cross(32, 53.5, 18, 8)
    yield "no_iron", _IRON + _cross(32, 33, 26, 26)


def _professional() -> Iterator[tuple[str, str]]:
    for letter in "PF":
        for bars, suffix in enumerate(("", "_mild", "_very_mild")):
            yield f"dry_clean_{letter.lower()}{suffix}", _circle(_letter(letter), bars)
    yield "no_dry_clean", _circle(_cross(32, 26, 24, 24))
    yield "legacy_dry_clean_a", _circle(_letter("A"))
    for bars, suffix in enumerate(("", "_mild", "_very_mild")):
        yield f"wet_clean_w{suffix}", _circle(_letter("W"), bars)
    # Arms reach past the disc: inside it a cross of the same colour would not show.
    yield "no_wet_clean", _solid("disc", 32, 26, 20) + _cross(32, 26, 24, 24)


def _specials() -> Iterator[tuple[str, str]]:
    dashes = ' stroke-dasharray="8 8" stroke-dashoffset="4"'
    yield "not_on_label", _path("absent", "M8 8H56V56H8Z", dashes)
    smudges = "M18 24q3.5 -6 7 0t7 0t7 0t7 0M18 34q3.5 -6 7 0t7 0t7 0t7 0M18 44q3.5 -6 7 0t7 0"
    yield "unreadable", _path("label", "M8 12H56V54H8Z") + _path("smudge", smudges)
    stub = "M12 14V48L20 38L28 48L36 38L44 48L52 38V14"
    yield "no_label", _line("seam", 4, 14, 60, 14) + _path("stub", stub)


@cache
def _drawings() -> MappingProxyType[str, str]:
    groups = (_washes, _bleaches, _dryings, _irons, _professional, _specials)
    return MappingProxyType({key: body for group in groups for key, body in group()})


def keys() -> tuple[str, ...]:
    """Every key that has a drawing: care symbols in group order, then ``SPECIAL_KEYS``."""
    return tuple(_drawings())


def svg(key: str, *, title: str = "") -> str:
    """One symbol as an inline ``<svg>`` element, 64 units square, sized by the page.

    With a title the drawing is announced by that title; without one it is hidden from screen
    readers, so the page must say the meaning in words beside it. Raises LookupError when the
    key has no drawing.
    """
    body = _drawings().get(key)
    if body is None:
        raise LookupError(
            f"Care symbol '{key}' has no drawing in pictograms: use a key from keys() or draw it."
        )
    if title:
        access, named = 'role="img"', f"<title>{escape(title)}</title>"
    else:
        access, named = 'aria-hidden="true"', ""
    return f'<svg xmlns="{_XMLNS}" viewBox="{VIEW_BOX}" {access} {_PEN}>{named}{body}</svg>'


def sprite() -> str:
    """All drawings as one SVG document of ``<symbol>`` elements with ids ``care-<key>``.

    A page shows one with ``<use href="care.svg#care-wash_30">`` inside its own ``<svg>``.
    """
    symbols = "\n".join(
        f'<symbol id="{SPRITE_PREFIX}{key}" viewBox="{VIEW_BOX}" {_PEN}>{body}</symbol>'
        for key, body in _drawings().items()
    )
    return f'<svg xmlns="{_XMLNS}">\n{symbols}\n</svg>\n'


def write_sprite(path: Path) -> None:
    """Write ``sprite()`` to ``path`` as UTF-8, replacing what is there."""
    path.write_text(sprite(), encoding="utf-8", newline="\n")
