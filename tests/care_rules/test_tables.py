"""The tables: complete, sourced, and refused by name when a row is wrong."""

from __future__ import annotations

import hashlib
import shutil
from pathlib import Path

import pytest

from care_rules import TABLES_VERSION, TableError, catalogue, rule
from care_rules.provenance import PARTLY, STATUSES
from care_rules.rows import DATA, PREFIX
from care_rules.tables import book, load_book
from care_rules.vocabulary import COLOURS, CONSTRUCTIONS, DAMAGES

#: Rows that the engine acts on, rows that are text to read only, and a mark of the keys. A row
#: that is added, dropped or renamed must show up here.
ROWS = {
    "symbols": (49, 0, "ac9744a0"),
    "ceilings": (9, 0, "563fa6f5"),
    "readings": (16, 0, "d8b5139c"),
    "terms": (97, 0, "ff22d75f"),
    "label_rules": (79, 8, "ee8e151a"),
    "composition_rules": (57, 8, "2a778e03"),
    "fibres": (114, 0, "d29e3c57"),
    "fibre_words": (1126, 0, "9397de02"),
    "colours": (38, 0, "af24a680"),
    "trims": (65, 0, "cc458fc2"),
    "constructions": (6, 0, "3727f62e"),
    "kinds": (114, 0, "7d247070"),
    "stains": (64, 0, "ff378f85"),
    "agents": (11, 0, "a0c6db1c"),
    "mixtures": (10, 0, "88eb94d2"),
    "hazards": (69, 0, "c3ad71c9"),
    "damage": (5, 0, "6da3488d"),
    "work": (83, 0, "5f195fe4"),
    "notices": (50, 0, "615992b1"),
    "needs": (14, 0, "77cb01e2"),
    "combinations": (3, 0, "19ac6969"),
    "detergents": (4, 0, "fafc286e"),
    "baths": (14, 0, "485bf739"),
    "drying": (8, 0, "85008bc5"),
    "pressing": (13, 0, "7d1b777f"),
    "shrinkage": (14, 0, "54bc8f77"),
    "finishes": (10, 0, "3f67b79c"),
    "solvents": (4, 0, "5c891a7c"),
    "fastness": (7, 0, "7c28ce64"),
}  # fmt: skip


def mark(name: str) -> str:
    return hashlib.sha256(" ".join(sorted(book()[name])).encode()).hexdigest()[:8]


def counted(name: str) -> tuple[int, int]:
    """How many rows of a table the engine acts on, and how many are text to read only."""
    uses = [row.cells.get("use") for row in book().tables[name].values()]
    return len(uses) - uses.count("text"), uses.count("text")


def test_no_row_is_dropped_silently() -> None:
    assert {name: (*counted(name), mark(name)) for name in book().tables} == ROWS


def test_every_rule_can_be_looked_up_with_source_status_and_strength() -> None:
    for key in book().rules:
        row = rule(key)
        assert row.key == key
        assert row.says.strip()
        assert row.source.strip()
        assert row.clause.strip()
        assert row.status in (*STATUSES, PARTLY)
        assert row.strength in ("physical", "usual", "common", "default")


def test_an_unknown_rule_is_a_key_error() -> None:
    with pytest.raises(KeyError):
        rule("fibre.unobtainium")


def test_the_tables_carry_a_version() -> None:
    assert book().version == TABLES_VERSION == (DATA / "version.txt").read_text().strip()


def test_the_word_lists_of_the_contract_have_a_row_each() -> None:
    assert set(book()["damage"]) == set(DAMAGES)
    assert set(book()["constructions"]) == set(CONSTRUCTIONS)
    assert set(COLOURS) <= set(book()["colours"])


@pytest.mark.parametrize(
    "name",
    ["symbols", "fibres", "kinds", "trims", "colours", "stains", "damages", "hazards", "services",
     "work", "terms", "constructions"],
)  # fmt: skip
def test_every_chooser_has_plain_names(name: str) -> None:
    entries = getattr(catalogue, name)()
    assert len({entry.key for entry in entries}) == len(entries)
    for entry in entries:
        assert entry.name.strip()
        assert "_" not in entry.name
        assert entry.says.strip()
        assert entry.source.strip()


def test_kinds_carry_a_weight_and_work_its_minutes_and_order() -> None:
    assert all(entry.grams > 0 for entry in catalogue.kinds())
    assert all(entry.minutes > 0 for entry in catalogue.work())
    assert {entry.order for entry in catalogue.work()} == {"before", "after", "either"}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(DATA, tmp_path / "data"))


def change(folder: Path, table: str, old: str, new: str) -> None:
    path = folder / f"{table}.csv"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


