from __future__ import annotations

from django.conf import settings
from django.contrib.auth.hashers import check_password, make_password
from django.core.exceptions import ValidationError
from django.core.validators import MinValueValidator, RegexValidator
from django.db import models
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from care_rules import JsonObject
from counter.models.paper_sizes import PaperSize
from tickets.models.revisions import Setting
from tickets.printing.sizes import TAG_SIZES
from tickets.shop.face import Prices
from tickets.shop.queries import sent_out_for


def tag_size_choices() -> list[tuple[str, str | Promise]]:
    return [(key, size.title) for key, size in TAG_SIZES.items()]


class Solvent(models.TextChoices):
    P = "P", _("P: perchloroethylene and what F allows")
    F = "F", _("F: hydrocarbon")


class Shop(Setting):
    """The shop's own choices: one row, made on first use."""

    revision = "shop"

    name = models.CharField(_("shop name"), max_length=80, default="Garment Counter")
    address = models.TextField(_("address"), max_length=300, blank=True)
    phone = models.CharField(_("phone"), max_length=40, blank=True)
    country = models.CharField(
        _("country"),
        max_length=2,
        default="GB",
        validators=[RegexValidator(r"^[A-Z]{2}$", _("Use the two-letter country code."))],
        help_text=_("two letters; for phone numbers without a country code"),
    )
    currency = models.CharField(
        _("currency"),
        max_length=3,
        default="GBP",
        validators=[RegexValidator(r"^[A-Z]{3}$", _("Use the three-letter currency code."))],
    )
    currency_sign = models.CharField(_("currency sign"), max_length=4, default="£")
    fahrenheit = models.BooleanField(_("show Fahrenheit beside Celsius"), default=False)
    tag_size = models.CharField(_("tag size"), max_length=20, default="roll-62")
    tag_dpi = models.PositiveSmallIntegerField(
        _("label printer dots per inch"), choices=[(203, "203"), (300, "300")], default=203
    )
    slip_paper = models.CharField(
        _("claim slip and receipt paper"),
        max_length=10,
        choices=PaperSize.choices,
        default=PaperSize.A5,
    )
    slip_footer = models.TextField(
        _("words at the foot of the claim slip"), max_length=600, blank=True
    )
    wet_cleaning = models.BooleanField(_("wet cleaning in house"), default=False)
    dry_cleaning = models.JSONField(_("solvents in house"), default=list, blank=True)
    rush_percent = models.PositiveSmallIntegerField(_("rush surcharge in percent"), default=50)
    minimum_charge = models.DecimalField(
        _("minimum charge of a ticket"), max_digits=8, decimal_places=2, default=0
    )
    water_price = models.DecimalField(
        _("price of a cubic metre of water"),
        max_digits=8,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(0)],
        help_text=_("with the charge for waste water"),
    )
    power_price = models.DecimalField(
        _("price of a kWh of electricity"),
        max_digits=8,
        decimal_places=4,
        null=True,
        blank=True,
        validators=[MinValueValidator(0)],
    )
    gas_price = models.DecimalField(
        _("price of a kWh of gas"),
        max_digits=8,
        decimal_places=4,
        null=True,
        blank=True,
        validators=[MinValueValidator(0)],
        help_text=_("only where a machine is heated by gas"),
    )
    holidays_of = models.CharField(
        _("public holidays of"),
        max_length=12,
        blank=True,
        editable=False,
        help_text=_("country, and region after a hyphen"),
    )
    is_demo = models.BooleanField(default=False, editable=False)

    class Meta:
        verbose_name = _("shop")
        verbose_name_plural = _("shop")
        constraints = [models.CheckConstraint(condition=models.Q(pk=1), name="one_shop")]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        if self.tag_size not in TAG_SIZES:
            raise ValidationError(
                {"tag_size": _("Choose one of: %(sizes)s.") % {"sizes": ", ".join(TAG_SIZES)}}
            )

    @classmethod
    def current(cls) -> Shop:
        return cls.objects.filter(pk=1).first() or cls(pk=1)

    @property
    def running_costs(self) -> Prices | None:
        """Prices of water and energy; None until both water and electricity are told."""
        if self.water_price is None or self.power_price is None:
            return None
        return Prices(self.water_price, self.power_price, self.gas_price)

    @property
    def abilities(self) -> JsonObject:
        """The ``shop`` part of the care contract."""
        return {
            "wet_cleaning": self.wet_cleaning,
            "dry_cleaning": list(self.dry_cleaning),
            "send_out": sent_out_for(),
        }


class StaffProfile(models.Model):
    """What a shared tablet needs of a person: the PIN that says who is moving pieces now."""

    user = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="staff_profile"
    )
    pin_hash = models.CharField(max_length=200, blank=True, editable=False)
    failed_pins = models.PositiveSmallIntegerField(default=0, editable=False)
    locked_until = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        verbose_name = _("staff profile")
        verbose_name_plural = _("staff profiles")

    def __str__(self) -> str:
        return str(self.user)

    def set_pin(self, pin: str) -> None:
        """Keep a PIN of four to eight digits as a hash. ``ValidationError`` for anything else."""
        if not (pin.isascii() and pin.isdigit() and 4 <= len(pin) <= 8):
            raise ValidationError(_("A PIN has four to eight digits."))
        self.pin_hash = make_password(pin)

    def pin_is(self, pin: str) -> bool:
        return bool(self.pin_hash) and check_password(pin, self.pin_hash)
