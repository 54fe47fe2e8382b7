"""Stations, states and kinds of move: the words every floor of the house shares.

``TRANSITIONS`` is the only statement of which move may follow which state. The tracking door, the
replay command and the tests all read it.
"""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _


class Station(models.TextChoices):
    INTAKE = "intake", _("Intake")
    BENCH = "bench", _("Bench")
    SPOTTING = "spotting", _("Spotting")
    WASH = "wash", _("Wash")
    DRY = "dry", _("Dry")
    PRESS = "press", _("Press")
    CHECK = "check", _("Check")
    SEND_OUT = "send_out", _("Send-out")
    ASSEMBLY = "assembly", _("Assembly")
    RACK = "rack", _("Rack")
    PICKUP = "pickup", _("Pickup")


WORK_STATIONS = (
    Station.INTAKE,
    Station.BENCH,
    Station.SPOTTING,
    Station.WASH,
    Station.DRY,
    Station.PRESS,
    Station.CHECK,
    Station.SEND_OUT,
)
"""Stations where steps of a route are done; the rest follow for every piece."""

BOARD_STATIONS = (*WORK_STATIONS, Station.ASSEMBLY, Station.RACK)
"""Stations that have a board in the back room."""


class PieceState(models.TextChoices):
    WAITING = "waiting", _("Waiting")
    HELD = "held", _("On hold")
    ASSEMBLED = "assembled", _("Assembled")
    READY = "ready", _("Ready")
    COLLECTED = "collected", _("Collected")
    RETURNED = "returned", _("Returned undone")


CLOSED_STATES = (PieceState.COLLECTED, PieceState.RETURNED)
OPEN_STATES = tuple(state for state in PieceState if state not in CLOSED_STATES)


class MoveKind(models.TextChoices):
    OPENED = "opened", _("Taken in")
    WORKED = "worked", _("Work done")
    STAIN_GONE = "stain_gone", _("Wet check: stain gone")
    STAIN_STILL_THERE = "stain_still_there", _("Wet check: stain still there")
    HELD = "held", _("Put on hold")
    RELEASED = "released", _("Hold ended")
    REDO = "redo", _("Sent back")
    ASSEMBLED = "assembled", _("Matched to its ticket")
    TICKET_COMPLETE = "ticket_complete", _("Ticket complete")
    RACKED = "racked", _("Racked")
    COLLECTED = "collected", _("Handed over")
    RETURNED = "returned", _("Returned undone")
    REDECIDED = "redecided", _("Decision made again")


TRANSITIONS: dict[MoveKind, tuple[frozenset[PieceState], PieceState]] = {
    MoveKind.WORKED: (frozenset({PieceState.WAITING}), PieceState.WAITING),
    MoveKind.STAIN_GONE: (frozenset({PieceState.WAITING}), PieceState.WAITING),
    MoveKind.STAIN_STILL_THERE: (frozenset({PieceState.WAITING}), PieceState.WAITING),
    MoveKind.HELD: (
        frozenset({PieceState.WAITING, PieceState.ASSEMBLED, PieceState.READY}),
        PieceState.HELD,
    ),
    MoveKind.RELEASED: (frozenset({PieceState.HELD}), PieceState.WAITING),
    MoveKind.REDO: (
        frozenset({PieceState.WAITING, PieceState.ASSEMBLED, PieceState.READY}),
        PieceState.WAITING,
    ),
    MoveKind.ASSEMBLED: (frozenset({PieceState.WAITING}), PieceState.ASSEMBLED),
    MoveKind.TICKET_COMPLETE: (frozenset({PieceState.ASSEMBLED}), PieceState.ASSEMBLED),
    MoveKind.RACKED: (frozenset({PieceState.ASSEMBLED, PieceState.READY}), PieceState.READY),
    MoveKind.COLLECTED: (frozenset({PieceState.READY}), PieceState.COLLECTED),
    MoveKind.RETURNED: (
        frozenset({PieceState.WAITING, PieceState.HELD, PieceState.ASSEMBLED, PieceState.READY}),
        PieceState.RETURNED,
    ),
    MoveKind.REDECIDED: (frozenset({PieceState.WAITING}), PieceState.WAITING),
}
"""Kind of move -> (states it may start from, state it leads to)."""


class Paper(models.TextChoices):
    TAGS = "tags", _("Tags")
    CLAIM_SLIP = "claim_slip", _("Claim slip")
    RECEIPT = "receipt", _("Receipt")
