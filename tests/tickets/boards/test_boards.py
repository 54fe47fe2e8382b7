"""The boards: what they show, in which order, at what cost, and to whom they open."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from tests.building import (
    jumper,
    make_customer,
    make_ticket,
    outlook_of,
    shirt,
    trousers,
    work_of,
    work_until,
)
from tests.bulk import copies
from tests.tickets.floor import bring, count_queries, send, text_of
from tickets.acting import Act
from tickets.boards.queries import station_counts, waiting_at
from tickets.choices import BOARD_STATIONS, Station
from tickets.models import OpeningHours, Piece, RouteStep, Ticket
from tickets.promise.open_work import forget_open_work
from tickets.promise.urgency import urgency_at
from tickets.shop.calendar import business_day
from tickets.tracking import queries
from tickets.tracking import services as tracking
from tickets.tracking.open_steps import at_station

pytestmark = pytest.mark.django_db


def test_the_overview_counts_each_station_and_names_its_most_urgent_piece(
    back: Client, crew: User
) -> None:
    now = timezone.now()
    soon, later, gone = bring(crew, Station.WASH, 3)
    Piece.objects.filter(pk=later.pk).update(promised_at=now + timedelta(days=5))
    Piece.objects.filter(pk=soon.pk).update(promised_at=now - timedelta(hours=1))
    tracking.hold(gone.code, "zip", crew, business_day(), Act(by=crew))
    counts = {row.station: row for row in station_counts(timezone.now(), work_of())}
    wash = counts[Station.WASH]
    assert (wash.waiting, wash.held, wash.late, wash.first) == (2, 1, 1, soon)
    assert list(counts) == list(BOARD_STATIONS)
    page = text_of(back.get("/boards/"))
    assert f"Wash 2 waiting 1 late 1 on hold {soon.spoken} wool jumper Late" in page


def test_a_held_piece_is_not_late_for_the_station_but_late_for_the_promise(crew: User) -> None:
    piece = bring(crew, Station.WASH, 1)[0]
    Piece.objects.update(promised_at=timezone.now() - timedelta(hours=1))
    tracking.hold(piece.code, "zip", crew, business_day(), Act(by=crew))
    wash = next(
        row for row in station_counts(timezone.now(), work_of()) if row.station == Station.WASH
    )
    assert wash.late == 0
    assert list(queries.late_pieces(timezone.now())) == [piece]


def test_the_overview_opens_a_scanned_piece_or_ticket(back: Client, crew: User) -> None:
    piece = make_ticket(crew, [jumper()]).pieces.get()
    answer = back.get("/boards/", {"find": piece.spoken})
    assert answer.headers["Location"] == f"/pieces/{piece.code}/"
    answer = back.get("/boards/", {"find": str(piece.ticket.number)})
    assert answer.headers["Location"] == f"/tickets/{piece.ticket.number}/"
    assert "12 has 2 digits" in text_of(back.get("/boards/", {"find": "12"}))


def test_a_board_says_what_to_do_what_never_and_why(back: Client, crew: User) -> None:
    piece = bring(crew, Station.WASH, 1)[0]
    page = text_of(back.get("/boards/wash/"))
    assert piece.steps.get(step="wash").says in page
    assert "30 °C at most" in page
    assert "Never bleach, of any kind" in page
    assert "Wash wool very mildly at 30 °C" in page  # the rule that sets the limit
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
    assert "30 °C / 86 °F at most" in text_of(back.get("/boards/wash/"))


def test_what_may_wait_least_stands_first_and_rush_breaks_a_tie(back: Client, crew: User) -> None:
    """Nothing due on Saturday stands above what is at risk today, be it rush or not."""
    calm, rush, soon, saturday = bring(crew, Station.WASH, 4)
    at = timezone.now() + timedelta(days=3)
    Piece.objects.filter(pk__in=[calm.pk, rush.pk]).update(promised_at=at)
    Piece.objects.filter(pk=soon.pk).update(promised_at=timezone.now() + timedelta(minutes=30))
    Piece.objects.filter(pk=saturday.pk).update(promised_at=at + timedelta(days=2))
    Ticket.objects.filter(pk__in=[rush.ticket_id, saturday.ticket_id]).update(rush=True)
    order = [soon, rush, calm, saturday]
    assert [piece.pk for piece in waiting_at(Station.WASH, work_of())] == [row.pk for row in order]
    page = text_of(back.get("/boards/wash/"))
    places = [page.index(str(piece.ticket.number)) for piece in order]
    assert places == sorted(places)
    answer = back.get("/api/v1/boards/wash/").json()
    assert [row["code"] for row in answer["results"]] == [piece.code for piece in order]


def test_a_long_way_to_go_stands_before_a_short_one_promised_sooner(crew: User) -> None:
    short, long = bring(crew, Station.WASH, 2)
    at = timezone.now() + timedelta(days=3)
    Piece.objects.filter(pk=short.pk).update(promised_at=at)
    Piece.objects.filter(pk=long.pk).update(promised_at=at + timedelta(hours=1))
    RouteStep.objects.filter(piece=long, station=Station.PRESS).update(minutes=500)
    assert [piece.pk for piece in waiting_at(Station.WASH, work_of())] == [long.pk, short.pk]


@pytest.mark.parametrize(
    ("promised", "word"),
    [(timedelta(hours=-1), "Late"), (timedelta(minutes=5), "At risk"), (timedelta(days=9), "Due")],
)
def test_each_tag_says_late_at_risk_or_due(
    back: Client, crew: User, promised: timedelta, word: str
) -> None:
    bring(crew, Station.WASH, 1)
    Piece.objects.update(promised_at=timezone.now() + promised)
    page = text_of(back.get("/boards/wash/"))
    assert word in page
    assert [other for other in ("Late", "At risk") if other in page and other != word] == []


def test_a_long_queue_before_it_puts_a_piece_at_risk(back: Client, crew: User) -> None:
    now = timezone.now()
    last = make_ticket(crew, [trousers()], promised_at=now + timedelta(days=4)).pieces.get()
    page = f"/pieces/{last.code}/"
    assert (urgency_at(now)(last), "At risk" in text_of(back.get(page))) == ("due", False)
    for _ in range(2):
        make_ticket(crew, [trousers()] * 70, promised_at=now + timedelta(days=3))
    assert (urgency_at(now)(last), "At risk" in text_of(back.get(page))) == ("risk", True)


def test_a_ticket_is_at_risk_when_one_of_its_pieces_is_and_that_piece_alone_says_so(
    back: Client, crew: User
) -> None:
    """The boards, the ticket's page and the late list read the same sums."""
    now = timezone.now()
    ticket = make_ticket(crew, [trousers(), jumper()], promised_at=now + timedelta(days=3))
    calm, slow = ticket.pieces.order_by("position")
    RouteStep.objects.filter(piece=slow, station=Station.WASH).update(minutes=3000)
    urgency, outlook = urgency_at(now), outlook_of(now)
    assert (urgency(calm), urgency(slow)) == ("due", "risk")
    assert [expected.ticket.number for expected in outlook.at_risk()] == [ticket.number]
    assert outlook.pieces[slow.pk] == outlook.tickets[ticket.number].at
    assert text_of(back.get(f"/tickets/{ticket.number}/")).count("At risk") == 2  # head and piece


