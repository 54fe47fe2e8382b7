"""What each label symbol comes to, against published figures, and label readings as a whole.

Figures: GINETEX table of textile care symbols and JIS L 0001:2014 (washing 30, 40, 50, 60, 70 and
95 °C; ironing 200, 150 and 110 °C, the lowest without steam; dryer exhaust 80 and 60 °C); 2023
edition from summaries of JIS L 0001:2024; US terms from 16 CFR Part 423 Appendix A (cold 30 °C,
warm 44 °C, hot 63 °C, each mapped down to the ISO step below).
"""

from __future__ import annotations

import random
from typing import Any

import pytest

from care_rules import catalogue, decide_json
from tests.care_rules.builders import keys, piece, step
from tests.care_rules.severity import flat
from tests.care_rules.strategies import FIBRES, SYMBOLS

FULL = "wash_95 bleach_any tumble_normal line_dry iron_200 dry_clean_p wet_clean_w"


def labelled(symbols: str = FULL, fibre: str = "cotton", **label: str) -> dict[str, Any]:
    return flat(decide_json(piece(fibre, symbols, label=label, construction="woven")))


def with_symbol(symbol: str, **label: str) -> dict[str, Any]:
    """A white cotton piece whose label is wide open but for one symbol."""
    group = next(group for group, members in SYMBOLS.items() if symbol in members)
    others = [s for s in FULL.split() if s not in SYMBOLS[group]]
    return labelled(" ".join([*others, symbol]), **label)


@pytest.mark.parametrize(
    ("symbol", "degrees", "action"),
    [
        ("wash_95", 95, "normal"), ("wash_70", 70, "normal"), ("wash_60", 60, "normal"),
        ("wash_60_mild", 60, "mild"), ("wash_50", 50, "normal"), ("wash_50_mild", 50, "mild"),
        ("wash_40", 40, "normal"), ("wash_40_mild", 40, "mild"),
        ("wash_40_very_mild", 40, "very_mild"), ("wash_30", 30, "normal"),
        ("wash_30_mild", 30, "mild"), ("wash_30_very_mild", 30, "very_mild"),
        ("hand_wash", 40, "very_mild"), ("hand_wash_30", 30, "very_mild"),
    ],
)  # fmt: skip
def test_a_washing_symbol_gives_its_degrees_and_bars(
    symbol: str, degrees: int, action: str
) -> None:
    limits = with_symbol(symbol)
    assert (limits["wash.max_c"], limits["wash.action"]) == (degrees, action)
    assert limits["wash.hand_only"] is symbol.startswith("hand")


@pytest.mark.parametrize(
    ("symbol", "edition", "degrees", "steam"),
    [
        ("iron_200", "2012", 200, True), ("iron_150", "2012", 150, True),
        ("iron_110", "2012", 110, False), ("iron_110", "unknown", 110, False),
        ("iron_110", "2023", 120, True), ("iron_150", "2023", 160, True),
        ("iron_120_no_steam", "2023", 120, False), ("no_iron", "2023", 0, False),
    ],
)  # fmt: skip
def test_iron_dots_follow_the_edition(symbol: str, edition: str, degrees: int, steam: bool) -> None:
    limits = with_symbol(symbol, edition=edition)
    assert (limits["iron.max_c"], limits["iron.steam"]) == (degrees, steam)


def test_three_dots_of_2023_still_stop_at_what_cotton_stands() -> None:
    assert with_symbol("iron_200", edition="2023")["iron.max_c"] == 200


@pytest.mark.parametrize(
    ("market", "tumble"),
    [("iso", "normal"), ("jp", "normal"), ("us", "low"), ("ca", "low"), ("unknown", "low")],
)
def test_two_dryer_dots_follow_the_market_and_unknown_takes_the_gentler(
    market: str, tumble: str
) -> None:
    assert with_symbol("tumble_normal", market=market)["tumble"] == tumble


@pytest.mark.parametrize("market", ["us", "ca", "unknown"])
def test_one_iron_dot_of_any_market_has_no_steam_unless_the_edition_is_new(market: str) -> None:
    """ASTM's one dot does not by itself ban steam; the gentler reading is kept."""
    assert with_symbol("iron_110", market=market)["iron.steam"] is False


