from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from care_rules import Decision, Facts, read_decision, read_facts
from tickets import numbers
from tickets.choices import CLOSED_STATES, PieceState, Station
from tickets.models.customers import Customer
from tickets.models.shop import RackPlace

STAFF = settings.AUTH_USER_MODEL


class Ticket(models.Model):
    """One customer's visit.

    ``ready_at`` is set when every open piece is racked, ``closed_at`` when none is left in the
    shop. Both are kept by ``tickets.tracking`` in the transaction that moves the last piece.
    ``owed_minor`` is kept by ``counter.money`` in the transaction that charges or pays.
    """

    number = models.PositiveIntegerField(_("number"), unique=True)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="tickets")
    opened_at = models.DateTimeField(_("opened"), db_index=True)
    opened_by = models.ForeignKey(STAFF, on_delete=models.PROTECT, related_name="+")
    business_day = models.DateField(db_index=True, help_text=_("the shop's day it was opened"))
    promised_at = models.DateTimeField(_("promised"), db_index=True)
    promise_day = models.DateField(db_index=True)
    promise_reason = models.CharField(
        max_length=200, blank=True, help_text=_("why it was promised earlier than reckoned")
    )
    promise_basis = models.CharField(
        max_length=300, blank=True, help_text=_("what the reckoned promise hung on, in words")
    )
    ready_at = models.DateTimeField(_("ready"), null=True, blank=True)
    closed_at = models.DateTimeField(_("closed"), null=True, blank=True, db_index=True)
    rush = models.BooleanField(_("rush"), default=False)
    note = models.CharField(_("note"), max_length=500, blank=True)
    client_key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    owed_minor = models.BigIntegerField(
        _("owed"),
        default=0,
        editable=False,
        help_text=_("in hundredths of the shop's currency; below zero, money has to go back"),
    )

    class Meta:
        verbose_name = _("ticket")
        verbose_name_plural = _("tickets")
        ordering = ["-number"]
        constraints = [
            models.CheckConstraint(
                condition=Q(number__gte=numbers.FIRST_TICKET, number__lt=9_900_000),
                name="ticket_number_range",
            ),
        ]
        indexes = [
            models.Index(fields=["ready_at", "number"], name="ticket_by_ready"),
            models.Index(
                fields=["ready_at", "number"],
                condition=Q(owed_minor__gt=0),
                name="ticket_that_owes",
            ),
            models.Index(
                fields=["promised_at"], condition=Q(closed_at__isnull=True), name="ticket_in_shop"
            ),
            models.Index(
                fields=["ready_at", "number"],
                condition=Q(closed_at__isnull=True, ready_at__isnull=False),
                name="ticket_to_collect",
            ),
        ]

    def __str__(self) -> str:
        return str(self.number)

    @property
    def is_open(self) -> bool:
        return self.closed_at is None


