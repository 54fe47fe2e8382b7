"""Limits combined: the strictest counts, in any order, and every rule that asks for it is named.

Held for each kind of limit on its own with all of its values, and for whole sets of rules by
generated properties, against sums that are written here a second time.
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
    Pair,
    Tally,
    limits_at,
    strictest,
    value_at,
)
from tests.care_rules.builders import piece
from tests.care_rules.severity import severity_of
from tests.care_rules.strategies import QUICK, facts


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
FEW = settings(QUICK, max_examples=QUICK.max_examples // 3)
Rules = list[tuple[str, list[Pair], bool]]


Limits = list[tuple[int, set[str]]]
"""For each axis how strict it is, and the rules that ask for that."""


def tallied(rules: Rules, stated: int = 0) -> Limits:
    tally = Tally()
    for key, some, lifted in rules:
        tally.add(key, tuple(some), stated, lifted)
    return [(severity, set(why)) for severity, why in zip(tally.severity, tally.why, strict=True)]


def strictest_of(rules: Rules, stated: int) -> Limits:
    """What a tally must hold, worked out axis by axis from every pair that stands."""
    limits: Limits = []
    for axis in range(COUNT):
        standing = [
            (severity, key)
            for key, some, lifted in rules
            for place, severity, softness in some
            if place == axis and not _falls(axis, softness, stated, lifted=lifted)
        ]
        top = max((severity for severity, _key in standing), default=0)
        limits.append((top, {key for severity, key in standing if severity == top > 0}))
    return limits


def _falls(axis: int, softness: int, stated: int, *, lifted: bool) -> bool:
    """A label that speaks of the treatment takes the place of a default, and of a usual limit
    where the owner lifted it."""
    if not AXIS_BIT[axis] & stated:
        return False
    return softness == DEFAULT or (lifted and softness == USUAL)


def looser_axes(limits: Limits, than: Limits) -> list[int]:
    return [axis for axis in range(COUNT) if limits[axis][0] < than[axis][0]]


@FEW
@given(RULES, STATED, st.randoms())
def test_the_tally_holds_the_strictest_of_the_rules_that_stand_in_any_order(
    rules: Rules, stated: int, random: object
) -> None:
    expected = strictest_of(rules, stated)
    assert tallied(rules, stated) == expected
    shuffled = list(rules)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    assert tallied(shuffled, stated) == expected
    assert tallied([*rules, *rules], stated) == expected


@pytest.mark.parametrize("path", AXES)
def test_each_kind_of_limit_is_combined_in_all_of_its_values(path: str) -> None:
    """Of a temperature, in every value that a table may hold."""
    axis, top = AXES.index(path), strictest(path)
    values = range(top + 1) if top < 10 else sorted({*range(0, top, 19), *range(0, top, 23), top})
    assert len({value_at(path, value) for value in values}) == len(values) >= 2
    for mine, theirs in itertools.product(values, repeat=2):
        rules: Rules = [("a", [(axis, mine, FIRM)], False), ("b", [(axis, theirs, FIRM)], False)]
        both = tallied(rules)
        keys = {key for key, value in (("a", mine), ("b", theirs)) if value == max(mine, theirs)}
        assert both[axis] == (max(mine, theirs), keys if max(mine, theirs) else set())
        assert both == tallied(rules[::-1])
        assert [place for place in range(COUNT) if both[place][0]] in ([axis], [])


@FEW
@given(RULES, RULES, STATED)
def test_one_more_rule_never_loosens_a_tally(rules: Rules, more: Rules, stated: int) -> None:
    assert looser_axes(tallied([*rules, *more], stated), than=tallied(rules, stated)) == []


@FEW
@given(RULES, STATED, STATED)
def test_only_what_a_label_speaks_of_can_loosen_and_only_its_own_treatment(
    rules: Rules, stated: int, more: int
) -> None:
    before, after = tallied(rules, stated), tallied(rules, stated | more)
    for axis in looser_axes(after, than=before):
        assert AXIS_BIT[axis] & more & ~stated, AXES[axis]
    assert looser_axes(before, than=after) == []


@QUICK
@given(facts())
def test_limits_survive_the_way_through_json(garment: dict[str, object]) -> None:
    decision = decide_json(garment)
    severity = severity_of(decision["limits"], decision["load"])
    assert limits_at(tuple(severity)).as_json() == decision["limits"]


def test_the_reasons_of_a_tie_are_all_named() -> None:
    decision = decide_json(piece("wool 50, cashmere 50", "wash_30_very_mild"))
    assert decision["because"]["wash.max_c"] == [
        "fibre.cashmere", "fibre.wool", "label.wash_30_very_mild",
    ]  # fmt: skip
