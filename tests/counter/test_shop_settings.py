"""The owner's settings: what may be changed, and what is refused with value, place and cure."""

from __future__ import annotations

from datetime import date, time
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.test import Client

from counter import pins
from counter import shop_settings as door
from counter.models import PriceItem, Shop
from counter.prices import PriceList, quote
from counter.shop_settings import DayHours
from tests.building import make_shop, make_user
from tests.counter.rows import rack, ticket_of
from tickets.choices import Station
from tickets.errors import Refused
from tickets.loads.sums import Prices
from tickets.models import ClosedDay, OpeningHours, RackPlace, StationCrew

pytestmark = pytest.mark.django_db
D = Decimal
NINE_TO_FIVE = DayHours(time(9), time(17))


@pytest.fixture
def oz() -> User:
    make_shop()
    return make_user("owner", "oz")


@pytest.fixture
def office(client: Client, oz: User) -> Client:
    client.force_login(oz)
    return client


def refused(call: object, *args: object, **words: object) -> Refused:
    with pytest.raises(Refused) as caught:
        call(*args, **words)  # type: ignore[operator]
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
    found = dict(StationCrew.objects.values_list("station", "people"))
    assert (found["wash"], found["press"]) == (D("1.5"), D(2))


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
    found = {(row.service, row.kind): row.amount for row in PriceItem.objects.all()}
    assert found == {("clean", "tshirt"): D("2.75"), ("press", ""): D("3.00")}
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
    assert [one.username for one in door.owners()] == ["two"]


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


# The pages

PAGES = ["", "hours/", "places/", "partners/", "holidays/", "prices/", "staff/"]


@pytest.mark.parametrize("address", PAGES)
def test_each_page_is_for_the_owner_alone(client: Client, oz: User, address: str) -> None:
    address = f"/shop/{address}"
    assert client.get(address).status_code == 302
    for role in ("counter", "backroom"):
        client.force_login(make_user(role))
        assert client.get(address).status_code == 403
        assert client.post(address).status_code == 403
    client.force_login(oz)
    assert client.get(address).status_code == 200
    assert client.put(address).status_code == 405


SHOP = {
    "name": "Linden Counter",
    "address": "1 Sample Row",
    "phone": "01632 960001",
    "country": "GB",
    "currency": "GBP",
    "currency_sign": "£",
    "tag_size": "roll-29",
    "tag_dpi": "300",
    "slip_paper": "roll-80",
    "slip_footer": "",
    "dry_cleaning": ["F"],
    "rush_percent": "40",
    "minimum_charge": "3.50",
    "water_price": "3.40",
    "power_price": "0.2750",
    "gas_price": "",
}


def test_the_shop_page_saves_and_saves_again(office: Client) -> None:
    for _ in range(2):
        assert office.post("/shop/", SHOP).status_code == 302
    shop = Shop.current()
    assert (shop.name, shop.tag_size, shop.tag_dpi, shop.slip_paper) == (
        "Linden Counter",
        "roll-29",
        300,
        "roll-80",
    )
    assert shop.abilities == {
        "wet_cleaning": False,
        "dry_cleaning": ["F"],
        "send_out": ["dry_clean", "wet_clean", "leather"],
    }
    assert (shop.rush_percent, shop.minimum_charge) == (40, D("3.50"))
    assert shop.running_costs == Prices(D("3.40"), D("0.2750"))


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"name": ""}, "This field is required."),
        ({"country": "gb"}, "Use the two-letter country code."),
        ({"currency": "pound"}, "at most 3 characters"),
        ({"tag_size": "huge"}, "Select a valid choice. huge"),
        ({"rush_percent": "-5"}, "greater than or equal to 0"),
        ({"power_price": "-0.1"}, "greater than or equal to 0"),
    ],
)
def test_a_wrong_setting_is_named_and_nothing_is_saved(
    office: Client, changes: dict[str, object], says: str
) -> None:
    answer = office.post("/shop/", {**SHOP, **changes})
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert Shop.current().name == "Test Counter"


