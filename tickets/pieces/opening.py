"""Opening a ticket: each piece's facts are decided once, kept, and turned into a route."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal

from django.core.files import File
from django.db import IntegrityError, transaction
from django.db.models import Max
from django.utils.translation import gettext as _

import care_rules
from care_rules import Decision, JsonMapping, JsonObject, Step
from tickets import house_book, numbers
from tickets.acting import Act
from tickets.choices import Station
from tickets.errors import Kind, Refused
from tickets.garments import washes
from tickets.garments.queries import must_come_again, wash_count, wash_counts
from tickets.models import Acceptance, Customer, Piece, RouteStep, Ticket
from tickets.promise.tasks import Task, task_of
from tickets.shop import minutes, weights
from tickets.shop.calendar import business_day
from tickets.shop.queries import usual_grams
from tickets.tracking import services as tracking
from tickets.writing import atomic_write

MOST_PIECES = 99
_TRIES = 5
_STATIONS = {"counter": Station.INTAKE}


@dataclass(frozen=True)
class AcceptedCaution:
    key: str
    says: str
    by_name: str


@dataclass(frozen=True)
class PieceSpec:
    """What the counter knows of a piece. ``facts`` is the JSON of the care contract.

    ``photo`` is a new file, or the name of one that the media storage holds already. ``earlier``
    is the same garment at its visit before; ``washes_before`` counts washes elsewhere before this
    visit (since ``earlier``, where there is one), ``washes_allowed`` those its label certifies.
    ``weight_g`` is the scale's; 0 takes the usual weight of its kind.
    """

    facts: JsonMapping
    inspection: JsonMapping = field(default_factory=dict)
    description: str = ""
    set_mark: str = ""
    weight_g: int = 0
    photo: File[bytes] | str | None = None
    accepted: Sequence[AcceptedCaution] = ()
    redo_of: Piece | None = None
    earlier: Piece | None = None
    washes_before: int | None = None
    washes_allowed: int | None = None


def open_ticket(
    customer: Customer,
    specs: Sequence[PieceSpec],
    promised_at: datetime,
    act: Act,
    *,
    client_key: uuid.UUID | None = None,
    rush: bool = False,
    note: str = "",
    promise_reason: str = "",
) -> Ticket:
    """Open a ticket with all its pieces, or nothing. A known ``client_key`` returns its ticket.

    Raises ``Refused`` for an empty ticket, bad facts, a declined piece, a caution that still
    needs a named acceptance, an earlier piece that can't be the same garment, or a wash count of a
    piece whose washes are not counted.
    """
    key = client_key or uuid.uuid4()
    if known := Ticket.objects.filter(client_key=key).first():
        return known
    if not specs:
        raise Refused(
            "no_pieces",
            _("The ticket has no piece."),
            _("Add at least one piece."),
            kind=Kind.INVALID,
        )
    if len(specs) > MOST_PIECES:
        raise Refused(
            "too_many_pieces",
            _("A ticket takes %(most)d pieces, not %(count)d.")
            % {"most": MOST_PIECES, "count": len(specs)},
            _("Open a second ticket for the rest."),
            kind=Kind.INVALID,
        )
    house_rules = house_book.current()
    earlier = [spec.earlier for spec in specs]
    must_come_again(customer, earlier)
    decided = [
        _decide(position, spec, house_rules, count)
        for position, (spec, count) in enumerate(zip(specs, _counts(specs), strict=True), 1)
    ]
    with atomic_write():
        ticket, created = _new_ticket(
            key,
            customer=customer,
            opened_at=act.at,
            opened_by=act.by,
            business_day=business_day(act.at),
            promised_at=promised_at,
            promise_day=business_day(promised_at),
            promise_reason=promise_reason[:200],
            rush=rush,
            note=note.strip(),
        )
        if created:
            if any(earlier):
                before = [piece.pk for piece in earlier if piece]
                list(Piece.objects.select_for_update().filter(pk__in=before).order_by("pk"))
                must_come_again(customer, earlier)
            for position, (spec, decision) in enumerate(zip(specs, decided, strict=True), 1):
                _add_piece(ticket, position, spec, decision, act)
    return ticket


def planned_route(facts: JsonMapping, decision: Decision) -> list[Task]:
    """The route of a decision as the promise reads it, for a piece that nobody has weighed yet."""
    work, kind = list(facts.get("work", ())), str(facts.get("kind", "other"))
    grams = weights.trade_grams().get(kind, 0)
    return [
        task_of(
            _station(step.station),
            step.step,
            Decimal(str(minutes.crew_minutes(step.step, work, kind))),
            step.settings,
            grams,
        )
        for step in decision.steps
        if step.step != "assemble"
    ]


def decide_again(piece_code: str, facts: JsonMapping, reason: str, act: Act) -> Piece:
    """Make the decision anew with changed facts; done steps stay in the history of moves.

    Allowed while the piece waits and before anything irreversible was done to it (only intake
    steps may be done). The reason is kept with the move.
    """
    if not reason.strip():
        raise Refused(
            "no_reason",
            _("A new decision needs a reason."),
            _("Say what changed."),
            kind=Kind.INVALID,
        )
    with atomic_write():
        piece = Piece.objects.select_for_update().filter(code=piece_code).first()
        if piece is None:
            raise Refused(
                "unknown_piece",
                _("There is no piece %(code)s.") % {"code": piece_code},
                _("Scan the tag again, or type the number under the bars."),
                kind=Kind.NOT_FOUND,
            )
        if known := tracking.already_done(act):
            return known.piece
        begun = piece.steps.filter(done_at__isnull=False).exclude(station=Station.INTAKE)
        if begun.exists():
            raise Refused(
                "work_begun",
                _("Work on %(piece)s has begun.") % {"piece": piece.spoken},
                _("Put it on hold and ask the owner, or finish and take it in again."),
            )
        spec = PieceSpec(
            facts=facts,
            accepted=[
                AcceptedCaution(row.caution, row.says, row.accepted_by)
                for row in piece.acceptances.all()
            ],
        )
        count = wash_count(piece)
        decision = _decide(piece.position, spec, house_book.current(), count)
        intake_done = piece.steps.filter(station=Station.INTAKE, done_at__isnull=False).first()
        piece.steps.all().delete()
        piece.facts, piece.decision = _facts_with_acceptance(spec), decision.as_json()
        piece.tables_version = decision.tables
        piece.save(update_fields=["facts", "decision", "tables_version"])
        _add_steps(piece, decision)
        if intake_done is not None:
            piece.steps.filter(station=Station.INTAKE).update(
                done_at=intake_done.done_at, done_by=intake_done.done_by
            )
        return tracking.replace_route(piece, act, reason.strip()).piece


def _counts(specs: Sequence[PieceSpec]) -> list[washes.WashCount]:
    """The washes of each piece's garment as it is taken in."""
    last = wash_counts([spec.earlier for spec in specs if spec.earlier])
    return [
        washes.at_intake(
            last[spec.earlier.pk] if spec.earlier else None,
            spec.washes_before,
            spec.washes_allowed,
        )
        for spec in specs
    ]


