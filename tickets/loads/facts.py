"""What the planner knows of machines, programmes and pieces: small frozen values.

Litres of drum, grams of dry cloth, degrees Celsius of water, whole minutes. A minute is one of the
shop's machine time, counted from the moment of planning: whoever builds these facts turns clock
times into machine minutes, so that nights and closed days take none.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from care_rules.limits import ACTIONS, SPINS, TUMBLES
from tickets.loads import figures

WASH, DRY, SEND_OUT = "wash", "dry", "send_out"
TUMBLE, BAG = "tumble", "bag"
SINK = "hand_sink"

WASHER_RATIO = "load.ratio.cotton_white"
"""Row that turns a washer's rated kilograms into litres of drum."""


@dataclass(frozen=True, slots=True)
class Programme:
    """One way to run a machine.

    ``process`` is the decision's word, or ``tumble`` for a dryer, ``bag`` for a send-out bag.
    ``heat`` is the degrees of the water, or for ``tumble`` the place in TUMBLES; ``action`` and
    ``spin`` are places in ACTIONS and SPINS (0 is the harshest). ``by_weight`` counts kilograms
    in place of litres and asks nothing of the cloth.
    """

    key: str
    process: str
    minutes: int
    litres_per_kg: float
    heat: int = 0
    action: int = 0
    spin: int = 0
    solvent: str = ""
    by_weight: bool = False

    @property
    def strength(self) -> tuple[int, int, int, str]:
        """Sorts programmes from the strongest to the gentlest."""
        heat = self.heat if self.process == TUMBLE else -self.heat
        return (heat, self.action, self.spin, self.key)

    @property
    def words(self) -> str:
        if self.process == TUMBLE:
            return TUMBLES[self.heat].replace("_", " ")
        action = ACTIONS[self.action].replace("_", " ")
        return f"{self.heat} °C, {action}" if self.heat else action


@dataclass(frozen=True, slots=True)
class Machine:
    """A drum, a sink or a bag. ``litres`` is the drum's volume (for a bag: kilograms).

    ``free_from`` is the minute it is free; ``turnaround`` the minutes to empty and fill it after
    each run; ``most_pieces`` a count it never passes (0: none), such as 1 for a hand sink.
    """

    key: str
    kind: str
    litres: float
    programmes: tuple[Programme, ...]
    free_from: int = 0
    turnaround: int = 10
    most_pieces: int = 0
    spin_g: float = 0.0

    def __post_init__(self) -> None:
        if self.litres <= 0 or not self.programmes:
            raise ValueError(
                f"machine {self.key!r}: give its litres above 0 and at least one programme"
            )

    @property
    def room(self) -> int:
        """Millilitres of drum (grams for a bag): the hard stop of a load."""
        return int(self.litres * 1000)

    @property
    def filled_room(self) -> int:
        """Millilitres that filled pieces may take (row ``load.filled_max``)."""
        return int(self.room * figures.number("load.filled_max"))


@dataclass(frozen=True, slots=True)
class LoadPiece:
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


def allows(piece: LoadPiece, programme: Programme, kind: str = "") -> bool:
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


def room_taken(piece: LoadPiece, programme: Programme) -> int:
    """Millilitres of drum that the piece needs: its weight times the loosest of the ratios of the
    programme, of its bars and of the cloth."""
    ratio = programme.litres_per_kg
    if not programme.by_weight:
        ratio = max(ratio, _cloth_ratio(piece.cloth, programme.process), _bars_ratio(programme))
    return math.ceil(piece.grams * ratio - 1e-6)


def _bars_ratio(programme: Programme) -> float:
    """How loose a washer must be for its action: what the step of a piece with bars says too."""
    if programme.process != "machine_wash" or not programme.action:
        return 0.0
    return _ratio("one_bar" if programme.action == 1 else "two_bars")


def bulk(piece: LoadPiece) -> int:
    """Millilitres of a filled piece for the rule on filled volume; 0 for others."""
    if not piece.filled:
        return 0
    return math.ceil(piece.grams * figures.number("load.ratio.duvet_filled"))


