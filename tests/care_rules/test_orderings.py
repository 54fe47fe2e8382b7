"""Which of two pieces is treated more gently: forty orderings that everybody in the trade knows.

Written from knowledge of fibres and from practice, without a look at the tables (fibre handbooks
and CCI Notes, from memory; the rest common practice, no source). A later figure may move, but not
past its neighbour.
"""

from __future__ import annotations

from typing import Any

import pytest

from care_rules import decide_json
from tests.care_rules.builders import piece
from tests.care_rules.severity import flat, strictness

WIDE_OPEN = "wash_95 bleach_any tumble_normal iron_200 dry_clean_p wet_clean_w"
WATER, ACTION, IRON = ("wash.max_c",), ("wash.action",), ("iron.max_c",)
HEAT = ("wash.max_c", "iron.max_c", "tumble")
TUMBLE, BLEACH, SOLVENT = ("tumble",), ("bleach",), ("dry_clean.solvents",)
ALL_WET = ("wash.max_c", "wash.action", "wash.hand_only", "bleach", "tumble")


def open_wide(fibres: str, **more: Any) -> dict[str, Any]:
    return piece(fibres, WIDE_OPEN, **({"label": {"market": "iso"}} | more))


def silent(fibres: str, **more: Any) -> dict[str, Any]:
    return piece(fibres, **more)


#: A sentence, the piece treated more gently, the sturdier one, and where; no harder anywhere, and
#: truly gentler somewhere.
ORDERINGS: list[tuple[str, dict[str, Any], dict[str, Any], tuple[str, ...]]] = [
    ("wool takes cooler water than cotton", open_wide("wool"), open_wide("cotton"), WATER),
    ("silk takes cooler water than linen", open_wide("silk"), open_wide("linen"), WATER),
    ("viscose takes cooler water than cotton", open_wide("viscose"), open_wide("cotton"), WATER),
    ("acetate takes cooler water than viscose", open_wide("acetate"), open_wide("viscose"), WATER),
    ("wool takes cooler water than washable wool", open_wide("wool"),
     open_wide("wool_superwash"), WATER),
    ("polyamide takes cooler water than polyester", open_wide("polyamide"),
     open_wide("polyester"), WATER),
    ("acrylic takes cooler water than polyester", open_wide("acrylic"), open_wide("polyester"),
     WATER),
    ("an easy-care finish stands less than plain cotton", open_wide("cotton_easy_care"),
     open_wide("cotton"), HEAT),
    ("wool is moved less than cotton", open_wide("wool"), open_wide("cotton"), ACTION),
    ("silk is moved less than polyester", open_wide("silk"), open_wide("polyester"), ACTION),
    ("viscose is moved less than cotton, being weak when wet", open_wide("viscose"),
     open_wide("cotton"), ACTION),
    ("wool is ironed cooler than linen", open_wide("wool"), open_wide("linen"), IRON),
    ("silk is ironed cooler than wool", open_wide("silk"), open_wide("wool"), IRON),
    ("polyester is ironed cooler than cotton", open_wide("polyester"), open_wide("cotton"), IRON),
    ("polyamide is ironed cooler than polyester", open_wide("polyamide"),
     open_wide("polyester"), IRON),
    ("acetate is ironed cooler than viscose", open_wide("acetate"), open_wide("viscose"), IRON),
    ("acrylic is ironed cooler than wool", open_wide("acrylic"), open_wide("wool"), IRON),
    ("polypropylene is ironed cooler than polyamide", open_wide("polypropylene"),
     open_wide("polyamide"), IRON),
    ("chlorofibre stands less heat than modal", open_wide("chlorofibre"), open_wide("modal"),
     HEAT),
    ("wool is tumbled less than polyester", open_wide("wool"), open_wide("polyester"), TUMBLE),
    ("silk is tumbled less than viscose", open_wide("silk"), open_wide("viscose"), TUMBLE),
    ("linen is tumbled less than cotton", open_wide("linen"), open_wide("cotton"), TUMBLE),
    ("linen is bleached less than cotton", open_wide("linen"), open_wide("cotton"), BLEACH),
    ("wool is bleached less than viscose", open_wide("wool"), open_wide("viscose"), BLEACH),
    ("elastane is bleached less than cotton", open_wide("elastane"), open_wide("cotton"), BLEACH),
    ("a coloured cloth is bleached less than a white one", open_wide("cotton", colour="bright"),
     open_wide("cotton"), BLEACH),
    ("modacrylic meets fewer solvents than acrylic", open_wide("modacrylic"),
     open_wide("acrylic"), SOLVENT),
    ("PVC meets fewer solvents than polyester", open_wide("pvc_coating"),
     open_wide("polyester"), SOLVENT),
    ("latex foam meets fewer solvents than wadding", open_wide("cotton", filling="foam_latex"),
     open_wide("cotton", filling="polyester_wadding"), SOLVENT),
    ("foam is tumbled less than wadding", open_wide("cotton", filling="foam_pu"),
     open_wide("cotton", filling="polyester_wadding"), TUMBLE),
    ("a lining of acetate cools the iron of a cotton coat", open_wide("cotton", lining="acetate"),
     open_wide("cotton"), IRON),
    ("a tenth of wool is as strict as the whole of it", open_wide("cotton 90, wool 10"),
     open_wide("cotton"), ALL_WET),
    ("a suit jacket keeps out of water longer than a shirt", silent("wool", kind="suit_jacket"),
     silent("wool", kind="scarf"), WATER),
    ("a lined dress goes more gently than a summer dress", silent("cotton", kind="dress_lined"),
     silent("cotton", kind="dress_summer"), ALL_WET),
    ("a torn sheet is moved less than a whole one", open_wide("cotton", damage=["tear"]),
     open_wide("cotton"), ACTION),
    ("worn cloth is moved less than torn cloth", open_wide("cotton", damage=["worn_cloth"]),
     open_wide("cotton", damage=["tear"]), ACTION),
    ("lace is moved less than plain cloth", open_wide("cotton", trims=["lace"]),
     open_wide("cotton"), ACTION),
    ("a silk gown without a label goes more gently than a cotton dress",
     silent("silk", kind="evening_dress"), silent("cotton", kind="dress_summer"), ALL_WET),
    ("an unknown cloth without a label goes more gently than cotton", silent("unknown"),
     silent("cotton"), ALL_WET),
    ("wool without a label goes more gently than cotton", silent("wool"), silent("cotton"),
     ALL_WET),
    ("old cotton goes more gently than new", silent("cotton", trims=["old_or_degraded"]),
     silent("cotton"), ALL_WET),
    ("old silk goes more gently than new silk", silent("silk", trims=["old_or_degraded"]),
     silent("silk"), ALL_WET),
    ("old beaded cloth goes more gently than new", silent("cotton", trims=["old_or_degraded",
     "beads"]), silent("cotton", trims=["beads"]), ALL_WET),
    ("a lost label is no gentler evidence than a kind one", silent("cotton"),
     piece("cotton", "wash_60 bleach_any tumble_normal iron_200"), HEAT),
    ("dark cloth without a label goes cooler than white linen for the table",
     silent("cotton", colour="dark", kind="napkin"),
     silent("cotton", kind="napkin", label={"state": "not_needed"}), WATER),
]  # fmt: skip


