"""The pages of a list: a bounded count, and pages that go on from the last row for ever."""

from __future__ import annotations

from base64 import urlsafe_b64decode, urlsafe_b64encode
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any
from urllib.parse import parse_qs, urlencode, urlsplit

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from rest_framework.test import APIClient
from time_machine import Traveller

from counter.intake.queries import listed_tickets, narrowed_to_changed
from counter.models import Payment
from counter.money import services as money
from counter.site import api_pages
from tests import building
from tests.api_calls import V1
from tests.counter.rows import act, ticket_of
from tickets.garments.queries import find_customers
from tickets.models import Customer, Piece, Ticket
from tickets.pieces.queries import listed_pieces, narrowed_to_moved
from tickets.tracking import services as tracking

pytestmark = pytest.mark.django_db


@pytest.fixture
def clerk(api_staff: dict[str, User]) -> User:
    return api_staff["counter"]


def walked(api: APIClient, address: str, **sent: str) -> list[list[Any]]:
    """The pages of a list from its first row to its last, by what ``next`` says."""
    pages = []
    answer = api.get(f"{V1}/{address}?{urlencode({'after': '', **sent})}").json()
    while True:
        pages.append(answer["results"])
        assert (answer["count"], answer["previous"]) == (None, None)
        if answer["next"] is None:
            return pages
        assert "page=" not in answer["next"]
        answer = api.get(answer["next"]).json()


@pytest.mark.parametrize(
    ("address", "key"), [("pieces/", "code"), ("tickets/", "number"), ("customers/", "id")]
)
def test_pages_that_go_on_show_each_row_once_in_the_lists_own_order(
    api_counter: APIClient, clerk: User, address: str, key: str
) -> None:
    promised = timezone.now() + timedelta(days=2)
    for name in ("Ada Byrne", "Ada Byrne", "Cy Dale", "Ada Byrne"):  # namesakes and equal promises
        ticket_of(clerk, 2, customer=building.make_customer(name), promised=promised)
    whole = api_counter.get(f"{V1}/{address}", {"page_size": 200}).json()
    pages = walked(api_counter, address, page_size="3")
    rows = [row[key] for page in pages for row in page]
    assert rows == [row[key] for row in whole["results"]]
    assert len(rows) == len(set(rows)) == whole["count"] > 3
    assert all(len(page) == 3 for page in pages[:-1])


def test_a_row_that_comes_meanwhile_shifts_no_page(api_counter: APIClient, clerk: User) -> None:
    first, second = (ticket_of(clerk) for _ in range(2))
    answer = api_counter.get(f"{V1}/tickets/", {"after": "", "page_size": "1"}).json()
    assert [row["number"] for row in answer["results"]] == [second.number]
    ticket_of(clerk)
    following = api_counter.get(answer["next"]).json()
    assert [row["number"] for row in following["results"]] == [first.number]
    assert following["next"] is None


@pytest.mark.parametrize("place", ["!", "W10", "WzEsMl0", "bnVsbA", "WyJhIl0", "x" * 401, "ÿ"])
def test_a_place_that_is_none_is_refused_by_name(api_counter: APIClient, place: str) -> None:
    answer = api_counter.get(f"{V1}/tickets/", {"after": place})
    [fault] = answer.json()["fields"]
    assert (answer.status_code, fault["field"]) == (400, "after")
    assert fault["cure"] == "This is no place in the list; take it from next."


def test_a_place_longer_than_any_that_was_given_is_not_read(
    api_counter: APIClient, clerk: User
) -> None:
    """The first place that ``next`` gives, grown by blanks that its reader would skip."""
    for _ in range(2):
        ticket_of(clerk)
    first = api_counter.get(f"{V1}/tickets/", {"after": "", "page_size": "1"}).json()
    given = parse_qs(urlsplit(first["next"]).query)["after"][0]
    values = urlsafe_b64decode(given + "=" * (-len(given) % 4))

    def answer_to(values: bytes) -> int:
        place = urlsafe_b64encode(values).decode().rstrip("=")
        return api_counter.get(f"{V1}/tickets/", {"after": place}).status_code

    assert answer_to(values + b" " * 9) == 200
    assert answer_to(values + b" " * 900) == 400


def test_a_list_of_what_is_open_has_no_places_to_go_on_from(api_back: APIClient) -> None:
    answer = api_back.get(f"{V1}/boards/wash/", {"after": ""})
    assert answer.status_code == 400
    assert answer.json()["fields"][0]["cure"] == "This list is short: leaf through it by page."


