"""Every address of the API: which methods it takes, which roles, and how a refusal looks."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.contrib.auth.models import User
from django.urls import get_resolver
from rest_framework.test import APIClient

from tests import building
from tests.api_calls import V1
from tickets.models import Load, LoadEvent, Move, Ticket

READ, WRITE, BOTH = {"GET"}, {"POST"}, {"GET", "POST"}
ALL_METHODS = {"GET", "POST", "PUT", "PATCH", "DELETE"}
EVERY_ROLE, DESK = {"counter", "backroom", "owner"}, {"counter", "owner"}

DOORS: dict[str, tuple[str, set[str], set[str], set[str]]] = {
    # name: path, methods, roles that read, roles that write
    "schema": ("schema/", READ, EVERY_ROLE, set()),
    "customer-list": ("customers/", BOTH, DESK, DESK),
    "customer-detail": ("customers/{customer}/", {"GET", "PATCH"}, DESK, DESK),
    "ticket-list": ("tickets/", BOTH, EVERY_ROLE, DESK),
    "ticket-detail": ("tickets/{ticket}/", READ, EVERY_ROLE, set()),
    "ticket-complete": ("tickets/{ticket}/complete/", WRITE, set(), EVERY_ROLE),
    "payment": ("tickets/{ticket}/payments/", WRITE, set(), DESK),
    "pickup": ("pickups/{ticket}/", BOTH, DESK, DESK),
    "piece-list": ("pieces/", READ, EVERY_ROLE, set()),
    "piece-detail": ("pieces/{code}/", READ, EVERY_ROLE, set()),
    "piece-hold": ("pieces/{code}/hold/", WRITE, set(), EVERY_ROLE),
    "piece-release": ("pieces/{code}/release/", WRITE, set(), EVERY_ROLE),
    "piece-redo": ("pieces/{code}/redo/", WRITE, set(), EVERY_ROLE),
    "piece-return": ("pieces/{code}/return/", WRITE, set(), DESK),
    "scan": ("scan/", WRITE, set(), EVERY_ROLE),
    "board-list": ("boards/", READ, EVERY_ROLE, set()),
    "board-detail": ("boards/wash/", READ, EVERY_ROLE, set()),
    "board-loads": ("boards/wash/loads/", READ, EVERY_ROLE, set()),
    "load-list": ("loads/", BOTH, EVERY_ROLE, EVERY_ROLE),
    "load-detail": ("loads/{load}/", READ, EVERY_ROLE, set()),
    "load-in": ("loads/{load}/in/", WRITE, set(), EVERY_ROLE),
    "load-off": ("loads/{load}/off/", WRITE, set(), EVERY_ROLE),
    "load-out": ("loads/{load}/out/", WRITE, set(), EVERY_ROLE),
    "load-never-in": ("loads/{load}/never-in/", WRITE, set(), EVERY_ROLE),
    "load-close": ("loads/{load}/close/", WRITE, set(), EVERY_ROLE),
    "load-start": ("loads/{load}/start/", WRITE, set(), EVERY_ROLE),
    "load-finish": ("loads/{load}/finish/", WRITE, set(), EVERY_ROLE),
    "load-undo": ("loads/{load}/undo/", WRITE, set(), EVERY_ROLE),
    "decide": ("decide/", WRITE, set(), EVERY_ROLE),
}
OPEN_TO_ALL = {"token", "unknown"}


def address(name: str, ticket: Ticket) -> str:
    piece = ticket.pieces.get()
    load = Load.objects.first() or building.make_load(ticket.opened_by)
    path = DOORS[name][0].format(
        customer=ticket.customer_id, ticket=ticket.number, code=piece.code, load=load.pk
    )
    return f"{V1}/{path}"


def test_the_table_above_names_every_address_of_the_api() -> None:
    _prefix, resolver = get_resolver().namespace_dict["api"]
    names = {getattr(pattern, "name", str(pattern)) for pattern in resolver.url_patterns}
    assert names == {*DOORS, *OPEN_TO_ALL}


def test_a_method_that_an_address_lacks_is_refused(
    api_of: Callable[[str], APIClient], jumper_ticket: Ticket
) -> None:
    boss = api_of("owner")
    for name, (_path, methods, _readers, _writers) in DOORS.items():
        path = address(name, jumper_ticket)
        for method in sorted(ALL_METHODS - methods):
            response = boss.generic(method, path, "{}", "application/json")
            answer = response.status_code, response.json()["code"]
            assert answer == (405, "method_not_allowed"), (name, method)


@pytest.mark.parametrize("role", ["counter", "backroom", "owner", "none", ""])
def test_an_address_opens_for_its_roles_only(
    role: str, api_of: Callable[[str], APIClient], jumper_ticket: Ticket
) -> None:
    for name, (_path, methods, readers, writers) in DOORS.items():
        path = address(name, jumper_ticket)
        for method, roles in (("GET", readers), ("POST", writers), ("PATCH", writers)):
            if method not in methods:
                continue
            response = api_of(role).generic(method, path, "{}", "application/json")
            if role in roles:
                # An empty object says enough to decide/ and to a change of nothing, else nowhere.
                fine = method in ("GET", "PATCH") or name == "decide"
                expected = 200 if fine else 400
            else:
                expected = 403 if role else 401
                assert set(response.json()) == {"code", "says", "cure"}, name
            assert response.status_code == expected, (name, method, response.content)
    assert Move.objects.count() == 1  # the one that opened the piece
    assert LoadEvent.objects.count() <= 1  # the one that opened the load


def test_nobody_signed_in_is_told_how(api_of: Callable[[str], APIClient], db: None) -> None:
    response = api_of("").get(f"{V1}/tickets/")
    assert response.status_code == 401
    assert response["WWW-Authenticate"] == "Token"
    assert response.json() == {
        "code": "not_authenticated",
        "says": "Authentication credentials were not provided.",
        "cure": "Sign in, or send a token from token/ in the header Authorization.",
    }


def test_an_unknown_address_answers_in_the_same_shape(
    api_of: Callable[[str], APIClient],
) -> None:
    for path in ("", "nothing/", "tickets", "tickets/abc/", "loads/x/close/"):
        for method in ("GET", "POST"):
            response = api_of("owner").generic(method, f"{V1}/{path}", "{}", "application/json")
            assert response.status_code == 404
            assert response.json() == {
                "code": "not_found",
                "says": "Not found.",
                "cure": "Check the address: schema/ lists all, and each ends with a slash.",
            }


def test_without_the_csrf_token_every_address_refuses_a_session_in_the_same_shape(
    api_staff: dict[str, User], jumper_ticket: Ticket
) -> None:
    """None of them meets the pages' own check, which would answer with a page."""
    client = APIClient(enforce_csrf_checks=True)
    client.force_login(api_staff["owner"])
    for name in (name for name, door in DOORS.items() if "POST" in door[1]):
        response = client.post(address(name, jumper_ticket), {})
        assert (response.status_code, response["Content-Type"]) == (403, "application/json"), name
        assert response.json() == {
            "code": "permission_denied",
            "says": "CSRF Failed: CSRF cookie not set.",
            "cure": "Send the page's token in the header X-CSRFToken, or sign in with a token.",
        }


def test_a_session_needs_the_csrf_token_to_write(api_staff: dict[str, User]) -> None:
    client = APIClient(enforce_csrf_checks=True)
    client.force_login(api_staff["counter"])
    refused = client.post(f"{V1}/decide/", {})
    assert (refused.status_code, refused.json()["code"]) == (403, "permission_denied")
    assert "X-CSRFToken" in refused.json()["cure"]

    page = APIClient(enforce_csrf_checks=True)
    page.get("/login/")
    token = page.cookies["csrftoken"].value
    page.force_login(api_staff["counter"])
    accepted = page.post(f"{V1}/decide/", {}, HTTP_X_CSRFTOKEN=token)
    assert accepted.status_code == 200
