"""How a tag is laid out: upright on labels, along a narrow roll, or along a strip."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from django.utils.translation import gettext as _

from tickets.numbers import spoken
from tickets.printing import fonts
from tickets.printing.bars import QR_QUIET_MODULES
from tickets.printing.canvas import POINT_MM, Sheet
from tickets.printing.tag_data import TagData

Layout = Callable[[Sheet, TagData, float, float], None]

# Height of a capital for each point of the house typeface (its own cap height, 668/1000 em).
CAP = 0.668 * POINT_MM
LEADING = 1.12 * POINT_MM
BETWEEN_LIMITS = 0.14 * POINT_MM
SMALLEST = 7.0
# Part of the bars' quiet zone that may lie in the label's own margin.
INTO_MARGIN = 2.0
STRIP_HOLE = 14.0


@dataclass(frozen=True, slots=True)
class TypeScale:
    """Type sizes in points and lengths in millimetres for one size of label."""

    edge: float
    number: float
    name: float
    small: float
    limit: float
    square: float
    bar_h: float
    pill_h: float
    gap: float


_WIDE = TypeScale(4, 27, 16, 10, 15, 0.5, 0, 4.4, 2.7)
_ROOMY = TypeScale(2.6, 20.5, 13, 9, 12.5, 0.5, 9.3, 4.0, 2.2)
_COMPACT = TypeScale(2.2, 15.5, 10.5, 7.5, 10.5, 0.375, 6.6, 3.4, 1.6)
_ALONG = TypeScale(2.2, 15, 12, 8, 10.5, 0.375, 0, 4.0, 1.6)
_STRIP = TypeScale(2.2, 15, 12, 8, 10.5, 0.375, 0, 4.0, 1.6)


def upright(sheet: Sheet, tag: TagData, w: float, h: float) -> None:
    """Figures and name above, limits in the middle, bars and promise below."""
    s = _ROOMY if h > 45 else _COMPACT
    right = w - s.edge
    y = _head(sheet, tag, s, right)
    bar_top = h - s.edge - s.bar_h
    _limits(sheet, tag, s.edge, right, y + s.gap * 0.6, bar_top - s.gap * 0.6, s.limit)
    x = s.edge - INTO_MARGIN + sheet.bars(s.edge - INTO_MARGIN, bar_top, s.bar_h, tag.code)
    label = s.small - 1
    room = right - x
    sheet.text(right, h - s.edge, *fonts.fit(tag.shop_name, room, label, 6), align="right")
    free = s.bar_h - label * CAP - s.gap * 0.5
    # Two lines hold a long day; where only one fits, the day matters more than the word.
    ready = _ready(tag, room * (2 if free > 2 * SMALLEST * LEADING else 1), SMALLEST)
    parts, size = _set_lines((ready,), room, free, s.name)
    y = bar_top + (free - len(parts[0]) * size * LEADING) / 2
    for line in parts[0]:
        sheet.text(right, y + size * (LEADING + CAP) / 2, line, size, bold=True, align="right")
        y += size * LEADING


def wide(sheet: Sheet, tag: TagData, w: float, h: float) -> None:
    """A large label: head above, bars below on the left, promise and limits on the right."""
    s = _WIDE
    right = w - s.edge
    top = _head(sheet, tag, s, right) + s.gap * 0.9
    foot = h - s.edge
    label = s.small - 2
    bars_w = sheet.bars_width(tag.code) - 2 * INTO_MARGIN
    sheet.text(s.edge, foot, *fonts.fit(tag.shop_name, bars_w, label, 6))
    sheet.bars(s.edge - INTO_MARGIN, top, foot - label * CAP - 1.6 - top, tag.code)
    x = s.edge + bars_w + 4
    y = _line(sheet, x, top, _ready(tag, right - x, s.small), right - x, s.name, s.small)
    _limits(sheet, tag, x, right, y + s.gap * 0.7, foot, s.limit)


def along(sheet: Sheet, tag: TagData, w: float, h: float) -> None:
    """Bars and figures on the left; name, promise and limits on the right."""
    s = _ALONG
    right = w - s.edge
    x = _bar_column(sheet, tag, s, s.edge, h, tag.shop_name)
    room = right - x - _qr(sheet, tag, s, right, s.edge)
    y = _who_and_when(sheet, tag, s, x, room, s.edge) + 1.5
    sheet.hairline(x, y, right)
    _limits(sheet, tag, x, right, y + 1, h - s.edge, s.limit)


def strip(sheet: Sheet, tag: TagData, w: float, h: float) -> None:
    """Three columns side by side, and an end left free for a pin, staple or punch."""
    s = _STRIP
    sheet.ring(STRIP_HOLE / 2, h / 2, 2)
    x = _bar_column(sheet, tag, s, STRIP_HOLE, h, "")
    right = w - s.edge
    middle = x + 42
    y = _who_and_when(sheet, tag, s, x, middle - x - 2.5, s.edge)
    sheet.hairline(x, y + 1.8, middle - 2.5)
    shop = fonts.clip(tag.shop_name, middle - x - 2.5, s.small)
    sheet.text(x, h - s.edge, shop, s.small)
    sheet.hairline(middle, s.edge + 0.4, middle, h - s.edge)
    used = _qr(sheet, tag, s, right, h / 2 - 21 * s.square / 2)
    _limits(sheet, tag, middle + 2.5, right - used, s.edge, h - s.edge, s.limit)


LAYOUTS: dict[str, Layout] = {"upright": upright, "wide": wide, "along": along, "strip": strip}


def _ready(tag: TagData, room: float, smallest: float) -> str:
    """The promise in words, or the bare day where the words would cost it its end."""
    ready = _("ready %(day)s") % {"day": tag.promise_day}
    return ready if fonts.width(ready, smallest, True) <= room else tag.promise_day


def _head(sheet: Sheet, tag: TagData, s: TypeScale, right: float) -> float:
    """Figures, name and piece beside square code and set mark; return the rule below them."""
    used, corner_foot = _corner(sheet, tag, s, right)
    room = right - s.edge - used
    y = _line(sheet, s.edge, s.edge, spoken(tag.code), room, s.number, 11)
    y = _line(sheet, s.edge, y + s.gap, tag.customer_short, room, s.name, s.name - 3)
    y = _piece_line(sheet, tag, s.edge, y + s.gap * 0.85, room, s.small)
    y = max(y + s.gap, corner_foot + 1)
    sheet.hairline(s.edge, y, right)
    return y


def _line(
    sheet: Sheet, x: float, top: float, text: str, room: float, size: float, smallest: float
) -> float:
    """Set one bold line whose capitals start at ``top``; return its baseline."""
    shown, fitted = fonts.fit(text, room, size, smallest, True)
    sheet.text(x, top + fitted * CAP, shown, fitted, bold=True)
    return top + fitted * CAP


def _piece_line(
    sheet: Sheet, tag: TagData, x: float, top: float, room: float, size: float
) -> float:
    count = _("piece %(position)s of %(count)s") % {"position": tag.position, "count": tag.count}
    kind = fonts.clip(tag.kind, room - fonts.width(f"{count} · ", size), size)
    sheet.text(x, top + size * CAP, f"{count} · {kind}" if kind else count, size)
    return top + size * CAP


def _who_and_when(
    sheet: Sheet, tag: TagData, s: TypeScale, x: float, room: float, top: float
) -> float:
    """Name, promise and piece on three lines; return the last baseline."""
    y = _line(sheet, x, top, tag.customer_short, room, s.name, s.name - 3)
    ready = _ready(tag, room, s.small)
    y = _line(sheet, x, y + s.gap, ready, room, s.name - 1.5, s.small - 2)
    return _piece_line(sheet, tag, x, y + s.gap * 0.85, room, s.small)


def _bar_column(
    sheet: Sheet, tag: TagData, s: TypeScale, x: float, h: float, foot_text: str
) -> float:
    """Figures, bars, and set mark or text under them; return where the next column starts."""
    bars_w = sheet.bars_width(tag.code)
    room = bars_w - 2 * INTO_MARGIN
    y = _line(sheet, x, s.edge, spoken(tag.code), room, s.number, 11) + s.gap
    foot = h - s.edge
    if tag.set_mark:
        _pill(sheet, tag, x, foot - s.pill_h, s.pill_h)
        bar_foot = foot - s.pill_h - s.gap
    elif foot_text:
        sheet.text(x, foot, *fonts.fit(foot_text, room, s.small - 1, 6))
        bar_foot = foot - (s.small - 1) * CAP - s.gap
    else:
        bar_foot = foot
    sheet.bars(x - INTO_MARGIN, y, bar_foot - y, tag.code)
    return x - INTO_MARGIN + bars_w + 1.2


def _qr(sheet: Sheet, tag: TagData, s: TypeScale, right: float, top: float) -> float:
    """Square code with its last square at ``right``, first at ``top``; return the room it takes."""
    quiet = QR_QUIET_MODULES * s.square
    return sheet.qr(right + quiet, top - quiet, s.square, tag.code) - quiet


def _corner(sheet: Sheet, tag: TagData, s: TypeScale, right: float) -> tuple[float, float]:
    """Square code with the set mark under it; return the room they take and their foot."""
    used = _qr(sheet, tag, s, right, s.edge)
    foot = s.edge + used - QR_QUIET_MODULES * s.square
    if tag.set_mark:
        pill = _pill(sheet, tag, right, foot + 1, s.pill_h, align="right")
        return max(used, pill + 1.5), foot + 1 + s.pill_h
    return used, foot


def _limits(
    sheet: Sheet, tag: TagData, x: float, right: float, top: float, bottom: float, size: float
) -> None:
    """The limits between two heights, in the largest type that holds every word.

    A limit is wrapped and made smaller before any of it is cut, since half a limit can
    mislead; what still does not fit ends in an ellipsis.
    """
    if not tag.limits:
        shown, size = fonts.fit(
            _("No limit on this tag: look at the screen."), right - x, size - 2, 6
        )
        sheet.text(x, (top + bottom) / 2 + size * CAP / 2, shown, size)
        return
    room = right - x - 2.2
    lines, size = _set_lines(tag.limits, room, bottom - top, size)
    gap = size * BETWEEN_LIMITS
    used = sum(len(part) for part in lines) * size * LEADING + gap * (len(lines) - 1)
    y = top + max(0.0, (bottom - top - used) / 2)
    sheet.block(x, y, 0.9, used)
    for part in lines:
        for line in part:
            sheet.text(x + 2.2, y + size * (LEADING + CAP) / 2, line, size, bold=True)
            y += size * LEADING
        y += gap


def _block_height(lines: int, limits: int, size: float) -> float:
    return (lines * LEADING + (limits - 1) * BETWEEN_LIMITS) * size


def _set_lines(
    limits: tuple[str, ...], room: float, height: float, size: float
) -> tuple[list[list[str]], float]:
    """Return the lines of each text and the largest type, in half points, that holds all.

    Type gives way by up to a sixth before a text that fits one line is wrapped.
    """
    whole = size
    while whole >= max(SMALLEST, size * 5 / 6):
        fits = all(fonts.width(limit, whole, True) <= room for limit in limits)
        if fits and _block_height(len(limits), len(limits), whole) <= height:
            return [[limit] for limit in limits], whole
        whole -= 0.5
    while True:
        lines = [fonts.wrap(limit, room, size, True) for limit in limits]
        if _block_height(sum(map(len, lines)), len(limits), size) <= height:
            return [fonts.wrap_evenly(limit, room, size, True) for limit in limits], size
        if size <= SMALLEST:
            break
        size -= 0.5
    gaps = _block_height(0, len(limits), size)
    most = max(1, int((height - gaps) / (size * LEADING)) // len(limits))
    cut = []
    for part in lines:
        if len(part) > most:
            rest = " ".join(part[most - 1 :])
            part = [*part[: most - 1], fonts.clip(rest, room, size, True)]
        cut.append(part)
    return cut, size


def _pill(sheet: Sheet, tag: TagData, x: float, y: float, h: float, align: str = "left") -> float:
    """White letters on black: the mark that ties the pieces of a set; return its width."""
    size = h / POINT_MM * 0.78
    text = fonts.clip(_("set %(mark)s") % {"mark": tag.set_mark}, 20, size, True)
    wide = fonts.width(text, size, True) + h * 0.8
    left = x - wide if align == "right" else x
    sheet.block(left, y, wide, h, round_by=h * 0.28)
    sheet.text(left + h * 0.4, y + (h + size * CAP) / 2, text, size, bold=True, white=True)
    return wide
