"""What was stored, read back into its types: a decision, and the facts that it was made from.

``read_decision`` is the exact inverse of ``Decision.as_json``.

A stored decision must have exactly the fields of the contract. Those that a later contract added
are missing together in a decision of the tables before it, and are read as empty then.
"""

from __future__ import annotations

from collections.abc import Collection
from operator import itemgetter
from typing import get_origin, get_type_hints

from care_rules.decision import (
    AirDryLimit,
    Caution,
    Decision,
    DryCleanLimit,
    IronLimit,
    LoadLimit,
    Need,
    Settings,
    Step,
    TreatmentLimits,
    WashLimit,
    WetCleanLimit,
)
from care_rules.errors import DecisionError
from care_rules.jsons import Json, JsonMapping, JsonObject
from care_rules.limits import ACTIONS, AXES, BLEACHES, SOLVENT_SETS, SPINS, TUMBLES
from care_rules.vocabulary import (
    LEVELS,
    NEEDS,
    SPECIALISTS,
    Component,
    Facts,
    FibreShare,
    Label,
    ShopAbilities,
)


class _Shape:
    """The fields of one object: their names and what JSON makes of their values."""

    __slots__ = ("kinds", "names", "values_of")

    def __init__(self, **kinds: type) -> None:
        self.names = kinds.keys()
        self.kinds = tuple(kinds.values())
        self.values_of = itemgetter(*kinds)

    def read(self, place: str, given: Json) -> tuple[Json, ...]:
        """The values in the order of the fields; DecisionError names what is odd."""
        if type(given) is not dict or given.keys() != self.names:
            raise self._odd_names(place, given)
        values: tuple[Json, ...] = self.values_of(given)
        if tuple(map(type, values)) != self.kinds:
            raise self._odd_value(place, values)
        return values

    def _odd_names(self, place: str, given: Json) -> DecisionError:
        if not isinstance(given, dict):
            return DecisionError(place or "(whole)", f"an object is needed, not {given!r}")
        for name in self.names:
            if name not in given:
                return DecisionError(_inside(place, name), "this field is missing")
        stray = next(name for name in given if name not in self.names)
        return DecisionError(_inside(place, stray), "no such field; leave it out")

    def _odd_value(self, place: str, values: tuple[Json, ...]) -> DecisionError:
        odd = zip(self.names, self.kinds, values, strict=True)
        name, kind, value = next(row for row in odd if type(row[2]) is not row[1])
        return _not_a(place, name, kind, value)


_DECISION = _Shape(
    id=str,
    tables=str,
    outcome=str,
    specialist=str,
    needs=list,
    home=list,
    process=str,
    where=str,
    limits=dict,
    load=dict,
    steps=list,
    cautions=list,
    because=dict,
)
_LIMITS = _Shape(
    wash=dict, bleach=str, tumble=str, air_dry=dict, iron=dict, dry_clean=dict, wet_clean=dict
)
_WASH = _Shape(allowed=bool, max_c=int, action=str, hand_only=bool, spin=str)
_AIR_DRY = _Shape(hang=bool, drip=bool, shade=bool)
_IRON = _Shape(max_c=int, steam=bool, reverse_side=bool, press_cloth=bool)
_DRY_CLEAN = _Shape(solvents=list, action=str)
_WET_CLEAN = _Shape(allowed=bool, action=str)
_LOAD = _Shape(colour_group=str, alone=bool, mesh_bag=bool, inside_out=bool, softener=bool)
_STEP = _Shape(step=str, station=str, says=str, settings=dict, because=list)
_NEED = _Shape(key=str, what=str, value=int, met=bool, says=str, because=list)
_CAUTION = _Shape(key=str, level=str, scope=str, says=str, do=str, defer_to=str, because=list)
#: Setting to what JSON makes of its value; its lists hold texts.
_SETTINGS: dict[str, type] = {
    name: get_origin(hint) or hint for name, hint in get_type_hints(Settings).items()
}
#: What the contract has had since it asks for needs, and what stands for it before.
_LATER: JsonObject = {"specialist": "", "needs": [], "home": []}
_OUTCOMES = ("accept", "ask", "decline")
_PLACES = ("in_house", "send_out")
_SCOPES = ("piece", "step")
_JSON_NAMES = {
    str: "a text",
    int: "a whole number",
    bool: "true or false",
    list: "a list",
    dict: "an object",
}
_PLAIN_FACTS = frozenset({"id", "kind", "construction", "colour", "colour_tested", "wearer"})
_LISTED_FACTS = ("trims", "damage", "hazards", "services", "work", "accepted", "overrides")
_PATHS = frozenset({*AXES, "wash.allowed"})


def read_decision(given: Json) -> Decision:
    """The decision that ``as_json`` wrote.

    Raises DecisionError naming the place of the first field that is missing, unknown or holds a
    word or a kind of value that the contract does not know.
    """
    (
        key,
        tables,
        outcome,
        specialist,
        needs,
        home,
        process,
        where,
        limits,
        load,
        steps,
        cautions,
        because,
    ) = _DECISION.read("", _with_later_fields(given))
    _check("", "outcome", outcome, _OUTCOMES)
    _check("", "specialist", specialist, ("", *SPECIALISTS))
    _check("", "where", where, _PLACES)
    return Decision(
        key,
        tables,
        outcome,
        process,
        where,
        _read_limits(limits),
        LoadLimit(*_LOAD.read("load", load)),
        tuple([_read_step(f"steps[{at}]", step) for at, step in enumerate(steps)]),
        tuple([_read_caution(f"cautions[{at}]", caution) for at, caution in enumerate(cautions)]),
        _read_because(because),
        specialist or None,
        tuple([_read_need(f"needs[{at}]", need) for at, need in enumerate(needs)]),
        _texts("", "home", home),
    )


