"""What one page says of any table of the shop: its rows, the form for one more, its door.

Machines, programmes, partners, rack places and days with another crew are all shown and changed by
the same two views and the same two templates; this is what they need to know of each.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from django import forms


@dataclass(frozen=True)
class RowButton:
    """A button that sends one field of the page's form: its name, its value and its words."""

    name: str
    value: str
    says: str


@dataclass(frozen=True)
class TableRow:
    """One row: ``cells`` under the group's columns. ``url`` opens it; ``button`` acts on it."""

    name: str
    cells: Sequence[str] = ()
    url: str = ""
    button: RowButton | None = None
    in_use: bool = True


@dataclass(frozen=True)
class TableCell:
    """What stands under one column, empty where there is nothing to say."""

    column: str
    words: str
    is_figure: bool


@dataclass(frozen=True)
class RowGroup:
    """Rows under one heading. ``add``: address and words of a page for one more; ``folded``: out
    of sight until asked for; ``note``: what the rows mean for the work; ``figures``: how many of
    the last columns hold figures; ``side_by_side``: rows so short that many stand in one line."""

    title: str
    columns: Sequence[str]
    rows: Sequence[TableRow]
    empty: str = ""
    note: str = ""
    add: tuple[str, str] | None = None
    folded: bool = False
    figures: int = 0
    side_by_side: bool = False

    @property
    def headings(self) -> list[TableCell]:
        """The columns after the name, with their headings as words too."""
        first_figure = len(self.columns) - self.figures
        return [
            TableCell(column, column, place >= first_figure)
            for place, column in enumerate(self.columns)
        ][1:]

    @property
    def lines(self) -> list[tuple[TableRow, list[TableCell]]]:
        """Each row with its cells, which know their columns: a narrow screen has no table head."""
        headings = self.headings
        return [
            (
                row,
                [
                    TableCell(heading.column, words, heading.is_figure)
                    for heading, words in zip(headings, row.cells, strict=True)
                ],
            )
            for row in self.rows
        ]

    @property
    def has_acts(self) -> bool:
        """Whether a row can be opened or acted on."""
        return any(row.url or row.button for row in self.rows)


@dataclass(frozen=True)
class ShopTable:
    """``save`` takes a valid form to its door and returns what to tell; it may raise ``Refused``.

    ``act`` does what a row's button asks and returns what to tell, None where it asks nothing.
    ``part`` is the tab that it stands under; ``back``: the page it was opened from.
    """

    part: str
    title: str
    form: type[forms.BaseForm]
    groups: Callable[[], Sequence[RowGroup]]
    save: Callable[[forms.BaseForm], str]
    add_title: str
    add_says: str
    intro: str = ""
    note: str = ""
    room: str = "shop"
    initial: Mapping[str, str] = field(default_factory=dict)
    act: Callable[[Mapping[str, str]], str | None] = field(default=lambda _sent: None)
    back: tuple[str, str] | None = None
    more: tuple[str, str] | None = None
