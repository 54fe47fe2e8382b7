"""Hard cases through `manage.py decide` itself, as somebody outside the project would write them.

Each is worked out by hand from the decision contract and the published facts: limits that must
not be passed, cautions that must stand, steps that must not, and the order of those that must.
Where a case rests on a source, its sentence or the table row named in the caution says which; the
others are common practice, no source.
"""

from __future__ import annotations

import itertools
import json
from functools import cache
from typing import Any

import pytest

from care_rules import decide_json
from tests.care_rules.builders import command, piece, steps
from tests.care_rules.severity import flat, loosened, strictness

FULL = "wash_60 bleach_any tumble_normal line_dry iron_200 dry_clean_p wet_clean_w"
SUIT = "no_wash no_bleach no_tumble iron_150 dry_clean_p"
IN_HOUSE = {"wet_cleaning": True, "dry_cleaning": ["P", "F"], "send_out": []}
NOTHING = {"wet_cleaning": False, "dry_cleaning": [], "send_out": []}


#: A sentence, the facts, and what must hold: limits at most (``at_most``), outcome, process,
#: cautions with their level (``told``), steps in this order (``order``), steps that must not
#: stand (``never``) and agents that must not be used (``not_used``).
CASES: list[tuple[str, dict[str, Any], dict[str, Any]]] = [
    ("an oily tea towel waits for a person and stays out of the dryer",
     piece("cotton", FULL, kind="tea_towel", stains=["cooking oil"]),
     {"outcome": "ask", "told": {"fire.oil_selfheat": "hold"}, "at_most": {"tumble": "none"},
      "never": ["cool_down"], "order": ["pre_spot", "wash", "wet_check", "dry"]}),
    ("an oily piece stays out of the dryer after the yes too",
     piece("cotton", FULL, stains=["massage oil"], accepted=["fire.oil_selfheat"]),
     {"outcome": "accept", "at_most": {"tumble": "none"}, "never": ["cool_down"]}),
    ("rags with drying oil are declined, accepted or not",
     piece("cotton", FULL, hazards=["fire.drying_oil"], accepted=["fire.drying_oil"]),
     {"outcome": "decline", "process": "none", "never": ["wash", "dry"]}),
    ("clothes that smell of fuel are declined",
     piece("cotton", FULL, hazards=["fire.fuel_clothes"]),
     {"outcome": "decline", "told": {"fire.fuel_clothes": "refuse"}}),
    ("a vest of foam is washed cool and laid out, never tumbled",
     piece("polyester", "wash_40 no_bleach tumble_low no_iron no_dry_clean", filling="foam_latex"),
     {"process": "machine_wash", "told": {"fire.foam_rubber": "refuse"},
      "at_most": {"tumble": "none"}, "never": ["cool_down"]}),
    ("a heated vest with its cell waits for a person",
     piece("polyester", FULL, hazards=["fire.battery"]),
     {"outcome": "ask", "told": {"fire.battery": "hold"}}),
    ("a badge with a battery comes off and waits for a yes",
     piece("polyester", FULL, trims=["magnet_or_electronics"]),
     {"outcome": "ask", "order": ["remove_trim", "wash", "mend"]}),
    ("blood is spotted cool and washed alone, with gloves told, and never tumbled before the check",
     piece("cotton", FULL, stains=["blood"]),
     {"told": {"body.blood": "hold"}, "order": ["pre_spot", "wash", "wet_check", "dry"],
      "at_most": {"load.alone": True, "tumble": "none", "bleach": "oxygen"}}),
    ("linen from a clinic is declined",
     piece("cotton", FULL, hazards=["body.healthcare_linen"]), {"outcome": "decline"}),
    ("asbestos is declined by its fibre alone",
     piece("asbestos", FULL), {"outcome": "decline", "told": {"dust.asbestos": "refuse"}}),
    ("lead dust is declined", piece("cotton", FULL, hazards=["dust.lead"]),
     {"outcome": "decline", "never": ["wash"]}),
    ("field clothes with pest spray wait, alone", piece("cotton", FULL, hazards=["pest.field"]),
     {"outcome": "ask", "at_most": {"load.alone": True, "tumble": "none"}}),
    ("bedbugs wait and run alone", piece("wool", "wash_30_very_mild", hazards=["bedbug.seen"]),
     {"outcome": "ask", "at_most": {"load.alone": True}}),
    ("flame-resistant work clothes get no bleach and no softener",
     piece("aramid", FULL, hazards=["fr.workwear"]),
     {"outcome": "ask", "at_most": {"bleach": "none", "load.softener": False}}),
    ("flame-resistant clothes are not mended here",
     piece("aramid", FULL, hazards=["fr.repair"], services=["clean", "mend"], damage=["tear"]),
     {"told": {"fr.repair": "refuse", "route.work_barred": "refuse"}, "never": ["mend"]}),
    ("fire brigade turnout is declined", piece("aramid", FULL, hazards=["fr.fire_turnout"]),
     {"outcome": "decline"}),
    ("a high-visibility vest is counted, without softener or bleach",
     piece("polyester", FULL, kind="hivis_vest", trims=["reflective_tape"]),
     {"told": {"hivis.washcount": "caution"},
      "at_most": {"bleach": "none", "load.softener": False}}),
    ("a child's nightdress to alter waits for a yes",
     piece("cotton", FULL, kind="nightdress", wearer="child", services=["alter"]),
     {"outcome": "ask", "told": {"child.sleepwear": "hold"}}),
    ("a loose button on a small child's piece is a danger to say",
     piece("cotton", FULL, wearer="under_3", damage=["loose_button"]),
     {"told": {"child.small_parts": "caution"}, "order": ["stabilise", "wash"]}),
    ("a leather trim on a wool coat goes to the specialist, after a yes",
     piece("wool", SUIT, kind="coat_wool", trims=["leather_trim"]),
     {"outcome": "ask", "process": "specialist",
      "at_most": {"wash.max_c": 0, "dry_clean.solvents": [], "iron.max_c": 0}}),
    ("a leather trim and no specialist to send it to is a dead end",
     piece("wool", SUIT, trims=["leather_trim"], shop={"dry_cleaning": ["P"]}),
     {"outcome": "decline", "told": {"route.no_process": "refuse"}}),
    ("sequins are never ironed or tumbled, and asked about first",
     piece("polyester", FULL, trims=["sequins"], services=["clean", "press"]),
     {"outcome": "ask", "never": ["press", "cool_down"],
      "told": {"trim.sequins": "hold"},
      "at_most": {"iron.max_c": 0, "tumble": "none", "wash.max_c": 30, "load.mesh_bag": True}}),
    ("beads on a dress that only solvent serves wait for a named yes",
     piece("silk", "no_wash no_tumble no_iron dry_clean_p", trims=["beads"]),
     {"outcome": "ask", "process": "dry_clean", "told": {"trim.beads": "hold"}}),
    ("PVC keeps out of solvent, dryer and iron whatever its label says",
     piece("pvc_coating", FULL, services=["clean", "press"]),
     {"at_most": {"dry_clean.solvents": [], "tumble": "none", "iron.max_c": 0},
      "told": {"label.harsher_than_fibre": "caution"}, "never": ["press", "cool_down"]}),
    ("chlorofibre takes no heat at all", piece("chlorofibre", FULL),
     {"at_most": {"wash.max_c": 30, "tumble": "none", "iron.max_c": 0}}),
    ("elastodiene keeps out of solvent", piece("cotton 95, elastodiene 5", FULL),
     {"at_most": {"dry_clean.solvents": []}}),
    ("one percent of elastane in a dark piece bars chlorine, and the label says the rest",
     piece("cotton 99, elastane 1", FULL, colour="dark"),
     {"process": "machine_wash",
      "told": {"label.followed": "info"}, "at_most": {"bleach": "oxygen"}}),
    ("a viscose lining sets the spin of a cotton coat", piece("cotton", FULL, lining="viscose"),
     {"at_most": {"wash.spin": "reduced", "wash.action": "mild"}}),
    ("a silk lining sets the water of a polyester coat", piece("polyester", FULL, lining="silk"),
     {"at_most": {"wash.max_c": 30, "bleach": "oxygen", "tumble": "none"}}),
    ("chlorine never comes near wool, even where the label allows it",
     piece("wool", "wash_30_very_mild bleach_any", overrides=["fibre.wool"]),
     {"at_most": {"bleach": "oxygen"}}),
    ("wool at 95 is taken at wool's own figure, with a caution",
     piece("wool", "wash_95 bleach_any tumble_normal iron_200 dry_clean_p"),
     {"outcome": "accept", "told": {"label.harsher_than_fibre": "caution"},
      "at_most": {"wash.max_c": 30, "wash.action": "very_mild", "tumble": "none"}}),
    ("an override lifts wool to the label and not past it",
     piece("wool", "wash_40_mild no_tumble iron_110", overrides=["fibre.wool"]),
     {"at_most": {"wash.max_c": 40, "wash.action": "mild", "tumble": "none", "iron.max_c": 110}}),
    ("down without a label is washed mildly and not put in solvent",
     piece("polyamide", filling="down"),
     {"process": "machine_wash", "told": {"label.missing": "caution"},
      "at_most": {"wash.max_c": 30, "wash.action": "mild", "dry_clean.solvents": []}}),
    ("a lost label is gentle even on cotton", piece("cotton"),
     {"at_most": {"wash.max_c": 40, "wash.action": "mild", "bleach": "none", "tumble": "low",
                  "iron.max_c": 150}}),
    ("what is left of a torn label still binds",
     piece("cotton", label={"state": "unreadable", "symbols": ["no_wash", "iron_200"]}),
     {"at_most": {"wash.max_c": 0, "iron.max_c": 150}}),
    ("symbols on a piece said to have no label bind, and somebody looks again",
     piece("cotton", label={"state": "missing", "symbols": ["wash_30"]}),
     {"told": {"label.state_conflict": "caution"}, "at_most": {"wash.max_c": 30}}),
    ("nothing known at all waits", {}, {"outcome": "ask", "at_most": {"wash.max_c": 30}}),
    ("a crossed tub beside the words machine wash waits, and is not washed",
     piece("cotton", SUIT, label={"terms": ["machine wash"]}),
     {"outcome": "ask", "process": "dry_clean", "told": {"label.contradiction.wash": "hold"},
      "at_most": {"wash.max_c": 0}}),
    ("a tub beside the words do not wash waits, and is not washed",
     piece("cotton", "wash_40 dry_clean_p", label={"terms": ["do not wash"]}),
     {"outcome": "ask", "process": "dry_clean", "told": {"label.contradiction.wash": "hold"}}),
    ("two tubs take the stricter and wait", piece("cotton", "wash_60 wash_30_mild"),
     {"outcome": "ask", "at_most": {"wash.max_c": 30, "wash.action": "mild"}}),
    ("a hand and a tub make hand washing, and wait", piece("cotton", "wash_60 hand_wash"),
     {"outcome": "ask", "process": "hand_wash", "at_most": {"wash.max_c": 40}}),
    ("P and a crossed circle keep out of solvent", piece("wool", "no_dry_clean dry_clean_p"),
     {"told": {"label.contradiction.dry_clean": "hold"}, "at_most": {"dry_clean.solvents": []}}),
    ("two iron signs take the cooler", piece("cotton", "wash_40 iron_200 iron_110"),
     {"told": {"label.contradiction.iron": "hold"}, "at_most": {"iron.max_c": 110}}),
    ("the same symbol twice is no contradiction",
     piece("cotton", "wash_40 wash_40 iron_150"), {"outcome": "accept"}),
    ("two dryer dots of a US label are the low heat",
     piece("cotton", "wash_40 tumble_normal", label={"market": "us"}),
     {"at_most": {"tumble": "low"}}),
    ("two dryer dots of nobody knows where are the low heat",
     piece("polyester", "wash_40 tumble_normal"), {"at_most": {"tumble": "low"}}),
    ("three iron dots of 2023 are not past what linen stands",
     piece("linen", "wash_40 iron_200", label={"edition": "2023"}, services=["press"]),
     {"at_most": {"iron.max_c": 200}}),
    ("one iron dot of an unknown edition has no steam",
     piece("cotton", "wash_40 iron_110", services=["clean", "press"]),
     {"at_most": {"iron.max_c": 110, "iron.steam": False}}),
    ("an F circle never goes to P", piece("wool", "no_wash dry_clean_f", shop=IN_HOUSE),
     {"process": "dry_clean", "at_most": {"dry_clean.solvents": ["F"]}}),
    ("an F circle in a shop with P alone is a dead end",
     piece("wool", "no_wash dry_clean_f", shop=NOTHING | {"dry_cleaning": ["P"]}),
     {"outcome": "decline", "process": "none"}),
    ("everything crossed out is a dead end",
     piece("cotton", "no_wash no_bleach no_tumble no_iron no_dry_clean no_wet_clean"),
     {"outcome": "decline", "process": "none", "never": ["wash", "send_out"]}),
    ("drip drying takes no spin and no dryer",
     piece("polyester", "wash_40 tumble_low drip_line_dry"),
     {"at_most": {"wash.spin": "none", "air_dry.drip": True}, "never": ["cool_down"]}),
    ("rust keeps every bleach away until it is out",
     piece("cotton", FULL, stains=["rust", "grass"]),
     {"at_most": {"bleach": "none"}, "not_used": ["chlorine", "peroxide"]}),
    ("a reducing agent and oxygen bleach are rinsed apart",
     piece("cotton", FULL, stains=["iodine", "grass"]),
     {"order": ["pre_spot", "rinse", "pre_spot", "rinse", "wash"], "not_used": ["chlorine"]}),
    ("egg and rust are rinsed apart: ammonia before acid",
     piece("cotton", FULL, stains=["egg", "rust"]),
     {"order": ["pre_spot", "rinse", "pre_spot", "rinse", "wash"]}),
    ("nail polish on an acetate lining never sees acetone",
     piece("cotton", FULL, lining="acetate", stains=["nail polish"]), {"not_used": ["acetone"]}),
    ("grass on wool sees neither enzyme nor ammonia nor chlorine",
     piece("wool", "wash_30_very_mild dry_clean_p", stains=["grass"]),
     {"not_used": ["enzyme", "ammonia", "chlorine"]}),
    ("no bleach on the label, no peroxide in the spotting",
     piece("cotton", "wash_60 no_bleach", stains=["red wine"]), {"not_used": ["peroxide"]}),
    ("pressing over red wine waits for a yes",
     piece("cotton", FULL, stains=["red wine"], services=["press"]),
     {"outcome": "ask", "order": ["wet_check", "press"]}),
    ("jeans are washed before they are shortened",
     piece("cotton", FULL, kind="jeans", services=["clean", "alter"],
           work=["jeans_hem_topstitched"]),
     {"order": ["wash", "dry", "cool_down", "mend", "press"]}),
    ("a seam that is let out is opened before the wash and sewn after it",
     piece("cotton", FULL, services=["clean", "alter"], work=["trouser_waist_let_out"]),
     {"order": ["unpick", "wash", "dry", "mend"]}),
    ("a tear is held before the wash and mended", piece(
        "cotton", FULL, services=["clean", "mend"], damage=["tear"], work=["tear_l_shaped"]),
     {"order": ["stabilise", "wash"], "at_most": {"wash.action": "mild", "load.mesh_bag": True}}),
    ("cutting unwashed cotton is warned of",
     piece("cotton", FULL, services=["alter"], work=["trouser_hem_plain"]),
     {"process": "none", "told": {"route.wash_before_cut": "caution"}}),
    ("a dye that bleeds runs alone and cool", piece("cotton", FULL, trims=["grade_stain_1"]),
     {"outcome": "ask", "at_most": {"load.alone": True, "wash.max_c": 30}}),
    ("a velvet is never under the iron", piece(
        "cotton", FULL, trims=["velvet_cut_pile"], services=["clean", "press"]),
     {"at_most": {"iron.max_c": 0}}),
    ("shares that make 120 percent are said", piece("cotton 70, polyester 50", FULL),
     {"told": {"composition.total": "caution"}}),
    ("a fibre of no share at all still counts", piece("cotton 99.9, wool 0.1", FULL),
     {"at_most": {"wash.max_c": 30, "tumble": "none"}}),
    ("a lining of nobody knows what is taken at the gentlest", {
        **piece("cotton", FULL),
        "components": [{"part": "shell", "fibres": [{"fibre": "cotton"}]}, {"part": "lining"}]},
     {"told": {"composition.unknown": "caution"}, "at_most": {"wash.max_c": 30}}),
    ("oily wool in the house's solvent is not told of hot water",
     piece("wool", "no_wash dry_clean_p", stains=["cooking oil"], shop=IN_HOUSE),
     {"process": "dry_clean", "unsaid": ["As hot as", "detergent"]}),
]  # fmt: skip


