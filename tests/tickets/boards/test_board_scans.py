"""Scanning on a board: the piece moves, the answer is seen, and twice is once."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest
import time_machine
from django.contrib.auth.models import User
from django.test import Client

from tests.building import jumper, known, make_ticket, shirt, trousers, work_until
from tests.tickets.floor import bring, send, text_of
from tickets.acting import Act
from tickets.choices import MoveKind, Station
from tickets.models import Move, Piece, Ticket
from tickets.tracking import services as tracking
from tickets.tracking.open_steps import at_station

pytestmark = pytest.mark.django_db


def test_a_scan_without_script_moves_the_piece_and_comes_back_to_the_board(
    back: Client, crew: User
) -> None:
    piece = make_ticket(crew, [jumper()]).pieces.get()
    answer = send(back, "intake", piece.code)
    assert answer.headers["Location"] == "/boards/intake/"
    assert f"{piece.spoken}: Intake done." in text_of(back.get("/boards/intake/"))
    assert Move.objects.get(kind=MoveKind.WORKED).by == crew


def test_a_scan_by_htmx_returns_results_and_lists(back: Client, crew: User) -> None:
    piece = make_ticket(crew, [jumper()]).pieces.get()
    part = send(back, "intake", piece.code, headers={"HX-Request": "true"}).content.decode()
    assert 'id="results"' in part
    assert 'data-tone="good"' in part
    assert "<html" not in part


def test_the_same_post_twice_gives_one_move_and_one_result(back: Client, crew: User) -> None:
    piece = make_ticket(crew, [jumper()]).pieces.get()
    key = str(uuid.uuid4())
    for _ in range(2):
        assert send(back, "intake", piece.code, key).status_code == 302
    assert Move.objects.filter(kind=MoveKind.WORKED).count() == 1
    page = back.get("/boards/intake/").content.decode()
    assert page.count("Intake done.") == 1


def test_the_last_five_results_stand_newest_first(back: Client, crew: User) -> None:
    pieces = list(make_ticket(crew, [jumper()] * 6).pieces.all())
    for piece in pieces:
        send(back, "intake", piece.code)
    page = text_of(back.get("/boards/intake/"))
    places = [page.find(f"{piece.spoken}: Intake done.") for piece in reversed(pieces)]
    assert places[-1] == -1
    assert places[:-1] == sorted(places[:-1])
    assert -1 not in places[:-1]


def test_a_result_stands_for_half_a_day_and_no_longer(
    back: Client, crew: User, clock: time_machine.Traveller
) -> None:
    piece = make_ticket(crew, [jumper()]).pieces.get()
    send(back, "intake", piece.code)
    clock.shift(timedelta(hours=11, minutes=59))
    assert "Intake done." in text_of(back.get("/boards/intake/"))
    clock.shift(timedelta(minutes=2))
    assert "Intake done." not in text_of(back.get("/boards/intake/"))


def test_a_scanned_place_follows_a_scanned_piece_in_the_same_session_only(
    back: Client, desk: Client, crew: User
) -> None:
    piece = bring(crew, Station.ASSEMBLY, 1)[0]
    send(back, "assembly", piece.code)
    send(back, "rack", piece.code)
    send(desk, "rack", "A1")
    assert "Which piece hangs at A1?" in text_of(desk.get("/boards/rack/"))
    send(back, "rack", "A1")
    assert known(Piece.objects.get(pk=piece.pk).rack_place).code == "A1"


def test_a_wet_check_is_answered_through_the_page(back: Client, crew: User) -> None:
    piece = make_ticket(crew, [shirt()]).pieces.get()
    while at_station(piece)[0].step != "wet_check":
        tracking.finish_work(piece.code, Station(piece.station), Act(by=crew))
        piece = Piece.objects.get(pk=piece.pk)
    send(back, piece.station, piece.code)
    assert "Yes, gone" in text_of(back.get(f"/boards/{piece.station}/"))
    send(back, piece.station, "NO")
    assert Piece.objects.get(pk=piece.pk).station == Station.SPOTTING
    assert "Yes, gone" not in text_of(back.get(f"/boards/{piece.station}/"))


def test_a_question_that_waits_too_long_is_no_longer_answered(
    back: Client, crew: User, clock: time_machine.Traveller
) -> None:
    piece = bring(crew, Station.ASSEMBLY, 1)[0]
    send(back, "assembly", piece.code)
    send(back, "rack", piece.code)
    late = "That was asked too long ago. Scan it again to answer."
    assert late not in text_of(back.get("/boards/rack/"))
    clock.shift(timedelta(minutes=6))
    assert late in text_of(back.get("/boards/rack/"))
    send(back, "rack", "A1")
    assert "Which piece hangs at A1?" in text_of(back.get("/boards/rack/"))


def test_a_station_card_changes_the_board(back: Client) -> None:
    assert send(back, "wash", "STATION PRESS").headers["Location"] == "/boards/press/"
    answer = send(back, "wash", "STATION SEND-OUT", headers={"HX-Request": "true"})
    assert answer.headers["HX-Redirect"] == "/boards/send_out/"


@pytest.mark.parametrize(
    ("sent", "says"),
    [
        ({"line": "1000001"}, "1000001: the form came back without its one-time key."),
        ({"line": "1" * 61, "key": str(uuid.uuid4())}, "is longer than 60 characters."),
    ],
)
def test_a_scan_without_key_or_with_a_novel_is_refused_in_words(
    back: Client, sent: dict[str, str], says: str
) -> None:
    assert back.post("/boards/wash/scan/", sent).status_code == 302
    assert says in text_of(back.get("/boards/wash/"))


def matched(crew: User) -> Ticket:
    ticket = make_ticket(crew, [jumper(), trousers()])
    for piece in ticket.pieces.all():
        work_until(piece, Station.ASSEMBLY, crew)
        tracking.assemble(piece.code, Act(by=crew))
    return ticket


def test_a_matched_ticket_is_sent_to_the_rack_once(back: Client, crew: User) -> None:
    ticket = matched(crew)
    path, key = f"/boards/assembly/complete/{ticket.number}/", str(uuid.uuid4())
    for _ in range(2):
        assert back.post(path, {"key": key}).headers["Location"] == "/boards/assembly/"
    assert Move.objects.filter(kind=MoveKind.TICKET_COMPLETE).count() == 2
    assert "2 pieces go to the rack" in text_of(back.get("/boards/assembly/"))


def test_an_incomplete_ticket_needs_a_reason_to_go_in_part(back: Client, crew: User) -> None:
    ticket = make_ticket(crew, [jumper(), trousers()])
    first = work_until(ticket.pieces.get(position=1), Station.ASSEMBLY, crew)
    tracking.assemble(first.code, Act(by=crew))
    path = f"/boards/assembly/complete/{ticket.number}/"
    sent = {"key": str(uuid.uuid4()), "next": f"/tickets/{ticket.number}/"}
    refused = back.post(path, sent, follow=True)
    assert "is not complete. Not ready:" in text_of(refused)
    back.post(path, {**sent, "key": str(uuid.uuid4()), "part_reason": "customer travels"})
    assert Piece.objects.get(pk=first.pk).station == Station.RACK
    elsewhere = back.post(path, {**sent, "next": "https://example.org/"})
    assert elsewhere.headers["Location"] == "/boards/assembly/"
    assert back.post(path, {}).status_code == 302