@pytest.mark.parametrize(
    ("symbol", "path", "value"),
    [
        ("no_wash", "wash.allowed", False), ("no_wash", "wash.max_c", 0),
        ("bleach_any", "bleach", "any"), ("bleach_oxygen_only", "bleach", "oxygen"),
        ("no_bleach", "bleach", "none"), ("tumble_low", "tumble", "low"),
        ("us_tumble_medium", "tumble", "low"), ("us_tumble_no_heat", "tumble", "no_heat"),
        ("no_tumble", "tumble", "none"), ("flat_dry", "air_dry.hang", False),
        ("drip_line_dry", "air_dry.drip", True), ("drip_line_dry", "wash.spin", "none"),
        ("line_dry_shade", "air_dry.shade", True),
        ("dry_clean_p", "dry_clean.solvents", ["P", "F"]),
        ("dry_clean_f", "dry_clean.solvents", ["F"]),
        ("dry_clean_f_mild", "dry_clean.action", "mild"),
        ("no_dry_clean", "dry_clean.solvents", []),
        ("wet_clean_w_mild", "wet_clean.action", "mild"),
        ("no_wet_clean", "wet_clean.allowed", False), ("us_do_not_wring", "wash.spin", "none"),
        ("legacy_dry_clean_a", "dry_clean.solvents", ["P", "F"]),
    ],
)  # fmt: skip
def test_a_symbol_sets_its_limit(symbol: str, path: str, value: Any) -> None:
    assert with_symbol(symbol)[path] == value


@pytest.mark.parametrize("symbol", ["legacy_dry_clean_a", "dry_clean_p_very_mild"])
def test_a_symbol_outside_the_standard_raises_a_question(symbol: str) -> None:
    decision = decide_json(piece("cotton", f"wash_40 {symbol}"))
    assert "label.nonstandard_symbol" in keys(decision, "caution")


@pytest.mark.parametrize(
    ("term", "path", "value"),
    [
        ("machine wash hot", "wash.max_c", 60), ("machine wash warm", "wash.max_c", 40),
        ("machine wash cold", "wash.max_c", 30), ("Hand Wash Cold", "wash.max_c", 30),
        ("hand wash", "wash.hand_only", True), ("gentle cycle", "wash.action", "very_mild"),
        ("permanent press cycle", "wash.action", "mild"), ("do not spin", "wash.spin", "none"),
        ("do not wring", "wash.spin", "none"), ("wash separately", "load.alone", True),
        ("wash inside out", "load.inside_out", True), ("tumble dry", "tumble", "normal"),
        ("tumble dry medium", "tumble", "low"), ("tumble dry no heat", "tumble", "no_heat"),
        ("dry flat", "air_dry.hang", False), ("drip dry", "air_dry.drip", True),
        ("cool iron", "iron.max_c", 110), ("do not iron", "iron.max_c", 0),
        ("steam only (ironing)", "iron.max_c", 0), ("do not steam", "iron.steam", False),
        ("use press cloth", "iron.press_cloth", True), ("no bleach", "bleach", "none"),
        ("petroleum", "dry_clean.solvents", ["F"]), ("short cycle", "dry_clean.action", "mild"),
        ("dryclean only", "wash.allowed", False), ("damp wipe only", "wash.allowed", False),
        ("do not use fabric softener", "load.softener", False),
        ("no tumble / do not tumble (dryclean)", "tumble", "none"),
    ],
)  # fmt: skip
def test_a_written_term_sets_its_limit(term: str, path: str, value: Any) -> None:
    decision = decide_json(piece("cotton", "", label={"terms": [term]}))
    assert flat(decision)[path] == value


def test_a_term_whose_solvent_is_no_longer_made_waits_for_an_answer() -> None:
    decision = decide_json(piece("cotton", "", label={"terms": ["fluorocarbon"]}))
    assert keys(decision, "hold") == ["label.ask_term"]


def test_words_that_forbid_beside_a_drawing_that_allows_are_a_contradiction() -> None:
    decision = decide_json(piece("cotton", "wash_40 iron_150", label={"terms": ["do not wash"]}))
    assert decision["limits"]["wash"]["allowed"] is False
    assert keys(decision, "hold") == ["label.contradiction.wash"]


def test_no_wash_beside_professional_wet_cleaning_is_consistent() -> None:
    decision = decide_json(piece("wool", "no_wash wet_clean_w_mild no_dry_clean"))
    assert (decision["outcome"], decision["process"]) == ("accept", "wet_clean")


def test_a_dead_end_is_declined_and_says_what_is_left() -> None:
    decision = decide_json(piece("cotton", "no_wash no_dry_clean no_wet_clean iron_150"))
    assert (decision["outcome"], decision["process"]) == ("decline", "none")
    (dead_end,) = [c for c in decision["cautions"] if c["key"] == "route.no_process"]
    assert "specialist" in dead_end["do"]
    assert decision["limits"]["iron"]["max_c"] == 150


def test_silence_on_a_treatment_falls_back_and_says_so() -> None:
    decision = decide_json(piece("cotton", "wash_60"))
    limits = flat(decision)
    assert limits["wash.max_c"] == 60
    assert (limits["bleach"], limits["tumble"], limits["iron.max_c"]) == ("none", "low", 150)
    assert limits["wet_clean.allowed"] is False
    assert keys(decision) == ["label.not_stated"]


