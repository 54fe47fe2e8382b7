"""Facts that the trade hands on, as check values. All: common practice, no source.

Where such a fact and a published source disagree, the source and the gentler value win, and the
test says so.
"""

from __future__ import annotations

from typing import Any

import pytest

from care_rules import decide_json, home_care, may_share_load, parse_facts, rule
from care_rules.errors import FactsError
from tests.care_rules.builders import decided, piece, steps


def limits(*args: Any, **more: Any) -> dict[str, Any]:
    limits_decided: dict[str, Any] = decide_json(piece(*args, **more))["limits"]
    return limits_decided


def test_a_crossed_tub_means_no_washing() -> None:
    assert limits("cotton", "no_wash dry_clean_p")["wash"]["allowed"] is False


@pytest.mark.parametrize("fibre", ["wool", "silk", "cashmere"])
def test_a_hand_in_the_tub_suits_wool_silk_and_fine_cloth(fibre: str) -> None:
    decision = decide_json(piece(fibre, "hand_wash no_bleach no_tumble"))
    assert (decision["outcome"], decision["process"]) == ("accept", "hand_wash")


def test_one_bar_is_gentle_and_two_bars_are_very_gentle_with_little_spin() -> None:
    one_bar = limits("polyester", "wash_40_mild")["wash"]
    two_bars = limits("polyester", "wash_40_very_mild")["wash"]
    assert (one_bar["action"], two_bars["action"]) == ("mild", "very_mild")
    assert two_bars["spin"] != "normal"


def test_a_colour_is_washed_as_its_label_says_and_cool_without_one() -> None:
    """Common practice, no source: the maker's own label knows the dye, a habit does not."""
    labelled = limits("cotton", "wash_60", kind="sheet_double", colour="dark")
    silent = limits("cotton", "no_bleach", kind="sheet_double", colour="dark")
    assert (labelled["wash"]["max_c"], silent["wash"]["max_c"]) == (60, 40)


def test_whites_and_colours_stay_apart_and_colours_get_no_chlorine() -> None:
    """The trade lets washable whites and colours share a load without bleach. The laundry advice
    pages in the table keep them apart, which is gentler, so that stands."""
    white = decided(piece("cotton", "wash_40 bleach_any", colour="white"))
    bright = decided(piece("cotton", "wash_40 bleach_any", colour="bright"))
    assert may_share_load(white, bright)[0] is False
    assert bright.limits.bleach != "any"


@pytest.mark.parametrize(
    ("symbol", "hang"), [("line_dry", True), ("drip_line_dry", True), ("flat_dry", False)]
)
def test_a_line_in_the_square_hangs_or_lies_flat(symbol: str, hang: bool) -> None:
    assert limits("cotton", f"wash_40 {symbol}")["air_dry"]["hang"] is hang


def test_a_crossed_circle_in_the_square_means_no_tumbling() -> None:
    assert limits("cotton", "wash_40 no_tumble")["tumble"] == "none"


def test_one_dryer_dot_is_low_and_two_are_normal() -> None:
    label = {"state": "read", "market": "iso"}
    one_dot = piece("cotton", label={**label, "symbols": ["wash_60", "tumble_low"]})
    two_dots = piece("cotton", label={**label, "symbols": ["wash_60", "tumble_normal"]})
    tumbles = [decide_json(facts)["limits"]["tumble"] for facts in (one_dot, two_dots)]
    assert tumbles == ["low", "normal"]


@pytest.mark.parametrize(
    ("symbol", "degrees", "steam"),
    [("iron_110", 110, False), ("iron_150", 150, True), ("iron_200", 200, True)],
)
def test_iron_dots_are_low_without_steam_medium_and_hot(
    symbol: str, degrees: int, steam: bool
) -> None:
    iron = limits("cotton", f"wash_60 {symbol}", colour="white")["iron"]
    assert (iron["max_c"], iron["steam"]) == (degrees, steam)


