"""Every answer to "when" that the busy shop gives, as a person last looked at them.

The laws of the engine stand beside; these listings hold what no law fixes: in which order lines
are served, and which way out is named first.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from django.contrib.auth.models import User
from django.utils import timezone

from tests.approved import assert_approved
from tests.building import outlook_of, queued_work
from tests.tickets.busy_shop import busy_shop
from tickets.choices import Station
from tickets.models import Piece
from tickets.promise.expected import Outlook
from tickets.promise.jam import next_open_day, station_loads
from tickets.promise.queries import open_pieces, shop_capacity
from tickets.promise.quote import earliest_ready
from tickets.promise.rescue import rescue
from tickets.promise.rush import made_late
from tickets.promise.tasks import Task
from tickets.shop.calendar import business_day
from tickets.shop.queries import read_calendar

APPROVED = Path(__file__).with_name("approved")
ROUTES: dict[str, list[list[Task]]] = {
    "a hem": [[Task(Station.BENCH, 20.0), Task(Station.PRESS, 5.0)]],
    "a shirt": [
        [
            Task(Station.WASH, 2.0, 60.0, machine=5.0),
            Task(Station.DRY, 2.0, 60.0, machine=10.0),
            Task(Station.PRESS, 9.0),
        ]
    ],
    "two on the rail": [[Task(Station.DRY, 4.0, 720.0, place="rail"), Task(Station.CHECK, 3.0)]]
    * 2,
    "a suit": [[Task(Station.SEND_OUT, 2.0, partner="dry_clean"), Task(Station.CHECK, 5.0)]],
    "a long evening dress": [[Task(Station.BENCH, 420.0), Task(Station.PRESS, 180.0)]],
    "nothing": [[]],
}


def clock(at: datetime | None) -> str:
    return "-" if at is None else f"{timezone.localtime(at):%a %H:%M:%S}"


@pytest.fixture
def morning(crew: User) -> datetime:
    """Eight o'clock of the Wednesday after the day of the held clock, in the shop's time."""
    return read_calendar().next_open(datetime.fromisoformat("2026-06-17T08:00:00+01:00"))


def moments(morning: datetime) -> list[datetime]:
    """In the morning, shortly before closing, and at night."""
    return [morning + timedelta(hours=hours) for hours in (0, 9.5, 13)]


def outlook_lines(outlook: Outlook) -> Iterator[str]:
    keys = dict(Piece.objects.values_list("pk", "code"))
    for number, expected in outlook.tickets.items():
        case = outlook.cases[number]
        hold = f", asks {expected.hold.owner}: {expected.hold.reason}" if expected.hold else ""
        yield (
            f"{number} expected {clock(expected.at)}, after {expected.after}, "
            f"holds up {expected.holds_up} until {clock(expected.full_until)}{hold}"
        )
        ahead = outlook.before(case).minutes(outlook.capacity)
        said = ", ".join(f"{name} {ahead[name]:.2f}" for name in sorted(ahead))
        yield f"  before it: {said}"
        foreseen = [
            f"{keys[piece.pk]} {clock(outlook.pieces[piece.pk])} goes on {clock(piece.goes_on)} "
            f"{piece.away}"
            for piece in case.pieces
        ]
        yield from (f"  {line}" for line in foreseen)
    yield f"late: {[expected.ticket.number for expected in outlook.late()]}"
    yield f"at risk: {[expected.ticket.number for expected in outlook.at_risk()]}"


def test_expected_times_are_as_approved(crew: User, morning: datetime) -> None:
    busy_shop(crew, morning)
    lines = [
        line
        for now in moments(morning)
        for line in (f"asked {clock(now)}", *outlook_lines(outlook_of(now)))
    ]
    assert_approved(lines, APPROVED / "expected.txt")


def test_ways_out_are_as_approved(crew: User, morning: datetime) -> None:
    busy_shop(crew, morning)
    lines = []
    for now in moments(morning):
        outlook = outlook_of(now)
        for number, expected in outlook.tickets.items():
            outcome = rescue(outlook, expected)
            lines.append(f"{clock(now)} {number} soonest {clock(outcome.soonest)} {outcome.held}")
            lines += [f"  {clock(way.at)} late {way.late} {way.says}" for way in outcome.ways]
    assert_approved(lines, APPROVED / "ways-out.txt")


def test_the_jam_is_as_approved(crew: User, morning: datetime) -> None:
    busy_shop(crew, morning)
    calendar, lines = read_calendar(), []
    for now in moments(morning):
        day = next_open_day(business_day(now), calendar)
        assert day is not None
        for load in station_loads(outlook_of(now), day):
            percent = "-" if load.percent is None else f"{load.percent:.1f}"
            crew_minutes = sum(load.pieces.values())
            lines.append(
                f"{clock(now)} {day} {load.station}: carried {load.carried:.2f} of "
                f"{load.tomorrow:.2f}, {percent} %, no place {load.no_place}, "
                f"jammed {load.jammed}, of {len(load.pieces)} pieces {crew_minutes:.2f}"
            )
    assert_approved(lines, APPROVED / "jam.txt")


def test_promises_and_what_a_rush_costs_are_as_approved(crew: User, morning: datetime) -> None:
    busy_shop(crew, morning)
    calendar, lines = read_calendar(), []
    for now in moments(morning):
        for only_rush in (False, True):
            backlog = queued_work(now, only_rush=only_rush)
            for word, routes in ROUTES.items():
                promise = earliest_ready(routes, now, calendar, backlog)
                lines.append(
                    f"{clock(now)} {word}{' as a rush' if only_rush else ''}: "
                    f"{clock(promise.ready_at)} {promise.hangs_on}: {promise.reason}"
                )
        lines += [
            f"{clock(now)} {word} first: late {made_late(outlook_of(now), routes)}"
            for word, routes in ROUTES.items()
        ]
    assert_approved(lines, APPROVED / "promises.txt")


def test_open_work_and_capacity_are_read_as_approved(crew: User, morning: datetime) -> None:
    busy_shop(crew, morning)
    capacity = shop_capacity(morning)
    lines = [f"{station} {people}" for station, people in sorted(capacity.people.items())]
    lines += [
        f"litres {station} {litres:.4f}" for station, litres in sorted(capacity.machines.items())
    ]
    for station, spells in sorted(capacity.spells.items()):
        lines += [
            f"{station} from {clock(spell.begins)} to {clock(spell.ends)} {spell.share:.3f}"
            for spell in spells
        ]
    lines += [
        f"{kind} free {[clock(at) for at in free]}"
        for kind, free in sorted(capacity.places.items())
    ]
    for piece in open_pieces(morning):
        load = f"in a load, bag {piece.load.bag}, {piece.load.running}" if piece.load else ""
        hold = f"held {piece.hold.reason} {piece.hold.ask_again_on}" if piece.hold else ""
        lines.append(
            f"{piece.spoken} {piece.state} at {piece.station}, promised "
            f"{clock(piece.promised_at)}, rush {piece.ticket.rush}, goes on "
            f"{clock(piece.goes_on)} {piece.away} {piece.under_way} {load}{hold}"
        )
        lines += [
            f"  {step.order} {step.name} {step.in_machine} {step.task}" for step in piece.steps
        ]
    assert_approved(lines, APPROVED / "open-work.txt")
