"""A high-visibility jacket of the demo that comes three times, so that its washes are counted.

It rolls no dice, so the rest of the demo's story does not hang on it.
"""

from __future__ import annotations

import json
import uuid
from collections.abc import Callable
from datetime import datetime, timedelta

from django.conf import settings
from django.contrib.auth.models import User

from care_rules import JsonObject
from counter.intake.drafts import Draft, DraftPiece
from counter.intake.services import open_ticket
from counter.models import Payment, Pickup
from counter.money import services as payments
from counter.money.queries import balance
from counter.pickup import services as pickup
from counter.pickup.queries import counted_out
from tickets.acting import Act
from tickets.choices import Station
from tickets.models import Customer, Piece, RackPlace, Ticket
from tickets.shop.calendar import ShopCalendar
from tickets.tracking import services as tracking

_FACTS = settings.BASE_DIR / "fixtures" / "demo" / "jacket.json"
_DAYS_AGO = (24, 13, 1)
_MINUTES = 150
"""Open minutes from one stop of the jacket to the next."""


class Jacket:
    """One garment at three visits: it was fetched after two, and waits at the wash on the third."""

    def __init__(self, calendar: ShopCalendar, now: datetime) -> None:
        self.calendar = calendar
        self.facts: JsonObject = json.loads(_FACTS.read_text(encoding="utf-8"))
        self.by = User.objects.filter(groups__name="counter").earliest("pk")
        self.customer = Customer.objects.latest("pk")
        self.place = RackPlace.objects.earliest("pk").code
        self.last: Piece | None = None
        self.now = now

    def plan(self, later: Callable[[datetime, Callable[[datetime], None]], None]) -> None:
        for days in _DAYS_AGO:
            at = self.calendar.add_minutes(self.now - timedelta(days=days), 30)
            later(at, self._comes if days > 1 else self._stays)

    def _comes(self, at: datetime) -> None:
        ticket = self._open(at)
        piece, at = self._work(ticket.pieces.get(), Station.ASSEMBLY, at)
        tracking.assemble(piece.code, self._act(at))
        tracking.complete_ticket(ticket.number, self._act(at))
        at = self._next(at)
        tracking.rack(piece.code, self.place, self._act(at))
        at = self._next(at)
        act = self._act(at)
        owed = balance(ticket).owed
        payments.take(
            ticket,
            Payment.Kind.PAYMENT,
            Payment.Means.CARD,
            owed,
            act,
            client_key=str(uuid.uuid4()),
        )
        pickup.scan(ticket.number, piece.code, act)
        under_way = counted_out(ticket).pickup
        assert under_way is not None  # the scan made it
        pickup.hand_over(under_way.pk, self.customer.name, Pickup.Proof.SLIP, act)
        self.last = Piece.objects.get(pk=piece.pk)

    def _stays(self, at: datetime) -> None:
        self._work(self._open(at).pieces.get(), Station.WASH, at)

    def _open(self, at: datetime) -> Ticket:
        new = self.last is None
        piece = DraftPiece(
            facts=self.facts["facts"],
            description=self.facts["description"],
            inspection=self.facts["inspection"],
            earlier=self.last.code if self.last else "",
            washes_before="20" if new else "",
            washes_allowed="25" if new else "",
        )
        return open_ticket(self.customer, Draft((piece,)), None, self._act(at))

    def _work(self, piece: Piece, until: Station, at: datetime) -> tuple[Piece, datetime]:
        while piece.station != until and (following := self._next(at)) <= self.now:
            at = following
            piece = tracking.finish_work(piece.code, Station(piece.station), self._act(at)).piece
        return piece, self._next(at)

    def _next(self, at: datetime) -> datetime:
        return self.calendar.add_minutes(at, _MINUTES)

    def _act(self, at: datetime) -> Act:
        return Act(by=self.by, device="demo", at=at)
