from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from tickets.models import Customer, Ticket


class IntakeDraft(models.Model):
    """An intake under way. Its key is the one-time key of the ticket it becomes.

    ``pieces`` is a list of objects: ``facts`` (care contract), ``inspection``, ``description``,
    ``set_mark``, ``weight_g``, ``photo`` (stored name) and ``accepted`` (caution key -> name).
    """

    key = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="drafts")
    pieces = models.JSONField(default=list)
    rush = models.BooleanField(_("rush"), default=False)
    note = models.CharField(_("note"), max_length=500, blank=True)
    started_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    started_at = models.DateTimeField(auto_now_add=True)
    changed_at = models.DateTimeField(auto_now=True)
    ticket = models.OneToOneField(
        Ticket, null=True, blank=True, on_delete=models.PROTECT, related_name="draft"
    )

    class Meta:
        verbose_name = _("intake under way")
        verbose_name_plural = _("intakes under way")
        ordering = ["-changed_at"]

    def __str__(self) -> str:
        return str(self.key)
