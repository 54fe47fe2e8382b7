"""The house's own rules as they stand, and what the owner recorded of makers' finishes."""

from __future__ import annotations

from collections.abc import Mapping

from django.db.models import QuerySet

import care_rules
from counter.models import HouseRule, IntakeDraft, RecordedOverride
from tickets.models import Piece


def rules_in_force() -> tuple[care_rules.HouseRule, ...]:
    """The rules that bind now, oldest first. One query."""
    rows = HouseRule.objects.filter(retired_at__isnull=True).order_by("pk")
    return tuple(row.as_rule() for row in rows)


def ever() -> tuple[care_rules.HouseRule, ...]:
    """Every rule there ever was, so that a stored decision still speaks."""
    return tuple(row.as_rule() for row in HouseRule.objects.order_by("pk"))


def house_rule_rows() -> QuerySet[HouseRule]:
    """Every rule with who added and who retired it."""
    return HouseRule.objects.select_related("added_by", "retired_by")


def same_house_rule(key: str, fields: Mapping[str, str]) -> HouseRule | None:
    """The rule in force that says exactly this: a form sent twice."""
    return HouseRule.objects.filter(key=key, retired_at__isnull=True, **fields).first()


def records(draft: IntakeDraft, mark: str) -> list[RecordedOverride]:
    """What was recorded for the draft piece of that mark, oldest first."""
    rows = RecordedOverride.objects.filter(draft=draft, piece_mark=mark)
    return list(rows.select_related("by"))


def overrides_of(piece: Piece) -> list[RecordedOverride]:
    """What was recorded for a piece, oldest first."""
    return list(RecordedOverride.objects.filter(piece=piece).select_related("by"))
