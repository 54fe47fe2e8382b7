"""Claim slips and receipts: complete, numbered by page, with a ticket number that scans."""

import re
from dataclasses import replace

import pytest

from counter.papers.receipt import (
    PaymentLine,
    ReceiptData,
    ReceiptPiece,
    WaitingPiece,
    build_receipt,
)
from counter.papers.slip import SlipCaution, SlipData, SlipPiece, build_claim_slip
from tests.tickets.printing import reading
from tests.tickets.printing.drawn import drawn
from tickets.numbers import NumberError
from tickets.printing import PaperError

PAPERS = ["a4", "letter", "a5", "roll-80"]
JUMPER = SlipPiece(
    position=1,
    kind="Wool jumper",
    description="Blue, moth hole at the left cuff",
    services=("Wet clean", "Press"),
    price="£9.50",
    cautions=(
        SlipCaution(
            "The wool may felt. The label could not be read.", "Mara Petersen", "25 Nov, 10:42"
        ),
    ),
    home_care=("Wash by hand up to 30 °C.", "Dry flat."),
    set_mark="A",
)
SLIP = SlipData(
    shop_name="Linden Lane Laundry",
    ticket=1004821,
    customer="Mara Petersen",
    opened_on="Wed 25 November, 10:45",
    promise="Sat 28 November, after 16:00",
    pieces=(JUMPER, SlipPiece(2, "Trousers")),
    total="£27.70",
    paid="£10.00",
    balance="£17.70",
    address=("14 Linden Lane", "Little Marrow"),
    phone="01632 960123",
    extra_sums=(("Discount", "-£2.00"),),
    footer=("Bring this slip when you collect.",),
)
RECEIPT = ReceiptData(
    shop_name="Linden Lane Laundry",
    ticket=1004821,
    customer="Mara Petersen",
    handed_on="Sat 28 November, 16:20",
    collector="Jon Petersen",
    pieces=(ReceiptPiece(1, "Wool jumper", "Blue", "£9.50"),),
    payments=(PaymentLine("25 Nov", "Cash", "£10.00"), PaymentLine("28 Nov", "Card", "£17.70")),
    total="£27.70",
    paid="£27.70",
    balance="£0.00",
    waiting=(WaitingPiece(2, "Trousers", "Tue 1 Dec"),),
    staff="Ines",
    footer=("Thank you.",),
)


def many(count: int) -> SlipData:
    pieces = tuple(
        replace(JUMPER, position=number, description=f"Mark {number:02d}")
        for number in range(1, count + 1)
    )
    return replace(SLIP, pieces=pieces)


@pytest.mark.parametrize(
    ("key", "size"), [("a4", (210.0, 297.0)), ("letter", (215.9, 279.4)), ("a5", (148.0, 210.0))]
)
def test_papers_have_their_standard_size(key: str, size: tuple[float, float]) -> None:
    # ISO 216 for A4 and A5, ANSI/ASME Y14.1 for Letter.
    assert reading.sizes_mm(build_claim_slip(SLIP, key)) == [size]
    assert reading.sizes_mm(build_receipt(RECEIPT, key)) == [size]


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("key", PAPERS)
def test_the_ticket_number_scans_exactly_on_slip_and_receipt(key: str, dpi: int) -> None:
    for pdf in (build_claim_slip(SLIP, key, dpi), build_receipt(RECEIPT, key, dpi)):
        (image,) = reading.images(pdf, dpi)
        assert reading.codes(image) == [("Code 128", "1004821")]


@pytest.mark.parametrize("key", PAPERS)
def test_the_slip_says_everything_that_was_agreed(key: str) -> None:
    (text,) = reading.words(build_claim_slip(SLIP, key))
    for part in (
        "Linden Lane Laundry",
        "14 Linden Lane",
        "Little Marrow",
        "01632 960123",
        "1004821",
        "Mara Petersen",
        "Wed 25 November, 10:45",
        "Sat 28 November, after 16:00",
        "01",
        "Wool jumper",
        "Blue, moth hole at the left cuff · set A",
        "Wet clean, Press",
        "£9.50",
        "Caution: The wool may felt. The label could not be read.",
        "Accepted by Mara Petersen, 25 Nov, 10:42",
        "At home: Wash by hand up to 30 °C. Dry flat.",
        "02",
        "Trousers",
        "Discount",
        "-£2.00",
        "£27.70",
        "£10.00",
        "Balance",
        "£17.70",
        "Bring this slip when you collect.",
    ):
        assert part in text


@pytest.mark.parametrize("key", PAPERS)
def test_care_at_home_is_said_once_for_pieces_that_share_it(key: str) -> None:
    other = replace(JUMPER, position=3, home_care=("Dry flat.",))
    pieces = (JUMPER, replace(JUMPER, position=2), other, replace(other, position=4))
    whole = " ".join(reading.words(build_claim_slip(replace(SLIP, pieces=pieces), key)))
    assert whole.count("At home: Wash by hand up to 30 °C. Dry flat.") == 1
    assert whole.count("At home: as piece 01 above.") == 1
    assert whole.count("At home: Dry flat.") == 1
    assert whole.count("At home: as piece 03 above.") == 1


