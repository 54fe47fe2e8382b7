"""An intake is judged once: decisions, faults, prices and promise of a draft, nothing stored.

Pages, the API and the door that opens a ticket all take them from one ``Judgement``. It is made
before the write lock, and its ``version`` tells inside the lock whether what it hangs on stands.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal

import care_rules
from care_rules import Caution, Decision, JsonObject
from counter.care.overrides import overrides_in_force
from counter.intake import queries, wording
from counter.intake.choice_lists import KINDS
from counter.intake.drafts import Draft, DraftPiece
from counter.intake.faults import PieceFault, faults_of_facts, faults_of_rest, missing_price
from counter.intake.queries import House, Version
from counter.intake.rush import MOST_NAMED, RushCost, cost_of_rush
from counter.intake.told_washes import ToldWashes, read_told
from counter.models import Shop
from counter.money import prices
from counter.money.amounts import parse_money
from counter.money.prices import PriceLine, Quote
from tickets.errors import Refused
from tickets.garments import washes
from tickets.garments.returning import Garment
from tickets.pieces.decisions import (
    AcceptedCaution,
    DecidedPiece,
    PieceSpec,
    planned_route,
    with_names,
)
from tickets.promise.open_work import OpenWork, open_work
from tickets.promise.quote import Promise, backlog_of, earliest_ready
from tickets.promise.rush import made_late
from tickets.promise.tasks import Task

LONGEST_NAME = 120

Names = Mapping[str, Mapping[str, str]]
"""Piece id -> caution key -> the name just given under its words as they are shown now."""


@dataclass(frozen=True)
class Accepting:
    """A hold caution and the name under it, empty while nobody accepted these words."""

    caution: Caution
    name: str


@dataclass(frozen=True)
class JudgedPiece:
    """A piece of a draft with all that follows from it.

    ``facts`` are those decided on: with the shop's machines and the rules lifted for the piece.
    ``unread`` says why the care rules can't read them, ``decision`` is None then.
    """

    position: int
    piece: DraftPiece
    facts: JsonObject
    decision: Decision | None
    unread: care_rules.FactsError | None
    lines: Sequence[PriceLine]
    typed: Mapping[str, Decimal]
    told: ToldWashes
    second_looks: Sequence[care_rules.Rule] = ()
    """What in the label as typed is unusual enough to read it once more."""
    faults: Sequence[PieceFault] = ()

    @property
    def counted(self) -> bool:
        """Whether its washes are counted."""
        return self.decision is not None and washes.is_counted(self.decision)

    @property
    def washed(self) -> str:
        """How often a counted piece was washed, with the wash to come."""
        return self.told.words(self.decision) if self.counted and self.decision else ""

    @property
    def id(self) -> str:
        return self.piece.id

    @property
    def title(self) -> str:
        kind = self.piece.facts.get("kind")
        return KINDS.name(kind) if kind else wording.new_piece()

    @property
    def wrong(self) -> list[PieceFault]:
        return [fault for fault in self.faults if not fault.open]

    @property
    def still_open(self) -> list[PieceFault]:
        return [fault for fault in self.faults if fault.open]

    @property
    def next_fault(self) -> PieceFault | None:
        """What is asked next: to put right before anything new; nothing of a declined piece."""
        faults = [] if self.declined else self.wrong or self.still_open
        return faults[0] if faults else None

    @property
    def cautions(self) -> Sequence[Caution]:
        return self.decision.cautions if self.decision else ()

    @property
    def accepted(self) -> list[AcceptedCaution]:
        """Cautions with the words and the name under them, as the ticket keeps them."""
        return [
            AcceptedCaution(caution.key, caution.says, name)
            for caution in self.cautions
            if (name := name_under(caution, self.piece))
            and (caution.level == "hold" or self.piece.heard is None)
        ]

    @property
    def holds(self) -> list[Accepting]:
        return [
            Accepting(caution, name_under(caution, self.piece))
            for caution in self.cautions
            if caution.level == "hold"
        ]

    @property
    def waiting(self) -> list[Accepting]:
        return [hold for hold in self.holds if not hold.name]

    @property
    def notes(self) -> list[Caution]:
        """Cautions of level info."""
        return [caution for caution in self.cautions if caution.level == "info"]

    @property
    def declined(self) -> bool:
        return self.decision is not None and self.decision.outcome == "decline"

    @property
    def outcome(self) -> str:
        """decline, wrong, open, ask or accept: the first that applies."""
        if self.declined:
            return "decline"
        if self.wrong:
            return "wrong"
        if self.still_open:
            return "open"
        return "ask" if self.waiting else "accept"

    @property
    def total(self) -> Decimal:
        return sum((line.amount for line in self.lines if line.amount is not None), Decimal(0))

    @property
    def missing_prices(self) -> list[PriceLine]:
        return [line for line in self.lines if line.amount is None]

    def decided(self) -> DecidedPiece:
        """The piece as the ticket's door takes it. The facts must have been read."""
        assert self.decision is not None
        spec = PieceSpec(
            facts=self.facts,
            inspection={name: given for name, given in self.piece.inspection.items() if given},
            description=self.piece.description,
            set_mark=self.piece.set_mark,
            weight_g=int(self.piece.weight_g),
            photo=self.piece.photo or None,
            accepted=self.accepted,
            earlier=self.told.earlier.piece if self.told.earlier else None,
            washes_before=self.told.before if self.counted else None,
            washes_allowed=self.told.allowed if self.counted else None,
        )
        return DecidedPiece(spec, self.decision)


