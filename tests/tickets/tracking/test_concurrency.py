"""Two people, or one impatient finger, at the same piece at the same moment."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection

from tests.building import jumper, make_shop, make_ticket, make_user, trousers, work_until
from tickets.acting import Act
from tickets.boards.board_scans import scan
from tickets.choices import MoveKind, PieceState, Station
from tickets.errors import Refused
from tickets.models import Move, Ticket
from tickets.scanning import results as scans
from tickets.scanning.results import Scanned
from tickets.tracking import replay
from tickets.tracking import services as tracking

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def crew(db: Any) -> User:
    make_shop()
    return make_user("backroom")


def at_once(*calls: Callable[[], Any]) -> list[Any]:
    """Run the calls in threads that start together; each result, or the refusal that it met."""
    start = threading.Barrier(len(calls))
    results: list[Any] = [None] * len(calls)

    def run(place: int, call: Callable[[], Any]) -> None:
        start.wait()
        try:
            results[place] = call()
        except Refused as no:
            results[place] = no.code
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=pair) for pair in enumerate(calls)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=30)
        assert not thread.is_alive()
    return results


def test_the_same_scan_from_two_threads_gives_one_move(crew: User) -> None:
    piece = make_ticket(crew, [jumper()]).pieces.get()

    def once() -> Scanned:
        return scan(Station.INTAKE, piece.code, Act(by=crew, client_key="same key"))

    results = at_once(once, once)
    assert Move.objects.filter(kind=MoveKind.WORKED).count() == 1
    assert scans.GOOD in [result.tone for result in results]
    assert scans.BAD not in [result.tone for result in results]


def test_two_scanners_at_one_piece_give_one_move_and_one_calm_or_refusing_answer(
    crew: User,
) -> None:
    piece = make_ticket(crew, [jumper()]).pieces.get()
    results = at_once(
        *(
            lambda key=key: scan(Station.INTAKE, piece.code, Act(by=crew, client_key=key))
            for key in ("left", "right")
        )
    )
    assert Move.objects.filter(kind=MoveKind.WORKED).count() == 1
    assert sorted(result.tone for result in results)[-1] != scans.ASK
    assert [result.tone for result in results].count(scans.GOOD) == 1


def test_the_last_two_pieces_matched_together_complete_the_ticket_once(crew: User) -> None:
    ticket = make_ticket(crew, [jumper(), trousers()])
    first, second = (work_until(piece, Station.ASSEMBLY, crew) for piece in ticket.pieces.all())
    results = at_once(
        lambda: scan(Station.ASSEMBLY, first.code, Act(by=crew, client_key="1")),
        lambda: scan(Station.ASSEMBLY, second.code, Act(by=crew, client_key="2")),
    )
    assert [result.tone for result in results] == [scans.GOOD, scans.GOOD]
    assert Move.objects.filter(kind=MoveKind.TICKET_COMPLETE).count() == 2
    assert {piece.station for piece in ticket.pieces.all()} == {Station.RACK}


def test_completing_while_a_piece_is_sent_back_ends_without_a_deadlock(crew: User) -> None:
    ticket = make_ticket(crew, [jumper(), trousers()])
    for piece in ticket.pieces.all():
        work_until(piece, Station.ASSEMBLY, crew)
        tracking.assemble(piece.code, Act(by=crew))
    first = ticket.pieces.get(position=1)
    at_once(
        lambda: tracking.complete_ticket(ticket.number, Act(by=crew)),
        lambda: tracking.send_back(first.code, Station.PRESS, "crease", Act(by=crew)),
        lambda: tracking.complete_ticket(ticket.number, Act(by=crew)),
    )
    first.refresh_from_db()
    assert (first.state, first.station) == (PieceState.WAITING, Station.PRESS)
    assert list(map(str, replay.differences())) == []


def test_the_last_two_pieces_racked_together_make_the_ticket_ready(crew: User) -> None:
    ticket = make_ticket(crew, [jumper(), trousers()])
    for piece in ticket.pieces.all():
        work_until(piece, Station.ASSEMBLY, crew)
        tracking.assemble(piece.code, Act(by=crew))
    tracking.complete_ticket(ticket.number, Act(by=crew))
    codes = list(ticket.pieces.values_list("code", flat=True))
    at_once(*(lambda code=code: tracking.rack(code, "A1", Act(by=crew)).repeated for code in codes))
    assert Ticket.objects.get(pk=ticket.pk).ready_at is not None
    assert ticket.notices.count() == 1
