"""How the planner sees the pieces that wait for a run: what each is, and by when it must be out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime

from django.utils.translation import gettext as _

from tickets.choices import Station
from tickets.errors import Refused
from tickets.loads.care import dry_stage, load_piece_from, may_tumble
from tickets.loads.items import SEND_OUT, WASH, LoadItem
from tickets.loads.wording.reasons import kilograms
from tickets.models import Piece
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
    item = load_piece_from(
        piece.care_decision,
        piece.care_facts,
        piece.weight_g,
        due,
        piece.spoken,
        stage=stage,
        fragrance_free=customer.fragrance_free,
    )
    if customer.no_softener or customer.fragrance_free:
        item = replace(item, softener=False)
    if station != Station.DRY:
        return item
    if not may_tumble(item):
        hangs = piece.care_decision.limits.air_dry.hang
        raise Refused(
            "no_dryer",
            _("%(piece)s may go into no dryer.") % {"piece": piece.spoken},
            _("Hang it, then scan it on the board.")
            if hangs
            else _("Lay it flat, then scan it on the board."),
        )
    return dry_stage(item, due)


def still_planned(pieces: Sequence[Piece], station: Station) -> list[LoadItem]:
    """Those pieces that may still go into a load here, as the planner sees them.

    The others were washed, stopped or decided again since they were put in; closing the load
    names them.
    """
    items = []
    for piece in pieces:
        with suppress(Refused):
            items.append(load_piece(piece, station))
    return items


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
