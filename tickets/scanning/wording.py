"""What is said of a scanned line itself: where a card leads, and what could not be read."""

from __future__ import annotations

from django.utils.translation import gettext as _

from tickets.choices import Station


def to_board(station: Station) -> str:
    return _("To the board: %(name)s") % {"name": station.label}


def to_the_loads() -> str:
    return _("To the loads.")


def spoken_yes() -> str:
    """The word that answers a question with yes, as a person may type it."""
    return _("yes")


def spoken_no() -> str:
    return _("no")


def question_closed() -> tuple[str, str]:
    """A tap under a question that another window or tablet closed or replaced, and the cure."""
    return (
        _("That question is no longer open here. Nothing was done."),
        _("Scan the piece again, then answer."),
    )


def line_without_key(line: str) -> tuple[str, str]:
    """A line whose form lost its one-time key, and the cure."""
    says = _("%(line)s: the form came back without its one-time key.") % {"line": line or "–"}
    return says, _("Scan it once more.")


def line_too_long(line: str) -> tuple[str, str]:
    """``line``: its first 60 characters. With the cure."""
    says = _("%(line)s … is longer than 60 characters.") % {"line": line}
    return says, _("Scan a tag, or type its figures.")


def refused_words(code: str) -> str:
    """What a refusal with this code comes to, in a few words that are read from a step away."""
    return {
        "empty": _("Nothing scanned"),
        "unknown_number": _("Number not read"),
        "unknown_piece": _("No such piece"),
        "unknown_ticket": _("No such ticket"),
        "unknown_place": _("No such place"),
        "unknown_station": _("No such station"),
        "not_here": _("Not moved: not due here"),
        "not_waiting": _("Not moved: not due here"),
        "left_the_load": _("Not moved: not due here"),
        "not_on_route": _("Not moved: not on its way"),
        "wrong_state": _("Not moved as it stands"),
        "in_a_load": _("Not moved: lies in a load"),
        "in_no_load": _("Fits no load"),
        "not_in_load": _("Not in this load"),
        "not_together": _("Not with the others"),
        "programme_changed": _("Programme has changed"),
        "machine_busy": _("Machine is busy"),
        "empty_load": _("Load is empty"),
        "ticket_not_piece": _("A ticket, not a piece"),
        "no_piece_yet": _("Scan the piece first"),
        "not_the_rack": _("No place wanted here"),
        "nothing_to_rack": _("Nothing for the rack"),
        "no_question": _("No question is open"),
        "asked_before": _("Question is closed"),
        "wet_check_first": _("Wet check comes first"),
        "incomplete": _("Ticket not complete"),
        "already_matched": _("Matched already"),
        "counted_already": _("Counted already"),
        "gone": _("Has left already"),
        "held": _("Is on hold"),
    }.get(code, _("Not done"))
