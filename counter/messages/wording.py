"""What customers are told of their tickets."""

from __future__ import annotations

from django.utils.translation import gettext as _

from counter.models import Shop
from tickets.models import Ticket


def ready_subject(ticket: Ticket, shop: Shop) -> str:
    """The subject of the message that a whole ticket is ready."""
    words = _("%(shop)s: ticket %(number)s is ready")
    return words % {"shop": shop.name, "number": ticket.number}


def ready_body(ticket: Ticket, shop: Shop) -> str:
    """The message that a whole ticket is ready, line by line."""
    words = _(
        "Hello %(name)s,\n\nall pieces of ticket %(number)s are ready to collect. "
        "Please bring the claim slip.\n\n%(shop)s"
    )
    return words % {"name": ticket.customer.name, "number": ticket.number, "shop": shop.name}


def was_called(ticket: Ticket) -> str:
    """The customer was told by phone."""
    return _("%(name)s was called.") % {"name": ticket.customer.name}
