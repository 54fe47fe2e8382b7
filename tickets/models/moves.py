from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from tickets.choices import MoveKind, Paper, PieceState, Station
from tickets.models.tickets import Piece, Ticket


class Move(models.Model):
    """One thing that happened to one piece. Rows are only ever added.

    ``number`` counts from 1 for each piece without a gap, so the present state of a piece can
    be rebuilt by reading its moves in order (``manage.py check_moves``).
    """

    # Read by piece and number, by day and by key alone; a further index would cost each move.
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="moves", db_index=False)
    number = models.PositiveIntegerField()
    kind = models.CharField(max_length=20, choices=MoveKind.choices)
    from_state = models.CharField(max_length=10, choices=PieceState.choices, blank=True)
    to_state = models.CharField(max_length=10, choices=PieceState.choices)
    from_station = models.CharField(max_length=12, choices=Station.choices, blank=True)
    to_station = models.CharField(max_length=12, choices=Station.choices)
    rack_place = models.CharField(max_length=8, blank=True)
    steps = models.JSONField(default=list, help_text=_("orders of the steps done or reopened"))
    reason = models.CharField(max_length=300, blank=True)
    at = models.DateTimeField()
    business_day = models.DateField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+", db_index=False
    )
    device = models.CharField(max_length=60, blank=True)
    client_key = models.CharField(max_length=64, null=True, blank=True)
    key_part = models.PositiveBigIntegerField(
        default=0, help_text=_("0, or the number of the piece where one key moves several")
    )

    class Meta:
        verbose_name = _("move")
        verbose_name_plural = _("moves")
        ordering = ["piece_id", "number"]
        indexes = [
            models.Index(fields=["business_day", "kind", "from_station"], name="move_day"),
        ]
        constraints = [
            models.UniqueConstraint(fields=["piece", "number"], name="move_number_once"),
            models.UniqueConstraint(fields=["client_key", "key_part"], name="move_key_once"),
        ]

    def __str__(self) -> str:
        return f"{self.piece_id}/{self.number} {self.kind}"


class Hold(models.Model):
    """A stop with a reason, a person who owns it and a day to ask again."""

    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="holds")
    reason = models.CharField(_("reason"), max_length=300)
    owner = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        related_name="owned_holds",
        verbose_name=_("owner"),
    )
    ask_again_on = models.DateField(_("ask again on"))
    opened_at = models.DateTimeField()
    opened_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    outcome = models.CharField(max_length=300, blank=True)

    class Meta:
        verbose_name = _("hold")
        verbose_name_plural = _("holds")
        ordering = ["ask_again_on", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["piece"], condition=Q(ended_at__isnull=True), name="one_open_hold"
            )
        ]
        indexes = [
            models.Index(
                fields=["ask_again_on"], condition=Q(ended_at__isnull=True), name="hold_still_open"
            )
        ]

    def __str__(self) -> str:
        return self.reason


class Acceptance(models.Model):
    """A caution that a named person accepted before the ticket opened. Never edited."""

    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="acceptances")
    caution = models.CharField(max_length=80)
    says = models.CharField(max_length=600)
    accepted_by = models.CharField(_("accepted by"), max_length=120)
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    at = models.DateTimeField()

    class Meta:
        verbose_name = _("acceptance")
        verbose_name_plural = _("acceptances")
        ordering = ["piece_id", "caution"]
        constraints = [
            models.UniqueConstraint(fields=["piece", "caution"], name="caution_accepted_once")
        ]

    def __str__(self) -> str:
        return f"{self.caution}: {self.accepted_by}"


class PaperPrint(models.Model):
    """Log of every paper printed; the second one of a kind is a reprint."""

    ticket = models.ForeignKey(Ticket, on_delete=models.PROTECT, related_name="prints")
    paper = models.CharField(max_length=12, choices=Paper.choices)
    size = models.CharField(max_length=20)
    copy = models.PositiveIntegerField()
    at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        verbose_name = _("printed paper")
        verbose_name_plural = _("printed papers")
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"{self.ticket_id} {self.paper} {self.copy}"
