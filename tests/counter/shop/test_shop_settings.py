"""The owner's settings: what may be changed, and what is refused with value, place and cure."""

from __future__ import annotations

from collections.abc import Callable
from datetime import time
from decimal import Decimal

import pytest
from django.contrib.auth.models import User

from counter.models import PriceItem
from counter.shop import queries
from counter.shop import services as door
from counter.shop.services import DayHours
from counter.staff.services import pins
from tests.building import make_user
from tests.counter.rows import rack, ticket_of
from tickets.choices import Station
from tickets.errors import Refused
from tickets.models import OpeningHours, RackPlace, StationCrew

pytestmark = pytest.mark.django_db
D = Decimal
NINE_TO_FIVE = DayHours(time(9), time(17))


def refused(call: Callable[..., object], *args: object, **words: object) -> Refused:
    with pytest.raises(Refused) as caught:
        call(*args, **words)
    assert caught.value.says
    assert caught.value.cure
    return caught.value


# Hours and crews


def test_hours_are_set_and_a_day_without_them_is_closed(oz: User) -> None:
    week = dict.fromkeys(range(7), NINE_TO_FIVE) | {6: None}
    door.set_hours(week)
    assert {row.weekday: (row.opens, row.closes) for row in OpeningHours.objects.all()} == {
        day: (time(9), time(17)) for day in range(6)
    }


def test_a_day_that_closes_before_it_opens_saves_nothing(oz: User) -> None:
    week = {0: NINE_TO_FIVE, 1: DayHours(time(17), time(9))}
    fault = refused(door.set_hours, week)
    assert (fault.code, fault.says) == (
        "closes_before_opening",
        "Tuesday: it closes at 09:00, not after it opens at 17:00.",
    )
    assert OpeningHours.objects.get(weekday=0).opens == time(8)


@pytest.mark.parametrize(
    ("day", "code"),
    [
        (DayHours(time(9), time(17), time(12)), "bad_break"),
        (DayHours(time(9), time(17), None, time(13)), "bad_break"),
        (DayHours(time(9), time(17), time(13), time(12)), "bad_break"),
        (DayHours(time(9), time(17), time(9), time(10)), "bad_break"),
        (DayHours(time(9), time(17), time(16), time(17)), "bad_break"),
        (DayHours(time(9), time(17), cut_off=time(17, 1)), "bad_cut_off"),
        (DayHours(time(9), time(17), cut_off=time(8, 59)), "bad_cut_off"),
    ],
)
def test_a_break_or_cut_off_outside_the_day_saves_nothing(
    oz: User, day: DayHours, code: str
) -> None:
    fault = refused(door.set_hours, {2: day})
    assert (fault.code, "Wednesday" in fault.says) == (code, True)
    row = OpeningHours.objects.get(weekday=2)
    assert (row.opens, row.break_from, row.cut_off) == (time(8), None, None)


def test_a_break_and_a_cut_off_are_set_and_taken_off(oz: User) -> None:
    door.set_hours({2: DayHours(time(9), time(17), time(12), time(13), time(15))})
    row = OpeningHours.objects.get(weekday=2)
    assert (row.break_from, row.break_until, row.cut_off) == (time(12), time(13), time(15))
    door.set_hours({2: NINE_TO_FIVE})
    row.refresh_from_db()
    assert (row.break_from, row.break_until, row.cut_off) == (None, None, None)


def test_a_shop_that_never_opens_is_refused(oz: User) -> None:
    assert refused(door.set_hours, dict.fromkeys(range(7))).code == "never_open"


def test_crews_are_set(oz: User) -> None:
    door.set_crews({Station.WASH: D("1.5"), Station.PRESS: D(2)})
    crews = dict(StationCrew.objects.values_list("station", "people"))
    assert (crews["wash"], crews["press"]) == (D("1.5"), D(2))


@pytest.mark.parametrize("count", ["0", "-1", "100", "NaN"])
def test_a_crew_that_is_none_is_refused(oz: User, count: str) -> None:
    assert refused(door.set_crews, {Station.WASH: D(count)}).code == "bad_crew"
    assert not StationCrew.objects.filter(station=Station.WASH).exists()


# Rack places


