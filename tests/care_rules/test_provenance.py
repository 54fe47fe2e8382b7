"""What the tables say of their own sources, cell by cell: nothing remembered passes for read."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator

import pytest

from care_rules import review_cells, rule
from care_rules.provenance import Provenance, read_provenance
from care_rules.rows import DATA
from care_rules.tables import book

STATUSES = ("read", "practice", "memory")
#: The columns of a row that say where it comes from.
ABOUT = ("key", "source", "clause", "status")


def rows() -> Iterator[tuple[str, dict[str, str]]]:
    """Every row of every file, read without the loader."""
    for path in sorted(DATA.glob("*.csv")):
        with path.open(newline="", encoding="utf-8") as file:
            yield from ((f"{path.stem}/{row['key']}", row) for row in csv.DictReader(file))


def test_no_row_whose_source_says_memory_is_read() -> None:
    remembered = [
        (key, row["status"])
        for key, row in rows()
        if re.search("memory|remember", row["source"] + row["clause"], re.IGNORECASE)
    ]
    assert len(remembered) > 300
    assert [key for key, status in remembered if "memory" not in status] == []


def test_partly_names_columns_that_are_there() -> None:
    faults, named = [], 0
    for key, row in rows():
        word, colon, clauses_text = row["status"].partition(": ")
        if word != "partly":
            faults += [key] if word not in STATUSES or colon else []
            continue
        *clauses, last = clauses_text.split("; ")
        rest, _, end = last.partition(" ")
        faults += [] if clauses and rest in STATUSES and end == "rest" else [key]
        for clause in clauses:
            status, _, columns = clause.partition(" ")
            for part in columns.split(", "):
                column, _, item = part.partition(".")
                named += 1
                if status not in STATUSES or column in ABOUT or item not in row.get(column, ""):
                    faults.append(f"{key} {part}")
                faults += [] if row.get(column, "").strip() else [f"{key} {part}"]
    assert (faults, named > 500) == ([], True)


def test_every_figure_has_a_status_of_its_own_and_the_weakest_stand_first() -> None:
    cells = review_cells(*STATUSES)
    order = [STATUSES.index(cell.status) for cell in cells]
    assert order == sorted(order, reverse=True)
    assert {cell.column for cell in cells} >= {"limits", "agents", "never", "minutes", "grams"}
    for name in STATUSES:
        assert {cell.status for cell in review_cells(name)} == {name}
    # A limit each: the cell of a row with several counts as many times.
    limits = sum(cell.column == "limits" for cell in cells)
    assert limits == sum(len(row.rule().limits) for row in book().rules.values())
    assert set(cells) < set(review_cells(*STATUSES, words=True))


def test_a_row_may_be_read_in_one_cell_and_remembered_in_another() -> None:
    acetate = rule("fibre.acetate")
    assert acetate.status == "partly"
    sure = {
        part: acetate.provenance.of(part) for part in ("regain_percent", "wet_strength", "says")
    }
    assert sure == {"regain_percent": "read", "wet_strength": "memory", "says": "practice"}


CELLS = {"source": "a chart", "clause": "whole", "agents": "enzyme; acid", "minutes": "5"}


def test_one_item_of_a_cell_may_be_surer_than_the_cell() -> None:
    status = "partly: read agents.acid; memory agents; practice rest"
    cell = read_provenance(CELLS | {"status": status})
    assert [cell.of("agents", item) for item in ("acid", "enzyme")] == ["read", "memory"]
    assert [cell.of("agents"), cell.of("minutes")] == ["memory", "practice"]
    assert cell.status == "partly"
    assert read_provenance(CELLS | {"status": "read"}) == Provenance("read")


def test_a_limit_that_stands_twice_is_named_as_it_stands() -> None:
    """Iowa State University Extension: chlorine bleach harms wool; oxygen bleach is practice."""
    bleaches = {
        cell.value: cell.status
        for cell in review_cells(*STATUSES)
        if cell.rule == "fibre.wool" and cell.value.startswith("bleach")
    }
    assert bleaches == {"bleach=none@usual": "practice", "bleach=oxygen@physical": "read"}


def test_a_status_that_there_is_not_has_no_list() -> None:
    with pytest.raises(ValueError, match="status 'guess'"):
        review_cells("guess")


#: Annex IX of EU 1007/2011 as amended by 286/2012 and 2018/122, typed from the English text: the
#: number of Annex I, and the allowance in percent, where there are two the one that holds for
#: the row (17.00 where combed or carded hair cannot be told, carded horsehair; staple before
#: filament; 5 µm and more).
ANNEX_IX = """
1 wool 17.00 | 2 cashmere 17.00 | 3 animal_hair 17.00 | 3 horsehair 15.00 | 4 silk 11.00
5 cotton 8.50 | 6 kapok 10.90 | 7 linen 12.00 | 8 hemp 12.00 | 9 jute 17.00
10 abaca 14.00 | 11 alfa 14.00 | 12 coir 13.00 | 13 broom 14.00 | 14 ramie 8.50
15 sisal 14.00 | 16 sunn 12.00 | 17 henequen 14.00 | 18 maguey 14.00 | 19 acetate 9.00
20 alginate 20.00 | 21 cupro 13.00
22 modal 13.00 | 23 protein_regenerated 17.00 | 24 triacetate 7.00 | 25 viscose 13.00
26 acrylic 2.00 | 27 chlorofibre 2.00 | 28 fluorofibre 0.00 | 29 modacrylic 2.00
30 polyamide 6.25 | 31 aramid 8.00 | 32 polyimide 3.50 | 33 lyocell 13.00 | 34 polylactide 1.50
35 polyester 1.50 | 36 polyethylene 1.50 | 37 polypropylene 2.00 | 38 polyurea 2.00
39 polyurethane_fibre 3.50 | 40 vinylal 5.00 | 41 trivinyl 3.00 | 42 elastodiene 1.00
43 elastane 1.50 | 44 glass_fibre 2.00 | 45 elastomultiester 1.50 | 46 elastolefin 1.50
47 melamine 7.00 | 48 metal_fibre 2.00 | 48 paper_yarn 13.75 | 49 polypropylene_polyamide 1.00
50 polyacrylate 30.00
"""


@pytest.mark.parametrize("line", [part.split() for part in re.split(r"[|\n]", ANNEX_IX.strip())])
def test_a_fibre_has_the_moisture_allowance_of_the_regulation(line: list[str]) -> None:
    number, fibre, percent = line
    row = book()["fibres"][fibre]
    assert (row.cells["regain_percent"], row.cells["clause"]) == (percent, f"Annex I no. {number}")
    assert {row.provenance.of(column) for column in ("eu_name", "regain_percent")} == {"read"}


#: Names of Annex I whose spelling the regulation changed against the directive before it.
@pytest.mark.parametrize(
    ("fibre", "name"),
    [("cashmere", "cashmere"), ("polyurea", "polycarbamide"), ("linen", "flax (or linen)"),
     ("wool_virgin", "fleece wool or virgin wool"), ("hemp", "true hemp")],
)  # fmt: skip
def test_a_fibre_has_its_name_of_annex_i(fibre: str, name: str) -> None:
    assert book()["fibres"][fibre].cells["eu_name"] == name


def test_other_fibres_may_be_said_only_where_a_fibre_cannot_easily_be_named() -> None:
    """EU 1007/2011 Art. 9(2): 5 and 15 percent, "where they cannot easily be stated"."""
    says = rule("composition_rule.other_fibres_limit").says
    assert [part for part in ("5 percent", "15 percent", "cannot easily") if part not in says] == []


@pytest.mark.parametrize(
    ("key", "clause"),
    [("child.sleepwear", "1616.6(a)"), ("child.snugfit", "1615.1(a)(3)")],
)
def test_a_sleepwear_rule_names_the_clause_that_it_stands_on(key: str, clause: str) -> None:
    """16 CFR: tight-fitting garments are left out by 1615.1(a)(3); labels by 1616.6(a)."""
    row = rule(key)
    assert row.clause == clause
    assert clause in row.source