@dataclass(frozen=True)
class Judgement:
    """A draft judged at a moment. ``draft`` has the names that were given with it.

    ``promise`` is None while no piece is decided and where ``unpromised`` says why none can be
    made; ``rush`` is what going first costs, where the draft asks for it.
    """

    draft: Draft
    at: datetime
    shop: Shop
    version: Version
    pieces: Sequence[JudgedPiece]
    quote: Quote
    promise: Promise | None = None
    unpromised: Refused | None = None
    rush: RushCost | None = None

    @property
    def waiting(self) -> bool:
        return any(piece.waiting for piece in self.pieces)

    @property
    def not_ready(self) -> list[JudgedPiece]:
        """Pieces that keep the ticket shut, in order."""
        return [piece for piece in self.pieces if piece.outcome != "accept"]

    @property
    def may_open(self) -> bool:
        return bool(self.pieces) and not self.not_ready

    @property
    def said(self) -> str:
        """Count and total as the page says them, for the page to send back."""
        return f"{len(self.pieces)} {self.quote.total}"


def judge(draft: Draft, now: datetime, names: Names | None = None) -> Judgement:
    """Judge a whole draft: each piece is decided once, one quote, one promise.

    ``names`` are given under the words as this judgement finds them, so nothing need be decided
    before to know those words. Costs the same number of queries for one and for many pieces.
    """
    return with_promise(judge_unpromised(draft, now, names))


def judge_unpromised(draft: Draft, now: datetime, names: Names | None = None) -> Judgement:
    """``judge`` without a promise, where nobody asks for one yet."""
    version = queries.current_version()  # before all that it stands for
    house = queries.house()
    earlier = queries.earlier_of(draft.pieces)
    facts = [_facts(piece, house) for piece in draft.pieces]
    amounts = [_amounts(piece, house.shop) for piece in draft.pieces]
    quote = prices.quote(
        facts,
        shop=house.shop,
        rush=draft.rush,
        typed=[typed for typed, _faults in amounts],
        prices=house.price_list,
    )
    pieces = [
        _judged(
            piece,
            position,
            facts[position - 1],
            amounts[position - 1],
            quote.of_piece(position),
            house,
            earlier,
            (names or {}).get(piece.id),
        )
        for position, piece in enumerate(draft.pieces, 1)
    ]
    return Judgement(
        draft=replace(draft, pieces=tuple(judged.piece for judged in pieces)),
        at=now,
        shop=house.shop,
        version=version,
        pieces=pieces,
        quote=quote,
    )


def with_promise(judgement: Judgement) -> Judgement:
    """The earliest honest promise and, for a rush, what it costs the others.

    Rush work waits behind other rush work, and what must begin now.
    """
    routes = [
        planned_route(piece.facts, piece.decision)
        for piece in judgement.pieces
        if piece.decision is not None
    ]
    if not routes:
        return judgement
    now, rush = judgement.at, judgement.draft.rush
    work = open_work(now)
    try:
        promise = earliest_ready(routes, now, work.calendar, backlog_of(work, only_rush=rush))
        cost = _cost_of_rush(routes, work, judgement) if rush else None
    except Refused as refusal:
        return replace(judgement, unpromised=refusal)
    return replace(judgement, promise=promise, rush=cost)


