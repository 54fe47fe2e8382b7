"""The pieces that wait for a run or lie in one, and how the planner sees them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import combinations

from django.db.models import Prefetch
from django.utils.formats import number_format
from django.utils.translation import gettext as _

from tickets import wording
from tickets.choices import PieceState, Station
from tickets.errors import Refused
from tickets.loads.care import dry_stage, load_piece_from, may_tumble
from tickets.loads.items import SEND_OUT, WASH, LoadItem
from tickets.loads.together import may_share
from tickets.models import Load, LoadPiece, Piece, RouteStep
from tickets.shop import minutes as workloads
from tickets.shop.calendar import ShopCalendar
from tickets.tracking.steps import at_station


@dataclass(frozen=True)
class Apart:
    """A piece that goes into no load here, and what to do with it."""

    piece: Piece
    why: str


@dataclass(frozen=True)
class Together:
    """Pieces that may go together, with why and what to do on the way."""

    pieces: list[Piece]
    grams: int
    fill_percent: int
    reasons: list[str]
    steps: list[str]

    @property
    def codes(self) -> str:
        return " ".join(piece.code for piece in self.pieces)

    @property
    def kilograms(self) -> str:
        return kilograms(self.grams)


def waiting_here(station: Station) -> list[Piece]:
    """Pieces in hand at a station that are in no open load, most urgent first: two queries."""
    taken = LoadPiece.objects.filter(left_at__isnull=True).values("piece_id")
    found = (
        Piece.objects.filter(station=station, state=PieceState.WAITING)
        .exclude(pk__in=taken)
        .select_related("ticket__customer")
        .prefetch_related(_steps())
        .order_by("promised_at", "-ticket__rush", "pk")
    )
    return list(found)


def inside(load: Load) -> list[Piece]:
    """Pieces that belong to the load now, in the order in which they were counted in."""
    rows = (
        LoadPiece.objects.filter(load=load, left_at__isnull=True)
        .select_related("piece__ticket__customer")
        .prefetch_related(Prefetch("piece__steps", RouteStep.objects.order_by("order")))
        .order_by("pk")
    )
    return [row.piece for row in rows]


def _steps() -> Prefetch:
    return Prefetch("steps", RouteStep.objects.order_by("order"))


def load_piece(piece: Piece, station: Station, due: int = 0) -> LoadItem:
    """The piece as the planner sees it. Raises ``Refused`` where it goes into no load here."""
    if piece.care_decision.outcome != "accept":
        raise Refused(
            "not_accepted",
            _("%(piece)s has a question open in its care decision.") % {"piece": piece.spoken},
            _("Answer it on the page of the piece first."),
        )
    if piece.station == station and awaits_wet_check(piece):
        raise Refused(
            "wet_check_first",
            _("%(piece)s is washed and waits for its wet check.") % {"piece": piece.spoken},
            _("Look for the mark, scan it on the board, and answer yes or no."),
        )
    stage = SEND_OUT if station == Station.SEND_OUT else WASH
    customer = piece.ticket.customer
    found = load_piece_from(
        piece.care_decision,
        piece.care_facts,
        piece.weight_g,
        due,
        piece.spoken,
        stage=stage,
        fragrance_free=customer.fragrance_free,
    )
    if customer.no_softener or customer.fragrance_free:
        found = replace(found, softener=False)
    if station != Station.DRY:
        return found
    if not may_tumble(found):
        hangs = piece.care_decision.limits.air_dry.hang
        raise Refused(
            "no_dryer",
            _("%(piece)s may go into no dryer.") % {"piece": piece.spoken},
            _("Hang it, then scan it on the board.")
            if hangs
            else _("Lay it flat, then scan it on the board."),
        )
    return dry_stage(found, due)


def still_planned(pieces: Sequence[Piece], station: Station) -> list[LoadItem]:
    """Those pieces that may still go into a load here, as the planner sees them.

    The others were washed, stopped or decided again since they were put in; closing the load
    names them.
    """
    found = []
    for piece in pieces:
        with suppress(Refused):
            found.append(load_piece(piece, station))
    return found


def awaits_wet_check(piece: Piece) -> bool:
    """Whether the next thing here is the look at the wet piece, not a run."""
    steps = at_station(piece)
    return bool(steps) and steps[0].step == "wet_check"


def due_minute(piece: Piece, now: datetime, calendar: ShopCalendar) -> int:
    """Open minutes from now until the piece must be out, so that the rest of its route still fits.

    A piece that goes to a partner later must be out for the last pick-up that brings it back in
    time; where none does, or nobody takes it in, a planning figure stands for the partner's days.
    Negative where that moment is past.
    """
    latest, crew = piece.promised_at, 0.0
    later = [s for s in piece.steps.all() if s.done_at is None and s.station != piece.station]
    for step in reversed(later):
        service = workloads.partner_service(step.step, step.settings)
        out = last_out(service, latest, crew, calendar) if service else None
        if out is not None:
            latest, crew = out, 0.0
        else:
            waits = workloads.waiting_minutes(step.step, piece.care_decision.limits)
            latest -= timedelta(minutes=waits)
        crew += float(step.minutes)
    if not calendar.hours:
        minutes = (latest - now).total_seconds() / 60
    elif latest >= now:
        minutes = calendar.open_minutes(now, latest)
    else:
        minutes = -calendar.open_minutes(latest, now)
    return math.floor(minutes - crew)


def last_out(
    service: str, latest: datetime, crew: float, calendar: ShopCalendar
) -> datetime | None:
    """The last pick-up from which this much crew work still fits between return and ``latest``."""

    def in_time(home: datetime) -> bool:
        return home <= latest and calendar.open_minutes(home, latest) >= crew

    return calendar.latest_out(service, latest, in_time)


def steps_together(pieces: Sequence[LoadItem]) -> list[str]:
    """What to do so that the pieces do each other no harm, each step once."""
    steps = [step for a, b in combinations(pieces, 2) for step in may_share(a, b).steps]
    bags = [
        _("%(piece)s in its mesh bag.") % {"piece": piece.code}
        for piece in pieces
        if piece.mesh_bag and not any(piece.code in step for step in steps)
    ]
    turned = [
        _("Turn %(piece)s inside out.") % {"piece": piece.code}
        for piece in pieces
        if piece.inside_out and not any(piece.code in step for step in steps)
    ]
    shared = []
    if any(piece.fragrance_free for piece in pieces):
        shared.append(_("Use a detergent without fragrance."))
    if any(piece.stage == WASH and not piece.softener for piece in pieces):
        shared.append(_("Leave softener out of this load."))
    return list(dict.fromkeys([*steps, *bags, *turned, *shared]))


def due_first(first: Piece, now: datetime) -> str:
    """Why a load comes now: the piece that is promised first."""
    return _("Due first: %(piece)s, promised %(when)s.") % {
        "piece": first.spoken,
        "when": wording.promise_words(first.promised_at, now),
    }


def kilograms(grams: int) -> str:
    return number_format(round(grams / 1000, 1), decimal_pos=1)
