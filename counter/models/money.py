from __future__ import annotations

from decimal import Decimal

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from tickets.models import Piece, Ticket
from tickets.models.revisions import Setting


class PriceItem(Setting):
    """Price of a service for a kind of piece, or of one alteration operation.

    ``kind`` empty means "any kind without a row of its own"; for the service ``alter`` or ``mend``
    the ``work`` key names the operation.
    """

    revision = "prices"

    class Service(models.TextChoices):
        CLEAN = "clean", _("Clean")
        PRESS = "press", _("Press only")
        MEND = "mend", _("Mend")
        ALTER = "alter", _("Alter")

    service = models.CharField(_("service"), max_length=8, choices=Service.choices)
    kind = models.CharField(_("kind"), max_length=40, blank=True)
    work = models.CharField(_("operation"), max_length=40, blank=True)
    amount = models.DecimalField(
        _("price"), max_digits=8, decimal_places=2, validators=[MinValueValidator(Decimal(0))]
    )

    class Meta:
        verbose_name = _("price")
        verbose_name_plural = _("prices")
        ordering = ["service", "kind", "work"]
        constraints = [
            models.UniqueConstraint(fields=["service", "kind", "work"], name="price_once"),
            models.CheckConstraint(condition=Q(amount__gte=0), name="price_not_negative"),
        ]

    def __str__(self) -> str:
        return f"{self.get_service_display()} {self.kind or self.work}: {self.amount}"


class TicketLine(models.Model):
    """One priced line of a ticket, locked at intake."""

    ticket = models.ForeignKey(Ticket, on_delete=models.PROTECT, related_name="lines")
    piece = models.ForeignKey(
        Piece, null=True, blank=True, on_delete=models.PROTECT, related_name="lines"
    )
    text = models.CharField(max_length=120)
    amount = models.DecimalField(max_digits=9, decimal_places=2)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.text} {self.amount}"


class Payment(models.Model):
    """Money taken or given back. The card itself is never seen here: the terminal is separate."""

    class Means(models.TextChoices):
        CASH = "cash", _("Cash")
        CARD = "card", _("Card terminal")

    class Kind(models.TextChoices):
        DEPOSIT = "deposit", _("Deposit")
        PAYMENT = "payment", _("Payment")
        REFUND = "refund", _("Refund")

    ticket = models.ForeignKey(Ticket, on_delete=models.PROTECT, related_name="payments")
    kind = models.CharField(max_length=8, choices=Kind.choices)
    means = models.CharField(max_length=4, choices=Means.choices)
    amount = models.DecimalField(max_digits=9, decimal_places=2, help_text=_("always above zero"))
    reason = models.CharField(max_length=200, blank=True)
    at = models.DateTimeField()
    business_day = models.DateField(db_index=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    client_key = models.CharField(max_length=64, unique=True)

    class Meta:
        verbose_name = _("payment")
        verbose_name_plural = _("payments")
        ordering = ["at", "pk"]
        constraints = [models.CheckConstraint(condition=Q(amount__gt=0), name="payment_above_zero")]
        indexes = [models.Index(fields=["at"], name="payment_at")]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.amount}"

    @property
    def signed(self) -> Decimal:
        return -self.amount if self.kind == self.Kind.REFUND else self.amount
