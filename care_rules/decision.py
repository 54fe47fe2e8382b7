"""A decision about one piece: limits, load, steps, cautions and reasons, as frozen values.

Temperatures are in degrees Celsius: of the water for ``wash``, of the sole plate for ``iron``.
Fields, their order and their words are those of the decision contract; ``as_json`` writes them and
``care_rules.stored.read_decision`` reads them back.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TypedDict

from care_rules.jsons import JsonObject


@dataclass(frozen=True, slots=True)
class WashLimit:
    """Washing in water. ``max_c`` is 0 where it is not ``allowed``."""

    allowed: bool
    max_c: int
    action: str
    hand_only: bool
    spin: str

    def as_json(self) -> JsonObject:
        return {
            "allowed": self.allowed,
            "max_c": self.max_c,
            "action": self.action,
            "hand_only": self.hand_only,
            "spin": self.spin,
        }


@dataclass(frozen=True, slots=True)
class AirDryLimit:
    """Drying in the air: may it ``hang``, and must it ``drip`` or have ``shade``?"""

    hang: bool
    drip: bool
    shade: bool

    def as_json(self) -> JsonObject:
        return {"hang": self.hang, "drip": self.drip, "shade": self.shade}


@dataclass(frozen=True, slots=True)
class IronLimit:
    """Ironing. ``max_c`` 0 means never with an iron; ``steam`` may be allowed even then."""

    max_c: int
    steam: bool
    reverse_side: bool
    press_cloth: bool

    def as_json(self) -> JsonObject:
        return {
            "max_c": self.max_c,
            "steam": self.steam,
            "reverse_side": self.reverse_side,
            "press_cloth": self.press_cloth,
        }


@dataclass(frozen=True, slots=True)
class DryCleanLimit:
    """Solvents that may touch the piece, by their letter on the label; none forbids them all."""

    solvents: tuple[str, ...]
    action: str

    def as_json(self) -> JsonObject:
        return {"solvents": list(self.solvents), "action": self.action}


@dataclass(frozen=True, slots=True)
class WetCleanLimit:
    """Professional wet cleaning."""

    allowed: bool
    action: str

    def as_json(self) -> JsonObject:
        return {"allowed": self.allowed, "action": self.action}


@dataclass(frozen=True, slots=True)
class TreatmentLimits:
    """What a piece stands of each treatment."""

    wash: WashLimit
    bleach: str
    tumble: str
    air_dry: AirDryLimit
    iron: IronLimit
    dry_clean: DryCleanLimit
    wet_clean: WetCleanLimit

    def as_json(self) -> JsonObject:
        return {
            "wash": self.wash.as_json(),
            "bleach": self.bleach,
            "tumble": self.tumble,
            "air_dry": self.air_dry.as_json(),
            "iron": self.iron.as_json(),
            "dry_clean": self.dry_clean.as_json(),
            "wet_clean": self.wet_clean.as_json(),
        }


@dataclass(frozen=True, slots=True)
class LoadLimit:
    """How a piece goes into a machine, and with which colours."""

    colour_group: str
    alone: bool
    mesh_bag: bool
    inside_out: bool
    softener: bool

    def as_json(self) -> JsonObject:
        return {
            "colour_group": self.colour_group,
            "alone": self.alone,
            "mesh_bag": self.mesh_bag,
            "inside_out": self.inside_out,
            "softener": self.softener,
        }


class Settings(TypedDict, total=False):
    """What a step of a route is done with; each kind of step has those that it needs."""

    process: str
    to: str
    bath: str
    times: int
    hours: int
    max_c: int
    action: str
    spin: str
    bleach: str
    detergent: str
    solvent: str
    solvents: list[str]
    stain: str
    agents: list[str]
    method: str
    tumble: str
    drip: bool
    shade: bool
    target_c: int
    steam: bool
    reverse_side: bool
    press_cloth: bool
    pad: str
    vacuum: bool
    work: list[str]
    minutes: int
    put_back: list[str]


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the route: where, with which settings, said in one plain sentence."""

    step: str
    station: str
    says: str
    settings: Settings = field(default_factory=Settings, hash=False)
    because: tuple[str, ...] = ()

    def as_json(self) -> JsonObject:
        return {
            "step": self.step,
            "station": self.station,
            "settings": {
                name: value.copy() if isinstance(value, list) else value
                for name, value in self.settings.items()
            },
            "says": self.says,
            "because": list(self.because),
        }


@dataclass(frozen=True, slots=True)
class Need:
    """What a soil asks for: ``what`` is wash_min_c, wash_times, isolate, freeze or heat_first.

    ``key`` is that of the hazard. ``value`` is in degrees Celsius, a number of washes, or hours in
    the freezer; None for the other two. ``met`` says whether the route does it, here or away.
    """

    key: str
    what: str
    value: int | None
    met: bool
    says: str
    because: tuple[str, ...] = ()

    def as_json(self) -> JsonObject:
        return {
            "key": self.key,
            "what": self.what,
            "value": self.value,
            "met": self.met,
            "says": self.says,
            "because": list(self.because),
        }


@dataclass(frozen=True, slots=True)
class Caution:
    """A warning: how grave, about the whole piece or one treatment, what to do, whom to heed."""

    key: str
    level: str
    scope: str
    says: str
    do: str = ""
    defer_to: str = ""
    because: tuple[str, ...] = ()

    def as_json(self) -> JsonObject:
        return {
            "key": self.key,
            "level": self.level,
            "scope": self.scope,
            "says": self.says,
            "do": self.do,
            "defer_to": self.defer_to,
            "because": list(self.because),
        }


@dataclass(frozen=True, slots=True)
class Decision:
    """What may be done with the piece, how it goes through the shop, and why.

    ``because`` has the keys of the rules behind each limit that is not wide open.
    """

    id: str
    tables: str
    outcome: str
    process: str
    where: str
    limits: TreatmentLimits
    load: LoadLimit
    steps: tuple[Step, ...]
    cautions: tuple[Caution, ...]
    because: Mapping[str, tuple[str, ...]]
    #: who takes a piece whose process is "specialist"
    specialist: str | None = None
    needs: tuple[Need, ...] = ()
    #: advice for the customer, from label and material alone
    home: tuple[str, ...] = ()

    def named(self, piece: str) -> Decision:
        """The same decision about a like piece that is called so."""
        return replace(self, id=piece)

    def as_json(self) -> JsonObject:
        """The decision as plain JSON values, shaped as the contract says: a copy of its own."""
        return {
            "id": self.id,
            "tables": self.tables,
            "outcome": self.outcome,
            "specialist": self.specialist,
            "needs": [need.as_json() for need in self.needs],
            "home": list(self.home),
            "process": self.process,
            "where": self.where,
            "limits": self.limits.as_json(),
            "load": self.load.as_json(),
            "steps": [step.as_json() for step in self.steps],
            "cautions": [caution.as_json() for caution in self.cautions],
            "because": {path: list(keys) for path, keys in self.because.items()},
        }
