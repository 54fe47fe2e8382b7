"""Intake: from a draft at the counter to an open ticket. These are its doors."""

from counter.intake.from_draft import open_from_draft
from counter.intake.inspection import inspection_faults
from counter.intake.opening import earliest_promise, open_ticket

__all__ = ["earliest_promise", "inspection_faults", "open_from_draft", "open_ticket"]
