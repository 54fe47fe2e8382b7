"""What one piece allows, takes and loses, by each kind of programme: sums by hand."""

from __future__ import annotations

from dataclasses import fields, replace

import pytest

from tickets.loads.items import DRY, SEND_OUT, LoadItem, allows, bulk, room_taken, steps_below
from tickets.loads.together import why_not_fit, why_not_run
from tickets.shop.machine_facts import SINK, MachineFacts, ProgrammeFacts

PIECE = LoadItem("100000101", 0, 1000, max_c=40, action=1, spin=1)
WASH = ProgrammeFacts("w", "machine_wash", 40, 10.0, 40, 1, 1)
HAND = ProgrammeFacts("h", "hand_wash", 15, 10.0, 30, 2, 2)
SOLVENT = ProgrammeFacts("s", "dry_clean", 50, 20.0, 0, 1, 0, "P")
WET = ProgrammeFacts("c", "wet_clean", 35, 15.0, 30, 1, 0)
TUMBLE = ProgrammeFacts("t", "tumble", 45, 20.0, 1)
BAG = ProgrammeFacts("b", "bag", 60, 1.0, by_weight=True)


@pytest.mark.parametrize(
    ("piece", "programme", "kind", "allowed"),
    [
        ({}, WASH, "washer", True),
        ({"max_c": 39}, WASH, "washer", False),
        ({"action": 2}, WASH, "washer", False),
        ({"action": 0}, WASH, "washer", True),
        ({"spin": 2}, WASH, "washer", False),
        ({"spin": 0}, WASH, "washer", True),
        ({"hand_only": True}, WASH, "washer", False),
        ({"hand_only": True}, WASH, SINK, True),
        ({"process": "hand_wash", "hand_only": True, "max_c": 30}, HAND, "washer", True),
        ({"process": "hand_wash"}, WASH, "washer", False),
        ({}, HAND, SINK, False),
        ({"process": "dry_clean", "solvents": "PF"}, SOLVENT, "solvent_p", True),
        ({"process": "dry_clean", "solvents": "F"}, SOLVENT, "solvent_p", False),
        ({"process": "dry_clean", "solvents": "PF", "action": 2}, SOLVENT, "solvent_p", False),
        ({"process": "dry_clean", "solvents": "P", "action": 0}, SOLVENT, "solvent_p", True),
        ({"process": "wet_clean", "max_c": 0, "spin": 2}, WET, "wet_cleaner", True),
        ({"process": "wet_clean", "action": 2}, WET, "wet_cleaner", False),
        ({"process": "wet_clean", "action": 0}, WET, "wet_cleaner", True),
        ({"stage": DRY, "tumble": 0}, TUMBLE, "dryer", True),
        ({"stage": DRY, "tumble": 1}, TUMBLE, "dryer", True),
        ({"stage": DRY, "tumble": 2}, TUMBLE, "dryer", False),
        ({"stage": DRY, "tumble": 0}, WASH, "washer", False),
        ({"stage": SEND_OUT, "process": "dry_clean"}, BAG, "bag", True),
        ({"stage": SEND_OUT, "process": "dry_clean", "solvents": "P"}, SOLVENT, "bag", False),
    ],
)
def test_a_piece_allows_what_none_of_its_limits_forbids(
    piece: dict[str, object], programme: ProgrammeFacts, kind: str, allowed: bool
) -> None:
    assert allows(replace(PIECE, **piece), programme, kind) is allowed  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("piece", "programme", "taken"),
    [
        # one_bar 15 l, two_bars 30 l, coloured_cotton 11 l, cotton_white 10 l for a kilogram
        ({}, WASH, 15_000),
        ({}, replace(WASH, action=2), 30_000),
        ({}, replace(WASH, action=0), 11_000),
        ({"cloth": "cotton_white"}, replace(WASH, action=0), 10_000),
        ({"cloth": "cotton_white"}, replace(WASH, action=0, litres_per_kg=12.5), 12_500),
        ({}, replace(WASH, litres_per_kg=15.5), 15_500),
        ({"process": "wet_clean"}, WET, 15_000),
        ({"stage": DRY}, TUMBLE, 20_000),
        ({"stage": DRY, "cloth": "terry"}, TUMBLE, 25_000),
        ({"stage": DRY, "cloth": "duvet_filled"}, TUMBLE, 25_000),
        ({"stage": DRY, "cloth": "terry"}, replace(TUMBLE, litres_per_kg=26.0), 26_000),
        ({"stage": SEND_OUT}, BAG, 1_000),
        ({"grams": 333, "cloth": "cotton_white"}, replace(WASH, action=0), 3_330),
        ({"grams": 1}, replace(WASH, action=0, litres_per_kg=11.2), 12),
    ],
)
def test_a_piece_takes_its_weight_times_the_loosest_ratio(
    piece: dict[str, object], programme: ProgrammeFacts, taken: int
) -> None:
    assert room_taken(replace(PIECE, **piece), programme) == taken  # type: ignore[arg-type]


