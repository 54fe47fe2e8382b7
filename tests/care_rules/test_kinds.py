"""The kinds of piece that a counter meets: who cleans each, and what may be asked of it.

Expectations are those of a careful counter, written before they were run: common practice, no
source.
"""

from __future__ import annotations

from typing import Any

import pytest

from care_rules import catalogue, decide_json, parse_facts
from care_rules.errors import FactsError
from care_rules.tables import book
from care_rules.vocabulary import SPECIALISTS
from tests.care_rules.builders import keys, piece, step, steps

WASHABLE = "wash_30_mild no_bleach no_tumble iron_110 no_dry_clean"
DRY_ONLY = "no_wash no_bleach no_tumble iron_150 dry_clean_p_mild"

#: Kind, its shell, who takes it where nothing else is said.
FOR_A_SPECIALIST = [
    ("rug_wool", "wool", "carpet"),
    ("rug_cotton", "cotton", "carpet"),
    ("rug_synthetic", "polypropylene", "carpet"),
    ("rug_viscose", "viscose", "carpet"),
    ("rug_silk", "silk", "carpet"),
    ("rug_plant", "jute", "carpet"),
    ("rug_sheepskin", "sheepskin", "leather"),
    ("hat_felt", "wool", "hat"),
    ("hat_straw", "straw_raffia", "hat"),
    ("hat_fur", "fur", "fur"),
    ("gloves_leather", "leather", "leather"),
    ("shoes_leather", "leather", "shoe"),
    ("boots_leather", "suede", "shoe"),
    ("shoes_fabric", "cotton", "shoe"),
    ("bag_leather", "leather", "leather"),
    ("jacket_leather", "suede", "leather"),
    ("coat_leather", "leather", "leather"),
    ("coat_sheepskin", "sheepskin", "leather"),
    ("trousers_leather", "leather", "leather"),
    ("coat_fur", "fur", "fur"),
]


@pytest.mark.parametrize(("kind", "shell", "whom"), FOR_A_SPECIALIST)
@pytest.mark.parametrize("with_fibre", [True, False], ids=["with fibre", "without"])
def test_a_kind_for_a_specialist_goes_there_without_a_question(
    kind: str, shell: str, whom: str, with_fibre: bool
) -> None:
    decision = decide_json(piece(shell if with_fibre else "", kind=kind))
    assert (decision["process"], decision["where"]) == ("specialist", "send_out")
    assert decision["specialist"] == whom
    assert decision["outcome"] == "accept"
    assert not decision["limits"]["wash"]["allowed"]


@pytest.mark.parametrize(
    ("kind", "shell"),
    [("rug_cotton", "cotton"), ("rug_synthetic", "polypropylene"), ("shoes_fabric", "cotton")],
)
def test_its_own_label_takes_it_back_from_the_specialist(kind: str, shell: str) -> None:
    washed = decide_json(piece(shell, WASHABLE, kind=kind))
    assert (washed["process"], washed["outcome"]) == ("machine_wash", "accept")
    assert (washed["specialist"], "route.specialist" in keys(washed)) == (None, False)
    sent = decide_json(piece(shell, "no_wash no_bleach no_tumble no_iron no_dry_clean", kind=kind))
    assert sent["process"] == "specialist"


def test_leather_stays_with_the_specialist_whatever_its_label_says() -> None:
    decision = decide_json(piece("leather", WASHABLE, kind="jacket_leather"))
    assert decision["process"] == "specialist"
    assert not decision["limits"]["wash"]["allowed"]


def test_a_viscose_rug_is_warned_of() -> None:
    for symbols in (None, WASHABLE):
        decision = decide_json(piece("viscose", symbols, kind="rug_viscose"))
        assert "composition_rule.rug_viscose_water" in keys(decision, "caution")


#: Kind and shell, and what an unlabelled one must never do by itself.
TAILORED = [
    ("suit_3piece", "wool"), ("uniform_metal", "wool"), ("kilt", "wool"), ("kimono", "silk"),
    ("suit_2piece", "wool"), ("coat_wool", "wool"),
]  # fmt: skip
BY_HAND = [
    ("gown_train", "silk"), ("sari", "silk"), ("sari", "cotton"), ("christening_gown", "cotton"),
    ("cap_peaked", "cotton"), ("soft_toy", "polyester"), ("bag_fabric", "cotton"),
    ("rucksack", "polyamide"), ("quilt_patchwork", "cotton"), ("tent", "polyester"),
    ("heated_clothing", "polyester"), ("coat_faux_fur", "faux_fur"),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "shell"), TAILORED)
def test_what_is_tailored_is_never_put_in_water_by_default(kind: str, shell: str) -> None:
    decision = decide_json(piece(shell, kind=kind, colour="dark"))
    assert not decision["limits"]["wash"]["allowed"]
    assert decision["process"] == "dry_clean"
    labelled = decide_json(piece(shell, DRY_ONLY, kind=kind, colour="dark"))
    assert (labelled["process"], labelled["outcome"]) == ("dry_clean", "accept")


