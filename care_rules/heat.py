"""Ceiling and floor on one scale: how warm water and iron may be, and how warm a soil wants them.

Every ceiling is a mark of ``care_rules.why``, every floor a need of the decision: nothing is judged
here a second time.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from care_rules.deciding import decide, gathered
from care_rules.house import HouseRule
from care_rules.rows import row_name
from care_rules.tables import book
from care_rules.vocabulary import Facts
from care_rules.why import LimitRow, why


@dataclass(frozen=True, slots=True)
class HeatBound:
    """One rule on the scale, at so many degrees Celsius; 0 is never.

    ``standing``: a ceiling ``decides``, ``allows_more`` or is ``set_aside``; a floor is ``met`` or
    ``unmet``; what holds ``until_out`` caps the first bath alone. A floor has no ``strength``.
    """

    key: str
    name: str
    degrees: int
    strength: str
    standing: str


@dataclass(frozen=True, slots=True)
class HeatSpan:
    """How hot a treatment may be and must be, in degrees Celsius.

    ``highest`` is 0 where it is forbidden, ``lowest`` None where nothing asks for heat. A
    ``lowest`` above the ``highest`` leaves no room. The strictest bound stands first.
    """

    path: str
    lowest: int | None
    highest: int
    floors: tuple[HeatBound, ...]
    first_baths: tuple[HeatBound, ...]
    ceilings: tuple[HeatBound, ...]


def heat_spans(facts: Facts, house_rules: Sequence[HouseRule] = ()) -> tuple[HeatSpan, HeatSpan]:
    """The spans of water and iron; a key of the facts that no table holds raises KeyError."""
    marks_of = {row.path: row for row in why(facts, house_rules)}
    decision = decide(facts, house_rules)
    rules = book().rules
    needs = [need for need in decision.needs if need.what == "wash_min_c" and need.value]
    floors = tuple(
        HeatBound(
            need.key, row_name(rules[need.key]), need.value or 0, "", "met" if need.met else "unmet"
        )
        for need in sorted(needs, key=lambda need: (-(need.value or 0), need.key))
    )
    limits = decision.limits
    water = HeatSpan(
        "wash.max_c",
        max((floor.degrees for floor in floors), default=None),
        limits.wash.max_c,
        floors,
        _first_baths(facts, house_rules, limits.wash.max_c),
        _ceilings(marks_of.get("wash.max_c")),
    )
    ceilings = _ceilings(marks_of.get("iron.max_c"))
    return water, HeatSpan("iron.max_c", None, limits.iron.max_c, (), (), ceilings)


def _ceilings(row: LimitRow | None) -> tuple[HeatBound, ...]:
    if row is None:
        return ()
    bounds = [
        HeatBound(
            mark.key,
            mark.name,
            int(mark.value),
            mark.strength,
            "set_aside" if mark.set_aside else "decides" if mark.decides else "allows_more",
        )
        for mark in row.marks
    ]
    order = ("decides", "allows_more", "set_aside")
    return tuple(sorted(bounds, key=lambda at: (order.index(at.standing), at.degrees, at.key)))


def _first_baths(
    facts: Facts, house_rules: Sequence[HouseRule], highest: int
) -> tuple[HeatBound, ...]:
    """The stains that want cooler water than the main bath until they are out."""
    _reading, materials, gather = gathered(facts, house_rules)
    rules = gather.tables.rules
    caps = sorted(materials.first_water.items(), key=lambda cap: (cap[1], cap[0]))
    return tuple(
        HeatBound(key, row_name(rules[key]), degrees, "", "until_out")
        for key, degrees in caps
        if degrees < highest
    )