@cache
def decisions() -> list[dict[str, Any]]:
    done = command(json.dumps([facts for _, facts, _ in CASES]).encode())
    assert (done.returncode, done.stderr) == (0, b"")
    answers: list[dict[str, Any]] = json.loads(done.stdout)
    assert len(answers) == len(CASES)
    return answers


def stand_in_order(wanted: list[str], order: list[str]) -> bool:
    rest = iter(order)
    return all(name in rest for name in wanted)


@pytest.mark.parametrize("number", range(len(CASES)), ids=[case[0] for case in CASES])
def test_a_hard_case_is_decided_as_the_contract_asks(number: int) -> None:
    _, _, asked = CASES[number]
    decision = decisions()[number]
    limits = flat(decision)
    for path, value in asked.get("at_most", {}).items():
        assert strictness(path, limits[path]) >= strictness(path, value), path
        assert decision["because"][path]
    for field in ("outcome", "process"):
        assert asked.get(field, decision[field]) == decision[field]
    levels = {caution["key"]: caution["level"] for caution in decision["cautions"]}
    assert asked.get("told", {}).items() <= levels.items()
    assert stand_in_order(asked.get("order", []), steps(decision)), steps(decision)
    assert not set(asked.get("never", [])) & set(steps(decision))
    used = {agent for step in decision["steps"] for agent in step["settings"].get("agents", [])}
    assert not set(asked.get("not_used", [])) & used
    said = " ".join(step["says"] for step in decision["steps"] if step["step"] == "wash")
    assert [words for words in asked.get("unsaid", []) if words in said] == []


