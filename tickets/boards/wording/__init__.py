"""What a board answers to a scan: what is done, what is asked, where the piece goes next."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from tickets import wording
from tickets.choices import MoveKind, Station
from tickets.loads import wording as loadwords
from tickets.models import Load, Move, Piece
from tickets.tracking.wording import name_of, say_place, say_when

# At the stations of a route


def work_done(piece: Piece, here: Station) -> str:
    """``piece`` as it stands after the work at ``here``."""
    return _("%(piece)s: %(here)s done. Next: %(next)s.") % {
        "piece": piece.spoken,
        "here": here.label,
        "next": piece.get_station_display(),
    }


def work_done_before(piece: Piece, here: Station, move: Move) -> str:
    """A second scan; ``move`` recorded the work."""
    return _("%(piece)s: %(here)s was done %(when)s by %(who)s. Next: %(next)s.") % {
        "piece": piece.spoken,
        "here": here.label,
        "when": say_when(move.at),
        "who": name_of(move.by),
        "next": piece.get_station_display(),
    }


def move_recorded_already(move: Move) -> str:
    return _("%(piece)s: recorded already (%(what)s).") % {
        "piece": move.piece.spoken,
        "what": MoveKind(move.kind).label,
    }


def out_but_stopped(piece: Piece, here: Station, reason: str) -> tuple[str, str]:
    """``reason``: of the hold or return that came while it lay in its load. With the cure."""
    says = _("%(piece)s is out of its load, but %(here)s is not done for it. %(state)s: %(reason)s")
    return (
        says
        % {
            "piece": piece.spoken,
            "here": here.label,
            "state": piece.get_state_display(),
            "reason": reason,
        },
        _("Put it aside. Its page says what is being waited for."),
    )


def lies_in(piece: Piece, load: Load) -> str:
    return _("%(piece)s lies in %(holder)s. %(title)s is: %(state)s.") % {
        "piece": piece.spoken,
        "title": loadwords.title(load),
        "holder": load.holder.name,
        "state": loadwords.state_words(load),
    }


# The wet check


def is_stain_gone(piece: Piece) -> tuple[str, str]:
    """The question, and what each answer does."""
    stains = wording.stain_names(piece.care_facts)
    named = f" ({', '.join(stains)})" if stains else ""
    return (
        _("%(piece)s had a stain%(named)s. Is it gone?") % {"piece": piece.spoken, "named": named},
        _("Look at the wet piece. Yes: on to heat. No: back to spotting. Heat sets what is left."),
    )


def moved_since_asked(piece: Piece) -> tuple[str, str]:
    return (
        _("%(piece)s was moved since that was asked.") % {"piece": piece.spoken},
        _("Scan it again, look at it, then answer."),
    )


def stain_answered(piece: Piece, *, gone: bool) -> str:
    """``piece`` as it stands after the answer."""
    words = {"piece": piece.spoken, "next": piece.get_station_display()}
    if gone:
        return _("%(piece)s: stain gone. Next: %(next)s.") % words
    return _("%(piece)s: stain still there. Back to %(next)s.") % words


# At the assembly table


def all_left() -> str:
    return _("Every piece has left the shop.")


def matched_count(matched: int, left: int, missing: Sequence[Piece]) -> str:
    """``2 of 3 matched. Not ready: …``; ``left``: the ticket's pieces that are in the shop."""
    says = _("%(matched)d of %(all)d matched.") % {"matched": matched, "all": left}
    if not missing:
        return says
    where = "; ".join(map(say_place, missing))
    return f"{says} " + _("Not ready: %(where)s.") % {"where": where}


def matched_and_sent(piece: Piece) -> str:
    says = _("%(piece)s is matched and its ticket sent on: to the rack.")
    return says % {"piece": piece.spoken}


def matched_already(piece: Piece) -> str:
    return _("%(piece)s is matched already.") % {"piece": piece.spoken}


def last_matched(piece: Piece, ticket: int) -> str:
    return _("%(piece)s matched. Ticket %(ticket)s is complete: to the rack.") % {
        "piece": piece.spoken,
        "ticket": ticket,
    }


def is_complete(ticket: int) -> str:
    return _("Ticket %(ticket)s is complete: to the rack.") % {"ticket": ticket}


def ticket_stands(ticket: int, where: str) -> str:
    return _("Ticket %(ticket)s: %(where)s") % {"ticket": ticket, "where": where}


def sent_to_rack(ticket: int, pieces: int) -> str:
    """A ticket, or a part of it, that was sent on by its button."""
    return ngettext(
        "Ticket %(ticket)s: %(count)d piece goes to the rack.",
        "Ticket %(ticket)s: %(count)d pieces go to the rack.",
        pieces,
    ) % {"ticket": ticket, "count": pieces}


# At the rack


def where_to_hang(pieces: str) -> tuple[str, str]:
    """The question for a place, and what a line answers."""
    return (
        _("Where do you hang %(pieces)s?") % {"pieces": pieces},
        _("Scan the card of the place, or scan more pieces first. “No” forgets them."),
    )


def hangs_at(piece: Piece, place: str) -> str:
    return _("%(piece)s hangs at %(place)s; another place moves it.") % {
        "piece": piece.spoken,
        "place": place,
    }


def hung(pieces: str, place: str) -> str:
    return _("%(pieces)s: at %(place)s.") % {"pieces": pieces, "place": place}


def is_ready(ticket: int) -> str:
    return _("Ticket %(ticket)s is ready.") % {"ticket": ticket}


def none_hung(rest: str) -> str:
    """``rest``: the pieces that still wait for the place, as people say them."""
    cure = _("Nothing was hung. Put it aside, then scan the place again for %(pieces)s.")
    return cure % {"pieces": rest}


def pieces_forgotten() -> str:
    """No to the question for a place."""
    return _("Forgotten. Nothing was hung.")


def scan_at_assembly() -> str:
    return _("Scan it at Assembly: that sends it to the rack.")
