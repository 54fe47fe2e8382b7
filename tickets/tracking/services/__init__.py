"""The only door through which a piece changes place or state.

Every function locks the piece, checks the transition table, writes one append-only Move and
updates the piece in the same transaction. A repeated client key returns the first result and
writes nothing. Refusals raise ``Refused`` and leave everything as it was.
"""

from tickets.tracking.services.finishing import (
    NotHung,
    assemble,
    complete_ticket,
    hand_over,
    match_at_table,
    rack,
    rack_all,
)
from tickets.tracking.services.holds import hold, release, return_undone
from tickets.tracking.services.moving import (
    Moved,
    already_done,
    first_moves,
    lock_piece,
    lock_ticket,
)
from tickets.tracking.services.work import answer_wet_check, finish_work, replace_route, send_back

__all__ = [
    "Moved",
    "NotHung",
    "already_done",
    "answer_wet_check",
    "assemble",
    "complete_ticket",
    "finish_work",
    "first_moves",
    "hand_over",
    "hold",
    "lock_piece",
    "lock_ticket",
    "match_at_table",
    "rack",
    "rack_all",
    "release",
    "replace_route",
    "return_undone",
    "send_back",
]
