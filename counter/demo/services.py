"""The demo shop: a made-up shop in a made-up town, run for a month through the real doors.

Every ticket, move, payment and pickup is made by the same functions as in a real shop, in time
order under a fixed seed, so boards and figures are alive. Invented data, for looking only.
"""

from __future__ import annotations

import heapq
import random
import uuid
from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime, timedelta
from decimal import Decimal

from django.contrib.auth.models import User
from django.utils import timezone

import care_rules
from care_rules import JsonObject
from counter.demo import jacket
from counter.demo.demo_rows import clocks, read_csv, read_json
from counter.intake.drafts import Draft, DraftPiece
from counter.intake.services import open_ticket
from counter.models import Payment, Pickup, PriceItem, Shop
from counter.money import services as payments
from counter.money.queries import balance
from counter.pickup import services as pickup
from counter.pickup.queries import counted_out
from counter.shop import holidays
from counter.shop.services import DayHours, close_on_all, set_hours
from counter.staff import services as staff
from tickets.acting import Act
from tickets.choices import PieceState, Station
from tickets.garments.services import save_customer
from tickets.loads import services as loadbook
from tickets.loads.proposals import floor
from tickets.models import (
    CrewDay,
    Customer,
    Machine,
    Partner,
    Piece,
    RackPlace,
    StationCrew,
    Ticket,
)
from tickets.shop.calendar import business_day
from tickets.shop.partners import service_of
from tickets.shop.queries import read_calendar
from tickets.shop.services import save_machine, save_partner
from tickets.tracking import queries
from tickets.tracking import services as tracking
from tickets.tracking.open_steps import at_station, open_steps
from tickets.writing import atomic_write

PASSWORD = "linen-and-thread"  # noqa: S105 - printed for everybody who starts the demo
DAYS = 30
SEED = 4821

_ROWS = {"hours", "crew", "crew_days", "rack", "staff", "machines", "partners", "public_holidays"}
"""Parts of the shop's facts that are rows of their own."""

_HOLD_REASONS = (
    "Near match for the button? Customer to say before it is sewn on",
    "Zip on order: the right length was not in the drawer",
    "Open the lining? Ask before the seam is cut",
)
_REDO_REASONS = ("Crease at the left sleeve", "Mark at the hem still seen", "Collar not flat")


class NotADemo(Exception):
    """The database holds real tickets; the demo never touches it."""


def load_demo(today: datetime | None = None, days: int = DAYS) -> bool:
    """Fill an empty database with the demo shop. False when the demo is there already."""
    if Shop.objects.filter(is_demo=True).exists():
        return False
    if Ticket.objects.exists() or Customer.objects.exists():
        raise NotADemo
    with atomic_write():
        now = today or timezone.now()
        _set_up(now)
        _Run(now, days).play()
    return True


def _set_up(now: datetime) -> None:
    facts = read_json("shop.json")
    fields = {name: value for name, value in facts.items() if name not in _ROWS}
    for name in ("minimum_charge", "water_price", "power_price", "gas_price"):
        fields[name] = Decimal(fields[name])
    Shop.objects.update_or_create(pk=1, defaults={**fields, "is_demo": True})
    set_hours({int(weekday): DayHours(**clocks(day)) for weekday, day in facts["hours"].items()})
    for partner in facts["partners"]:
        save_partner(Partner(**{**partner, **clocks(partner)}))
    place = facts["public_holidays"]
    close_on_all(dict(holidays.coming(place, business_day(now))), place)
    calendar = read_calendar()
    StationCrew.objects.bulk_create(
        StationCrew(station=station, people=Decimal(str(people)))
        for station, people in facts["crew"].items()
    )
    CrewDay.objects.bulk_create(
        CrewDay(station=row["station"], people=row["people"], day=day)
        for row in facts["crew_days"]
        for ahead in range(row["from_days_ahead"], row["to_days_ahead"] + 1)
        if calendar.open_on(day := business_day(now) + timedelta(days=ahead))
    )
    RackPlace.objects.bulk_create(RackPlace(code=code) for code in facts["rack"])
    for machine in facts["machines"]:
        save_machine(Machine(**{**machine, "litres": Decimal(machine.get("litres", 0))}))
    for username, role, name, pin in facts["staff"]:
        staff.add_person(username, role, full_name=name, password=PASSWORD, pin=pin)
    PriceItem.objects.bulk_create(
        PriceItem(**{**row, "amount": Decimal(row["amount"])}) for row in read_csv("prices.csv")
    )
    for row in read_csv("customers.csv"):
        save_customer(
            Customer(
                name=row["name"],
                email=row["email"],
                address_line=row["address_line"],
                may_message=row["may_message"] == "yes",
            ),
            phone=row["phone"],
            region=facts["country"],
        )


