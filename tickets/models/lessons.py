"""What was learned from finished work, kept so that nobody has to wait for it."""

from __future__ import annotations

from django.db import models
from django.db.models import Q


class LearnedMargin(models.Model):
    """The margin of the shop's promises: one row, written by ``tickets.promise.services`` alone.

    ``basis`` names the day and the settings that it was learned for. ``begun_at`` stands while
    somebody is learning, so that no other process does the same. ``lines``: kind of way ->
    fixed minutes, share, usual minutes (null: no limit).
    """

    basis = models.CharField(max_length=120, blank=True)
    begun_at = models.DateTimeField(null=True, blank=True)
    learned_at = models.DateTimeField(null=True, blank=True)
    lines = models.JSONField(default=dict)
    tickets = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(pk=1), name="one_learned_margin")]

    def __str__(self) -> str:
        return self.basis
