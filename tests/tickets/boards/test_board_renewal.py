"""A board asks whether anything changed, and says the same of a piece after a scan as before."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from rest_framework.test import APIClient

from tests.api_calls import V1
from tests.building import jumper, make_ticket, work_until
from tests.markup import flat
from tests.tickets.floor import bring, send, text_of
from tickets.acting import Act
from tickets.choices import Station
from tickets.models import Piece
from tickets.promise.expected import Outlook
from tickets.promise.open_work import current_mark, forget_open_work
from tickets.promise.queries import open_pieces
from tickets.promise.urgency import urgency_at, urgency_of_moved
from tickets.tracking import services as tracking

HTMX = {"HX-Request": "true"}


def renew(back: Client, mark: str) -> int:
    return back.get("/boards/wash/", {"show": "24", "seen": mark}, headers=HTMX).status_code


def test_a_board_that_is_as_it_was_gets_an_empty_answer(
    back: Client, crew: User, clock: time_machine.Traveller
) -> None:
    """Until a piece moves, wherever it be, or five minutes are over."""
    [piece] = bring(crew, Station.DRY, 1)
    bring(crew, Station.WASH, 1)
    whole = flat(back.get("/boards/wash/").content.decode())
    mark = current_mark(timezone.now())
    assert f'id="seen" name="seen" value="{mark}"' in whole
    assert 'hx-include="#shown, #seen"' in whole
    assert renew(back, mark) == 204
    assert renew(back, "") == renew(back, "another") == 200
    tracking.finish_work(piece.code, Station.DRY, Act(by=crew))
    assert renew(back, mark) == 200
    mark = current_mark(timezone.now())
    assert renew(back, mark) == 204
    clock.shift(timedelta(minutes=5))
    assert renew(back, mark) == 200


def test_the_whole_page_is_never_empty(back: Client, crew: User) -> None:
    mark = current_mark(timezone.now())
    assert back.get("/boards/wash/", {"seen": mark}).status_code == 200


def test_an_unchanged_board_costs_one_query_beside_the_sign_in(back: Client, crew: User) -> None:
    bring(crew, Station.WASH, 3)
    back.get("/boards/wash/")
    with CaptureQueriesContext(connection) as made:
        assert renew(back, current_mark(timezone.now())) == 204
    own = [query["sql"] for query in made if "django_session" not in query["sql"]]
    own = [sql for sql in own if "auth_" not in sql]
    assert len(own) == 2  # one of them is the test's own


def test_the_api_answers_304_to_who_knows_the_board(
    api_back: APIClient, clock: time_machine.Traveller
) -> None:
    path = f"{V1}/boards/wash/"
    tag = api_back.get(path)["ETag"]
    known = api_back.get(path, headers={"If-None-Match": tag})
    assert (known.status_code, known.content, known["ETag"]) == (304, b"", tag)
    clock.shift(timedelta(minutes=5))
    assert api_back.get(path, headers={"If-None-Match": tag}).status_code == 200
    assert api_back.get(path, headers={"If-None-Match": '"another"'}).status_code == 200


def test_a_filter_that_is_not_known_is_refused_though_nothing_changed(
    api_back: APIClient,
) -> None:
    path = f"{V1}/boards/wash/"
    tag = api_back.get(path)["ETag"]
    refused = api_back.get(path, {"colour": "red"}, headers={"If-None-Match": tag})
    assert refused.status_code == 400


def on_the_table(crew: User) -> Piece:
    """The first piece of two; the other one is still to come."""
    ticket = make_ticket(crew, [jumper(), jumper()])
    return work_until(ticket.pieces.get(position=1), Station.ASSEMBLY, crew)


@pytest.mark.parametrize(("minutes", "word"), [(50, "risk"), (5000, "due"), (-1, "late")])
def test_a_piece_just_moved_is_as_urgent_as_on_the_board(
    back: Client, crew: User, minutes: int, word: str
) -> None:
    """Two queries, and no other ticket is read, whatever waits."""
    [piece, *_others] = bring(crew, Station.WASH, 5)
    due = timezone.now() + timedelta(minutes=minutes)
    Piece.objects.filter(pk=piece.pk).update(promised_at=due)
    forget_open_work()
    back.get("/boards/wash/")
    tracking.hold(piece.code, "zip?", crew, timezone.localdate(), Act(by=crew))
    tracking.release(piece.code, "mend it", Act(by=crew))
    now, row = timezone.now(), Piece.objects.get(pk=piece.pk)
    with CaptureQueriesContext(connection) as made:
        said = urgency_of_moved(open_pieces(now, [row.pk]), now)(row)
    assert len(made) == 2
    assert said == urgency_at(now)(row) == word


def test_a_matched_piece_is_no_more_at_risk_in_the_answer_to_its_scan(
    back: Client, crew: User
) -> None:
    """Nothing is left to do at it: so says the scan, and so the board."""
    piece = on_the_table(crew)
    Piece.objects.filter(pk=piece.pk).update(promised_at=timezone.now() + timedelta(minutes=15))
    forget_open_work()
    assert "At risk" in text_of(back.get("/boards/assembly/"))
    scanned = send(back, "assembly", piece.code, headers=HTMX)
    assert f'id="card-{piece.ticket.number}"' in flat(scanned.content.decode())
    assert "At risk" not in text_of(scanned)
    assert "At risk" not in text_of(back.get("/boards/assembly/"))


def test_a_scan_forecasts_no_more_than_its_card(
    back: Client, crew: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Not even where this process has never read the open work; and then it reads nothing."""
    pieces = [on_the_table(crew) for _ in range(4)]
    reckoned: list[int] = []
    reckon = Outlook._reckon

    def counted(outlook: Outlook, case: Any) -> Any:
        reckoned.append(case.ticket.number)
        return reckon(outlook, case)

    monkeypatch.setattr(Outlook, "_reckon", counted)
    forget_open_work()
    send(back, "assembly", pieces[0].code, headers=HTMX)
    assert reckoned == [pieces[0].ticket.number]
    with CaptureQueriesContext(connection) as made:
        send(back, "assembly", pieces[1].code, headers=HTMX)
    assert reckoned == [pieces[0].ticket.number, pieces[1].ticket.number]
    asked = [query["sql"] for query in made]
    assert not [sql for sql in asked if "tickets_crewday" in sql or "tickets_openinghours" in sql]
