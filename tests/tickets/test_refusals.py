"""Refusals of the back room's doors that no other test meets, each with its code."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.utils import timezone

from counter.shop.services import close_on
from tests.building import (
    decide_pieces,
    jumper,
    known,
    make_customer,
    make_machine,
    make_ticket,
    work_until,
)
from tests.tickets.floor import act, at_wash, running, white
from tickets.boards.board_scans import scan
from tickets.choices import Station
from tickets.errors import Refused
from tickets.loads import load_scans
from tickets.loads.planned_pieces import load_piece
from tickets.models import Machine, Programme
from tickets.pieces.decisions import PieceSpec
from tickets.pieces.services import decide_again, open_ticket
from tickets.scanning.results import BAD
from tickets.shop import queries, services
from tickets.shop.calendar import business_day
from tickets.shop.services import save_machine

pytestmark = pytest.mark.django_db


def code_of(door: Callable[..., Any], *values: Any) -> str:
    with pytest.raises(Refused) as no:
        door(*values)
    assert no.value.says
    assert no.value.cure
    return no.value.code


# Pieces


@pytest.mark.parametrize(("count", "code"), [(0, "no_pieces"), (100, "too_many_pieces")])
def test_a_ticket_has_one_piece_at_least_and_99_at_most(crew: User, count: int, code: str) -> None:
    pieces = decide_pieces([PieceSpec(facts=jumper())] * count)
    promised = timezone.now() + timedelta(days=2)
    assert code_of(open_ticket, make_customer(), pieces, promised, act(crew)) == code


def test_a_decision_is_not_made_again_once_work_has_begun(crew: User) -> None:
    piece = work_until(make_ticket(crew, [jumper()]).pieces.get(), Station.PRESS, crew)
    assert code_of(decide_again, piece.code, jumper(), "read again", act(crew)) == "work_begun"


# Loads


def test_a_piece_with_an_open_question_goes_into_no_load(crew: User) -> None:
    [piece] = at_wash(crew, white())
    piece.decision = {**piece.decision, "outcome": "ask"}
    assert code_of(load_piece, piece, Station.WASH) == "not_accepted"


def test_what_no_dryer_may_take_goes_into_no_dryer_load(crew: User) -> None:
    piece = work_until(make_ticket(crew, [jumper()]).pieces.get(), Station.DRY, crew)
    assert code_of(load_piece, piece, Station.DRY) == "no_dryer"


def scanned_at_loads(station: Station, line: str, crew: User) -> str:
    answer = load_scans.scan_loads(station, line, act(crew))
    assert answer.tone == BAD
    return answer.code


def test_the_page_of_loads_says_why_a_tag_opens_none(crew: User) -> None:
    wet = work_until(make_ticket(crew, [jumper()]).pieces.get(), Station.DRY, crew)
    make_machine("Dryer 1", "dryer", 300)
    assert scanned_at_loads(Station.DRY, wet.code, crew) == "in_no_load"
    elsewhere = make_ticket(crew, [white()]).pieces.get()
    assert scanned_at_loads(Station.WASH, elsewhere.code, crew) == "not_waiting"
    assert scanned_at_loads(Station.WASH, str(wet.ticket.number), crew) == "ticket_not_piece"


def test_work_is_scanned_piece_by_piece_and_nothing_at_the_desk(crew: User) -> None:
    piece = make_ticket(crew, [jumper()]).pieces.get()
    whole = scan(Station.INTAKE, str(piece.ticket.number), act(crew))
    assert (whole.tone, whole.code) == (BAD, "ticket_not_piece")
    assert piece.spoken in whole.cure
    desk = scan(Station.PICKUP, piece.code, act(crew))
    assert (desk.tone, desk.code) == (BAD, "no_scan_here")


# The shop


def test_a_machine_that_had_a_load_keeps_its_kind(crew: User) -> None:
    load = running(crew, at_wash(crew, white()))
    machine = known(load.machine)
    machine.kind = "hand_sink"
    assert code_of(save_machine, machine) == "kind_fixed"
    unused = make_machine("Washer 2")
    unused.kind = "hand_sink"
    assert save_machine(unused).kind == "hand_sink"


def test_a_machine_runs_programmes_of_its_own_kind(crew: User) -> None:
    washer, dryer = make_machine(), make_machine("Dryer 1", "dryer", 160)
    programmes = Programme.objects.filter(kind="washer")
    assert save_machine(washer, programmes).programmes.count() == len(programmes) > 1
    assert code_of(save_machine, dryer, programmes) == "other_kind"
    assert dryer.programmes.count() == 0


@pytest.mark.parametrize("kind", ["rail", "flat"])
def test_a_drying_place_holds_something(crew: User, kind: str) -> None:
    assert code_of(save_machine, Machine(name="Place", kind=kind, most_pieces=0)) == "no_places"
    assert Machine.objects.count() == 0


@pytest.mark.parametrize(
    ("wanted", "code"),
    [
        ({"shirt_cotton": 0}, "bad_weight"),
        ({"shirt_cotton": 300, "moon_suit": 1}, "unknown_kind"),
    ],
)
def test_a_weight_that_can_t_be_changes_nothing(
    crew: User, wanted: dict[str, int], code: str
) -> None:
    assert code_of(services.set_weights, wanted) == code
    assert queries.shop_grams() == {}


def crew_on(first: date, last: date) -> None:
    services.set_crew_on(Station.PRESS, Decimal(2), first, last)


def test_a_crew_is_told_for_open_days_that_are_near(crew: User) -> None:
    today = business_day()
    close_on(today + timedelta(days=3), "")
    closed = today + timedelta(days=3)
    assert code_of(crew_on, closed, closed) == "closed_then"
    assert code_of(crew_on, today + timedelta(days=1001), today + timedelta(days=1001)) == (
        "day_too_far"
    )
