"""The only door through which a piece changes place or state.

Every function locks the piece, checks the transition table, writes one append-only Move and
updates the piece in the same transaction. A repeated client key returns the first result and
writes nothing. Refusals raise ``Refused`` and leave everything as it was.
"""

from tickets.tracking.finishing import (
    assemble,
    complete_ticket,
    hand_over,
    rack,
    refuse_hand_over,
)
from tickets.tracking.holds import (
    hold,
    release,
    return_undone,
)
from tickets.tracking.moving import (
    Act,
    Moved,
    already_done,
    at_station,
    first_move,
    last_seen,
    lock_ticket,
    open_steps,
)
from tickets.tracking.wording import (
    missing_at_assembly,
    name_of,
    refuse_not_here,
    say_place,
    say_seen,
    say_when,
    say_where,
)
from tickets.tracking.work import (
    answer_wet_check,
    finish_work,
    replace_route,
    send_back,
)

__all__ = [
    "Act",
    "Moved",
    "already_done",
    "answer_wet_check",
    "assemble",
    "at_station",
    "complete_ticket",
    "finish_work",
    "first_move",
    "hand_over",
    "hold",
    "last_seen",
    "lock_ticket",
    "missing_at_assembly",
    "name_of",
    "open_steps",
    "rack",
    "refuse_hand_over",
    "refuse_not_here",
    "release",
    "replace_route",
    "return_undone",
    "say_place",
    "say_seen",
    "say_when",
    "say_where",
    "send_back",
]
