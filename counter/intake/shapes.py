"""What the API of tickets takes and gives: a ticket on a list, one ticket, a new one."""

from __future__ import annotations

from decimal import Decimal

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from counter.customers.api import CustomerSerializer
from counter.customers.queries import listed_customers
from counter.intake.inspection import QUESTIONS
from counter.models import TicketLine
from counter.money.amounts import MOST
from counter.money.api import MONEY, PaymentSerializer
from tickets.api.facts import FactsField
from tickets.api.once import Validated
from tickets.api.shapes import (
    OnceSerializer,
    PieceSerializer,
    StrictSerializer,
)
from tickets.garments.washes import MOST_WASHES
from tickets.models import Ticket
from tickets.pieces.decisions import MOST_PIECES

STATES = ("open", "ready", "closed")


class LineSerializer(serializers.ModelSerializer[TicketLine]):
    piece = serializers.IntegerField(source="piece.position", default=None, allow_null=True)
    charged = serializers.BooleanField(
        help_text="false for a piece that went back undone; the total leaves it out"
    )

    class Meta:
        model = TicketLine
        fields = ["piece", "text", "amount", "charged"]


class TicketSerializer(serializers.ModelSerializer[Ticket]):
    """A ticket on a list. ``pieces`` counts all of its pieces."""

    customer = CustomerSerializer()
    state = serializers.SerializerMethodField()
    piece_count = serializers.IntegerField()

    class Meta:
        model = Ticket
        fields = [
            "number", "customer", "state", "opened_at", "promised_at", "promise_reason",
            "ready_at", "closed_at", "rush", "note", "piece_count",
        ]  # fmt: skip

    @extend_schema_field(serializers.ChoiceField(STATES))
    def get_state(self, ticket: Ticket) -> str:
        if ticket.closed_at:
            return "closed"
        return "ready" if ticket.ready_at else "open"


class TicketDetailSerializer(TicketSerializer):
    pieces = PieceSerializer(many=True)
    lines = LineSerializer(many=True)
    payments = PaymentSerializer(many=True)
    total = serializers.SerializerMethodField()
    paid = serializers.SerializerMethodField()
    balance = serializers.SerializerMethodField()
    currency = serializers.SerializerMethodField()

    class Meta(TicketSerializer.Meta):
        fields = [
            *TicketSerializer.Meta.fields,
            "pieces", "lines", "payments", "total", "paid", "balance", "currency",
        ]  # fmt: skip

    @extend_schema_field(MONEY)
    def get_total(self, _ticket: Ticket) -> object:
        return MONEY.to_representation(self.context["balance"].total)

    @extend_schema_field(MONEY)
    def get_paid(self, _ticket: Ticket) -> object:
        return MONEY.to_representation(self.context["balance"].paid)

    @extend_schema_field(MONEY)
    def get_balance(self, _ticket: Ticket) -> object:
        return MONEY.to_representation(self.context["balance"].owed)

    def get_currency(self, _ticket: Ticket) -> str:
        return str(self.context["currency"])


class AcceptedSerializer(StrictSerializer):
    key = serializers.CharField(max_length=80, help_text="key of the caution")
    by_name = serializers.CharField(max_length=120, help_text="who accepts it")


class InspectionSerializer(StrictSerializer):
    """The four questions of the look over a piece; ``found`` and ``fault`` are words to them."""

    pockets = serializers.ChoiceField(QUESTIONS["pockets"].choices)
    stains = serializers.ChoiceField(QUESTIONS["stains"].choices)
    damage = serializers.ChoiceField(QUESTIONS["damage"].choices)
    fastenings = serializers.ChoiceField(QUESTIONS["fastenings"].choices)
    found = serializers.CharField(max_length=200, required=False, allow_blank=True)
    fault = serializers.CharField(max_length=200, required=False, allow_blank=True)


class NewPieceSerializer(StrictSerializer):
    facts = FactsField()
    inspection = InspectionSerializer()
    description = serializers.CharField(
        max_length=120, required=False, default="", allow_blank=True
    )
    set_mark = serializers.CharField(max_length=2, required=False, default="", allow_blank=True)
    weight_g = serializers.IntegerField(min_value=0, max_value=100_000, required=False, default=0)
    earlier = serializers.CharField(
        max_length=40,
        required=False,
        default="",
        allow_blank=True,
        help_text="number of the piece that this garment was at its visit before",
    )
    washes_before = serializers.IntegerField(
        min_value=0,
        max_value=MOST_WASHES,
        required=False,
        allow_null=True,
        default=None,
        help_text="washes elsewhere before this visit, and since `earlier` where that is given; "
        "only for a piece whose washes are counted",
    )
    washes_allowed = serializers.IntegerField(
        min_value=1,
        max_value=MOST_WASHES,
        required=False,
        allow_null=True,
        default=None,
        help_text="washes that its label certifies; only for a piece whose washes are counted",
    )
    accepted = AcceptedSerializer(many=True, required=False, default=list)
    prices = serializers.DictField(
        child=serializers.DecimalField(
            max_digits=7, decimal_places=2, min_value=Decimal(0), max_value=MOST
        ),
        required=False,
        default=dict,
        help_text="amounts by line key, for what the price list does not know",
    )


class NewTicketSerializer(OnceSerializer):
    """Either ``customer`` (its id) or ``new_customer``."""

    customer = serializers.PrimaryKeyRelatedField(
        queryset=listed_customers(), required=False, allow_null=True, default=None
    )
    new_customer = CustomerSerializer(required=False, allow_null=True, default=None)
    pieces = NewPieceSerializer(
        many=True,
        allow_empty=False,
        max_length=MOST_PIECES,  # type: ignore[call-arg]  # an option of the list it makes
    )
    promised_at = serializers.DateTimeField(
        required=False,
        allow_null=True,
        default=None,
        help_text="left out: the earliest honest promise",
    )
    promise_reason = serializers.CharField(
        max_length=200, required=False, default="", allow_blank=True
    )
    rush = serializers.BooleanField(required=False, default=False)
    note = serializers.CharField(max_length=500, required=False, default="", allow_blank=True)

    def validate(self, attrs: Validated) -> Validated:
        if (attrs["customer"] is None) == (attrs["new_customer"] is None):
            raise serializers.ValidationError(
                {"customer": ["Send either customer or new_customer."]}
            )
        return attrs
