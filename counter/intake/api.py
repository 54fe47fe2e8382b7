"""The API of tickets: find them, read one, open one with all its pieces or nothing.

Each operation calls the same function as the page for it; roles.py says who may call it.
"""

from __future__ import annotations

import uuid
from collections.abc import Sequence

from django.db import transaction
from django.db.models import Count, Exists, OuterRef, Prefetch, Q, QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework import generics
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from care_rules import Decision, FactsError, Fault, JsonObject
from counter.customers.api import save_new
from counter.intake.inspection import inspection_faults
from counter.intake.opening import open_ticket
from counter.intake.shapes import (
    NewTicketSerializer,
    TicketDetailSerializer,
    TicketFilterSerializer,
    TicketSerializer,
)
from counter.models import Shop, TicketLine
from counter.money import services as payments
from counter.roles import OWNER, roles_of
from tickets.acting import Act
from tickets.api.addresses import NUMBER, piece_code_of
from tickets.api.decide import decide_each
from tickets.api.once import ONE_TIME_KEY, checked, key_used, keyed_act, one_time_key
from tickets.api.shapes import FINDING, WRITING
from tickets.errors import Refused
from tickets.garments import washes
from tickets.garments.customers import find_customers
from tickets.garments.queries import garments_by_code
from tickets.models import Piece, Ticket
from tickets.numbers import NumberError
from tickets.pieces.opening import AcceptedCaution, PieceSpec
from tickets.tracking.queries import find_ticket
from tickets.writing import atomic_write


class TicketList(generics.ListAPIView[Ticket]):
    serializer_class = TicketSerializer

    def get_queryset(self) -> QuerySet[Ticket]:
        asked = checked(TicketFilterSerializer, self.request.query_params)
        found = _tickets()
        for name in ("customer", "promise_day", "number"):
            if name in asked:
                found = found.filter(**{name: asked[name]})
        if "state" in asked:
            found = found.filter(_STATES[asked["state"]])
        if "search" in asked:
            people = find_customers(asked["search"], limit=None)
            found = found.filter(customer__in=people.order_by().values("pk"))
        if asked["open"] is not None:
            found = found.filter(closed_at__isnull=asked["open"])
        if asked["late"] is not None:
            late = _STATES["open"] & Q(promised_at__lt=timezone.now())
            found = found.filter(late if asked["late"] else ~late)
        return found.order_by("-number")

    @extend_schema(
        operation_id="tickets_list",
        parameters=[TicketFilterSerializer],
        responses={200: TicketSerializer(many=True), **FINDING},
    )
    def get(self, request: Request, *args: object, **kwargs: object) -> Response:
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
        data = checked(NewTicketSerializer, request.data)
        key = one_time_key(request, data.get("client_key"))
        known = Ticket.objects.filter(client_key=key).select_related("customer").first()
        if known is not None:
            _must_be_the_same(known, data)
            return Response(_shown(known.number))
        act = keyed_act(request, data)
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


def _must_be_the_same(known: Ticket, data: JsonObject) -> None:
    """A repeat asks for the same customer and the same kinds of piece as the first request."""
    customer, new = data["customer"], data["new_customer"]
    same = known.customer == customer if customer else known.customer.name == _name(new["name"])
    kinds = [piece["facts"].get("kind") for piece in data["pieces"]]
    if not same or kinds != list(known.pieces.order_by("position").values_list("kind", flat=True)):
        raise key_used(_("ticket %(ticket)s was opened with it.") % {"ticket": known.number})


def _name(text: str) -> str:
    return " ".join(text.split())


def _open(data: JsonObject, key: uuid.UUID, act: Act) -> Ticket:
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
            earlier=piece["garment"].piece if piece["garment"] else None,
            washes_before=piece["washes_before"],
            washes_allowed=piece["washes_allowed"],
            accepted=_accepted(piece["accepted"], piece["decision"]),
        )
        for piece in pieces
    ]
    with atomic_write():
        customer = data["customer"] or save_new(data["new_customer"])
        ticket = open_ticket(
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


def _check_pieces(pieces: Sequence[JsonObject], act: Act) -> None:
    """Every fault of every piece's facts, inspection and washes at once.

    Adds to each piece its decision and the ``garment`` that it was before, if any.
    """
    faults = _find_earlier(pieces)
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
        piece["decision"] = _with_washes(piece, decision)
        if not washes.is_counted(decision):
            faults += [
                Fault(
                    f"pieces[{index}].{name}",
                    piece[name],
                    _(
                        "Its washes are not counted: leave this out, or say what protective "
                        "clothing it is."
                    ),
                )
                for name in ("washes_before", "washes_allowed")
                if piece[name] is not None
            ]
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


def _find_earlier(pieces: Sequence[JsonObject]) -> list[Fault]:
    """Put the earlier garment on each piece; a fault for each number that leads to none."""
    codes: dict[int, str] = {}
    faults = []
    for index, piece in enumerate(pieces):
        if not piece["earlier"].strip():
            continue
        try:
            codes[index] = piece_code_of(piece["earlier"])
        except (NumberError, Refused) as error:
            faults.append(Fault(f"pieces[{index}].earlier", piece["earlier"], str(error)))
    found = garments_by_code(codes.values())
    for index, piece in enumerate(pieces):
        piece["garment"] = found.get(codes.get(index, ""))
        if index in codes and piece["garment"] is None:
            cure = _("No piece has this number: read the tag again, or leave it out.")
            faults.append(Fault(f"pieces[{index}].earlier", piece["earlier"], cure))
    return faults


def _with_washes(piece: JsonObject, decision: Decision) -> Decision:
    last = piece["garment"].count if piece["garment"] else None
    count = washes.at_intake(last, piece["washes_before"], piece["washes_allowed"])
    return washes.with_wash_caution(decision, count)


def _accepted(given: Sequence[dict[str, str]], decision: Decision) -> list[AcceptedCaution]:
    """Accepted cautions with the words that were accepted, taken from the decision."""
    says = {caution.key: caution.says for caution in decision.cautions}
    named = {item["key"]: item["by_name"] for item in given if item["key"] in says}
    return [AcceptedCaution(key, says[key], by_name) for key, by_name in named.items()]


def _tickets() -> QuerySet[Ticket]:
    return Ticket.objects.select_related("customer").annotate(piece_count=Count("pieces"))


def _shown(number: int) -> JsonObject:
    find_ticket(number)
    ticket = (
        _tickets()
        .prefetch_related(
            Prefetch("pieces", Piece.objects.select_related("ticket", "rack_place")),
            Prefetch("lines", _lines()),
            "payments",
        )
        .get(number=number)
    )
    context = {"balance": payments.balance(ticket), "currency": Shop.current().currency}
    return dict(TicketDetailSerializer(ticket, context=context).data)


def _lines() -> QuerySet[TicketLine]:
    """Lines with ``charged``: false for work on a piece that went back undone."""
    charged = payments.charged_lines().filter(pk=OuterRef("pk"))
    return TicketLine.objects.select_related("piece").annotate(charged=Exists(charged))
