"""The algebra of limits: combining is a meet, whatever the limits are.

Held for each kind of limit on its own with all of its values, for whole sets of limits by
generated properties, and for ``Tally``, which the engine combines with, against ``Limits.meet``.
"""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from care_rules import decide_json
from care_rules.limits import (
    AXES,
    AXIS_BIT,
    COUNT,
    DEFAULT,
    FIRM,
    USUAL,
    Limits,
    Pair,
    Tally,
    limits_at,
    strictest,
    value_at,
)
from tests.care_rules.builders import piece
from tests.care_rules.severity import severity_of
from tests.care_rules.strategies import QUICK, facts


@st.composite
def limits(draw: st.DrawFn) -> Limits:
    key = draw(st.sampled_from(["a", "b", "c"]))
    pairs = [(axis, draw(st.integers(0, strictest(path))), FIRM) for axis, path in enumerate(AXES)]
    return Limits.of(key, pairs)


@QUICK
@given(limits(), limits(), limits())
def test_combining_is_associative_commutative_and_idempotent(
    a: Limits, b: Limits, c: Limits
) -> None:
    assert a.meet(b).meet(c) == a.meet(b.meet(c))
    assert a.meet(b) == b.meet(a)
    assert a.meet(a) == a


@QUICK
@given(limits(), limits())
def test_combining_is_never_looser_than_either(a: Limits, b: Limits) -> None:
    assert a.meet(b).looser_axes_than(a) == []
    assert a.meet(b).looser_axes_than(b) == []


@QUICK
@given(limits(), limits(), limits())
def test_combining_with_something_stricter_is_never_looser(a: Limits, b: Limits, c: Limits) -> None:
    assert a.meet(c).meet(b.meet(c)).looser_axes_than(a.meet(b)) == []


@QUICK
@given(limits())
def test_wide_open_changes_nothing_and_names_no_rule(a: Limits) -> None:
    assert a.meet(Limits()) == a
    for severity, why in zip(a.severity, a.why, strict=True):
        assert bool(why) is (severity > 0)


def one_axis(path: str) -> list[Limits]:
    """Every value of one kind of limit; of a temperature, every value that a table may hold."""
    axis, top = AXES.index(path), strictest(path)
    steps = range(top + 1) if top < 10 else sorted({*range(0, top, 19), *range(0, top, 23), top})
    return [Limits.of(f"rule {value_at(path, s)}", [(axis, s, FIRM)]) for s in steps]


@pytest.mark.parametrize("path", AXES)
def test_each_kind_of_limit_obeys_the_algebra_in_all_of_its_values(path: str) -> None:
    values = one_axis(path)
    assert len({value.severity for value in values}) == len(values) >= 2
    for a in values:
        assert a.meet(a) == a
        assert a.meet(Limits()) == a
    for a, b in itertools.product(values, repeat=2):
        assert a.meet(b) == b.meet(a)
        assert a.meet(b) in (a, b), "the strictest of two is one of them"
        assert a.meet(b).looser_axes_than(a) == []
    for a, b, c in itertools.product(values, repeat=3):
        assert a.meet(b).meet(c) == a.meet(b.meet(c))
        if not b.looser_axes_than(a):
            assert b.meet(c).looser_axes_than(a.meet(c)) == []


def pairs() -> st.SearchStrategy[Pair]:
    return st.integers(0, COUNT - 1).flatmap(
        lambda axis: st.tuples(
            st.just(axis),
            st.integers(0, strictest(AXES[axis])),
            st.sampled_from([FIRM, USUAL, DEFAULT]),
        )
    )


#: Rules as key, pairs, and whether the owner lifted it.
RULES = st.lists(
    st.tuples(st.sampled_from("abcdef"), st.lists(pairs(), max_size=4), st.booleans()), max_size=5
)
STATED = st.integers(0, 127)
#: Rules are slow to draw.
FEW = settings(QUICK, max_examples=100)
Rules = list[tuple[str, list[Pair], bool]]


def tallied(rules: Rules, stated: int) -> Limits:
    tally = Tally()
    for key, some, lifted in rules:
        tally.add(key, tuple(some), stated, lifted)
    return tally.limits()


@FEW
@given(RULES, STATED, st.randoms())
def test_the_tally_is_the_meet_of_the_rules_that_stand_in_any_order(
    rules: Rules, stated: int, random: object
) -> None:
    expected = Limits()
    for key, some, lifted in rules:
        for axis, severity, softness in some:
            spoken = bool(AXIS_BIT[axis] & stated)
            falls = spoken and (softness == DEFAULT or (lifted and softness == USUAL))
            if not falls:
                expected = expected.meet(Limits.of(key, [(axis, severity, FIRM)]))
    assert tallied(rules, stated) == expected
    shuffled = list(rules)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    assert tallied(shuffled, stated) == expected
    assert tallied([*rules, *rules], stated) == expected


@FEW
@given(RULES, RULES, STATED)
def test_one_more_rule_never_loosens_a_tally(rules: Rules, more: Rules, stated: int) -> None:
    assert tallied([*rules, *more], stated).looser_axes_than(tallied(rules, stated)) == []


@FEW
@given(RULES, STATED, STATED)
def test_only_what_a_label_speaks_of_can_loosen_and_only_its_own_treatment(
    rules: Rules, stated: int, more: int
) -> None:
    before, after = tallied(rules, stated), tallied(rules, stated | more)
    for path in after.looser_axes_than(before):
        assert AXIS_BIT[AXES.index(path)] & more & ~stated, path
    assert before.looser_axes_than(after) == []


@QUICK
@given(facts())
def test_limits_survive_the_way_through_json(one: dict[str, object]) -> None:
    decision = decide_json(one)
    severity = severity_of(decision["limits"], decision["load"])
    assert limits_at(tuple(severity)).as_json() == decision["limits"]


def test_the_reasons_of_a_tie_are_all_named() -> None:
    decision = decide_json(piece("wool 50, cashmere 50", "wash_30_very_mild"))
    assert decision["because"]["wash.max_c"] == [
        "fibre.cashmere", "fibre.wool", "label.wash_30_very_mild",
    ]  # fmt: skip
