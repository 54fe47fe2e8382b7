"""The pages of the boards: what they show, who may open them, and that twice is once."""

from __future__ import annotations

import html
import re
import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from tests.building import (
    jumper,
    make_customer,
    make_ticket,
    shirt,
    trousers,
    work_until,
)
from tickets import dayplan, queries, tracking
from tickets.calendar import business_day
from tickets.choices import BOARD_STATIONS, MoveKind, Station
from tickets.models import Move, OpeningHours, Piece, RouteStep, Ticket
from tickets.tracking import Act
from tickets.views.boards import SHOWN_AT_ONCE

pytestmark = pytest.mark.django_db


def text_of(response: Any) -> str:
    """What a reader sees: no tags, single spaces."""
    plain = re.sub(r"<(script|style).*?</\1>|<[^>]+>", " ", response.content.decode(), flags=re.S)
    return re.sub(r"\s+", " ", html.unescape(plain))


def send(client: Client, station: str, line: str, key: str | None = None, **more: Any) -> Any:
    return client.post(
        f"/boards/{station}/scan/", {"line": line, "key": key or str(uuid.uuid4())}, **more
    )


def bring(crew: User, station: Station, count: int, **changes: Any) -> list[Piece]:
    found = []
    for _ in range(count):
        ticket = make_ticket(crew, [jumper(**changes)])
        found.append(work_until(ticket.pieces.get(), station, crew))
    return found


def test_the_overview_counts_each_station_and_names_its_most_urgent_piece(
    back: Client, crew: User
) -> None:
    now = timezone.now()
    soon, later, gone = bring(crew, Station.WASH, 3)
    Piece.objects.filter(pk=later.pk).update(promised_at=now + timedelta(days=5))
    Piece.objects.filter(pk=soon.pk).update(promised_at=now - timedelta(hours=1))
    tracking.hold(gone.code, "zip", crew, business_day(), Act(by=crew))
    counts = {row.station: row for row in queries.station_counts(timezone.now())}
    wash = counts[Station.WASH]
    assert (wash.waiting, wash.held, wash.late, wash.first) == (2, 1, 1, soon)
    assert list(counts) == list(BOARD_STATIONS)
    page = text_of(back.get("/boards/"))
    assert f"Wash 2 waiting 1 LATE 1 on hold {soon.spoken} wool sweater LATE" in page


def test_a_held_piece_is_not_late_for_the_station_but_late_for_the_promise(crew: User) -> None:
    piece = bring(crew, Station.WASH, 1)[0]
    Piece.objects.update(promised_at=timezone.now() - timedelta(hours=1))
    tracking.hold(piece.code, "zip", crew, business_day(), Act(by=crew))
    wash = next(
        row for row in queries.station_counts(timezone.now()) if row.station == Station.WASH
    )
    assert wash.late == 0
    assert list(queries.late_pieces(timezone.now())) == [piece]


def test_the_overview_opens_a_scanned_piece_or_ticket(back: Client, crew: User) -> None:
    piece = make_ticket(crew, [jumper()]).pieces.get()
    found = back.get("/boards/", {"find": piece.spoken})
    assert found.headers["Location"] == f"/pieces/{piece.code}/"
    found = back.get("/boards/", {"find": str(piece.ticket.number)})
    assert found.headers["Location"] == f"/tickets/{piece.ticket.number}/"
    assert "12 has 2 digits" in text_of(back.get("/boards/", {"find": "12"}))


def test_a_board_says_what_to_do_what_never_and_why(back: Client, crew: User) -> None:
    piece = bring(crew, Station.WASH, 1)[0]
    page = text_of(back.get("/boards/wash/"))
    assert piece.steps.get(step="wash").says in page
    assert "at most 30 °C" in page
    assert "Never bleach, of any kind" in page
    assert "Wool: wash at most 30 °C" in page  # the rule that sets the limit
    assert "Brook A." in page
    assert "Ada Brook" not in page  # the whole name does not hang in the open


