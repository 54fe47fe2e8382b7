"""The day plan on paper: the chart for the wall, then each row as a timed list."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from tickets.plan.chart import PlanBar, PlanChart, Scale, plan_chart
from tickets.plan.sheet import LeftOver, PlanRow, PlanSheet
from tickets.plan.values import EMPTY, FILL, RUN
from tickets.printing.canvas import Sheet
from tickets.printing.flow import Flow, TextLine, typeset
from tickets.printing.sizes import PaperError, PaperStock, paper_stock
from tickets.shop.face import ShopFace

SHEETS = ("a4", "letter")
_LETTER_LANDS = frozenset({"US", "CA", "MX", "PH", "CL", "CO"})
"""Where Letter is the usual sheet: common practice, no source."""

_MARGIN, _BASE = 13.0, 9.0
_HEAD = 22.0
_ROW, _SMALLEST = 10.0, 7.5
_POINTS = 72 / 25.4
_CLOCK = 24.0
_SHADE, _LINE = 0.92, 0.75
"""Greys of what is gone and of the hours."""


def sheet_of(shop: ShopFace) -> str:
    """``a4`` or ``letter``: what the shop prints slips or labels on, else what its country uses."""
    if shop.slip_paper in SHEETS:
        return shop.slip_paper
    if shop.tag_size.startswith("sheet-"):
        return shop.tag_size.removeprefix("sheet-")
    return "letter" if shop.country in _LETTER_LANDS else "a4"


def build_plan(plan: PlanSheet, shop_name: str, paper_key: str = "a4", dpi: int = 300) -> bytes:
    """Return the plan as PDF bytes on ``a4`` or ``letter``, read from the long side.

    Raises PaperError for another paper.
    """
    if paper_key not in SHEETS:
        raise PaperError(
            _("The plan does not fit on “%(paper)s”. Choose a4 or letter.") % {"paper": paper_key}
        )
    stock = paper_stock(paper_key)
    assert stock.height is not None  # sheets have one
    lying = PaperStock(paper_key, stock.title, stock.height, stock.width, _MARGIN, _BASE)
    return typeset(
        lying,
        title=f"{plan.title}, {plan.day_words}",
        author=shop_name,
        running=f"{shop_name} · {plan.title}, {plan.day_words}",
        dpi=dpi,
        draw=lambda flow: _draw(flow, plan, shop_name, stock.width),
    )


def _draw(flow: Flow, plan: PlanSheet, shop_name: str, height: float) -> None:
    flow.keep(
        [
            *flow.pair(f"{plan.title}: {plan.day_words}", shop_name, 15, bold=True),
            *flow.pair(_counted(plan), plan.from_words, _BASE),
            *flow.gap(2),
        ]
    )
    _charts(flow, plan, height - 2 * _MARGIN - _HEAD)
    flow.keep(flow.rule() + flow.lines(_("The same as a list"), 13, bold=True) + flow.gap(0.5))
    for row in plan.rows:
        _row(flow, row)
    if plan.left:
        head = flow.rule() + flow.lines(_("Left for another day"), 11, bold=True) + flow.gap(0.6)
        for group in plan.left:
            flow.keep(head + _left(flow, group))
            head = []


def _counted(plan: PlanSheet) -> str:
    pieces = ngettext("%(n)d open piece", "%(n)d open pieces", plan.pieces) % {"n": plan.pieces}
    tickets = ngettext("%(n)d ticket complete", "%(n)d tickets complete", len(plan.matched))
    return f"{pieces} · {tickets % {'n': len(plan.matched)}} · " + _(
        "Computed from what is open now; new work is not in it."
    )


# The chart


def _charts(flow: Flow, plan: PlanSheet, room: float) -> None:
    """The chart, on as many pages as its rows need."""
    head = 8.0
    row = min(_ROW, max(_SMALLEST, (room - head) / max(len(plan.rows), 1)))
    most = max(1, int((room - head) / row))
    scale = Scale(flow.room, 38, row, head, row * 0.37, row * 0.29, 1.0)
    for first in range(0, len(plan.rows), most):
        chart = plan_chart(replace(plan, rows=plan.rows[first : first + most]), scale)
        flow.keep([TextLine(chart.height + 1, _painter(flow, chart))])


def _painter(flow: Flow, chart: PlanChart) -> Callable[[float], None]:
    return lambda top: _paint(flow.sheet, chart, flow.left, top)


def _paint(sheet: Sheet, chart: PlanChart, left: float, top: float) -> None:
    small = chart.scale.small * _POINTS
    for pause in [*chart.pauses, *filter(None, [chart.gone])]:
        sheet.tint(left + pause.x, top + chart.top, pause.width, chart.body, _SHADE)
    for tick in chart.ticks:
        last = tick.x >= chart.width - 1
        x = left + tick.x
        sheet.text(x, top + chart.tick_y, tick.text, small, align="right" if last else "middle")
        sheet.tint(x - 0.05, top + chart.top, 0.1, chart.body, _LINE)
    for line in chart.lines:
        if line.strong:
            sheet.hairline(left, top + line.y, left + chart.width)
    for word in chart.labels:
        size = chart.scale.big * _POINTS if word.bold else small
        sheet.text(left + word.x, top + word.y, word.text, size, bold=word.bold)
    for bar in chart.bars:
        _bar(sheet, chart, bar, left, top)


def _bar(sheet: Sheet, chart: PlanChart, bar: PlanBar, left: float, top: float) -> None:
    x, y = left + bar.x, top + bar.y
    if bar.kind != RUN:
        sheet.tint(x, y, bar.width, bar.height, _SHADE if bar.kind in (FILL, EMPTY) else 1.0)
    sheet.block(x, y, bar.width, bar.height, round_by=0.5, fill=bar.kind == RUN)
    for word in bar.words:
        size = (chart.scale.big if word.bold else chart.scale.small) * _POINTS
        white = bar.kind == RUN and not word.beside
        sheet.text(left + word.x, top + word.y, word.text, size, bold=word.bold, white=white)


# The list


def _row(flow: Flow, row: PlanRow) -> None:
    head = flow.gap(1.6) + flow.lines(row.title, 10.5, bold=True) + flow.gap(0.4)
    for stretch in row.stretches:
        pieces = ", ".join(f"{piece.spoken} {piece.what}" for piece in stretch.pieces)
        says = f"{stretch.says} · {stretch.count}: {pieces}"
        flow.keep(head + _timed(flow, stretch.clock, says))
        head = []


def _timed(flow: Flow, when: str, says: str) -> list[TextLine]:
    """A time in front of a paragraph that hangs beside it."""
    mark = flow.lines(when, bold=True)[0]
    body = flow.lines(says, indent=_CLOCK)
    first = body[0]

    def draw(top: float) -> None:
        mark.draw(top)
        first.draw(top)

    return [TextLine(first.height, draw), *body[1:]]


def _left(flow: Flow, group: LeftOver) -> list[TextLine]:
    pieces = ", ".join(" ".join(filter(None, [p.spoken, p.what, p.note])) for p in group.pieces)
    return flow.lines(group.says, bold=True) + flow.lines(pieces, indent=4) + flow.gap(0.8)