def _cost_of_rush(
    routes: Sequence[Sequence[Task]], work: OpenWork, judgement: Judgement
) -> RushCost:
    """Costs one query however many tickets wait."""
    late = made_late(work.outlook, routes)
    return cost_of_rush(
        routes,
        judgement.at,
        work,
        judgement.quote,
        late_count=len(late),
        promised_first=queries.promised_first(late, MOST_NAMED),
    )


def judge_piece(piece: DraftPiece, position: int, house: House | None = None) -> JudgedPiece:
    """Judge one piece by itself, as its editor shows it: no promise."""
    house = house or queries.house()
    facts, amounts = _facts(piece, house), _amounts(piece, house.shop)
    asked = prices.quote([facts], shop=house.shop, typed=[amounts[0]], prices=house.price_list)
    earlier = queries.earlier_of([piece])
    return _judged(piece, position, facts, amounts, asked.of_piece(1), house, earlier)


def name_under(caution: Caution, piece: DraftPiece) -> str:
    """Who said yes to these very words; empty for nobody."""
    name = piece.accepted.get(caution.key, "")
    heard = piece.heard
    return name if heard is None or heard.get(caution.key) == caution.says else ""


_Amounts = tuple[Mapping[str, Decimal], Sequence[PieceFault]]


def _judged(
    piece: DraftPiece,
    position: int,
    facts: JsonObject,
    amounts: _Amounts,
    lines: Sequence[PriceLine],
    house: House,
    earlier: Mapping[str, Garment],
    names: Mapping[str, str] | None = None,
) -> JudgedPiece:
    told_washes = read_told(piece, earlier)
    decision: Decision | None = None
    unread: care_rules.FactsError | None = None
    second_looks: Sequence[care_rules.Rule] = ()
    try:
        read = care_rules.parse_facts(facts)
        decision = care_rules.decide(read, house.rules)
        decision = washes.with_wash_caution(decision, told_washes.count)
        second_looks = care_rules.reading_notes(read)
    except care_rules.FactsError as error:
        unread = error
    if decision is not None:
        piece = piece if names is None else _with_given(piece, decision, names)
        decision = with_names(
            decision,
            {caution.key for caution in decision.cautions if name_under(caution, piece)},
        )
    judged = JudgedPiece(
        position, piece, facts, decision, unread, lines, amounts[0], told_washes, second_looks
    )
    faults = [
        *amounts[1],
        *faults_of_facts(piece, unread),
        *faults_of_rest(piece, facts),
        *(told_washes.faults if judged.counted else ()),
        *(missing_price(line) for line in judged.missing_prices),
    ]
    return replace(judged, faults=faults)


def _with_given(piece: DraftPiece, decision: Decision, names: Mapping[str, str]) -> DraftPiece:
    """The piece with the names just given under its holds, and no others."""
    says = {caution.key: caution.says for caution in decision.cautions if caution.level == "hold"}
    if not says.keys() & names.keys():
        return piece
    accepted = {
        key: name for key in says if (name := " ".join(names.get(key, "").split())[:LONGEST_NAME])
    }
    return replace(piece, accepted=accepted, heard={key: says[key] for key in accepted})


def _facts(piece: DraftPiece, house: House) -> JsonObject:
    """What the shop knows better than whoever tells: its machines, and what the owner lifted."""
    facts = {**piece.facts, "shop": dict(house.abilities)}
    if lifted := overrides_in_force(piece.facts, recorded=piece.overrides or {}):
        facts["overrides"] = lifted
    return facts


def _amounts(piece: DraftPiece, shop: Shop) -> _Amounts:
    typed: dict[str, Decimal] = {}
    faults: list[PieceFault] = []
    for key, text in piece.prices.items():
        if isinstance(text, Decimal):
            typed[key] = text
        elif str(text).strip():
            try:
                typed[key] = parse_money(str(text), shop, wording.price_field())
            except Refused as refusal:
                faults.append(PieceFault("prices", refusal.says, refusal.cure))
    return typed, faults
