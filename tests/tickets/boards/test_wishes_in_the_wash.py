"""Customers who want no fragrance or no softener: their wish reaches the load and the board."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from tests import building
from tickets import wording
from tickets.choices import Station
from tickets.loads import proposals
from tickets.loads.planned_pieces import load_piece
from tickets.loads.together import may_share, steps_together
from tickets.models import Customer, Piece
from tickets.writing import atomic_write

NO_SCENT, NO_SOFTENER = "Use a detergent without fragrance.", "Leave softener out of this load."


def at_wash(by: User, name: str, **wishes: bool) -> Piece:
    customer = building.make_customer(name, "")
    with atomic_write():
        Customer.objects.filter(pk=customer.pk).update(**wishes)
    customer.refresh_from_db()
    ticket = building.make_ticket(by, [building.shirt(stains=[])], customer=customer)
    return building.work_until(ticket.pieces.get(), Station.WASH, by)


def test_a_fragrance_free_customers_piece_runs_apart(crew: User) -> None:
    free = load_piece(at_wash(crew, "Ada Brook", fragrance_free=True), Station.WASH)
    other = load_piece(at_wash(crew, "Ned Moss"), Station.WASH)
    verdict = may_share(free, other)
    assert not verdict.may
    assert verdict.says == "A fragrance-free customer's piece would take scent from the other."
    assert steps_together([free]) == [NO_SCENT, NO_SOFTENER]
    assert steps_together([other]) == []


def test_no_softener_shares_a_load_and_is_a_step_of_it(crew: User) -> None:
    plain = load_piece(at_wash(crew, "Ada Brook", no_softener=True), Station.WASH)
    other = load_piece(at_wash(crew, "Ned Moss"), Station.WASH)
    assert may_share(plain, other).may
    assert steps_together([plain, other]) == [NO_SOFTENER]
    assert steps_together([plain]) == [NO_SOFTENER]


def test_the_planner_keeps_them_apart_and_says_the_step(crew: User) -> None:
    building.make_machine()
    free = at_wash(crew, "Ada Brook", fragrance_free=True)
    other = at_wash(crew, "Ned Moss")
    proposed = proposals.floor(Station.WASH, timezone.now()).proposals
    assert {tuple(p.pieces): p.steps for p in proposed} == {
        (free,): [NO_SCENT, NO_SOFTENER],
        (other,): [],
    }


def test_the_board_of_the_wash_station_says_it(back: Client, crew: User) -> None:
    at_wash(crew, "Ada Brook", fragrance_free=True)
    page = " ".join(back.get("/boards/wash/").content.decode().split())
    assert "No fragrance, no softener" in page


@pytest.mark.parametrize(
    ("wishes", "words"),
    [
        ({}, []),
        ({"no_softener": True}, ["no softener"]),
        ({"fragrance_free": True}, ["no fragrance", "no softener"]),
        ({"fragrance_free": True, "no_softener": True}, ["no fragrance", "no softener"]),
    ],
)
def test_wishes_in_words(wishes: dict[str, bool], words: list[str]) -> None:
    assert wording.wish_words(Customer(name="Ada Brook", **wishes)) == words


def test_the_counter_writes_the_wish_and_sees_it(desk: Client) -> None:
    sent = {"name": "Ada Brook", "phone": building.PHONE, "fragrance_free": "on", "once": "a1"}
    page = desk.post("/customers/new/", sent, follow=True).content.decode()
    assert Customer.objects.get().fragrance_free
    assert "no fragrance, no softener" in page
    person = Customer.objects.get()
    desk.post(f"/customers/{person.pk}/", {"name": "Ada Brook", "phone": building.PHONE})
    person.refresh_from_db()
    assert (person.fragrance_free, person.no_softener) == (False, False)
