"""How cloth behaves: baths, drying, pressing, shrinkage, finishes, solvents and colour tests.

The figures are typed from the source that each test names, never read from the tables.
"""

from __future__ import annotations

from typing import Any

import pytest

from care_rules import decide_json
from care_rules.behaviour import bath_of, shrinking
from care_rules.drying_time import hours_to_dry, vapour_lacking, water_to_lose
from care_rules.limits import SOLVENT_SETS, SOLVENTS
from care_rules.rows import Row
from care_rules.tables import book
from tests.care_rules.builders import piece, step, steps

ALL_HERE = {"wet_cleaning": True, "dry_cleaning": ["P", "F"], "send_out": ["leather"]}
PERC_ONLY = ALL_HERE | {"dry_cleaning": ["P"]}


def row(table: str, key: str) -> dict[str, str]:
    return book()[table][key].cells


# The bath


@pytest.mark.parametrize("fibre", ["wool", "silk", "cashmere", "mohair", "wool 5, polyester 95"])
def test_no_protease_and_no_alkali_for_wool_and_silk(fibre: str) -> None:
    """Cleaning-products association on special fabrics; wool itself stands at pH 4.5 to 6.5."""
    wash = step(decide_json(piece(fibre, "hand_wash no_bleach")), "wash")
    assert wash["settings"]["detergent"] == "wool"
    assert "in wool detergent" in wash["says"]
    chemistry = bath_of({f"fibre:{fibre.split()[0]}", "family:protein"}, book())
    assert chemistry.enzymes_harm
    assert 4.5 <= chemistry.ph_low < 7 < chemistry.ph_high <= 8
    assert "no enzymes" in row("detergents", "wool")["says"]


def test_every_fibre_that_enzymes_would_eat_has_a_bath_without_them() -> None:
    """What the spotter must not use on it, the bath must not hold either."""
    banned = {fibre for fibre, agents in book().agent_bans.items() if "enzyme" in agents}
    washable = {fibre for fibre in banned if book()["fibres"][fibre].cells["family"] != "skin"}
    for fibre in washable:
        family = book()["fibres"][fibre].cells["family"]
        assert bath_of({f"fibre:{fibre}", f"family:{family}"}, book()).enzymes_harm, fibre


def test_a_piece_of_two_fibres_gets_the_bath_that_both_stand() -> None:
    known = {"fibre:wool", "family:protein", "fibre:cotton", "family:cellulosic_natural"}
    chemistry = bath_of(known, book())
    assert (chemistry.detergent, chemistry.ph_low, chemistry.ph_high) == ("wool", 6, 8)


def test_plain_cotton_names_no_detergent_and_what_nobody_knows_gets_the_gentlest() -> None:
    assert "detergent" not in step(decide_json(piece("cotton", "wash_60")), "wash")["settings"]
    unknown = decide_json(piece("", "wash_30"))
    assert step(unknown, "wash")["settings"]["detergent"] == "wool"


@pytest.mark.parametrize(
    "facts",
    [
        piece("cotton", "wash_60", kind="towel_bath_70x140"),
        piece("cotton", "wash_60", trims=["terry_pile"]),
        piece("polyester", "wash_40", trims=["microfibre"]),
        piece("polyamide 80, elastane 20", "wash_40", trims=["moisture_wicking"]),
        piece("polyester", "wash_40", trims=["laminated_membrane"]),
        piece("cotton", "wash_40", hazards=["fr.workwear"]),
        piece("aramid", "wash_40"),
    ],
)
def test_softener_never_comes_to_what_must_soak_wick_repel_or_not_burn(facts: Any) -> None:
    """Towel makers' notes, an appliance maker's tip, guides on flame resistant clothing."""
    decision = decide_json(facts)
    assert decision["load"]["softener"] is False
    assert any("softener" in line for line in decision["home"])
    assert decide_json(piece("cotton", "wash_40"))["load"]["softener"] is True


# Drying


@pytest.mark.parametrize(("celsius", "saturated"), [(15, 1.705), (20, 2.339), (25, 3.169)])
def test_air_can_hold_what_steam_tables_say(celsius: float, saturated: float) -> None:
    """Steam tables (from memory), in kilopascal."""
    assert vapour_lacking(celsius, 0) == pytest.approx(saturated, rel=0.005)
    assert vapour_lacking(celsius, 65) == pytest.approx(0.35 * saturated, rel=0.005)
    with pytest.raises(ValueError, match="humidity 100"):
        vapour_lacking(celsius, 100)


def test_terry_holds_the_water_that_was_measured() -> None:
    """Trade articles: 2.5 kg to the kg unspun, 98 per cent after 100 G, 65 after 350 G."""
    terry = row("drying", "terry")
    assert [int(terry[f"left_{spin}"]) for spin in ("none", "reduced", "normal")] == [250, 98, 65]