def test_a_shop_that_never_opens_still_says_what_is_late(back: Client, crew: User) -> None:
    bring(crew, Station.WASH, 1)
    Piece.objects.update(promised_at=timezone.now() - timedelta(hours=1))
    OpeningHours.objects.all().delete()
    assert "Late" in text_of(back.get("/boards/wash/"))
    Piece.objects.update(promised_at=timezone.now() + timedelta(minutes=1))
    page = text_of(back.get("/boards/wash/"))
    assert ("Late" in page, "At risk" in page) == (False, False)


def test_held_pieces_stand_apart_with_reason_owner_and_day(back: Client, crew: User) -> None:
    piece = bring(crew, Station.WASH, 1)[0]
    tracking.hold(piece.code, "brass zip?", crew, business_day(), Act(by=crew))
    page = text_of(back.get("/boards/wash/"))
    assert "Nothing waits here." in page
    held = rf"On hold here .* brass zip\? Test Backroom ask today {piece.spoken}"
    assert re.search(held, page)


def test_a_wet_check_stands_as_a_question(back: Client, crew: User) -> None:
    piece = make_ticket(crew, [shirt()]).pieces.get()
    while at_station(piece)[0].step != "wet_check":
        tracking.finish_work(piece.code, Station(piece.station), Act(by=crew))
        piece = Piece.objects.get(pk=piece.pk)
    page = text_of(back.get(f"/boards/{piece.station}/"))
    assert "Gone? red wine" in page


