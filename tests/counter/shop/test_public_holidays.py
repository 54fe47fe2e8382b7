"""Public holidays looked up, and taken over as closed days that the owner can change."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.test import Client

from counter.models import Shop
from counter.shop import holidays
from counter.shop import services as door
from tickets.errors import Refused
from tickets.models import ClosedDay
from tickets.shop.calendar import business_day


def easter(year: int) -> date:
    """Easter Sunday by the anonymous Gregorian computus (J. Meeus, "Astronomical Algorithms",
    1991, chapter 8; from memory), independent of the library under test."""
    a, b, c = year % 19, year // 100, year % 100
    d, e = divmod(b, 4)
    g = (8 * b + 13) // 25
    h = (19 * a + b - d - g + 15) % 30
    i, k = divmod(c, 4)
    leap = (32 + 2 * e + 2 * i - h - k) % 7
    m = (a + 11 * h + 22 * leap) // 451
    month, day = divmod(h + leap - 7 * m + 114, 31)
    return date(year, month, day + 1)


@pytest.mark.parametrize("year", range(2024, 2033))
@pytest.mark.parametrize(
    ("place", "after_easter"),
    [("GB-ENG", {-2, 1}), ("GB-SCT", {-2}), ("DE-BY", {-2, 1, 39, 50, 60}), ("FR", {1, 39, 50})],
)
def test_movable_feasts_move_with_easter(place: str, year: int, after_easter: set[int]) -> None:
    """Days after Easter Sunday by statute, from memory: Good Friday -2, Easter Monday 1 (not in
    Scotland), Ascension 39, Whit Monday 50, Corpus Christi 60 (in Bavaria)."""
    days = {day for day, _name in holidays.coming(place, date(year, 1, 1))}
    assert {easter(year) + timedelta(days=offset) for offset in after_easter} <= days
    assert ((easter(year) + timedelta(days=1)) in days) is (1 in after_easter)


def test_a_year_is_proposed_from_the_day_on_and_no_longer() -> None:
    proposed = holidays.coming("GB-ENG", date(2026, 11, 25))
    days = [day for day, _name in proposed]
    assert days == sorted(days)
    assert (days[0], days[-1]) == (date(2026, 12, 25), date(2027, 8, 30))
    # Boxing Day 2026 is a Saturday: Monday the 28th is given for it (gov.uk, from memory).
    assert (date(2026, 12, 28), "Boxing Day (observed)") in proposed


@pytest.mark.parametrize("place", ["", "XX", "GB-XYZ", "gb"])
def test_an_unknown_place_is_named(place: str) -> None:
    with pytest.raises(Refused) as no:
        holidays.coming(place, date(2026, 1, 1))
    assert (no.value.code, (place or "–") in no.value.says) == ("unknown_place", True)


def test_countries_stand_by_name_with_their_regions() -> None:
    known = holidays.countries()
    assert len(known) > 200
    assert known["GB"].name == "United Kingdom"
    assert dict(known["DE"].regions)["BY"] == "Bayern"
    names = [country.name for country in known.values()]
    assert names == sorted(names)


def test_ticked_days_become_closed_days_and_keep_the_owners_notes(office: Client) -> None:
    days = holidays.coming("GB-WLS", business_day())
    (first, _name), (second, second_name) = days[0], days[1]
    door.close_on(first, "Stock-taking")
    page = office.get("/shop/holidays/", {"country": "GB", "region": "WLS"}).content.decode()
    assert f'value="{second.isoformat()}" checked' in page
    assert f'value="{first.isoformat()}"' not in page  # it is closed already
    sent = {"country": "GB", "region": "WLS", "day": [first.isoformat(), second.isoformat()]}
    for _ in range(2):
        assert office.post("/shop/holidays/", sent).headers["Location"] == "/shop/hours/"
    notes = dict(ClosedDay.objects.values_list("day", "note"))
    assert notes == {first: "Stock-taking", second: second_name}
    assert Shop.current().holidays_of == "GB-WLS"
    page = office.get("/shop/holidays/").content.decode()
    assert '<option value="WLS" selected>' in page
    office.post("/shop/hours/", {"what": "open", "id": str(ClosedDay.objects.last().pk)})  # type: ignore[union-attr]
    assert ClosedDay.objects.count() == 1


def test_days_can_be_taken_over_while_one_is_not_on_the_list(office: Client) -> None:
    days = [day for day, _name in holidays.coming("GB-WLS", business_day())]
    asked, button = {"country": "GB", "region": "WLS"}, "Close on ticked days"
    for day in days[:-1]:
        door.close_on(day, "holiday")
    assert button in office.get("/shop/holidays/", asked).content.decode()
    door.close_on(days[-1], "holiday")
    assert button not in office.get("/shop/holidays/", asked).content.decode()


def test_the_shops_country_is_offered_first_and_a_strange_region_is_dropped(
    office: Client,
) -> None:
    Shop.objects.update(country="FR")
    assert '<option value="FR" selected>' in office.get("/shop/holidays/").content.decode()
    page = office.get("/shop/holidays/", {"country": "DE", "region": "WLS"}).content.decode()
    assert '<option value="DE" selected>' in page
    assert "German Unity Day" in page


@pytest.mark.parametrize(
    ("sent", "says"),
    [
        ({"country": "GB"}, "No day was ticked."),
        ({"country": "GB", "day": "2020-12-25"}, "No day was ticked."),
        ({"country": "XX", "day": "2020-12-25"}, "No public holidays are known for XX."),
    ],
)
def test_nothing_is_closed_by_a_form_that_says_nothing(
    office: Client, sent: dict[str, str], says: str
) -> None:
    answer = office.post("/shop/holidays/", sent)
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert not ClosedDay.objects.exists()
