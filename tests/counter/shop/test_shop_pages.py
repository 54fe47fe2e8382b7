"""The pages of the owner's settings: what they save, name, refuse, and to whom they open."""

from __future__ import annotations

import re
from datetime import date, time
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.test import Client

from counter.models import PriceItem, Shop
from counter.money.prices import quote
from counter.money.queries import PriceList
from counter.staff.services import pins
from tests.building import make_user
from tests.markup import flat
from tickets.choices import Station
from tickets.models import ClosedDay, OpeningHours, RackPlace, StationCrew
from tickets.shop.face import Prices

pytestmark = pytest.mark.django_db
D = Decimal


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


def test_each_page_says_in_heading_and_title_what_it_is(client: Client, oz: User) -> None:
    client.force_login(oz)
    headings = []
    for address in [*PAGES, "machines/", "weights/", "house-rules/", f"staff/{oz.pk}/"]:
        html = flat(client.get(f"/shop/{address}").content.decode())
        heading = re.findall(r"<h1[^>]*>(.*?)</h1>", html)
        headings += heading
        assert re.findall(r"<title>(.*?) · ", html) == heading, address
    assert len(set(headings)) == len(PAGES) + 4
    assert headings[:2] == ["Shop settings", "Hours and crews"]


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
    form = {"what": "week", **{f"crew-{station}": "1" for station in Station.values}}
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
    assert 'name="cut_off-4" value="15:00"' in flat(office.get("/shop/hours/").content.decode())
    office.post("/shop/hours/", week(**{"crew-wash": "2,5"}))
    assert StationCrew.objects.get(station="wash").people == D("2.5")
    for note in ("Holiday", "Stock-taking"):
        office.post("/shop/hours/", {"what": "close", "day": "2999-01-01", "note": note})
    closed = ClosedDay.objects.get()
    assert (closed.day, closed.note) == (date(2999, 1, 1), "Stock-taking")
    assert "Stock-taking" in flat(office.get("/shop/hours/").content.decode())
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
        (
            {name: value for name, value in week().items() if not name.startswith("open-")},
            "The shop would have no open day.",
        ),
        (week(**{"crew-intake": "two"}), "Intake: two is not a number."),
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
    html = flat(office.get("/shop/prices/").content.decode())
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
    assert 'name="price-mend--seam_restitch" value="4.00"' in flat(html)
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
