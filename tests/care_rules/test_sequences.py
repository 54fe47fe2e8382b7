"""What must be parted, done before heat, or come first: spotting, rinses, mends and cleaning.

Mixtures: a US state safety bulletin and general chemistry, as the rows of mixtures and hazards say.
Order of mending beside cleaning: trade practice, with the reason in each row of work.
"""

from __future__ import annotations

import itertools
from typing import Any

import pytest

from care_rules import decide_json, rule
from care_rules.spotting import dangerous
from care_rules.tables import book
from tests.care_rules.builders import keys, piece, step, steps

FULL = "wash_60 bleach_any tumble_normal line_dry iron_200 dry_clean_p no_wet_clean"
STAINS = sorted(book()["stains"])


def unparted(decision: dict[str, Any]) -> list[tuple[str, str]]:
    """Agents of one danger that meet without a rinse: in one step, one after the other, or in
    the bath. Oxygen bleach in the bath is the peroxide of the tables."""
    met: set[str] = set()
    pairs = []
    for route_step in decision["steps"]:
        if route_step["step"] == "rinse":
            met.clear()
        agents = list(route_step["settings"].get("agents", []))
        if route_step["step"] == "wash" and route_step["settings"].get("bleach") == "oxygen":
            agents.append("peroxide")
        for agent in agents:
            pairs += [(other, agent) for other in met if dangerous(book(), [other], agent)]
            met.add(agent)
    return pairs


WORKED = {"services": ["clean", "press", "mend", "alter"], "damage": ["tear", "loose_button"],
          "work": ["seam_restitch", "trouser_hem_let_down", "patch_iron_on"]}  # fmt: skip


@pytest.mark.parametrize("first", STAINS)
def test_no_two_stains_bring_a_dangerous_mixture_together(first: str) -> None:
    """Every pair of stains on a white cotton piece that is mended, bleached and pressed."""
    for second in STAINS:
        accepted = sorted(book()["hazards"])
        facts = piece("cotton", FULL, stains=[first, second], accepted=accepted, **WORKED)
        assert unparted(decide_json(facts)) == [], second


def test_sour_or_reducing_and_oxidising_stains_at_once_are_parted_too() -> None:
    """Ammonia and acid, a reducing and an oxidising agent: rust itself forbids any bleach."""
    sour = [key for key in STAINS if "acid" in book()["stains"][key].listed("agents")]
    bleach = [key for key in STAINS if "peroxide" in book()["stains"][key].listed("agents")]
    reducing = [key for key in STAINS if "reducer" in book()["stains"][key].listed("agents")]
    assert all([sour, bleach, reducing])
    met = 0
    for stains in itertools.product([*sour, "egg"], bleach[:6], reducing):
        decision = decide_json(piece("cotton", FULL, stains=list(stains), **WORKED))
        assert unparted(decision) == [], stains
        met += steps(decision).count("rinse") > 1
    assert met


def test_a_dangerous_pair_is_found_when_it_stands_unparted() -> None:
    """The check above can fail: the same steps without their rinses are a mixture."""
    decision = decide_json(piece("cotton", FULL, stains=["grass", "iodine"]))
    decision["steps"] = [step for step in decision["steps"] if step["step"] != "rinse"]
    assert unparted(decision) != []


@pytest.mark.parametrize("facts", [{"stains": ["urine"]}, {"hazards": ["body.vomit_faeces"]}])
def test_body_fluids_are_rinsed_in_plain_water_before_anything_else(facts: dict[str, Any]) -> None:
    """Urine holds ammonia; UK HSE laundry guidance has foul linen sluiced first."""
    decision = decide_json(piece("cotton", FULL, **facts))
    wet = [s for s in decision["steps"] if s["step"] in ("rinse", "pre_spot", "wash")]
    assert wet[0]["step"] == "rinse"
    assert wet[0]["says"] == "Rinse it in plain cold water first."
    assert "body.vomit_faeces" in wet[0]["because"]
    assert all("plain cold water" not in step["says"] for step in wet[1:])


def test_a_mark_is_looked_for_before_the_iron_on_a_piece_that_comes_back_from_a_plant() -> None:
    suit = piece("wool", "no_wash no_tumble iron_150 dry_clean_p", kind="suit_jacket",
                 stains=["coffee, tea black"], services=["clean", "press"])  # fmt: skip
    order = steps(decide_json(suit))
    assert order.index("send_out") < order.index("wet_check") < order.index("press")
    assert step(decide_json(suit), "wet_check")["station"] == "check"
    plain = decide_json(suit | {"services": ["clean"]})
    assert "wet_check" not in steps(plain)