def test_the_assembly_board_names_what_is_not_ready(back: Client, crew: User) -> None:
    ticket = make_ticket(crew, [jumper(), trousers()])
    work_until(ticket.pieces.get(position=1), Station.ASSEMBLY, crew)
    assert re.search(r"Not ready -02 at Intake", text_of(back.get("/boards/assembly/")))


@pytest.mark.parametrize("station", [Station.WASH, Station.ASSEMBLY])
def test_a_board_costs_the_same_number_of_queries_for_1_and_100_pieces(
    back: Client, crew: User, station: Station
) -> None:
    customer = make_customer()
    make_ticket(crew, [jumper(), trousers()], customer=customer)
    Piece.objects.filter(position=1).update(station=station)
    path = f"/boards/{station}/?show=200"
    with_one = count_queries(back, path)
    copies(Piece.objects.get(position=1), 100)
    Piece.objects.update(station=station)
    page = back.get(path).content.decode()
    assert page.count('<li id="card-') >= (11 if station == Station.ASSEMBLY else 100)
    assert count_queries(back, path) == with_one


def test_the_overview_costs_the_same_number_of_queries_for_1_and_100_pieces(
    back: Client, crew: User
) -> None:
    ticket = make_ticket(crew, [jumper()])
    with_one = count_queries(back, "/boards/")
    copies(ticket.pieces.get(), 100)
    assert count_queries(back, "/boards/") == with_one


def test_a_full_board_shows_some_and_offers_the_rest(back: Client, crew: User) -> None:
    copies(make_ticket(crew, [jumper()]).pieces.get(), 29)
    page = back.get("/boards/intake/").content.decode()
    assert page.count('<li id="card-') == 24
    assert "Show more (6 hidden)" in page
    assert back.get("/boards/intake/?show=48").content.decode().count('<li id="card-') == 30
    assert back.get("/boards/intake/?show=rubbish").status_code == 200


def test_an_htmx_request_gets_the_lists_alone(back: Client, crew: User) -> None:
    bring(crew, Station.WASH, 1)
    part = back.get("/boards/wash/", headers={"HX-Request": "true"}).content.decode()
    assert "<html" not in part
    assert '<li id="card-' in part


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


def test_the_assembly_table_tells_what_lies_there_from_what_is_not_ready(
    back: Client, crew: User
) -> None:
    ticket = make_ticket(crew, [jumper(), jumper(), trousers()])
    for position in (1, 2):
        work_until(ticket.pieces.get(position=position), Station.ASSEMBLY, crew)
    page = text_of(back.get("/boards/assembly/"))
    assert "0 of 3 matched To match -01 -02 Not ready -03 at Intake" in page
    held = ticket.pieces.get(position=2)
    tracking.hold(held.code, "zip", crew, business_day(), Act(by=crew))
    page = text_of(back.get("/boards/assembly/"))
    assert "Not ready -02 on hold at Assembly -03 at Intake" in page
    assert "To match -01 Not ready" in page


def test_the_assembly_table_begins_with_what_is_late_and_goes_on_by_promise(
    back: Client, crew: User
) -> None:
    """A complete ticket can be sent on from where it stands; it is put above none that is late."""
    numbers = {}
    for word, hours in (("whole", 30), ("soon", 5), ("late", -1), ("later", -5)):
        ticket = make_ticket(crew, [jumper(), trousers()])
        due = timezone.now() + timedelta(hours=hours)
        ticket.pieces.update(promised_at=due)
        for piece in ticket.pieces.all():
            if word == "whole" or piece.position == 1:
                work_until(piece, Station.ASSEMBLY, crew)
                tracking.assemble(piece.code, Act(by=crew))
        numbers[str(ticket.number)] = word
    forget_open_work()
    page = back.get("/boards/assembly/").content.decode()
    order = re.findall(r'<li id="card-(\d+)"', page)
    assert [numbers[number] for number in order] == ["later", "late", "soon", "whole"]
    assert page.count("Send to the rack") == 1
