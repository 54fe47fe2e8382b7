"""Work that waits where pieces are, against the hours the crew has left: counted by hand."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.contrib.auth.models import User

from counter.owner.now import now_figures
from counter.owner.wording.findings import carried_found, short_time, waiting_found
from tests.building import known
from tests.counter.rows import DAY, act, at, piece_at, ticket_of, work
from tickets.choices import Station
from tickets.models import OpeningHours, StationCrew
from tickets.promise.jam import StationLoad
from tickets.tracking import services as tracking

pytestmark = pytest.mark.django_db


def minutes_at(moment: float) -> dict[str, tuple[float, float, float]]:
    works = known(now_figures(at(moment)).work).stations
    return {
        work.station.value: (work.waiting, work.held, work.left)
        for work in works
        if work.waiting or work.held
    }


def test_a_piece_waits_with_the_steps_it_needs_where_it_is(oz: User) -> None:
    """Two steps at the press; the check behind them waits for nobody yet."""
    ticket_of(oz, 2, stations=("press", "press", "check"), minutes=20, opened=at(9))
    assert minutes_at(16) == {"press": (80, 0, 120)}


def test_a_held_piece_is_counted_apart_and_a_crew_of_two_has_twice_the_minutes(oz: User) -> None:
    StationCrew.objects.create(station=Station.PRESS, people=2)
    ticket = ticket_of(oz, 2, stations=("press",), minutes=20, opened=at(9))
    tracking.hold(piece_at(ticket, 1).code, "ask", oz, DAY, act(oz, at(9)))
    assert minutes_at(16) == {"press": (20, 20, 240)}


def test_a_piece_that_goes_on_takes_its_work_along(oz: User) -> None:
    ticket = ticket_of(oz, stations=("press", "check"), minutes=20, opened=at(9))
    work(piece_at(ticket, 1), oz, until="check", at=at(10))
    assert minutes_at(16) == {"check": (20, 0, 120)}


def test_after_closing_the_next_open_day_is_meant(oz: User) -> None:
    ticket_of(oz, stations=("press",), minutes=20, opened=at(9))
    figures = known(now_figures(at(18.5)).work)
    assert figures.against == DAY + timedelta(days=1)
    assert {work.left for work in figures.stations} == {600}


def test_the_fullest_station_is_the_finding(oz: User) -> None:
    ticket_of(oz, 2, stations=("press",), minutes=80, opened=at(9))
    ticket_of(oz, stations=("bench",), minutes=130, opened=at(9))
    fullest = known(known(now_figures(at(16)).work).fullest)
    assert (fullest.station, fullest.over) == (Station.PRESS, 40)
    assert waiting_found(fullest.station, fullest.over) == "Press has 40 min more than it can do"
    assert known(now_figures(at(9)).work).fullest is None
    assert waiting_found(None) == "Each station can do what waits"


def test_a_shop_that_never_opens_has_no_work_against_hours(oz: User) -> None:
    OpeningHours.objects.all().delete()
    ticket_of(oz, opened=at(9))
    assert now_figures(at(10)).work is None


def test_the_next_day_says_its_fullest_station_in_plain_words() -> None:
    press = StationLoad(Station.PRESS, 900, 630, 600)
    busy = StationLoad(Station.WASH, 900, 560, 600)
    rails = StationLoad(Station.DRY, 90, 10, 600, no_place=True)
    day = DAY + timedelta(days=1)
    assert carried_found([], day) == "Wednesday can do what today leaves over"
    assert carried_found([busy, press], day) == "Press: 30 min more than Wednesday can do"
    assert carried_found([busy], day) == "Wash: Wednesday is 93 % full"
    assert carried_found([rails], day) == "Dry: no drying place free by Wednesday evening"


@pytest.mark.parametrize(
    ("minutes", "says"),
    [(0, "0 min"), (42.4, "42 min"), (180, "3 h"), (162, "2 h 42"), (65, "1 h 05")],
)
def test_minutes_of_work_are_short(minutes: float, says: str) -> None:
    assert short_time(minutes) == says
