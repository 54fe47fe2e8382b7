"""Ceiling and floor of a piece on one scale: how warm water and iron may be, and must be."""

from __future__ import annotations

from typing import Any

from hypothesis import given

from care_rules import HouseRule, decide, parse_facts
from care_rules.heat import HeatSpan, heat_spans
from tests.care_rules.builders import piece
from tests.care_rules.strategies import QUICK, facts


def spans_of(garment: dict[str, Any]) -> tuple[HeatSpan, HeatSpan]:
    return heat_spans(parse_facts(garment))


def standings(span: HeatSpan) -> dict[str, tuple[int, str, str]]:
    """Rule to where it stands, how strong it is and what becomes of it."""
    return {
        bound.key: (bound.degrees, bound.strength, bound.standing)
        for bound in (*span.floors, *span.first_baths, *span.ceilings)
    }


def test_a_label_is_a_ceiling_and_nothing_asks_for_heat() -> None:
    water, iron = spans_of(piece("cotton", "wash_60 iron_150"))
    assert (water.highest, water.lowest, water.floors) == (60, None, ())
    assert standings(water)["label.wash_60"] == (60, "physical", "decides")
    assert (iron.highest, iron.lowest) == (150, None)
    assert standings(iron)["label.iron_150"] == (150, "physical", "decides")


def test_blood_lifts_the_floor_above_40_and_the_label_still_ends_the_span() -> None:
    """UK HSE laundry guidance: body fluids are washed hotter than 40 °C."""
    water, _iron = spans_of(piece("cotton", "wash_60 iron_200", hazards=["body.blood"]))
    assert (water.lowest, water.highest) == (41, 60)
    assert [(floor.key, floor.degrees, floor.standing) for floor in water.floors] == [
        ("body.blood", 41, "met")
    ]


def test_a_floor_above_the_ceiling_is_said_to_be_unmet() -> None:
    water, _iron = spans_of(piece("wool", "wash_30_very_mild", hazards=["body.blood"]))
    assert (water.lowest, water.highest) == (41, 30)
    assert [floor.standing for floor in water.floors] == ["unmet"]


def test_what_never_meets_water_or_iron_ends_at_nought() -> None:
    water, iron = spans_of(piece("wool", "no_wash no_iron dry_clean_p"))
    assert (water.highest, iron.highest) == (0, 0)
    assert standings(water)["label.no_wash"][2] == "decides"


def test_a_habit_that_gives_way_to_the_label_is_set_aside() -> None:
    """Common practice, no source: dark cotton is washed at 40 °C until its label allows more."""
    water, _iron = spans_of(piece("cotton", "wash_60 iron_200", colour="dark"))
    degrees, strength, standing = standings(water)["colour.dark"]
    assert (degrees, strength, standing) == (40, "common", "set_aside")
    assert water.highest == 60


def test_a_stain_caps_only_the_first_bath() -> None:
    """Blood is rinsed cold before the warm bath (common practice of textile care)."""
    water, _iron = spans_of(piece("cotton", "wash_60 iron_200", stains=["blood"]))
    assert [bound.key for bound in water.first_baths] == ["stain.blood"]
    assert water.first_baths[0].degrees < water.highest == 60
    assert "stain.blood" not in {bound.key for bound in water.ceilings}


def test_a_rule_of_the_house_is_on_the_scale() -> None:
    cool = HouseRule("house.cool", "fibre.wool", "The machine runs hot.", "wash.max_c=20")
    water, _iron = heat_spans(parse_facts(piece("wool", "wash_30_very_mild")), [cool])
    assert water.highest == 20
    assert standings(water)["house.cool"][2] == "decides"


def test_the_strictest_ceiling_and_floor_stand_first() -> None:
    water, _iron = spans_of(piece("wool 80, silk 20", "wash_60", colour="dark"))
    counted = [bound.degrees for bound in water.ceilings if bound.standing != "set_aside"]
    assert counted == sorted(counted)
    assert water.ceilings[0].standing == "decides"


@QUICK
@given(facts())
def test_the_span_ends_where_the_decision_does(garment: dict[str, Any]) -> None:
    piece_facts = parse_facts(garment)
    decision, (water, iron) = decide(piece_facts), heat_spans(piece_facts)
    assert (water.highest, iron.highest) == (
        decision.limits.wash.max_c,
        decision.limits.iron.max_c,
    )
    assert [(floor.key, floor.degrees) for floor in water.floors] == sorted(
        [(need.key, need.value) for need in decision.needs if need.what == "wash_min_c"],
        key=lambda pair: (-(pair[1] or 0), pair[0]),
    )
    for span, path in ((water, "wash.max_c"), (iron, "iron.max_c")):
        deciding = {bound.key for bound in span.ceilings if bound.standing == "decides"}
        assert deciding == set(decision.because.get(path, ()))
        assert all(
            bound.degrees >= span.highest
            for bound in span.ceilings
            if bound.standing != "set_aside"
        )
    assert iron.floors == iron.first_baths == ()
