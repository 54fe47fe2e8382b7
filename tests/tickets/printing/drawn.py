"""What stands on a paper, as lines a person can read: every text and shape with its place.

Read back with pdfium, which shares no code with the builders.
"""

from __future__ import annotations

import ctypes
from collections.abc import Iterator
from dataclasses import dataclass, replace

import pypdfium2
import pypdfium2.raw as pdfium_c

from tests.tickets.printing.reading import MM, pages

_BAR_AFTER = 3.0
"""Millimetres to the next black block that still counts as one code of bars or squares."""


@dataclass(frozen=True)
class _Shape:
    """``kind`` is how it is painted; places in millimetres from the page's top left corner."""

    kind: str
    left: float
    top: float
    right: float
    bottom: float

    def near(self, other: _Shape) -> bool:
        apart_x = max(self.left, other.left) - min(self.right, other.right)
        apart_y = max(self.top, other.top) - min(self.bottom, other.bottom)
        return self.kind == other.kind and max(apart_x, apart_y) < _BAR_AFTER

    def with_other(self, other: _Shape) -> _Shape:
        return replace(
            self,
            left=min(self.left, other.left),
            top=min(self.top, other.top),
            right=max(self.right, other.right),
            bottom=max(self.bottom, other.bottom),
        )

    def __str__(self) -> str:
        return f"{self.kind} {self.left:.1f} {self.top:.1f} to {self.right:.1f} {self.bottom:.1f}"


def drawn(pdf: bytes) -> Iterator[str]:
    """Lines for each page: texts at their baselines, then shapes by the box they fill; blocks of
    one code are told as one. Millimetres from the top left, type in points."""
    for number, page in enumerate(pages(pdf), 1):
        yield f"page {number}: {page.get_width() / MM:.1f} x {page.get_height() / MM:.1f}"
        shape: _Shape | None = None
        for item in page.get_objects():
            if item.type == pdfium_c.FPDF_PAGEOBJ_TEXT:
                yield from filter(None, [shape and str(shape), _text(page, item)])
                shape = None
                continue
            following = _shape(page, item)
            if shape and following.kind.startswith("black") and shape.near(following):
                shape = shape.with_other(following)
            else:
                yield from [str(shape)] if shape else []
                shape = following
        yield from [str(shape)] if shape else []


def _text(page: pypdfium2.PdfPage, item: pypdfium2.PdfObject) -> str:
    room = pdfium_c.FPDFTextObj_GetText(item, page.get_textpage(), None, 0)
    buffer = ctypes.create_string_buffer(room)
    pdfium_c.FPDFTextObj_GetText(
        item,
        page.get_textpage(),
        ctypes.cast(buffer, ctypes.POINTER(ctypes.c_ushort)),
        room,
    )
    size = ctypes.c_float()
    pdfium_c.FPDFTextObj_GetFontSize(item, size)
    matrix = item.get_matrix()
    x, y = matrix.e / MM, (page.get_height() - matrix.f) / MM
    font = pdfium_c.FPDFTextObj_GetFont(item)
    name = ctypes.create_string_buffer(100)
    pdfium_c.FPDFFont_GetBaseFontName(font, name, 100)
    bold = " bold" if b"Bold" in name.value else ""
    turned = " turned" if abs(matrix.b) > 0.5 else ""
    words = buffer.raw.decode("utf-16-le").rstrip("\0")
    return f"{x:.1f} {y:.1f} {size.value:g}pt{bold} {_grey(item)}{turned}: {words}"


def _shape(page: pypdfium2.PdfPage, item: pypdfium2.PdfObject) -> _Shape:
    left, bottom, right, top = item.get_bounds()
    mode, stroke = ctypes.c_int(), ctypes.c_int()
    pdfium_c.FPDFPath_GetDrawMode(item, mode, stroke)
    width = ctypes.c_float()
    pdfium_c.FPDFPageObj_GetStrokeWidth(item, width)
    kind = _grey(item) if mode.value else f"line {width.value / MM:.2f}"
    if mode.value and stroke.value:
        kind += " with an edge"
    dashes = pdfium_c.FPDFPageObj_GetDashCount(item)
    if dashes:
        kind += f" in {dashes} dashes"
    height = page.get_height()
    return _Shape(kind, left / MM, (height - top) / MM, right / MM, (height - bottom) / MM)


def _grey(item: pypdfium2.PdfObject) -> str:
    parts = [ctypes.c_uint() for _ in range(4)]
    pdfium_c.FPDFPageObj_GetFillColor(item, *parts)
    red = parts[0].value
    return {0: "black", 255: "white"}.get(red, f"grey {red}")
