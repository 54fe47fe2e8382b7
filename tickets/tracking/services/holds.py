"""Stopping a piece, letting it go on, and giving it back without the work."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from django.utils.translation import gettext as _

from tickets import signals
from tickets.acting import Act
from tickets.choices import MoveKind, Station
from tickets.errors import Kind, Refused
from tickets.models import Hold, Ticket
from tickets.shop.calendar import business_day
from tickets.tracking.services.moving import Moved, lock_piece, move_once, settle, write_move

if TYPE_CHECKING:
    from django.contrib.auth.models import User


def hold(piece_code: str, reason: str, owner: User, ask_again_on: date, act: Act) -> Moved:
    """Stop a piece, with a reason, a person who owns the question and the day to ask again."""
    if not reason.strip():
        raise Refused(
            "no_reason",
            _("A hold needs a reason."),
            _("Say what is being waited for."),
            kind=Kind.INVALID,
        )
    if ask_again_on < business_day(act.at):
        raise Refused(
            "date_past",
            _("The day to ask again, %(day)s, is past.") % {"day": ask_again_on.isoformat()},
            _("Choose today or later."),
            kind=Kind.INVALID,
        )

    def move() -> Moved:
        piece = lock_piece(piece_code)
        moved = write_move(piece, MoveKind.HELD, act, reason=reason.strip())
        Hold.objects.create(
            piece=piece,
            reason=reason.strip(),
            owner=owner,
            ask_again_on=ask_again_on,
            opened_at=act.at,
            opened_by=act.by,
        )
        settle(piece.ticket, act)  # a ticket with a held piece is not ready
        return moved

    return move_once(act, move)


def release(piece_code: str, outcome: str, act: Act) -> Moved:
    """End a hold with what came of it; the piece waits again where it stood."""
    if not outcome.strip():
        raise Refused(
            "no_reason",
            _("Ending a hold needs its outcome."),
            _("Say what was agreed."),
            kind=Kind.INVALID,
        )

    def move() -> Moved:
        piece = lock_piece(piece_code)
        station = None
        if piece.station in (Station.RACK, Station.PICKUP):
            station = Station.ASSEMBLY  # it left its place, so it must be matched again
        moved = write_move(
            piece, MoveKind.RELEASED, act, to_station=station, reason=outcome.strip(), place=None
        )
        Hold.objects.filter(piece=piece, ended_at__isnull=True).update(
            ended_at=act.at, ended_by=act.by, outcome=outcome.strip()
        )
        return moved

    return move_once(act, move)


def return_undone(piece_code: str, reason: str, act: Act) -> Moved:
    """Give a piece back without the work, with a reason."""
    if not reason.strip():
        raise Refused(
            "no_reason",
            _("A return needs a reason."),
            _("Say why it goes back."),
            kind=Kind.INVALID,
        )

    def move() -> Moved:
        piece = lock_piece(piece_code)
        moved = write_move(piece, MoveKind.RETURNED, act, reason=reason.strip(), place=None)
        Hold.objects.filter(piece=piece, ended_at__isnull=True).update(
            ended_at=act.at, ended_by=act.by, outcome=reason.strip()
        )
        settle(piece.ticket, act)
        signals.piece_returned.send(sender=Ticket, ticket=piece.ticket)
        return moved

    return move_once(act, move)
