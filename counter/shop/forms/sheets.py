"""A sheet: many figures of one kind in one form, in rows under folded headings."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from typing import Generic, TypeVar

Key = TypeVar("Key", bound=Hashable)


@dataclass
class SheetCell(Generic[Key]):
    """One figure. ``key``: what it is the figure of; ``usual``: what counts while it is empty."""

    name: str
    label: str
    key: Key
    text: str
    usual: str = ""
    fault: str = ""


@dataclass
class SheetRow(Generic[Key]):
    label: str
    cells: list[SheetCell[Key]]


@dataclass
class SheetGroup(Generic[Key]):
    title: str
    rows: list[SheetRow[Key]]

    @property
    def cells(self) -> list[SheetCell[Key]]:
        return [cell for row in self.rows for cell in row.cells]

    @property
    def missing(self) -> int:
        """Cells that have no figure, and no usual one to fall back on."""
        return sum(1 for cell in self.cells if not cell.text and not cell.usual)

    @property
    def faulty(self) -> bool:
        return any(cell.fault for cell in self.cells)

    @property
    def own(self) -> bool:
        """Whether the shop has set any figure here."""
        return any(cell.text for cell in self.cells)


@dataclass(frozen=True)
class SheetSection(Generic[Key]):
    """Groups under one heading, with the columns of their tables. ``open_own``: groups in which the
    shop has set a figure stand open."""

    title: str
    columns: tuple[str, ...]
    groups: list[SheetGroup[Key]]
    open_own: bool = False


def put_into(groups: list[SheetGroup[Key]], title: str, row: SheetRow[Key]) -> None:
    """Add the row to the group of that title, which is made where there is none."""
    group = next((group for group in groups if group.title == title), None)
    if group is None:
        groups.append(SheetGroup(title, [row]))
    else:
        group.rows.append(row)