def test_a_press_board_leaves_out_what_only_matters_in_water(back: Client, crew: User) -> None:
    bring(crew, Station.PRESS, 1)
    page = text_of(back.get("/boards/press/"))
    assert "Iron never above 110 °C" in page
    assert "bleach, of any kind" not in page


def test_fahrenheit_stands_beside_celsius_where_the_shop_asks(back: Client, crew: User) -> None:
    from counter.models import Shop

    Shop.objects.update(fahrenheit=True)
    bring(crew, Station.WASH, 1)
    assert "at most 30 °C / 86 °F" in text_of(back.get("/boards/wash/"))


def test_rush_stands_first_and_then_the_earliest_promise(back: Client, crew: User) -> None:
    calm, rush, soon = bring(crew, Station.WASH, 3)
    at = timezone.now() + timedelta(days=3)
    Piece.objects.filter(pk__in=[calm.pk, rush.pk]).update(promised_at=at)
    Piece.objects.filter(pk=soon.pk).update(promised_at=at - timedelta(days=1))
    Ticket.objects.filter(pk=rush.ticket_id).update(rush=True)
    assert list(queries.waiting_at(Station.WASH)) == [rush, soon, calm]
    page = text_of(back.get("/boards/wash/"))
    assert page.index(str(rush.ticket.number)) < page.index(str(soon.ticket.number))


@pytest.mark.parametrize(
    ("promised", "word"),
    [(timedelta(hours=-1), "LATE"), (timedelta(minutes=5), "AT RISK"), (timedelta(days=9), "due")],
)
def test_each_tag_says_late_at_risk_or_due(
    back: Client, crew: User, promised: timedelta, word: str
) -> None:
    bring(crew, Station.WASH, 1)
    Piece.objects.update(promised_at=timezone.now() + promised)
    page = text_of(back.get("/boards/wash/"))
    assert word in page
    assert [other for other in ("LATE", "AT RISK") if other in page and other != word] == []


def test_a_long_queue_before_it_puts_a_piece_at_risk(back: Client, crew: User) -> None:
    now = timezone.now()
    last = make_ticket(crew, [trousers()], promised_at=now + timedelta(days=4)).pieces.get()
    page = f"/pieces/{last.code}/"
    assert (dayplan.urgency_at(now)(last), "AT RISK" in text_of(back.get(page))) == ("due", False)
    for _ in range(2):
        make_ticket(crew, [trousers()] * 70, promised_at=now + timedelta(days=3))
    assert (dayplan.urgency_at(now)(last), "AT RISK" in text_of(back.get(page))) == ("risk", True)


def test_a_ticket_is_at_risk_when_one_of_its_pieces_is_and_that_piece_alone_says_so(
    back: Client, crew: User
) -> None:
    """The boards, the ticket's page and the late list read the same sums."""
    now = timezone.now()
    ticket = make_ticket(crew, [trousers(), jumper()], promised_at=now + timedelta(days=3))
    calm, slow = ticket.pieces.order_by("position")
    RouteStep.objects.filter(piece=slow, station=Station.WASH).update(minutes=3000)
    urgency, outlook = dayplan.urgency_at(now), dayplan.Outlook(now)
    assert (urgency(calm), urgency(slow)) == ("due", "risk")
    assert [each.ticket for each in outlook.at_risk()] == [ticket]
    assert outlook.pieces[slow.pk] == outlook.tickets[ticket.number].at
    assert text_of(back.get(f"/tickets/{ticket.number}/")).count("AT RISK") == 2  # head and piece


def test_a_shop_that_never_opens_still_says_what_is_late(back: Client, crew: User) -> None:
    bring(crew, Station.WASH, 1)
    Piece.objects.update(promised_at=timezone.now() - timedelta(hours=1))
    OpeningHours.objects.all().delete()
    assert "LATE" in text_of(back.get("/boards/wash/"))
    Piece.objects.update(promised_at=timezone.now() + timedelta(minutes=1))
    page = text_of(back.get("/boards/wash/"))
    assert ("LATE" in page, "AT RISK" in page) == (False, False)


