"""Words from the back room to whoever listens. There are two."""

from django.dispatch import Signal

ticket_ready = Signal()
"""Sent inside the transaction that racks a ticket's last open piece. Argument: ``ticket``."""

piece_returned = Signal()
"""Sent inside the transaction that gives a piece back undone. Argument: ``ticket``, locked."""
