"""What is decided on pieces before a ticket opens: facts in, decision and route out, no row.

A decision is made once and handed on: ``tickets.pieces.services`` writes what was decided here.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from django.core.files import File
from django.utils.translation import gettext as _

import care_rules
from care_rules import Decision, JsonMapping, JsonObject
from tickets.choices import Station
from tickets.errors import Kind, Refused
from tickets.garments import washes
from tickets.models import Piece
from tickets.promise.step_tasks import task_of
from tickets.promise.tasks import Task
from tickets.shop import minutes, weights

MOST_PIECES = 99
"""On one ticket: a position has two digits."""

_STATIONS = {"counter": Station.INTAKE}


@dataclass(frozen=True)
class AcceptedCaution:
    key: str
    says: str
    by_name: str


@dataclass(frozen=True)
class PieceSpec:
    """What the counter knows of a piece. ``facts`` is the JSON of the care contract.

    ``photo`` is a new file, or the name of one that the media storage holds already. ``earlier``
    is the same garment at its visit before; ``washes_before`` counts washes elsewhere before this
    visit (since ``earlier``, where there is one), ``washes_allowed`` those its label certifies.
    ``weight_g`` is the scale's; 0 takes the usual weight of its kind.
    """

    facts: JsonMapping
    inspection: JsonMapping = field(default_factory=dict)
    description: str = ""
    set_mark: str = ""
    weight_g: int = 0
    photo: File[bytes] | str | None = None
    accepted: Sequence[AcceptedCaution] = ()
    redo_of: Piece | None = None
    earlier: Piece | None = None
    washes_before: int | None = None
    washes_allowed: int | None = None

    @property
    def named(self) -> set[str]:
        """Cautions that somebody said yes to by name."""
        return {item.key for item in self.accepted if item.by_name.strip()}

    @property
    def facts_with_names(self) -> JsonObject:
        """The facts as they are kept: with the cautions that have a name."""
        return {**self.facts, "accepted": sorted(self.named)}


@dataclass(frozen=True)
class DecidedPiece:
    """A piece with the decision made on it, its washes and names reckoned in."""

    spec: PieceSpec
    decision: Decision


def decide_piece(
    position: int,
    spec: PieceSpec,
    house_rules: Sequence[care_rules.HouseRule],
    count: washes.WashCount,
) -> DecidedPiece:
    """Decide on the piece at that position, whose garment was washed so often.

    Raises ``Refused`` for facts that can't be used and for a count of washes of a piece whose
    washes are not counted.
    """
    try:
        facts = care_rules.parse_facts(spec.facts_with_names)
        decision = care_rules.decide(facts, house_rules)
    except care_rules.FactsError as error:
        raise bad_facts(position, error) from error
    must_be_counted(position, spec, decision)
    return DecidedPiece(spec, washes.with_wash_caution(decision, count, spec.named))


def with_names(decision: Decision, named: Collection[str]) -> Decision:
    """The decision with its outcome as the names under its holds make it."""
    if decision.outcome == "decline":
        return decision
    waiting = any(
        caution.level == "hold" and caution.key not in named for caution in decision.cautions
    )
    return replace(decision, outcome="ask" if waiting else "accept")


def bad_facts(position: int, error: care_rules.FactsError) -> Refused:
    """The refusal of a piece whose facts the care rules can't read."""
    fault = error.faults[0]
    return Refused(
        "bad_facts",
        _("Piece %(position)d, %(field)s: %(value)s can't be used.")
        % {"position": position, "field": fault.field, "value": fault.value},
        str(fault.cure),
        kind=Kind.INVALID,
    )


def must_be_accepted(position: int, decided: DecidedPiece) -> None:
    """Refuse a declined piece, and one with a hold that nobody said yes to by name."""
    decision = decided.decision
    if decision.outcome == "decline":
        refusing = [caution for caution in decision.cautions if caution.level == "refuse"]
        raise Refused(
            "declined",
            _("Piece %(position)d can't be taken in: %(why)s")
            % {"position": position, "why": refusing[0].says if refusing else ""},
            refusing[0].do if refusing else "",
        )
    named = decided.spec.named
    waiting = [
        caution.says
        for caution in decision.cautions
        if caution.level == "hold" and caution.key not in named
    ]
    if waiting:
        raise Refused(
            "needs_acceptance",
            _("Piece %(position)d needs a named acceptance: %(what)s")
            % {"position": position, "what": "; ".join(waiting)},
            _("Read it to the customer and write down who accepts, or take the piece off."),
        )


def must_be_counted(position: int, spec: PieceSpec, decision: Decision) -> None:
    """Refuse a told count of a piece whose washes are not counted, and one that can't be."""
    counts = {"washes_before": spec.washes_before, "washes_allowed": spec.washes_allowed}
    least = {"washes_before": 0, "washes_allowed": 1}
    for name, number in counts.items():
        if number is None:
            continue
        words = {"position": position, "name": name, "number": number}
        if not washes.is_counted(decision):
            raise Refused(
                "not_counted",
                _("Piece %(position)d, %(name)s %(number)d: its washes are not counted.") % words,
                _("Leave the number out, or say what protective clothing it is."),
            )
        if not least[name] <= number <= washes.MOST_WASHES:
            raise Refused(
                "bad_count",
                _("Piece %(position)d, %(name)s: %(number)d can't be a count of washes.") % words,
                _("Give a whole number from %(least)d to %(most)d, or leave it out.")
                % {"least": least[name], "most": washes.MOST_WASHES},
            )


def planned_route(facts: JsonMapping, decision: Decision) -> list[Task]:
    """The route of a decision as the promise reads it, for a piece that nobody has weighed yet."""
    work, kind = list(facts.get("work", ())), str(facts.get("kind", "other"))
    grams = weights.trade_grams().get(kind, 0)
    return [
        task_of(
            station_for_step(step.station),
            step.step,
            Decimal(str(minutes.crew_minutes(step.step, work, kind))),
            step.settings,
            grams,
        )
        for step in decision.steps
        if step.step != "assemble"
    ]


def station_for_step(contract_station: str) -> Station:
    """The station of a step of the care contract."""
    return _STATIONS.get(contract_station) or Station(contract_station)