def test_places_are_added_singly_and_as_a_row(oz: User) -> None:
    assert door.add_places("b1, RAIL-2  c08..c11") == [
        "B1",
        "RAIL-2",
        "C08",
        "C09",
        "C10",
        "C11",
    ]
    assert door.add_places("B1 A1") == []


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "no_place"),
        ("A_1", "bad_place"),
        ("A1 A1234567X", "bad_place"),
        ("-A", "bad_place"),
        ("A1..A999", "too_many_places"),
        ("Ä1", "bad_place"),
    ],
)
def test_what_can_not_be_a_place_adds_none(oz: User, text: str, code: str) -> None:
    before = RackPlace.objects.count()
    assert refused(door.add_places, text).code == code
    assert RackPlace.objects.count() == before


def test_a_place_is_retired_and_used_again(oz: User) -> None:
    place = RackPlace.objects.get(code="A2")
    door.retire_place(place.pk)
    place.refresh_from_db()
    assert place.in_use is False
    assert door.add_places("A2") == ["A2"]


def test_a_place_with_pieces_is_not_retired(oz: User) -> None:
    ticket = rack(ticket_of(oz), oz)
    fault = refused(door.retire_place, RackPlace.objects.get(code="A1").pk)
    assert (fault.code, f"{ticket.number}-01" in fault.says) == ("place_in_use", True)


# Prices


def test_prices_are_set_changed_and_taken_off(oz: User) -> None:
    door.save_prices({("clean", "tshirt", ""): D("2.50")})
    changed = door.save_prices(
        {("clean", "tshirt", ""): D("2.75"), ("clean", "", ""): None, ("press", "", ""): D(3)}
    )
    assert changed == 3
    prices = {(row.service, row.kind): row.amount for row in PriceItem.objects.all()}
    assert prices == {("clean", "tshirt"): D("2.75"), ("press", ""): D("3.00")}
    assert door.save_prices({("press", "", ""): D(3), ("press", "tshirt", ""): None}) == 0


def test_a_new_price_does_not_change_a_ticket(oz: User) -> None:
    ticket = ticket_of(oz, price="6.00")
    door.save_prices({("clean", "", ""): D("99.00")})
    assert [line.amount for line in ticket.lines.all()] == [D("6.00")]


# People


def change(person: User, by: User, **words: object) -> User:
    usual = {"full_name": "Pat Reed", "role": "counter", "active": True}
    return door.change_person(person, by=by, **{**usual, **words})  # type: ignore[arg-type]


def test_name_role_password_and_pin_are_changed(oz: User) -> None:
    pat = make_user("backroom", "pat")
    change(pat, oz, password="a-long-pass-phrase", pin="97531")
    pat = User.objects.get(pk=pat.pk)
    assert (pat.get_full_name(), pat.check_password("a-long-pass-phrase")) == ("Pat Reed", True)
    assert [group.name for group in pat.groups.all()] == ["counter"]
    pins.check(pat, "97531")


def test_empty_password_and_pin_stay_as_they_are(oz: User) -> None:
    pat = make_user("counter", "pat")
    change(pat, oz)
    pat = User.objects.get(pk=pat.pk)
    assert pat.check_password("pw")
    pins.check(pat, "2468")


def test_the_last_owner_stays_owner_and_active(oz: User) -> None:
    assert refused(change, oz, oz, role="counter").code == "last_owner"
    assert refused(change, oz, make_user("counter", "pat"), role="owner", active=False).code == (
        "last_owner"
    )
    make_user("owner", "two")
    assert refused(change, oz, oz, role="owner", active=False).code == "yourself"
    change(oz, oz, role="counter")
    assert [owner.username for owner in queries.owners()] == ["two"]


@pytest.mark.parametrize(
    ("words", "code"),
    [
        ({"role": "king"}, "bad_role"),
        ({"pin": "12"}, "bad_pin"),
        ({"pin": "12a4"}, "bad_pin"),
        ({"password": "12345"}, "weak_password"),
    ],
)
def test_what_is_too_weak_changes_nothing(oz: User, words: dict[str, str], code: str) -> None:
    pat = make_user("backroom", "pat")
    assert refused(change, pat, oz, full_name="New Name", **words).code == code
    pat = User.objects.get(pk=pat.pk)
    assert pat.get_full_name() == "Test Backroom"
    pins.check(pat, "2468")
