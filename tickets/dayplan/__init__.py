"""What the day will bring: when each ticket can be expected, and who does what at which machine.

``Outlook`` says for every open ticket when it is ready, from the promise engine; ``urgency_at``
how urgent that makes a piece; ``rescue`` what would bring a late one back; ``day_plan`` plays the
open work of the shop through one day.
"""

from tickets.dayplan.expected import Expected, Outlook
from tickets.dayplan.rescue import Rescue, rescue
from tickets.dayplan.shop import DayPlan, PieceName, day_plan
from tickets.dayplan.urgency import (
    AT_RISK,
    DONE,
    DUE,
    LATE,
    Urgency,
    outlook_at,
    urgency_at,
    urgency_by,
)

__all__ = [
    "AT_RISK",
    "DONE",
    "DUE",
    "LATE",
    "DayPlan",
    "Expected",
    "Outlook",
    "PieceName",
    "Rescue",
    "Urgency",
    "day_plan",
    "outlook_at",
    "rescue",
    "urgency_at",
    "urgency_by",
]
