"""What a draft looks like now: decisions, faults, prices and promise, worked out and not stored."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal

from django.utils.translation import gettext as _

import care_rules
from care_rules import Caution, Decision, JsonMapping, JsonObject
from counter.care import overrides
from counter.intake.drafts import DraftPiece
from counter.intake.faults import LookFault, fault_of
from counter.intake.inspection import ASKED, QUESTIONS, inspection_faults
from counter.intake.lists import KINDS, SERVICE_NAMES
from counter.intake.opening import earliest_promise
from counter.intake.rush import RushCost, cost_of_rush
from counter.intake.told_washes import ToldWashes, earlier_of, read_told
from counter.models import IntakeDraft, Shop
from counter.money import prices
from counter.money.amounts import parse_money
from tickets import house_book
from tickets.errors import Refused
from tickets.garments import washes
from tickets.garments.returning import Garment
from tickets.pieces.opening import AcceptedCaution, PieceSpec
from tickets.promise.quote import Promise
from tickets.shop.weights import HEAVIEST_G
from tickets.wording import PART_NAMES

LONGEST = {"description": 120, "set_mark": 2}
ROUNDING_PERCENT = 1
"""Figures on a label are rounded, so three thirds may print as 99."""


@dataclass(frozen=True)
class Accepting:
    """A hold caution and the name under it, empty while nobody accepted these words."""

    caution: Caution
    name: str


@dataclass
class PieceLook:
    position: int
    piece: DraftPiece
    facts: JsonObject
    decision: Decision | None = None
    faults: list[LookFault] = field(default_factory=list)
    lines: list[prices.PriceLine] = field(default_factory=list)
    typed: dict[str, Decimal] = field(default_factory=dict)
    house_rules: Sequence[care_rules.HouseRule] = ()
    second_looks: list[care_rules.Rule] = field(default_factory=list)
    """What in the label as typed is unusual enough to read it once more."""
    told: ToldWashes = field(default_factory=ToldWashes)

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
        return str(self.piece["id"])

    @property
    def title(self) -> str:
        kind = self.piece["facts"].get("kind")
        return KINDS.name(kind) if kind else _("New piece")

    @property
    def wrong(self) -> list[LookFault]:
        return [fault for fault in self.faults if not fault.open]

    @property
    def still_open(self) -> list[LookFault]:
        return [fault for fault in self.faults if fault.open]

    @property
    def holds(self) -> list[Accepting]:
        cautions = self.decision.cautions if self.decision else ()
        heard, names = self.piece.get("heard", {}), self.piece.get("accepted", {})
        return [
            Accepting(
                caution,
                names.get(caution.key, "") if heard.get(caution.key) == caution.says else "",
            )
            for caution in cautions
            if caution.level == "hold"
        ]

    @property
    def waiting(self) -> list[Accepting]:
        return [hold for hold in self.holds if not hold.name]

    @property
    def notes(self) -> list[Caution]:
        """Cautions of level info."""
        cautions = self.decision.cautions if self.decision else ()
        return [caution for caution in cautions if caution.level == "info"]

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
    def missing_prices(self) -> list[prices.PriceLine]:
        return [line for line in self.lines if line.amount is None]

    def spec(self) -> PieceSpec:
        """The piece as the ticket's door takes it."""
        return PieceSpec(
            facts=self.facts,
            inspection={k: v for k, v in self.piece["inspection"].items() if v},
            description=self.piece["description"],
            set_mark=self.piece["set_mark"],
            weight_g=self.piece["weight_g"],
            photo=self.piece["photo"] or None,
            accepted=[
                AcceptedCaution(hold.caution.key, hold.caution.says, hold.name)
                for hold in self.holds
                if hold.name
            ],
            earlier=self.told.earlier.piece if self.told.earlier else None,
            washes_before=self.told.before if self.counted else None,
            washes_allowed=self.told.allowed if self.counted else None,
        )


@dataclass
class DraftLook:
    draft: IntakeDraft
    pieces: list[PieceLook]
    quote: prices.Quote
    promise: Promise | None
    rush: RushCost | None = None
    """What going first costs, where the draft asks for it."""

    @property
    def waiting(self) -> bool:
        return any(piece.waiting for piece in self.pieces)

    @property
    def not_ready(self) -> list[PieceLook]:
        """Pieces that keep the ticket shut, in order."""
        return [piece for piece in self.pieces if piece.outcome != "accept"]

    @property
    def may_open(self) -> bool:
        return bool(self.pieces) and not self.not_ready

    @property
    def said(self) -> str:
        """Count and total as the page says them, for the page to send back."""
        return f"{len(self.pieces)} {self.quote.total}"


def look_at_piece(
    piece: DraftPiece,
    position: int,
    shop: Shop,
    price_list: prices.PriceList,
    house_rules: Sequence[care_rules.HouseRule],
    abilities: JsonMapping | None = None,
    earlier: Mapping[str, Garment] | None = None,
) -> PieceLook:
    """Decide on one piece and list what is wrong or still open.

    Costs no query where the shop's ``abilities`` and the ``earlier`` garments (``earlier_of``)
    come along, as for one of many pieces.
    """
    facts = {**piece["facts"], "shop": dict(abilities or shop.abilities)}
    if lifted := overrides.in_force(piece):
        facts["overrides"] = lifted
    look = PieceLook(position, piece, facts, house_rules=house_rules)
    look.told = read_told(piece, earlier_of([piece]) if earlier is None else earlier)
    look.typed = _typed_prices(look, shop)
    look.lines = prices.quote([facts], shop=shop, typed=[look.typed], prices=price_list).of_piece(1)
    _look_at_facts(look)
    _look_at_shares(look)
    for fault in inspection_faults(piece["inspection"], facts):
        unanswered = _is_unanswered(piece, fault.field)
        says = str(ASKED[fault.field]) if unanswered else fault.says
        look.faults.append(LookFault(fault.field, says, fault.cure, open=unanswered))
    _look_at_rest(look)
    if look.counted:
        look.faults += [LookFault("washes", *fault) for fault in look.told.faults]
    look.faults += [
        LookFault(
            "prices",
            _("No price for: %(what)s.") % {"what": line.text},
            _("Type the price here, or ask the owner to add it on the Shop page."),
            open=True,
        )
        for line in look.missing_prices
    ]
    return look