def _decide(
    position: int,
    spec: PieceSpec,
    house_rules: Sequence[care_rules.HouseRule],
    count: washes.WashCount,
) -> Decision:
    try:
        facts = care_rules.parse_facts(_facts_with_acceptance(spec))
        decision = care_rules.decide(facts, house_rules)
    except care_rules.FactsError as error:
        fault = error.faults[0]
        raise Refused(
            "bad_facts",
            _("Piece %(position)d, %(field)s: %(value)s can't be used.")
            % {"position": position, "field": fault.field, "value": fault.value},
            str(fault.cure),
            kind=Kind.INVALID,
        ) from error
    _must_be_counted(position, spec, decision)
    named = {item.key for item in spec.accepted if item.by_name.strip()}
    decision = washes.with_wash_caution(decision, count, named)
    if decision.outcome == "decline":
        refusing = [caution for caution in decision.cautions if caution.level == "refuse"]
        raise Refused(
            "declined",
            _("Piece %(position)d can't be taken in: %(why)s")
            % {"position": position, "why": refusing[0].says if refusing else ""},
            refusing[0].do if refusing else "",
        )
    if decision.outcome == "ask":
        waiting = [
            caution.says
            for caution in decision.cautions
            if caution.level == "hold" and caution.key not in named
        ]
        raise Refused(
            "needs_acceptance",
            _("Piece %(position)d needs a named acceptance: %(what)s")
            % {"position": position, "what": "; ".join(waiting)},
            _("Read it to the customer and write down who accepts, or take the piece off."),
        )
    return decision


