"""Words from the back room to whoever listens. There is one."""

from django.dispatch import Signal

ticket_ready = Signal()
"""Sent inside the transaction that racks a ticket's last open piece. Argument: ``ticket``."""