@pytest.mark.parametrize(
    ("table", "old", "new", "words"),
    [
        ("damage", "trade practice,whole,practice", ",whole,practice",
         "damage.csv row 2, value 'loose_button': fill the column 'source'"),
        ("damage", "trade practice,whole,practice", "trade practice,whole,",
         "damage.csv row 2, value 'loose_button': fill the column 'status'"),
        ("damage", "trade practice,whole,practice", "trade practice,whole,guess",
         "damage.csv row 2, value 'guess': status: use a status of read, practice, memory, or"),
        ("damage", "trade practice,whole,practice", "trade practice (memory),whole,read",
         "value 'read': status: the source says memory: name the columns"),
        ("damage", "trade practice,whole,practice", "trade practice (memory),whole,practice",
         "value 'practice': status: the source says memory: name the columns"),
        ("damage", "trade practice,whole,practice", "trade practice,whole,partly: read rest",
         "status: name at least one column, and end with a status and 'rest'"),
        ("damage", "trade practice,whole,practice", "trade practice,whole,partly: read limits",
         "status: name at least one column, and end with a status and 'rest'"),
        ("damage", "trade practice,whole,practice",
         "trade practice,whole,partly: memory limit; practice rest",
         "no cell 'limit' in this row: name a column that is filled"),
        ("symbols", "partly: memory geometry, astm; read rest",
         "partly: memory limits.iron.max_c; read rest",
         "no 'iron.max_c' in the cell 'limits': name what stands there"),
        ("damage", "trade practice,whole,practice",
         "trade practice,whole,partly: memory clause; practice rest", "no cell 'clause'"),
        ("damage", "trade practice,whole,practice",
         'trade practice,whole,"partly: memory says, says; practice rest"',
         "name each column once"),
        ("damage", "trade practice,whole,practice",
         "trade practice,whole,partly: guessed limits; practice rest",
         "clause 'guessed limits': write a status and its columns"),
        ("damage", "wash.action=mild@usual", "wash.action=soft@usual",
         "wash.action 'soft': use one of normal, mild, very_mild"),
        ("damage", "wash.action=mild@usual", "wash.action=mild@firm",
         "strength 'firm': use one of physical, usual, default"),
        ("damage", "load.mesh_bag=true@usual", "load.bag=true", "unknown limit 'load.bag'"),
        ("fibres", "wash.max_c=30@usual", "wash.max_c=3O@usual",
         "wash.max_c '3O': use digits from 0 to 95"),
        ("damage", "open_seam,open seam", "loose_button,open seam", "drop one row"),
        ("stains", "body.blood", "body.bood", "no such row in hazards.csv; mend the key"),
        ("damage", "loose_button,", "loose_button,,", "as many cells as the heading has"),
        ("kinds", "specialist: fur", "specialist: tailor", "use surface, or specialist: and one"),
        ("kinds", "specialist: fur", "tailor: fur", "use surface, or specialist: and one"),
    ],
)  # fmt: skip
def test_a_bad_row_is_refused_by_file_row_value_and_cure(
    folder: Path, table: str, old: str, new: str, words: str
) -> None:
    change(folder, table, old, new)
    with pytest.raises(TableError) as caught:
        load_book(folder)
    assert words in str(caught.value)
    assert str(caught.value).startswith(f"{table}.csv row ")


def test_the_engine_names_no_fibre_symbol_or_stain_in_its_code() -> None:
    """Adding a row changes a table, never code."""
    code = "".join(
        path.read_text(encoding="utf-8")
        for path in sorted(DATA.parent.glob("*.py"))
        if path.name not in ("pictograms.py", "parse.py")
    )
    own = {"unknown", "other_fibres"}
    names = {key for table in ("fibres", "symbols", "stains", "trims") for key in book()[table]}
    # Words of the contract: a process, whom to send to, parts, constructions.
    words = {"hand_wash", "leather", "fur", "lining", "knit", "woven"}
    named = [name for name in sorted(names - own - words) if f'"{name}"' in code]
    assert named == []


def test_every_table_of_the_folder_is_read() -> None:
    assert {path.stem for path in DATA.glob("*.csv")} == set(PREFIX)


def test_what_a_stain_forbids_is_graver_for_people_than_for_cloth() -> None:
    """Oil takes fire by itself, rust needs an acid that burns, ammonia and chlorine make a gas."""
    graveness = {
        "cooking oil": 0,
        "rust": 0,
        "a stain that no table knows": 0,
        "sunscreen": 1,
        "mustard": 1,
        "red wine": 2,
        "mud": 3,
    }
    assert {stain: catalogue.stain_danger(stain) for stain in graveness} == graveness
