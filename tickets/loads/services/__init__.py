"""The only door through which a load changes, and through which pieces enter and leave it.

A load runs in a machine, or goes out to a partner in a bag: the same steps, with "start" for the
bag that is picked up and "finish" for the one that is back.

Each call locks ticket and piece, then the load, then the machine, always in this order; it writes
one append-only event, and a known one-time key returns the first result. Counting a piece out of a
finished load is the work of its station: ``tracking.finish_work`` writes the one Move.
"""

from tickets.loads.services.booking import Booked
from tickets.loads.services.filling import add, open_bag, open_load, take_off
from tickets.loads.services.running import close, count_out, finish, never_in, start, undo

__all__ = [
    "Booked",
    "add",
    "close",
    "count_out",
    "finish",
    "never_in",
    "open_bag",
    "open_load",
    "start",
    "take_off",
    "undo",
]
