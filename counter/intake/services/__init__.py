"""What an intake writes: the draft under way, and the ticket that it becomes."""

from counter.intake.services.drafting import (
    add_earlier,
    add_piece,
    discard,
    record_overrides,
    remove_piece,
    save_judged,
    save_piece,
    save_ticket_part,
    start_draft,
)
from counter.intake.services.opening import open_from_draft, open_ticket

__all__ = [
    "add_earlier",
    "add_piece",
    "discard",
    "open_from_draft",
    "open_ticket",
    "record_overrides",
    "remove_piece",
    "save_judged",
    "save_piece",
    "save_ticket_part",
    "start_draft",
]
