"""What a soil asks of the treatment, beside what the cloth allows: heat, repetition, isolation.

A floor never lifts a limit. What the limits leave no room for is asked: a named yes, or no work.
"""

from __future__ import annotations

from collections.abc import Iterable

from care_rules.decision import Need
from care_rules.gather import Gather
from care_rules.limits import HOTTEST_WATER, TUMBLE, TUMBLES, WASH_C, Tally
from care_rules.process import WATER, Process
from care_rules.rows import Row
from care_rules.speech import gettext as _

#: Only a drum that heats kills what lives in cloth.
_WARM = ("normal", "low")


def needs_of(gather: Gather, tally: Tally, process: Process) -> tuple[Need, ...]:
    """The needs of the hazards that spoke, each met or not by the process that was chosen.

    Whether a yes is asked hangs on the limits alone, never on the process: so nothing that is
    added to a piece can take the question back.
    """
    severity = tally.severity
    water = HOTTEST_WATER - severity[WASH_C]
    warm = TUMBLES[severity[TUMBLE]] in _WARM
    bathed = process.name in WATER
    # A specialist washes by the rules of the trade; a solvent is no hot bath, whoever gives it.
    away = process.name == "specialist"
    needs = []
    for hazard, row in _spoken(gather):
        what = row.cells["what"]
        value = int(row.cells["value"]) if row.cells["value"] else None
        if what == "wash_min_c":
            fits = value is not None and water >= value
            met = away or (fits and bathed)
            if not fits:
                _ask(gather, row, hazard, water)
        elif what == "wash_times":
            met = away or bathed
        elif what == "heat_first":
            if not warm:
                continue
            met = True
        elif what == "freeze":
            if warm and row.flag("instead"):
                continue
            met = True
        else:
            met = True
        needs.append(Need(hazard, what, value, met, row.says, (hazard, row.key)))
    return tuple(needs)


def _spoken(gather: Gather) -> Iterable[tuple[str, Row]]:
    return (
        (hazard, row)
        for hazard in sorted(gather.cautions)
        for row in gather.tables.needs.get(hazard, ())
    )


def _ask(gather: Gather, row: Row, hazard: str, water: int) -> None:
    says = (
        _(
            "The soil needs {value} °C, and the piece stands {c} °C at most.",
            value=row.cells["value"],
            c=water,
        )
        if water
        else _("The soil needs a hot wash, and the piece may not be washed in water.")
    )
    gather.warn(row.key, says, (hazard, row.key), level="hold")
