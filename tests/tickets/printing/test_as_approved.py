"""Every text and shape of the tags, cards, slips and receipts stands where it stood when a person
last looked at the papers: no source, our own layouts."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from counter.papers.receipt import build_receipt
from counter.papers.slip import build_claim_slip
from tests.approved import assert_approved
from tests.tickets.printing.drawn import drawn
from tests.tickets.printing.test_papers import PAPERS, RECEIPT, SLIP, many
from tests.tickets.printing.test_scan_cards import CARDS
from tests.tickets.printing.test_tags import EVERY_SIZE, LONG, tag
from tickets.printing import build_cards, build_tags

APPROVED = Path(__file__).with_name("approved")


@pytest.mark.parametrize("key", EVERY_SIZE)
def test_a_tag_is_laid_out_as_approved(key: str) -> None:
    middling = tag(
        3,
        promise_day="Wednesday 24 December, after 16:00",
        limits=("Wash 30 °C, very gentle, never wring", "Dry flat, away from the sun"),
        shop_name="Linden Lane Laundry and Mending Rooms",
    )
    tags = [tag(1), tag(2, limits=()), middling, tag(12, **LONG)]
    assert_approved(drawn(build_tags(tags, key)), APPROVED / f"tags-{key}.txt")


@pytest.mark.parametrize("key", PAPERS)
def test_a_claim_slip_is_laid_out_as_approved(key: str) -> None:
    assert_approved(drawn(build_claim_slip(SLIP, key)), APPROVED / f"slip-{key}.txt")


@pytest.mark.parametrize("key", PAPERS)
def test_a_receipt_is_laid_out_as_approved(key: str) -> None:
    data = replace(RECEIPT, phone="01632 960123", extra_sums=(("Discount", "-£2.00"),))
    assert_approved(drawn(build_receipt(data, key)), APPROVED / f"receipt-{key}.txt")


@pytest.mark.parametrize("key", ["a5", "roll-80"])
def test_a_slip_of_twelve_pieces_is_laid_out_as_approved(key: str) -> None:
    lines = [*drawn(build_claim_slip(many(12), key))]
    assert_approved(lines, APPROVED / f"slip-of-twelve-{key}.txt")


@pytest.mark.parametrize("key", ["a4", "letter"])
def test_scan_cards_are_laid_out_as_approved(key: str) -> None:
    assert_approved(drawn(build_cards(CARDS, key)), APPROVED / f"cards-{key}.txt")
