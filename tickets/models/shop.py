from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from tickets.choices import Station
from tickets.models.revisions import Setting


class RackPlace(models.Model):
    """A numbered hanging or shelf place. One ticket may use several."""

    code = models.CharField(
        _("place"),
        max_length=8,
        unique=True,
        validators=[
            RegexValidator(r"^[A-Z0-9]+(-[A-Z0-9]+)*$", _("Use capital letters, digits and -."))
        ],
    )
    in_use = models.BooleanField(_("in use"), default=True)

    class Meta:
        verbose_name = _("rack place")
        verbose_name_plural = _("rack places")
        ordering = ["code"]

    def __str__(self) -> str:
        return self.code


class Weekday(models.IntegerChoices):
    MONDAY = 0, _("Monday")
    TUESDAY = 1, _("Tuesday")
    WEDNESDAY = 2, _("Wednesday")
    THURSDAY = 3, _("Thursday")
    FRIDAY = 4, _("Friday")
    SATURDAY = 5, _("Saturday")
    SUNDAY = 6, _("Sunday")


class OpeningHours(Setting):
    """When the shop works on a weekday, in shop time. No row means closed.

    Nobody works in the break. A ticket taken in after ``cut_off`` counts from the next working day.
    """

    revision = "hours"

    weekday = models.PositiveSmallIntegerField(_("weekday"), choices=Weekday.choices, unique=True)
    opens = models.TimeField(_("opens"))
    closes = models.TimeField(_("closes"))
    break_from = models.TimeField(_("break from"), null=True, blank=True)
    break_until = models.TimeField(_("break until"), null=True, blank=True)
    cut_off = models.TimeField(_("work of the day until"), null=True, blank=True)

    class Meta:
        verbose_name = _("opening hours")
        verbose_name_plural = _("opening hours")
        ordering = ["weekday"]
        constraints = [
            models.CheckConstraint(condition=Q(opens__lt=F("closes")), name="opens_before_closes"),
            models.CheckConstraint(
                condition=Q(break_from__isnull=True, break_until__isnull=True)
                # A comparison with NULL is no refusal, so both ends are asked for by name.
                | Q(
                    break_from__isnull=False,
                    break_until__isnull=False,
                    break_from__gt=F("opens"),
                    break_until__gt=F("break_from"),
                    break_until__lt=F("closes"),
                ),
                name="break_within_opening",
            ),
            models.CheckConstraint(
                condition=Q(cut_off__isnull=True)
                | Q(cut_off__gte=F("opens"), cut_off__lte=F("closes")),
                name="cut_off_within_opening",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_weekday_display()} {self.opens:%H:%M}–{self.closes:%H:%M}"


class ClosedDay(Setting):
    revision = "hours"

    day = models.DateField(_("day"), unique=True)
    note = models.CharField(_("note"), max_length=80, blank=True)

    class Meta:
        verbose_name = _("closed day")
        verbose_name_plural = _("closed days")
        ordering = ["day"]

    def __str__(self) -> str:
        return f"{self.day:%Y-%m-%d} {self.note}".strip()


class StationCrew(Setting):
    """How many people work at a station at once; the promise divides its queue by them.

    ``minutes_a_day``: how long each of them is there on a day (None: as long as the shop works).
    """

    revision = "crews"

    station = models.CharField(_("station"), max_length=12, choices=Station.choices, unique=True)
    people = models.DecimalField(
        _("people"),
        max_digits=4,
        decimal_places=1,
        default=1,
        validators=[MinValueValidator(0.1), MaxValueValidator(99)],
    )
    minutes_a_day = models.PositiveSmallIntegerField(
        _("minutes a day"),
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(1440)],
    )

    class Meta:
        verbose_name = _("station crew")
        verbose_name_plural = _("station crews")
        constraints = [
            models.CheckConstraint(condition=Q(people__gt=0), name="crew_above_zero"),
            models.CheckConstraint(
                condition=Q(minutes_a_day__isnull=True) | Q(minutes_a_day__gt=0),
                name="crew_minutes_above_zero",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_station_display()}: {self.people}"


class KindWeight(Setting):
    """What a kind of piece weighs in this shop, dry, in place of the trade's figure."""

    revision = "weights"

    kind = models.CharField(_("kind"), max_length=40, unique=True)
    grams = models.PositiveIntegerField(
        _("grams"), validators=[MinValueValidator(1), MaxValueValidator(60_000)]
    )

    class Meta:
        verbose_name = _("weight of a kind")
        verbose_name_plural = _("weights of kinds")
        ordering = ["kind"]
        constraints = [
            models.CheckConstraint(condition=Q(grams__gt=0), name="kind_weight_above_zero")
        ]

    def __str__(self) -> str:
        return f"{self.kind}: {self.grams} g"


class CrewDay(Setting):
    """Another number of people than usual at a station on one day: somebody is away, or helps."""

    revision = "crews"

    day = models.DateField(_("day"))
    station = models.CharField(_("station"), max_length=12, choices=Station.choices)
    people = models.DecimalField(
        _("people"),
        max_digits=4,
        decimal_places=1,
        validators=[MinValueValidator(0), MaxValueValidator(99)],
    )

    class Meta:
        verbose_name = _("day with another crew")
        verbose_name_plural = _("days with another crew")
        ordering = ["day", "station"]
        constraints = [
            models.UniqueConstraint(fields=["day", "station"], name="one_crew_a_day"),
            models.CheckConstraint(condition=Q(people__gte=0), name="crew_day_not_below_zero"),
        ]

    def __str__(self) -> str:
        return f"{self.day:%Y-%m-%d} {self.get_station_display()}: {self.people}"
