"""Every address of the shop, tried by everyone: it opens for the roles of its row alone."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from django.contrib.auth.models import AnonymousUser, User
from django.http import HttpResponseBase
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from rest_framework.authtoken.models import Token

from counter.intake.drafts import DraftPiece
from counter.intake.services import start_draft
from counter.models import IntakeDraft, Notice
from counter.roles import EVERYONE, ROLES, ROLES_FOR, ROLES_TO_WRITE, allowed, roles_of
from counter.staff.queries import person_of_token, person_with_roles
from tests import building
from tickets.models import Load, Machine, Partner, Programme, Ticket

PEOPLE = ("nobody", "counter", "backroom", "owner", "no_role")
POST_ONLY = {
    "logout",
    "intake_start",
    "intake_piece_add",
    "intake_piece_remove",
    "intake_open",
    "intake_overrides",
    "intake_discard",
    "message_called",
    "pickup_scan",
    "pickup_unscan",
    "pickup_done",
    "tickets:scan",
    "tickets:complete",
    "paper_slip",  # a print is logged
    "paper_receipt",
    "tickets:paper_tags",
    "tickets:loads_scan",
    "tickets:load_open",
    "tickets:load_scan",
    "tickets:load_never_in",
    "tickets:hold",
    "tickets:release",
    "tickets:redo",
    "tickets:return_undone",
    "api:token",
    "api:payment",
    "api:piece-hold",
    "api:piece-release",
    "api:piece-redo",
    "api:piece-return",
    "api:ticket-complete",
    "api:load-in",
    "api:load-off",
    "api:load-out",
    "api:load-never-in",
    "api:load-close",
    "api:load-start",
    "api:load-finish",
    "api:load-undo",
    "api:scan",
    "api:decide",
}
OTHERWISE = {
    "home": 302,  # to the door of each role
    "intake_photo": 404,  # the piece has none
    "tickets:piece_photo": 404,
    "api:unknown": 404,
    **dict.fromkeys(POST_ONLY, 405),
}
"""What a GET of somebody allowed is answered with; 200 where nothing is said here."""


def patterns(
    resolver: URLResolver | None = None, space: str = ""
) -> Iterator[tuple[str, URLPattern, tuple[str, ...]]]:
    """Full name, pattern and argument names of every address, the admin's own left out."""
    for entry in (resolver or get_resolver()).url_patterns:
        if isinstance(entry, URLResolver):
            if entry.namespace != "admin":
                inner = f"{space}{entry.namespace}:" if entry.namespace else space
                yield from patterns(entry, inner)
        else:
            yield f"{space}{entry.name or ''}", entry, tuple(entry.pattern.converters)


NAMES = [name for name, _pattern, _arguments in patterns()]


@pytest.fixture
def ticket(db: Any) -> Ticket:
    """A shop with everybody, a ticket, a load, a draft and a message: each address is real."""
    building.make_shop()
    people = {role: building.make_user(role) for role in ROLES}
    User.objects.create_user("test-no_role", password="pw", is_staff=True)
    opened = building.make_ticket(people["counter"])
    Notice.objects.create(
        ticket=opened, kind="ready", address="", subject="s", body="b", created_at=opened.opened_at
    )
    building.make_load(people["backroom"])
    draft = start_draft(opened.customer, people["counter"])
    draft.pieces = [DraftPiece(building.jumper()).as_json()]
    draft.save()
    return opened


def address(name: str, ticket: Ticket) -> str:
    [arguments] = [
        arguments_of for pattern_name, _pattern, arguments_of in patterns() if pattern_name == name
    ]
    known = {
        "number": ticket.number,
        "code": ticket.pieces.get().code,
        "customer_pk": ticket.customer_id,
        "key": IntakeDraft.objects.get().key,
        "position": 1,
        "station": "wash" if "load" in name else "intake",
        "load": Load.objects.get().pk,
        "kind": "washer",
        "figure": "late",
        "rest": "elsewhere/",
        "rule": "fibre.wool",
        "pk": {
            "customer": ticket.customer_id,
            "api:customer-detail": ticket.customer_id,
            "shop_machine": Machine.objects.get().pk,
            "shop_partner": Partner.objects.get().pk,
            "shop_programme": Programme.objects.earliest("pk").pk,
            "tickets:load": Load.objects.get().pk,
            "tickets:load_scan": Load.objects.get().pk,
            "tickets:load_never_in": Load.objects.get().pk,
            "message_called": Notice.objects.get().pk,
        }.get(name, User.objects.get(username="test-backroom").pk),
    }
    return reverse(name, kwargs={argument: known[argument] for argument in arguments})


def client_of(person: str) -> Client:
    client = Client(raise_request_exception=False)
    if person != "nobody":
        client.force_login(User.objects.get(username=f"test-{person}"))
    return client