@cache
def _cloth_ratio(cloth: str, process: str) -> float:
    if process == TUMBLE:
        bulky = cloth in ("terry", "duvet_filled")
        return _DRYER_BULKY if bulky else figures.number("load.dryer_ratio")
    return figures.number(f"load.ratio.{cloth}")


_DRYER_BULKY = 25.0
"""Litres of dryer drum for a kilogram of terry or filled pieces (note of ``load.dryer_ratio``)."""


def steps_below(piece: LoadPiece, programme: Programme) -> int:
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


def usual_programmes() -> tuple[Programme, ...]:
    """Programmes of a common washer, from the ``time.wash`` and ``load.ratio`` rows.

    The two without rows of their own (30 °C for sturdy cloth, and a cold bath without spin as
    the gentlest that a drum can do) take the minutes of their neighbours: common practice.
    """
    minutes, ratio = _minutes, _ratio
    wash = "machine_wash"
    return (
        Programme("cotton_60", wash, minutes("cotton_60"), ratio("cotton_white"), 60),
        Programme("cotton_40", wash, minutes("cotton_40"), ratio("cotton_white"), 40),
        Programme("sturdy_30", wash, minutes("cotton_40"), ratio("coloured_cotton"), 30),
        Programme("easycare_40", wash, minutes("easycare_40"), ratio("one_bar"), 40, 1, 1),
        Programme("delicate_30", wash, minutes("delicate_30"), ratio("delicate"), 30, 1, 1),
        Programme("wool_30", wash, minutes("wool_30"), ratio("two_bars"), 30, 2, 1),
        Programme("cold_no_spin", wash, minutes("wool_30"), ratio("two_bars"), 15, 2, 2),
    )


def sink_programmes() -> tuple[Programme, ...]:
    """The hand sink: one piece at a time, warm or cold."""
    minutes, ratio = _minutes("hand_wash"), _ratio("wool_silk")
    return (
        Programme("hand_30", "hand_wash", minutes, ratio, 30, 2, 2),
        Programme("hand_cold", "hand_wash", minutes, ratio, 15, 2, 2),
    )


def wet_programmes() -> tuple[Programme, ...]:
    """Professional wet cleaning by the bars under its symbol (row ``load.ratio.wetclean``)."""
    minutes = _minutes("wetclean_30")
    return tuple(
        Programme(f"wetclean_{ACTIONS[action]}", "wet_clean", minutes, litres, 30, action, spin)
        for action, (litres, spin) in enumerate(((15.0, 0), (20.0, 1), (25.0, 1)))
    )


def solvent_programmes(solvent: str) -> tuple[Programme, ...]:
    """A solvent machine: ``P`` for perchloroethylene, ``F`` for hydrocarbon."""
    row = {"P": "dryclean_perc", "F": "dryclean_hydrocarbon"}[solvent]
    return tuple(
        Programme(
            f"solvent_{solvent.lower()}_{ACTIONS[action]}",
            "dry_clean",
            _minutes(row),
            _ratio("solvent"),
            0,
            action,
            0,
            solvent,
        )
        for action in range(len(ACTIONS))
    )


def dryer_programmes() -> tuple[Programme, ...]:
    """Three settings of a tumble dryer; ``sums.drying_minutes`` gives better minutes."""
    minutes = round(figures.number("time.dry.rated"))
    ratio = figures.number("load.dryer_ratio")
    return tuple(
        Programme(f"tumble_{TUMBLES[heat]}", TUMBLE, minutes, ratio, heat) for heat in range(3)
    )


def bag_programme(minutes: int) -> Programme:
    """A bag to a partner; ``minutes`` until it is back."""
    return Programme("bag", BAG, minutes, 1.0, by_weight=True)


def _minutes(row: str) -> int:
    return round(figures.number(f"time.wash.{row}"))


@cache
def _ratio(row: str) -> float:
    return figures.number(f"load.ratio.{row}")


assert SPINS[0] == ACTIONS[0] == TUMBLES[0] == "normal"
