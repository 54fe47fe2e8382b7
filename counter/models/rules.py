from __future__ import annotations

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

import care_rules
from counter.models.drafts import IntakeDraft
from tickets.models import Piece
from tickets.models.revisions import Setting


class HouseRule(Setting):
    """A rule that the owner added to the tables. Never edited or deleted, only retired:
    decisions name their rules by key, and old keys must still resolve."""

    revision = "rules"

    key = models.CharField(_("key"), max_length=60, unique=True, editable=False)
    name = models.CharField(_("short name"), max_length=50)
    about = models.CharField(_("about"), max_length=80)
    limits = models.CharField(_("limits"), max_length=600, blank=True)
    level = models.CharField(_("caution"), max_length=7, blank=True)
    says = models.CharField(_("words of the caution"), max_length=300, blank=True)
    do = models.CharField(_("what to do"), max_length=300, blank=True)
    reason = models.CharField(_("reason"), max_length=300)
    added_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    added_at = models.DateTimeField()
    retired_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    retired_at = models.DateTimeField(null=True, blank=True)
    retired_reason = models.CharField(max_length=300, blank=True)

    class Meta:
        verbose_name = _("house rule")
        verbose_name_plural = _("house rules")
        ordering = ["-added_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(retired_at__isnull=True, retired_by__isnull=True)
                | models.Q(retired_at__isnull=False, retired_by__isnull=False),
                name="house_rule_retired_by_someone",
            )
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def in_force(self) -> bool:
        return self.retired_at is None

    def as_rule(self) -> care_rules.HouseRule:
        """The rule as the care engine takes it."""
        return care_rules.HouseRule(
            key=self.key,
            about=self.about,
            reason=self.reason,
            limits=self.limits,
            level=self.level,
            says=self.says,
            do=self.do,
        )


class RecordedOverride(models.Model):
    """The owner's word that the maker's finish is known, so that one rule's usual limits rise to
    the label for one piece. Never edited; a later row for the same rule takes it back.

    ``piece_mark`` is the piece's mark in its draft, ``piece`` the piece that it became.
    """

    draft = models.ForeignKey(
        IntakeDraft, null=True, on_delete=models.SET_NULL, related_name="recorded_overrides"
    )
    piece_mark = models.CharField(max_length=40, blank=True)
    piece = models.ForeignKey(
        Piece, null=True, on_delete=models.PROTECT, related_name="recorded_overrides"
    )
    rule = models.CharField(_("rule"), max_length=80)
    says = models.CharField(max_length=300)
    seal = models.CharField(max_length=64)
    lifted = models.BooleanField(default=True)
    reason = models.CharField(_("reason"), max_length=300)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        verbose_name = _("recorded override")
        verbose_name_plural = _("recorded overrides")
        ordering = ["at", "pk"]
        indexes = [models.Index(fields=["draft", "piece_mark"], name="override_of_draft_piece")]

    def __str__(self) -> str:
        return f"{self.rule}: {self.by}"