@pytest.mark.parametrize(("kind", "shell"), BY_HAND)
def test_what_is_built_or_frail_goes_into_no_machine_by_default(kind: str, shell: str) -> None:
    decision = decide_json(piece(shell, kind=kind, colour="bright"))
    assert decision["process"] in ("hand_wash", "dry_clean", "specialist")
    assert decision["limits"]["wash"]["hand_only"]


@pytest.mark.parametrize("kind", ["sleeping_bag", "tent", "rucksack"])
def test_repellent_kinds_meet_neither_solvent_nor_softener(kind: str) -> None:
    for symbols in (None, "wash_30_mild dry_clean_p"):
        decision = decide_json(piece("polyester", symbols, kind=kind))
        assert decision["limits"]["dry_clean"]["solvents"] == []
        assert decision["load"]["softener"] is False


@pytest.mark.parametrize("kind", ["heated_clothing", "heated_blanket"])
def test_heated_pieces_lose_their_battery_first_and_wait_without_a_label(kind: str) -> None:
    label = "wash_30_very_mild no_bleach no_tumble no_iron no_dry_clean"
    known = decide_json(piece("polyester", label, kind=kind))
    assert (known["outcome"], known["process"]) == ("accept", "machine_wash")
    assert "controller" in step(known, "check")["says"]
    for state in ("missing", "unreadable"):
        lost = decide_json(piece("polyester", kind=kind, label={"state": state}))
        assert lost["outcome"] == "ask"
        assert "label_rule.heated_unlabelled" in keys(lost, "hold")


def test_a_uniform_loses_its_metal_or_has_it_covered_before_it_is_cleaned() -> None:
    decision = decide_json(piece("wool", DRY_ONLY, kind="uniform_metal", colour="dark"))
    order = steps(decision)
    assert order.index("remove_trim") < order.index("send_out")
    assert "metal buttons" in step(decision, "remove_trim")["says"]
    assert order.index("send_out") < order.index("mend")


@pytest.mark.parametrize(
    ("kind", "shell", "symbols", "process"),
    [
        ("dressing_gown", "cotton", WASHABLE, "machine_wash"),
        ("sofa_cover", "cotton", WASHABLE, "machine_wash"),
        ("chair_cover", "polyester", WASHABLE, "machine_wash"),
        ("soft_toy", "polyester", WASHABLE, "machine_wash"),
        ("gloves_knitted", "acrylic", WASHABLE, "machine_wash"),
        ("hat_knitted", "acrylic", WASHABLE, "machine_wash"),
        ("sleeping_bag", "polyester", WASHABLE, "machine_wash"),
        ("bag_fabric", "cotton", WASHABLE, "machine_wash"),
        ("kilt", "wool", DRY_ONLY, "dry_clean"),
    ],
)
def test_ordinary_ones_are_taken_as_their_label_says(
    kind: str, shell: str, symbols: str, process: str
) -> None:
    decision = decide_json(piece(shell, symbols, kind=kind))
    assert (decision["outcome"], decision["process"]) == ("accept", process)


def test_a_kind_asks_only_what_can_be_asked_of_it() -> None:
    kinds = {entry.key: entry for entry in catalogue.kinds()}
    for kind in ("napkin", "rug_wool", "bath_mat", "scarf", "tie", "sheet_double", "sari"):
        assert kinds[kind].has == ()
    for kind in ("suit_3piece", "jeans", "coat_fur", "rucksack", "shirt_cotton"):
        assert kinds[kind].has == ("pockets", "fastenings")
    assert kinds["pillowcase"].has == kinds["shoes_leather"].has == ("fastenings",)
    assert kinds["napkin"].parts == ("shell",)
    assert "filling" in kinds["sleeping_bag"].parts


def test_every_kind_has_a_weight_a_usual_fibre_and_other_words_for_it() -> None:
    for entry in catalogue.kinds():
        if entry.key != "other":
            assert entry.grams
            assert entry.fibres, entry.key
            assert entry.also, entry.key
            assert entry.parts


def test_each_specialist_of_the_kinds_is_one_that_the_crew_knows() -> None:
    whom: set[Any] = {row.whom for row in book()["kinds"].values() if row.only}
    assert whom == {"carpet", "fur", "hat", "leather", "shoe"}
    assert whom <= set(SPECIALISTS)


@pytest.mark.parametrize(
    ("word", "keys_named"),
    [
        ("sweater", ["sweater_wool"]),
        ("Wool Jumper", ["sweater_wool"]),
        ("teddy bear", ["soft_toy"]),
        ("suit_3_piece", ["suit_3piece"]),
    ],
)
def test_what_people_call_a_kind_is_answered_with_its_key(word: str, keys_named: list[str]) -> None:
    with pytest.raises(FactsError) as refused:
        parse_facts({"kind": word})
    (fault,) = refused.value.faults
    assert fault.field == "kind"
    assert all(key in fault.cure for key in keys_named)
