"""A drawing surface in millimetres, measured from the top left corner.

Text is set run by run so that every script finds its typeface. Bars and squares are
vector rectangles whose edges lie on whole printer dots, counted from the page's edge.
"""

import io
from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from tickets.printing import fonts
from tickets.printing.bars import (
    BAR_MODULE_MM,
    QR_QUIET_MODULES,
    QUIET_MODULES,
    code128_modules,
    dark_runs,
    dot_mm,
    qr_modules,
    whole_dots,
)
from tickets.workroom.strokes import Path, cubic

POINT_MM = 25.4 / 72


class Sheet:
    """One PDF in the making. Lengths are millimetres, type sizes are points."""

    def __init__(self, page_w: float, page_h: float, *, dpi: int, title: str, author: str) -> None:
        if dpi < 150:
            raise ValueError(
                f"{dpi} dots per inch is too coarse for bar codes: give 150 or more, as in 203."
            )
        fonts.register_fonts()
        self.page_w, self.page_h, self.dpi = page_w, page_h, dpi
        self.pages = 1
        self._buffer = io.BytesIO()
        self._pdf = Canvas(self._buffer, pagesize=(page_w * mm, page_h * mm), invariant=1)
        self._pdf.setTitle(title)
        self._pdf.setAuthor(author)
        # Keeps print dialogues from shrinking a tag, which would spoil the whole dots.
        self._pdf.setViewerPreference("PrintScaling", "None")
        self._origin = (0.0, 0.0)
        self._along = (1, 1)
        self._pdf.translate(0, page_h * mm)

    def new_page(self) -> None:
        """End this page and begin another of the same size."""
        self._pdf.showPage()
        self._pdf.translate(0, self.page_h * mm)
        self.pages += 1

    def finish(self) -> bytes:
        """Return the finished PDF; nothing more can be drawn."""
        self._pdf.showPage()
        self._pdf.save()
        return self._buffer.getvalue()

    @contextmanager
    def frame(self, x: float, y: float, w: float, *, turned: bool = False) -> Iterator[None]:
        """Draw inside a label whose top left corner lies at ``x``, ``y``.

        ``w`` is the label's width on the page. A turned label is read from its long side:
        its own left edge is the page's top edge.
        """
        self._pdf.saveState()
        if turned:
            self._pdf.translate((x + w) * mm, -y * mm)
            self._pdf.rotate(-90)
            self._origin, self._along = (y, x + w), (1, -1)
        else:
            self._pdf.translate(x * mm, -y * mm)
            self._origin, self._along = (x, y), (1, 1)
        yield
        self._pdf.restoreState()
        self._origin, self._along = (0.0, 0.0), (1, 1)

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        *,
        bold: bool = False,
        align: str = "left",
        white: bool = False,
    ) -> float:
        """Set one line with its baseline at ``y``; return its width.

        ``align`` says what ``x`` is: the line's ``left``, ``middle`` or ``right``.
        """
        wide = fonts.width(text, size, bold)
        start = x - {"left": 0.0, "middle": wide / 2, "right": wide}[align]
        line = self._pdf.beginText(start * mm, -y * mm)
        line.setFillGray(1 if white else 0)
        for font, part in fonts.runs(text, bold):
            line.setFont(font, fonts.size_in(font, size))
            line.textOut(part)
        self._pdf.drawText(line)
        return wide

    def block(
        self, x: float, y: float, w: float, h: float, *, round_by: float = 0, fill: bool = True
    ) -> None:
        """A black box, filled or as a hairline."""
        self._ink()
        self._pdf.roundRect(
            x * mm, -(y + h) * mm, w * mm, h * mm, round_by * mm, stroke=not fill, fill=fill
        )

    def tint(self, x: float, y: float, w: float, h: float, grey: float = 1.0) -> None:
        """A box without an edge in a grey from 0 (black) to 1 (white), over what is there."""
        self._pdf.setFillGray(grey)
        self._pdf.rect(x * mm, -(y + h) * mm, w * mm, h * mm, stroke=0, fill=1)

    def stitch(self, x1: float, y1: float, x2: float, y2: float | None = None) -> None:
        """A running stitch, where paper is folded or torn; level unless ``y2`` is given."""
        end = y1 if y2 is None else y2
        self._ink(0.3)
        self._pdf.setLineCap(1)
        self._pdf.setDash([1.9 * mm, 1.35 * mm])
        self._pdf.line(x1 * mm, -y1 * mm, x2 * mm, -end * mm)
        self._pdf.setDash()
        self._pdf.setLineCap(0)

    def hairline(self, x1: float, y1: float, x2: float, y2: float | None = None) -> None:
        """A thin line between rows; level unless ``y2`` is given."""
        self._ink(0.2)
        self._pdf.line(x1 * mm, -y1 * mm, x2 * mm, -(y1 if y2 is None else y2) * mm)

    def ring(self, x: float, y: float, radius: float) -> None:
        """A punched hole, round ``x``, ``y``."""
        self._ink(0.3)
        self._pdf.circle(x * mm, -y * mm, radius * mm, stroke=1, fill=0)

    def line_art(
        self, path: Path, *, weight: float, fill: float | None = None, dashed: bool = False
    ) -> None:
        """Draw a path in millimetres; ``fill`` is the grey inside, from 0 (black) to 1 (white)."""
        self._ink(weight)
        drawn, pen = self._pdf.beginPath(), (0.0, 0.0)
        for segment in path:
            if segment.letter == "Z":
                drawn.close()
                continue
            bends = segment.points if len(segment.points) == 1 else cubic(pen, segment)
            pen = segment.points[-1]
            draw = {"M": drawn.moveTo, "L": drawn.lineTo}.get(segment.letter, drawn.curveTo)
            draw(*(length for x, y in bends for length in (x * mm, -y * mm)))
        self._pdf.setLineJoin(1)
        if dashed:
            self._pdf.setDash([1.2 * mm, 0.9 * mm])
        if fill is not None:
            self._pdf.setFillGray(fill)
        self._pdf.drawPath(drawn, stroke=1, fill=int(fill is not None))
        self._pdf.setDash()
        self._pdf.setLineJoin(0)

    def swing_tag(self, x: float, y: float, w: float, h: float, cut: float = 5) -> None:
        """The outline of a swing tag: two corners cut on the left, a punched hole between."""
        self._ink(0.35)
        path = self._pdf.beginPath()
        points = [
            (x + cut, y),
            (x + w, y),
            (x + w, y + h),
            (x + cut, y + h),
            (x, y + h - cut),
            (x, y + cut),
        ]
        path.moveTo(points[0][0] * mm, -points[0][1] * mm)
        for px, py in points[1:]:
            path.lineTo(px * mm, -py * mm)
        path.close()
        self._pdf.drawPath(path, stroke=1, fill=0)
        self.ring(x + cut * 0.75, y + h / 2, 1.1)

    def bars_width(self, text: str, module_mm: float = BAR_MODULE_MM) -> float:
        """Width of a bar code with its two quiet zones."""
        modules = len(code128_modules(text)) + 2 * QUIET_MODULES
        return modules * whole_dots(module_mm, self.dpi) * dot_mm(self.dpi)

    def bars(
        self, x: float, y: float, h: float, text: str, module_mm: float = BAR_MODULE_MM
    ) -> float:
        """Draw Code 128 with its left quiet zone starting at ``x``; return the width.

        Every bar is a whole number of printer dots wide and starts on a whole dot. Each is a shape
        of its own: where a page is stretched a little, renderers set a lone rectangle on whole dots
        but blur the edges of a path, and a bar may be only two dots wide.
        """
        module = whole_dots(module_mm, self.dpi) * dot_mm(self.dpi)
        modules = code128_modules(text)
        start = self._snap(x, 0) + QUIET_MODULES * module
        self._ink()
        for at, count in dark_runs(modules):
            rectangle = _solid(start + at * module, y, count * module, h, self.dpi)
            self._pdf.rect(*rectangle, stroke=0, fill=1)
        return (len(modules) + 2 * QUIET_MODULES) * module

    def qr(self, right: float, y: float, module_mm: float, text: str) -> float:
        """Draw a QR code whose quiet zone ends at ``right``; return its side with quiet zone."""
        module = whole_dots(module_mm, self.dpi) * dot_mm(self.dpi)
        side = (len(qr_modules(text)) + 2 * QR_QUIET_MODULES) * module
        left = self._snap(right - side, 0) + QR_QUIET_MODULES * module
        top = self._snap(y, 1) + QR_QUIET_MODULES * module
        self._ink()
        self._pdf.saveState()
        self._pdf.translate(left * mm, -top * mm)
        self._pdf.drawPath(square_code(text, module, self.dpi), stroke=0, fill=1)
        self._pdf.restoreState()
        return side

    def _ink(self, weight: float = 0.25) -> None:
        self._pdf.setFillGray(0)
        self._pdf.setStrokeGray(0)
        self._pdf.setLineWidth(weight * mm)

    def _snap(self, value: float, axis: int) -> float:
        """Move a local coordinate to the nearest whole dot, counted from the page's edge."""
        dot = dot_mm(self.dpi)
        origin, sign = self._origin[axis], self._along[axis]
        return sign * (round((origin + sign * value) / dot) * dot - origin)


def _solid(x: float, y: float, w: float, h: float, dpi: int) -> tuple[float, float, float, float]:
    """A rectangle in points, a hundredth of a dot smaller on each side.

    Printers blacken every dot that a shape touches, so without this a rounding error
    in the last decimal would make a bar one dot too wide.
    """
    slack = dot_mm(dpi) / 100
    return (x + slack) * mm, -(y + h - slack) * mm, (w - 2 * slack) * mm, (h - 2 * slack) * mm


@lru_cache(maxsize=512)
def square_code(text: str, module: float, dpi: int) -> PDFPathObject:
    """All dark squares of a code as one path from its top left corner, kept for the next print."""
    path = PDFPathObject()
    for number, row in enumerate(qr_modules(text)):
        for at, count in dark_runs(row):
            path.rect(*_solid(at * module, number * module, count * module, module, dpi))
    return path
