"""The weights of kinds as one form: a row for each kind, by group."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import groupby

from django.utils.translation import gettext as _

from care_rules import catalogue
from care_rules.texts import in_words
from tickets.errors import Refused
from tickets.shop.queries import shop_grams


@dataclass(frozen=True)
class WeightRow:
    """One kind: ``text`` is the shop's own figure as typed, ``usual`` the trade's in grams."""

    kind: str
    name: str
    group: str
    usual: int
    text: str


def weight_rows(data: Mapping[str, str] | None = None) -> list[WeightRow]:
    """Every kind, with the shop's figures as they stand or as typed in a form."""
    own = {} if data is not None else shop_grams()
    return [
        WeightRow(
            entry.key,
            entry.name,
            in_words(entry.group),
            entry.grams,
            str(data.get(f"grams-{entry.key}", "")).strip()
            if data is not None
            else str(own.get(entry.key, "")),
        )
        for entry in catalogue.kinds()
    ]


def by_group(rows: list[WeightRow]) -> list[tuple[str, list[WeightRow], bool]]:
    """Group, its rows, and whether the shop has set any of them."""
    groups = [(group, list(each)) for group, each in groupby(rows, key=lambda row: row.group)]
    return [(group, each, any(row.text for row in each)) for group, each in groups]


def read_weights(rows: list[WeightRow]) -> dict[str, int | None]:
    """Kind -> grams, or None for the trade's figure; ``Refused`` names the kind and the value."""
    return {row.kind: _grams(row) if row.text else None for row in rows}


def _grams(row: WeightRow) -> int:
    plain = row.text.removesuffix("g").strip()
    if not (plain.isascii() and plain.isdigit() and len(plain) < 10):
        raise Refused(
            "bad_weight",
            _("%(kind)s: %(text)s is not a weight in grams.")
            % {"kind": row.name, "text": row.text},
            _("Write whole grams, like 220, or leave it empty for the trade's figure."),
        )
    return int(plain)
