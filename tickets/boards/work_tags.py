"""What a board says of one piece: what to do here, what never, why, and how urgent it is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from care_rules import Caution
from care_rules.wording import load_words
from tickets import wording
from tickets.choices import PieceState, Station
from tickets.garments.washes import WashCount
from tickets.garments.wording import wash_words
from tickets.models import Hold, Load, LoadPiece, Piece, RouteStep
from tickets.promise.urgency import Urgency
from tickets.tracking.open_steps import at_station, last_done
from tickets.wording import StepSetting

_MOST_CAUTIONS = 3
_MACHINE_STATIONS = (Station.WASH, Station.DRY)
_SHARED_STATIONS = (Station.ASSEMBLY, Station.RACK)
_NO_LIMITS_AT = (Station.INTAKE, Station.ASSEMBLY, Station.RACK, Station.PICKUP)


@dataclass(frozen=True)
class TagStep:
    """One step to do now: a plain sentence and the settings of the machine or iron."""

    step: RouteStep
    settings: list[StepSetting]


@dataclass(frozen=True)
class WorkTag:
    """Everything a swing tag shows. ``question`` is true where the piece waits for a wet check.
    ``station`` is where it is worked, or was. ``in_load`` is the load that the piece is in now.
    ``washes`` says how often a counted garment was washed, and is empty for any other.
    ``missing`` and ``places`` speak of the rest of the ticket, at the assembly table and the
    rack.
    """

    piece: Piece
    station: Station
    kind: str
    customer: str
    tasks: list[TagStep]
    question: bool
    never: list[wording.LimitLine]
    cautions: list[Caution]
    more_cautions: int
    load: list[str]
    stains: list[str]
    urgency: str
    promise: str
    hold: Hold | None
    in_load: Load | None
    washes: str
    missing: list[Piece]
    places: list[str]

    @property
    def why(self) -> list[str]:
        """The reasons behind ``never``, each once, without what a caution says already."""
        said = {caution.says for caution in self.cautions}
        firsts = [line.why[0] for line in self.never if line.why]
        rest = [reason for line in self.never for reason in line.why[1:]]
        return [why for why in dict.fromkeys([*firsts, *rest]) if why not in said]

    @property
    def beside(self) -> list[Piece]:
        """Unmatched pieces of its ticket that lie on the same table."""
        return [other for other in self.missing if self._beside(other)]

    @property
    def elsewhere(self) -> list[Piece]:
        """Pieces of its ticket that are held or have not come to the table."""
        return [other for other in self.missing if not self._beside(other)]

    def _beside(self, other: Piece) -> bool:
        return (other.state, other.station) == (PieceState.WAITING, self.piece.station)

    @property
    def completes(self) -> bool:
        """Matched, and nothing of its ticket is missing: it only has to be sent on."""
        return (
            self.piece.state == PieceState.ASSEMBLED
            and self.piece.station == Station.ASSEMBLY
            and not self.missing
        )


@dataclass(frozen=True)
class HeldTag:
    """What the list under the cards says of a piece on hold."""

    piece: Piece
    kind: str
    customer: str
    urgency: str
    promise: str
    hold: Hold


def held_tags(pieces: Iterable[Piece], now: datetime, urgency: Urgency) -> list[HeldTag]:
    """Rows of pieces read with ``queries.with_question``; no further query."""
    return [
        HeldTag(
            piece=piece,
            kind=wording.kind_name(piece.kind),
            customer=wording.short_name(piece.ticket.customer.name),
            urgency=urgency(piece),
            promise=wording.promise_words(piece.promised_at, now),
            hold=piece.open_holds[0],  # type: ignore[attr-defined]
        )
        for piece in pieces
    ]


def work_tags(
    pieces: Sequence[Piece],
    now: datetime,
    urgency: Urgency,
    *,
    washes: Mapping[int, WashCount],
    fahrenheit: bool,
) -> list[WorkTag]:
    """Tags of pieces read with ``queries.with_everything`` and ``with_open_load``, and at the
    assembly table and the rack ``with_siblings``; no further query. ``washes``: of those pieces
    that have them counted, by key."""
    washed = wash_words(pieces, washes)
    return [
        work_tag(piece, now, urgency, fahrenheit=fahrenheit, washed=washed.get(piece.pk, ""))
        for piece in pieces
    ]


def work_tag(
    piece: Piece,
    now: datetime,
    urgency: Urgency,
    *,
    fahrenheit: bool,
    washed: str = "",
    worked_at: Station | None = None,
) -> WorkTag:
    """``worked_at``: a station that it has left, whose last work the tag shows."""
    waits = piece.state in (PieceState.WAITING, PieceState.HELD)
    here = worked_at or Station(piece.station)
    steps = at_station(piece) if waits else []
    if worked_at:
        steps = last_done(piece, worked_at)
    warned = [] if here in _NO_LIMITS_AT else wording.cautions(piece.care_decision)
    holds: list[Hold] = getattr(piece, "open_holds", [])
    inside: list[LoadPiece] = getattr(piece, "open_load_rows", [])
    others = [
        other
        for other in (piece.ticket.pieces.all() if here in _SHARED_STATIONS else ())
        if other.pk != piece.pk and other.is_open
    ]
    return WorkTag(
        piece=piece,
        station=here,
        kind=wording.kind_name(piece.kind),
        customer=wording.short_name(piece.ticket.customer.name),
        tasks=[
            TagStep(step, wording.setting_words(step.settings, fahrenheit=fahrenheit))
            for step in steps
        ],
        question=(
            bool(steps)
            and steps[0].step == "wet_check"
            and piece.state == PieceState.WAITING
            and not worked_at
        ),
        never=(
            []
            if here in _NO_LIMITS_AT
            else wording.limit_lines(piece.care_decision, here, fahrenheit=fahrenheit)
        ),
        cautions=warned[:_MOST_CAUTIONS],
        more_cautions=max(0, len(warned) - _MOST_CAUTIONS),
        load=_in_machine(piece) if here in _MACHINE_STATIONS else [],
        stains=wording.stain_names(piece.care_facts),
        urgency=urgency(piece),
        promise=wording.promise_words(piece.promised_at, now),
        hold=holds[0] if holds else None,
        in_load=inside[0].load if inside else None,
        washes="" if here in _NO_LIMITS_AT else washed,
        missing=[other for other in others if not _has_come(other)],
        places=sorted({other.rack_place.code for other in others if other.rack_place}),
    )


def _in_machine(piece: Piece) -> list[str]:
    """How it goes into a machine, by its own limits and by what its customer wishes."""
    own = load_words(piece.care_decision.load)
    return list(dict.fromkeys([*own, *wording.wish_words(piece.ticket.customer)]))


def _has_come(piece: Piece) -> bool:
    return piece.state in (PieceState.ASSEMBLED, PieceState.READY)