def test_held_pieces_stand_apart_with_reason_owner_and_day(back: Client, crew: User) -> None:
    piece = bring(crew, Station.WASH, 1)[0]
    tracking.hold(piece.code, "brass zip?", crew, business_day(), Act(by=crew))
    page = text_of(back.get("/boards/wash/"))
    assert "Nothing waits here." in page
    held = rf"On hold here {piece.spoken} .* brass zip\? Test Backroom asks ask today"
    assert re.search(held, page)


def test_a_wet_check_stands_as_a_question(back: Client, crew: User) -> None:
    piece = make_ticket(crew, [shirt()]).pieces.get()
    while tracking.at_station(piece)[0].step != "wet_check":
        tracking.finish_work(piece.code, Station(piece.station), Act(by=crew))
        piece = Piece.objects.get(pk=piece.pk)
    page = text_of(back.get(f"/boards/{piece.station}/"))
    assert "Wet check: is the stain gone? (red wine)" in page


def test_the_assembly_board_names_what_is_missing(back: Client, crew: User) -> None:
    ticket = make_ticket(crew, [jumper(), trousers()])
    work_until(ticket.pieces.get(position=1), Station.ASSEMBLY, crew)
    assert re.search(r"Missing: -02 at Intake", text_of(back.get("/boards/assembly/")))


def count_queries(client: Client, path: str) -> int:
    client.get(path)  # the session and the role are read once
    with CaptureQueriesContext(connection) as seen:
        assert client.get(path).status_code == 200
    return len(seen)


@pytest.mark.parametrize("station", [Station.WASH, Station.ASSEMBLY])
def test_a_board_costs_the_same_number_of_queries_for_1_and_100_pieces(
    back: Client, crew: User, station: Station
) -> None:
    customer = make_customer()
    make_ticket(crew, [jumper(), trousers()], customer=customer)
    Piece.objects.filter(position=1).update(station=station)
    path = f"/boards/{station}/?show=200"
    one = count_queries(back, path)
    for _ in range(10):
        make_ticket(crew, [jumper()] * 10, customer=customer)
    Piece.objects.update(station=station)
    page = back.get(path).content.decode()
    assert page.count("swing tag") >= 100
    assert count_queries(back, path) == one


def test_the_overview_costs_the_same_number_of_queries_for_1_and_100_pieces(
    back: Client, crew: User
) -> None:
    make_ticket(crew, [jumper()])
    one = count_queries(back, "/boards/")
    for _ in range(10):
        make_ticket(crew, [jumper()] * 10)
    assert count_queries(back, "/boards/") == one


def test_a_full_board_shows_some_and_offers_the_rest(back: Client, crew: User) -> None:
    for _ in range(3):
        make_ticket(crew, [jumper()] * 10)
    page = back.get("/boards/intake/").content.decode()
    assert page.count("swing tag") == SHOWN_AT_ONCE
    assert f"Show more ({30 - SHOWN_AT_ONCE} hidden)" in page
    assert back.get("/boards/intake/?show=48").content.decode().count("swing tag") == 30
    assert back.get("/boards/intake/?show=rubbish").status_code == 200


def test_an_htmx_request_gets_the_lists_alone(back: Client, crew: User) -> None:
    bring(crew, Station.WASH, 1)
    part = back.get("/boards/wash/", headers={"HX-Request": "true"}).content.decode()
    assert "<html" not in part
    assert "swing tag" in part


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


def test_a_scanned_place_follows_a_scanned_piece_in_the_same_session_only(
    back: Client, desk: Client, crew: User
) -> None:
    piece = bring(crew, Station.ASSEMBLY, 1)[0]
    send(back, "assembly", piece.code)
    send(back, "rack", piece.code)
    send(desk, "rack", "A1")
    assert "Which piece hangs at A1?" in text_of(desk.get("/boards/rack/"))
    send(back, "rack", "A1")
    assert Piece.objects.get(pk=piece.pk).rack_place.code == "A1"