def week(**changes: str) -> dict[str, str]:
    form = {"what": "hours"}
    for day in range(7):
        form |= {f"open-{day}": "on", f"opens-{day}": "09:00", f"closes-{day}": "17:00"}
    return {**form, **changes}


def test_the_hours_page_saves_hours_crews_and_closed_days(office: Client) -> None:
    assert office.post("/shop/hours/", week()).status_code == 302
    assert {row.opens for row in OpeningHours.objects.all()} == {time(9)}
    clocks = {"break_from-4": "12:30", "break_until-4": "13:00", "cut_off-4": "15:00"}
    assert office.post("/shop/hours/", week(**clocks)).status_code == 302
    friday = OpeningHours.objects.get(weekday=4)
    assert (friday.break_from, friday.break_until, friday.cut_off) == (
        time(12, 30),
        time(13),
        time(15),
    )
    assert 'name="cut_off-4" value="15:00"' in office.get("/shop/hours/").content.decode()
    crews = {f"crew-{one}": "1" for one in Station.values}
    office.post("/shop/hours/", {**crews, "what": "crews", "crew-wash": "2,5"})
    assert StationCrew.objects.get(station="wash").people == D("2.5")
    for note in ("Holiday", "Stock-taking"):
        office.post("/shop/hours/", {"what": "close", "day": "2999-01-01", "note": note})
    closed = ClosedDay.objects.get()
    assert (closed.day, closed.note) == (date(2999, 1, 1), "Stock-taking")
    assert "Stock-taking" in office.get("/shop/hours/").content.decode()
    for _ in range(2):
        answer = office.post("/shop/hours/", {"what": "open", "id": str(closed.pk)})
        assert answer.status_code == 302
    assert not ClosedDay.objects.exists()


@pytest.mark.parametrize(
    ("form", "says"),
    [
        (week(**{"opens-2": "9h"}), "Wednesday: 9h is not a time."),
        (week(**{"opens-2": "25:00"}), "Wednesday: 25:00 is not a time."),
        (week(**{"closes-2": ""}), "Wednesday: – is not a time."),
        (week(**{"closes-2": "08:00"}), "Wednesday: it closes at 08:00"),
        (week(**{"break_from-2": "12:00"}), "Wednesday: a break from 12:00 until –"),
        (week(**{"cut_off-2": "18:00"}), "Wednesday: 18:00 is not between 09:00 and 17:00."),
        ({"what": "hours"}, "The shop would have no open day."),
        ({"what": "crews", "crew-intake": "two"}, "Intake: two is not a number."),
        ({"what": "close", "day": "soon"}, "Enter a valid date."),
        ({"what": "dance"}, "The form was not complete."),
    ],
)
def test_a_wrong_hour_or_crew_is_named(office: Client, form: dict[str, str], says: str) -> None:
    answer = office.post("/shop/hours/", form)
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert OpeningHours.objects.get(weekday=2).opens == time(8)


def test_the_places_page_adds_and_retires(office: Client) -> None:
    office.post("/shop/places/", {"places": "B1..B3"})
    assert list(RackPlace.objects.values_list("code", flat=True)) == ["A1", "A2", "B1", "B2", "B3"]
    for _ in range(2):
        pk = RackPlace.objects.get(code="B2").pk
        assert office.post("/shop/places/", {"retire": str(pk)}).status_code == 302
    assert RackPlace.objects.get(code="B2").in_use is False
    answer = office.post("/shop/places/", {"places": "B 4!"})
    assert answer.status_code == 422
    assert "4! can&#x27;t be a place." in answer.content.decode()


def test_the_price_page_lists_every_kind_and_operation(office: Client) -> None:
    html = office.get("/shop/prices/").content.decode()
    assert 'name="price-clean--" value="6.00"' in html
    assert 'name="price-clean-shirt_cotton-" value="" placeholder="6.00"' in html
    assert 'name="price-alter--trouser_hem_plain" value=""' in html


