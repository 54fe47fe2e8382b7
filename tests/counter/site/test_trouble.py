"""A request that fails: a calm page for people, and the API's one shape for programs."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client, RequestFactory

from counter.models import IntakeDraft
from counter.site.trouble import server_error
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
    assert "<h1>Something went wrong here</h1>" in page
    assert "look before you do it again" in page
    assert '<a class="door" href="/">' in page
    assert "KeyError" not in page
    assert response.headers["Content-Security-Policy"].startswith("default-src 'self'")


def test_an_answer_of_the_api_that_fails_has_the_shape_of_every_error(crew: Client) -> None:
    response = crew.get("/api/v1/boards/intake/")
    assert (response.status_code, response.headers["Content-Type"]) == (500, "application/json")
    error = response.json()
    assert set(error) == {"code", "says", "cure"}
    assert error["code"] == "server_error"
    assert error["says"].startswith("Something went wrong in the shop's computer")
    assert "with the same key" in error["cure"]


@pytest.mark.parametrize("path", ["/boards/", "/api/v1/boards/"])
def test_neither_answer_asks_the_database(path: str, rf: RequestFactory) -> None:
    """It may be what failed. A test without the database fails on any query."""
    assert server_error(rf.get(path)).status_code == 500


@pytest.mark.parametrize("method", ["GET", "POST", "DELETE"])
@pytest.mark.parametrize("path", ["/api", "/api/", "/api/v2/", "/api/v2/tickets/7/", "/api/schema"])
def test_an_unknown_address_beside_the_api_answers_in_its_shape(
    client: Client, method: str, path: str
) -> None:
    response = client.generic(method, path, "{}", "application/json")
    assert (response.status_code, response.headers["Content-Type"]) == (404, "application/json")
    assert response.json() == {
        "code": "not_found",
        "says": "Not found.",
        "cure": "Check the address: /api/v1/schema/ lists all, and each ends with a slash.",
    }


@pytest.mark.parametrize("path", ["/nowhere/", "/apiary/", "/desk/api/", "/tickets/9999999/"])
def test_an_unknown_address_of_the_pages_answers_with_a_page(crew: Client, path: str) -> None:
    response = crew.get(path)
    assert response.status_code == 404
    assert "<h1>There is nothing here</h1>" in response.content.decode()
    assert "404.html" in [template.name for template in response.templates]


@pytest.mark.parametrize(("path", "kind"), [("/api/v1/boards/", "application/json"),
                                            ("/boards/", "text/html; charset=utf-8")])  # fmt: skip
def test_a_name_that_the_shop_does_not_answer_to_is_refused_in_kind(
    client: Client, path: str, kind: str
) -> None:
    response = client.get(path, headers={"Host": "elsewhere.example.org"})
    assert (response.status_code, response.headers["Content-Type"]) == (400, kind)
    if kind == "application/json":
        assert response.json() == {
            "code": "bad_request",
            "says": "The request can't be used as it was sent: its host name, its form or its "
            "size.",
            "cure": "Use an address that the owner lets the shop answer to, and send less at once.",
        }


def test_a_form_without_its_token_is_refused_with_a_page(db: Any) -> None:
    """That the API says it in its own shape is shown with the doors of the API."""
    response = Client(enforce_csrf_checks=True).post("/login/", {"username": "a", "password": "b"})
    assert (response.status_code, response.headers["Content-Type"].split(";")[0]) == (
        403,
        "text/html",
    )


def test_a_form_from_before_the_last_sign_in_is_done_under_no_name(db: Any) -> None:
    """Another person took over on the device, so the token of an open page is no longer good."""
    building.make_shop()
    customer = building.make_customer()
    client = Client(enforce_csrf_checks=True)
    client.force_login(building.make_user("counter"))
    sent = {"csrfmiddlewaretoken": "a" * 64}
    path = f"/intake/start/{customer.pk}/"
    came_from = f"http://testserver/customers/{customer.pk}/"
    page = client.post(path, sent, headers={"Referer": came_from})
    assert page.status_code == 403
    html = page.content.decode()
    assert "so what was sent last was not done" in html
    assert f'href="/customers/{customer.pk}/"' in html
    fragment = client.post(path, sent, headers={"HX-Request": "true", "HX-Current-URL": came_from})
    assert (fragment.status_code, fragment["HX-Redirect"]) == (204, f"/customers/{customer.pk}/")
    assert "was not done" in client.get(f"/customers/{customer.pk}/").content.decode()
    assert IntakeDraft.objects.count() == 0