def test_stabilise_unpick_clean_and_sew_follow_one_another() -> None:
    facts = piece("cotton", "wash_40 tumble_low iron_150", services=["clean", "press", "alter"],
                damage=["tear"], work=["trouser_hem_let_down", "trouser_zip_replace"])  # fmt: skip
    order = ["stabilise", "unpick", "wash", "dry", "mend", "press", "inspect"]
    decision = decide_json(facts)
    assert [name for name in steps(decision) if name in order] == order
    says = step(decision, "stabilise")["says"]
    assert "Tack the tear." in says
    assert "Tack the fly shut" in says
    assert step(decision, "unpick")["says"].startswith("Unpick the hem")


@pytest.mark.parametrize("key", sorted(book()["work"]))
def test_each_operation_stands_where_its_row_says_and_its_reason_can_be_read(key: str) -> None:
    row = book()["work"][key]
    decision = decide_json(piece("cotton", "wash_40 tumble_low iron_150", work=[key],
                                 services=["clean", "mend", "alter"]))  # fmt: skip
    doing = [s for s in decision["steps"] if key in s["settings"].get("work", ())]
    names = [s["step"] for s in doing]
    wash = steps(decision).index("wash")
    place = decision["steps"].index(doing[-1])
    assert names[-1] == ("stabilise" if row.cells["order"] == "before" else "mend")
    assert (place < wash) is (row.cells["order"] == "before")
    if row.cells["before_step"] and row.cells["order"] != "before":
        first = [s for s in decision["steps"][:wash] if row.cells["before_says"] in s["says"]]
        assert [row.key in s["because"] for s in first] == [True]
    assert all(row.key in s["because"] for s in doing)
    assert rule(row.key).says.strip()


CUTS = sorted(key for key, row in book()["work"].items() if row.flag("cuts"))


@pytest.mark.parametrize("key", CUTS)
def test_cloth_that_may_shrink_is_washed_before_it_is_cut(key: str) -> None:
    unwashed = decide_json(piece("cotton", FULL, work=[key], services=["alter"]))
    assert "route.wash_before_cut" in keys(unwashed, "caution")
    washed = decide_json(piece("cotton", FULL, work=[key], services=["clean", "alter"]))
    assert "route.wash_before_cut" not in keys(washed)
    steady = decide_json(piece("polyester", FULL, work=[key], services=["alter"]))
    assert "route.wash_before_cut" not in keys(steady)


def test_every_shortening_counts_as_a_cut() -> None:
    """Layers, pleats and beaded edges are cut as plain hems are."""
    named = {key for key, row in book()["work"].items()
             if row.cells["name"].startswith("Shorten ")}  # fmt: skip
    assert named - set(CUTS) <= {"strap_shorten"}


def test_new_parts_come_with_a_word_on_washing_them_first() -> None:
    decision = decide_json(piece("wool", "dry_clean_p", work=["coat_reline_full"],
                                 services=["clean", "mend"]))  # fmt: skip
    (caution,) = [c for c in decision["cautions"] if c["key"] == "label_rule.us_whole_garment"]
    assert "wash its cloth before sewing" in caution["do"]


def test_spotting_runs_in_the_order_of_the_work_and_never_of_the_alphabet() -> None:
    """Dry side, then wet: protein, tannin, rust, any bleach last (spotting manuals, memory)."""
    stains = ["coffee, tea black", "rust", "egg", "ballpoint ink"]
    symbols = "wash_60 bleach_any tumble_normal iron_200 dry_clean_p"
    decision = decide_json(piece("cotton", symbols, stains=stains))
    treated = [s["settings"] for s in decision["steps"] if s["step"] == "pre_spot"]
    order = [settings["stain"] for settings in treated]
    assert order[:4] == ["ballpoint ink", "egg", "coffee, tea black", "rust"]
    assert decision["limits"]["bleach"] == "none"
    assert not [s for s in treated if "peroxide" in s["agents"]]


def test_oxygen_bleach_comes_after_every_other_agent_once_no_rust_is_there() -> None:
    symbols = "wash_60 bleach_any tumble_normal iron_200 dry_clean_p"
    decision = decide_json(piece("cotton", symbols, stains=["coffee, tea black", "egg"]))
    treated = [s["settings"] for s in decision["steps"] if s["step"] == "pre_spot"]
    assert [s["stain"] for s in treated] == ["egg", "coffee, tea black", "coffee, tea black"]
    assert [agent for s in treated for agent in s["agents"]][-1] == "peroxide"
