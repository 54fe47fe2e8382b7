"""The API of hand-over. Each operation calls the same function as the page for it."""

from __future__ import annotations

from drf_spectacular.utils import OpenApiResponse, extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from counter.models import Pickup
from counter.money.api import MONEY
from counter.money.queries import balance
from counter.pickup import services as pickup
from counter.pickup.queries import (
    CountedOut,
    codes_out,
    counted_out,
)
from tickets.acting import act_of
from tickets.api.addresses import NUMBER, piece_code_of
from tickets.api.once import checked
from tickets.api.shapes import FINDING, WRITING, PieceSerializer, StrictSerializer
from tickets.pieces.decisions import MOST_PIECES
from tickets.tracking.queries import find_ticket


class StandingSerializer(serializers.Serializer[object]):
    """The pieces of a ticket at pickup, each in one list; ``scanned`` lie on the counter."""

    scanned = PieceSerializer(many=True)
    ready = PieceSerializer(many=True)
    missing = PieceSerializer(many=True)
    gone = PieceSerializer(many=True)
    open_count = serializers.IntegerField()
    places = serializers.ListField(child=serializers.CharField())
    balance = serializers.SerializerMethodField()

    @extend_schema_field(MONEY)
    def get_balance(self, _standing: CountedOut) -> object:
        return MONEY.to_representation(self.context["balance"].owed)


class PickupSerializer(serializers.ModelSerializer[Pickup]):
    codes = serializers.SerializerMethodField()

    class Meta:
        model = Pickup
        fields = ["collector", "proof", "part", "owed_reason", "done_at", "codes"]

    def get_codes(self, pickup: Pickup) -> list[str]:
        return codes_out(pickup)


class PickupRequestSerializer(StrictSerializer):
    """Pieces handed over now, by number."""

    device = serializers.CharField(max_length=60, required=False, default="", allow_blank=True)

    codes = serializers.ListField(
        child=serializers.CharField(max_length=40), allow_empty=False, max_length=MOST_PIECES
    )
    collector = serializers.CharField(max_length=120)
    proof = serializers.ChoiceField(Pickup.Proof.choices)
    part_of = serializers.IntegerField(
        min_value=0,
        max_value=MOST_PIECES,
        required=False,
        default=0,
        help_text="for a part pickup: how many open pieces the ticket has, to say it is meant",
    )
    owed_reason = serializers.CharField(
        max_length=200, required=False, default="", allow_blank=True
    )


class TicketPickup(APIView):
    @extend_schema(
        operation_id="pickups_read",
        parameters=[NUMBER],
        responses={200: StandingSerializer, **FINDING},
    )
    def get(self, request: Request, number: int) -> Response:
        """Where a pickup stands: what is ready, missing and gone, and what is owed."""
        ticket = find_ticket(number)
        context = {"balance": balance(ticket)}
        return Response(StandingSerializer(counted_out(ticket), context=context).data)

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
        act = act_of(request, data["device"])
        done, repeated = pickup.hand_over_once(
            number,
            codes,
            data["collector"],
            data["proof"],
            act,
            owed_reason=data["owed_reason"],
            part_of=data["part_of"],
        )
        return Response(PickupSerializer(done).data, status=200 if repeated else 201)
