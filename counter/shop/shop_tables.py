"""What one page says of any table of the shop: its rows, the form for one more, its door.

Machines, programmes, partners, rack places and days with another crew are all shown and changed by
the same two views and the same two templates; this is what they need to know of each.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import groupby

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
    """Rows under one heading. ``under``: the heading of a table that it shares with the groups
    beside it; ``add``: address and words of a page for one more; ``folded``: out of sight until
    asked for; ``note``: what the rows mean for the work; ``figures``: how many of the last columns
    hold figures; ``side_by_side``: rows so short that many stand in one line."""

    title: str
    columns: Sequence[str]
    rows: Sequence[TableRow]
    empty: str = ""
    note: str = ""
    add: tuple[str, str] | None = None
    folded: bool = False
    figures: int = 0
    side_by_side: bool = False
    under: str = ""

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


@dataclass(frozen=True)
class RowTable:
    """Groups of one heading, whose rows share their columns."""

    title: str
    groups: Sequence[RowGroup]

    @property
    def columns(self) -> Sequence[str]:
        return self.groups[0].columns

    @property
    def headings(self) -> list[TableCell]:
        return self.groups[0].headings

    @property
    def folded(self) -> bool:
        return self.groups[0].folded

    @property
    def side_by_side(self) -> bool:
        return self.groups[0].side_by_side

    @property
    def empty(self) -> str:
        return self.groups[0].empty

    @property
    def notes(self) -> list[str]:
        return [group.note for group in self.groups if group.note]

    @property
    def count(self) -> int:
        """Rows of all groups."""
        return sum(len(group.rows) for group in self.groups)

    @property
    def has_acts(self) -> bool:
        """Whether a row can be opened or acted on, or a group be added to."""
        return any(
            group.add or any(row.url or row.button for row in group.rows) for group in self.groups
        )


def in_tables(groups: Iterable[RowGroup]) -> list[RowTable]:
    """Groups that stand beside each other under one heading, in one table each."""
    by_heading = groupby(groups, key=lambda group: group.under or group.title)
    return [RowTable(title, list(of_title)) for title, of_title in by_heading]


@dataclass(frozen=True)
class TableWords:
    """What stands on a table's page: heading, what the table is for, and the form for one more
    with its button and its note; ``back`` and ``more`` name the links to other pages."""

    title: str
    add_title: str
    add_says: str
    intro: str = ""
    note: str = ""
    back: str = ""
    more: str = ""


@dataclass(frozen=True)
class SheetWords:
    """What stands on the page of a sheet of figures: heading, what a figure counts for, a note
    below them and the button."""

    title: str
    intro: str
    save: str
    note: str = ""


@dataclass(frozen=True)
class ShopTable:
    """``keep`` takes a valid form to its door and returns what to tell; it may raise ``Refused``.

    ``act`` does what a row's button asks and returns what to tell, None where it asks nothing.
    ``part`` is the tab that it stands under; ``back``: address of the page it was opened from,
    ``more``: of a paper of its rows.
    """

    part: str
    words: TableWords
    form: type[forms.BaseForm]
    groups: Callable[[], Sequence[RowGroup]]
    keep: Callable[[forms.BaseForm], str]
    room: str = "shop"
    initial: Mapping[str, str] = field(default_factory=dict)
    act: Callable[[Mapping[str, str]], str | None] = field(default=lambda _sent: None)
    back: str = ""
    more: str = ""
