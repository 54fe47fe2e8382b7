"""The figures of the tables held by a second hand: a list of them all, and what everybody knows.

The orderings below are knowledge of the trade and of fibre handbooks, written without a look at
the tables (from memory; where a source is named, it was read for the tables too).
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest

from care_rules import decide_json
from tests.approved import assert_approved
from tests.care_rules import figures
from tests.care_rules.builders import piece
from tests.care_rules.severity import flat, strictness

WIDE_OPEN = "wash_95 bleach_any tumble_normal iron_200 dry_clean_p wet_clean_w"


def limits(fibre: str, symbols: str = WIDE_OPEN, **more: Any) -> dict[str, Any]:
    return flat(decide_json(piece(fibre, symbols, **more)))


def test_no_figure_changes_unseen() -> None:
    assert_approved([figures.version(), *figures.figures()], figures.LIST)


ANIMAL = (
    "wool", "wool_virgin", "wool_recycled", "alpaca", "llama", "camel", "cashmere", "mohair",
    "angora", "yak", "animal_hair", "horsehair", "silk", "silk_wild",
)  # fmt: skip


@pytest.mark.parametrize("fibre", ANIMAL)
def test_an_animal_fibre_is_never_hot_never_in_chlorine_never_in_a_dryer(fibre: str) -> None:
    open_wide = limits(fibre)
    assert open_wide["wash.max_c"] <= 40
    assert open_wide["bleach"] != "any"
    assert open_wide["tumble"] == "none"
    assert open_wide["wash.action"] == "very_mild"
    assert open_wide["iron.max_c"] <= 150


@pytest.mark.parametrize("hair", ["alpaca", "camel", "cashmere", "mohair", "angora", "yak"])
def test_hair_is_treated_no_harder_than_wool(hair: str) -> None:
    wool, hairy = limits("wool"), limits(hair)
    assert [
        path for path in wool if path in hairy and path != "wash.allowed"
        and strictness(path, hairy[path]) < strictness(path, wool[path])
    ] == []  # fmt: skip


@pytest.mark.parametrize(
    "fibre",
    ["wool", "silk", "cashmere", "mohair", "elastane", "polyamide", "down", "leather", "acetate",
     "protein_regenerated"],
)  # fmt: skip
def test_chlorine_harms(fibre: str) -> None:
    assert limits(fibre)["bleach"] != "any"


def test_irons_go_from_linen_down_to_what_melts() -> None:
    order = ["linen", "wool", "silk", "chlorofibre"]
    irons = [limits(fibre)["iron.max_c"] for fibre in order]
    assert all(hotter >= cooler for hotter, cooler in pairwise(irons))
    assert (irons[0], irons[-1]) == (200, 0)
    assert limits("cotton")["iron.max_c"] >= limits("polyester")["iron.max_c"]
    assert limits("polyester")["iron.max_c"] >= limits("polyamide")["iron.max_c"]
    assert limits("polyamide")["iron.max_c"] >= limits("modacrylic")["iron.max_c"]


@pytest.mark.parametrize("fibre", ["chlorofibre", "polypropylene", "polyethylene", "modacrylic"])
def test_what_softens_low_meets_neither_iron_nor_dryer(fibre: str) -> None:
    open_wide = limits(fibre)
    assert (open_wide["iron.max_c"], open_wide["tumble"]) == (0, "none")


@pytest.mark.parametrize("fibre", ["chlorofibre", "elastodiene", "pvc_coating", "foam_latex"])
def test_what_solvent_dissolves_never_meets_it(fibre: str) -> None:
    assert limits(fibre)["dry_clean.solvents"] == []


@pytest.mark.parametrize(
    "kind", ["suit_jacket", "suit_2piece", "waistcoat", "coat_wool", "school_blazer", "tie"]
)
def test_what_is_tailored_stays_out_of_water_by_itself(kind: str) -> None:
    silent = decide_json(piece("wool", kind=kind))
    assert silent["limits"]["wash"]["allowed"] is False


@pytest.mark.parametrize("stain", ["blood", "egg", "milk and dairy", "vomit", "urine", "mucus"])
def test_protein_is_met_cold(stain: str) -> None:
    decision = decide_json(piece("cotton", WIDE_OPEN, stains=[stain]))
    first = [s["settings"]["max_c"] for s in decision["steps"] if s["step"] == "pre_spot"]
    assert first
    assert max(first) <= 30


@pytest.mark.parametrize("fibre", ["acetate", "triacetate", "modacrylic", "chlorofibre"])
def test_acetone_never_meets_what_it_dissolves(fibre: str) -> None:
    decision = decide_json(piece(fibre, WIDE_OPEN, stains=["nail polish"]))
    assert not [s for s in decision["steps"] if "acetone" in s["settings"].get("agents", [])]


@pytest.mark.parametrize(
    ("fibre", "water", "iron"),
    [
        # Hand-typed from handbook tables and label practice, not from the tables of the project.
        ("cotton", 95, 200), ("linen", 95, 200), ("hemp", 60, 200), ("polyester", 60, 150),
        ("polyamide", 40, 110), ("acrylic", 40, 110), ("viscose", 40, 150), ("modal", 40, 150),
        ("lyocell", 40, 150), ("acetate", 30, 110), ("wool", 30, 150), ("silk", 30, 110),
    ],
)  # fmt: skip
def test_the_fibres_of_every_day_stand_what_handbooks_say(
    fibre: str, water: int, iron: int
) -> None:
    """Fibre charts of university extension services and label practice, part from memory."""
    open_wide = limits(fibre)
    assert (open_wide["wash.max_c"], open_wide["iron.max_c"]) == (water, iron)
