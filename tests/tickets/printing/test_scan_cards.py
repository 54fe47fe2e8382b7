"""Cards for the scanner: each scans as exactly its text and never as a piece."""

import pytest

from tests.tickets.printing import reading
from tickets.printing import CardData, CardError, PaperError, build_cards
from tickets.printing.bars import CodeTextError

CARDS = [
    CardData("YES", "Yes", "Answer to the question on the screen"),
    CardData("NO", "No"),
    CardData("STATION PRESS", "Pressing", "The next pieces go here"),
    CardData("STATION SEND-OUT BAY 12", "Send-out", "A long code, narrower bars"),
    *(CardData(f"RACK A{number}", f"A{number}", "Rack place") for number in range(1, 10)),
]


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("size", ["a4", "letter"])
def test_each_card_scans_as_its_text_ten_to_a_page(size: str, dpi: int) -> None:
    read = [reading.codes(image) for image in reading.images(build_cards(CARDS, size, dpi), dpi)]
    texts = [card.code_text for card in CARDS]
    assert read == [
        sorted(("Code 128", text) for text in texts[:10]),
        sorted(("Code 128", text) for text in texts[10:]),
    ]


def test_a_card_shows_title_line_and_code_in_letters() -> None:
    (text,) = reading.words(build_cards(CARDS[:1]))
    assert text == "Yes Answer to the question on the screen YES"


def test_cards_print_on_a4_and_letter() -> None:
    assert reading.sizes_mm(build_cards(CARDS[:1], "a4")) == [(210.0, 297.0)]
    assert reading.sizes_mm(build_cards(CARDS[:1], "letter")) == [(215.9, 279.4)]


@pytest.mark.parametrize("text", ["12", "1004821", "1004821-07", "1004821022"])
def test_a_card_that_would_scan_as_a_number_is_refused(text: str) -> None:
    with pytest.raises(CardError, match="Put a word before it"):
        CardData(text, "Rack")


@pytest.mark.parametrize("text", ["", "ÄNDERN", "RACK A12 ", "99 RED", "X" * 25])
def test_a_card_that_bars_cannot_carry_is_refused(text: str) -> None:
    with pytest.raises(CodeTextError):
        CardData(text, "Rack")


def test_no_cards_or_another_paper_is_refused() -> None:
    with pytest.raises(PaperError, match="at least one"):
        build_cards([])
    with pytest.raises(PaperError, match="Choose a4 or letter"):
        build_cards(CARDS, "a5")
    with pytest.raises(PaperError, match="not known"):
        build_cards(CARDS, "a3")
