"""What is answered to a scan at a load or on the page of loads, beside what was done to it."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from tickets.loads.wording import event_words, title
from tickets.models import Load, Piece
from tickets.models.machines import LoadEvent, LoadEventKind


def piece_count(count: int) -> str:
    return ngettext("%(n)d piece", "%(n)d pieces", count) % {"n": count}


def event_recorded_already(event: LoadEvent) -> str:
    return _("%(title)s: recorded already (%(what)s).") % {
        "title": title(event.load),
        "what": event_words(event.load, event.kind),
    }


def key_stands_for(load: Load, event: LoadEvent) -> str:
    """What a one-time key was used for, as a refusal of the key names it."""
    return _("load %(load)d, %(what)s") % {
        "load": load.pk,
        "what": LoadEventKind(event.kind).label,
    }


def to_load(load: Load) -> str:
    words = _("To bag %(load)d.") if load.is_bag else _("To load %(load)d.")
    return words % {"load": load.pk}


def load_opened(load: Load, inside: int) -> tuple[str, str]:
    """``inside``: pieces in it. With what to do next."""
    says = _("%(title)s is open: %(count)s.") % {
        "title": title(load),
        "count": piece_count(inside),
    }
    return says, _("Put each piece in, scan more into it, then CLOSE.")


def take_it_off(load: Load, piece: Piece) -> tuple[str, str]:
    """The question to a second scan of a piece, and what its answers do."""
    says = (
        _("%(piece)s is in this bag. Take it off?")
        if load.is_bag
        else _("%(piece)s is in this load. Take it off?")
    )
    return says % {"piece": piece.spoken}, _("Yes takes it off; no leaves it in.")


def stays_out(piece: Piece) -> str:
    return _("%(piece)s stays out of this load.") % {"piece": piece.spoken}


def stays_in(piece: Piece) -> str:
    return _("%(piece)s stays in.") % {"piece": piece.spoken}


def proposal_incomplete() -> str:
    return _("The form was not complete. Choose a proposal again.")


def was_never_in(load: Load, spoken: str) -> str:
    """``spoken``: the piece that was counted in and not found, as people say it."""
    if not load.is_bag:
        says = _("%(piece)s was not in the drum. It still waits here: look for it.")
        return says % {"piece": spoken}
    says = _("%(piece)s was not in the bag. It is on hold: ask %(partner)s.")
    return says % {"piece": spoken, "partner": load.holder.name}
