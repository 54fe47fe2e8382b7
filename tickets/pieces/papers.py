"""Papers of the back room: tags from stored pieces, scan cards, and the log of prints."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.models import User
from django.utils import timezone
from django.utils.translation import gettext as _

import care_rules
from tickets import wording
from tickets.choices import BOARD_STATIONS, Paper
from tickets.models import Machine, PaperPrint, Partner, Piece, RackPlace, Ticket
from tickets.models.machines import NO_DRUM
from tickets.printing import CardData, TagData, build_cards, build_tags
from tickets.printing.tag_data import MOST_LIMITS
from tickets.scanning import lines
from tickets.shop.face import shop_face
from tickets.tracking import services as tracking
from tickets.writing import atomic_write


@dataclass(frozen=True)
class Printed:
    """A paper as PDF bytes; ``copy`` is 1 for the first of its kind, more for a reprint."""

    pdf: bytes
    copy: int


def tag_data(ticket: Ticket, pieces: Sequence[Piece] | None = None) -> list[TagData]:
    """What the tags of a ticket's pieces say; without ``pieces``, of all of them.

    Limits come from the stored decision, so a reprint says what the first tag said.
    """
    every = list(ticket.pieces.order_by("position"))
    chosen = every if pieces is None else sorted(pieces, key=lambda piece: piece.position)
    shop_name = shop_face().name
    return [
        TagData(
            code=piece.code,
            customer_short=wording.short_name(ticket.customer.name),
            promise_day=wording.promise_day(piece.promised_at),
            limits=tuple(care_rules.strongest_limits(piece.care_decision)[:MOST_LIMITS]),
            set_mark=piece.set_mark,
            position=piece.position,
            count=len(every),
            kind=piece.description or wording.kind_name(piece.kind),
            shop_name=shop_name,
        )
        for piece in chosen
    ]


def print_tags(
    ticket: Ticket,
    by: User | None,
    *,
    size: str = "",
    start_at: int = 1,
    pieces: Sequence[Piece] | None = None,
    at: datetime | None = None,
) -> Printed:
    """Tags as PDF, with the print logged. Without a size, the shop's own.

    Raises ``PaperError`` for an unknown size, a place off the sheet or no pieces; then nothing
    is logged.
    """
    face = shop_face()
    stock = size or face.tag_size
    pdf = build_tags(tag_data(ticket, pieces), stock, face.tag_dpi, start_at)
    return Printed(pdf, log_print(ticket, Paper.TAGS, stock, by, at))


def log_print(
    ticket: Ticket, paper: Paper, size: str, by: User | None, at: datetime | None = None
) -> int:
    """Note that a paper was printed; returns which copy of its kind it is, from 1."""
    with atomic_write():
        locked = tracking.lock_ticket(ticket.number)
        copy = PaperPrint.objects.filter(ticket=locked, paper=paper).count() + 1
        PaperPrint.objects.create(
            ticket=locked, paper=paper, size=size, copy=copy, at=at or timezone.now(), by=by
        )
    return copy


def scan_cards(paper: str = "a4") -> bytes:
    """Cards for the scanner: yes and no, every board, the steps of a load, every rack place."""
    cards = [
        CardData(lines.YES, _("Yes"), _("The stain is gone")),
        CardData(lines.NO, _("No"), _("The stain is still there, or: forget it")),
    ]
    cards += [
        CardData(
            lines.STATION_PREFIX + station.value.replace("_", "-").upper(),
            str(station.label),
            _("Go to this board"),
        )
        for station in BOARD_STATIONS
    ]
    drums = Machine.objects.filter(in_use=True).exclude(kind__in=NO_DRUM)
    if drums.exists() or Partner.objects.filter(in_use=True).exists():
        cards += [
            CardData(lines.LOADS, _("Loads"), _("From the board to its loads")),
            CardData(lines.CLOSE, _("Close"), _("Nothing more goes into this load")),
            CardData(lines.START, _("Start"), _("The machine runs, or the bag is picked up")),
            CardData(
                lines.FINISH, _("Finish"), _("The run is over, or the bag is back: count out")
            ),
            CardData(lines.UNDO, _("Undo"), _("One step of this load back")),
        ]
    cards += [
        CardData(lines.PLACE_PREFIX + place.code, place.code, _("Rack place"))
        for place in RackPlace.objects.filter(in_use=True)
    ]
    return build_cards(cards, paper)