def test_a_wet_check_is_answered_through_the_page(back: Client, crew: User) -> None:
    piece = make_ticket(crew, [shirt()]).pieces.get()
    while tracking.at_station(piece)[0].step != "wet_check":
        tracking.finish_work(piece.code, Station(piece.station), Act(by=crew))
        piece = Piece.objects.get(pk=piece.pk)
    send(back, piece.station, piece.code)
    assert "Yes, gone" in text_of(back.get(f"/boards/{piece.station}/"))
    send(back, piece.station, "NO")
    assert Piece.objects.get(pk=piece.pk).station == Station.SPOTTING
    assert "Yes, gone" not in text_of(back.get(f"/boards/{piece.station}/"))


def test_a_question_that_waits_too_long_is_no_longer_answered(back: Client, crew: User) -> None:
    piece = bring(crew, Station.ASSEMBLY, 1)[0]
    send(back, "assembly", piece.code)
    send(back, "rack", piece.code)
    late = "That was asked too long ago. Scan it again to answer."
    assert late not in text_of(back.get("/boards/rack/"))
    session = back.session
    boxes = session["scan_boxes"]
    long_ago = timezone.now() - timedelta(minutes=6)
    boxes["rack"]["pending"]["since"] = long_ago.isoformat()
    session["scan_boxes"] = boxes
    session.save()
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


@pytest.mark.parametrize("method", ["put", "delete", "patch"])
@pytest.mark.parametrize("path", ["/boards/", "/boards/wash/", "/boards/wash/scan/"])
def test_a_wrong_method_is_refused(back: Client, path: str, method: str) -> None:
    assert getattr(back, method)(path).status_code == 405


def test_boards_are_read_and_scans_are_sent(back: Client, crew: User) -> None:
    assert back.post("/boards/").status_code == 405
    assert back.post("/boards/wash/").status_code == 405
    assert back.get("/boards/wash/scan/").status_code == 405
    assert back.get("/boards/assembly/complete/1000001/").status_code == 405


@pytest.mark.parametrize("path", ["/boards/cellar/", "/boards/pickup/"])
def test_there_is_no_board_where_nobody_works(back: Client, path: str) -> None:
    assert back.get(path).status_code == 404


def test_a_person_without_a_role_and_a_stranger_get_nothing(crew: User) -> None:
    stranger, nobody = Client(), Client()
    nobody.force_login(User.objects.create_user("no-role"))
    for path in ("/boards/", "/boards/wash/"):
        assert stranger.get(path).status_code == 302
        assert nobody.get(path).status_code == 403
    assert send(nobody, "wash", "1000001").status_code == 403


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
    assert "is not complete. Missing:" in text_of(refused)
    back.post(path, {**sent, "key": str(uuid.uuid4()), "part_reason": "customer travels"})
    assert Piece.objects.get(pk=first.pk).station == Station.RACK
    elsewhere = back.post(path, {**sent, "next": "https://example.org/"})
    assert elsewhere.headers["Location"] == "/boards/assembly/"
    assert back.post(path, {}).status_code == 302


def test_the_assembly_table_tells_what_lies_there_from_what_is_missing(
    back: Client, crew: User
) -> None:
    ticket = make_ticket(crew, [jumper(), jumper(), trousers()])
    for position in (1, 2):
        work_until(ticket.pieces.get(position=position), Station.ASSEMBLY, crew)
    page = text_of(back.get("/boards/assembly/"))
    assert "Missing: -03 at Intake On the table too, to match: -02" in page
    held = ticket.pieces.get(position=2)
    tracking.hold(held.code, "zip", crew, business_day(), Act(by=crew))
    page = text_of(back.get("/boards/assembly/"))
    assert "Missing: -02 on hold at Assembly; -03 at Intake" in page
    assert "On the table too" not in page
