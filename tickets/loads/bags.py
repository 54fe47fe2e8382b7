"""The send-out station as it stands: what waits for a partner, what is gone, which bags to pack."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime

from tickets.choices import Station
from tickets.errors import Refused
from tickets.loads import queries
from tickets.loads.items import LoadItem
from tickets.loads.planned_pieces import Apart, Together, load_piece
from tickets.loads.planner import plan_loads
from tickets.loads.runs import Run
from tickets.loads.together import why_not_run
from tickets.loads.wording.reasons import due_first, no_partner_words, round_words, too_late_words
from tickets.models import Load, Partner, PartnerService, Piece
from tickets.shop import partners
from tickets.shop.calendar import ShopCalendar
from tickets.shop.queries import read_calendar
from tickets.shop.rounds import Round


@dataclass(frozen=True)
class PartnerNow:
    """A partner with the next pick-up, when what goes then is back, and the bags that are gone.

    The moments are None where the partner never comes while the shop is open.
    """

    partner: Partner
    services: list[str]
    goes: datetime | None
    back: datetime | None
    gone: list[Load]


@dataclass(frozen=True)
class BagProposal(Together):
    """A bag to pack for a partner. ``too_late`` would be back after their promise."""

    partner: Partner
    too_late: list[Piece]


@dataclass(frozen=True)
class BagFloor:
    partners: list[PartnerNow]
    bags: list[BagProposal]
    apart: list[Apart]
    loads: list[Load]
    waiting: int


def bag_floor(now: datetime) -> BagFloor:
    """Plan the bags of now. The number of queries does not hang on the pieces."""
    calendar = read_calendar()
    loads = queries.open_bags()
    known = [_partner_now(partner, now, calendar, loads) for partner in queries.partners_in_use()]
    waiting = queries.waiting_here(Station.SEND_OUT)
    chosen: dict[int, list[Piece]] = defaultdict(list)
    apart: list[Apart] = []
    for piece in waiting:
        taker = _first_back(piece, known)
        if taker is None:
            apart.append(Apart(piece, no_partner_words(partners.service_of(piece))))
        else:
            chosen[taker.partner.pk].append(piece)
    bags: list[BagProposal] = []
    for partner_now in known:
        packed, left = _pack(partner_now, chosen[partner_now.partner.pk], now)
        bags += packed
        apart += left
    return BagFloor(known, bags, apart, loads, len(waiting))


def _partner_now(
    partner: Partner, now: datetime, calendar: ShopCalendar, loads: list[Load]
) -> PartnerNow:
    services = [str(PartnerService(service).label) for service in partner.services]
    mine = [load for load in loads if load.partner_id == partner.pk and load.started_at]
    trip = Round.of(partner)
    try:
        goes, back = trip.goes(now, calendar.open_on), trip.back(now, calendar.open_on)
    except Refused:
        return PartnerNow(partner, services, None, None, mine)
    return PartnerNow(partner, services, goes, back, mine)


def _first_back(piece: Piece, known: list[PartnerNow]) -> PartnerNow | None:
    """Of the partners who take the piece in, the one that has it back first."""
    service = partners.service_of(piece)
    able = [partner for partner in known if service in partner.partner.services]
    return min(
        able,
        key=lambda partner: (partner.back is None, partner.back, partner.partner.name),
        default=None,
    )


def _pack(
    to: PartnerNow, pieces: list[Piece], now: datetime
) -> tuple[list[BagProposal], list[Apart]]:
    """As few bags as the pieces need: all go with the next pick-up, so none is more urgent."""
    rows: dict[str, Piece] = {}
    ready: list[LoadItem] = []
    apart: list[Apart] = []
    for piece in pieces:
        try:
            ready.append(load_piece(piece, Station.SEND_OUT, due=_FAR))
            rows[piece.spoken] = piece
        except Refused as no:
            apart.append(Apart(piece, str(no)))
    bag = partners.bag_of(to.partner)
    plan = plan_loads(ready, [bag])
    apart += [Apart(rows[item.code], why_not_run([item], bag)) for item in plan.left_over]
    return [_proposal(to, run, rows, now) for run in plan.runs], apart


_FAR = 100_000


def _proposal(to: PartnerNow, run: Run, rows: dict[str, Piece], now: datetime) -> BagProposal:
    inside = sorted((rows[item.code] for item in run.pieces), key=lambda p: (p.promised_at, p.code))
    too_late = [piece for piece in inside if to.back is not None and piece.promised_at < to.back]
    return BagProposal(
        partner=to.partner,
        pieces=inside,
        grams=sum(piece.grams for piece in run.pieces),
        fill_percent=round(100 * run.fill),
        reasons=[
            due_first(inside[0], now),
            round_words(to.goes, to.back),
            *too_late_words(too_late),
        ],
        steps=partners.notes(inside),
        too_late=too_late,
    )