def _with_later_fields(given: Json) -> Json:
    """An older decision with the fields that it could not have; no specialist is an empty text."""
    if type(given) is not dict:
        return given
    if not given.keys() & _LATER.keys():
        return {**given, **_LATER}
    return {**given, "specialist": ""} if given.get("specialist", "") is None else given


def _read_need(place: str, given: Json) -> Need:
    if type(given) is dict and given.get("value", 0) is None:
        key, what, _value, met, says, because = _NEED.read(place, {**given, "value": 0})
        value = None
    else:
        key, what, value, met, says, because = _NEED.read(place, given)
    _check(place, "what", what, NEEDS)
    return Need(key, what, value, met, says, _texts(place, "because", because))


def _read_limits(given: Json) -> TreatmentLimits:
    wash, bleach, tumble, air_dry, iron, dry_clean, wet_clean = _LIMITS.read("limits", given)
    washing = WashLimit(*_WASH.read("limits.wash", wash))
    solvents, dry_action = _DRY_CLEAN.read("limits.dry_clean", dry_clean)
    wet = WetCleanLimit(*_WET_CLEAN.read("limits.wet_clean", wet_clean))
    letters = _texts("limits.dry_clean", "solvents", solvents)
    _check("limits.wash", "action", washing.action, ACTIONS)
    _check("limits.wash", "spin", washing.spin, SPINS)
    _check("limits", "bleach", bleach, BLEACHES)
    _check("limits", "tumble", tumble, TUMBLES)
    _check("limits.dry_clean", "solvents", "".join(letters) or "none", SOLVENT_SETS)
    _check("limits.dry_clean", "action", dry_action, ACTIONS)
    _check("limits.wet_clean", "action", wet.action, ACTIONS)
    return TreatmentLimits(
        washing,
        bleach,
        tumble,
        AirDryLimit(*_AIR_DRY.read("limits.air_dry", air_dry)),
        IronLimit(*_IRON.read("limits.iron", iron)),
        DryCleanLimit(letters, dry_action),
        wet,
    )


def _read_step(place: str, given: Json) -> Step:
    step, station, says, settings, because = _STEP.read(place, given)
    for name, value in settings.items():
        kind = _SETTINGS.get(name)
        if kind is None:
            raise DecisionError(f"{place}.settings.{name}", "no such setting; leave it out")
        if type(value) is not kind:
            raise _not_a(f"{place}.settings", name, kind, value)
        if isinstance(value, list):
            _texts(f"{place}.settings", name, value)
    return Step(step, station, says, settings.copy(), _texts(place, "because", because))


def _read_caution(place: str, given: Json) -> Caution:
    key, level, scope, says, do, defer_to, because = _CAUTION.read(place, given)
    _check(place, "level", level, LEVELS)
    _check(place, "scope", scope, _SCOPES)
    return Caution(key, level, scope, says, do, defer_to, _texts(place, "because", because))


def _read_because(given: JsonObject) -> dict[str, tuple[str, ...]]:
    read: dict[str, tuple[str, ...]] = {}
    for path, keys in given.items():
        if path not in _PATHS:
            raise DecisionError(f"because.{path}", "no such limit; leave it out")
        if type(keys) is not list:
            raise _not_a("because", path, list, keys)
        read[path] = _texts("because", path, keys)
    return read


def read_facts(given: JsonMapping) -> Facts:
    """The facts of a piece as they were told, without looking their keys up in today's tables.

    For facts that ``parse_facts`` took when they were stored: a key that the tables have dropped
    since is kept. A field left out is "not stated": services are empty then, and so is the state
    of the label.
    """
    taken = {name: value for name, value in given.items() if name in _PLAIN_FACTS}
    taken |= {name: tuple(given[name]) for name in _LISTED_FACTS if name in given}
    if "components" in given:
        taken["components"] = tuple(map(_read_component, given["components"]))
    if "stains" in given:
        taken["stains"] = tuple(item["stain"] for item in given["stains"])
    label = _with_tuples(given.get("label", {}))
    label.setdefault("state", "read" if label.get("symbols") or label.get("terms") else "")
    taken["label"] = Label(**label)
    taken.setdefault("services", ())
    if "shop" in given:
        taken["shop"] = ShopAbilities(**_with_tuples(given["shop"]))
    return Facts(**taken)


def _read_component(given: JsonMapping) -> Component:
    shares = tuple(
        FibreShare(share["fibre"], share.get("percent")) for share in given.get("fibres", ())
    )
    return Component(given.get("part", "other"), shares)


def _with_tuples(given: JsonMapping) -> JsonObject:
    return {
        name: tuple(value) if isinstance(value, list) else value for name, value in given.items()
    }


def _texts(place: str, name: str, values: list[Json]) -> tuple[str, ...]:
    try:
        "".join(values)  # the quickest way to learn whether all of them are texts
    except TypeError as error:
        raise DecisionError(_inside(place, name), f"a list of texts is needed: {error}") from error
    return tuple(values)


def _check(place: str, name: str, word: str, known: Collection[str]) -> None:
    if word not in known:
        cure = f"{word!r} is no such word; use one of {', '.join(known)}"
        raise DecisionError(_inside(place, name), cure)


def _not_a(place: str, name: str, kind: type, value: Json) -> DecisionError:
    return DecisionError(_inside(place, name), f"{_JSON_NAMES[kind]} is needed, not {value!r}")


def _inside(place: str, name: str) -> str:
    return f"{place}.{name}" if place else name
