"""What is written of a ticket beside its moves: its opening, a new decision, its prints."""

from tickets.pieces.services.deciding_again import decide_again
from tickets.pieces.services.opening import (
    NewTicket,
    must_be_openable,
    new_ticket,
    open_ticket,
    write_ticket,
)
from tickets.pieces.services.prints import Printed, log_print, print_tags

__all__ = [
    "NewTicket",
    "Printed",
    "decide_again",
    "log_print",
    "must_be_openable",
    "new_ticket",
    "open_ticket",
    "print_tags",
    "write_ticket",
]
