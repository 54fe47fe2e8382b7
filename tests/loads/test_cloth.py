"""The cloth of a piece decides how many litres a kilogram needs (``load.ratio`` rows)."""

from __future__ import annotations

import pytest

from care_rules import decide_json
from tests.care_rules.builders import piece
from tickets.loads.care import load_piece_from


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
    loaded = load_piece_from(decide_json(facts), facts, grams=300, due=600, code="1000001017")
    assert loaded.cloth == cloth
