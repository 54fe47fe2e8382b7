"""What lies exactly at a limit of the owner's settings is allowed, and the next step is refused."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, time
from decimal import Decimal

import pytest
from django.contrib.auth.models import User

from counter.models import PriceItem, Shop, StaffProfile
from counter.shop import services as door
from counter.shop.queries import owners
from counter.shop.services import DayHours
from tests.building import make_user
from tests.counter.rows import rack, ticket_of
from tickets.choices import Station
from tickets.errors import Refused
from tickets.models import ClosedDay, RackPlace, StationCrew

pytestmark = pytest.mark.django_db
D = Decimal
OPENS, CLOSES = time(9), time(17)


def passes(call: Callable[[], object]) -> bool:
    try:
        call()
    except Refused:
        return False
    return True


@pytest.mark.parametrize(
    ("hours", "allowed"),
    [
        (DayHours(time(9), time(9, 1)), True),
        (DayHours(time(9), time(9)), False),
        (DayHours(OPENS, CLOSES, time(9, 1), time(16, 59)), True),
        (DayHours(OPENS, CLOSES, time(9), time(16, 59)), False),
        (DayHours(OPENS, CLOSES, time(9, 1), time(17)), False),
        (DayHours(OPENS, CLOSES, time(12), time(12)), False),
        (DayHours(OPENS, CLOSES, cut_off=OPENS), True),
        (DayHours(OPENS, CLOSES, cut_off=CLOSES), True),
    ],
)
def test_hours_at_their_limits(oz: User, hours: DayHours, allowed: bool) -> None:
    assert passes(lambda: door.set_hours({0: hours})) is allowed


@pytest.mark.parametrize(
    ("people", "minutes", "allowed"),
    [
        ("0.1", None, True),
        ("0.09", None, False),
        ("99", None, True),
        ("99.1", None, False),
        ("1", 1, True),
        ("1", 0, False),
        ("1", 1440, True),
        ("1", 1441, False),
    ],
)
def test_crews_at_their_limits(oz: User, people: str, minutes: int | None, allowed: bool) -> None:
    station = Station.PRESS
    assert passes(lambda: door.set_crews({station: D(people)}, {station: minutes})) is allowed
    crews = StationCrew.objects.filter(station=station).values_list("people", "minutes_a_day")
    assert [*crews] == ([(D(people), minutes)] if allowed else [])


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("ABCDEFGH", 1),
        ("RAIL-123", 1),
        ("X1..X200", 200),
        ("Y1..Y100 Z1..Z100", 200),
        ("Q5..Q5", 1),
        ("Q05..Q07", 3),
        ("B1 b1, B1", 1),
        ("B1 .. B3;C1", 4),
    ],
)
def test_places_at_their_limits(oz: User, text: str, count: int) -> None:
    assert len(door.add_places(text)) == count


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("ABCDEFGHI", "bad_place"),
        ("X1..X201", "too_many_places"),
        ("Y1..Y100 Z1..Z101", "too_many_places"),
        ("Q7..Q5", "no_place"),
        ("A--1", "bad_place"),
        ("A1-", "bad_place"),
    ],
)
def test_places_past_their_limits(oz: User, text: str, code: str) -> None:
    with pytest.raises(Refused) as no:
        door.add_places(text)
    assert no.value.code == code


def test_numbers_of_places_keep_their_width(oz: User) -> None:
    assert door.add_places("R08..R10") == ["R08", "R09", "R10"]
    assert door.add_places("S8..S10") == ["S8", "S9", "S10"]


def test_a_place_that_there_is_not_is_retired_by_nobody(oz: User) -> None:
    assert door.retire_place(9_999) is None


def test_a_closed_day_keeps_its_first_note_when_holidays_come(oz: User) -> None:
    feast, own, long = date(2026, 12, 25), date(2026, 12, 28), "x" * 90
    door.close_on(own, "  stocktaking ")
    assert door.close_on_all({feast: "Christmas", own: long, date(2026, 12, 26): long}, "GB") == 2
    notes = dict(ClosedDay.objects.values_list("day", "note"))
    assert notes == {feast: "Christmas", own: "stocktaking", date(2026, 12, 26): "x" * 80}
    assert Shop.current().holidays_of == "GB"
    door.close_on(own, "moving")
    assert ClosedDay.objects.get(day=own).note == "moving"
    door.open_again(ClosedDay.objects.get(day=own).pk)
    assert not ClosedDay.objects.filter(day=own).exists()


def test_a_price_that_is_the_same_is_no_change(oz: User) -> None:
    key = ("clean", "coat", "")
    assert door.save_prices({key: D("9.50")}) == 1
    assert door.save_prices({key: D("9.50")}) == 0
    assert door.save_prices({key: D("9.51"), ("press", "coat", ""): D(1)}) == 2
    assert door.save_prices({key: None}) == 1
    assert not PriceItem.objects.filter(kind="coat", service="clean").exists()


def test_a_name_is_parted_at_its_first_blank(oz: User) -> None:
    pat = make_user("counter", "pat")
    for typed, first, last in (
        ("  Pat   de la Reed ", "Pat", "de la Reed"),
        ("Pat", "Pat", ""),
        (f"{'p' * 151} {'r' * 151}", "p" * 150, "r" * 150),
    ):
        door.change_person(pat, full_name=typed, role="counter", active=True, by=oz)
        pat.refresh_from_db()
        assert (pat.first_name, pat.last_name) == (first, last)


def test_a_new_pin_unlocks_its_person(oz: User) -> None:
    pat = make_user("counter", "pat")
    StaffProfile.objects.filter(user=pat).update(failed_pins=4)
    door.change_person(pat, full_name="Pat", role="counter", active=True, by=oz)
    assert StaffProfile.objects.get(user=pat).failed_pins == 4
    door.change_person(pat, full_name="Pat", role="counter", active=True, pin="97531", by=oz)
    profile = StaffProfile.objects.get(user=pat)
    assert (profile.failed_pins, profile.locked_until) == (0, None)


def test_an_inactive_owner_does_not_count_as_one(oz: User) -> None:
    two = make_user("owner", "two")
    assert [owner.pk for owner in owners()] == [oz.pk, two.pk]
    door.change_person(two, full_name="Two", role="owner", active=False, by=oz)
    assert [owner.pk for owner in owners()] == [oz.pk]
    with pytest.raises(Refused) as no:
        door.change_person(oz, full_name="Oz", role="backroom", active=True, by=two)
    assert no.value.code == "last_owner"
    door.change_person(oz, full_name="Oz", role="owner", active=True, by=oz)


def test_a_place_in_use_names_the_first_five_pieces(oz: User) -> None:
    ticket = rack(ticket_of(oz, 6, stations=("check",)), oz)
    with pytest.raises(Refused) as no:
        door.retire_place(RackPlace.objects.get(code="A1").pk)
    named = ", ".join(f"{ticket.number}-{position:02d}" for position in range(1, 6))
    assert no.value.says == f"Place A1 still holds: {named}."
