"""A shop in the middle of its work, the same each time: routes, minutes and care are chosen here,
so that a change in a care table changes nothing in it.

Loads and holds are spoken of by pieces and names, never by keys: a database counts those on.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User
from time_machine import Traveller

from tests import building
from tests.counter.rows import DECISION, piece_at, ticket_of
from tickets.acting import Act
from tickets.choices import Station
from tickets.loads import services as loadbook
from tickets.models import (
    ClosedDay,
    Load,
    Machine,
    MachineKind,
    OpeningHours,
    Partner,
    Piece,
    Programme,
    RouteStep,
    StationCrew,
    Ticket,
)
from tickets.shop.queries import read_calendar
from tickets.shop.services import save_partner, set_crew_on
from tickets.tracking import services as tracking

WASHED = ("bench", "wash", "dry", "press", "check")
_DECISION: dict[str, Any] = DECISION
_DRYING: dict[str, dict[str, str]] = {
    MachineKind.RAIL: {"method": "hang"},
    MachineKind.FLAT: {"method": "flat"},
}
_CAUTIONS = [
    {
        "key": f"test.{number}",
        "level": level,
        "scope": "piece",
        "says": f"Caution {number}.",
        "do": f"Do {number}.",
        "defer_to": "",
        "because": [],
    }
    for number, level in enumerate(("info", "caution", "hold", "caution", "caution", "info"))
]


def busy_shop(by: User, morning: datetime) -> dict[str, Ticket]:
    """Tickets by a word for each; ``morning``: eight o'clock of the day asked about."""
    _make_house(morning.date())
    tickets = _waiting(by, morning) | _under_way(by, morning)
    asked = act(by, morning - timedelta(hours=15))
    again = (morning + timedelta(days=1)).date()
    tracking.hold(piece_at(tickets["held"], 1).code, "Which button?", by, again, asked)
    tracking.hold(piece_at(tickets["held"], 2).code, "Which lining?", by, morning.date(), asked)
    Ticket.objects.filter(pk=tickets["rush"].pk).update(rush=True)
    return tickets


def held_busy_shop(by: User, clock: Traveller) -> dict[str, Ticket]:
    """The busy shop at twenty past eleven of a Wednesday, where the clock then stands still."""
    morning = read_calendar().next_open(datetime.fromisoformat("2026-06-17T08:00:00+01:00"))
    clock.move_to(morning + timedelta(hours=3, minutes=20), tick=False)
    return busy_shop(by, morning)


def _make_house(today: date) -> None:
    """Ten hours with a break; one day closed; crews of half and of two people; four machines, a
    press, a rail for three and a table for one; a partner who comes on some days."""
    OpeningHours.objects.update(break_from=time(13), break_until=time(13, 30))
    OpeningHours.objects.filter(weekday=6).delete()
    ClosedDay.objects.create(day=today + timedelta(days=2))
    for station, people in (("bench", "2"), ("press", "1.5"), ("check", "0.5")):
        StationCrew.objects.update_or_create(station=station, defaults={"people": Decimal(people)})
    tomorrow = today + timedelta(days=1)
    set_crew_on(Station.BENCH, Decimal(1), tomorrow, tomorrow)
    set_crew_on(Station.DRY, Decimal(2), today, tomorrow)
    building.make_machine("Washer 1", "washer", 70)
    building.make_machine("Washer 2", "washer", 40, turnaround=15)
    building.make_machine("Dryer 1", "dryer", 160)
    building.make_machine("Press 1", MachineKind.PRESS, 0, most_pieces=1)
    building.make_machine("Press 2", MachineKind.PRESS, 0, most_pieces=1)
    building.make_machine("Rail", MachineKind.RAIL, 0, most_pieces=3)
    building.make_machine("Table", MachineKind.FLAT, 0, most_pieces=1)
    building.make_machine("Old washer", "washer", 300, in_use=False)
    Programme.objects.filter(kind="washer", key="whites_95").update(in_use=False)
    partner = Partner.objects.get()
    partner.collect_days, partner.days_away, partner.return_days = [1, 3], 2, [0, 4]
    partner.collect_at, partner.return_at = time(11), time(16)
    save_partner(partner)


