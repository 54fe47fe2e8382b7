"""The API of the counter: customers, tickets, money and hand-over.

Each operation calls the same function as the page for it; roles.py says who may call it.
"""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from typing import Any

from django.db import transaction
from django.db.models import Count, Q, QuerySet
from django.utils.translation import gettext as _
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework import generics
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from care_rules import FactsError, Fault
from counter import intake, payments, pickup
from counter.api_shapes import (
    CustomerFilterSerializer,
    CustomerSerializer,
    NewTicketSerializer,
    PaymentRequestSerializer,
    PickupRequestSerializer,
    PickupSerializer,
    StandingSerializer,
    TakenSerializer,
    TicketDetailSerializer,
    TicketFilterSerializer,
    TicketSerializer,
)
from counter.intake.inspection import inspection_faults
from counter.models import Pickup, Shop
from counter.roles import OWNER, roles_of
from tickets.api import (
    ONE_TIME_KEY,
    act_of,
    decide_each,
    one_time_key,
    person_of,
    piece_code_of,
)
from tickets.api_shapes import FINDING, WRITING
from tickets.choices import CLOSED_STATES
from tickets.customers import find_customers, save_customer
from tickets.errors import Refused
from tickets.models import Customer, Ticket
from tickets.pieces import AcceptedCaution, PieceSpec
from tickets.tracking import Act
from tickets.writing import atomic_write

NUMBER = OpenApiParameter("number", OpenApiTypes.INT, OpenApiParameter.PATH)


