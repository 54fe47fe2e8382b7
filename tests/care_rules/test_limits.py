"""The algebra of limits: combining is a meet, whatever the limits are."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from care_rules import decide_json
from care_rules.limits import AXES, FIRM, Limits, limits_json, severity_of
from tests.care_rules.builders import piece
from tests.care_rules.strategies import QUICK, facts

#: How many steps each axis has above wide open.
TOP = {"wash.max_c": 95, "iron.max_c": 210, "tumble": 3}
THREE = {"wash.action", "wash.spin", "bleach", "dry_clean.solvents", "dry_clean.action"}


def top(path: str) -> int:
    return TOP.get(path, 2 if path in THREE or path.endswith("action") else 1)


@st.composite
def limits(draw: st.DrawFn) -> Limits:
    key = draw(st.sampled_from(["a", "b", "c"]))
    pairs = [(axis, draw(st.integers(0, top(path))), FIRM) for axis, path in enumerate(AXES)]
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


@QUICK
@given(facts())
def test_limits_survive_the_way_through_json(one: dict[str, object]) -> None:
    decision = decide_json(one)
    severity = severity_of(decision["limits"], decision["load"])
    assert limits_json(severity) == decision["limits"]


def test_the_reasons_of_a_tie_are_all_named() -> None:
    decision = decide_json(piece("wool 50, cashmere 50", "wash_30_very_mild"))
    assert decision["because"]["wash.max_c"] == [
        "fibre.cashmere", "fibre.wool", "label.wash_30_very_mild",
    ]  # fmt: skip
