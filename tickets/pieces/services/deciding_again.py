"""Deciding again: a piece whose facts changed before work on it began gets a new route."""

from __future__ import annotations

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from care_rules import JsonMapping
from tickets import house_book
from tickets.acting import Act
from tickets.choices import Station
from tickets.errors import Kind, Refused
from tickets.garments.queries import wash_count
from tickets.models import Piece, RouteStep
from tickets.pieces.decisions import (
    AcceptedCaution,
    DecidedPiece,
    PieceSpec,
    decide_piece,
    must_be_accepted,
)
from tickets.pieces.queries import has_begun
from tickets.pieces.services.opening import steps_of
from tickets.tracking import services as tracking
from tickets.writing import atomic_write

_TRIES = 3


def decide_again(piece_code: str, facts: JsonMapping, reason: str, act: Act) -> Piece:
    """Make the decision anew with changed facts; done steps stay in the history of moves.

    Allowed while the piece waits and before anything irreversible was done to it (only intake
    steps may be done). The reason is kept with the move. It is decided before the write lock, and
    once more where somebody moved the piece meanwhile.
    """
    if not reason.strip():
        raise Refused(
            "no_reason",
            _("A new decision needs a reason."),
            _("Say what changed."),
            kind=Kind.INVALID,
        )
    for _attempt in range(_TRIES):
        seen = _piece(Piece.objects.all(), piece_code)
        if known := tracking.already_done(act):
            return known.piece
        _must_not_have_begun(seen)
        spec = PieceSpec(facts=facts, accepted=_names(seen))
        decided = decide_piece(seen.position, spec, house_book.current(), wash_count(seen))
        must_be_accepted(seen.position, decided)
        with atomic_write():
            piece = _piece(Piece.objects.select_for_update(), piece_code)
            if known := tracking.already_done(act):
                return known.piece
            if piece.move_count == seen.move_count:
                _must_not_have_begun(piece)
                return _write(piece, decided, reason.strip(), act)
    raise Refused(
        "busy",
        _("%(piece)s is moved again and again.") % {"piece": seen.spoken},
        _("Press the button again."),
    )


def _piece(pieces: QuerySet[Piece], code: str) -> Piece:
    piece = pieces.filter(code=code).first()
    if piece is None:
        raise Refused(
            "unknown_piece",
            _("There is no piece %(code)s.") % {"code": code},
            _("Scan the tag again, or type the number under the bars."),
            kind=Kind.NOT_FOUND,
        )
    return piece


def _must_not_have_begun(piece: Piece) -> None:
    if has_begun(piece):
        raise Refused(
            "work_begun",
            _("Work on %(piece)s has begun.") % {"piece": piece.spoken},
            _("Put it on hold and ask the owner, or finish and take it in again."),
        )


def _names(piece: Piece) -> list[AcceptedCaution]:
    return [
        AcceptedCaution(row.caution, row.says, row.accepted_by) for row in piece.acceptances.all()
    ]


def _write(piece: Piece, decided: DecidedPiece, reason: str, act: Act) -> Piece:
    intake_done = piece.steps.filter(station=Station.INTAKE, done_at__isnull=False).first()
    piece.steps.all().delete()
    piece.facts, piece.decision = decided.spec.facts_with_names, decided.decision.as_json()
    piece.tables_version = decided.decision.tables
    piece.save(update_fields=["facts", "decision", "tables_version"])
    RouteStep.objects.bulk_create(steps_of(piece, decided.decision))
    if intake_done is not None:
        piece.steps.filter(station=Station.INTAKE).update(
            done_at=intake_done.done_at, done_by=intake_done.done_by
        )
    return tracking.replace_route(piece, act, reason).piece