class CustomerList(generics.ListAPIView[Customer]):
    serializer_class = CustomerSerializer

    def get_queryset(self) -> QuerySet[Customer]:
        wanted = CustomerFilterSerializer(data=self.request.query_params)
        wanted.is_valid(raise_exception=True)
        if "search" in wanted.validated_data:
            return find_customers(wanted.validated_data["search"])
        return Customer.objects.order_by("name", "pk")

    @extend_schema(
        operation_id="customers_list",
        parameters=[CustomerFilterSerializer],
        responses={200: CustomerSerializer(many=True), **FINDING},
    )
    def get(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Customers by name; a search finds at most twenty."""
        return super().get(request, *args, **kwargs)

    @extend_schema(
        operation_id="customers_create",
        request=CustomerSerializer,
        responses={
            201: CustomerSerializer,
            200: OpenApiResponse(CustomerSerializer, "The very same customer was known."),
            **WRITING,
        },
    )
    def post(self, request: Request) -> Response:
        """A new customer; one that is the same in every field is returned, not doubled."""
        sent = CustomerSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        with atomic_write():
            customer = _new_customer(sent.validated_data)
            twins = Customer.objects.filter(
                **{field: getattr(customer, field) for field in _SAME}
            ).exclude(pk=customer.pk)
            twin = twins.order_by("pk").first()
            if twin is not None:
                transaction.set_rollback(True)
        shown = CustomerSerializer(twin or customer).data
        return Response(shown, status=200 if twin else 201)


_SAME = ("name", "phone", "email", "address_line", "may_message", "notes")


class CustomerDetail(APIView):
    @extend_schema(
        operation_id="customers_read",
        parameters=[OpenApiParameter("id", OpenApiTypes.INT, OpenApiParameter.PATH)],
        responses={200: CustomerSerializer, **FINDING},
    )
    def get(self, request: Request, pk: int) -> Response:
        """One customer."""
        return Response(CustomerSerializer(generics.get_object_or_404(Customer, pk=pk)).data)


class TicketList(generics.ListAPIView[Ticket]):
    serializer_class = TicketSerializer

    def get_queryset(self) -> QuerySet[Ticket]:
        wanted = TicketFilterSerializer(data=self.request.query_params)
        wanted.is_valid(raise_exception=True)
        asked = wanted.validated_data
        found = _tickets()
        if "state" in asked:
            found = found.filter(_STATES[asked["state"]])
        if "customer" in asked:
            people = find_customers(asked["customer"], limit=200)
            found = found.filter(customer__in=[person.pk for person in people])
        if "promise_day" in asked:
            found = found.filter(promise_day=asked["promise_day"])
        if "number" in asked:
            found = found.filter(number=asked["number"])
        return found.order_by("-number")

    @extend_schema(
        operation_id="tickets_list",
        parameters=[TicketFilterSerializer],
        responses={200: TicketSerializer(many=True), **FINDING},
    )
    def get(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Tickets, the newest first."""
        return super().get(request, *args, **kwargs)

    @extend_schema(
        operation_id="tickets_open",
        parameters=[ONE_TIME_KEY],
        request=NewTicketSerializer,
        responses={
            201: TicketDetailSerializer,
            200: OpenApiResponse(TicketDetailSerializer, "The key was known: its ticket."),
            **WRITING,
        },
    )
    def post(self, request: Request) -> Response:
        """Open a ticket with all its pieces, or nothing."""
        sent = NewTicketSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        data = sent.validated_data
        key = one_time_key(request, data.get("client_key"))
        known = Ticket.objects.filter(client_key=key).first()
        if known is not None:
            return Response(_shown(known.number))
        act = act_of(request, data)
        ticket = _open(data, key, act)
        created = ticket.opened_at == act.at  # else another request with this key was first
        return Response(_shown(ticket.number), status=201 if created else 200)


_STATES = {
    "open": Q(ready_at__isnull=True, closed_at__isnull=True),
    "ready": Q(ready_at__isnull=False, closed_at__isnull=True),
    "closed": Q(closed_at__isnull=False),
}


class TicketDetail(APIView):
    @extend_schema(
        operation_id="tickets_read",
        parameters=[NUMBER],
        responses={200: TicketDetailSerializer, **FINDING},
    )
    def get(self, request: Request, number: int) -> Response:
        """One ticket with its pieces, priced lines, payments and balance."""
        return Response(_shown(number))


class TicketPayments(APIView):
    @extend_schema(
        operation_id="payments_take",
        parameters=[NUMBER, ONE_TIME_KEY],
        request=PaymentRequestSerializer,
        responses={
            201: TakenSerializer,
            200: OpenApiResponse(TakenSerializer, "The key was known; nothing new was written."),
            **WRITING,
        },
    )
    def post(self, request: Request, number: int) -> Response:
        """Record money taken or given back. The card itself stays with its terminal."""
        sent = PaymentRequestSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        data = sent.validated_data
        act = act_of(request, data)
        ticket = _ticket(number)
        taken = payments.take(
            ticket,
            data["kind"],
            data["means"],
            data["amount"],
            act,
            str(act.client_key),
            data["reason"],
        )
        shown = TakenSerializer(
            {"payment": taken.payment, "balance": payments.balance(ticket).owed}
        ).data
        return Response(shown, status=200 if taken.repeated else 201)


class TicketPickup(APIView):
    @extend_schema(
        operation_id="pickups_read",
        parameters=[NUMBER],
        responses={200: StandingSerializer, **FINDING},
    )
    def get(self, request: Request, number: int) -> Response:
        """Where a pickup stands: what is ready, missing and gone, and what is owed."""
        ticket = _ticket(number)
        return Response(
            StandingSerializer(
                pickup.standing(ticket), context={"balance": payments.balance(ticket)}
            ).data
        )

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
        """Hand over the named pieces. They leave once: a repeat returns the first hand-over."""
        sent = PickupRequestSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        data = sent.validated_data
        codes = [piece_code_of(code) for code in data["codes"]]
        act = Act(by=person_of(request), device=data["device"])
        with atomic_write():
            ticket = _ticket(number)
            done = _left_together(ticket, codes)
            repeated = done is not None
            if done is None:
                done = _hand_over(ticket, codes, data, act)
        return Response(PickupSerializer(done).data, status=200 if repeated else 201)


def _open(data: dict[str, Any], key: uuid.UUID, act: Act) -> Ticket:
    abilities = Shop.current().abilities
    pieces = [{**piece, "facts": {**piece["facts"], "shop": abilities}} for piece in data["pieces"]]
    _check_pieces(pieces, act)
    specs = [
        PieceSpec(
            facts=piece["facts"],
            inspection=piece["inspection"],
            description=piece["description"],
            set_mark=piece["set_mark"],
            weight_g=piece["weight_g"],
            accepted=_accepted(piece["accepted"], piece["decision"]),
        )
        for piece in pieces
    ]
    with atomic_write():
        customer = data["customer"] or _new_customer(data["new_customer"])
        ticket = intake.open_ticket(
            customer,
            specs,
            data["promised_at"],
            act,
            client_key=key,
            rush=data["rush"],
            note=data["note"],
            promise_reason=data["promise_reason"],
            typed_prices=[piece["prices"] for piece in pieces],
        )
        if ticket.customer_id != customer.pk:
            transaction.set_rollback(True)  # another request with this key made its own customer
    return ticket


def _check_pieces(pieces: Sequence[dict[str, Any]], act: Act) -> None:
    """Every fault of every piece's facts and inspection at once; adds each piece's decision."""
    faults: list[Fault] = []
    if OWNER not in roles_of(act.by):
        faults += [
            Fault(
                f"pieces[{index}].facts.overrides",
                piece["facts"]["overrides"],
                _("Only the owner may record that a maker's finish is known."),
            )
            for index, piece in enumerate(pieces)
            if piece["facts"].get("overrides")
        ]
    try:
        decisions = decide_each(
            [piece["facts"] for piece in pieces], lambda index: f"pieces[{index}].facts"
        )
    except FactsError as error:
        raise FactsError([*faults, *error.faults]) from error
    for index, (piece, decision) in enumerate(zip(pieces, decisions, strict=True)):
        piece["decision"] = decision
        faults += [
            Fault(
                f"pieces[{index}].inspection.{fault.field}",
                piece["inspection"].get(fault.field, ""),
                f"{fault.says} {fault.cure}",
            )
            for fault in inspection_faults(piece["inspection"], piece["facts"])
        ]
    if faults:
        raise FactsError(faults)


def _accepted(given: Sequence[dict[str, str]], decision: dict[str, Any]) -> list[AcceptedCaution]:
    """Accepted cautions with the words that were accepted, taken from the decision."""
    says = {caution["key"]: caution["says"] for caution in decision["cautions"]}
    named = {item["key"]: item["by_name"] for item in given if item["key"] in says}
    return [AcceptedCaution(key, says[key], by_name) for key, by_name in named.items()]


def _new_customer(data: dict[str, Any]) -> Customer:
    fields = {key: value for key, value in data.items() if key != "phone"}
    return save_customer(Customer(**fields), phone=data["phone"], region=Shop.current().country)


def _tickets() -> QuerySet[Ticket]:
    return Ticket.objects.select_related("customer").annotate(piece_count=Count("pieces"))


def _ticket(number: int) -> Ticket:
    ticket = Ticket.objects.filter(number=number).first()
    if ticket is None:
        raise Refused(
            "unknown_ticket",
            _("There is no ticket %(ticket)s.") % {"ticket": number},
            _("Read the number again, or search by phone or name."),
        )
    return ticket


def _shown(number: int) -> dict[str, Any]:
    _ticket(number)
    ticket = (
        _tickets()
        .prefetch_related("pieces__ticket", "pieces__rack_place", "lines__piece", "payments")
        .get(number=number)
    )
    context = {"balance": payments.balance(ticket), "currency": Shop.current().currency}
    return dict(TicketDetailSerializer(ticket, context=context).data)


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
