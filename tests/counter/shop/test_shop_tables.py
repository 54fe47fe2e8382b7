"""A group of rows: its cells know their columns, and what nobody can act on has no act."""

from __future__ import annotations

import pytest

from counter.shop.shop_tables import RowButton, RowGroup, TableCell, TableRow, in_tables

COLUMNS = ("Name", "Heat", "Minutes")


def test_a_cell_knows_its_column_and_whether_it_is_a_figure() -> None:
    group = RowGroup("Washer", COLUMNS, [TableRow("Cotton 60", ("60 °C", "55"))], figures=1)
    heat, minutes = TableCell("Heat", "60 °C", False), TableCell("Minutes", "55", True)
    assert [cells for _row, cells in group.lines] == [[heat, minutes]]
    assert [heading.words for heading in group.headings] == ["Heat", "Minutes"]


def test_a_row_with_too_few_cells_is_no_row_of_its_group() -> None:
    with pytest.raises(ValueError, match="shorter"):
        _ = RowGroup("Washer", COLUMNS, [TableRow("Cotton 60", ("60 °C",))]).lines


@pytest.mark.parametrize(
    ("row", "has_acts"),
    [
        (TableRow("A1", ("", "")), False),
        (TableRow("A1", ("", ""), url="/shop/"), True),
        (TableRow("A1", ("", ""), button=RowButton("retire", "1", "Retire")), True),
    ],
)
def test_only_rows_to_open_or_act_on_need_a_place_for_it(row: TableRow, has_acts: bool) -> None:
    [table] = in_tables([RowGroup("In use", COLUMNS, [row])])
    assert table.has_acts is has_acts


def test_groups_under_one_heading_share_one_table() -> None:
    """With its columns, its notes and the sum of their rows; another heading starts another."""
    cotton = TableRow("Cotton 60", ("60 °C", "55"))
    groups = [
        RowGroup("Machines", COLUMNS, []),
        RowGroup("Washer", COLUMNS, [cotton], under="Programmes", folded=True),
        RowGroup("Dryer", COLUMNS, [cotton] * 2, under="Programmes", note="By the clock."),
    ]
    machines, programmes = in_tables(groups)
    assert (machines.title, machines.count, machines.folded) == ("Machines", 0, False)
    assert (programmes.title, programmes.count, programmes.folded) == ("Programmes", 3, True)
    assert programmes.notes == ["By the clock."]
    assert [heading.words for heading in programmes.headings] == ["Heat", "Minutes"]
