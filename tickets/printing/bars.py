"""Code 128 and QR as rows of modules, before anything is drawn.

Both come from general libraries; what is here are the checks those libraries lack.
Code 128 follows ISO/IEC 15417, QR follows ISO/IEC 18004.
"""

import re
from collections.abc import Iterator
from functools import lru_cache

from barcode.codex import Code128
from django.utils.translation import gettext as _
from reportlab.graphics.barcode.qrencoder import QRCode, QRErrorCorrectLevel

MM_PER_INCH = 25.4
BAR_MODULE_MM = 0.25
QUIET_MODULES = 10
QR_QUIET_MODULES = 4
LONGEST_CODE = 24


class CodeTextError(ValueError):
    """Text that a bar code cannot carry; the message names value, place and cure."""


def check_code_text(text: str) -> str:
    """Return ``text`` if Code 128 can carry it here, or raise CodeTextError.

    Plain printable ASCII only, since the two encoders differ on anything else: one
    refuses it and the other drops it in silence. Nothing may start with ``99``, which
    one encoder drops.
    """
    if not text:
        raise CodeTextError(_("A bar code needs text. Give at least one letter or digit."))
    for place, char in enumerate(text, start=1):
        if not " " <= char <= "~":
            raise CodeTextError(
                _(
                    "Bar code text “%(value)s”, character %(place)s, “%(char)s”: a bar code "
                    "holds plain letters A to Z, digits and ASCII signs only. Replace it."
                )
                % {"value": text, "place": place, "char": char}
            )
    if text != text.strip():
        raise CodeTextError(
            _("Bar code text “%(value)s” starts or ends with a blank. Remove the blank.")
            % {"value": text}
        )
    if text.startswith("99"):
        raise CodeTextError(
            _("Bar code text “%(value)s” starts with 99, which does not print. Start otherwise.")
            % {"value": text}
        )
    if len(text) > LONGEST_CODE:
        raise CodeTextError(
            _("Bar code text “%(value)s” has %(count)s characters. Use at most %(most)s.")
            % {"value": text, "count": len(text), "most": LONGEST_CODE}
        )
    return text


def code128_modules(text: str) -> str:
    """Return the bars of ``text`` as 1 (bar) and 0 (gap), without quiet zones."""
    return str(Code128(check_code_text(text)).build()[0])


@lru_cache(maxsize=512)
def qr_modules(text: str) -> tuple[str, ...]:
    """Return the rows of a QR code as 1 (dark) and 0, at its highest error correction.

    Without quiet zone. Kept, since choosing the best of its eight masks takes milliseconds.
    """
    code = QRCode(None, QRErrorCorrectLevel.H)
    code.addData(check_code_text(text))
    code.make()
    return tuple("".join("1" if dark else "0" for dark in row) for row in code.modules)


def dark_runs(modules: str) -> Iterator[tuple[int, int]]:
    """Yield where each run of dark modules starts and how many modules it has."""
    return ((run.start(), run.end() - run.start()) for run in re.finditer("1+", modules))


def dot_mm(dpi: int) -> float:
    """Size of one printer dot in millimetres."""
    return MM_PER_INCH / dpi


def whole_dots(length_mm: float, dpi: int) -> int:
    """How many whole printer dots come nearest to a length; never fewer than one."""
    return max(1, round(length_mm / dot_mm(dpi)))
