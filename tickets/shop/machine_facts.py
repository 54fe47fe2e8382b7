"""What a machine and its programmes are to whoever plans with them: small frozen values.

Litres of drum, degrees Celsius of water, whole minutes. A minute is one of the shop's machine time,
counted from the moment of planning: whoever builds these facts turns clock times into machine
minutes, so that nights and closed days take none. Last come the usual programmes of each kind of
machine, for a shop that has not told its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from care_rules.limits import ACTIONS, SPINS, TUMBLES
from tickets.shop import figures

TUMBLE, BAG = "tumble", "bag"
SINK = "hand_sink"

WASHER_RATIO = "load.ratio.cotton_white"
"""Row that turns a washer's rated kilograms into litres of drum."""


@dataclass(frozen=True, slots=True)
class ProgrammeFacts:
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
class MachineFacts:
    """A drum, a sink or a bag. ``litres`` is the drum's volume (for a bag: kilograms).

    ``free_from`` is the minute it is free; ``turnaround`` the minutes to empty and fill it after
    each run; ``most_pieces`` a count it never passes (0: none), such as 1 for a hand sink.
    """

    key: str
    kind: str
    litres: float
    programmes: tuple[ProgrammeFacts, ...]
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


def usual_programmes() -> tuple[ProgrammeFacts, ...]:
    """Programmes of a common washer, from the ``time.wash`` and ``load.ratio`` rows.

    The two without rows of their own (30 °C for sturdy cloth, and a cold bath without spin as
    the gentlest that a drum can do) take the minutes of their neighbours: common practice.
    """
    minutes, ratio = _minutes, litres_per_kg
    wash = "machine_wash"
    return (
        ProgrammeFacts("cotton_60", wash, minutes("cotton_60"), ratio("cotton_white"), 60),
        ProgrammeFacts("cotton_40", wash, minutes("cotton_40"), ratio("cotton_white"), 40),
        ProgrammeFacts("sturdy_30", wash, minutes("cotton_40"), ratio("coloured_cotton"), 30),
        ProgrammeFacts("easycare_40", wash, minutes("easycare_40"), ratio("one_bar"), 40, 1, 1),
        ProgrammeFacts("delicate_30", wash, minutes("delicate_30"), ratio("delicate"), 30, 1, 1),
        ProgrammeFacts("wool_30", wash, minutes("wool_30"), ratio("two_bars"), 30, 2, 1),
        ProgrammeFacts("cold_no_spin", wash, minutes("wool_30"), ratio("two_bars"), 15, 2, 2),
    )


def sink_programmes() -> tuple[ProgrammeFacts, ...]:
    """The hand sink: one piece at a time, warm or cold."""
    minutes, ratio = _minutes("hand_wash"), litres_per_kg("wool_silk")
    return (
        ProgrammeFacts("hand_30", "hand_wash", minutes, ratio, 30, 2, 2),
        ProgrammeFacts("hand_cold", "hand_wash", minutes, ratio, 15, 2, 2),
    )


def wet_programmes() -> tuple[ProgrammeFacts, ...]:
    """Professional wet cleaning by the bars under its symbol (row ``load.ratio.wetclean``)."""
    minutes = _minutes("wetclean_30")
    return tuple(
        ProgrammeFacts(
            f"wetclean_{ACTIONS[action]}", "wet_clean", minutes, litres, 30, action, spin
        )
        for action, (litres, spin) in enumerate(((15.0, 0), (20.0, 1), (25.0, 1)))
    )


def solvent_programmes(solvent: str) -> tuple[ProgrammeFacts, ...]:
    """A solvent machine: ``P`` for perchloroethylene, ``F`` for hydrocarbon."""
    row = {"P": "dryclean_perc", "F": "dryclean_hydrocarbon"}[solvent]
    return tuple(
        ProgrammeFacts(
            f"solvent_{solvent.lower()}_{ACTIONS[action]}",
            "dry_clean",
            _minutes(row),
            litres_per_kg("solvent"),
            0,
            action,
            0,
            solvent,
        )
        for action in range(len(ACTIONS))
    )


def dryer_programmes() -> tuple[ProgrammeFacts, ...]:
    """Three settings of a tumble dryer; ``loads.formulas.drying_minutes`` gives better minutes."""
    minutes = round(figures.number("time.dry.rated"))
    ratio = figures.number("load.dryer_ratio")
    return tuple(
        ProgrammeFacts(f"tumble_{TUMBLES[heat]}", TUMBLE, minutes, ratio, heat) for heat in range(3)
    )


def bag_programme(minutes: int) -> ProgrammeFacts:
    """A bag to a partner; ``minutes`` until it is back."""
    return ProgrammeFacts("bag", BAG, minutes, 1.0, by_weight=True)


def _minutes(row: str) -> int:
    return round(figures.number(f"time.wash.{row}"))


@cache
def litres_per_kg(row: str) -> float:
    return figures.number(f"load.ratio.{row}")


assert SPINS[0] == ACTIONS[0] == TUMBLES[0] == "normal"