def test_the_price_page_saves_what_is_typed(office: Client) -> None:
    form = {
        "price-clean--": "6",
        "price-clean-tshirt-": "2,50",
        "price-alter--trouser_hem_plain": "£11.00",
    }
    for _ in range(2):
        assert office.post("/shop/prices/", form).status_code == 302
    known = PriceList.load()
    assert known.of_service("clean", "tshirt") == D("2.50")
    assert known.of_service("clean", "jeans") == D("6.00")
    hem = {"kind": "other", "services": ["alter"], "work": ["trouser_hem_plain"]}
    assert quote([hem], shop=Shop.current()).total == D("11.00")


def test_a_price_that_is_none_is_named_and_nothing_is_saved(office: Client) -> None:
    form = {"price-clean--": "7", "price-clean-tshirt-": "4O"}
    answer = office.post("/shop/prices/", form)
    html = answer.content.decode()
    assert answer.status_code == 422
    assert "T-shirt, Clean: 4O is not an amount. Write it like 12.50." in html
    assert 'value="4O"' in html
    assert PriceItem.objects.get(service="clean", kind="").amount == D("6.00")


def test_an_operation_listed_under_mend_keeps_its_place(office: Client) -> None:
    PriceItem.objects.create(service="mend", work="seam_restitch", amount=D("4.00"))
    html = office.get("/shop/prices/").content.decode()
    assert 'name="price-mend--seam_restitch" value="4.00"' in html
    assert "price-alter--seam_restitch" not in html


PAT = {
    "full_name": "Pat Reed",
    "username": "pat",
    "role": "backroom",
    "pin": "9753",
    "password": "",
}


def test_a_person_is_added_with_a_pin_and_only_once(office: Client) -> None:
    assert office.post("/shop/staff/", PAT).status_code == 302
    again = office.post("/shop/staff/", {**PAT, "username": "Pat"})
    assert again.status_code == 422
    assert "The sign-in name Pat is taken." in again.content.decode()
    pat = User.objects.get(username="pat")
    assert (pat.has_usable_password(), pat.get_full_name()) == (False, "Pat Reed")
    pins.check(pat, "9753")


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"pin": ""}, "would have no way to sign in"),
        ({"pin": "12x4"}, "A PIN has four to eight digits."),
        ({"password": "short"}, "That password is too weak."),
        ({"username": "a b"}, "Enter a valid username."),
        ({"role": "king"}, "king is not one of the available choices"),
    ],
)
def test_a_person_that_can_not_be_added_is_not(
    office: Client, changes: dict[str, str], says: str
) -> None:
    answer = office.post("/shop/staff/", {**PAT, **changes})
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert not User.objects.filter(username="pat").exists()


def test_a_person_is_changed_and_shut_out(office: Client, client: Client) -> None:
    pat = make_user("counter", "pat")
    other = Client()
    other.force_login(pat)
    assert other.get("/pickup/").status_code == 200
    form = {"full_name": "Pat Reed", "role": "backroom", "pin": "", "password": ""}
    assert office.post(f"/shop/staff/{pat.pk}/", form).status_code == 302
    pat.refresh_from_db()
    assert (pat.is_active, pat.get_full_name()) == (False, "Pat Reed")
    assert other.get("/pickup/").headers["Location"].startswith("/login/")


def test_an_owner_may_change_the_own_password_and_stays_signed_in(office: Client, oz: User) -> None:
    form = {
        "full_name": "Oz",
        "role": "owner",
        "active": "on",
        "pin": "",
        "password": "a-long-pass-phrase",
    }
    assert office.post(f"/shop/staff/{oz.pk}/", form).status_code == 302
    assert office.get("/shop/").status_code == 200


def test_a_person_page_is_for_the_owner_and_known_people(client: Client, oz: User) -> None:
    client.force_login(make_user("counter", "pat"))
    assert client.get(f"/shop/staff/{oz.pk}/").status_code == 403
    client.force_login(oz)
    assert client.get(f"/shop/staff/{oz.pk}/").status_code == 200
    assert client.get("/shop/staff/999999/").status_code == 404
    assert client.delete(f"/shop/staff/{oz.pk}/").status_code == 405