def roles_held(person: str) -> frozenset[str]:
    held = {"nobody": set(), "no_role": set(), "owner": set(ROLES)}.get(person, {person})
    return frozenset(held)


def may(person: str, name: str, method: str) -> bool:
    """What the row says, worked out here from the row alone."""
    row = ROLES_FOR[name]
    if method == "POST":
        row = ROLES_TO_WRITE.get(name, row)
    return row == EVERYONE or bool(row & roles_held(person))


def was_refused(response: HttpResponseBase, person: str, path: str) -> bool:
    """Whether the gate turned this person away, in exactly the way it should."""
    if path.startswith("/api/"):
        return response.status_code == (401 if person == "nobody" else 403)
    if person == "nobody":
        return response.status_code == 302 and response["Location"].startswith("/login/?next=/")
    refused = {template.name for template in getattr(response, "templates", [])}
    return response.status_code == 403 and "counter/site/not_allowed.html" in refused


def test_every_address_has_a_name_of_its_own_and_a_row() -> None:
    assert [url.pattern for name, url, _ in patterns() if not url.name] == []
    assert sorted({name for name in NAMES if NAMES.count(name) > 1}) == []
    assert sorted(set(NAMES) - set(ROLES_FOR)) == []


def test_every_row_names_an_address() -> None:
    assert sorted(set(ROLES_FOR) - set(NAMES)) == []
    assert sorted(set(ROLES_TO_WRITE) - set(ROLES_FOR)) == []


def test_every_row_names_known_roles_only() -> None:
    for name, row in {**ROLES_FOR, **ROLES_TO_WRITE}.items():
        assert row == EVERYONE or (row and row <= set(ROLES)), name


@pytest.mark.parametrize("person", PEOPLE)
def test_an_address_opens_for_its_roles_and_for_no_one_else(person: str, ticket: Ticket) -> None:
    faults = {}
    for name in NAMES:
        path = address(name, ticket)
        response = client_of(person).get(path)
        if not may(person, name, "GET"):
            is_right = was_refused(response, person, path)
        else:
            expected = OTHERWISE.get(name, 200)
            if name == "login" and person != "nobody":
                expected = 302
            is_right = response.status_code == expected
            if expected == 302:
                is_right = is_right and not response["Location"].startswith("/login/")
        if not is_right:
            faults[name] = response.status_code
    assert faults == {}


@pytest.mark.parametrize("person", PEOPLE)
def test_writing_is_refused_before_anything_is_read_or_written(person: str, ticket: Ticket) -> None:
    faults = {}
    for name in NAMES:
        if may(person, name, "POST"):
            continue
        path = address(name, ticket)
        response = client_of(person).post(path, {}, content_type="application/json")
        if not was_refused(response, person, path):
            faults[name] = response.status_code
    assert faults == {}


def test_an_address_without_a_row_is_closed_even_to_the_owner(ticket: Ticket) -> None:
    owner = User.objects.get(username="test-owner")
    assert allowed(owner, "desk")
    assert not allowed(owner, "no_such_address")
    assert not allowed(AnonymousUser(), "desk")


def test_a_person_who_left_holds_no_role(ticket: Ticket) -> None:
    owner = User.objects.get(username="test-owner")
    assert roles_of(owner) == frozenset(ROLES)
    left = User.objects.get(username="test-owner")
    left.is_active = False
    assert roles_of(left) == frozenset()


def test_a_superuser_may_do_what_an_owner_may(db: Any) -> None:
    assert roles_of(User.objects.create_superuser("root")) == frozenset(ROLES)


def test_a_person_is_read_with_their_roles_in_one_query(
    ticket: Ticket, django_assert_num_queries: Any
) -> None:
    """For a session and for a token: both are asked with every request."""
    for role in ROLES:
        user = User.objects.get(username=f"test-{role}")
        token = Token.objects.create(user=user)
        with django_assert_num_queries(2):
            by_session = building.known(person_with_roles(user.pk))
            by_token, _token = building.known(person_of_token(token.key))
            assert roles_of(by_session) == roles_of(by_token)
        assert by_session == by_token == user
        assert roles_of(by_session) == roles_of(user)


def test_a_person_or_token_that_is_not_there_is_nobody(db: Any) -> None:
    assert person_with_roles(4711) is None
    assert person_of_token("nothing") is None


@pytest.mark.parametrize(
    ("path", "who"),
    [("/shop/", "Only for the owner."), ("/desk/", "Only for the counter and the owner.")],
)
def test_a_closed_page_says_who_may_open_it(client: Client, db: Any, path: str, who: str) -> None:
    building.make_shop()
    client.force_login(building.make_user("backroom"))
    page = client.get(path).content.decode()
    assert who in page
    assert 'href="/switch/"' in page
