"""Partners: what the owner sets, what pieces go out for, and the bag as the planner sees it."""

from __future__ import annotations

from collections.abc import Iterable

from django.utils.translation import gettext as _

from tickets.errors import Refused
from tickets.models import OpeningHours, Partner, PartnerService, Piece
from tickets.models.machines import OPEN_LOADS
from tickets.models.shop import Weekday
from tickets.shop import figures
from tickets.shop.machine_facts import BAG, MachineFacts, bag_programme
from tickets.shop.minutes import partner_service
from tickets.writing import atomic_write


def sent_out_for() -> list[str]:
    """What partners in use take in, in the order of the care engine: the shop's abilities."""
    taken = {each for services in _services_in_use() for each in services}
    return [service.value for service in PartnerService if service in taken]


def _services_in_use() -> Iterable[list[str]]:
    return Partner.objects.filter(in_use=True).values_list("services", flat=True)


def save_partner(partner: Partner) -> Partner:
    """Add or change a partner. Refused for days on which the shop is never open."""
    if not partner.services:
        raise Refused(
            "no_service",
            _("%(partner)s would take in nothing.") % {"partner": partner.name},
            _("Tick what the partner is for, or take the partner out of use."),
        )
    open_days = set(OpeningHours.objects.values_list("weekday", flat=True))
    for what, days in (
        (_("picked up on"), partner.collect_days),
        (_("brought back on"), partner.return_days),
    ):
        if days and open_days and not open_days & set(days):
            named = ", ".join(str(Weekday(day).label) for day in sorted(days))
            raise Refused(
                "partner_never",
                _("%(partner)s: %(what)s %(days)s, when the shop is never open.")
                % {"partner": partner.name, "what": what, "days": named},
                _("Tick a day on which the shop is open."),
            )
    if partner.pk and not partner.in_use:
        _must_have_no_bag(partner)
    with atomic_write():
        partner.save()
    return partner


def _must_have_no_bag(partner: Partner) -> None:
    bag = partner.bags.filter(state__in=OPEN_LOADS).first()
    if bag is not None:
        raise Refused(
            "partner_busy",
            _("%(partner)s has bag %(load)d, which is not counted out.")
            % {"partner": partner.name, "load": bag.pk},
            _("Count it out or undo it first."),
        )


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
