"""A hundred seeded faults in the tables: the frozen list of figures sees each of them."""

from __future__ import annotations

from tests.care_rules.mutants import drawn, frozen, rows


def test_the_list_of_figures_sees_a_hundred_wrong_cells_and_no_right_one() -> None:
    mutants = drawn(100, 11)
    assert len(set(mutants)) == 100
    assert len({mutant.table for mutant in mutants}) > 5
    assert [mutant for mutant in mutants if not frozen(mutant)] == []


def test_each_mutant_is_another_value_of_a_cell_that_stands() -> None:
    for mutant in drawn(100, 11):
        (cell,) = [row[mutant.column] for row in rows(mutant.table) if row["key"] == mutant.key]
        assert cell != mutant.value, mutant
