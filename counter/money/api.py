"""The API of money: payments. The card itself stays with its terminal."""

from __future__ import annotations

from decimal import Decimal

from rest_framework import serializers
from rest_framework.response import Response

from counter.models import Payment
from counter.money import services as payments
from counter.money.amounts import MOST
from counter.money.queries import balance
from tickets.acting import Act
from tickets.api.addresses import NUMBER
from tickets.api.once import OnceView, Validated, once
from tickets.api.shapes import OnceSerializer
from tickets.tracking.queries import find_ticket

MONEY = serializers.DecimalField(max_digits=11, decimal_places=2)
"""An amount as the API shows it."""


class PaymentSerializer(serializers.ModelSerializer[Payment]):
    class Meta:
        model = Payment
        fields = ["kind", "means", "amount", "reason", "at"]


class PaymentRequestSerializer(OnceSerializer):
    kind = serializers.ChoiceField(Payment.Kind.choices, default=Payment.Kind.PAYMENT)
    means = serializers.ChoiceField(Payment.Means.choices)
    amount = serializers.DecimalField(
        max_digits=7, decimal_places=2, min_value=Decimal("0.01"), max_value=MOST
    )
    reason = serializers.CharField(max_length=200, required=False, default="", allow_blank=True)


class TakenSerializer(serializers.Serializer[object]):
    payment = PaymentSerializer()
    balance = serializers.DecimalField(
        max_digits=11, decimal_places=2, help_text="still to pay; below zero: to give back"
    )


@once("payments_take", PaymentRequestSerializer, TakenSerializer, NUMBER)
class TicketPayments(OnceView):
    """Record money taken or given back. The card itself stays with its terminal."""

    def done(self, data: Validated, act: Act, number: int) -> Response:
        ticket, key = find_ticket(number), str(act.client_key)
        taken = payments.take(
            ticket, data["kind"], data["means"], data["amount"], act, key, data["reason"]
        )
        shown = {"payment": taken.payment, "balance": balance(ticket).owed}
        return Response(TakenSerializer(shown).data, status=200 if taken.repeated else 201)