@pytest.mark.parametrize(
    ("key", "grams", "spin", "lying", "hours"),
    [
        # The shop's own planning figures (common practice, no source), a quarter either way.
        ("plant", 220, "normal", False, 12), ("plant", 700, "normal", False, 18),
        ("synthetic", 200, "normal", False, 8), ("protein", 450, "reduced", True, 24),
    ],
)  # fmt: skip
def test_the_model_meets_the_hours_of_practice(
    key: str, grams: int, spin: str, lying: bool, hours: float
) -> None:
    water = water_to_lose(book()["drying"][key], grams, spin)
    assert hours_to_dry(water, lying=lying) == pytest.approx(hours, rel=0.25)


def test_damp_air_takes_half_as_long_again_and_warm_air_less() -> None:
    """Half again above 65 per cent: the shop's planning figure (common practice, no source)."""
    assert hours_to_dry(100, humidity=77) == pytest.approx(1.5 * hours_to_dry(100), rel=0.03)
    assert hours_to_dry(100, celsius=25) < hours_to_dry(100) < hours_to_dry(100, celsius=15)


def test_a_hung_piece_has_its_hours_and_a_slow_one_says_so() -> None:
    shirt = step(decide_json(piece("cotton", "wash_60 line_dry", kind="shirt_cotton")), "dry")
    assert shirt["settings"]["hours"] == 12
    assert "hours" not in shirt["says"]
    blanket = step(decide_json(piece("wool", "hand_wash", kind="blanket_wool_double")), "dry")
    assert blanket["settings"]["hours"] > 48
    assert f"It takes {blanket['settings']['hours']} hours; move the air." in blanket["says"]


# Pressing


@pytest.mark.parametrize(
    ("facts", "says", "pad", "vacuum"),
    [
        (piece("wool", "dry_clean_p iron_150"), "through a damp cloth", "soft", True),
        (piece("cashmere", "dry_clean_p iron_150"), "Then brush the nap one way.", "soft", True),
        (piece("silk", "dry_clean_p iron_110"), "no steam, on the reverse, through a cloth",
         "soft", False),
        (piece("linen", "wash_60 iron_200"), "Press damp up to 200 °C", "firm", False),
        (piece("wool", "dry_clean_p iron_150", trims=["pleats_pressed"]),
         "Cool the pleats under the vacuum.", "soft", True),
        (piece("cotton", "dry_clean_p", trims=["velvet_cut_pile"]), "never touch the pile",
         "needle", False),
    ],
    ids=["wool", "hair", "silk", "linen", "pleats", "velvet"],
)  # fmt: skip
def test_each_cloth_is_pressed_in_its_own_way(
    facts: Any, says: str, pad: str, vacuum: bool
) -> None:
    """Trade articles on finishing: hair (steam lightly, vacuum, brush one way), sheer silk (iron
    from damp without steam), pleats (steam, then vacuum), velvet (a pile cloth)."""
    press = step(decide_json(facts | {"services": ["clean", "press"]}), "press")
    assert says in press["says"]
    assert (press["settings"]["pad"], press["settings"]["vacuum"]) == (pad, vacuum)


# Shrinkage


@pytest.mark.parametrize(
    ("facts", "percent"),
    [
        # Mill notes of 2018 (plain cotton 6, worsted 4), a wool garment manual (knits 5), sellers'
        # notes on linen (10), a consumer page (rayon 10), a laboratory note (polyester 1 boiled).
        ({"fibre:cotton", "construction:woven"}, 6), ({"fibre:cotton", "construction:knit"}, 10),
        ({"fibre:wool", "construction:woven"}, 4), ({"fibre:wool", "construction:knit"}, 5),
        ({"fibre:linen"}, 10), ({"fibre:viscose"}, 10),
    ],
)  # fmt: skip
def test_cloth_shrinks_by_what_was_published(facts: set[str], percent: int) -> None:
    assert int(shrinking(facts, book())[0].cells["most"]) == percent
    assert int(row("shrinkage", "synthetic")["most"]) == 1
    assert int(row("shrinkage", "chlorofibre")["most"]) == 50


def test_heat_alone_shrinks_nothing_in_a_bath() -> None:
    assert shrinking({"fibre:chlorofibre"}, book()) == []


def test_before_a_cut_the_bench_hears_how_much_it_may_shrink() -> None:
    work: dict[str, Any] = {"services": ["alter"], "work": ["trouser_hem_plain"]}

    def warned(fibre: str, symbols: str, **more: Any) -> dict[str, Any]:
        cautions = decide_json(piece(fibre, symbols, **work, **more))["cautions"]
        return next((c for c in cautions if c["key"] == "route.wash_before_cut"), {})

    cotton = warned("cotton", "wash_60", construction="woven")
    assert cotton["says"] == "After the cut it may still shrink by up to 6 %."
    assert "shrinkage.cotton" in cotton["because"]
    assert warned("wool", "no_wash dry_clean_p")["do"] == "Leave that much in the hem."
    assert warned("polyester", "wash_60") == {}


def test_a_wool_knit_is_eased_back_to_its_size() -> None:
    knit = piece("wool", "hand_wash", kind="sweater_wool", construction="knit")
    assert "eased to size" in step(decide_json(knit), "dry")["says"]
    assert "eased" not in step(decide_json(piece("wool", "hand_wash")), "dry")["says"]


