"""What keeps a judged draft from becoming a ticket, each said with its cure."""

from __future__ import annotations

from datetime import datetime

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from counter.intake.choice_lists import KINDS
from counter.intake.inspection import inspection_faults
from counter.intake.judge import JudgedPiece, Judgement
from tickets.errors import Refused
from tickets.pieces.decisions import bad_facts
from tickets.wording import SERVICE_NAMES


def must_be_answered(piece: JudgedPiece) -> None:
    """Refuse a piece with a fault or an open question of its editor.

    A declined piece and a missing acceptance are named by the pieces' own door.
    """
    if piece.faults and not piece.declined:
        fault = (piece.wrong or piece.still_open)[0]
        raise Refused(
            "piece_open",
            _("Piece %(position)d, %(title)s: %(says)s")
            % {"position": piece.position, "title": piece.title, "says": fault.says},
            fault.cure,
        )


def must_be_asked(judgement: Judgement) -> None:
    """The care engine takes cleaning for granted where nothing is said; a ticket never does."""
    for piece in judgement.pieces:
        if not piece.facts.get("services"):
            kind = KINDS.name(str(piece.facts.get("kind", "other")))
            raise Refused(
                "no_service",
                _("Piece %(position)d, %(kind)s: nothing is asked.")
                % {"position": piece.position, "kind": kind},
                _("Choose one or more of: %(offered)s.")
                % {"offered": ", ".join(str(name) for name in SERVICE_NAMES.values())},
            )


def must_be_inspected(judgement: Judgement) -> None:
    for piece in judgement.pieces:
        if faults := inspection_faults(piece.piece.inspection, piece.facts):
            raise Refused(
                "not_inspected",
                _("Piece %(position)d: %(says)s")
                % {"position": piece.position, "says": faults[0].says},
                faults[0].cure,
            )


def must_be_read(judgement: Judgement) -> None:
    for piece in judgement.pieces:
        if piece.unread is not None:
            raise bad_facts(piece.position, piece.unread) from piece.unread


def must_be_priced(judgement: Judgement) -> None:
    for line in judgement.quote.missing:
        raise Refused(
            "no_price",
            _("Piece %(position)d has no price for: %(what)s.")
            % {"position": line.position, "what": line.text},
            _("Type the price on the piece, or ask the owner to add it on the Shop page."),
        )


def kept_promise(judgement: Judgement, promised_at: datetime | None, reason: str) -> datetime:
    """The promise to keep: the earliest one, a later one, or an earlier one with a reason."""
    if judgement.unpromised is not None:
        raise judgement.unpromised
    now = judgement.at
    earliest = judgement.promise.ready_at if judgement.promise else now
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