#: A sentence, the looser piece and the stricter one.
PAIRS: list[tuple[str, dict[str, Any], dict[str, Any]]] = [
    ("a worse staining grade is never looser", piece("cotton", FULL, trims=["grade_stain_2_3"]),
     piece("cotton", FULL, trims=["grade_stain_2_3", "grade_stain_1"])),
    ("a worse grade in place of a better is never looser",
     piece("cotton", FULL, trims=["grade_stain_3"]),
     piece("cotton", FULL, trims=["grade_stain_3", "grade_stain_2"])),
    ("a lining more", piece("cotton", FULL), piece("cotton", FULL, lining="acetate")),
    ("a hand in place of a bar", piece("wool", "wash_30_very_mild dry_clean_p"),
     piece("wool", "hand_wash_30 dry_clean_p")),
    ("a crossed tub in place of a hand", piece("silk", "hand_wash iron_110 dry_clean_p"),
     piece("silk", "no_wash iron_110 dry_clean_p")),
    ("F in place of P", piece("wool", SUIT), piece("wool", SUIT.replace("clean_p", "clean_f"))),
    ("a stain more", piece("cotton", FULL, stains=["grass"]),
     piece("cotton", FULL, stains=["grass", "blood"])),
    ("an unknown lining more", piece("wool", SUIT), piece("wool", SUIT, lining="unknown")),
    ("a hazard more", piece("cotton", FULL), piece("cotton", FULL, hazards=["fire.oil_selfheat"])),
    ("a tailored canvas more", piece("wool"), piece("wool", trims=["canvas_tailored"])),
    ("a leather trim on a dead end", piece("cotton", "no_wash no_dry_clean no_wet_clean"),
     piece("cotton", "no_wash no_dry_clean no_wet_clean", trims=["leather_trim"])),
]  # fmt: skip


@pytest.mark.parametrize("pair", PAIRS, ids=[pair[0] for pair in PAIRS])
def test_the_stricter_piece_of_a_pair_is_never_taken_looser(pair: Any) -> None:
    """What a label is said to be wrong about goes away when the label itself grows stricter."""
    before, after = map(decide_json, pair[1:])
    cautions = before["cautions"]
    if pair[1].get("label") != pair[2].get("label"):
        cautions = [c for c in cautions if not c["key"].startswith("label.")]
    assert loosened(before | {"cautions": cautions}, after) == []


STAINING = ["5", "4_5", "4", "3_4", "3", "2_3", "2", "1_2", "1"]


@pytest.mark.parametrize("kind", ["stain", "change"])
def test_a_worse_fastness_grade_in_place_of_a_better_loosens_no_limit(kind: str) -> None:
    """ISO 105-A02 and A03 run from 5, the best, to 1."""
    given = [piece("cotton", FULL, trims=[f"grade_{kind}_{grade}"]) for grade in STAINING]
    for better, worse in itertools.pairwise(map(decide_json, given)):
        assert loosened(better | {"cautions": []}, worse) == []
