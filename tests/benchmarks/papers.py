"""Speed of tags beside a raw drawing: ``python -m tests.benchmarks.papers [--quick]``.

The raw drawing sets the same lines of text, the same bars and the same square code straight on the
PDF library's canvas, bars and squares as one path each with neighbours joined, without layout,
fitting or checks. Both are timed in turn in the same run: a first print, where each works its codes
out, and a print again, where both have them. The bar is 1.5 times the raw drawing; the last line is
one JSON object.
"""

from __future__ import annotations

import argparse
import io
import json
import os
import statistics
import time
from collections.abc import Callable
from typing import Any

import django
from barcode.codex import Code128
from reportlab.graphics.barcode.qrencoder import QRCode, QRErrorCorrectLevel
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from tickets.numbers import piece_code, spoken
from tickets.printing import TAG_SIZES, TagData, build_tags, canvas, fonts
from tickets.printing.bars import dark_runs, qr_modules

SIZE = "roll-62"
BAR = 1.5
MODULE = 2 * 25.4 / 203
"""Two dots of a printer with 203 dots to the inch, in millimetres."""

Codes = tuple[str, list[str]]


def tags(count: int) -> list[TagData]:
    return [
        TagData(
            code=piece_code(1004821, position),
            customer_short="Petersen, M.",
            promise_day="Thu 4 Dec",
            limits=("Wash 30 °C, very gentle", "No tumble dryer", "Iron up to 110 °C"),
            set_mark="",
            position=position,
            count=count,
            kind="Wool jumper",
            shop_name="Linden Lane Laundry",
        )
        for position in range(1, count + 1)
    ]


def encoded(tag: TagData) -> Codes:
    square = QRCode(None, QRErrorCorrectLevel.H)
    square.addData(tag.code)
    square.make()
    rows = ["".join("1" if dark else "0" for dark in row) for row in square.modules]
    return str(Code128(tag.code).build()[0]), rows


def raw(printed: list[TagData], codes: list[Codes] | None) -> bytes:
    """The tags drawn by hand, on a page of the same size; without ``codes`` it encodes them."""
    stock = TAG_SIZES[SIZE]
    buffer = io.BytesIO()
    pdf = Canvas(buffer, pagesize=(stock.page_w * mm, stock.page_h * mm), invariant=1)
    for number, tag in enumerate(printed):
        bars, square = codes[number] if codes else encoded(tag)
        for y, size, bold, text in (
            (44, 20.5, True, spoken(tag.code)),
            (38, 13, True, tag.customer_short),
            (34, 9, False, f"piece {tag.position} of {tag.count} · {tag.kind}"),
            (28, 12.5, True, tag.limits[0]),
            (23, 12.5, True, tag.limits[1]),
            (18, 12.5, True, tag.limits[2]),
            (10, 13, True, f"ready {tag.promise_day}"),
            (4, 8, False, tag.shop_name),
        ):
            pdf.setFont("PaperText-Bold" if bold else "PaperText", size)
            pdf.drawString(3 * mm, y * mm, text)
        path = pdf.beginPath()
        for at, count in dark_runs(bars):
            path.rect((3 + at * MODULE) * mm, 3 * mm, count * MODULE * mm, 9 * mm)
        pdf.drawPath(path, stroke=0, fill=1)
        path = pdf.beginPath()
        for down, row in enumerate(square):
            foot = 47 - down * 2 * MODULE
            for at, count in dark_runs(row):
                left = 45 + at * 2 * MODULE
                path.rect(left * mm, foot * mm, count * 2 * MODULE * mm, 2 * MODULE * mm)
        pdf.drawPath(path, stroke=0, fill=1)
        pdf.showPage()
    pdf.save()
    return buffer.getvalue()


def forget() -> None:
    """Let the product work every code and width out anew, as on a first print."""
    fonts.width.cache_clear()
    qr_modules.cache_clear()
    canvas.square_code.cache_clear()


def seconds(work: Callable[[], object]) -> float:
    """Processor time, so that other work on the machine does not count."""
    start = time.process_time()
    work()
    return time.process_time() - start


def beside(count: int, rounds: int, first: bool) -> dict[str, float]:
    """Milliseconds of the product and of the raw drawing, and the ratio of their medians."""
    printed = tags(count)
    codes = None if first else [encoded(tag) for tag in printed]
    ours, theirs = [], []
    for _round in range(rounds):
        if first:
            forget()
        ours.append(seconds(lambda: build_tags(printed, SIZE)))
        theirs.append(seconds(lambda: raw(printed, codes)))
    own, other = statistics.median(ours), statistics.median(theirs)
    return {
        "ms": round(own * 1000, 2),
        "raw_ms": round(other * 1000, 2),
        "ratio": round(own / other, 3),
    }


def main() -> None:
    parser = argparse.ArgumentParser(description="Speed of tags beside a raw drawing.")
    parser.add_argument("--quick", action="store_true", help="a third of the rounds")
    third = 1 if parser.parse_args().quick else 3
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "counter.settings")
    django.setup()
    fonts.register_fonts()
    raw(tags(1), None)
    cases: dict[str, Any] = {}
    for count, rounds in ((1, 60 * third), (50, 8 * third)):
        for name, first in (("first", True), ("again", False)):
            case = beside(count, rounds, first)
            cases[f"{name}_{count}"] = case
            figures = f"{case['ms']:7.2f} ms, raw {case['raw_ms']:7.2f} ms, {case['ratio']:.2f}"
            print(f"{count:3} tags, {name:5} print: {figures} times")
    worst = max(case["ratio"] for case in cases.values())
    print(json.dumps({"benchmark": "papers", **cases, "worst_ratio": worst, "bar": BAR}))


if __name__ == "__main__":
    main()