@pytest.mark.parametrize("trim", ["print_transfer_foil", "print_flock", "sequins", "foam_bonded"])
def test_prints_sequins_and_foam_get_no_plain_ironing(trim: str) -> None:
    decision = decide_json(piece("polyester", "wash_30_mild iron_150", trims=[trim]))
    press = [step for step in decision["steps"] if step["step"] == "press"]
    assert decision["limits"]["iron"]["max_c"] == 0 or all(
        "keep the iron off" in step["says"].lower() for step in press
    )


def test_the_letter_in_the_circle_names_the_solvent_and_a_cross_forbids_it() -> None:
    assert limits("wool", "no_wash dry_clean_p")["dry_clean"]["solvents"] == ["P", "F"]
    assert limits("wool", "no_wash dry_clean_f")["dry_clean"]["solvents"] == ["F"]
    assert limits("wool", "hand_wash no_dry_clean")["dry_clean"]["solvents"] == []


def test_wool_is_washed_cool_with_no_spin_to_speak_of_no_tumbling_and_dried_flat() -> None:
    wool = limits("wool", "wash_30_very_mild", construction="knit")
    assert wool["wash"]["max_c"] == 30
    assert wool["wash"]["action"] == "very_mild"
    assert wool["wash"]["spin"] in ("none", "reduced")
    assert wool["tumble"] == "none"
    assert wool["air_dry"]["hang"] is False


def test_felting_comes_from_warm_moving_water_and_cannot_be_undone() -> None:
    says = rule("fibre.wool").says
    assert "felts in warm, moving water" in says
    assert "cannot be undone" in says


def test_natural_fibres_often_need_airing_rather_than_washing() -> None:
    advice = home_care(decided(piece("wool", "wash_30_very_mild no_tumble")))
    assert any(line.startswith("Air it") for line in advice)
    polyester = home_care(decided(piece("polyester", "wash_40")))
    assert not any(line.startswith("Air it") for line in polyester)
    cotton = home_care(decided(piece("cotton", "wash_60")))
    assert not any(line.startswith("Air it") for line in cotton)


def test_hardware_is_turned_inside_out_and_fine_pieces_go_in_a_mesh_bag() -> None:
    jeans = piece("cotton", "wash_40", trims=["metal_hardware"], colour="dark", kind="jeans")
    assert decide_json(jeans)["load"]["inside_out"] is True
    lace = piece("polyamide", "wash_30_mild", trims=["lace"])
    assert decide_json(lace)["load"]["mesh_bag"] is True


def test_sun_whitens_white_and_fades_colour() -> None:
    white = limits("cotton", "wash_60 line_dry", colour="white")
    bright = limits("cotton", "wash_60 line_dry", colour="bright")
    assert (white["air_dry"]["shade"], bright["air_dry"]["shade"]) == (False, True)


def test_whites_take_up_what_colour_sheds() -> None:
    assert "greys" in rule("colour.white").says


def test_plastic_comes_off_after_solvent_and_cloth_keeps_clean_clothes() -> None:
    coat = decided(piece("wool", "no_wash no_tumble iron_150 dry_clean_p", kind="coat_wool"))
    advice = " ".join(home_care(coat))
    assert "plastic" in advice.lower()
    assert "store it in cloth" in advice


def test_there_is_no_45_degree_step() -> None:
    """The trade speaks of 45 degrees; ISO 3758 and JIS L 0001 have 30, 40, 50, 60, 70 and 95 (the
    symbol list was read), so 45 is refused and 40 is the symbol below it."""
    with pytest.raises(FactsError) as refused:
        parse_facts(piece("cotton", label={"state": "read", "symbols": ["wash_45"]}))
    assert refused.value.faults[0].field == "label.symbols[0]"
    assert limits("cotton", "wash_40")["wash"]["max_c"] == 40


def test_a_freezer_cleans_nothing() -> None:
    """The trade says that freezing kills all bacteria; textile microbiology teaching says that most
    live on, and the rule follows it."""
    assert "most germs live on" in rule("freezer.claim").says


def test_a_hem_leaves_the_way_of_a_piece_without_water() -> None:
    assert "wash" not in steps(decide_json(piece("cotton", "wash_40", services=["alter"])))
