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
from counter.shop.services import PriceKey
from tickets.errors import Refused


@dataclass
class PriceCell:
    """One amount of the list. ``usual`` is what is asked while the cell is empty."""

    name: str
    label: str
    key: PriceKey
    text: str
    usual: str = ""
    fault: str = ""


@dataclass
class PriceRow:
    label: str
    cells: list[PriceCell]


@dataclass
class PriceGroup:
    title: str
    rows: list[PriceRow]

    @property
    def missing(self) -> int:
        """Cells that have no price, and none for "any kind" to fall back on."""
        cells = [cell for row in self.rows for cell in row.cells]
        return sum(1 for cell in cells if not cell.text and not cell.usual)

    @property
    def faulty(self) -> bool:
        return any(cell.fault for row in self.rows for cell in row.cells)


@dataclass
class PriceSheet:
    """The whole list as a form: cleaning and pressing by kind, bench work by operation."""

    shop: Shop
    data: Mapping[str, str] | None = None
    by_kind: list[PriceGroup] = field(init=False)
    by_work: list[PriceGroup] = field(init=False)

    def __post_init__(self) -> None:
        self.known = {
            (row.service, row.kind, row.work): row.amount for row in PriceItem.objects.all()
        }
        any_row = PriceRow(_("Any other kind"), [self._cell("clean"), self._cell("press")])
        usual = {cell.key[0]: cell.text for cell in any_row.cells}
        self.by_kind = [PriceGroup(_("Any kind"), [any_row])]
        for entry in catalogue.kinds():
            cells = [self._cell(s, entry.key, label=entry.name) for s in ("clean", "press")]
            for cell in cells:
                cell.usual = usual[cell.key[0]]
            _into(self.by_kind, in_words(entry.group), PriceRow(entry.name, cells))
        work_any = [
            PriceRow(_("Mending not on the list"), [self._cell("mend")]),
            PriceRow(_("Alteration not on the list"), [self._cell("alter")]),
        ]
        self.by_work = [PriceGroup(_("Any operation"), work_any)]
        for entry in catalogue.work():
            listed = "mend" if ("mend", "", entry.key) in self.known else "alter"
            cell = self._cell(listed, work=entry.key, label=entry.name)
            _into(self.by_work, in_words(entry.group), PriceRow(entry.name, [cell]))

    @property
    def groups(self) -> list[PriceGroup]:
        return [*self.by_kind, *self.by_work]

    @property
    def faults(self) -> list[str]:
        return [cell.fault for group in self.groups for cell in self._cells(group) if cell.fault]

    def read(self) -> dict[PriceKey, Decimal | None]:
        """Amounts as typed; a cell that can't be read keeps its fault and is left out."""
        wanted: dict[PriceKey, Decimal | None] = {}
        for group in self.groups:
            for cell in self._cells(group):
                if not cell.text:
                    wanted[cell.key] = None
                    continue
                try:
                    wanted[cell.key] = parse_money(cell.text, self.shop, cell.label)
                except Refused as refusal:
                    cell.fault = str(refusal)
        return wanted

    @staticmethod
    def _cells(group: PriceGroup) -> list[PriceCell]:
        return [cell for row in group.rows for cell in row.cells]

    def _cell(self, service: str, kind: str = "", work: str = "", label: str = "") -> PriceCell:
        key, name = (service, kind, work), f"price-{service}-{kind}-{work}"
        if self.data is not None:
            text = str(self.data.get(name, "")).strip()
        else:
            amount = self.known.get(key)
            text = "" if amount is None else f"{amount:.{decimals(self.shop)}f}"
        service_name = str(PriceItem.Service(service).label)
        return PriceCell(name, f"{label or _('Any kind')}, {service_name}", key, text)


def _into(groups: list[PriceGroup], title: str, row: PriceRow) -> None:
    found = next((group for group in groups if group.title == title), None)
    if found is None:
        groups.append(PriceGroup(title, [row]))
    else:
        found.rows.append(row)
