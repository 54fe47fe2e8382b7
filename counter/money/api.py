"""The API of money and hand-over: payments and pickups.

Each operation calls the same function as the page for it. The card itself stays with its terminal.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.utils.translation import gettext as _
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from counter.intake.api import find_ticket
from counter.intake.shapes import (
    PaymentRequestSerializer,
    PickupRequestSerializer,
    PickupSerializer,
    StandingSerializer,
    TakenSerializer,
)
from counter.models import Pickup
from counter.money import services as payments
from counter.pickup import services as pickup
from tickets.api.once import OnceView, checked, once, person_of
from tickets.api.shapes import FINDING, WRITING
from tickets.choices import CLOSED_STATES
from tickets.errors import Refused
from tickets.models import Ticket
from tickets.pieces.api import NUMBER, piece_code_of
from tickets.tracking.services import Act
from tickets.writing import atomic_write


@once("payments_take", PaymentRequestSerializer, TakenSerializer, NUMBER)
class TicketPayments(OnceView):
    """Record money taken or given back. The card itself stays with its terminal."""

    def done(self, data: dict[str, Any], act: Act, number: int) -> Response:
        ticket, key = find_ticket(number), str(act.client_key)
        taken = payments.take(
            ticket, data["kind"], data["means"], data["amount"], act, key, data["reason"]
        )
        shown = {"payment": taken.payment, "balance": payments.balance(ticket).owed}
        return Response(TakenSerializer(shown).data, status=200 if taken.repeated else 201)


class TicketPickup(APIView):
    @extend_schema(
        operation_id="pickups_read",
        parameters=[NUMBER],
        responses={200: StandingSerializer, **FINDING},
    )
    def get(self, request: Request, number: int) -> Response:
        """Where a pickup stands: what is ready, missing and gone, and what is owed."""
        ticket = find_ticket(number)
        context = {"balance": payments.balance(ticket)}
        return Response(StandingSerializer(pickup.standing(ticket), context=context).data)

    @extend_schema(
        operation_id="pickups_hand_over",
        parameters=[NUMBER],
        request=PickupRequestSerializer,
        responses={
            201: PickupSerializer,
            200: OpenApiResponse(PickupSerializer, "These pieces left together before."),
            **WRITING,
        },
    )
    def post(self, request: Request, number: int) -> Response:
        """Hand over the named pieces. They leave once: a repeat returns the first hand-over.

        No one-time key is needed, since the pieces themselves tell a repeat.
        """
        data = checked(PickupRequestSerializer, request.data)
        codes = [piece_code_of(code) for code in data["codes"]]
        act = Act(by=person_of(request), device=data["device"])
        with atomic_write():
            ticket = find_ticket(number)
            done = _left_together(ticket, codes)
            repeated = done is not None
            if done is None:
                done = _hand_over(ticket, codes, data, act)
        return Response(PickupSerializer(done).data, status=200 if repeated else 201)


def _left_together(ticket: Ticket, codes: Sequence[str]) -> Pickup | None:
    done = ticket.pickups.filter(done_at__isnull=False).prefetch_related("scanned__piece")
    for earlier in done:
        if {row.piece.code for row in earlier.scanned.all()} == set(codes):
            return earlier
    return None


def _hand_over(ticket: Ticket, codes: Sequence[str], data: dict[str, Any], act: Act) -> Pickup:
    for code in codes:
        pickup.scan(ticket.number, code, act)
    started = ticket.pickups.get(done_at__isnull=True)
    others = started.scanned.exclude(piece__code__in=codes).exclude(piece__state__in=CLOSED_STATES)
    if others.exists():
        raise Refused(
            "pickup_under_way",
            _("A pickup of ticket %(ticket)s is under way at the counter with other pieces.")
            % {"ticket": ticket.number},
            _("Finish it there, or take its pieces off the counter."),
        )
    return pickup.hand_over(
        started.pk,
        data["collector"],
        data["proof"],
        act,
        owed_reason=data["owed_reason"],
        part_of=data["part_of"],
    )
