"""The framework's own pages: hidden until a setting asks for them; then they show everything and
change nothing that belongs to the record."""

from __future__ import annotations

import importlib
from collections.abc import Iterator
from decimal import Decimal

import pytest
from django.conf import LazySettings
from django.contrib import admin
from django.contrib.auth.models import User
from django.test import Client
from django.urls import clear_url_caches

import counter.urls
from counter.models import Payment
from counter.money import services as payments
from tests.building import make_shop, make_user
from tests.counter.rows import act, rack, ticket_of
from tickets.models import Acceptance, Move, Ticket

pytestmark = pytest.mark.django_db

OURS = [model for model in admin.site._registry if model._meta.app_label in ("tickets", "counter")]
CHANGEABLE = {"ClosedDay", "CrewDay", "OpeningHours", "PriceItem", "Shop", "StationCrew"}


def read_addresses(settings: LazySettings, *, with_admin: bool) -> None:
    """Build the addresses anew, as a start with this setting does."""
    settings.ADMIN = with_admin
    importlib.reload(counter.urls)
    clear_url_caches()


@pytest.fixture
def admin_asked_for(settings: LazySettings) -> Iterator[None]:
    read_addresses(settings, with_admin=True)
    yield
    read_addresses(settings, with_admin=False)


@pytest.fixture
def chief(client: Client, admin_asked_for: None) -> Client:
    make_shop()
    client.force_login(User.objects.create_superuser("chief", password="pw"))
    return client


@pytest.fixture
def ticket(chief: Client) -> Ticket:
    ada = make_user("counter", "ada")
    ticket = rack(ticket_of(ada, 2), ada)
    payments.take(ticket, "payment", "cash", Decimal(1), act(ada), "a")
    Acceptance.objects.create(
        piece=ticket.pieces.get(position=1),
        caution="x",
        says="x",
        accepted_by="Ada",
        recorded_by=ada,
        at=ticket.opened_at,
    )
    return ticket


@pytest.mark.parametrize("model", OURS, ids=lambda model: model.__name__)
def test_every_list_opens_and_only_choices_can_be_added(
    chief: Client, ticket: Ticket, model: type
) -> None:
    meta = model._meta  # type: ignore[attr-defined]
    address = f"/admin/{meta.app_label}/{meta.model_name}/"
    assert chief.get(address).status_code == 200
    may_add = meta.object_name in CHANGEABLE - {"Shop"}
    assert chief.get(f"{address}add/").status_code == (200 if may_add else 403)


@pytest.mark.parametrize("model", [Move, Payment, Acceptance], ids=lambda model: model.__name__)
def test_the_record_is_shown_and_refuses_change_and_deletion(
    chief: Client, ticket: Ticket, model: type
) -> None:
    row = model.objects.first()  # type: ignore[attr-defined]
    address = f"/admin/{row._meta.app_label}/{row._meta.model_name}/{row.pk}"
    assert chief.get(f"{address}/change/").status_code == 200
    assert chief.post(f"{address}/change/", {"amount": "9"}).status_code == 403
    assert chief.post(f"{address}/delete/", {"post": "yes"}).status_code == 403
    assert model.objects.filter(pk=row.pk).exists()  # type: ignore[attr-defined]


def test_a_ticket_shows_its_pieces_and_a_piece_its_moves(chief: Client, ticket: Ticket) -> None:
    assert chief.get(f"/admin/tickets/ticket/{ticket.pk}/change/").status_code == 200
    piece = ticket.pieces.get(position=1)
    html = chief.get(f"/admin/tickets/piece/{piece.pk}/change/").content.decode()
    assert "Matched to its ticket" in html


def test_without_the_setting_there_is_no_admin(client: Client) -> None:
    make_shop()
    client.force_login(User.objects.create_superuser("chief", password="pw"))
    for address in ("/admin/", "/admin/login/", "/admin/tickets/ticket/"):
        assert client.get(address).status_code == 404


def test_a_role_alone_does_not_open_the_admin(client: Client, admin_asked_for: None) -> None:
    make_shop()
    client.force_login(make_user("owner", "oz"))
    assert client.get("/admin/").status_code == 302
