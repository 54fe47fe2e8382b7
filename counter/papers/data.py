"""Fills the counter's papers from the ticket's rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import Decimal

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

import care_rules
from care_rules import JsonObject
from counter.intake.choice_lists import KINDS, WORK
from counter.models import Payment, Pickup, Shop, TicketLine
from counter.money.amounts import format_money
from counter.money.queries import Balance
from counter.money.wording import service_text
from counter.papers.queries import ReceiptRows, SlipRows
from counter.papers.receipt import (
    PaymentLine,
    ReceiptData,
    ReceiptPiece,
    WaitingPiece,
)
from counter.papers.slip import SlipCaution, SlipData, SlipPiece
from tickets.choices import PieceState
from tickets.garments.wording import wash_words
from tickets.models import Piece, Ticket
from tickets.tracking.wording import name_of


def slip_data(ticket: Ticket, rows: SlipRows, shop: Shop) -> SlipData:
    washed = wash_words(rows.pieces, rows.washes)
    sums = _piece_sums(rows.lines)
    return SlipData(
        shop_name=shop.name,
        ticket=ticket.number,
        customer=ticket.customer.name,
        opened_on=say_moment(ticket.opened_at),
        promise=say_moment(ticket.promised_at),
        pieces=tuple(
            _slip_piece(piece, sums, shop, washed.get(piece.pk, "")) for piece in rows.pieces
        ),
        address=_address(shop),
        phone=shop.phone,
        extra_sums=_extras(rows.lines, shop),
        footer=_paragraphs(shop.slip_footer),
        **_sums(rows.account, shop),
    )


def receipt_data(
    ticket: Ticket, pickup: Pickup | None, rows: ReceiptRows, shop: Shop
) -> ReceiptData:
    sums = _piece_sums(rows.lines)
    last = rows.payments[-1] if rows.payments else None
    by = pickup.done_by if pickup is not None else (last.by if last else None)
    at = pickup.done_at if pickup is not None else (last.at if last else None)
    return ReceiptData(
        shop_name=shop.name,
        ticket=ticket.number,
        customer=ticket.customer.name,
        handed_on=say_moment(at) if at else "",
        collector=pickup.collector if pickup is not None else "",
        pieces=tuple(
            ReceiptPiece(
                position=piece.position,
                kind=kind_on_paper(piece),
                description=_own_words(piece),
                price=_price(sums.get(piece.pk), shop),
            )
            for piece in rows.handed
        ),
        payments=tuple(_payment_line(row, shop) for row in rows.payments),
        waiting=tuple(
            WaitingPiece(piece.position, kind_on_paper(piece), _readiness(piece))
            for piece in rows.waiting
        ),
        staff=name_of(by) if by else "",
        address=_address(shop),
        phone=shop.phone,
        extra_sums=_extras(rows.lines, shop),
        **_sums(rows.account, shop),
    )


def kind_on_paper(piece: Piece) -> str:
    """What a piece is called in this shop, for example “cotton shirt”."""
    return KINDS.name(piece.kind)


def say_moment(at: datetime) -> str:
    return date_format(timezone.localtime(at), "D j M Y, H:i")


def _own_words(piece: Piece) -> str:
    """The clerk's description, unless it only repeats the kind."""
    same = piece.description.casefold() == str(kind_on_paper(piece)).casefold()
    return "" if same else piece.description


def _slip_piece(piece: Piece, sums: Mapping[int, Decimal], shop: Shop, washed: str) -> SlipPiece:
    return SlipPiece(
        position=piece.position,
        kind=kind_on_paper(piece),
        description=_own_words(piece),
        services=_services(piece),
        price=_price(sums.get(piece.pk), shop),
        cautions=tuple(
            SlipCaution(row.says, row.accepted_by, say_moment(row.at))
            for row in piece.acceptances.all()
        ),
        home_care=tuple(care_rules.home_care(piece.care_decision)),
        set_mark=piece.set_mark,
        washed=washed,
    )


def _services(piece: Piece) -> tuple[str, ...]:
    """Services in the words of the price list; cleaning includes pressing."""
    asked: list[str] = list(piece.services)
    if "clean" in asked and "press" in asked:
        asked.remove("press")  # the words for cleaning say it
    work: list[str] = [WORK.name(key) for key in piece.facts.get("work", ())]
    named = [
        service_text(key, piece.services)
        for key in asked
        if not (work and key in ("mend", "alter"))
    ]
    if piece.state == PieceState.RETURNED:
        named.append(_("went back undone, not charged"))
    return (*named, *work)


def _piece_sums(lines: Sequence[TicketLine]) -> dict[int, Decimal]:
    sums: dict[int, Decimal] = {}
    for line in lines:
        if line.piece_id is not None:
            sums[line.piece_id] = sums.get(line.piece_id, Decimal(0)) + line.amount
    return sums


def _extras(lines: Sequence[TicketLine], shop: Shop) -> tuple[tuple[str, str], ...]:
    return tuple(
        (line.text, format_money(line.amount, shop)) for line in lines if line.piece_id is None
    )


def _sums(account: Balance, shop: Shop) -> JsonObject:
    return {
        "total": format_money(account.total, shop),
        "paid": format_money(account.paid, shop),
        "balance": format_money(account.owed, shop),
    }


def _price(amount: Decimal | None, shop: Shop) -> str:
    return "" if amount is None else format_money(amount, shop)


def _payment_line(row: Payment, shop: Shop) -> PaymentLine:
    return PaymentLine(
        when=say_moment(row.at),
        how=f"{row.get_kind_display()}, {row.get_means_display()}",
        amount=format_money(row.signed, shop),
    )


def _readiness(piece: Piece) -> str:
    if piece.state == PieceState.READY:
        return _("ready")
    if piece.state == PieceState.HELD:
        return _("on hold")
    return say_moment(piece.promised_at)


def _address(shop: Shop) -> tuple[str, ...]:
    return tuple(line.strip() for line in shop.address.splitlines() if line.strip())


def _paragraphs(text: str) -> tuple[str, ...]:
    return tuple(line.strip() for line in text.splitlines() if line.strip())
