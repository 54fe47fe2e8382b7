"""Partners who do for the shop what it can't do itself, and when they come and go."""

from __future__ import annotations

from datetime import time

from django.core.validators import MaxValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from tickets.models.revisions import Setting


class PartnerService(models.TextChoices):
    """What pieces are sent out for: the words of the care engine."""

    DRY_CLEAN = "dry_clean", _("dry cleaning")
    WET_CLEAN = "wet_clean", _("professional wet cleaning")
    LEATHER = "leather", _("leather and fur")


class Partner(Setting):
    """A workshop that takes pieces away and brings them back.

    The days are weekdays (0 is Monday) in the shop's time; an empty list means every day on which
    the shop is open. ``days_away`` counts calendar days from the day out to the day back at the
    least. A partner is never deleted, since its bags are on the record.
    """

    revision = "partners"

    name = models.CharField(_("name"), max_length=60, unique=True)
    services = models.JSONField(_("takes in"), default=list)
    collect_days = models.JSONField(_("picked up on"), default=list, blank=True)
    collect_at = models.TimeField(_("picked up at"), default=time(12))
    days_away = models.PositiveSmallIntegerField(
        _("days away at the least"), default=3, validators=[MaxValueValidator(60)]
    )
    return_days = models.JSONField(_("brought back on"), default=list, blank=True)
    return_at = models.TimeField(_("brought back by"), default=time(16))
    in_use = models.BooleanField(_("in use"), default=True)

    class Meta:
        verbose_name = _("partner")
        verbose_name_plural = _("partners")
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name
