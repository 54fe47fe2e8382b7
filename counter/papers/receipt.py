"""The receipt: what was handed over, to whom, what was paid and what is still here."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from counter.papers.paper_parts import INDENT, CounterPaper, build_paper, numbered
from tickets.printing.flow import Flow, TextLine
from tickets.printing.sizes import PaperError


@dataclass(frozen=True, slots=True)
class ReceiptPiece:
    """One piece handed over; ``price`` is ready to print."""

    position: int
    kind: str
    description: str = ""
    price: str = ""


@dataclass(frozen=True, slots=True)
class WaitingPiece:
    """One piece that stays in the shop, and when it will be ready, in words."""

    position: int
    kind: str
    ready: str = ""


@dataclass(frozen=True, slots=True)
class PaymentLine:
    """One payment or refund: when, how, and the amount ready to print."""

    when: str
    how: str
    amount: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReceiptData(CounterPaper):
    """Everything a receipt says; dates and amounts are ready to print."""

    handed_on: str
    collector: str
    pieces: tuple[ReceiptPiece, ...]
    payments: tuple[PaymentLine, ...]
    waiting: tuple[WaitingPiece, ...] = ()
    staff: str = ""


def build_receipt(data: ReceiptData, paper_key: str = "roll-80", dpi: int = 203) -> bytes:
    """Return the receipt as PDF bytes on ``a4``, ``letter``, ``a5`` or ``roll-80``.

    Raises PaperError for an unknown paper or a receipt that shows neither a piece nor a
    payment, NumberError for a ticket number that cannot be one.
    """
    if not data.pieces and not data.payments:
        raise PaperError(
            _("Ticket %(ticket)s: nothing was handed over or paid, so there is no receipt.")
            % {"ticket": data.ticket}
        )
    return build_paper(
        data,
        paper_key,
        dpi,
        what=_("Receipt"),
        facts=(
            (_("Customer"), data.customer),
            (_("Handed to"), data.collector),
            (_("On"), data.handed_on),
            (_("By"), data.staff),
        ),
        body=lambda flow: _body(flow, data),
    )


def _body(flow: Flow, data: ReceiptData) -> None:
    if data.pieces:
        _group(flow, _("Handed over"), [_handed(flow, piece) for piece in data.pieces])
    if data.waiting:
        _group(flow, _("Still with us"), [_waiting(flow, piece) for piece in data.waiting])
    if data.payments:
        paid = [
            flow.pair(f"{line.how} · {line.when}" if line.when else line.how, line.amount)
            for line in data.payments
        ]
        _group(flow, _("Payments"), paid)


def _group(flow: Flow, title: str, entries: list[list[TextLine]]) -> None:
    """Set a titled list; the title never stands alone at the foot of a page."""
    head = flow.rule() + flow.lines(title, flow.small) + flow.gap(0.6)
    flow.keep(head + entries[0])
    # Where one has a description, it must not look like the head of the next.
    apart = 1 if any(len(entry) > 1 for entry in entries) else 0
    for entry in entries[1:]:
        flow.keep(flow.gap(apart) + entry)


def _handed(flow: Flow, piece: ReceiptPiece) -> list[TextLine]:
    lines = numbered(flow, piece.position, piece.kind, piece.price)
    if piece.description:
        lines += flow.lines(piece.description, flow.small, indent=INDENT)
    return lines


def _waiting(flow: Flow, piece: WaitingPiece) -> list[TextLine]:
    return numbered(flow, piece.position, piece.kind, piece.ready)