class Piece(models.Model):
    """One tagged article: what was told at intake, what was decided, and where it is now.

    ``facts`` and ``decision`` are the JSON of the care contract. ``station`` is where the next
    thing happens to the piece. Only ``tickets.tracking`` writes the fields below ``state``.
    """

    ticket = models.ForeignKey(
        Ticket, on_delete=models.PROTECT, related_name="pieces", db_index=False
    )
    position = models.PositiveSmallIntegerField(_("position"))
    code = models.CharField(_("number"), max_length=10, unique=True)
    kind = models.CharField(_("kind"), max_length=40)
    description = models.CharField(_("description"), max_length=120, blank=True)
    set_mark = models.CharField(_("set mark"), max_length=2, blank=True)
    facts = models.JSONField()
    inspection = models.JSONField(default=dict)
    decision = models.JSONField()
    tables_version = models.CharField(max_length=40)
    services = models.JSONField(default=list)
    weight_g = models.PositiveIntegerField(_("weight in grams"), default=0)
    photo = models.ImageField(_("photo"), upload_to="pieces/%Y/%m/", blank=True)
    promised_at = models.DateTimeField()
    redo_of = models.ForeignKey(
        "self",
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="redone_as",
        db_index=False,
    )
    earlier = models.OneToOneField(
        "self",
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="later",
        verbose_name=_("came before as"),
        help_text=_("the same garment at its visit before"),
    )
    washes_before = models.PositiveSmallIntegerField(
        _("washed elsewhere before"),
        null=True,
        blank=True,
        help_text=_("washes before this visit and, where it came before, since then, as told"),
    )
    washes_allowed = models.PositiveSmallIntegerField(
        _("washes its label certifies"), null=True, blank=True
    )

    state = models.CharField(max_length=10, choices=PieceState.choices, default=PieceState.WAITING)
    station = models.CharField(max_length=12, choices=Station.choices, default=Station.INTAKE)
    since = models.DateTimeField(help_text=_("when it came to this station or state"))
    rack_place = models.ForeignKey(
        RackPlace, null=True, blank=True, on_delete=models.PROTECT, related_name="pieces"
    )
    redo_count = models.PositiveSmallIntegerField(default=0)
    move_count = models.PositiveIntegerField(default=0)

    class Meta:
        verbose_name = _("piece")
        verbose_name_plural = _("pieces")
        ordering = ["ticket_id", "position"]
        indexes = [
            models.Index(fields=["station", "state", "promised_at"], name="piece_board"),
            models.Index(fields=["promised_at", "id"], name="piece_by_promise"),
            models.Index(fields=["state", "promised_at", "id"], name="piece_by_state"),
            models.Index(fields=["since", "id"], name="piece_since"),
            models.Index(
                fields=["redo_of"], condition=Q(redo_of__isnull=False), name="piece_redone"
            ),
        ]
        constraints = [
            models.UniqueConstraint(fields=["ticket", "position"], name="piece_position_once"),
            models.CheckConstraint(
                condition=Q(position__gte=1, position__lte=99), name="piece_position_1_to_99"
            ),
            models.CheckConstraint(
                condition=Q(state__in=PieceState.values), name="piece_state_known"
            ),
            models.CheckConstraint(
                condition=Q(station__in=Station.values), name="piece_station_known"
            ),
            models.CheckConstraint(
                condition=~Q(state=PieceState.READY) | Q(rack_place__isnull=False),
                name="ready_piece_has_a_place",
            ),
            models.CheckConstraint(
                condition=Q(earlier__isnull=True) | Q(earlier__lt=F("id")),
                name="earlier_piece_is_earlier",
            ),
            models.CheckConstraint(
                condition=Q(washes_allowed__isnull=True) | Q(washes_allowed__gt=0),
                name="washes_allowed_above_zero",
            ),
        ]

    def __str__(self) -> str:
        return self.spoken

    @property
    def spoken(self) -> str:
        """The number as people say it, for example 1004821-07."""
        return numbers.spoken(self.code)

    @property
    def is_open(self) -> bool:
        return self.state not in CLOSED_STATES

    @property
    def care_decision(self) -> Decision:
        """``decision`` in its types, read once for each value that the field holds."""
        kept: tuple[object, Decision] | None = self.__dict__.get("_care_decision")
        if kept is None or kept[0] is not self.decision:
            kept = self.__dict__["_care_decision"] = (self.decision, read_decision(self.decision))
        return kept[1]

    @property
    def care_facts(self) -> Facts:
        """``facts`` in their types."""
        return read_facts(self.facts)


class RouteStep(models.Model):
    """One ordered step of a piece's route, as decided, with the rules that asked for it."""

    piece = models.ForeignKey(Piece, on_delete=models.CASCADE, related_name="steps", db_index=False)
    order = models.PositiveSmallIntegerField()
    step = models.CharField(max_length=20)
    station = models.CharField(max_length=12, choices=Station.choices)
    settings = models.JSONField(default=dict)
    says = models.CharField(max_length=600)
    because = models.JSONField(default=list)
    minutes = models.DecimalField(max_digits=6, decimal_places=1, default=0)
    done_at = models.DateTimeField(null=True, blank=True)
    done_by = models.ForeignKey(
        STAFF, null=True, blank=True, on_delete=models.PROTECT, related_name="+", db_index=False
    )

    class Meta:
        verbose_name = _("step")
        verbose_name_plural = _("steps")
        ordering = ["piece_id", "order"]
        constraints = [
            models.UniqueConstraint(fields=["piece", "order"], name="step_order_once"),
        ]
        indexes = [
            models.Index(
                fields=["station"], condition=Q(done_at__isnull=True), name="step_still_open"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.order} {self.step}"