def look_at_draft(draft: IntakeDraft, shop: Shop, now: datetime) -> DraftLook:
    """The whole draft. Costs the same number of queries for one and for many pieces."""
    price_list = prices.PriceList.load()
    house_rules, abilities = house_book.current(), shop.abilities
    earlier = earlier_of(draft.pieces)
    looks = [
        look_at_piece(piece, position, shop, price_list, house_rules, abilities, earlier)
        for position, piece in enumerate(draft.pieces, 1)
    ]
    quote = prices.quote(
        [look.facts for look in looks],
        shop=shop,
        rush=draft.rush,
        typed=[look.typed for look in looks],
        prices=price_list,
    )
    routes = [(look.facts, look.decision) for look in looks if look.decision]
    promise, rush = None, None
    if routes:
        try:
            promise = earliest_promise(routes, now, rush=draft.rush)
            rush = cost_of_rush(routes, now, quote) if draft.rush else None
        except Refused:
            promise = None  # no opening hours yet; the opening door says so
    return DraftLook(draft, looks, quote, promise, rush)


def _look_at_facts(look: PieceLook) -> None:
    facts = look.piece["facts"]
    if not facts.get("kind"):
        look.faults.append(LookFault("kind", _("What is it?"), _("Choose the kind."), open=True))
    if not facts.get("services"):
        look.faults.append(
            LookFault(
                "services",
                _("What is asked?"),
                _("Choose one or more of: %(offered)s.")
                % {"offered": ", ".join(str(name) for name in SERVICE_NAMES.values())},
                open=True,
            )
        )
    if not facts.get("label", {}).get("state"):
        look.faults.append(
            LookFault("label", _("What does the label say?"), _("Look for it."), open=True)
        )
    if "alter" in facts.get("services", ()) and not facts.get("work"):
        look.faults.append(
            LookFault("work", _("Which alteration?"), _("Choose the operation."), open=True)
        )
    known = {name: value for name, value in look.facts.items() if value not in ("", None)}
    named = [caution.key for caution in _named(look, known)]
    try:
        parsed = care_rules.parse_facts({**known, "accepted": named})
        decision = care_rules.decide(parsed, look.house_rules)
        look.decision = washes.with_wash_caution(decision, look.told.count, named)
        look.second_looks = care_rules.reading_notes(parsed)
    except care_rules.FactsError as error:
        look.decision = None
        look.faults += [
            fault_of(fault.field, fault.value, str(fault.cure)) for fault in error.faults
        ]


def _look_at_shares(look: PieceLook) -> None:
    """Percents that are all stated must make up the whole part."""
    for part in look.facts.get("components", ()):
        shares = [fibre.get("percent") for fibre in part["fibres"]]
        if not shares or not all(isinstance(share, int | float) for share in shares):
            continue
        total = sum(shares)
        if abs(total - 100) > ROUNDING_PERCENT:
            look.faults.append(
                LookFault(
                    "components",
                    _("%(part)s: the fibres add up to %(total)g %%.")
                    % {"part": PART_NAMES.get(part["part"], part["part"]), "total": total},
                    _("Correct the figures, or add the rest as “unknown”."),
                )
            )


def _named(look: PieceLook, facts: JsonMapping) -> list[Caution]:
    """Hold cautions whose words were accepted by name."""
    if not look.piece.get("accepted"):
        return []
    try:
        decision = care_rules.decide(care_rules.parse_facts(facts), look.house_rules)
        look.decision = washes.with_wash_caution(decision, look.told.count)
    except care_rules.FactsError:
        return []
    return [hold.caution for hold in look.holds if hold.name]


def _look_at_rest(look: PieceLook) -> None:
    piece = look.piece
    for name, most in LONGEST.items():
        if len(piece[name]) > most:
            look.faults.append(
                LookFault(
                    name,
                    _("%(text)s… has %(count)d characters.")
                    % {"text": piece[name][:20], "count": len(piece[name])},
                    _("At most %(most)d fit.") % {"most": most},
                )
            )
    weight = piece["weight_g"]
    if not isinstance(weight, int) or not 0 <= weight <= HEAVIEST_G:
        look.faults.append(
            LookFault(
                "weight_g",
                _("%(value)s is not a weight in grams.") % {"value": weight},
                _("Write whole grams up to %(most)d, or leave it empty.") % {"most": HEAVIEST_G},
            )
        )


def _typed_prices(look: PieceLook, shop: Shop) -> dict[str, Decimal]:
    typed = {}
    for key, text in look.piece["prices"].items():
        if not str(text).strip():
            continue
        try:
            typed[key] = parse_money(str(text), shop, _("Price"))
        except Refused as refusal:
            look.faults.append(LookFault("prices", refusal.says, refusal.cure))
    return typed


def _is_unanswered(piece: DraftPiece, question: str) -> bool:
    return question in QUESTIONS and not piece["inspection"].get(question)