def test_there_are_forty_orderings_told_once_each() -> None:
    assert len({ordering[0] for ordering in ORDERINGS}) == len(ORDERINGS) >= 40


@pytest.mark.parametrize("ordering", ORDERINGS, ids=[ordering[0] for ordering in ORDERINGS])
def test_the_delicate_piece_is_treated_more_gently(
    ordering: tuple[str, dict[str, Any], dict[str, Any], tuple[str, ...]],
) -> None:
    _, delicate, sturdy, paths = ordering
    gentle, harder = flat(decide_json(delicate)), flat(decide_json(sturdy))
    grades = [(strictness(path, gentle[path]), strictness(path, harder[path])) for path in paths]
    assert all(first >= second for first, second in grades)
    assert any(first > second for first, second in grades)


WOOL_AND_HAIR = (
    "wool", "wool_virgin", "wool_recycled", "alpaca", "llama", "camel", "cashmere", "mohair",
    "angora", "vicuna", "yak", "guanaco", "cashgora", "beaver", "otter", "animal_hair",
    "horsehair",
)  # fmt: skip


@pytest.mark.parametrize("fibre", WOOL_AND_HAIR)
def test_hair_without_a_label_is_washed_by_hand_like_wool(fibre: str) -> None:
    limits = flat(decide_json(silent(fibre, kind="sweater_wool", construction="knit")))
    assert limits["wash.hand_only"] is True
    assert (limits["wash.max_c"], limits["tumble"], limits["bleach"]) == (30, "none", "none")
    assert limits["air_dry.hang"] is False


@pytest.mark.parametrize("fibre", [*WOOL_AND_HAIR, "silk", "silk_wild", "down", "leather"])
@pytest.mark.parametrize("stain", ["blood", "egg", "red wine", "grass", "mildew", "faeces"])
def test_chlorine_and_enzymes_never_meet_an_animal_fibre(fibre: str, stain: str) -> None:
    decision = decide_json(open_wide(fibre, stains=[stain]))
    agents = [agent for step in decision["steps"] for agent in step["settings"].get("agents", [])]
    assert "chlorine" not in agents
    assert decision["limits"]["bleach"] != "any"
    assert fibre in ("down", "leather") or "enzyme" not in agents


@pytest.mark.parametrize("fibre", ["silk", "silk_wild"])
@pytest.mark.parametrize(
    "trims",
    [("old_or_degraded",), ("print_hand_painted",), ("beads",), ("sequins",), ("lace",),
     ("embroidery_metallic",), ("old_or_degraded", "beads"), ("old_or_degraded", "lace"),
     ("old_or_degraded", "print_hand_painted"), ("embroidery_metallic", "beads")],
)  # fmt: skip
def test_delicate_silk_meets_no_machine_unless_its_own_label_says_so(
    fibre: str, trims: tuple[str, ...]
) -> None:
    """CCI Notes on silk, costume and flags (memory): by hand, flat, or to a conservator."""
    decision = decide_json(silent(fibre, trims=list(trims)))
    limits = decision["limits"]
    assert decision["outcome"] != "accept"
    assert decision["process"] in ("hand_wash", "surface_clean", "specialist", "none")
    assert limits["wash"]["hand_only"] is True
    assert (limits["air_dry"]["hang"], limits["tumble"], limits["bleach"]) == (
        False,
        "none",
        "none",
    )
    own = "wash_30_very_mild no_bleach no_tumble no_iron no_dry_clean"
    labelled = decide_json(piece(fibre, own, trims=list(trims)))
    assert labelled["process"] == "machine_wash"


def test_old_silk_goes_to_a_conservator_and_to_nobody_else() -> None:
    """CCI Notes on weighted silk (memory)."""
    decision = decide_json(silent("silk", trims=["old_or_degraded"], lining="cotton"))
    assert (decision["process"], decision["specialist"]) == ("specialist", "conservator")
    assert decision["limits"]["wash"]["allowed"] is False
