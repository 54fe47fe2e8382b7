"""Opening a ticket with its price lines: one transaction, one time for each key."""

from __future__ import annotations

import uuid
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from decimal import Decimal

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

import care_rules
from care_rules import Decision, JsonMapping
from counter.care import overrides
from counter.intake.inspection import inspection_faults
from counter.intake.lists import KINDS, SERVICE_NAMES
from counter.models import Shop, TicketLine
from counter.money import prices
from tickets import house_book
from tickets.acting import Act
from tickets.errors import Refused
from tickets.models import Customer, Ticket
from tickets.pieces.opening import PieceSpec, planned_route
from tickets.pieces.opening import open_ticket as open_pieces
from tickets.promise.quote import Promise, earliest_ready, queued_minutes
from tickets.shop.queries import read_calendar
from tickets.writing import atomic_write


def open_ticket(
    customer: Customer,
    specs: Sequence[PieceSpec],
    promised_at: datetime | None,
    act: Act,
    *,
    client_key: uuid.UUID | None = None,
    rush: bool = False,
    note: str = "",
    promise_reason: str = "",
    typed_prices: Sequence[Mapping[str, Decimal]] = (),
    recorded: Sequence[Collection[str]] = (),
) -> Ticket:
    """Open a ticket with its pieces, route steps, acceptances and locked price lines, or nothing.

    ``promised_at`` None takes the earliest honest promise; a later one is free, an earlier one
    needs ``promise_reason``. ``typed_prices`` holds, for each piece, amounts by line key for what
    the price list does not know. ``recorded`` holds, for each piece, the rules that the owner
    recorded as lifted (``counter.care.overrides``). A known ``client_key`` returns its ticket
    unchanged.

    Raises ``Refused`` for whatever ``tickets.pieces.opening.open_ticket`` refuses, a piece of which
    nothing is asked, an inspection that is not answered, a missing price, an early promise
    without a reason, and an override that the owner did not record.
    """
    key = client_key or uuid.uuid4()
    if known := Ticket.objects.filter(client_key=key).first():
        return known
    shop = Shop.current()
    abilities = shop.abilities
    specs = [_of_this_shop(spec, abilities) for spec in specs]
    _must_be_asked(specs)
    _must_be_inspected(specs)
    unrecorded = overrides.unrecorded([spec.facts for spec in specs], recorded, act)
    with atomic_write():
        ready = _promise(specs, promised_at, promise_reason, rush, act) if specs else act.at
        ticket = open_pieces(
            customer,
            specs,
            ready,
            act,
            client_key=key,
            rush=rush,
            note=note,
            promise_reason=promise_reason.strip(),
        )
        if not ticket.lines.exists():  # else another till opened it a moment ago
            _lock_prices(ticket, [spec.facts for spec in specs], typed_prices, shop)
            overrides.record_at_opening(ticket, unrecorded, act)
    return ticket


def earliest_promise(
    routes: Sequence[tuple[JsonMapping, Decision]],
    at: datetime,
    *,
    rush: bool = False,
) -> Promise:
    """Earliest honest ready time of pieces given as (facts, decision).

    Rush work waits only behind other rush work.
    """
    return earliest_ready(
        [planned_route(facts, decision) for facts, decision in routes],
        at,
        read_calendar(),
        queued_minutes(at, only_rush=rush),
    )


def check_promise(
    promised_at: datetime | None, earliest: datetime, reason: str, now: datetime
) -> datetime:
    """The promise to keep: the earliest one, a later one, or an earlier one with a reason."""
    if promised_at is None:
        return earliest
    shown = date_format(timezone.localtime(promised_at), "D j M, H:i")
    if promised_at <= now:
        raise Refused(
            "promise_past",
            _("The promise %(when)s is past.") % {"when": shown},
            _("Choose a time to come."),
        )
    if promised_at < earliest and not reason.strip():
        raise Refused(
            "promise_early",
            _("The promise %(when)s is earlier than the queue allows, which is %(earliest)s.")
            % {
                "when": shown,
                "earliest": date_format(timezone.localtime(earliest), "D j M, H:i"),
            },
            _("Promise later, or say why it can be done."),
        )
    return promised_at


def _of_this_shop(spec: PieceSpec, abilities: JsonMapping) -> PieceSpec:
    """Fill in what the counter knows better than its caller: the shop's machines."""
    return replace(spec, facts={**spec.facts, "shop": dict(abilities)})


def _promise(
    specs: Sequence[PieceSpec],
    promised_at: datetime | None,
    reason: str,
    rush: bool,
    act: Act,
) -> datetime:
    house_rules = house_book.current()
    try:
        routes = [(spec.facts, _decision(spec, house_rules)) for spec in specs]
    except care_rules.FactsError:
        return promised_at or act.at  # the pieces' own door says what is wrong with the facts
    earliest = earliest_promise(routes, act.at, rush=rush).ready_at
    return check_promise(promised_at, earliest, reason, act.at)


def _decision(spec: PieceSpec, house_rules: Sequence[care_rules.HouseRule]) -> Decision:
    named = sorted({item.key for item in spec.accepted if item.by_name.strip()})
    facts = care_rules.parse_facts({**spec.facts, "accepted": named})
    return care_rules.decide(facts, house_rules)


def _must_be_asked(specs: Sequence[PieceSpec]) -> None:
    """The care engine takes cleaning for granted where nothing is said; a ticket never does."""
    for position, spec in enumerate(specs, 1):
        if not spec.facts.get("services"):
            raise Refused(
                "no_service",
                _("Piece %(position)d, %(kind)s: nothing is asked.")
                % {"position": position, "kind": KINDS.name(str(spec.facts.get("kind", "other")))},
                _("Choose one or more of: %(offered)s.")
                % {"offered": ", ".join(str(name) for name in SERVICE_NAMES.values())},
            )


def _must_be_inspected(specs: Sequence[PieceSpec]) -> None:
    for position, spec in enumerate(specs, 1):
        if faults := inspection_faults(spec.inspection, spec.facts):
            raise Refused(
                "not_inspected",
                _("Piece %(position)d: %(says)s") % {"position": position, "says": faults[0].says},
                faults[0].cure,
            )


def _lock_prices(
    ticket: Ticket,
    facts: Sequence[JsonMapping],
    typed: Sequence[Mapping[str, Decimal]],
    shop: Shop,
) -> None:
    asked = prices.quote(facts, shop=shop, rush=ticket.rush, typed=typed)
    for line in asked.missing:
        raise Refused(
            "no_price",
            _("Piece %(position)d has no price for: %(what)s.")
            % {"position": line.position, "what": line.text},
            _("Type the price on the piece, or ask the owner to add it on the Shop page."),
        )
    pieces = {piece.position: piece for piece in ticket.pieces.all()}
    TicketLine.objects.bulk_create(
        TicketLine(
            ticket=ticket,
            piece=pieces[line.position] if line.position else None,
            text=line.text[:120],
            amount=line.amount or Decimal(0),
        )
        for line in asked.lines
    )