class _Run:
    """Some days of the shop as a queue of timed events, worked in order up to ``now``."""

    def __init__(self, now: datetime, days: int) -> None:
        self.now = now
        self.days = days
        self.chance = random.Random(SEED)  # noqa: S311 - a repeatable story, not a secret
        self.calendar = read_calendar()
        self.events: list[tuple[datetime, int, Callable[[datetime], None]]] = []
        self.made = 0
        self.customers = list(Customer.objects.order_by("pk"))
        self.garments = read_json("garments.json")
        self.crew = list(User.objects.filter(groups__name="backroom").order_by("pk"))
        self.front = list(User.objects.filter(groups__name="counter").order_by("pk"))
        self.places = list(RackPlace.objects.values_list("code", flat=True))
        self.slow_tickets: set[int] = set()
        self.redone: set[str] = set()

    def play(self) -> None:
        first = business_day(self.now) - timedelta(days=self.days)
        for offset in range(self.days + 1):
            self._plan_day(first + timedelta(days=offset))
        jacket.Jacket(self.calendar, self.now).plan(self._later)
        while self.events:
            at, _order, event = heapq.heappop(self.events)
            event(at)
        self._leave_questions_open()
        self._load_machines()
        self._pack_bags()

    def _leave_questions_open(self) -> None:
        """Whatever the dice said: two pieces on hold, and one given back undone."""
        waiting = list(
            Piece.objects.filter(state=PieceState.WAITING)
            .exclude(station__in=(Station.INTAKE, Station.WASH))
            .order_by("promised_at", "code")[:3]
        )
        asked = self.now - timedelta(minutes=25)
        for piece, reason, days in zip(waiting, _HOLD_REASONS, (0, 2), strict=False):
            act = self._act(self.crew, asked)
            owner = self.chance.choice(self.front)
            tracking.hold(
                piece.code, reason, owner, business_day(self.now) + timedelta(days=days), act
            )
        for piece in waiting[2:]:
            act = self._act(self.front, self.now - timedelta(minutes=20))
            tracking.return_undone(piece.code, "Customer needs it today, work not begun", act)

    def _load_machines(self) -> None:
        """One load runs and one is closed, as far as something waits for the machines."""
        act = self._act(self.crew, self.now - timedelta(minutes=12))
        proposals = floor(Station.WASH, self.now).proposals
        fullest = sorted((p for p in proposals if p.now), key=lambda p: -len(p.pieces))[:2]
        for number, proposal in enumerate(fullest):
            codes = [piece.code for piece in proposal.pieces]
            load = loadbook.open_load(proposal.machine.pk, codes, self._once(act)).load
            loadbook.close(load.pk, self._once(act))
            if number == 0:
                loadbook.start(load.pk, self._once(act))

    def _pack_bags(self) -> None:
        """One bag is gone and something is left to pack, as far as pieces wait for a partner."""
        act = self._act(self.crew, self.now - timedelta(minutes=8))
        bags = sorted(floor(Station.SEND_OUT, self.now).bags, key=lambda b: -len(b.pieces))
        for bag in bags[:1]:
            codes = [piece.code for piece in bag.pieces]
            some = codes[: (len(codes) + 1) // 2]
            gone = loadbook.open_bag(bag.partner.pk, some, self._once(act)).load
            loadbook.close(gone.pk, self._once(act))
            loadbook.start(gone.pk, self._once(act))

    def _once(self, act: Act) -> Act:
        return replace(act, client_key=self._key())

    def _later(self, at: datetime, event: Callable[[datetime], None]) -> None:
        if at <= self.now:
            self.made += 1
            heapq.heappush(self.events, (at, self.made, event))

    def _act(self, people: list[User], at: datetime) -> Act:
        return Act(by=self.chance.choice(people), device="demo", client_key=self._key(), at=at)

    def _key(self) -> str:
        return str(uuid.UUID(int=self.chance.getrandbits(128)))

    def _plan_day(self, day: date) -> None:
        window = self.calendar.opening(day)
        if window is None:
            return
        opens, closes = window
        minutes = int((closes - opens).total_seconds() / 60) - 60
        busy = 2 if day >= business_day(self.now) - timedelta(days=1) else 1
        for _ in range(busy * self.chance.choice((2, 3, 3, 4))):
            at = opens + timedelta(minutes=self.chance.randrange(10, minutes))
            self._later(at, self._take_in)

    def _take_in(self, at: datetime) -> None:
        count = self.chance.choice((1, 2, 2, 3, 3, 4, 5))
        pieces = [self._spec() for _ in range(count)]
        if self.chance.random() < 0.12:
            pieces += self._suit()
        customer, key = self.chance.choice(self.customers), uuid.UUID(self._key())
        draft = Draft(tuple(pieces), rush=self.chance.random() < 0.08)
        ticket = open_ticket(customer, draft, None, self._act(self.front, at), client_key=key)
        if self.chance.random() < 0.1:
            self.slow_tickets.add(ticket.pk)
        if self.chance.random() < 0.12:
            owed = balance(ticket).owed
            self._pay(ticket, at, Payment.Kind.DEPOSIT, min(owed, Decimal("5.00")))
        for piece in ticket.pieces.all():
            self._next(piece.code, Station.INTAKE, at, ticket.pk)

    def _spec(self) -> DraftPiece:
        weights = [garment["often"] for garment in self.garments]
        return self._piece(self.chance.choices(self.garments, weights)[0])

    def _suit(self) -> list[DraftPiece]:
        """Jacket and trousers, tied by a set mark."""
        wanted = ("charcoal jacket", "grey trousers to hem")
        pair = [garment for garment in self.garments if garment["description"] in wanted]
        return [self._piece(garment, set_mark="A") for garment in pair]

    def _piece(self, garment: JsonObject, set_mark: str = "") -> DraftPiece:
        facts = {**garment["facts"], "shop": Shop.current().abilities}
        ruling = care_rules.rule_on(care_rules.parse_facts(facts))
        stained, damaged = bool(facts["stains"]), bool(facts["damage"])
        return DraftPiece(
            facts=facts,
            description=garment["description"],
            set_mark=set_mark,
            inspection={
                "pockets": "empty",
                "stains": "listed" if stained else "none",
                "damage": "listed" if damaged else "none",
                "fastenings": "work",
            },
            accepted={
                key: "the customer, at the counter"
                for key, level in ruling.caution_levels.items()
                if level == "hold"
            },
            heard=None,
        )

    def _next(self, code: str, station: Station, at: datetime, ticket_pk: int) -> None:
        """The crew works to the promise: each stop takes a share of the time that is left."""
        piece = Piece.objects.prefetch_related("steps").get(code=code)
        stops = len({step.station for step in open_steps(piece)}) + 2
        left = max(self.calendar.open_minutes(at, piece.promised_at), 60.0)
        wait = self.chance.uniform(0.3, 1.15) * left / stops
        wait *= 4 if ticket_pk in self.slow_tickets else 1
        ready = self.calendar.add_minutes(at, max(wait, 5.0))
        if station == Station.SEND_OUT and (back := self._back(piece, at)):
            ready = back
        self._later(ready, lambda moment: self._work(code, moment, ticket_pk))

    def _back(self, piece: Piece, at: datetime) -> datetime | None:
        """When the partner has brought it back and somebody has unpacked the bag."""
        back = self.calendar.back(service_of(piece), at)
        minutes = self.chance.uniform(5, 60)
        return self.calendar.add_minutes(back, minutes) if back else None

    def _work(self, code: str, at: datetime, ticket_pk: int) -> None:
        piece = Piece.objects.prefetch_related("steps").get(code=code)
        if piece.state != PieceState.WAITING:
            return
        act = self._act(self.crew, at)
        luck = self.chance.random()
        station = Station(piece.station)
        if station == Station.ASSEMBLY:
            tracking.assemble(code, act)
            self._close_count(piece.ticket.number, at)
            return
        if luck < 0.04 and station in (Station.BENCH, Station.PRESS, Station.WASH):
            self._stop(code, act, at, ticket_pk)
            return
        if luck > 0.95 and station == Station.CHECK and code not in self.redone:
            self.redone.add(code)
            back_to = self._redo_station(piece)
            if back_to is not None:
                reason = self.chance.choice(_REDO_REASONS)
                moved = tracking.send_back(code, back_to, reason, act)
                self._next(code, Station(moved.piece.station), at, ticket_pk)
                return
        steps = at_station(piece)
        if steps and steps[0].step == "wet_check":
            gone = self.chance.random() > 0.15 or piece.redo_count > 1
            moved = tracking.answer_wet_check(code, gone, act)
        else:
            moved = tracking.finish_work(code, station, act)
        self._next(code, Station(moved.piece.station), at, ticket_pk)

    @staticmethod
    def _redo_station(piece: Piece) -> Station | None:
        done = [step.station for step in piece.steps.all() if step.done_at]
        return Station.PRESS if Station.PRESS in done else None

    def _stop(self, code: str, act: Act, at: datetime, ticket_pk: int) -> None:
        owner = self.chance.choice(self.front)
        ask = business_day(at) + timedelta(days=2)
        tracking.hold(code, self.chance.choice(_HOLD_REASONS), owner, ask, act)
        ends = self.calendar.add_minutes(at, self.chance.uniform(700, 2600))

        def end(moment: datetime) -> None:
            act = self._act(self.front, moment)
            tracking.release(code, "Customer agreed on the phone", act)
            self._next(code, Station.CHECK, moment, ticket_pk)

        self._later(ends, end)

    def _close_count(self, number: int, at: datetime) -> None:
        ticket = Ticket.objects.get(number=number)
        if queries.missing_at_assembly(ticket):
            return
        tracking.complete_ticket(number, self._act(self.crew, at))
        place = self.chance.choice(self.places)

        def hang(moment: datetime) -> None:
            for piece in ticket.pieces.filter(station=Station.RACK):
                tracking.rack(piece.code, place, self._act(self.crew, moment))
            fetch = moment + timedelta(hours=self.chance.uniform(2, 150))
            if self.chance.random() < 0.88:
                self._later(self.calendar.next_open(fetch), lambda at: self._fetch(number, at))

        self._later(self.calendar.add_minutes(at, self.chance.uniform(5, 40)), hang)

    def _fetch(self, number: int, at: datetime) -> None:
        ticket = Ticket.objects.get(number=number)
        ready = list(ticket.pieces.filter(state=PieceState.READY).order_by("position"))
        if not ready:
            return
        if len(ready) > 2 and self.chance.random() < 0.12:
            ready = ready[:-1]
        owed = balance(ticket).owed
        if owed > 0:
            self._pay(ticket, at, Payment.Kind.PAYMENT, owed)
        act = self._act(self.front, at)
        for piece in ready:
            pickup.scan(number, piece.code, act)
        standing = counted_out(ticket)
        assert standing.pickup is not None  # the first scan made it
        pickup.hand_over(
            standing.pickup.pk,
            ticket.customer.name,
            Pickup.Proof.SLIP,
            act,
            part_of=standing.open_count if standing.staying else 0,
        )

    def _pay(self, ticket: Ticket, at: datetime, kind: Payment.Kind, amount: Decimal) -> None:
        means = self.chance.choice((Payment.Means.CASH, Payment.Means.CARD, Payment.Means.CARD))
        payments.take(
            ticket, kind, means, amount, self._act(self.front, at), client_key=self._key()
        )
