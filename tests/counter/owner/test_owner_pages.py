"""The owner's pages: every figure links to its list, for the owner alone, at a fixed price."""

from __future__ import annotations

import re
from datetime import date, timedelta

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from tests.building import make_user
from tests.counter.rows import act, piece_at, rack, ticket_of, work
from tickets.choices import Station
from tickets.shop.calendar import business_day
from tickets.tracking import services as tracking

pytestmark = pytest.mark.django_db


def fill(oz: User, pieces: int) -> None:
    """Some pieces in every list."""
    now = timezone.now()
    for _ in range(pieces):
        late = ticket_of(oz, opened=now - timedelta(days=2), promised=now - timedelta(hours=1))
        work(piece_at(late, 1), oz, until="check")
        tracking.send_back(piece_at(late, 1).code, Station.WASH, "spot", act(oz))
        held = ticket_of(oz, opened=now, promised=now + timedelta(minutes=1))
        tracking.hold(piece_at(held, 1).code, "ask", oz, business_day(), act(oz))
        ticket_of(oz, opened=now, promised=now + timedelta(minutes=1))
        rack(ticket_of(oz, opened=now - timedelta(hours=3)), oz)


def test_every_figure_on_the_page_leads_to_a_list(office: Client, oz: User) -> None:
    fill(oz, 1)
    html = office.get("/owner/").content.decode()
    links = sorted(set(re.findall(r'href="(/owner/figures/[^"]+)"', html)))
    assert len(links) > 40
    assert html.count('href="/owner/figures/finished/?day=') == 1 + 14  # each day of the chart
    assert html.count('href="/owner/figures/redo/?day=') == 1 + 1  # the station sent back to
    for link in links:
        assert office.get(link).status_code == 200, link


@pytest.mark.parametrize("pieces", [1, 25])
def test_the_page_costs_the_same_for_4_and_100_pieces(
    office: Client, oz: User, pieces: int, django_assert_num_queries: object
) -> None:
    fill(oz, pieces)
    with django_assert_num_queries(QUERIES):  # type: ignore[operator]
        office.get("/owner/")


QUERIES = 34


@pytest.mark.parametrize("figure", ["late", "in-process", "holds", "redo", "due", "unclaimed-0-7"])
def test_a_list_costs_the_same_for_any_number_of_rows(
    office: Client, oz: User, figure: str, django_assert_max_num_queries: object
) -> None:
    fill(oz, 12)
    with django_assert_max_num_queries(16):  # type: ignore[operator]
        assert office.get(f"/owner/figures/{figure}/").status_code == 200


def test_a_long_list_is_shown_in_pages(office: Client, oz: User) -> None:
    ticket_of(oz, 99)
    ticket_of(oz, 2)
    first = office.get("/owner/figures/in-process/").content.decode()
    second = office.get("/owner/figures/in-process/?page=2").content.decode()
    assert (first.count("<tr>"), second.count("<tr>")) == (101, 2)
    assert "Page 2 of 2" in second


def test_another_day_is_shown_by_its_date(office: Client) -> None:
    answer = office.get("/owner/", {"day": "2026-03-10"})
    assert "Tuesday 10 March 2026" in answer.content.decode()


@pytest.mark.parametrize(
    ("day", "says"),
    [
        ("soon", "soon is not a day. Write it like"),
        ("2026-13-01", "2026-13-01 is not a day."),
        ("2999-01-01", "There are no figures of 1 Jan 2999."),
        ("0001-01-01", "There are no figures of"),
    ],
)
def test_a_day_that_can_not_be_shown_is_named(office: Client, day: str, says: str) -> None:
    answer = office.get("/owner/", {"day": day})
    assert answer.status_code == 200
    assert says in answer.content.decode()
    assert office.get("/owner/figures/late/", {"day": day}).status_code == 200


def test_a_figure_that_is_none_is_not_found(office: Client) -> None:
    assert office.get("/owner/figures/nothing/").status_code == 404


def test_the_chart_has_a_table_beside_it_and_no_script(office: Client, oz: User) -> None:
    rack(ticket_of(oz, 3), oz)
    html = office.get("/owner/").content.decode()
    chart = html[html.index('<svg class="bars"') : html.index("</svg>", html.index("bars"))]
    assert chart.count("<rect") == 14
    assert ">3</text>" in chart
    assert "style=" not in html
    table = html[html.index("The 14 days as a table") :]
    assert table.count("<tr>", 0, table.index("</table>")) == 15


@pytest.mark.parametrize("address", ["/owner/", "/owner/figures/late/"])
def test_only_the_owner_gets_in_and_only_to_read(client: Client, oz: User, address: str) -> None:
    assert client.get(address).status_code == 302
    for role in ("counter", "backroom"):
        client.force_login(make_user(role))
        assert client.get(address).status_code == 403
    client.force_login(oz)
    assert client.post(address).status_code == 405


def test_a_hold_in_the_list_says_who_asks_and_the_day_in_words(office: Client, oz: User) -> None:
    piece = piece_at(ticket_of(oz), 1)
    tracking.hold(piece.code, "brass zip?", oz, date(2026, 6, 18), act(oz))
    page = office.get("/owner/figures/holds/").content.decode()
    assert "brass zip?; Test Owner asks again Thu 18 Jun" in page
