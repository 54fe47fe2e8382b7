"""The weights of kinds as one form: a row for each kind, by group."""

from __future__ import annotations

from collections.abc import Mapping

from django.utils.translation import gettext as _

from care_rules import catalogue
from care_rules.texts import in_words
from counter.shop.forms.sheets import SheetCell, SheetGroup, SheetRow, SheetSection, put_into
from tickets.errors import Refused
from tickets.shop.queries import shop_grams


class WeightSheet:
    """Every kind in grams, with the shop's figures as they stand or as typed in a form."""

    def __init__(self, data: Mapping[str, str] | None = None) -> None:
        own = {} if data is not None else shop_grams()
        self.groups: list[SheetGroup[str]] = []
        for entry in catalogue.kinds():
            name = f"grams-{entry.key}"
            text = data.get(name, "").strip() if data is not None else str(own.get(entry.key, ""))
            cell = SheetCell(name, _("grams"), entry.key, text, str(entry.grams))
            put_into(self.groups, in_words(entry.group), SheetRow(entry.name, [cell]))

    @property
    def sections(self) -> list[SheetSection[str]]:
        return [SheetSection("", (_("Kind"), _("Grams")), self.groups, open_own=True)]

    def read(self) -> dict[str, int | None]:
        """Kind -> grams, or None for the trade's figure; ``Refused`` names kind and value."""
        rows = [row for group in self.groups for row in group.rows]
        return {
            cell.key: _grams(row.label, cell.text) if cell.text else None
            for row in rows
            for cell in row.cells
        }


def _grams(kind: str, text: str) -> int:
    plain = text.removesuffix("g").strip()
    if not (plain.isascii() and plain.isdigit() and len(plain) < 10):
        raise Refused(
            "bad_weight",
            _("%(kind)s: %(text)s is not a weight in grams.") % {"kind": kind, "text": text},
            _("Write whole grams, like 220, or leave it empty for the trade's figure."),
        )
    return int(plain)
