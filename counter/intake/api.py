"""The API of tickets: find them, read one, open one with all its pieces or nothing.

Each operation calls the same function as the page for it; roles.py says who may call it.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterator, Sequence
from decimal import Decimal

from django.db.models import QuerySet
from django.utils.translation import gettext as _
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework import generics
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from care_rules import FactsError, Fault, JsonObject
from counter.customers.api import checked_new
from counter.intake import queries
from counter.intake.drafts import Draft, DraftPiece
from counter.intake.filters import TicketFilters
from counter.intake.inspection import inspection_faults
from counter.intake.judge import Judgement, judge_unpromised, with_promise
from counter.intake.services import open_ticket
from counter.intake.shapes import (
    NewTicketSerializer,
    TicketDetailSerializer,
    TicketSerializer,
)
from counter.intake.wording import api_faults
from counter.models import Shop
from counter.money.queries import Balance
from counter.roles import OWNER, roles_of
from tickets.acting import Act
from tickets.api.addresses import NUMBER, piece_code_of
from tickets.api.decide import faults_of_each
from tickets.api.filters import StrictFilters
from tickets.api.once import ONE_TIME_KEY, checked, key_used, keyed_act, one_time_key
from tickets.api.shapes import FINDING, WRITING
from tickets.errors import Refused
from tickets.models import Ticket
from tickets.numbers import NumberError
from tickets.tracking.queries import no_ticket, ticket_under


class TicketList(generics.ListAPIView[Ticket]):
    serializer_class = TicketSerializer
    filter_backends = [StrictFilters]
    filterset_class = TicketFilters

    def get_queryset(self) -> QuerySet[Ticket]:
        return queries.listed_tickets()

    @extend_schema(
        operation_id="tickets_list",
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
        known = ticket_under(key)
        if known is not None:
            _must_be_the_same(known, data)
            return Response(_shown(known.number, Shop.current().currency))
        act = keyed_act(request, data)
        ticket, shop = _open(data, key, act)
        created = ticket.opened_at == act.at  # else another request with this key was first
        shown = _shown(ticket.number, shop.currency)
        return Response(shown, status=201 if created else 200)


class TicketDetail(APIView):
    @extend_schema(
        operation_id="tickets_read",
        parameters=[NUMBER],
        responses={200: TicketDetailSerializer, **FINDING},
    )
    def get(self, request: Request, number: int) -> Response:
        """One ticket with its pieces, priced lines, payments and balance."""
        return Response(_shown(number, Shop.current().currency))


def _must_be_the_same(known: Ticket, data: JsonObject) -> None:
    """A repeat asks for the same customer and the same kinds of piece as the first request."""
    customer, new = data["customer"], data["new_customer"]
    same = known.customer == customer if customer else known.customer.name == _name(new["name"])
    kinds = [piece["facts"].get("kind") for piece in data["pieces"]]
    if not same or kinds != queries.kinds_on(known):
        raise key_used(_("ticket %(ticket)s was opened with it.") % {"ticket": known.number})


def _name(text: str) -> str:
    return " ".join(text.split())


def _open(data: JsonObject, key: uuid.UUID, act: Act) -> tuple[Ticket, Shop]:
    draft, faults = _read(data, act)
    judgement = judge_unpromised(draft, act.at)
    if faults := [*faults, *_faults(judgement)]:
        raise FactsError(faults)
    ticket = open_ticket(
        data["customer"] or checked_new(data["new_customer"], judgement.shop.country),
        draft,
        data["promised_at"],
        act,
        client_key=key,
        promise_reason=data["promise_reason"],
        judgement=with_promise(judgement),
    )
    return ticket, judgement.shop


def _read(data: JsonObject, act: Act) -> tuple[Draft, list[Fault]]:
    """What was sent as a draft, and what is wrong with its numbers; every fault of every piece at
    once where facts can't be read."""
    sent = data["pieces"]
    codes, faults = _earlier_codes(sent)
    if OWNER not in roles_of(act.by):
        faults += [
            Fault(
                f"pieces[{index}].facts.overrides",
                piece["facts"]["overrides"],
                api_faults.owner_alone_knows(),
            )
            for index, piece in enumerate(sent)
            if piece["facts"].get("overrides")
        ]
    facts = [{**piece["facts"], "shop": {}} for piece in sent]
    if unread := faults_of_each(facts, lambda index: f"pieces[{index}].facts"):
        raise FactsError([*faults, *unread])
    pieces = (_draft_piece(piece, codes.get(index, "")) for index, piece in enumerate(sent))
    return Draft(tuple(pieces), data["rush"], data["note"]), faults


def _draft_piece(sent: JsonObject, earlier: str) -> DraftPiece:
    return DraftPiece(
        facts=sent["facts"],
        inspection=sent["inspection"],
        description=sent["description"],
        set_mark=sent["set_mark"],
        weight_g=sent["weight_g"],
        accepted={item["key"]: item["by_name"] for item in sent["accepted"]},
        heard=None,
        prices=sent["prices"],
        earlier=earlier,
        washes_before=_as_typed(sent["washes_before"]),
        washes_allowed=_as_typed(sent["washes_allowed"]),
    )


def _as_typed(count: int | None) -> str:
    return "" if count is None else str(count)


def _faults(judgement: Judgement) -> Iterator[Fault]:
    """What is wrong with the inspection and the washes of every piece."""
    for index, judged in enumerate(judgement.pieces):
        inspection, washes = judged.piece.inspection, judged.told
        counts = {"washes_before": washes.before, "washes_allowed": washes.allowed}
        for name, count in counts.items():
            if count is not None and not judged.counted:
                cure = api_faults.washes_not_counted()
                yield Fault(f"pieces[{index}].{name}", count, cure)
        for fault in inspection_faults(inspection, judged.facts):
            yield Fault(
                f"pieces[{index}].inspection.{fault.field}",
                inspection.get(fault.field, ""),
                f"{fault.says} {fault.cure}",
            )


def _earlier_codes(pieces: Sequence[JsonObject]) -> tuple[dict[int, str], list[Fault]]:
    """Numbers of earlier pieces by place; a fault for each that leads to none."""
    codes: dict[int, str] = {}
    faults = []
    for index, piece in enumerate(pieces):
        if not piece["earlier"].strip():
            continue
        try:
            codes[index] = piece_code_of(piece["earlier"])
        except (NumberError, Refused) as error:
            faults.append(Fault(f"pieces[{index}].earlier", piece["earlier"], str(error)))
    known = queries.known_codes(codes.values())
    for index, code in codes.items():
        if code not in known:
            cure = api_faults.no_such_piece()
            faults.append(Fault(f"pieces[{index}].earlier", pieces[index]["earlier"], cure))
    return codes, faults


def _shown(number: int, currency: str) -> JsonObject:
    ticket = queries.ticket_in_full(number)
    if ticket is None:
        raise no_ticket(number)
    charged = (line.amount for line in ticket.lines.all() if line.charged)  # type: ignore[attr-defined]
    paid = (payment.signed for payment in ticket.payments.all())
    balance = Balance(sum(charged, Decimal(0)), sum(paid, Decimal(0)))
    context = {"balance": balance, "currency": currency}
    return dict(TicketDetailSerializer(ticket, context=context).data)
