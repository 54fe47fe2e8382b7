"""Whatever waits and whatever stands in the shop, a plan breaks no rule and loses no piece."""

from __future__ import annotations

import time
from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.examples import examples
from tests.tickets.loads.days import shop_day
from tests.tickets.loads.first_fit import first_fit_decreasing
from tests.tickets.loads.naive import illegal_loads, naive_score, rules_broken
from tickets.loads.items import DRY, LoadItem
from tickets.loads.planner import better_plan, plan_loads
from tickets.loads.runs import Run, faults, lay_out, score
from tickets.loads.together import programme_for, shares, why_not_run
from tickets.shop.machine_facts import (
    SINK,
    MachineFacts,
    dryer_programmes,
    sink_programmes,
    usual_programmes,
)

SOME_ROUNDS = 60
CLOTHS = ("cotton_white", "coloured_cotton", "polyester", "wool_silk", "terry", "duvet_filled")


@st.composite
def waiting(draw: st.DrawFn, stage: str = "wash") -> list[LoadItem]:
    pieces = []
    for number in range(draw(st.integers(1, 14))):
        by_hand = stage == "wash" and draw(st.integers(0, 9)) == 0
        pieces.append(
            LoadItem(
                code=f"{1_000_001 + number // 3}{number % 3 + 1:02d}",
                due=draw(st.integers(-60, 900)),
                grams=draw(st.sampled_from((60, 220, 220, 500, 1400, 2500))),
                stage=stage,
                process="hand_wash" if by_hand else "machine_wash",
                max_c=draw(st.sampled_from((30, 40, 60, 95))),
                action=draw(st.integers(0, 2)),
                hand_only=by_hand,
                spin=draw(st.integers(0, 2)),
                tumble=draw(st.integers(0, 2)),
                colour_group=draw(
                    st.sampled_from(("white", "white", "light", "dark", "dark", "bright", "mixed"))
                ),
                alone=draw(st.integers(0, 9)) == 0,
                fragrance_free=draw(st.integers(0, 9)) == 0,
                bleeds=draw(st.sampled_from((0, 0, 0, 30, 40))),
                lint=draw(st.sampled_from(("", "", "giver", "receiver"))),
                fine=draw(st.booleans()),
                heavy=draw(st.integers(0, 4)) == 0,
                filled=draw(st.integers(0, 5)) == 0,
                group=draw(st.sampled_from(("", "", "", "hygiene", "flame_resistant"))),
                cloth=draw(st.sampled_from(CLOTHS)),
            )
        )
    return pieces


@st.composite
def washers(draw: st.DrawFn) -> list[MachineFacts]:
    machines = [
        MachineFacts(
            f"washer-{number}",
            "washer",
            draw(st.sampled_from((70.0, 100.0, 180.0))),
            usual_programmes(),
            free_from=draw(st.sampled_from((0, 25))),
        )
        for number in range(draw(st.integers(1, 3)))
    ]
    return [*machines, MachineFacts("sink", SINK, 70.0, sink_programmes(), 0, 5, 1)]


@examples(60)
@given(waiting(), washers())
def test_no_plan_breaks_a_limit_or_loses_a_piece(
    pieces: list[LoadItem], machines: list[MachineFacts]
) -> None:
    plan = plan_loads(pieces, machines, SOME_ROUNDS)
    assert illegal_loads(plan, pieces) == 0
    assert faults(plan, pieces) == []
    assert all(why_not_run([piece], machine) for piece in plan.left_over for machine in machines)
    assert naive_score(plan) == score(plan)


@examples(40)
@given(waiting(), st.lists(st.sampled_from((8.0, 12.0, 20.0, 30.0)), min_size=7, max_size=7))
def test_programmes_of_any_ratio_never_overfill_a_drum(
    pieces: list[LoadItem], ratios: list[float]
) -> None:
    """A stronger programme may want more room than a gentler one: taking a piece out counts too."""
    own = tuple(
        replace(programme, litres_per_kg=ratio)
        for programme, ratio in zip(usual_programmes(), ratios, strict=True)
    )
    machines = [MachineFacts("a", "washer", 100.0, own), MachineFacts("b", "washer", 70.0, own)]
    plan = plan_loads(pieces, machines, SOME_ROUNDS)
    assert illegal_loads(plan, pieces) == 0


@examples(40)
@given(waiting(DRY), st.integers(1, 2))
def test_no_dryer_load_breaks_a_limit(pieces: list[LoadItem], number: int) -> None:
    dryers = [MachineFacts(f"dryer-{n}", "dryer", 200.0, dryer_programmes()) for n in range(number)]
    plan = plan_loads(pieces, dryers, SOME_ROUNDS)
    assert illegal_loads(plan, pieces) == 0
    assert naive_score(plan) == score(plan)


@examples(30)
@given(waiting(), washers(), st.randoms(use_true_random=False))
def test_the_same_facts_in_any_order_give_the_same_plan(
    pieces: list[LoadItem], machines: list[MachineFacts], rng: object
) -> None:
    plan = plan_loads(pieces, machines, SOME_ROUNDS)
    rng.shuffle(pieces)  # type: ignore[attr-defined]
    rng.shuffle(machines)  # type: ignore[attr-defined]
    assert plan_loads(pieces, machines, SOME_ROUNDS) == plan


