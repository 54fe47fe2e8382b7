"""An unforeseen fault: a calm page for people, and the API's one shape for programs."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client, RequestFactory

from counter.views.trouble import server_error
from tests import building
from tickets.models import Piece


@pytest.fixture
def broken(db: Any) -> Piece:
    """A piece whose care decision is not whole, as after a damaged row: views fall over it."""
    building.make_shop()
    piece = building.make_ticket(building.make_user("counter")).pieces.get()
    Piece.objects.filter(pk=piece.pk).update(decision={})
    return piece


@pytest.fixture
def crew(broken: Piece) -> Client:
    client = Client(raise_request_exception=False)
    client.force_login(building.make_user("backroom"))
    return client


def test_a_page_that_fails_says_what_to_do_and_leads_back(crew: Client, broken: Piece) -> None:
    response = crew.get(f"/pieces/{broken.code}/")
    page = response.content.decode()
    assert response.status_code == 500
    assert "<h1>Something went wrong in the shop's computer</h1>" in page
    assert "look before you do it again" in page
    assert '<a class="button" href="/">' in page
    assert "KeyError" not in page
    assert response.headers["Content-Security-Policy"].startswith("default-src 'self'")


def test_an_answer_of_the_api_that_fails_has_the_shape_of_every_error(crew: Client) -> None:
    response = crew.get("/api/v1/boards/intake/")
    assert (response.status_code, response.headers["Content-Type"]) == (500, "application/json")
    told = response.json()
    assert set(told) == {"code", "says", "cure"}
    assert told["code"] == "server_error"
    assert told["says"].startswith("Something went wrong in the shop's computer")
    assert "with the same key" in told["cure"]


@pytest.mark.parametrize("path", ["/boards/", "/api/v1/boards/"])
def test_neither_answer_asks_the_database(path: str, rf: RequestFactory) -> None:
    """It may be what failed. A test without the database fails on any query."""
    assert server_error(rf.get(path)).status_code == 500
