"""What a load knows of a piece, what the piece allows, and the room it takes in a drum.

Grams of dry cloth, millilitres of drum, degrees Celsius of water, minutes as ``machine_facts`` has
them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from care_rules.limits import TUMBLES
from tickets.shop import figures
from tickets.shop.machine_facts import BAG, SINK, TUMBLE, ProgrammeFacts, litres_per_kg

WASH, DRY, SEND_OUT = "wash", "dry", "send_out"


@dataclass(frozen=True, slots=True)
class LoadItem:
    """A piece waiting for a run, as far as the run cares. ``due`` is the minute it must be out.

    ``bleeds`` is the staining grade as ten times its figure (50: none seen, 30: grade 3; 0: not
    tested). ``group`` keeps hygiene, pesticide and flame-resistant pieces to their like.
    """

    code: str
    due: int
    grams: int
    stage: str = WASH
    process: str = "machine_wash"
    where: str = "in_house"
    max_c: int = 40
    action: int = 0
    hand_only: bool = False
    spin: int = 0
    bleach: str = "none"
    tumble: int = len(TUMBLES) - 1
    solvents: str = ""
    colour_group: str = "white"
    alone: bool = False
    mesh_bag: bool = False
    inside_out: bool = False
    softener: bool = True
    fragrance_free: bool = False
    bleeds: int = 0
    lint: str = ""
    hardware: bool = False
    fine: bool = False
    heavy: bool = False
    filled: bool = False
    group: str = ""
    cloth: str = "coloured_cotton"

    def __post_init__(self) -> None:
        if self.grams <= 0:
            raise ValueError(
                f"piece {self.code}: {self.grams} g can't be planned; weigh it or give its kind"
            )

    @property
    def sort(self) -> tuple[object, ...]:
        """All that decides company and programme: pieces of one sort are planned alike."""
        return (
            self.stage,
            self.process,
            self.where,
            self.max_c,
            self.action,
            self.hand_only,
            self.spin,
            self.bleach,
            self.tumble,
            self.solvents,
            self.colour_group,
            self.alone,
            self.mesh_bag,
            self.inside_out,
            self.softener,
            self.fragrance_free,
            self.bleeds,
            self.lint,
            self.hardware,
            self.fine,
            self.heavy,
            self.filled,
            self.group,
            self.cloth,
        )


def allows(piece: LoadItem, programme: ProgrammeFacts, kind: str = "") -> bool:
    """Whether nothing in the piece's limits forbids the programme (on a machine of that kind)."""
    if piece.stage == DRY:
        return programme.process == TUMBLE and piece.tumble <= programme.heat
    if piece.stage == SEND_OUT:
        return programme.process == BAG
    if programme.process != piece.process:
        return False
    if piece.process == "dry_clean":
        return programme.solvent in piece.solvents and programme.action >= piece.action
    if piece.process == "wet_clean":
        return programme.action >= piece.action
    gentle = programme.action >= piece.action and programme.spin >= piece.spin
    sink = kind == SINK or programme.process == "hand_wash"
    return programme.heat <= piece.max_c and gentle and (sink or not piece.hand_only)


def room_taken(piece: LoadItem, programme: ProgrammeFacts) -> int:
    """Millilitres of drum that the piece needs: its weight times the loosest of the ratios of the
    programme, of its bars and of the cloth."""
    ratio = programme.litres_per_kg
    if not programme.by_weight:
        ratio = max(ratio, _cloth_ratio(piece.cloth, programme.process), _bars_ratio(programme))
    return math.ceil(piece.grams * ratio - 1e-6)


def _bars_ratio(programme: ProgrammeFacts) -> float:
    """How loose a washer must be for its action: what the step of a piece with bars says too."""
    if programme.process != "machine_wash" or not programme.action:
        return 0.0
    return litres_per_kg("one_bar" if programme.action == 1 else "two_bars")


def bulk(piece: LoadItem) -> int:
    """Millilitres of a filled piece for the rule on filled volume; 0 for others."""
    if not piece.filled:
        return 0
    return math.ceil(piece.grams * figures.number("load.ratio.duvet_filled"))


@cache
def _cloth_ratio(cloth: str, process: str) -> float:
    if process == TUMBLE:
        bulky = cloth in ("terry", "duvet_filled")
        return _DRYER_BULKY if bulky else figures.number("load.dryer_ratio")
    return litres_per_kg(cloth)


_DRYER_BULKY = 25.0
"""Litres of dryer drum for a kilogram of terry or filled pieces (note of ``load.dryer_ratio``)."""


def steps_below(piece: LoadItem, programme: ProgrammeFacts) -> int:
    """How far the programme stays below what the piece allows, in steps.

    A step is ten degrees of water begun, or half a grade of action (a grade counts 2), or one
    dryer setting. It measures what the piece loses in cleaning by the company it keeps.
    """
    if programme.process == BAG:
        return 0
    if programme.process == TUMBLE:
        return 2 * (programme.heat - piece.tumble)
    gentler = 2 * (programme.action - piece.action)
    if programme.process in ("machine_wash", "hand_wash"):
        gentler += max(0, -((programme.heat - piece.max_c) // 10))
    return gentler
