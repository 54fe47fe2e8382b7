"""What a move costs the database: it is the most frequent act of the shop."""

from __future__ import annotations

import re

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.building import jumper, make_ticket, shirt, work_until
from tickets.acting import Act
from tickets.choices import Station
from tickets.models import Move, Piece
from tickets.tracking import services as tracking

pytestmark = pytest.mark.django_db

A_MOVE = [
    "SELECT tickets_piece",
    "SELECT tickets_routestep",
    "UPDATE tickets_routestep",
    "INSERT tickets_move",
    "UPDATE tickets_piece",
]


def asked(made: CaptureQueriesContext) -> list[str]:
    """What each query does to which table first; the marks of transactions are left out."""
    sentences = (query["sql"] for query in made.captured_queries)
    table = re.compile(r'(SELECT|UPDATE|INSERT)\b.*?(?:FROM|INTO|UPDATE)? ?"(tickets_\w+)"')
    queries = (table.match(sentence) for sentence in sentences)
    return [f"{match[1]} {match[2]}" for match in queries if match]


def first_piece(user: User, *facts: dict[str, object]) -> Piece:
    return make_ticket(user, list(facts)).pieces.order_by("pk")[0]


def test_a_move_locks_and_reads_in_two_queries_and_writes_three_rows(user: User) -> None:
    piece, act = first_piece(user, shirt(), shirt()), Act(by=user, client_key="once")
    with CaptureQueriesContext(connection) as made:
        tracking.finish_work(piece.code, Station.INTAKE, act)
    assert asked(made) == A_MOVE
    locked = next(query["sql"] for query in made.captured_queries if "SELECT" in query["sql"])
    assert 'JOIN "tickets_ticket"' in locked
    for column in ("facts", "decision", "inspection"):
        assert f'"tickets_piece"."{column}"' not in locked


def test_a_move_sent_twice_is_looked_up_by_its_key_and_writes_nothing(user: User) -> None:
    piece, act = first_piece(user, shirt()), Act(by=user, client_key="once")
    first = tracking.finish_work(piece.code, Station.INTAKE, act)
    with CaptureQueriesContext(connection) as made:
        again = tracking.finish_work(piece.code, Station.INTAKE, act)
    assert (again.repeated, again.move) == (True, first.move)
    assert [words for words in asked(made) if not words.startswith("SELECT")] == []


def test_a_key_sent_again_where_its_move_could_be_made_once_more_moves_nothing(user: User) -> None:
    """The piece came round to the station again: only the key tells the old request."""
    piece, act = first_piece(user, jumper()), Act(by=user, client_key="once")
    first = tracking.finish_work(piece.code, Station.INTAKE, act)
    tracking.send_back(piece.code, Station.INTAKE, "looked at once more", Act(by=user))
    moves = Move.objects.count()
    again = tracking.finish_work(piece.code, Station.INTAKE, act)
    assert (again.repeated, again.move, Move.objects.count()) == (True, first.move, moves)
    assert piece.steps.filter(station=Station.INTAKE, done_at__isnull=True).exists()


def test_a_large_ticket_costs_a_move_nothing_more(user: User) -> None:
    for pieces in ([shirt()], [shirt()] * 9):
        piece = first_piece(user, *pieces)
        with CaptureQueriesContext(connection) as made:
            tracking.finish_work(piece.code, Station.INTAKE, Act(by=user))
        assert asked(made) == A_MOVE


def test_a_one_time_key_is_found_by_its_index(user: User) -> None:
    first_piece(user, shirt())
    for key in ({"client_key": "k", "key_part": 3}, {"client_key": "k"}):
        plan = Move.objects.filter(**key).order_by().explain()
        assert connection.vendor != "sqlite" or "(client_key=?" in plan, plan


def test_pieces_that_move_together_share_a_key_and_differ_in_its_part(user: User) -> None:
    ticket = make_ticket(user, [jumper(), jumper()])
    for piece in ticket.pieces.all():
        work_until(piece, Station.ASSEMBLY, user)
        tracking.assemble(piece.code, Act(by=user))
    moved = tracking.complete_ticket(ticket.number, Act(by=user, client_key="to the rack"))
    parts = Move.objects.filter(client_key="to the rack").values_list("key_part", flat=True)
    assert sorted(parts) == sorted(int(done.piece.code) for done in moved)
    again = tracking.complete_ticket(ticket.number, Act(by=user, client_key="to the rack"))
    assert {done.move for done in again} == {done.move for done in moved}
