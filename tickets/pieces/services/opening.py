"""Opening a ticket: what was decided on its pieces is written, all of it or nothing."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db import IntegrityError, transaction
from django.db.models import Max
from django.utils.translation import gettext as _

from care_rules import Decision, Step
from tickets import numbers
from tickets.acting import Act
from tickets.choices import Station
from tickets.errors import Kind, Refused
from tickets.garments.queries import must_come_again
from tickets.models import Acceptance, Customer, Piece, RouteStep, Ticket
from tickets.pieces.decisions import MOST_PIECES, DecidedPiece, must_be_accepted, station_for_step
from tickets.shop import minutes
from tickets.shop.calendar import business_day
from tickets.shop.queries import usual_weights
from tickets.tracking import services as tracking
from tickets.tracking.queries import ticket_under
from tickets.writing import atomic_write

_TRIES = 5


@dataclass(frozen=True)
class NewTicket:
    """A ticket as it will be written, with the rows of its pieces by position. Only what is known
    under the write lock is missing: its number, the codes of its pieces and all keys."""

    ticket: Ticket
    pieces: Sequence[Piece]
    steps: Sequence[RouteStep]
    acceptances: Sequence[Acceptance]


def open_ticket(
    customer: Customer,
    pieces: Sequence[DecidedPiece],
    promised_at: datetime,
    act: Act,
    *,
    client_key: uuid.UUID | None = None,
    rush: bool = False,
    note: str = "",
    promise_reason: str = "",
) -> Ticket:
    """Open a ticket with all its pieces, or nothing. A known ``client_key`` returns its ticket.

    Nothing is decided here. Raises ``Refused`` for an empty ticket, a declined piece, a caution
    that still needs a named acceptance, and an earlier piece that can't be the same garment.
    """
    key = client_key or uuid.uuid4()
    if known := ticket_under(key):
        return known
    must_be_openable(customer, pieces)
    new = new_ticket(
        customer,
        pieces,
        promised_at,
        act,
        client_key=key,
        rush=rush,
        note=note,
        promise_reason=promise_reason,
    )
    with atomic_write():
        return write_ticket(new, act)


def must_be_openable(customer: Customer, pieces: Sequence[DecidedPiece]) -> None:
    """All of ``open_ticket``'s refusals, to be told before anybody waits for the write lock."""
    if not pieces:
        raise Refused(
            "no_pieces",
            _("The ticket has no piece."),
            _("Add at least one piece."),
            kind=Kind.INVALID,
        )
    if len(pieces) > MOST_PIECES:
        raise Refused(
            "too_many_pieces",
            _("A ticket takes %(most)d pieces, not %(count)d.")
            % {"most": MOST_PIECES, "count": len(pieces)},
            _("Open a second ticket for the rest."),
            kind=Kind.INVALID,
        )
    must_come_again(customer, [piece.spec.earlier for piece in pieces])
    for position, piece in enumerate(pieces, 1):
        must_be_accepted(position, piece)


def new_ticket(
    customer: Customer,
    pieces: Sequence[DecidedPiece],
    promised_at: datetime,
    act: Act,
    *,
    client_key: uuid.UUID,
    rush: bool = False,
    note: str = "",
    promise_reason: str = "",
    promise_basis: str = "",
) -> NewTicket:
    """Make the rows of a ticket that ``must_be_openable`` let pass, before the write lock.

    The ``customer`` may be stored after this. One query where a piece was not weighed.
    """
    ticket = Ticket(
        client_key=client_key,
        customer=customer,
        opened_at=act.at,
        opened_by=act.by,
        business_day=business_day(act.at),
        promised_at=promised_at,
        promise_day=business_day(promised_at),
        promise_reason=promise_reason[:200],
        promise_basis=promise_basis[:300],
        rush=rush,
        note=note.strip(),
    )
    grams = {} if all(piece.spec.weight_g for piece in pieces) else usual_weights()
    rows = [_row(ticket, position, piece, act, grams) for position, piece in enumerate(pieces, 1)]
    decided = list(zip(rows, pieces, strict=True))
    return NewTicket(
        ticket,
        rows,
        steps=[step for row, piece in decided for step in steps_of(row, piece.decision)],
        acceptances=[
            acceptance for row, piece in decided for acceptance in _acceptances(row, piece, act)
        ],
    )


