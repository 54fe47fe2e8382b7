"""The send-out station as it stands: what waits for a partner, what is gone, which bags to pack."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from tickets.choices import Station
from tickets.errors import Refused
from tickets.loads.items import LoadItem
from tickets.loads.planner import plan_loads
from tickets.loads.runs import Run
from tickets.loads.together import why_not_run
from tickets.loads.waiting import Apart, Together, due_first, load_piece, waiting_here
from tickets.models import Load, Partner, PartnerService, Piece
from tickets.models.machines import OPEN_LOADS
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
    loads = list(
        Load.objects.filter(station=Station.SEND_OUT, state__in=OPEN_LOADS)
        .select_related("partner")
        .order_by("pk")
    )
    known = [
        _partner_now(partner, now, calendar, loads)
        for partner in Partner.objects.filter(in_use=True)
    ]
    waiting = waiting_here(Station.SEND_OUT)
    chosen: dict[int, list[Piece]] = defaultdict(list)
    apart: list[Apart] = []
    for piece in waiting:
        found = _first_back(piece, known)
        if found is None:
            apart.append(Apart(piece, _nobody(piece)))
        else:
            chosen[found.partner.pk].append(piece)
    bags: list[BagProposal] = []
    for each in known:
        packed, left = _pack(each, chosen[each.partner.pk], now)
        bags += packed
        apart += left
    return BagFloor(known, bags, apart, loads, len(waiting))


def _partner_now(
    partner: Partner, now: datetime, calendar: ShopCalendar, loads: list[Load]
) -> PartnerNow:
    services = [str(PartnerService(each).label) for each in partner.services]
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
    able = [each for each in known if service in each.partner.services]
    return min(
        able, key=lambda each: (each.back is None, each.back, each.partner.name), default=None
    )


def _nobody(piece: Piece) -> str:
    service = partners.service_of(piece)
    if not service:
        return _("No step of its route sends it out. Open the piece and look.")
    return _("No partner in use takes in: %(service)s. The owner adds partners under Shop.") % {
        "service": PartnerService(service).label
    }


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
    apart += [Apart(rows[each.code], why_not_run([each], bag)) for each in plan.left_over]
    return [_proposal(to, run, rows, now) for run in plan.runs], apart


_FAR = 100_000


def _proposal(to: PartnerNow, run: Run, rows: dict[str, Piece], now: datetime) -> BagProposal:
    inside = sorted((rows[each.code] for each in run.pieces), key=lambda p: (p.promised_at, p.code))
    too_late = [piece for piece in inside if to.back is not None and piece.promised_at < to.back]
    return BagProposal(
        partner=to.partner,
        pieces=inside,
        grams=sum(piece.grams for piece in run.pieces),
        fill_percent=round(100 * run.fill),
        reasons=[due_first(inside[0], now), *_days(to), *_late_words(too_late)],
        steps=partners.notes(inside),
        too_late=too_late,
    )


def _days(to: PartnerNow) -> list[str]:
    if to.goes is None or to.back is None:
        return [_("This partner never comes on a day when the shop is open: ask the owner.")]
    return [
        _("Picked up %(goes)s, back by %(back)s.")
        % {"goes": moment_words(to.goes), "back": moment_words(to.back)}
    ]


def _late_words(pieces: list[Piece]) -> list[str]:
    if not pieces:
        return []
    return [
        _("Back after the promise: %(pieces)s.")
        % {"pieces": ", ".join(piece.spoken for piece in pieces)}
    ]


def moment_words(at: datetime) -> str:
    return date_format(timezone.localtime(at), "l j M, H:i")
