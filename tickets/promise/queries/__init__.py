"""What the promise asks the database: what the shop can do, what is open, and what was learned."""

from tickets.promise.queries.open_rows import (
    IN_PROCESS,
    newest_changes,
    open_pieces,
    pieces_of_loads,
    ticket_numbers,
)
from tickets.promise.queries.past_rows import (
    learned_margin,
    learning_basis,
    learning_is_due,
    margin_to_learn,
    ready_before,
    steps_since,
    still_open,
)
from tickets.promise.queries.what_there_is import shop_capacity

__all__ = [
    "IN_PROCESS",
    "learned_margin",
    "learning_basis",
    "learning_is_due",
    "margin_to_learn",
    "newest_changes",
    "open_pieces",
    "pieces_of_loads",
    "ready_before",
    "shop_capacity",
    "steps_since",
    "still_open",
    "ticket_numbers",
]
