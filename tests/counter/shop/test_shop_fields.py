"""Hours and days are typed in the shop's own fields, and what is ticked is a tap."""

from __future__ import annotations

import re
from datetime import date, time

import pytest
from django.test import Client

from counter.shop.forms.clocks import read_clock
from tickets.models import ClosedDay
from tickets.shop.calendar import business_day


@pytest.mark.parametrize(
    ("typed", "hour"),
    [
        ("08:30", time(8, 30)),
        ("8.30", time(8, 30)),
        ("830", time(8, 30)),
        ("8", time(8)),
        ("12", time(12)),
        ("1205", time(12, 5)),
        ("25:00", None),
        ("8:61", None),
        ("noon", None),
        ("", None),
    ],
)
def test_an_hour_is_read_as_people_write_it(typed: str, hour: time | None) -> None:
    assert read_clock(typed) == hour


def test_a_day_chosen_from_the_three_lists_is_closed(office: Client) -> None:
    year = business_day().year + 1
    answer = office.post(
        "/shop/hours/",
        {"what": "close", "day_day": "24", "day_month": "12", "day_year": year, "note": "Eve"},
    )
    assert answer.status_code == 302
    assert ClosedDay.objects.get(note="Eve").day == date(year, 12, 24)


@pytest.mark.parametrize("path", ["/shop/hours/", "/shop/", "/shop/partners/", "/plan/crew/"])
def test_no_field_looks_as_the_browser_likes(office: Client, path: str) -> None:
    html = office.get(path).content.decode()
    assert not re.findall(r'type="(?:time|date)"', html)
    ticks = re.findall(r"<label[^>]*>\s*<input[^>]*type=\"checkbox\"", html)
    assert html.count('type="checkbox"') == len(ticks)
    assert all('class="tap"' in tick for tick in ticks)
