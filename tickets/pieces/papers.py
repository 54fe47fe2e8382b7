"""Papers of the back room: what stands on the tags of stored pieces, and the scan cards."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from django.utils.translation import gettext as _

import care_rules
from tickets import wording
from tickets.choices import BOARD_STATIONS
from tickets.models import Piece, RackPlace, Ticket
from tickets.printing import CardData, TagData, build_cards
from tickets.printing.tag_data import MOST_LIMITS
from tickets.scanning import lines


def tag_data(
    ticket: Ticket, pieces: Sequence[Piece], *, count: int, shop_name: str
) -> list[TagData]:
    """What the tags of these pieces of a ticket say; ``count``: how many it has in all.

    Limits come from the stored decision, so a reprint says what the first tag said.
    """
    return [
        TagData(
            code=piece.code,
            customer_short=wording.short_name(ticket.customer.name),
            promise_day=wording.promise_day(piece.promised_at),
            limits=tuple(care_rules.strongest_limits(piece.care_decision)[:MOST_LIMITS]),
            set_mark=piece.set_mark,
            position=piece.position,
            count=count,
            kind=piece.description or wording.kind_name(piece.kind),
            shop_name=shop_name,
        )
        for piece in sorted(pieces, key=lambda piece: piece.position)
    ]


def scan_cards(paper: str, places: Iterable[RackPlace], *, with_loads: bool) -> bytes:
    """Cards for the scanner: yes and no, every board, the rack places; ``with_loads``: also the
    steps of a load."""
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
    if with_loads:
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
        CardData(lines.PLACE_PREFIX + place.code, place.code, _("Rack place")) for place in places
    ]
    return build_cards(cards, paper)
