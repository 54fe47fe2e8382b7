"""A mix of fibres chosen with one tap goes into the part it stands under."""

from __future__ import annotations

import pytest
from django.http import QueryDict

from counter.intake.choice_lists import MIXES
from counter.intake.forms import read_piece

FIRST_MIX = next(iter(MIXES))
TWO_PARTS = (
    "part-0=shell&fibre-0-0=wool&percent-0-0=100&part-1=lining&fibre-1-0=silk&percent-1-0=100"
)


@pytest.mark.parametrize("mix", MIXES)
def test_a_mix_comes_to_a_hundred(mix: str) -> None:
    assert sum(percent for _key, percent in MIXES[mix]) == 100


def shares(query: str, do: str) -> list[tuple[str, list[str]]]:
    parts = read_piece(QueryDict(query), do)["facts"].get("components", ())
    return [(part["part"], [share["fibre"] for share in part["fibres"]]) for part in parts]


@pytest.mark.parametrize(
    ("place", "filled"), [("0", [0]), ("1", [1]), ("", [0]), ("x", [0]), ("2", [])]
)
def test_a_mix_fills_its_part(place: str, filled: list[int]) -> None:
    mix = [key for key, _percent in MIXES[FIRST_MIX]]
    before = [("shell", ["wool"]), ("lining", ["silk"])]
    after = [
        (part, mix if number in filled else fibres) for number, (part, fibres) in enumerate(before)
    ]
    assert shares(TWO_PARTS, f"mix:{place}:{FIRST_MIX}") == after
    assert shares(TWO_PARTS, f"mix:{place}:no such mix") == before


def test_a_mix_makes_the_first_part_where_there_is_none() -> None:
    mix = [key for key, _percent in MIXES[FIRST_MIX]]
    assert shares("", f"mix:0:{FIRST_MIX}") == [("shell", mix)]
    assert shares("", f"mix:1:{FIRST_MIX}") == []
