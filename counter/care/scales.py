"""Ceiling and floor of a piece as a drawing: one scale of heat each, a row for every rule.

Only places and words; what stands where comes from ``care_rules.heat``. Places are percentages of
the width, so that the words beside them keep their size on every screen.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from care_rules.heat import HeatBound, HeatSpan
from counter.care.wording import (
    HEAT_STANDINGS,
    HEAT_TITLES,
    STRENGTH_NAMES,
    TABLE_WORDS,
    bound_words,
    heat_finding,
    heat_words,
    stop_words,
)
from counter.models import Shop
from tickets import house_book

_COOLEST = 20.0
"""Where the cool end of a scale stands; left of it there is only "never"."""

_ENDS = {"wash.max_c": (20, 95), "iron.max_c": (100, 210)}
_STOPS = {"wash.max_c": (20, 40, 60, 95), "iron.max_c": (110, 150, 200)}


@dataclass(frozen=True)
class HeatStretch:
    """A part of the scale, in percent of its width."""

    x: float
    end: float

    @property
    def width(self) -> float:
        return round(self.end - self.x, 2)


@dataclass(frozen=True)
class BoundRow:
    """One rule: its words, its mark at ``x``, and the stretch that it closes."""

    key: str
    name: str
    linked: bool
    kind: str
    limit: str
    standing: str
    standing_words: str
    x: float
    closes: HeatStretch


@dataclass(frozen=True)
class HeatScale:
    """``room`` is where the treatment may be, ``missing`` what a floor asks past the ceiling."""

    path: str
    name: str
    finding: str
    heard: str
    cool: float
    stops: tuple[tuple[float, str], ...]
    rows: tuple[BoundRow, ...]
    room: HeatStretch | None
    missing: HeatStretch | None


def scales_of(spans: Iterable[HeatSpan], shop: Shop) -> list[HeatScale]:
    return [_scale(span, shop) for span in spans]


def _scale(span: HeatSpan, shop: Shop) -> HeatScale:
    pressing = (
        ("floors", span.floors),
        ("first_baths", span.first_baths),
        ("ceilings", span.ceilings),
    )
    rows = tuple(
        _row(bound, side, span.path, shop) for side, bounds in pressing for bound in bounds
    )
    finding = heat_finding(span, shop.fahrenheit)
    said = [bound_words(row.name, row.limit, row.standing_words) for row in rows]
    low = _place(span.path, span.lowest) if span.lowest else _COOLEST
    high = _place(span.path, span.highest)
    return HeatScale(
        path=span.path,
        name=str(HEAT_TITLES[span.path]),
        finding=finding,
        heard=" ".join([finding, *said]),
        cool=_COOLEST,
        stops=tuple(
            (_place(span.path, degrees), stop_words(degrees)) for degrees in (0, *_STOPS[span.path])
        ),
        rows=rows,
        room=HeatStretch(low, high) if span.highest and low <= high else None,
        missing=HeatStretch(high, low) if span.lowest and low > high else None,
    )


def _row(bound: HeatBound, side: str, path: str, shop: Shop) -> BoundRow:
    rule = house_book.rule(bound.key)
    x = _place(path, bound.degrees)
    kind = str(TABLE_WORDS.get(rule.table, rule.table))
    if bound.strength:
        kind = f"{kind}, {STRENGTH_NAMES[bound.strength]}"
    return BoundRow(
        key=bound.key,
        name=f"{bound.name[:1].upper()}{bound.name[1:]}",
        linked=rule.table != "house",
        kind=kind,
        limit=heat_words(bound, side, shop.fahrenheit),
        standing=bound.standing,
        standing_words=str(HEAT_STANDINGS[bound.standing]),
        x=x,
        closes=HeatStretch(0, x) if side == "floors" else HeatStretch(x, 100),
    )


def _place(path: str, degrees: int) -> float:
    """Where a temperature stands, in percent; what is cooler than the scale stands at its end."""
    if not degrees:
        return 0.0
    first, last = _ENDS[path]
    share = min(max((degrees - first) / (last - first), 0.0), 1.0)
    return round(_COOLEST + share * (100 - _COOLEST), 2)
