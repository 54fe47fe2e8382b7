"""The cloth of a piece decides how many litres a kilogram needs (``load.ratio`` rows)."""

from __future__ import annotations

import pytest

from care_rules import read_facts
from tests.care_rules.builders import decided, piece
from tickets.loads.care import load_piece_from
from tickets.loads.items import room_taken
from tickets.loads.together import programme_for, why_not_run
from tickets.shop.machine_facts import MachineFacts, usual_programmes, wet_programmes

FILLS = ("drum two thirds full", "drum a third full")


@pytest.mark.parametrize(
    ("fibres", "colour", "cloth"),
    [
        ("cotton", "white", "cotton_white"),
        ("cotton", "dark", "coloured_cotton"),
        ("linen", "white", "cotton_white"),
        ("polyester 65, cotton 35", "white", "polycotton"),
        ("polyester", "dark", "polyester"),
        ("viscose", "dark", "delicate"),
    ],
)
def test_the_shell_names_its_loading_ratio(fibres: str, colour: str, cloth: str) -> None:
    facts = piece(fibres, "wash_40 no_bleach tumble_low iron_110", colour=colour)
    loaded = load_piece_from(
        decided(facts), read_facts(facts), grams=300, due=600, code="1000001017"
    )
    assert loaded.cloth == cloth


@pytest.mark.parametrize(
    ("symbol", "says", "count"),
    [
        ("wash_40", "", 10),
        ("wash_40_mild", "drum two thirds full", 6),
        ("wash_30_very_mild", "drum a third full", 3),
    ],
)
def test_a_load_with_bars_is_as_light_as_the_step_of_its_pieces_says(
    symbol: str, says: str, count: int
) -> None:
    """Kilograms in 100 litres: two thirds of a full drum for one bar, a third for two, by a
    newspaper's care guide and a retailer's wash guide (row ``load_fill_by_bar``). A full drum
    holds a kilogram of cotton for each 10 litres (EN 17116-4:2020, by its scope statement)."""
    facts = piece("cotton", f"{symbol} no_bleach tumble_low iron_150", colour="white")
    decision = decided(facts)
    [wash] = [step for step in decision.steps if step.step == "wash"]
    assert [fill for fill in FILLS if fill in wash.says] == ([says] if says else [])
    loaded = load_piece_from(decision, read_facts(facts), grams=1000, due=600, code="1000001017")
    machine = MachineFacts("Washer", "washer", 100.0, usual_programmes())
    programme = programme_for([loaded], machine)
    assert programme is not None
    pieces_of_a_kilogram = machine.room // room_taken(loaded, programme)
    assert pieces_of_a_kilogram == count


def test_a_crossed_tub_keeps_no_piece_out_of_the_wet_cleaning_machine() -> None:
    """ISO 3758: the symbols of wet cleaning stand beside a crossed tub, and ban nothing of it."""
    facts = piece(
        "viscose",
        "no_wash no_bleach no_tumble iron_110 no_dry_clean wet_clean_w_mild",
        shop={"wet_cleaning": True, "dry_cleaning": [], "send_out": []},
    )
    decision = decided(facts)
    assert (decision.process, decision.limits.wash.allowed) == ("wet_clean", False)
    loaded = load_piece_from(decision, read_facts(facts), grams=400, due=600, code="1000001017")
    machine = MachineFacts("Wet cleaner", "wet_cleaner", 100.0, wet_programmes())
    programme = programme_for([loaded], machine)
    assert programme is not None
    assert (programme.key, why_not_run([loaded], machine)) == ("wetclean_mild", "")