def test_a_long_list_is_counted_no_further_than_people_leaf(
    api_counter: APIClient, clerk: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    tickets = [ticket_of(clerk).number for _ in range(5)][::-1]
    monkeypatch.setattr(api_pages, "MOST_COUNTED", 5)
    assert api_counter.get(f"{V1}/tickets/", {"page_size": 2}).json()["count"] == 5
    monkeypatch.setattr(api_pages, "MOST_COUNTED", 4)
    first = api_counter.get(f"{V1}/tickets/", {"page_size": 2}).json()
    assert (first["count"], [row["number"] for row in first["results"]]) == (None, tickets[:2])
    second = api_counter.get(first["next"]).json()
    assert [row["number"] for row in second["results"]] == tickets[2:4]
    rest = api_counter.get(second["next"]).json()
    assert ([row["number"] for row in rest["results"]], rest["next"]) == (tickets[4:], None)
    assert api_counter.get(f"{V1}/tickets/", {"page_size": 2, "page": 3}).status_code == 404


def test_tickets_that_changed_are_those_opened_moved_or_paid_since(
    api_counter: APIClient, clerk: User
) -> None:
    now = timezone.now()
    _still, moved, paid, opened = (
        ticket_of(clerk, 1, price="6.50", opened=now - timedelta(days=2, hours=hour))
        for hour in (3, 2, 1, 0)
    )
    Ticket.objects.filter(pk=opened.pk).update(opened_at=now)
    Customer.objects.update(changed_at=now - timedelta(days=2))
    piece = moved.pieces.get()
    tracking.return_undone(piece.code, "cloth too weak", act(clerk, now))
    money.take(paid, "payment", "cash", Decimal("2.00"), act(clerk, now), "key")
    since = (now - timedelta(minutes=5)).isoformat()
    rows = api_counter.get(f"{V1}/tickets/", {"updated_since": since}).json()["results"]
    assert [row["number"] for row in rows] == [opened.number, paid.number, moved.number]
    rows = api_counter.get(f"{V1}/pieces/", {"updated_since": since}).json()["results"]
    assert [row["code"] for row in rows] == [piece.code]
    assert Payment.objects.count() == 1


def test_a_ticket_changes_with_its_customer_by_either_door(
    api_counter: APIClient, clerk: User, clock: Traveller
) -> None:
    """A row of the list shows the customer, who is changed without a move or a payment."""
    now = timezone.now()
    _still, by_api, by_page = (
        ticket_of(clerk, 1, opened=now - timedelta(days=2), customer=building.make_customer(name))
        for name in ("Nora Still", "Cy Dale", "Ida Page")
    )

    def changed(since: datetime) -> list[int]:
        sent = {"updated_since": since.isoformat()}
        rows = api_counter.get(f"{V1}/tickets/", sent).json()["results"]
        return [row["number"] for row in rows]

    clock.shift(timedelta(minutes=5))
    since = timezone.now()
    assert changed(since) == []
    sent = {"notes": "Rings before coming"}
    answer = api_counter.patch(f"{V1}/customers/{by_api.customer_id}/", sent, format="json")
    assert (answer.status_code, changed(since)) == (200, [by_api.number])
    desk = Client()
    desk.force_login(clerk)
    fields = {"name": "Ida Page", "phone": "", "no_softener": "on"}
    page = desk.post(f"/customers/{by_page.customer_id}/", fields)
    assert (page.status_code, changed(since)) == (302, [by_page.number, by_api.number])


def test_a_moment_that_is_none_is_refused(api_counter: APIClient) -> None:
    for address in ("tickets/", "pieces/"):
        answer = api_counter.get(f"{V1}/{address}", {"updated_since": "yesterday"})
        assert (answer.status_code, answer.json()["fields"][0]["field"]) == (400, "updated_since")


def test_a_page_that_goes_on_costs_one_query_for_any_number_of_rows(
    api_counter: APIClient, clerk: User
) -> None:
    def cost() -> int:
        with CaptureQueriesContext(connection) as queries:
            api_counter.get(f"{V1}/tickets/", {"after": ""})
        return sum('FROM "tickets_ticket"' in query["sql"] for query in queries)

    ticket_of(clerk)
    few = cost()
    for _ticket in range(10):
        ticket_of(clerk)
    assert (few, cost()) == (1, 1)


@pytest.mark.skipif(connection.vendor != "sqlite", reason="the plans are SQLite's")
def test_lists_in_order_and_searches_go_by_an_index() -> None:
    for rows, index in (
        (Piece.objects.order_by("promised_at", "pk"), "piece_by_promise"),
        (Piece.objects.filter(state="held").order_by("promised_at", "pk"), "piece_by_state"),
        (narrowed_to_moved(listed_pieces(), timezone.now()), "piece_since"),
        (Customer.objects.order_by("name", "pk"), "customer_by_name"),
        (find_customers("0456", limit=None).order_by(), "phone_reversed>"),
        (find_customers("ada", limit=None).order_by(), "word>"),
    ):
        plan = rows[:50].explain()
        assert index in plan
        assert "TEMP B-TREE" not in plan
    plan = narrowed_to_changed(listed_tickets(), timezone.now())[:50].explain()
    assert "SEARCH tickets_ticket USING INTEGER PRIMARY KEY" in plan