@examples(40)
@given(waiting(), washers())
def test_another_machine_never_makes_a_known_plan_worse(
    pieces: list[LoadItem], machines: list[MachineFacts]
) -> None:
    """Guaranteed where the plan made before is known; from scratch it is only likely."""
    before = plan_loads(pieces, machines, SOME_ROUNDS)
    more = [*machines, MachineFacts("washer-new", "washer", 100.0, usual_programmes())]
    after = better_plan(before, pieces, more)
    assert illegal_loads(after, pieces) == 0
    if not before.left_over:
        assert score(after) <= score(before)


def test_a_known_plan_that_no_longer_serves_is_ignored() -> None:
    machine = MachineFacts("a", "washer", 100.0, usual_programmes())
    first = LoadItem("100000101", 100, 220, max_c=60)
    second = replace(first, code="100000102")
    before = plan_loads([first], [machine])
    for pieces, machines in (
        ([first, second], [machine]),
        ([second], [machine]),
        ([replace(first, grams=12_000)], [machine, replace(machine, key="b", litres=300.0)]),
        ([first], [replace(machine, key="b")]),
    ):
        fresh = plan_loads(pieces, machines)
        assert better_plan(before, pieces, machines) == fresh


@pytest.mark.parametrize("number", [30, 90, 180])
def test_a_day_from_the_care_engine_is_legal_and_no_worse_than_first_fit(number: int) -> None:
    pieces, machines = shop_day(3, number)
    plan = plan_loads(pieces, machines)
    assert illegal_loads(plan, pieces) == 0
    rule = first_fit_decreasing(pieces, machines)
    assert illegal_loads(rule, pieces) == 0
    assert score(plan) <= score(rule)


def test_four_hundred_pieces_take_under_a_second_of_processor_time() -> None:
    pieces, machines = shop_day(4, 400)
    began = time.process_time()
    plan = plan_loads(pieces, machines)
    assert time.process_time() - began < 1.0
    assert illegal_loads(plan, pieces) == 0


def test_the_checker_finds_what_is_wrong() -> None:
    """A check that can't fail proves nothing: each fault is made on purpose."""
    machine = MachineFacts("a", "washer", 20.0, usual_programmes())
    white = LoadItem("100000101", 100, 900, max_c=60, cloth="cotton_white")
    dark = LoadItem("100000102", 100, 900, max_c=60, colour_group="dark")
    heavy = LoadItem("100000103", 100, 1900, max_c=60, cloth="cotton_white")
    assert faults(lay_out([(machine, [white]), (machine, [dark])]), [white, dark]) == []
    mixed = lay_out([(machine, [white, dark])])
    assert faults(mixed, [white, dark]) == [
        "100000101 and 100000102 may not share: Colours of the groups dark and white stay apart."
    ]
    assert illegal_loads(mixed, [white, dark]) == 1
    full = lay_out([(machine, [white, heavy])])
    assert faults(full, [white, heavy]) == ["60 °C, normal needs 28 l of drum; a has 20 l."]
    assert illegal_loads(full, [white, heavy]) == 1
    lost = lay_out([(machine, [white])])
    assert faults(lost, [white, dark]) == ["the plan's pieces are not those given, each once"]
    assert illegal_loads(lost, [white, dark]) == 1


def test_a_piece_that_no_machine_can_take_is_named_and_the_rest_is_planned() -> None:
    machine = MachineFacts("a", "washer", 100.0, usual_programmes())
    shirt = LoadItem("100000101", 100, 220, max_c=60)
    tent = LoadItem("100000102", 100, 12_000, max_c=60)
    plan = plan_loads([tent, shirt], [machine])
    assert plan.left_over == (tent,)
    assert [run.pieces for run in plan.runs] == [(shirt,)]


def test_the_urgent_load_goes_first_and_a_thin_one_without_hurry_may_wait() -> None:
    machine = MachineFacts("a", "washer", 100.0, usual_programmes())
    later = LoadItem("100000101", 2000, 220, max_c=60)
    soon = LoadItem("100000201", 60, 6000, max_c=60, colour_group="dark")
    plan = plan_loads([later, soon], [machine])
    assert [run.pieces for run in plan.runs] == [(soon,), (later,)]
    assert [run.may_wait for run in plan.runs] == [False, True]
    assert [run.heavy_single for run in plan.runs] == [True, False]


@pytest.mark.parametrize("what", ["pieces", "machines"])
def test_a_code_given_twice_is_refused(what: str) -> None:
    piece = LoadItem("100000101", 100, 220)
    machine = MachineFacts("a", "washer", 100.0, usual_programmes())
    with pytest.raises(ValueError, match="once"):
        plan_loads([piece] * (1 + (what == "pieces")), [machine] * (1 + (what == "machines")))


def test_no_company_is_refused_that_the_plain_reading_of_the_rules_allows() -> None:
    """Nor the other way round: a rule too many would cost runs that no gap to a solver shows."""
    pieces, _ = shop_day(0, 120)
    drum = MachineFacts("a", "washer", 900.0, usual_programmes())
    answers = []
    for pair in combinations({piece.sort: piece for piece in pieces}.values(), 2):
        programme = programme_for(pair, drum)
        if programme is not None:
            plain = not rules_broken(Run(drum, programme, pair, 0, programme.minutes))
            answers.append((shares(*pair), plain))
    assert all(planned == plain for planned, plain in answers)
    assert {planned for planned, _ in answers} == {False, True}
