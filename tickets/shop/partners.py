"""Partners: what the owner sets, what pieces go out for, and the bag as the planner sees it."""

from __future__ import annotations

from collections.abc import Iterable

from django.utils.translation import gettext as _

from tickets.errors import Refused
from tickets.models import Partner, PartnerService, Piece
from tickets.shop import figures
from tickets.shop.machine_facts import BAG, MachineFacts, bag_programme
from tickets.shop.minutes import partner_service


def service_of(piece: Piece) -> str:
    """What the piece is sent out for by its next open step there; empty when for nothing."""
    for step in piece.steps.all():
        if step.done_at is None and (service := partner_service(step.step, step.settings)):
            return service
    return ""


def must_take(partner: Partner, piece: Piece) -> None:
    """Raises ``Refused`` where the piece is sent out for what this partner does not do."""
    service = service_of(piece)
    if service in partner.services:
        return
    wanted = PartnerService(service).label if service in PartnerService.values else "–"
    raise Refused(
        "wrong_partner",
        _("%(piece)s is to go out for: %(service)s. %(partner)s does not take that in.")
        % {"piece": piece.spoken, "service": wanted, "partner": partner.name},
        _("Put it into the bag of another partner."),
    )


def notes(pieces: Iterable[Piece]) -> list[str]:
    """What the partner is to be told of each piece, from its care decision."""
    return [
        f"{piece.spoken}: {step.says}"
        for piece in pieces
        for step in piece.steps.all()
        if step.done_at is None and partner_service(step.step, step.settings)
    ]


def bag_of(partner: Partner) -> MachineFacts:
    """The partner's bag as the planner sees it: so many kilograms and no more (``load.bag_kg``).

    Bags do not wait for each other, so its run takes no time of a machine.
    """
    return MachineFacts(
        key=partner.name,
        kind=BAG,
        litres=figures.number("load.bag_kg"),
        programmes=(bag_programme(1),),
        turnaround=0,
    )
