"""Machines, their programmes, and the loads that run in them."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from tickets.choices import Station
from tickets.models.partners import Partner
from tickets.models.revisions import Setting
from tickets.models.tickets import Piece


class MachineKind(models.TextChoices):
    WASHER = "washer", _("Washer")
    HAND_SINK = "hand_sink", _("Hand sink")
    WET_CLEANER = "wet_cleaner", _("Wet-cleaning machine")
    SOLVENT_P = "solvent_p", _("Solvent machine, P")
    SOLVENT_F = "solvent_f", _("Solvent machine, F")
    DRYER = "dryer", _("Dryer")
    IRONER = "ironer", _("Ironer")
    PRESS = "press", _("Press")
    RAIL = "rail", _("Drying rail")
    FLAT = "flat", _("Flat drying place")


ONE_PERSON = (MachineKind.IRONER, MachineKind.PRESS)
"""Kinds that one person works at: they have no drum, no programmes and no loads."""

DRYING_PLACES = (MachineKind.RAIL, MachineKind.FLAT)
"""Kinds on which pieces hang or lie until they are dry, ``most_pieces`` at once."""

NO_DRUM = (*ONE_PERSON, *DRYING_PLACES)


class ActionGrade(models.TextChoices):
    NORMAL = "normal", _("normal")
    MILD = "mild", _("mild")
    VERY_MILD = "very_mild", _("very mild")


class SpinGrade(models.TextChoices):
    NORMAL = "normal", _("normal")
    REDUCED = "reduced", _("reduced")
    NONE = "none", _("none")


class TumbleGrade(models.TextChoices):
    NORMAL = "normal", _("normal heat")
    LOW = "low", _("low heat")
    NO_HEAT = "no_heat", _("no heat")


class Machine(Setting):
    """A drum, sink, ironer, press or drying place.

    ``litres`` is the volume of its drum or basin (0: none). ``programmes`` are those of its kind
    that it can run; none named means all of them.
    """

    revision = "machines"

    name = models.CharField(_("name"), max_length=40, unique=True)
    kind = models.CharField(_("kind"), max_length=12, choices=MachineKind.choices)
    litres = models.DecimalField(
        _("drum litres"),
        max_digits=6,
        decimal_places=1,
        default=0,
        validators=[MinValueValidator(0), MaxValueValidator(5000)],
    )
    spin_g = models.PositiveSmallIntegerField(
        _("spin G"), default=0, validators=[MaxValueValidator(1000)]
    )
    turnaround = models.PositiveSmallIntegerField(
        _("minutes to empty and fill"), default=10, validators=[MaxValueValidator(240)]
    )
    most_pieces = models.PositiveSmallIntegerField(
        _("most pieces at once"), default=0, help_text=_("0: as many as fit.")
    )
    heat_pump = models.BooleanField(_("heat-pump or condenser dryer"), default=False)
    gas = models.BooleanField(_("heated by gas"), default=False)
    programmes: models.ManyToManyField[Programme, Any] = models.ManyToManyField(
        "Programme", verbose_name=_("runs only"), blank=True, related_name="+"
    )
    in_use = models.BooleanField(_("in use"), default=True)

    class Meta:
        verbose_name = _("machine")
        verbose_name_plural = _("machines")
        ordering = ["kind", "name"]
        constraints = [
            models.CheckConstraint(
                condition=Q(litres__gt=0) | Q(kind__in=NO_DRUM),
                name="machine_litres_above_zero",
            ),
            models.CheckConstraint(
                condition=Q(most_pieces__gt=0) | ~Q(kind__in=DRYING_PLACES),
                name="drying_place_holds_a_piece",
            ),
            models.CheckConstraint(
                condition=Q(kind__in=MachineKind.values), name="machine_kind_known"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Programme(Setting):
    """One way in which machines of a kind can run. Dryers read ``tumble``, all others ``max_c``."""

    revision = "machines"

    kind = models.CharField(_("kind of machine"), max_length=12, choices=MachineKind.choices)
    key = models.SlugField(_("key"), max_length=40)
    name = models.CharField(_("name"), max_length=40)
    max_c = models.PositiveSmallIntegerField(
        _("water °C"), default=0, validators=[MaxValueValidator(95)]
    )
    tumble = models.CharField(
        _("dryer heat"), max_length=8, choices=TumbleGrade.choices, default=TumbleGrade.NO_HEAT
    )
    action = models.CharField(
        _("action"), max_length=10, choices=ActionGrade.choices, default=ActionGrade.NORMAL
    )
    spin = models.CharField(
        _("spin"), max_length=8, choices=SpinGrade.choices, default=SpinGrade.NORMAL
    )
    minutes = models.PositiveSmallIntegerField(
        _("minutes"), validators=[MinValueValidator(1), MaxValueValidator(600)]
    )
    litres_per_kg = models.DecimalField(
        _("litres of drum for each kg"),
        max_digits=4,
        decimal_places=1,
        validators=[MinValueValidator(5), MaxValueValidator(60)],
    )
    in_use = models.BooleanField(_("in use"), default=True)

    class Meta:
        verbose_name = _("programme")
        verbose_name_plural = _("programmes")
        ordering = ["kind", "-max_c", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["kind", "key"], name="programme_key_once"),
            models.CheckConstraint(condition=Q(minutes__gt=0), name="programme_takes_time"),
        ]

    def __str__(self) -> str:
        return self.name


class LoadState(models.TextChoices):
    FILLING = "filling", _("Being filled")
    CLOSED = "closed", _("Closed")
    RUNNING = "running", _("Running")
    FINISHED = "finished", _("Run is over")
    EMPTIED = "emptied", _("Emptied")
    UNDONE = "undone", _("Undone")


IN_MACHINE = (LoadState.RUNNING, LoadState.FINISHED)
OPEN_LOADS = (LoadState.FILLING, LoadState.CLOSED, *IN_MACHINE)


class Load(models.Model):
    """Pieces that run together in a machine, or go out together in a partner's bag.

    Only ``tickets.loads.services`` writes it. A bag runs while it is gone and is finished when it
    is back; it has no programme. ``programme`` follows the pieces until the load is closed. The
    figures are estimates made with the planner's sums at the last change. A machine is free when
    no load of it is running or finished: a finished load is emptied when every piece counted in
    was counted out.
    """

    machine = models.ForeignKey(
        Machine, null=True, blank=True, on_delete=models.PROTECT, related_name="loads"
    )
    partner = models.ForeignKey(
        Partner, null=True, blank=True, on_delete=models.PROTECT, related_name="bags"
    )
    programme = models.ForeignKey(
        Programme, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    station = models.CharField(max_length=12, choices=Station.choices)
    state = models.CharField(max_length=10, choices=LoadState.choices, default=LoadState.FILLING)
    grams = models.PositiveIntegerField(_("dry grams"), default=0)
    fill_percent = models.PositiveSmallIntegerField(_("fill in percent"), default=0)
    minutes = models.PositiveSmallIntegerField(_("minutes"), default=0)
    water_litres = models.DecimalField(max_digits=7, decimal_places=1, default=0)
    energy_kwh = models.DecimalField(max_digits=6, decimal_places=2, default=0)
    opened_at = models.DateTimeField()
    started_at = models.DateTimeField(null=True, blank=True)
    ends_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    emptied_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        verbose_name = _("load")
        verbose_name_plural = _("loads")
        ordering = ["-pk"]
        indexes = [models.Index(fields=["station", "state"], name="load_station_state")]
        constraints = [
            models.UniqueConstraint(
                fields=["machine"], condition=Q(state__in=IN_MACHINE), name="one_run_in_a_machine"
            ),
            models.CheckConstraint(
                condition=Q(state__in=LoadState.values), name="load_state_known"
            ),
            models.CheckConstraint(
                condition=Q(machine__isnull=False, partner__isnull=True)
                | Q(machine__isnull=True, partner__isnull=False),
                name="load_in_a_machine_or_a_bag",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.pk} {self.holder} {self.state}"

    @property
    def is_bag(self) -> bool:
        return self.partner_id is not None

    @property
    def holder(self) -> Machine | Partner:
        """The machine it runs in, or the partner its bag goes to."""
        holder = self.machine or self.partner
        assert holder is not None  # the table holds exactly one
        return holder


class LeftHow(models.TextChoices):
    TAKEN_OFF = "off", _("taken off")
    COUNTED_OUT = "out", _("counted out")
    NEVER_IN = "never_in", _("was not in the drum")


class LoadPiece(models.Model):
    """A piece counted into a load; ``left_at`` is empty while it belongs to the load."""

    load = models.ForeignKey(Load, on_delete=models.CASCADE, related_name="contents")
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="in_loads")
    in_at = models.DateTimeField()
    left_at = models.DateTimeField(null=True, blank=True)
    how = models.CharField(max_length=10, choices=LeftHow.choices, blank=True)

    class Meta:
        verbose_name = _("piece of a load")
        verbose_name_plural = _("pieces of loads")
        ordering = ["load_id", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["piece"], condition=Q(left_at__isnull=True), name="piece_in_one_load"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.load_id}/{self.piece_id}"


class LoadEventKind(models.TextChoices):
    OPENED = "opened", _("Opened")
    ADDED = "added", _("Counted in")
    TAKEN_OFF = "off", _("Taken off")
    CLOSED = "closed", _("Closed")
    STARTED = "started", _("Started")
    FINISHED = "finished", _("Run is over")
    COUNTED_OUT = "out", _("Counted out")
    NEVER_IN = "never_in", _("Was not in the drum")
    UNDONE = "undone", _("One step undone")


class LoadEvent(models.Model):
    """One thing done to a load, by whom and when. Rows are only ever added."""

    load = models.ForeignKey(Load, on_delete=models.CASCADE, related_name="events")
    kind = models.CharField(max_length=10, choices=LoadEventKind.choices)
    piece = models.ForeignKey(
        Piece, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    device = models.CharField(max_length=60, blank=True)
    client_key = models.CharField(max_length=64, null=True, blank=True, unique=True)

    class Meta:
        verbose_name = _("event of a load")
        verbose_name_plural = _("events of loads")
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.load_id} {self.kind}"
