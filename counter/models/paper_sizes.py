"""Papers the counter prints slips and receipts on."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class PaperSize(models.TextChoices):
    A4 = "a4", _("A4 sheet")
    A5 = "a5", _("A5 sheet")
    LETTER = "letter", _("Letter sheet")
    ROLL_80 = "roll-80", _("80 mm roll")
