"""Why a limit stands where it stands, as data for a drawing: each rule's mark on each limit.

No rule is judged here a second time: every mark comes from the same gathering and the same
``Tally`` that the decision comes from.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from care_rules.deciding import gathered
from care_rules.house import HouseRule
from care_rules.limits import (
    AXES,
    AXIS_BIT,
    CLOTH,
    DRIP,
    HANG,
    HOTTEST_IRON,
    HOTTEST_WATER,
    REVERSE,
    SHADE,
    USUAL,
    Tally,
    strength_at,
    strictest,
    value_at,
)
from care_rules.rows import row_name
from care_rules.vocabulary import Facts

#: How a thing is to be done. A label names these only to ask for them, so they are no ceiling.
_MANNERS = frozenset({HANG, DRIP, SHADE, REVERSE, CLOTH})
_WATERS = (95, 70, 60, 50, 40, 30, 0)
_SOLES = (210, 200, 150, 110, 0)


@dataclass(frozen=True, slots=True)
class Mark:
    """One rule on one limit. ``place`` runs from 0, wide open, to 1, forbidden.

    ``decides``: no other rule is stricter here. ``set_aside``: the label's own word or a recorded
    override replaced it, so it does not count. ``strength`` is that of the rule on this limit.
    """

    key: str
    name: str
    value: str
    place: float
    decides: bool
    set_aside: bool
    strength: str


@dataclass(frozen=True, slots=True)
class LimitRow:
    """One limit of a piece: where it ended, and every rule that spoke on it, loosest first."""

    path: str
    value: str
    place: float
    marks: tuple[Mark, ...]


def why(facts: Facts, house_rules: Sequence[HouseRule] = ()) -> tuple[LimitRow, ...]:
    """A row for each limit on which a rule spoke, in the order of the contract."""
    _reading, _materials, gather = gathered(facts, house_rules)
    whole = gather.tally(facts.overrides)
    counted: list[dict[str, int]] = [{} for _axis in AXES]
    spoken: list[dict[str, int]] = [{} for _axis in AXES]
    names: dict[str, str] = {}
    strengths: dict[tuple[int, str], str] = {}
    rules = gather.tables.rules
    for key, pairs, _row in gather.rules:
        alone, untouched = Tally(), Tally()
        alone.add(key, pairs, gather.stated, key in facts.overrides)
        untouched.add(key, pairs, 0)
        names[key] = row_name(rules.get(key) or gather.house[key])
        for axis, _severity, softness in sorted(pairs):
            strengths[axis, key] = strength_at(softness)
        for axis, severity in enumerate(untouched.severity):
            if severity:
                spoken[axis][key] = max(severity, spoken[axis].get(key, 0))
                counted[axis][key] = max(alone.severity[axis], counted[axis].get(key, 0))
    rows = []
    for axis, path in enumerate(AXES):
        if not spoken[axis]:
            continue
        closed, deciding = strictest(path), set(whole.why[axis])
        marks = [
            Mark(
                key,
                names[key],
                value_at(path, counted[axis][key] or said),
                (counted[axis][key] or said) / closed,
                key in deciding,
                not counted[axis][key],
                strengths[axis, key],
            )
            for key, said in spoken[axis].items()
        ]
        severity = whole.severity[axis]
        marks.sort(key=lambda mark: (mark.place, mark.decides, mark.key))
        rows.append(LimitRow(path, value_at(path, severity), severity / closed, tuple(marks)))
    return tuple(rows)


def stops(path: str) -> tuple[tuple[str, float], ...]:
    """The named values of a limit with their places, from wide open to forbidden."""
    closed = strictest(path)
    hottest = {"wash.max_c": _WATERS, "iron.max_c": _SOLES}.get(path)
    if hottest:
        top = HOTTEST_WATER if path == "wash.max_c" else HOTTEST_IRON
        return tuple((str(degrees), (top - degrees) / top) for degrees in hottest)
    return tuple((value_at(path, severity), severity / closed) for severity in range(closed + 1))


def liftable(facts: Facts) -> dict[str, tuple[str, ...]]:
    """``usual`` rules that hold the piece below its readable label, with the limits they hold.

    These are what an owner may record as lifted when the maker's finish is known; lifting one
    goes up to the label and never past it. What is lifted already is listed too.
    """
    reading, _materials, gather = gathered(facts)
    paths_of: dict[str, list[str]] = {}
    for key, pairs, row in gather.rules:
        if key != row.key:
            continue
        for axis, severity, softness in pairs:
            held = AXIS_BIT[axis] & gather.stated and severity > reading.ceiling[axis]
            if axis in _MANNERS or softness != USUAL or not held:
                continue
            if AXES[axis] not in paths_of.setdefault(key, []):
                paths_of[key].append(AXES[axis])
    return {key: tuple(paths) for key, paths in sorted(paths_of.items()) if paths}
