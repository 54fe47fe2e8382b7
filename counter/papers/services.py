"""Prints the counter's papers, and keeps a log of every copy."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _

from counter.models import Pickup, Shop
from counter.papers.data import receipt_data, slip_data
from counter.papers.queries import last_pickup, receipt_rows, slip_rows
from counter.papers.receipt import (
    build_receipt,
)
from counter.papers.slip import build_claim_slip
from tickets.acting import Act
from tickets.choices import Paper as PaperKind
from tickets.errors import Refused
from tickets.models import Ticket
from tickets.pieces.services import log_print


@dataclass(frozen=True)
class PrintedPaper:
    """A paper as PDF bytes; ``copy`` is 1 for the first print of its kind for a ticket."""

    pdf: bytes
    copy: int
    name: str


def print_slip(ticket: Ticket, act: Act) -> PrintedPaper:
    """The claim slip of a ticket on the shop's paper; the print is logged."""
    shop = Shop.current()
    data = slip_data(ticket, slip_rows(ticket), shop)
    pdf = build_claim_slip(data, shop.slip_paper, shop.tag_dpi)
    copy = log_print(ticket, PaperKind.CLAIM_SLIP, shop.slip_paper, act.by, act.at)
    return PrintedPaper(pdf, copy, f"claim-slip-{ticket.number}.pdf")


def print_receipt(ticket: Ticket, act: Act, pickup: Pickup | None = None) -> PrintedPaper:
    """The receipt of one pickup, or of the last one; before any pickup, of the payments alone.

    Raises ``Refused`` when nothing was handed over or paid yet. The print is logged.
    """
    pickup = pickup or last_pickup(ticket)
    if pickup is None and not ticket.payments.exists():
        raise Refused(
            "no_receipt",
            _("Ticket %(ticket)s: nothing was handed over or paid, so there is no receipt.")
            % {"ticket": ticket.number},
            _("Take a payment or hand over first. The claim slip can be printed now."),
        )
    shop = Shop.current()
    data = receipt_data(ticket, pickup, receipt_rows(ticket, pickup), shop)
    pdf = build_receipt(data, shop.slip_paper, shop.tag_dpi)
    copy = log_print(ticket, PaperKind.RECEIPT, shop.slip_paper, act.by, act.at)
    return PrintedPaper(pdf, copy, f"receipt-{ticket.number}.pdf")
