"""The answer to a scan is the result and the cards that look otherwise now, and costs no more."""

from __future__ import annotations

import re
import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from tests.building import jumper, make_ticket, trousers, work_until
from tests.markup import flat
from tests.tickets.floor import bring, send, text_of
from tickets.choices import BOARD_STATIONS, Station
from tickets.models import Move

pytestmark = pytest.mark.django_db
HTMX = {"HX-Request": "true"}
MOST_QUERIES = {"api": 8, "page": 12}
"""Of a scan that finishes the work of a machine station: session, and person with roles; the load;
piece with ticket, and steps; three rows written; and for the page the counts of all boards, and the
card that stays: the piece with its customer, its steps, and how the shop writes degrees."""


def queries_of(do: Callable[[], Any]) -> list[str]:
    with CaptureQueriesContext(connection) as seen:
        assert do().status_code == 200
    return [row["sql"] for row in seen if "SAVEPOINT" not in row["sql"]]


def scan_by_api(client: Client, station: str, code: str) -> Any:
    sent = {"station": station, "code": code, "client_key": str(uuid.uuid4())}
    return client.post("/api/v1/scan/", sent, content_type="application/json")


@pytest.mark.parametrize("others", [0, 30])
def test_a_scan_costs_few_queries_whatever_else_waits(
    back: Client, crew: User, others: int
) -> None:
    for _ in range(others // 10):
        make_ticket(crew, [jumper()] * 10).pieces.update(station=Station.WASH)
    first, second = bring(crew, Station.WASH, 2)
    back.get("/boards/wash/")
    on_page = queries_of(lambda: send(back, "wash", first.code, headers=HTMX))
    by_api = queries_of(lambda: scan_by_api(back, "wash", second.code))
    assert Move.objects.filter(kind="worked", from_station=Station.WASH).count() == 2
    counts = {"api": len(by_api), "page": len(on_page)}
    assert all(counts[way] <= MOST_QUERIES[way] for way in counts), counts
    # Neither the session nor anything but the piece, its step and its move is written.
    writes = [sql.split()[:3] for sql in on_page if sql.startswith(("INSERT", "UPDATE", "DELETE"))]
    assert len(writes) == 3, writes


def test_a_piece_that_goes_on_takes_its_card_off_the_board(back: Client, crew: User) -> None:
    gone, stays = bring(crew, Station.WASH, 2)
    page = send(back, "wash", gone.code, headers=HTMX)
    body = page.content.decode()
    assert f'<li id="card-{gone.code}" hx-swap-oob="delete">' in body
    assert stays.code not in body
    assert "1 waiting" in text_of(page)
    assert body.count('<article class="tag') == 1  # its own, with where it goes


def test_the_card_of_work_just_done_stays_until_the_next_scan(back: Client, crew: User) -> None:
    """With script and without: what was done here, and what waits at the next station."""
    done, stays = bring(crew, Station.WASH, 2)
    answer = flat(send(back, "wash", done.code, headers=HTMX).content.decode())
    page = flat(back.get("/boards/wash/").content.decode())
    for body in (answer, page):
        card = body.partition('<div id="done"')[2].partition("</article>")[0]
        assert done.spoken[8:] in card
        assert "30 °C" in card
        assert "Next: Dry, Flat" in card
        assert "Wash done" not in card
    refused = flat(send(back, "wash", done.code[:9] + "x", headers=HTMX).content.decode())
    assert "<article" not in refused.partition('<div id="done"')[2].partition("</div>")[0]
    assert stays.spoken[8:] in flat(back.get("/boards/wash/").content.decode())


def test_a_scan_renews_the_counts_of_all_stations(back: Client, crew: User) -> None:
    first, _second = bring(crew, Station.WASH, 2)
    body = flat(send(back, "wash", first.code, headers=HTMX).content.decode())
    counts = dict(re.findall(r'id="at-(\w+)" hx-swap-oob="true">(\d*)<', body))
    none = {station.value: "" for station in BOARD_STATIONS}
    assert counts == {**none, "wash": "1", "dry": "1"}


def test_a_refusal_is_headed_in_a_few_words(back: Client, crew: User) -> None:
    [piece] = bring(crew, Station.PRESS, 1)
    body = flat(send(back, "wash", piece.code, headers=HTMX).content.decode())
    head = body.partition('class="result-says"')[2].partition("</p>")[0]
    assert "Not moved: not due here" in head
    assert piece.spoken not in head
    assert "does not wait at Wash but at Press" in body
    assert "Take it to Press." in body


def test_a_matched_piece_renews_the_cards_of_its_ticket_and_no_others(
    back: Client, crew: User
) -> None:
    ticket = make_ticket(crew, [jumper(), jumper(), trousers()])
    first, second, third = ticket.pieces.all()
    for piece in (first, second):
        work_until(piece, Station.ASSEMBLY, crew)
    [other] = bring(crew, Station.ASSEMBLY, 1)
    body = send(back, "assembly", first.code, headers=HTMX).content.decode()
    assert f'<li id="card-{ticket.number}" class="tag-wrap" hx-swap-oob="true">' in body
    assert other.code not in body
    assert body.count('<article class="tag') == 2  # in its place and in hand
    assert all(piece.code in body for piece in (second, third))


def test_a_card_that_others_moved_on_goes_when_its_tag_is_refused(back: Client, crew: User) -> None:
    [piece] = bring(crew, Station.PRESS, 1)
    page = send(back, "wash", piece.code, headers=HTMX)
    assert f'<li id="card-{piece.code}" hx-swap-oob="delete">' in page.content.decode()


def test_the_last_piece_leaves_a_board_that_says_so(back: Client, crew: User) -> None:
    [piece] = bring(crew, Station.WASH, 1)
    assert "Nothing waits here." in text_of(send(back, "wash", piece.code, headers=HTMX))


def test_what_a_box_keeps_is_good_for_its_own_session_and_can_not_be_made_up(
    back: Client, desk: Client, crew: User
) -> None:
    [piece] = bring(crew, Station.WASH, 1)
    send(back, "wash", piece.code)
    kept = back.cookies["scan-wash"]
    assert (kept["path"], kept["httponly"], kept["samesite"]) == ("/boards/wash/", True, "Lax")
    says = f"{piece.spoken}: Wash done."
    assert says in text_of(back.get("/boards/wash/"))
    desk.cookies["scan-wash"] = kept.value
    assert says not in text_of(desk.get("/boards/wash/"))
    back.cookies["scan-wash"] = kept.value[:-1] + ("A" if kept.value[-1] != "A" else "B")
    assert says not in text_of(back.get("/boards/wash/"))


def test_a_box_with_long_answers_keeps_as_many_as_a_browser_takes(back: Client, crew: User) -> None:
    pieces = list(make_ticket(crew, [jumper()] * 60).pieces.all())
    pieces[0].ticket.pieces.update(station=Station.ASSEMBLY)
    for piece in pieces[:5]:
        send(back, "assembly", piece.code)
        assert len(back.cookies["scan-assembly"].OutputString()) < 4096
    assert "5 of 60 matched" in text_of(back.get("/boards/assembly/"))