@pytest.mark.parametrize("key", PAPERS)
def test_the_receipt_says_what_went_to_whom_and_what_stays(key: str) -> None:
    (text,) = reading.words(build_receipt(RECEIPT, key))
    for part in (
        "Receipt",
        "1004821",
        "Mara Petersen",
        "Jon Petersen",
        "Sat 28 November, 16:20",
        "Ines",
        "Handed over",
        "Wool jumper",
        "Blue",
        "£9.50",
        "Still with us",
        "Trousers",
        "Tue 1 Dec",
        "Payments",
        "Cash · 25 Nov",
        "£10.00",
        "Card · 28 Nov",
        "£17.70",
        "£27.70",
        "£0.00",
        "Thank you.",
    ):
        assert part in text


@pytest.mark.parametrize("key", ["a4", "letter", "a5"])
def test_forty_pieces_flow_over_numbered_pages_with_a_running_header(key: str) -> None:
    texts = reading.words(build_claim_slip(many(40), key))
    assert len(texts) > 2
    for number, text in enumerate(texts, start=1):
        assert f"page {number} of {len(texts)}" in text
        assert ("Linden Lane Laundry · 1004821 · Mara Petersen continued" in text) is (number > 1)
    whole = " ".join(texts)
    assert [whole.count(f"Mark {number:02d}") for number in range(1, 41)] == [1] * 40
    assert whole.count("Balance") == 1


@pytest.mark.parametrize("key", ["a4", "letter", "a5"])
def test_a_piece_is_never_torn_between_two_pages(key: str) -> None:
    for text in reading.words(build_claim_slip(many(40), key)):
        assert text.count("Mark ") == text.count("At home:") == text.count("Accepted by")


def test_a_roll_is_one_page_cut_to_its_length() -> None:
    short, long = (build_claim_slip(many(count), "roll-80") for count in (1, 40))
    ((short_w, short_h),) = reading.sizes_mm(short)
    ((long_w, long_h),) = reading.sizes_mm(long)
    assert (short_w, long_w) == (80.0, 80.0)
    assert 90 < short_h < 200 < long_h
    for pdf, height in ((short, short_h), (long, long_h)):
        (image,) = reading.images(pdf, 203)
        box = reading.ink(image)
        assert box is not None
        # The last line ends within the margin of 4 mm and a line's own white.
        assert 3.5 <= height - box[3] * 25.4 / 203 <= 8


@pytest.mark.parametrize("key", PAPERS)
def test_nothing_leaves_the_paper_when_every_text_is_long(key: str) -> None:
    wordy = "Überlanges-Wort-ohne-Ende" * 12
    slip = replace(
        SLIP,
        shop_name=wordy,
        customer=wordy,
        promise=wordy,
        address=(wordy,),
        pieces=(
            replace(
                JUMPER,
                kind=wordy,
                description=wordy,
                services=(wordy,),
                cautions=(SlipCaution(wordy, wordy, wordy),),
                home_care=(wordy,),
            ),
        ),
        footer=(wordy,),
    )
    for image in reading.images(build_claim_slip(slip, key), 203):
        box = reading.ink(image)
        assert box is not None
        dot = 25.4 / 203
        assert box[0] * dot >= 3.5
        assert box[2] * dot <= image.width * dot - 3.5
        assert box[3] * dot <= image.height * dot - 3.5


def test_papers_that_would_say_nothing_or_something_wrong_are_refused() -> None:
    with pytest.raises(PaperError, match="has no piece to list"):
        build_claim_slip(replace(SLIP, pieces=()))
    with pytest.raises(PaperError, match="nothing was handed over or paid"):
        build_receipt(replace(RECEIPT, pieces=(), payments=()))
    with pytest.raises(PaperError, match=r"“a3” is not known. Choose one of: a4"):
        build_claim_slip(SLIP, "a3")
    with pytest.raises(NumberError, match="9912345"):
        build_claim_slip(replace(SLIP, ticket=9912345))
    with pytest.raises(NumberError, match="Ticket number 12"):
        build_receipt(replace(RECEIPT, ticket=12))


def test_a_payment_alone_has_a_receipt() -> None:
    (text,) = reading.words(build_receipt(replace(RECEIPT, pieces=(), waiting=())))
    assert "Handed over" not in text
    assert "Cash · 25 Nov" in text


def test_pieces_on_a_receipt_stand_apart_where_one_has_a_description() -> None:
    def length(*descriptions: str) -> float:
        pieces = tuple(ReceiptPiece(i, "Shirt", text) for i, text in enumerate(descriptions, 1))
        ((_width, height),) = reading.sizes_mm(build_receipt(replace(RECEIPT, pieces=pieces)))
        return height

    description = 10 * 1.3 * 25.4 / 72  # one line of the roll's type
    assert length("Blue", "", "") - length("", "", "") == pytest.approx(description + 2, abs=0.1)


@pytest.mark.parametrize("key", PAPERS)
def test_no_type_for_a_customer_is_smaller_than_ten_points(key: str) -> None:
    """The house's rule for papers; a reader of sixty holds a slip at arm's length."""
    sizes = {
        float(size)
        for pdf in (build_claim_slip(many(12), key), build_receipt(RECEIPT, key))
        for line in drawn(pdf)
        for size in re.findall(r" ([\d.]+)pt ", line)
    }
    assert min(sizes) == 10
