"""Code 128 against a second encoder, a decoder, and the known faults of both encoders."""

import pytest
import zxingcpp
from barcode.codex import Code128 as FirstEncoder
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from reportlab.graphics.barcode.code128 import Code128Auto as SecondEncoder

from tests.examples import examples
from tickets.numbers import piece_code
from tickets.printing.bars import (
    CodeTextError,
    code128_modules,
    qr_modules,
    whole_dots,
)


def second_opinion(text: str) -> str:
    """The modules that reportlab's own encoder would print for the same text."""
    encoder = SecondEncoder(text)
    encoder.validate()
    encoder.encode()
    encoder.decompose()
    # Capitals are bars and small letters are gaps, A for one module to D for four.
    return "".join(
        ("1" if width.isupper() else "0") * (ord(width.upper()) - ord("A") + 1)
        for width in encoder.decomposed
    )


def picture(modules: str, dots: int = 2) -> Image.Image:
    row = Image.new("L", (len(modules) + 20, 1), 255)
    for place, module in enumerate(modules, start=10):
        if module == "1":
            row.putpixel((place, 0), 0)
    return row.resize((row.width * dots, 60), Image.Resampling.NEAREST)


def test_two_encoders_draw_the_same_bars_for_piece_numbers() -> None:
    numbers = [piece_code(ticket, 1 + ticket % 99) for ticket in range(1_000_001, 9_800_000, 7_919)]
    assert len(numbers) > 1000
    assert [n for n in numbers if code128_modules(n) != second_opinion(n)] == []


def test_a_piece_number_takes_ninety_modules_and_at_most_thirty_millimetres() -> None:
    assert len(code128_modules(piece_code(1004821, 7))) == 90
    for dpi in (203, 300, 600):
        dots = whole_dots(0.25, dpi)
        assert (90 + 20) * dots * 25.4 / dpi <= 30
    assert [whole_dots(0.25, dpi) for dpi in (203, 300, 600)] == [2, 3, 6]


def test_a_seven_digit_ticket_number_decodes_to_exactly_itself() -> None:
    read = zxingcpp.read_barcodes(picture(code128_modules("1004821")))
    assert [(str(code.format), code.text) for code in read] == [("Code 128", "1004821")]


CARD_TEXT = st.text(
    st.characters(min_codepoint=0x20, max_codepoint=0x7E), min_size=1, max_size=24
).filter(lambda text: text == text.strip() and not text.startswith("99"))


@examples()
@given(CARD_TEXT)
def test_any_allowed_text_decodes_to_exactly_itself(text: str) -> None:
    read = zxingcpp.read_barcodes(
        picture(code128_modules(text)),
        formats=zxingcpp.BarcodeFormats(zxingcpp.BarcodeFormat.Code128),
    )
    assert [code.text for code in read] == [text]


def test_the_first_encoder_still_drops_a_leading_99_so_such_text_is_refused() -> None:
    # The fault itself: bars of 9912 are the bars of 12.
    assert FirstEncoder("9912").build() == FirstEncoder("12").build()
    with pytest.raises(CodeTextError, match="starts with 99"):
        code128_modules("9912")


def test_the_second_encoder_still_drops_letters_outside_ascii_so_such_text_is_refused() -> None:
    # The fault itself: o with two dots vanishes without a word.
    assert second_opinion("RACK \u00d612") == second_opinion("RACK 12")
    with pytest.raises(CodeTextError, match="character 6, “Ö”"):
        code128_modules("RACK Ö12")


@pytest.mark.parametrize("text", ["", " A", "A ", "A\tB", "A" * 25, "é", "\u0661"])
def test_text_that_a_bar_code_cannot_carry_is_refused(text: str) -> None:
    with pytest.raises(CodeTextError):
        code128_modules(text)


def test_a_square_code_of_a_piece_number_is_the_smallest_size_there_is() -> None:
    # ISO/IEC 18004: version 1 has 21 modules a side and, at level H, holds 17 digits.
    rows = qr_modules(piece_code(1004821, 7))
    assert [len(row) for row in rows] == [21] * 21
