"""The same drawing read in another edition or market; where either is unknown, the gentler stands.

Sources: GINETEX table, JIS L 0001:2014 and summaries of the 2024 revision (ISO 3758:2023 figures),
the FTC care-symbol card for US words; the ASTM figures 110, 150 and 200 °C are from memory.
"""

from __future__ import annotations

import itertools
from typing import Any

import pytest

from care_rules import decide_json
from care_rules import vocabulary as words
from care_rules.tables import book
from tests.care_rules.builders import piece
from tests.care_rules.severity import flat, strictness

MARKETS = ("iso", "us", "ca", "jp", "unknown")


def read(symbol: str, edition: str = "unknown", market: str = "unknown") -> dict[str, Any]:
    label = {"state": "read", "edition": edition, "market": market, "symbols": [symbol]}
    return flat(decide_json(piece("cotton", label=label, colour="white")))


def iron(symbol: str, edition: str, market: str) -> tuple[int, bool]:
    limits = read(symbol, edition, market)
    return min(limits["iron.max_c"], 200), limits["iron.steam"]


#: symbol: figures of 2012 and unknown, of 2023, and on a US or Canadian label of any edition
IRONS = {
    "iron_110": ((110, False), (120, True), (110, False)),
    "iron_150": ((150, True), (160, True), (150, True)),
    "iron_200": ((200, True), (200, True), (200, True)),
    "no_iron": ((0, False), (0, False), (0, False)),
}


@pytest.mark.parametrize(
    ("symbol", "edition", "market"),
    list(itertools.product(IRONS, words.EDITIONS, MARKETS)),
)
def test_iron_dots_in_every_edition_and_market(symbol: str, edition: str, market: str) -> None:
    """An edition is one of ISO 3758: on a US or Canadian label it changes nothing."""
    older, newer, american = IRONS[symbol]
    expected = american if market in ("us", "ca") else newer if edition == "2023" else older
    assert iron(symbol, edition, market) == expected


@pytest.mark.parametrize(
    ("edition", "market", "degrees"),
    [
        ("2023", "unknown", 120), ("2023", "iso", 120), ("unknown", "iso", 120),
        ("unknown", "jp", 120), ("unknown", "us", 110), ("2023", "us", 110), ("2012", "ca", 110),
        ("unknown", "unknown", 110), ("2012", "unknown", 110),
    ],
)  # fmt: skip
def test_one_dot_with_crossed_steam_is_hotter_only_where_it_can_be_the_new_symbol(
    edition: str, market: str, degrees: int
) -> None:
    assert iron("iron_120_no_steam", edition, market) == (degrees, False)


@pytest.mark.parametrize(
    ("market", "tumble"),
    [("iso", "normal"), ("jp", "normal"), ("us", "low"), ("ca", "low"), ("unknown", "low")],
)
@pytest.mark.parametrize("edition", words.EDITIONS)
def test_two_dryer_dots(market: str, tumble: str, edition: str) -> None:
    assert read("tumble_normal", edition, market)["tumble"] == tumble


@pytest.mark.parametrize("market", MARKETS)
def test_the_american_drawing_of_two_dots_stays_medium_everywhere(market: str) -> None:
    assert read("us_tumble_medium", market=market)["tumble"] == "low"


#: Tub dots of the FTC card beside the figure of the tub: 1 to 6 dots.
DOTS = ("30", "40", "50", "60", "70", "95")


@pytest.mark.parametrize(("dots", "degrees"), list(enumerate(DOTS, start=1)))
def test_tub_dots_are_drawn_beside_their_figure_and_read_alike_in_every_market(
    dots: int, degrees: str
) -> None:
    row = book()["symbols"][f"wash_{degrees}"]
    assert row.cells["astm"].startswith(f"tub with {dots} dot")
    degrees_read = {read(row.bare, market=market)["wash.max_c"] for market in MARKETS}
    assert degrees_read == {int(degrees)}


@pytest.mark.parametrize("symbol", sorted(book()["symbols"]))
def test_an_unknown_edition_or_market_is_never_looser_than_a_known_one(symbol: str) -> None:
    unknown = read(symbol)
    for edition, market in itertools.product(words.EDITIONS, MARKETS):
        known = read(symbol, edition, market)
        loose = [
            path for path in unknown
            if strictness(path, unknown[path]) < strictness(path, known[path])
        ]  # fmt: skip
        assert loose == [], (edition, market)


@pytest.mark.parametrize("edition", ["2012", "2023"])
def test_knowing_the_market_too_is_never_looser_than_not_knowing_either(edition: str) -> None:
    for symbol in book()["symbols"]:
        alone, unknown = read(symbol, edition), read(symbol)
        assert all(strictness(p, unknown[p]) >= strictness(p, alone[p]) for p in alone)


def test_old_marks_in_words_keep_to_the_symbol_at_or_below_their_figure() -> None:
    """JIS L 0217 as reproduced in Japanese guides: up to 210, 160 and 120 °C."""
    degrees = []
    for mark in ("high", "medium", "low"):
        label = {"state": "read", "symbols": [], "terms": [f"old Japanese iron {mark}"]}
        degrees.append(flat(decide_json(piece("cotton", label=label)))["iron.max_c"])
    assert degrees == [200, 150, 110]


def test_a_tub_number_outside_the_standard_is_a_ceiling_or_a_question() -> None:
    label = {"state": "read", "terms": ["tub with number 20"]}
    cool = decide_json(piece("cotton", label=label))
    assert (cool["limits"]["wash"]["max_c"], cool["outcome"]) == (20, "accept")
    odd = decide_json(piece("cotton", label={**label, "terms": ["tub with number above 95"]}))
    assert (odd["limits"]["wash"]["max_c"], odd["outcome"]) == (30, "ask")
