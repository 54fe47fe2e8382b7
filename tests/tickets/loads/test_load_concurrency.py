"""Two tablets at one machine, one load or one piece at the same moment."""

from __future__ import annotations

from typing import Any

import pytest
from django.contrib.auth.models import User

from tests.building import make_machine, make_shop, make_user
from tests.tickets.floor import act, at_wash, opened, running, white
from tests.tickets.tracking.test_concurrency import at_once
from tickets.choices import MoveKind, Station
from tickets.loads import services as loadbook
from tickets.models import Load, LoadPiece, Move
from tickets.models.machines import LoadState

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def crew(db: Any) -> User:
    make_shop()
    return make_user("backroom")


def test_one_machine_starts_one_of_two_loads(crew: User) -> None:
    pieces = at_wash(crew, white(), white())
    loads = [opened(crew, [piece]) for piece in pieces]
    for load in loads:
        loadbook.close(load.pk, act(crew))
    results = at_once(*[lambda pk=load.pk: loadbook.start(pk, act(crew)) for load in loads])
    assert "machine_busy" in results
    assert Load.objects.filter(state=LoadState.RUNNING).count() == 1


def test_one_piece_goes_into_one_of_two_loads(crew: User) -> None:
    [piece] = at_wash(crew, white())
    make_machine()
    loads = [opened(crew, []) for _ in range(2)]
    results = at_once(
        *[lambda pk=load.pk: loadbook.add(pk, piece.code, act(crew)) for load in loads]
    )
    assert "in_a_load" in results
    assert LoadPiece.objects.filter(piece=piece, left_at__isnull=True).count() == 1


def test_one_piece_scanned_out_twice_makes_one_move(crew: User) -> None:
    first, second = at_wash(crew, white(), white())
    load = running(crew, [first, second])
    loadbook.finish(load.pk, act(crew))
    results = at_once(*[lambda: loadbook.count_out(load.pk, first.code, act(crew))] * 2)
    assert "counted_already" in results
    worked = Move.objects.filter(kind=MoveKind.WORKED, from_station=Station.WASH)
    assert worked.count() == 1


def test_the_last_two_pieces_out_at_once_free_the_machine(crew: User) -> None:
    pieces = at_wash(crew, white(), white())
    load = running(crew, pieces)
    loadbook.finish(load.pk, act(crew))
    at_once(*[lambda code=p.code: loadbook.count_out(load.pk, code, act(crew)) for p in pieces])
    assert Load.objects.get().state == LoadState.EMPTIED
