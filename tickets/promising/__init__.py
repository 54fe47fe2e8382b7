"""The honest promise: queues, crew, machines and opening hours in, a ready time out.

Nothing here knows the database or the clock. ``forward`` says when pieces can be expected and
what to promise, ``margin`` how much later than expected, ``rush`` what it costs the others when
one ticket goes first.
"""

from tickets.promising.facts import Capacity, Hours, Queue, Spell, Task, Waiting
from tickets.promising.forward import Forecast, Quote, forecast, quote, station_minutes
from tickets.promising.margin import Line, Margin, Miss, learn, way_of
from tickets.promising.rush import made_late

__all__ = [
    "Capacity",
    "Forecast",
    "Hours",
    "Line",
    "Margin",
    "Miss",
    "Queue",
    "Quote",
    "Spell",
    "Task",
    "Waiting",
    "forecast",
    "learn",
    "made_late",
    "quote",
    "station_minutes",
    "way_of",
]
