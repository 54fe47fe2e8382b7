"""Limits as small whole numbers on axes, from 0 (wide open) up to forbidden.

Every limit is one axis. Combining two limits takes the larger number, so combining is
associative, commutative and idempotent, and nothing that is added can ever loosen a limit.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from care_rules.decision import (
    AirDryLimit,
    DryCleanLimit,
    IronLimit,
    LoadLimit,
    TreatmentLimits,
    WashLimit,
    WetCleanLimit,
)
from care_rules.vocabulary import GROUPS

#: The hottest water and sole plate that any symbol allows, in degrees Celsius. 95: ISO 3758
#: washing; 210: three dots in the 2023 edition of the iron symbol (200 in 2012).
HOTTEST_WATER, HOTTEST_IRON = 95, 210

ACTIONS = ("normal", "mild", "very_mild")
SPINS = ("normal", "reduced", "none")
BLEACHES = ("any", "oxygen", "none")
TUMBLES = ("normal", "low", "no_heat", "none")
SOLVENT_SETS = ("PF", "F", "none")
_SOLVENTS = (("P", "F"), ("F",), ())

AXES = (
    "wash.max_c",
    "wash.action",
    "wash.hand_only",
    "wash.spin",
    "bleach",
    "tumble",
    "air_dry.hang",
    "air_dry.drip",
    "air_dry.shade",
    "iron.max_c",
    "iron.steam",
    "iron.reverse_side",
    "iron.press_cloth",
    "dry_clean.solvents",
    "dry_clean.action",
    "wet_clean.allowed",
    "wet_clean.action",
    "load.alone",
    "load.mesh_bag",
    "load.inside_out",
    "load.softener",
)
AXIS = {path: number for number, path in enumerate(AXES)}
COUNT = len(AXES)
OPEN = (0,) * COUNT

WASH_C, WASH_ACTION, HAND_ONLY, SPIN, BLEACH, TUMBLE, HANG, DRIP, SHADE = range(9)
IRON_C, STEAM, REVERSE, CLOTH, SOLVENTS, DRY_ACTION, WET, WET_ACTION = range(9, 17)
ALONE, MESH, INSIDE_OUT, SOFTENER = range(17, 21)

#: Words of an axis from open to forbidden; the two temperatures have none.
_WORDS: dict[str, tuple[str, ...]] = {
    "wash.action": ACTIONS,
    "wash.hand_only": ("false", "true"),
    "wash.spin": SPINS,
    "bleach": BLEACHES,
    "tumble": TUMBLES,
    "air_dry.hang": ("true", "false"),
    "air_dry.drip": ("false", "true"),
    "air_dry.shade": ("false", "true"),
    "iron.steam": ("true", "false"),
    "iron.reverse_side": ("false", "true"),
    "iron.press_cloth": ("false", "true"),
    "dry_clean.solvents": SOLVENT_SETS,
    "dry_clean.action": ACTIONS,
    "wet_clean.allowed": ("true", "false"),
    "wet_clean.action": ACTIONS,
    "load.alone": ("false", "true"),
    "load.mesh_bag": ("false", "true"),
    "load.inside_out": ("false", "true"),
    "load.softener": ("true", "false"),
}
_HOTTEST = {"wash.max_c": HOTTEST_WATER, "iron.max_c": HOTTEST_IRON}

#: A ban also sets the finer axes of its group to their strictest, so that a crossed symbol is
#: never looser than the mildest symbol it could stand in place of.
_BAN_WITH: dict[tuple[str, str], tuple[tuple[str, str], ...]] = {
    ("wash.allowed", "false"): (
        ("wash.max_c", "0"),
        ("wash.action", "very_mild"),
        ("wash.hand_only", "true"),
        ("wash.spin", "none"),
    ),
    ("dry_clean.solvents", "none"): (
        ("dry_clean.solvents", "none"),
        ("dry_clean.action", "very_mild"),
    ),
    ("wet_clean.allowed", "false"): (
        ("wet_clean.allowed", "false"),
        ("wet_clean.action", "very_mild"),
    ),
}

_GROUP_OF_PATH = {
    "wash": "wash",
    "bleach": "bleach",
    "tumble": "tumble_dry",
    "air_dry": "natural_dry",
    "iron": "iron",
    "dry_clean": "dry_clean",
    "wet_clean": "wet_clean",
}
#: One bit for each symbol group; loads have none, since no symbol speaks of them.
GROUP_BIT = {group: 1 << number for number, group in enumerate(GROUPS)}
AXIS_BIT = tuple(GROUP_BIT.get(_GROUP_OF_PATH.get(path.split(".")[0], ""), 0) for path in AXES)

FIRM, USUAL, DEFAULT, COMMON = 0, 1, 2, 3
_SOFTNESS = {"physical": FIRM, "usual": USUAL, "default": DEFAULT, "common": COMMON}

#: axis, severity, softness
Pair = tuple[int, int, int]


def severities(path: str, value: str) -> list[tuple[int, int]]:
    """The axes and severities that ``path=value`` stands for; ValueError says what is wrong."""
    if (path, value) in _BAN_WITH:
        return [(AXIS[p], _severity(p, v)) for p, v in _BAN_WITH[path, value]]
    if path not in AXIS:
        raise ValueError(f"unknown limit {path!r}: use one of {', '.join(AXES)}")
    return [(AXIS[path], _severity(path, value))]


def _severity(path: str, value: str) -> int:
    if path in _HOTTEST:
        if not value.isdecimal() or int(value) > _HOTTEST[path]:
            raise ValueError(f"{path} {value!r}: use digits from 0 to {_HOTTEST[path]}")
        return _HOTTEST[path] - int(value)
    words = _WORDS[path]
    if value not in words:
        raise ValueError(f"{path} {value!r}: use one of {', '.join(words)}")
    return words.index(value)


def value_at(path: str, severity: int) -> str:
    """The value of a limit as the tables write it: digits or a word."""
    if path in _HOTTEST:
        return str(_HOTTEST[path] - severity)
    return _WORDS[path][severity]


def strength_at(softness: int) -> str:
    """The word of the tables for how strong a pair is."""
    return next(word for word, number in _SOFTNESS.items() if number == softness)


def strictest(path: str) -> int:
    """The severity at which a limit is closed altogether."""
    return _HOTTEST.get(path) or len(_WORDS[path]) - 1


def read_limits(cell: str, strength: str = "physical") -> tuple[Pair, ...]:
    """A table cell such as ``wash.max_c=40@usual; tumble=low`` as pairs for the engine.

    ``strength`` is taken where the cell names none. ValueError says what is wrong and the cure.
    """
    pairs: list[Pair] = []
    for path, value, named in split_limits(cell, strength):
        pairs += [(axis, sev, _SOFTNESS[named]) for axis, sev in severities(path, value)]
    return tuple(pairs)


def split_limits(cell: str, strength: str = "physical") -> list[tuple[str, str, str]]:
    """The cell as (path, value, strength) for readers."""
    limits = []
    for part in filter(None, map(str.strip, cell.split(";"))):
        path, equals, rest = part.partition("=")
        value, _, named = rest.partition("@")
        named = named or strength
        if not equals:
            raise ValueError(f"limit {part!r}: write path=value@strength")
        if named not in _SOFTNESS:
            raise ValueError(f"strength {named!r}: use one of {', '.join(_SOFTNESS)}")
        limits.append((path, value, named))
    return limits


class Tally:
    """Limits while they are gathered: the strictest of each, and the rules that ask for it.

    ``severity`` has a number for each axis, ``why`` the rule keys (none where wide open).
    """

    __slots__ = ("severity", "why")

    def __init__(self) -> None:
        self.severity = [0] * COUNT
        self.why: list[tuple[str, ...]] = [()] * COUNT

    def copy(self) -> Tally:
        """The same, to be added to while this one stays as it is."""
        twin = Tally()
        twin.severity, twin.why = self.severity.copy(), self.why.copy()
        return twin

    def add(self, key: str, pairs: tuple[Pair, ...], stated: int, lifted: bool = False) -> None:
        """Take a rule's pairs in.

        ``stated`` has a bit for each symbol group that a readable label speaks of: there the
        ``default`` and ``common`` pairs fall away, and the ``usual`` ones too when the owner
        ``lifted`` them.
        """
        severity, why = self.severity, self.why
        for axis, sev, soft in pairs:
            held = severity[axis]
            if sev < held or not sev:
                continue
            if soft and AXIS_BIT[axis] & stated and (soft >= DEFAULT or lifted):
                continue
            if sev > held:
                severity[axis] = sev
                why[axis] = (key,)
            elif key not in why[axis]:
                why[axis] += (key,)


def because(tally: Tally) -> dict[str, tuple[str, ...]]:
    """Limit path to rule keys, for each limit that is not wide open, in the order of AXES."""
    keys_of: dict[str, tuple[str, ...]] = {}
    for axis, keys in enumerate(tally.why):
        if keys:
            if axis == WASH_C and tally.severity[axis] == HOTTEST_WATER:
                keys_of["wash.allowed"] = tuple(sorted(keys))
            keys_of[AXES[axis]] = keys if len(keys) == 1 else tuple(sorted(keys))
    return keys_of


@lru_cache(maxsize=4096)
def limits_at(severity: tuple[int, ...]) -> TreatmentLimits:
    """What a decision says of each treatment at these severities, one for each axis.

    Kept, since thousands of ordinary pieces end at a few hundred sets of limits.
    """
    water = HOTTEST_WATER - severity[WASH_C]
    return TreatmentLimits(
        wash=WashLimit(
            allowed=water > 0,
            max_c=water,
            action=ACTIONS[severity[WASH_ACTION]],
            hand_only=severity[HAND_ONLY] > 0,
            spin=SPINS[severity[SPIN]],
        ),
        bleach=BLEACHES[severity[BLEACH]],
        tumble=TUMBLES[severity[TUMBLE]],
        air_dry=AirDryLimit(
            hang=not severity[HANG], drip=severity[DRIP] > 0, shade=severity[SHADE] > 0
        ),
        iron=IronLimit(
            max_c=HOTTEST_IRON - severity[IRON_C],
            steam=not severity[STEAM],
            reverse_side=severity[REVERSE] > 0,
            press_cloth=severity[CLOTH] > 0,
        ),
        dry_clean=DryCleanLimit(
            solvents=_SOLVENTS[severity[SOLVENTS]], action=ACTIONS[severity[DRY_ACTION]]
        ),
        wet_clean=WetCleanLimit(allowed=not severity[WET], action=ACTIONS[severity[WET_ACTION]]),
    )


def load_at(severity: Sequence[int], colour_group: str) -> LoadLimit:
    """How a piece of this colour group goes into a machine at these severities."""
    return LoadLimit(
        colour_group=colour_group,
        alone=severity[ALONE] > 0,
        mesh_bag=severity[MESH] > 0,
        inside_out=severity[INSIDE_OUT] > 0,
        softener=not severity[SOFTENER],
    )
