"""Reads papers back as a stranger would: rasterise with pdfium, decode with zxing-cpp.

Neither shares code with the builders, so an agreement between them means something.
"""

import math
from collections.abc import Iterator
from itertools import groupby

import pypdfium2
import pypdfium2.raw as pdfium_c
import zxingcpp
from PIL import Image

MM = 72 / 25.4


def pages(pdf: bytes) -> Iterator[pypdfium2.PdfPage]:
    document = pypdfium2.PdfDocument(pdf)
    try:
        for index in range(len(document)):
            yield document[index]
    finally:
        document.close()


def sizes_mm(pdf: bytes) -> list[tuple[float, float]]:
    return [
        (round(page.get_width() / MM, 2), round(page.get_height() / MM, 2)) for page in pages(pdf)
    ]


def images(pdf: bytes, dpi: int) -> list[Image.Image]:
    """Each page in grey, one pixel a printer dot, as a print queue would rasterise it."""
    return [page.render(scale=dpi / 72, grayscale=True).to_pil() for page in pages(pdf)]


def dot_images(pdf: bytes, dpi: int) -> list[Image.Image]:
    """Each page at exactly ``dpi``, not stretched to fill the last part of a dot."""
    images = []
    for page in pages(pdf):
        width = math.ceil(page.get_width() * dpi / 72)
        height = math.ceil(page.get_height() * dpi / 72)
        bitmap = pypdfium2.PdfBitmap.new_native(width, height, pdfium_c.FPDFBitmap_BGRx)
        bitmap.fill_rect((255, 255, 255, 255), 0, 0, width, height)
        scale = dpi / 72
        matrix = pdfium_c.FS_MATRIX(scale, 0, 0, scale, 0, 0)
        clip = pdfium_c.FS_RECTF(0, 0, width, height)
        pdfium_c.FPDF_RenderPageBitmapWithMatrix(bitmap, page, matrix, clip, 0)
        images.append(bitmap.to_pil().convert("L"))
    return images


def codes(image: Image.Image) -> list[tuple[str, str]]:
    """Every bar code and square code on an image as (kind, text), sorted."""
    return sorted((str(code.format), code.text) for code in zxingcpp.read_barcodes(image))


def bar_runs(image: Image.Image) -> list[list[tuple[int, int]]]:
    """For each Code 128, its middle row as (grey, pixels) runs, quiet zones left out."""
    lines = []
    for code in zxingcpp.read_barcodes(image):
        if str(code.format) != "Code 128":
            continue
        corners = code.position
        y = (corners.top_left.y + corners.bottom_left.y) // 2
        left, right = corners.top_left.x, corners.top_right.x
        span = (max(0, left - 6), y, min(image.width, right + 6), y + 1)
        row = image.crop(span).tobytes()  # one byte of grey for each dot
        runs = [(grey, len(list(group))) for grey, group in groupby(row)]
        while runs and runs[0][0] == 255:
            runs.pop(0)
        while runs and runs[-1][0] == 255:
            runs.pop()
        lines.append(runs)
    return lines


def words(pdf: bytes) -> list[str]:
    """The text of each page, with line ends as blanks."""
    return [" ".join(page.get_textpage().get_text_bounded().split()) for page in pages(pdf)]


def ink(image: Image.Image) -> tuple[int, int, int, int] | None:
    """The box round everything that is not white, or None on a blank image."""
    return image.point(lambda grey: 255 if grey < 250 else 0).getbbox()
