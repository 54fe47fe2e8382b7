"""The doors of the house rules: add one, retire one, list them. Only ever stricter."""

from __future__ import annotations

import re
import unicodedata

from django.db import IntegrityError, models, transaction
from django.utils.translation import gettext as _

import care_rules
from counter.models import HouseRule
from tickets import house_book
from tickets.acting import Act
from tickets.errors import Kind, Refused
from tickets.house_book import read_anew
from tickets.writing import atomic_write


def rules_in_force() -> tuple[care_rules.HouseRule, ...]:
    """The rules that bind now, oldest first. One query."""
    rows = HouseRule.objects.filter(retired_at__isnull=True).order_by("pk")
    return tuple(row.as_rule() for row in rows)


def ever() -> tuple[care_rules.HouseRule, ...]:
    """Every rule there ever was, so that a stored decision still speaks."""
    return tuple(row.as_rule() for row in HouseRule.objects.order_by("pk"))


def connect() -> None:
    """Hand the rules to the floor below. Called when the project starts."""
    house_book.register(house_book.HouseBook(rules_in_force, ever))


def key_of(name: str) -> str:
    """The key of a rule's short name: ``No wool in dryers`` becomes ``house.no-wool-in-dryers``."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().casefold()
    return "house." + "-".join(re.findall("[a-z0-9]+", plain))


def add_rule(
    name: str,
    about: str,
    reason: str,
    act: Act,
    *,
    limits: str = "",
    level: str = "",
    says: str = "",
    do: str = "",
) -> HouseRule:
    """Add a rule and let it bind from now on. Pieces decided already keep their decision.

    ``about`` and ``limits`` are as in ``care_rules.HouseRule``. The same rule sent twice is kept
    once. Raises ``Refused`` for a rule looser than the tables, for one that says nothing or names
    what the tables don't hold, and for a name that was used before.
    """
    fields = {
        "about": about.strip(),
        "reason": " ".join(reason.split()),
        "limits": limits.strip(),
        "level": level,
        "says": " ".join(says.split()),
        "do": " ".join(do.split()),
    }
    name = " ".join(name.split())
    key = key_of(name)
    if key == "house.":
        raise Refused(
            "no_name",
            _("The short name “%(name)s” has no letter or figure in it.") % {"name": name},
            _("Name the rule in a few words, such as: no wool in dryers."),
            kind=Kind.INVALID,
        )
    _must_fit({"name": name, **fields})
    try:
        care_rules.check_house_rule(care_rules.HouseRule(key=key, **fields))
    except care_rules.FactsError as error:
        fault = error.faults[0]
        raise Refused(
            "bad_house_rule",
            _("House rule, %(field)s: “%(value)s” can't be kept.")
            % {"field": fault.field, "value": fault.value},
            f"{fault.cure[:1].upper()}{fault.cure[1:]}.",
        ) from error
    with atomic_write():
        if same := _the_same(key, fields):
            return same
        try:
            with transaction.atomic():
                row = HouseRule.objects.create(
                    key=key, name=name, added_by=act.by, added_at=act.at, **fields
                )
        except IntegrityError as error:
            raise Refused(
                "name_used",
                _("A house rule named “%(name)s” is or was there already.") % {"name": name},
                _("Choose another name: old decisions still point at that one."),
            ) from error
    read_anew()
    return row


def _must_fit(fields: dict[str, str]) -> None:
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


def _the_same(key: str, fields: dict[str, str]) -> HouseRule | None:
    """The rule in force that says exactly this: a form sent twice."""
    return HouseRule.objects.filter(key=key, retired_at__isnull=True, **fields).first()


def retire(pk: int, reason: str, act: Act) -> HouseRule:
    """Let a rule bind no more. It stays in the records. A retired one is left as it is.

    Raises ``Refused`` for an unknown rule and for a missing reason.
    """
    reason = " ".join(reason.split())[:300]
    with atomic_write():
        row = HouseRule.objects.select_for_update(of=("self",)).filter(pk=pk).first()
        if row is None:
            raise Refused(
                "unknown_house_rule",
                _("There is no house rule number %(number)d.") % {"number": pk},
                _("Load the page again."),
                kind=Kind.NOT_FOUND,
            )
        if not row.in_force:
            return row
        if not reason:
            raise Refused(
                "no_reason",
                _("Retiring “%(name)s” needs a reason.") % {"name": row.name},
                _("Say why the house keeps it no more."),
                kind=Kind.INVALID,
            )
        row.retired_by, row.retired_at, row.retired_reason = act.by, act.at, reason
        row.save(update_fields=["retired_by", "retired_at", "retired_reason"])
    return row