def test_only_filled_pieces_have_bulk() -> None:
    """``load.ratio.duvet_filled`` litres for a kilogram."""
    assert bulk(PIECE) == 0
    filled = bulk(replace(PIECE, filled=True))
    assert filled > 0
    assert bulk(replace(PIECE, filled=True, grams=2000)) == 2 * filled


@pytest.mark.parametrize(
    ("piece", "programme", "steps"),
    [
        ({}, WASH, 0),
        ({"max_c": 60}, WASH, 2),
        ({"max_c": 41}, WASH, 1),
        ({"max_c": 50}, WASH, 1),
        ({"max_c": 51}, WASH, 2),
        ({"max_c": 60, "action": 0}, WASH, 4),
        ({"process": "hand_wash", "action": 2}, HAND, 1),
        ({"process": "dry_clean", "action": 0, "max_c": 95}, SOLVENT, 2),
        ({"process": "wet_clean", "action": 0, "max_c": 95}, WET, 2),
        ({"stage": DRY, "tumble": 0}, TUMBLE, 2),
        ({"stage": DRY, "tumble": 1}, TUMBLE, 0),
        ({"stage": SEND_OUT, "action": 0, "max_c": 95}, BAG, 0),
    ],
)
def test_what_a_piece_loses_by_its_company_is_counted_in_steps(
    piece: dict[str, object], programme: ProgrammeFacts, steps: int
) -> None:
    assert steps_below(replace(PIECE, **piece), programme) == steps  # type: ignore[arg-type]


def test_pieces_of_one_sort_differ_in_code_due_and_weight_alone() -> None:
    changed = {
        "stage": DRY, "process": "wet_clean", "where": "send_out", "max_c": 95, "action": 2,
        "hand_only": True, "spin": 2, "bleach": "any", "tumble": 0, "solvents": "P",
        "colour_group": "dark", "alone": True, "mesh_bag": True, "inside_out": True,
        "softener": False, "fragrance_free": True, "bleeds": 30, "lint": "giver",
        "hardware": True, "fine": True, "heavy": True, "filled": True, "group": "hygiene",
        "cloth": "terry",
    }  # fmt: skip
    every = {field.name for field in fields(LoadItem)}
    assert every == {*changed, "code", "due", "grams"}
    for name, value in changed.items():
        assert replace(PIECE, **{name: value}).sort != PIECE.sort, name  # type: ignore[arg-type]
    assert replace(PIECE, code="100000999", due=9, grams=5).sort == PIECE.sort


@pytest.mark.parametrize("grams", [0, -1])
def test_a_piece_without_weight_is_refused(grams: int) -> None:
    with pytest.raises(ValueError, match="weigh it"):
        replace(PIECE, grams=grams)


# What fits


def machine(litres: float, *programmes: ProgrammeFacts, **more: object) -> MachineFacts:
    return MachineFacts("Drum", "washer", litres, programmes, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("drum", "pieces", "says"),
    [
        (machine(15, WASH), [PIECE], ""),
        (machine(14.9, WASH), [PIECE], "40 °C, mild needs 15 l of drum; Drum has 14 l."),
        (machine(30, WASH), [PIECE, replace(PIECE, code="100000102")], ""),
        (machine(30, WASH), [PIECE, replace(PIECE, code="100000102", grams=1001)],
         "40 °C, mild needs 31 l of drum; Drum has 30 l."),
        (machine(90, HAND), [PIECE], "Drum has no programme that all pieces allow."),
        (machine(90, WASH, most_pieces=1), [PIECE], ""),
        (machine(90, WASH, most_pieces=1), [PIECE, replace(PIECE, code="100000102")],
         "Drum takes 1 at a time."),
        (machine(1, BAG), [replace(PIECE, stage=SEND_OUT)], ""),
        (machine(1, BAG), [replace(PIECE, stage=SEND_OUT, grams=1001)],
         "The bag would weigh 1001 g; one person lifts 1 kg at most."),
        (machine(15, WASH), [replace(PIECE, filled=True)],
         "Filled pieces would take more than their share of Drum."),
    ],
)  # fmt: skip
def test_a_load_fits_up_to_the_last_litre(
    drum: MachineFacts, pieces: list[LoadItem], says: str
) -> None:
    assert why_not_fit(pieces, drum) == says
    assert why_not_run(pieces, drum) == says


def test_company_is_asked_before_room() -> None:
    dark = replace(PIECE, code="100000102", colour_group="dark")
    says = why_not_run([dark, PIECE], machine(1, WASH))
    assert says.startswith("100000101 and 100000102 may not share: ")
