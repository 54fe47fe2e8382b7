"""Running text over several pages: lines, blocks kept together, headers and page numbers.

Every paper is set twice. The first pass learns the number of pages, or how long a receipt
roll must be; the second draws for good.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from tickets.printing import fonts
from tickets.printing.bars import QUIET_MODULES, dot_mm, whole_dots
from tickets.printing.canvas import POINT_MM, Sheet
from tickets.printing.layouts import CAP
from tickets.printing.sizes import PaperStock

ROLL_LIMIT_MM = 4000.0
LINE = 1.3 * POINT_MM
SMALLEST_PT = 10.0
"""Nothing on a paper for customers is smaller."""

NUMBER_MODULE_MM = 0.375


@dataclass(frozen=True, slots=True)
class TextLine:
    """One line of a block: its height in mm and how to draw it at a given top."""

    height: float
    draw: Callable[[float], None]
    is_rule: bool = False


class Flow:
    """A column of text on one paper; all lengths in millimetres, type sizes in points."""

    def __init__(
        self, sheet: Sheet, paper: PaperStock, length: float, pages: int, running: str
    ) -> None:
        self.sheet, self.paper = sheet, paper
        self.left, self.right = paper.margin, paper.width - paper.margin
        self.base = paper.base
        self.is_roll = paper.height is None
        self.y = paper.margin
        self._foot = length - paper.margin - (0 if self.is_roll else 5)
        self._length, self._pages, self._running = length, pages, running
        self._footer()

    @property
    def small(self) -> float:
        """Type of second lines, in points."""
        return max(self.base - 1, SMALLEST_PT)

    @property
    def room(self) -> float:
        """Width of the column."""
        return self.right - self.left

    def space(self, height: float) -> None:
        """Leave a gap, which a page's end swallows."""
        self.y = min(self.y + height, self._foot)

    def keep(self, lines: Sequence[TextLine]) -> None:
        """Set a block on one page where a page can hold it, otherwise line by line."""
        total = sum(line.height for line in lines)
        if self.y + total > self._foot and total <= self._foot - self.paper.margin - 12:
            self._turn()
            if lines[0].is_rule:
                # The running header has just drawn one.
                lines = lines[1:]
        for line in lines:
            if self.y + line.height > self._foot + 0.01:
                self._turn()
            line.draw(self.y)
            self.y += line.height

    def lines(
        self,
        text: str,
        size: float | None = None,
        *,
        bold: bool = False,
        indent: float = 0,
        room: float | None = None,
        align: str = "left",
    ) -> list[TextLine]:
        """Wrap a paragraph into lines; ``room`` narrows it on the right."""
        points = size or self.base
        wide = (room or self.room) - indent
        x = {"left": self.left + indent, "right": self.right}.get(
            align, (self.left + self.right) / 2
        )

        def draw(line: str) -> Callable[[float], None]:
            return lambda top: self._set(x, top, line, points, bold, align)

        return [
            TextLine(points * LINE, draw(line)) for line in fonts.wrap(text, wide, points, bold)
        ]

    def pair(
        self,
        text: str,
        amount: str,
        size: float | None = None,
        *,
        bold: bool = False,
        indent: float = 0,
    ) -> list[TextLine]:
        """Text on the left and an amount on the right of its first line."""
        points = size or self.base
        gap = fonts.width(amount, points, bold) + 3 if amount else 0
        lines = self.lines(text, points, bold=bold, indent=indent, room=self.room - gap)
        first = lines[0]

        def draw(top: float) -> None:
            first.draw(top)
            self._set(self.right, top, amount, points, bold, "right")

        return [TextLine(first.height, draw), *lines[1:]]

    def rule(self, before: float = 2.0, after: float = 1.8) -> list[TextLine]:
        """A thin line across the column."""
        return [
            TextLine(
                before + after,
                lambda top: self.sheet.hairline(self.left, top + before, self.right),
                is_rule=True,
            )
        ]

    def gap(self, height: float) -> list[TextLine]:
        """White space inside a block."""
        return [TextLine(height, lambda top: None)]

    def number_tag(self, number: str, top: float, width: float, right: float) -> float:
        """The ticket number as a swing tag, in figures and bars; return the tag's foot."""
        height, cut = 26.0, 4.5
        left = right - width
        self.sheet.swing_tag(left, top, width, height, cut)
        inner = left + cut + 3.5
        module = whole_dots(NUMBER_MODULE_MM, self.sheet.dpi) * dot_mm(self.sheet.dpi)
        quiet = QUIET_MODULES * module
        bars = self.sheet.bars_width(number, NUMBER_MODULE_MM) - 2 * quiet
        shown, size = fonts.fit(number, bars, 26, 12, True)
        self.sheet.text(inner, top + 3.4 + size * CAP, shown, size, bold=True)
        bar_top = top + 3.4 + size * CAP + 2
        self.sheet.bars(
            inner - quiet, bar_top, top + height - 3.4 - bar_top, number, NUMBER_MODULE_MM
        )
        return top + height

    def _set(self, x: float, top: float, text: str, size: float, bold: bool, align: str) -> None:
        self.sheet.text(x, top + size * (LINE + CAP) / 2, text, size, bold=bold, align=align)

    def _turn(self) -> None:
        self.sheet.new_page()
        self.y = self.paper.margin
        self._footer()
        for line in [*self.pair(self._running, _("continued"), self.small), *self.rule()]:
            line.draw(self.y)
            self.y += line.height

    def _footer(self) -> None:
        if self.is_roll or self._pages < 2:
            return
        text = _("page %(page)s of %(pages)s") % {"page": self.sheet.pages, "pages": self._pages}
        self.sheet.text(
            self.right, self._length - self.paper.margin, text, SMALLEST_PT, align="right"
        )


def typeset(
    paper: PaperStock,
    *,
    title: str,
    author: str,
    running: str,
    dpi: int,
    draw: Callable[[Flow], None],
) -> bytes:
    """Return the PDF that ``draw`` sets on ``paper``, with page numbers or a roll cut to length."""
    length, pages = paper.height or ROLL_LIMIT_MM, 0
    for final in (False, True):
        sheet = Sheet(paper.width, length, dpi=dpi, title=title, author=author)
        flow = Flow(sheet, paper, length, pages, running)
        draw(flow)
        pages = sheet.pages
        if not final and paper.height is None and pages == 1:
            length = flow.y + paper.margin
    return sheet.finish()