# Finishes


def test_warmth_brings_water_repellency_back_where_warmth_is_allowed() -> None:
    """Encyclopaedia and outdoor makers: low or medium tumbling lifts the finish again."""
    words = "Tumbled warm once dry, it repels water again."
    coat = {"kind": "raincoat", "trims": ["laminated_membrane"]}
    assert words in decide_json(piece("polyester", "wash_40 tumble_low", **coat))["home"]
    assert words not in decide_json(piece("polyester", "wash_40 no_tumble", **coat))["home"]
    assert words not in decide_json(piece("polyester", "wash_40 tumble_low"))["home"]


def test_a_flame_resistant_finish_keeps_from_what_takes_it() -> None:
    """Abstract of 1971 (soap), a laboratory study (chlorine within 50 to 100 washes)."""
    removed = set(book()["finishes"]["flame_resistant"].listed("removed_by"))
    assert {"chlorine", "soap in hard water", "softener"} <= removed
    decision = decide_json(piece("cotton", "wash_60 bleach_any", hazards=["fr.workwear"]))
    assert (decision["limits"]["bleach"], decision["load"]["softener"]) == ("none", False)
    assert "no tallow soap" in step(decision, "wash")["says"]
    assert row("finishes", "child_sleepwear")["washes"] == "50"


# Solvents


def test_the_solvents_are_as_strong_as_published() -> None:
    """Trade article: 90 and 30 on the kauri-butanol scale; perchloroethylene boils at 250 °F."""
    assert (row("solvents", "perc")["kb"], row("solvents", "hydrocarbon")["kb"]) == ("90", "30")
    assert int(row("solvents", "perc")["boils_c"]) == round((250 - 32) / 1.8)


def closes(limited: Row, letter: str) -> bool:
    sets = [SOLVENT_SETS[sev] for axis, sev, _softness in limited.pairs if axis == SOLVENTS]
    return any(letter not in allowed for allowed in sets if allowed != "none") or "none" in sets


@pytest.mark.parametrize("key", ["perc", "hydrocarbon"])
def test_what_a_solvent_must_not_meet_is_kept_from_its_letter(key: str) -> None:
    fluid = book()["solvents"][key]
    assert len(fluid.listed("never_in")) > 20
    for name in fluid.listed("never_in"):
        limited = book()["fibres"].get(name) or book()["trims"][name]
        assert closes(limited, fluid.cells["letter"]), name


def test_a_barred_p_is_dried_at_50_degrees_at_most() -> None:
    """Trade article of 2006 on high-value clothes: outlet air of a barred P."""
    mild = decide_json(piece("wool", "no_wash dry_clean_p_mild", shop=PERC_ONLY))
    assert "dried fully in the machine up to 50 °C" in step(mild, "wash")["says"]
    normal = decide_json(piece("wool", "no_wash dry_clean_p", shop=PERC_ONLY))
    assert "50 °C" not in step(normal, "wash")["says"]


# Colour tests


def test_the_colour_is_tested_in_what_the_piece_is_cleaned_with() -> None:
    """Laundry advice pages: a damp seam on white cloth, a hidden place with the solvent."""
    washed = decide_json(piece("cotton", "wash_40", colour="bright"))
    assert step(washed, "test")["says"] == "Stop if a damp hidden seam stains cotton."
    cleaned = piece("wool", "no_wash dry_clean_p", colour="bright", shop=ALL_HERE)
    assert "in solvent stains" in step(decide_json(cleaned), "test")["says"]


@pytest.mark.parametrize("grade", ["grade_stain_5", "grade_stain_4", "colour_test_wet"])
def test_a_test_that_was_answered_is_not_asked_for_again(grade: str) -> None:
    assert "test" in steps(decide_json(piece("cotton", "wash_40", colour="bright")))
    answered = piece("cotton", "wash_40", colour="bright", trims=[grade])
    assert "test" not in steps(decide_json(answered))


@pytest.mark.parametrize("answer", ["colour_test_wet", "grade_stain_2", "grade_stain_1"])
def test_a_piece_that_bleeds_on_itself_stays_out_of_water(answer: str) -> None:
    """Alone in the bath is no help where the red runs into the white of the same piece."""
    symbols = "wash_40 dry_clean_p wet_clean_w"
    plain = decide_json(piece("cotton", symbols, colour="bright", trims=[answer]))
    assert plain["limits"]["wash"] | {"max_c": 30} == plain["limits"]["wash"]
    assert (plain["process"], plain["load"]["alone"]) == ("machine_wash", True)
    striped = decide_json(piece("cotton", symbols, colour="mixed", trims=[answer]))
    assert striped["limits"]["wash"]["allowed"] is False
    assert striped["limits"]["wet_clean"]["allowed"] is False
    assert (striped["outcome"], striped["process"]) == ("ask", "dry_clean")
    assert "combination.bleeds_on_itself" in [c["key"] for c in striped["cautions"]]