def write_ticket(new: NewTicket, act: Act) -> Ticket:
    """Write a new ticket under the next number, inside a transaction, rows in bulk.

    Gives ``new.ticket``, or the one that another till opened first under the same key.
    """
    if known := _number(new):
        return known
    earlier = [piece.earlier for piece in new.pieces]
    if any(earlier):
        before = [piece.pk for piece in earlier if piece]
        list(Piece.objects.select_for_update().filter(pk__in=before).order_by("pk"))
        must_come_again(new.ticket.customer, earlier)
    Piece.objects.bulk_create(new.pieces)
    RouteStep.objects.bulk_create(new.steps)
    Acceptance.objects.bulk_create(new.acceptances)
    tracking.first_moves(new.pieces, act)
    return new.ticket


def _number(new: NewTicket) -> Ticket | None:
    """Write the ticket under the next number; where another till took it first, under the one
    after. Gives the ticket that stands under the same key already, if there is one."""
    for _attempt in range(_TRIES):
        highest = Ticket.objects.aggregate(top=Max("number"))["top"]
        try:
            new.ticket.number = numbers.next_ticket(highest)
        except numbers.NumberError as error:
            raise Refused(
                "no_number_left",
                _("The last ticket number that a tag can carry, %(last)s, is used.")
                % {"last": highest},
                _("No more tickets can be opened here: tell the owner."),
            ) from error
        try:
            with transaction.atomic():
                new.ticket.save(force_insert=True)
        except IntegrityError:
            if known := ticket_under(new.ticket.client_key):
                return known
        else:
            for piece in new.pieces:
                piece.code = numbers.piece_code(new.ticket.number, piece.position)
            return None
    raise Refused("busy", _("Many tickets are being opened at once."), _("Press the button again."))


def _row(
    ticket: Ticket, position: int, decided: DecidedPiece, act: Act, grams: Mapping[str, int]
) -> Piece:
    spec = decided.spec
    kind = str(spec.facts.get("kind", "other"))
    return Piece(
        ticket=ticket,
        position=position,
        kind=kind,
        description=spec.description.strip(),
        set_mark=spec.set_mark,
        facts=spec.facts_with_names,
        inspection=dict(spec.inspection),
        decision=decided.decision.as_json(),
        tables_version=decided.decision.tables,
        services=list(spec.facts.get("services", ())),
        weight_g=spec.weight_g or grams.get(kind, grams["other"]),
        photo=spec.photo or "",
        promised_at=ticket.promised_at,
        redo_of=spec.redo_of,
        earlier=spec.earlier,
        washes_before=spec.washes_before,
        washes_allowed=spec.washes_allowed,
        station=Station.INTAKE,
        since=act.at,
        move_count=1,
    )


def _acceptances(piece: Piece, decided: DecidedPiece, act: Act) -> Iterable[Acceptance]:
    return [
        Acceptance(
            piece=piece,
            caution=item.key,
            says=item.says[:600],
            accepted_by=item.by_name.strip(),
            recorded_by=act.by,
            at=act.at,
        )
        for item in decided.spec.accepted
    ]


def steps_of(piece: Piece, decision: Decision) -> list[RouteStep]:
    """The route as rows to store. Assembly follows for every piece, so the engine's last word is
    not a step.

    A route that starts elsewhere gets an intake step: handing the tagged piece to the back.
    """
    work = list(piece.facts.get("work", ()))
    steps = [step for step in decision.steps if step.step != "assemble"]
    if not any(station_for_step(step.station) == Station.INTAKE for step in steps):
        says = "Count the piece, fix its tag and hand it to the back room."
        steps.insert(0, Step("check", "counter", says))
    return [
        RouteStep(
            piece=piece,
            order=order,
            step=step.step,
            station=station_for_step(step.station),
            settings=step.settings,
            says=step.says[:600],
            because=list(step.because),
            minutes=Decimal(str(minutes.crew_minutes(step.step, work, piece.kind))),
        )
        for order, step in enumerate(steps, 1)
    ]
