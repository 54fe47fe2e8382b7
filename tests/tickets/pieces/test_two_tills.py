"""Two tills that open tickets at the same moment: one number each, one garment once."""

from __future__ import annotations

import threading
import uuid
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import IntegrityError, connection
from django.db.models.signals import pre_save
from django.utils import timezone

from tests.building import (
    decide_pieces,
    hand_over_all,
    jumper,
    make_customer,
    make_shop,
    make_ticket,
    make_user,
)
from tests.tickets.tracking.test_concurrency import at_once
from tickets.acting import Act
from tickets.errors import Refused
from tickets.models import Piece, Ticket
from tickets.pieces.decisions import PieceSpec
from tickets.pieces.services import open_ticket
from tickets.writing import atomic_write

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def till(db: Any) -> User:
    make_shop()
    return make_user("counter")


def open_one(till: User, earlier: Piece | None = None, key: uuid.UUID | None = None) -> Ticket:
    now = timezone.now()
    customer = earlier.ticket.customer if earlier else make_customer()
    pieces = decide_pieces([PieceSpec(facts=jumper(), earlier=earlier)])
    return open_ticket(customer, pieces, now + timedelta(days=2), Act(by=till), client_key=key)


def together(*calls: Callable[[], Any]) -> list[Any]:
    """Let all of them look at the shop before any of them may write."""
    held, free = threading.Event(), threading.Event()

    def hold() -> None:
        with atomic_write():
            held.set()
            free.wait(timeout=10)
        connection.close()

    holder = threading.Thread(target=hold)
    holder.start()
    held.wait(timeout=10)
    threading.Timer(0.6, free.set).start()
    results = at_once(*calls)
    holder.join()
    return results


def test_tills_that_open_at_once_get_the_numbers_that_follow(till: User) -> None:
    first = make_ticket(till).number
    tickets = at_once(*[lambda: open_one(till).number] * 5)
    assert sorted(tickets) == [first + n for n in range(1, 6)]


def test_a_double_tap_opens_one_ticket(till: User) -> None:
    key = uuid.uuid4()
    tickets = together(*[lambda: open_one(till, key=key).pk] * 2)
    assert Ticket.objects.count() == Piece.objects.count() == 1
    assert set(tickets) == set(Ticket.objects.values_list("pk", flat=True))


def test_a_garment_comes_again_at_one_of_two_tills(till: User) -> None:
    earlier = hand_over_all(make_ticket(till), till).pieces.get()
    results = together(*[lambda: open_one(till, earlier).number] * 2)
    assert "came_again" in results
    assert Piece.objects.filter(earlier=earlier).count() == 1
    assert Ticket.objects.count() == 2


@pytest.mark.parametrize("taken", [1, 4])
def test_a_number_that_another_till_took_first_is_tried_again(till: User, taken: int) -> None:
    left = [None] * taken

    def take(**_: Any) -> None:
        if left:
            left.pop()
            raise IntegrityError("another till has this number")

    pre_save.connect(take, sender=Ticket)
    try:
        assert open_one(till).number == Ticket.objects.get().number
    finally:
        pre_save.disconnect(take, sender=Ticket)


def test_after_the_last_number_a_till_is_told_that_none_is_left(till: User) -> None:
    """Numbers from 9900000 on are no tickets: a tag can't carry them."""
    last = open_one(till)
    Ticket.objects.filter(pk=last.pk).update(number=9899999)
    with pytest.raises(Refused) as no:
        open_one(till)
    assert (no.value.code, Ticket.objects.count()) == ("no_number_left", 1)
    assert "9899999" in no.value.says


def test_when_every_number_was_taken_the_till_is_told_to_press_again(till: User) -> None:
    def take(**_: Any) -> None:
        raise IntegrityError("another till has this number")

    pre_save.connect(take, sender=Ticket)
    try:
        with pytest.raises(Refused) as no:
            open_one(till)
    finally:
        pre_save.disconnect(take, sender=Ticket)
    assert (no.value.code, Ticket.objects.count()) == ("busy", 0)
