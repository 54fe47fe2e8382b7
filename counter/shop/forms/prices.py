"""The price list as one form: cleaning and pressing by kind, bench work by operation."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from django.utils.translation import gettext as _

from care_rules import catalogue
from care_rules.texts import in_words
from counter.models import PriceItem, Shop
from counter.money.amounts import decimals, parse_money
from counter.shop.forms.sheets import SheetCell, SheetGroup, SheetRow, SheetSection, put_into
from counter.shop.queries import amounts_by_key
from counter.shop.services import PriceKey
from tickets.errors import Refused


@dataclass
class PriceSheet:
    """The whole list as a form: cleaning and pressing by kind, bench work by operation."""

    shop: Shop
    data: Mapping[str, str] | None = None
    by_kind: list[SheetGroup[PriceKey]] = field(init=False)
    by_work: list[SheetGroup[PriceKey]] = field(init=False)

    def __post_init__(self) -> None:
        self.known = amounts_by_key()
        any_row = SheetRow(_("Any other kind"), [self._cell("clean"), self._cell("press")])
        usual = {cell.key[0]: cell.text for cell in any_row.cells}
        self.by_kind = [SheetGroup(_("Any kind"), [any_row])]
        for entry in catalogue.kinds():
            cells = [self._cell(s, entry.key, label=entry.name) for s in ("clean", "press")]
            for cell in cells:
                cell.usual = usual[cell.key[0]]
            put_into(self.by_kind, in_words(entry.group), SheetRow(entry.name, cells))
        work_any = [
            SheetRow(_("Mending not on the list"), [self._cell("mend")]),
            SheetRow(_("Alteration not on the list"), [self._cell("alter")]),
        ]
        self.by_work = [SheetGroup(_("Any operation"), work_any)]
        for entry in catalogue.work():
            listed = "mend" if ("mend", "", entry.key) in self.known else "alter"
            cell = self._cell(listed, work=entry.key, label=entry.name)
            put_into(self.by_work, in_words(entry.group), SheetRow(entry.name, [cell]))

    @property
    def sections(self) -> list[SheetSection[PriceKey]]:
        sign = {"sign": self.shop.currency_sign}
        by_kind = (_("Kind"), _("Clean and press"), _("Press only"))
        return [
            SheetSection(_("Cleaning and pressing, in %(sign)s") % sign, by_kind, self.by_kind),
            SheetSection(
                _("Mending and alterations, in %(sign)s") % sign,
                (_("Operation"), _("Price")),
                self.by_work,
            ),
        ]

    @property
    def groups(self) -> list[SheetGroup[PriceKey]]:
        return [*self.by_kind, *self.by_work]

    @property
    def faults(self) -> list[str]:
        return [cell.fault for group in self.groups for cell in group.cells if cell.fault]

    def read(self) -> dict[PriceKey, Decimal | None]:
        """Amounts as typed; a cell that can't be read keeps its fault and is left out."""
        wanted: dict[PriceKey, Decimal | None] = {}
        for group in self.groups:
            for cell in group.cells:
                if not cell.text:
                    wanted[cell.key] = None
                    continue
                try:
                    wanted[cell.key] = parse_money(cell.text, self.shop, cell.label)
                except Refused as refusal:
                    cell.fault = str(refusal)
        return wanted

    def _cell(
        self, service: str, kind: str = "", work: str = "", label: str = ""
    ) -> SheetCell[PriceKey]:
        key, name = (service, kind, work), f"price-{service}-{kind}-{work}"
        if self.data is not None:
            text = str(self.data.get(name, "")).strip()
        else:
            amount = self.known.get(key)
            text = "" if amount is None else f"{amount:.{decimals(self.shop)}f}"
        service_name = str(PriceItem.Service(service).label)
        return SheetCell(name, f"{label or _('Any kind')}, {service_name}", key, text)
