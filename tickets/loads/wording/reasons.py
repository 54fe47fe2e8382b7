"""Why a load or bag is proposed, and its figures in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone
from django.utils.formats import date_format, number_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from tickets import wording
from tickets.models import PartnerService, Piece
from tickets.shop.machine_facts import ProgrammeFacts

_MOST_NAMED = 3


def due_first(first: Piece, now: datetime) -> str:
    """Why a load comes now: the piece that is promised first."""
    return _("Due first: %(piece)s, promised %(when)s.") % {
        "piece": first.spoken,
        "when": wording.promise_words(first.promised_at, now),
    }


def kilograms(grams: int) -> str:
    return number_format(round(grams / 1000, 1), decimal_pos=1)


@dataclass(frozen=True)
class RunFacts:
    """What is said of a run. ``may_wait``: for more company. ``throws_spin``: one piece of several
    weighs so much. ``limiting``: codes of the pieces that keep it from a stronger programme."""

    programme: ProgrammeFacts
    may_wait: bool
    throws_spin: bool
    limiting: Sequence[str]


def run_reasons(run: RunFacts, first: Piece, now: datetime) -> list[str]:
    """Why a run comes now and with this programme; ``first`` is promised first."""
    said = [due_first(first, now)]
    if run.may_wait:
        said.append(_("Under half full and nothing in it presses: it may wait for more."))
    if run.throws_spin:
        said.append(_("One piece weighs much of the load and throws the spin: add like cloth."))
    if run.limiting:
        named = ", ".join(run.limiting[:_MOST_NAMED])
        more = len(run.limiting) - _MOST_NAMED
        if more > 0:
            named += ngettext(" and %(n)d more", " and %(n)d more", more) % {"n": more}
        said.append(
            _("%(programme)s because of %(pieces)s.")
            % {"programme": _capital(run.programme.words), "pieces": named}
        )
    return said


def no_partner_words(service: str) -> str:
    """Why no partner takes a piece that is sent out for this service; empty for none."""
    if not service:
        return _("No step of its route sends it out. Open the piece and look.")
    return _("No partner in use takes in: %(service)s. The owner adds partners under Shop.") % {
        "service": PartnerService(service).label
    }


def round_words(goes: datetime | None, back: datetime | None) -> str:
    """When a bag is picked up and back again; None where the partner never comes."""
    if goes is None or back is None:
        return _("This partner never comes on a day when the shop is open: ask the owner.")
    return _("Picked up %(goes)s, back by %(back)s.") % {
        "goes": moment_words(goes),
        "back": moment_words(back),
    }


def too_late_words(pieces: Sequence[Piece]) -> list[str]:
    """Which pieces a bag brings back after their promise; empty where none."""
    if not pieces:
        return []
    return [
        _("Back after the promise: %(pieces)s.")
        % {"pieces": ", ".join(piece.spoken for piece in pieces)}
    ]


def moment_words(at: datetime) -> str:
    """Weekday, day and time in the shop's zone."""
    return date_format(timezone.localtime(at), "l j M, H:i")


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
