from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from tickets.models import Piece, Ticket


class Pickup(models.Model):
    """One hand-over: first the pieces scanned out, then who took them and how that was proved."""

    class Proof(models.TextChoices):
        SLIP = "slip", _("Claim slip")
        PHONE = "phone", _("Phone and name")
        KNOWN = "known", _("Known to staff")
        DOCUMENT = "document", _("Document shown")

    ticket = models.ForeignKey(Ticket, on_delete=models.PROTECT, related_name="pickups")
    started_at = models.DateTimeField()
    started_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    collector = models.CharField(_("collected by"), max_length=120, blank=True)
    proof = models.CharField(_("proof"), max_length=8, choices=Proof.choices, blank=True)
    part = models.BooleanField(_("part pickup"), default=False)
    owed_reason = models.CharField(_("why the balance stays open"), max_length=200, blank=True)
    done_at = models.DateTimeField(null=True, blank=True)
    done_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        verbose_name = _("pickup")
        verbose_name_plural = _("pickups")
        ordering = ["-started_at"]
        constraints = [
            models.UniqueConstraint(
                fields=["ticket"], condition=Q(done_at__isnull=True), name="one_open_pickup"
            )
        ]
        indexes = [
            models.Index(
                fields=["-started_at"], condition=Q(done_at__isnull=True), name="pickup_under_way"
            )
        ]

    def __str__(self) -> str:
        return f"{self.ticket_id} {self.collector}"


class PickupPiece(models.Model):
    """A piece scanned out at the counter for a pickup."""

    pickup = models.ForeignKey(Pickup, on_delete=models.CASCADE, related_name="scanned")
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["at", "pk"]
        constraints = [models.UniqueConstraint(fields=["pickup", "piece"], name="scanned_out_once")]

    def __str__(self) -> str:
        return str(self.piece_id)


class Notice(models.Model):
    """A message to a customer, waiting in the outbox or sent. Never for a part of a ticket."""

    class Kind(models.TextChoices):
        READY = "ready", _("Ready to collect")

    class State(models.TextChoices):
        WAITING = "waiting", _("Waiting to be sent")
        SENT = "sent", _("Sent")
        FAILED = "failed", _("Not sent")
        TO_CALL = "to_call", _("To be called")
        CALLED = "called", _("Told by phone")

    ticket = models.ForeignKey(Ticket, on_delete=models.PROTECT, related_name="notices")
    kind = models.CharField(max_length=8, choices=Kind.choices)
    address = models.CharField(max_length=254)
    subject = models.CharField(max_length=160)
    body = models.TextField()
    state = models.CharField(max_length=8, choices=State.choices, default=State.WAITING)
    fault = models.CharField(max_length=300, blank=True)
    created_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        verbose_name = _("message")
        verbose_name_plural = _("messages")
        ordering = ["created_at", "pk"]
        indexes = [
            models.Index(
                fields=["sent_at"],
                condition=models.Q(sent_at__isnull=False),
                name="notice_sent",
            )
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.ticket_id}"
