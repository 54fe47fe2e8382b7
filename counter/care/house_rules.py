"""The house's own rules: the key of one, and what a text of one may hold."""

from __future__ import annotations

import re
import unicodedata

from django.db import models
from django.utils.translation import gettext as _

from counter.models import HouseRule
from tickets.errors import Refused


def key_of(name: str) -> str:
    """The key of a rule's short name: ``No wool in dryers`` becomes ``house.no-wool-in-dryers``."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().casefold()
    return "house." + "-".join(re.findall("[a-z0-9]+", plain))


def must_fit(fields: dict[str, str]) -> None:
    """Refuse a text that is longer than its column, by the column's name."""
    for name, text in fields.items():
        column = HouseRule._meta.get_field(name)
        assert isinstance(column, models.CharField)
        most = column.max_length or 0
        if len(text) > most:
            raise Refused(
                "too_long",
                _("House rule, %(field)s: “%(start)s…” has %(count)d characters.")
                % {"field": column.verbose_name, "start": text[:20], "count": len(text)},
                _("At most %(most)d fit.") % {"most": most},
            )