def test_a_missing_natural_drying_symbol_is_no_gap() -> None:
    """ISO 3758:2012 makes natural drying an optional extra (from memory)."""
    symbols = "wash_60 bleach_any tumble_low iron_200 dry_clean_p wet_clean_w"
    assert keys(decide_json(piece("cotton", symbols))) == []


@pytest.mark.parametrize("state", ["missing", "unreadable", "not_needed"])
def test_a_lost_label_has_its_own_ceiling(state: str) -> None:
    decision = decide_json(piece("cotton", label={"state": state}))
    limits = flat(decision)
    # Household linen never had a label: white cotton among it stands 60 °C and oxygen bleach.
    water, bleach = (60, "oxygen") if state == "not_needed" else (40, "none")
    assert (limits["wash.max_c"], limits["wash.action"]) == (water, "mild")
    assert (limits["bleach"], limits["tumble"], limits["iron.max_c"]) == (bleach, "low", 150)
    assert keys(decision) == ([] if state == "not_needed" else [f"label.{state}"])
    assert decision["because"]["wash.max_c"] == [f"label.{state}"]


def test_what_is_left_of_an_unreadable_label_restricts_but_never_permits() -> None:
    decision = decide_json(
        piece("cotton", label={"state": "unreadable", "symbols": ["wash_30", "iron_200"]})
    )
    assert flat(decision)["wash.max_c"] == 30
    assert flat(decision)["iron.max_c"] == 150


@pytest.mark.parametrize("group", SYMBOLS)
def test_a_group_left_silent_and_then_spoken_loses_its_not_stated_word(group: str) -> None:
    """Silence is told where it changes what is done: no bleach on a stain, a cooler iron. Beside a
    wash that the label names, silence on the other cleanings and on the line changes nothing."""
    asked = {"services": ["clean", "press"], "stains": ["red wine"]}
    drying = {"tumble_dry": "natural_dry"}.get(group)
    spoken = [members[0] for name, members in SYMBOLS.items() if name != drying]
    silent = [s for s in spoken if s not in SYMBOLS[group]]
    assert "label.not_stated" not in keys(decide_json(piece("cotton", " ".join(spoken), **asked)))
    is_told = "label.not_stated" in keys(decide_json(piece("cotton", " ".join(silent), **asked)))
    assert is_told is (group in ("bleach", "tumble_dry", "iron"))


def test_a_label_that_names_no_cleaning_at_all_is_told_so_firmly() -> None:
    decision = decide_json(piece("cotton", "no_bleach tumble_low iron_150"))
    assert keys(decision, "caution") == ["label.not_stated"]
    (caution,) = decision["cautions"]
    for word in ("washing", "wet cleaning", "dry cleaning"):
        assert word in caution["says"]


def test_a_hand_in_the_tub_means_washing_by_hand() -> None:
    """Common practice, no source: the hand suits wool, silk and fine cloth."""
    decision = decide_json(piece("silk", "hand_wash no_bleach no_tumble iron_110 dry_clean_p"))
    assert decision["process"] == "hand_wash"
    assert step(decision, "wash")["settings"]["max_c"] == 30


def one_or_none(group: str) -> list[list[str]]:
    return [[], *([symbol] for symbol in SYMBOLS[group])]


OWN = {
    "wash": ("wash.",), "bleach": ("bleach",), "tumble_dry": ("tumble",),
    "natural_dry": ("air_dry.", "wash.spin"), "iron": ("iron.",), "dry_clean": ("dry_clean.",),
    "wet_clean": ("wet_clean.",),
}  # fmt: skip


@pytest.mark.parametrize("group", OWN)
def test_a_symbol_touches_the_limits_of_its_own_group_only(group: str) -> None:
    draw = random.Random(group)
    for fibre in FIBRES:
        rest = [s for other in OWN if other != group for s in draw.choice(one_or_none(other))]
        seen = [
            labelled(" ".join([*rest, *chosen]), fibre, market="iso")
            for chosen in one_or_none(group)
        ]
        for limits in seen[1:]:
            changed = [path for path in limits if limits[path] != seen[0][path]]
            assert [path for path in changed if not path.startswith(OWN[group])] == []


def test_the_catalogue_lists_symbols_in_label_order() -> None:
    """Order of GINETEX and JIS L 0001."""
    groups = list(dict.fromkeys(entry.group for entry in catalogue.symbols()))
    assert groups == [
        "wash", "bleach", "tumble_dry", "natural_dry", "iron", "dry_clean", "wet_clean",
    ]  # fmt: skip
    assert all(entry.geometry for entry in catalogue.symbols())


def test_a_label_that_names_wet_cleaning_alone_is_silent_on_nothing_that_matters() -> None:
    """The normal process is a whole way to clean it (ISO 3758:2023); a gentler one is not."""
    assert "label.not_stated" not in keys(decide_json(piece("cotton", "wet_clean_w")))