def _waiting(by: User, morning: datetime) -> dict[str, Ticket]:
    """What nobody has begun: plain, urgent, long, late, hung, laid flat, sent out and held."""
    tickets = {
        "plain": _ticket(by, morning, 30, 3, minutes=6),
        "white": _ticket(by, morning, 31, 4, WASHED[1:], 6),
        "dark": _ticket(by, morning, 12, 3, WASHED[1:], 6, ("dark", "dark", "bright")),
        "rush": _ticket(by, morning, 9, 1, minutes=12),
        "long": _ticket(by, morning, 33, 1, ("bench", "press"), 260),
        "late": _ticket(by, morning, -2, 1, ("bench", "press"), 25),
        "tight": _ticket(by, morning, 5, 1, ("bench", "press"), 100),
        "hung": _ticket(by, morning, 28, 5, ("dry", "check"), 5),
        "flat": _ticket(by, morning, 55, 2, ("dry", "check"), 5),
        "sent": _ticket(by, morning, 150, 2, ("check", "press"), 8),
        "held": _ticket(by, morning, 26, 3, ("bench",), 15),
        "check": _ticket(by, morning, 7, 2, ("check",), 10),
    }
    for hours in (6, 7, 8, 9):
        tickets[f"in {hours} hours"] = _ticket(by, morning, hours, 1, ("bench",), 55)
    for ticket, grams in (("white", 900), ("dark", 350)):
        Piece.objects.filter(ticket=tickets[ticket]).update(weight_g=grams)
    reasons = {"iron.max_c": ["test.first", "Caution 1.", "test.second"], "tumble": ["test.first"]}
    _decide(tickets["tight"], cautions=_CAUTIONS, because=reasons)
    for word, place in (("hung", MachineKind.RAIL), ("flat", MachineKind.FLAT)):
        _change_step(tickets[word], "dry", settings=_DRYING[place])
        _decide(tickets[word], limits={**_DECISION["limits"], "tumble": "none"})
    _change_step(
        tickets["sent"],
        "check",
        station=Station.SEND_OUT,
        step="send_out",
        settings={"to": "dry_clean"},
        minutes=2,
    )
    Piece.objects.filter(ticket=tickets["sent"]).update(station=Station.SEND_OUT)
    return tickets


def _under_way(by: User, morning: datetime) -> dict[str, Ticket]:
    """What is in a drum since half an hour, in a load that waits, at the dryer, on the rail since
    the evening before, matched with its sibling still to come, and matched whole."""
    tickets = {
        "in the drum": _ticket(by, morning, 10, 2, WASHED[1:], 6),
        "in a load": _ticket(by, morning, 29, 2, WASHED[1:], 6, ("dark", "dark")),
        "wet": _ticket(by, morning, 11, 3, WASHED[2:], 6, ("white", "dark", "white")),
        "on the rail": _ticket(by, morning, 8, 1, ("dry", "press"), 5),
        "matched": _ticket(by, morning, 8, 2, ("check",), 5),
        "whole": _ticket(by, morning, 8, 2, ("check",), 5),
    }
    _change_step(tickets["on the rail"], "dry", settings=_DRYING[MachineKind.RAIL])
    evening = act(by, morning - timedelta(hours=10))
    tracking.finish_work(piece_at(tickets["on the rail"], 1).code, Station.DRY, evening)
    for done in (piece_at(tickets["matched"], 1), *tickets["whole"].pieces.order_by("position")):
        tracking.finish_work(done.code, Station.CHECK, evening)
        tracking.assemble(done.code, evening)
    running = _load("Washer 1", tickets["in the drum"], by)
    loadbook.close(running.pk, act(by, morning - timedelta(minutes=20)))
    loadbook.start(running.pk, act(by, morning - timedelta(minutes=20)))
    _load("Washer 2", tickets["in a load"], by)
    return tickets


def _load(machine: str, ticket: Ticket, by: User) -> Load:
    codes = [piece.code for piece in ticket.pieces.order_by("position")]
    return loadbook.open_load(Machine.objects.get(name=machine).pk, codes, act(by)).load


def _ticket(
    by: User,
    morning: datetime,
    due: float,
    pieces: int,
    stations: Sequence[str] = WASHED,
    minutes: int = 10,
    colours: Sequence[str] = (),
) -> Ticket:
    """Promised so many hours after the morning."""
    ticket = ticket_of(
        by,
        pieces,
        stations=stations,
        minutes=minutes,
        opened=morning - timedelta(hours=16),
        promised=morning + timedelta(hours=due),
    )
    _change_step(ticket, "dry", settings={"method": "tumble"})
    for position, colour in enumerate(colours, 1):
        _decide(ticket, position, load={**_DECISION["load"], "colour_group": colour})
    return ticket


def _decide(ticket: Ticket, position: int = 0, **changes: Any) -> None:
    """Another decision for the piece at that position, or for all."""
    pieces = ticket.pieces.filter(position=position) if position else ticket.pieces.all()
    pieces.update(decision={**_DECISION, **changes})


def _change_step(ticket: Ticket, at: str, **changes: Any) -> None:
    RouteStep.objects.filter(piece__ticket=ticket, station=at).update(**changes)


def act(by: User, at: datetime | None = None) -> Act:
    return Act(by=by, at=at) if at else Act(by=by)
