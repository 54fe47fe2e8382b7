"""The pieces that wait for a run or lie in one, and how the planner sees them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
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
from tickets.promise.due import dues
from tickets.promise.step_tasks import task_of
from tickets.promise.tasks import ASSEMBLY
from tickets.shop.calendar import ShopCalendar
from tickets.tracking.open_steps import at_station

_RUNS = ("wash", "dry", "send_out")
"""Steps that pass in a drum or in a partner's bag."""


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


def pieces_for_drums(keys: Iterable[int]) -> dict[int, Piece]:
    """The pieces with these keys, with all that the planner reads of them: two queries."""
    rows = (
        Piece.objects.filter(pk__in=list(keys))
        .select_related("ticket__customer")
        .prefetch_related(_steps())
    )
    return {piece.pk: piece for piece in rows}


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
    """Open minutes from now until the piece must be out of its run here, so that the rest of its
    way still fits before the promise. Negative where that moment is past."""
    steps = [step for step in piece.steps.all() if step.done_at is None]
    tasks = [
        task_of(step.station, step.step, step.minutes, step.settings, piece.weight_g)
        for step in steps
    ]
    here = [n for n, step in enumerate(steps) if step.station == piece.station]
    run = next((n for n in here if steps[n].step in _RUNS), here[0] if here else 0)
    out = dues([*tasks, ASSEMBLY], piece.promised_at, calendar)[run].out
    if not calendar.hours:
        minutes = (out - now).total_seconds() / 60
    elif out >= now:
        minutes = calendar.open_minutes(now, out)
    else:
        minutes = -calendar.open_minutes(out, now)
    return math.floor(minutes)


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
