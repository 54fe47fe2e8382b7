"""The plan of the day and the other pages say the same of the same pieces."""

from __future__ import annotations

from collections import defaultdict
from datetime import datetime

import pytest
from django.contrib.auth.models import User

from tests import building
from tests.building import outlook_of
from tests.counter.rows import ticket_of
from tests.tickets.plan.test_dayplan_shop import bench, full_shop, hours
from tickets.choices import WORK_STATIONS, Station
from tickets.loads.planned_pieces import due_minute
from tickets.loads.queries import waiting_here
from tickets.models import Piece, Programme, RouteStep
from tickets.plan.shop_day import _Floor, day_plan
from tickets.plan.values import (
    NO_PLACE,
    NO_TIME,
    NOBODY,
)
from tickets.promise.jam import next_open_day, station_loads
from tickets.shop.calendar import business_day
from tickets.shop.queries import read_calendar


def test_the_load_page_and_the_plan_say_alike_by_when_a_piece_must_be_out(
    oz: User, morning: datetime
) -> None:
    """Before and after the wash, with steps by hand behind a run at its own station too."""
    full_shop(oz, 9)
    for piece in Piece.objects.filter(kind="shirt_cotton"):
        building.work_until(piece, Station.WASH, oz)
    for piece in Piece.objects.filter(kind="shirt_cotton")[:2]:
        building.work_until(piece, Station.DRY, oz)
    calendar = read_calendar()
    begins = calendar.next_open(morning)
    jobs = {job.code: job for job in _Floor(building.work_of(begins), begins, begins).jobs()}
    by_plan, by_loads = {}, {}
    for station in (Station.WASH, Station.DRY):
        for piece in waiting_here(station):
            [run, *_rest] = [part for part in jobs[piece.code].parts if part.run is not None]
            assert run.station == station
            by_plan[piece.code] = run.out_by // 60
            by_loads[piece.code] = due_minute(piece, begins, calendar)
    assert len(by_loads) >= 3
    assert by_loads == by_plan


def test_the_jam_names_the_stations_at_which_the_plan_of_that_day_leaves_work(
    oz: User, morning: datetime
) -> None:
    """Asked at night: twelve hours of bench work, three long runs of one washer, nine jumpers for
    two shelves, and three hours of press work that a partner brings back too late for the day."""
    building.make_machine("Washer 1", "washer", 40)
    building.make_machine("Shelves", "flat", 0, most_pieces=2)
    Programme.objects.update(minutes=200)
    for _ in range(12):
        bench(oz, morning, 60)
    to_wash = [building.shirt(services=["clean"], stains=[])] * 45
    for piece in building.make_ticket(oz, to_wash).pieces.all():
        building.work_until(piece, Station.WASH, oz)
    for piece in building.make_ticket(oz, [building.jumper()] * 9).pieces.all():
        building.work_until(piece, Station.DRY, oz)
    sent = ticket_of(oz, 3, stations=("check", "press"), minutes=200, opened=morning - hours(15))
    RouteStep.objects.filter(piece__ticket=sent, station="check").update(
        station=Station.SEND_OUT, step="send_out", settings={"to": "dry_clean"}, minutes=2
    )
    Piece.objects.filter(ticket=sent).update(station=Station.SEND_OUT)
    night = morning - hours(10)
    plan = day_plan(night)
    calendar = read_calendar()
    day = next_open_day(business_day(night), calendar)
    assert day == plan.day
    jammed = {load.station for load in station_loads(outlook_of(night), day) if load.jammed}
    left = {
        left.station
        for left in plan.played.left
        if left.reason in (NO_TIME, NO_PLACE, NOBODY) and left.station in WORK_STATIONS
    }
    assert jammed == left == {Station.BENCH, Station.WASH, Station.DRY}


def test_late_in_the_day_the_jam_carries_what_the_plan_leaves_over(
    oz: User, morning: datetime
) -> None:
    """Ten past five: no drum would be out by six. So what waits to be washed is left over at every
    station to come, though the crew of each has more minutes until closing than all that waits."""
    building.make_machine("Washer 1")
    building.make_machine("Dryer 1", "dryer", 160)
    for _ in range(6):
        building.make_ticket(oz, [building.shirt(stains=[])])
    for piece in Piece.objects.all()[:3]:
        building.work_until(piece, Station.WASH, oz)
    bench(oz, morning, 30, minutes=50)
    afternoon = morning + hours(9) + hours(1 / 6)
    outlook = outlook_of(afternoon)
    tomorrow = next_open_day(business_day(afternoon), outlook.calendar)
    assert tomorrow is not None
    loads = station_loads(outlook, tomorrow)
    steps = RouteStep.objects.values_list("piece__code", "order", "minutes")
    minutes = {(code, order): float(crew_minutes) for code, order, crew_minutes in steps}
    left: dict[str, float] = defaultdict(float)
    for part in day_plan(afternoon).played.left:
        if part.station in WORK_STATIONS:
            left[part.station] += sum(minutes[part.code, order] for order in part.orders)
    assert all(load.queued <= 50 for load in loads)
    carried = {load.station: load.carried for load in loads if load.carried}
    assert carried == {station: pytest.approx(work) for station, work in left.items()}
    assert carried.keys() == {Station.WASH, Station.DRY, Station.PRESS, Station.CHECK}


def test_pieces_of_a_ticket_that_come_at_one_moment_differ_in_weight_alone(
    oz: User, morning: datetime
) -> None:
    building.make_machine("Washer 1", "washer", 160)
    pieces = building.make_ticket(oz, [building.shirt(stains=[])] * 3).pieces.all()
    for grams, piece in zip((300, 200, 250), pieces, strict=True):
        Piece.objects.filter(pk=piece.pk).update(weight_g=grams)
        building.work_until(piece, Station.WASH, oz)
    outlook = outlook_of(morning)
    tomorrow = next_open_day(business_day(morning), outlook.calendar)
    assert tomorrow is not None
    [wash] = [load for load in station_loads(outlook, tomorrow) if load.station == Station.WASH]
    assert set(wash.pieces) == {piece.pk for piece in pieces}