def _must_be_counted(position: int, spec: PieceSpec, decision: Decision) -> None:
    told = {"washes_before": spec.washes_before, "washes_allowed": spec.washes_allowed}
    least = {"washes_before": 0, "washes_allowed": 1}
    for name, number in told.items():
        if number is None:
            continue
        words = {"position": position, "name": name, "number": number}
        if not washes.is_counted(decision):
            raise Refused(
                "not_counted",
                _("Piece %(position)d, %(name)s %(number)d: its washes are not counted.") % words,
                _("Leave the number out, or say what protective clothing it is."),
            )
        if not least[name] <= number <= washes.MOST_WASHES:
            raise Refused(
                "bad_count",
                _("Piece %(position)d, %(name)s: %(number)d can't be a count of washes.") % words,
                _("Give a whole number from %(least)d to %(most)d, or leave it out.")
                % {"least": least[name], "most": washes.MOST_WASHES},
            )


def _facts_with_acceptance(spec: PieceSpec) -> JsonObject:
    named = {item.key for item in spec.accepted if item.by_name.strip()}
    return {**spec.facts, "accepted": sorted(named)}


def _new_ticket(key: uuid.UUID, **fields: object) -> tuple[Ticket, bool]:
    """Take the next number; where another till took it first, try the one after."""
    for _attempt in range(_TRIES):
        highest = Ticket.objects.aggregate(top=Max("number"))["top"]
        number = numbers.FIRST_TICKET if highest is None else highest + 1
        try:
            with transaction.atomic():
                return Ticket.objects.create(number=number, client_key=key, **fields), True
        except IntegrityError:
            if known := Ticket.objects.filter(client_key=key).first():
                return known, False
    raise Refused("busy", _("Many tickets are being opened at once."), _("Press the button again."))


def _add_piece(
    ticket: Ticket, position: int, spec: PieceSpec, decision: Decision, act: Act
) -> Piece:
    piece = Piece.objects.create(
        ticket=ticket,
        position=position,
        code=numbers.piece_code(ticket.number, position),
        kind=spec.facts.get("kind", "other"),
        description=spec.description.strip(),
        set_mark=spec.set_mark,
        facts=_facts_with_acceptance(spec),
        inspection=dict(spec.inspection),
        decision=decision.as_json(),
        tables_version=decision.tables,
        services=list(spec.facts.get("services", ())),
        weight_g=spec.weight_g or usual_grams(str(spec.facts.get("kind", "other"))),
        photo=spec.photo or "",
        promised_at=ticket.promised_at,
        redo_of=spec.redo_of,
        earlier=spec.earlier,
        washes_before=spec.washes_before,
        washes_allowed=spec.washes_allowed,
        station=Station.INTAKE,
        since=act.at,
    )
    _add_steps(piece, decision)
    Acceptance.objects.bulk_create(
        Acceptance(
            piece=piece,
            caution=item.key,
            says=item.says[:600],
            accepted_by=item.by_name.strip(),
            recorded_by=act.by,
            at=act.at,
        )
        for item in spec.accepted
    )
    tracking.first_move(piece, act)
    piece.move_count = 1
    piece.save(update_fields=["move_count"])
    return piece


def _add_steps(piece: Piece, decision: Decision) -> None:
    """Store the route. Assembly follows for every piece, so the engine's last word is not a step.

    A route that starts elsewhere gets an intake step: handing the tagged piece to the back.
    """
    work = list(piece.facts.get("work", ()))
    steps = [step for step in decision.steps if step.step != "assemble"]
    if not any(_station(step.station) == Station.INTAKE for step in steps):
        says = "Count the piece, fix its tag and hand it to the back room."
        steps.insert(0, Step("check", "counter", says))
    RouteStep.objects.bulk_create(
        RouteStep(
            piece=piece,
            order=order,
            step=step.step,
            station=_station(step.station),
            settings=step.settings,
            says=step.says[:600],
            because=list(step.because),
            minutes=Decimal(str(minutes.crew_minutes(step.step, work, piece.kind))),
        )
        for order, step in enumerate(steps, 1)
    )


def _station(contract_station: str) -> Station:
    return _STATIONS.get(contract_station) or Station(contract_station)
