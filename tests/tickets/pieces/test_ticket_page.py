"""The page of one ticket: what stands first, where it leads, and what it costs."""

from __future__ import annotations

import html
import re
from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from tests.building import jumper, make_ready, make_ticket, trousers, work_until
from tickets.acting import Act
from tickets.choices import Station
from tickets.models import Ticket
from tickets.tracking import services as tracking

pytestmark = pytest.mark.django_db


def text_of(response: Any) -> str:
    plain = re.sub(r"<(script|style).*?</\1>|<[^>]+>", " ", response.content.decode(), flags=re.S)
    return re.sub(r"\s+", " ", html.unescape(plain))


def test_the_ticket_page_says_where_each_piece_is(back: Client, crew: User) -> None:
    ticket = make_ticket(crew, [jumper(), trousers()])
    work_until(ticket.pieces.get(position=1), Station.DRY, crew)
    page = text_of(back.get(f"/tickets/{ticket.number}/"))
    assert re.search(r"-01 wool jumper Dry \w{3} \d", page)
    assert re.search(r"-02 .* Intake", page)
    assert "Ada Brook · 01632 960123" in page


def test_a_ready_ticket_says_so_and_where_it_hangs(back: Client, crew: User) -> None:
    ticket = make_ready(make_ticket(crew, [jumper(), trousers()]), crew, "A2")
    assert "Ready at A2" in text_of(back.get(f"/tickets/{ticket.number}/"))


def test_a_part_can_go_ahead_from_the_ticket_page(back: Client, crew: User) -> None:
    ticket = make_ticket(crew, [jumper(), trousers()])
    first = work_until(ticket.pieces.get(position=1), Station.ASSEMBLY, crew)
    tracking.assemble(first.code, Act(by=crew))
    page = text_of(back.get(f"/tickets/{ticket.number}/"))
    assert "1 matched, 1 not ready" in page
    assert "Rack this part" in page


def test_papers_come_first_only_until_tags_are_printed_or_work_begins(
    back: Client, crew: User
) -> None:
    def order(ticket: Ticket) -> list[str]:
        page = back.get(f"/tickets/{ticket.number}/").content.decode()
        return re.findall(r'<h2 id="(papers|pieces|next|complete)"', page)

    new, begun, printed = (make_ticket(crew, [jumper()]) for _ in range(3))
    tracking.finish_work(begun.pieces.get().code, Station.INTAKE, Act(by=crew))
    back.post(f"/tickets/{printed.number}/tags.pdf", {"size": "roll-62", "start_at": 1})
    assert order(new) == ["papers", "pieces", "next"]
    assert order(begun) == ["pieces", "next", "papers"]
    assert order(printed) == ["pieces", "next", "papers"]


def test_the_ticket_page_leads_to_the_boards_where_its_pieces_wait(
    back: Client, desk: Client, crew: User
) -> None:
    ticket = make_ticket(crew, [jumper(), jumper(), trousers()])
    work_until(ticket.pieces.get(position=1), Station.DRY, crew)
    page = back.get(f"/tickets/{ticket.number}/")
    assert re.search(r"Next Intake: 2 pieces Dry: 1 piece ", text_of(page))
    assert 'href="/boards/dry/"' in page.content.decode()
    assert "Hand over" not in text_of(desk.get(f"/tickets/{ticket.number}/"))


def test_only_the_counter_is_led_from_a_ready_ticket_to_its_pickup(
    back: Client, desk: Client, crew: User
) -> None:
    ticket = make_ready(make_ticket(crew, [jumper()]), crew, "A2")
    assert f'href="/pickup/{ticket.number}/"' in (
        desk.get(f"/tickets/{ticket.number}/").content.decode()
    )
    page = back.get(f"/tickets/{ticket.number}/")
    assert f'href="/pickup/{ticket.number}/"' not in page.content.decode()
    assert "Next The counter hands it over." in text_of(page)


def test_urgency_stands_on_each_piece_only_where_pieces_differ(back: Client, crew: User) -> None:
    ticket = make_ticket(crew, [jumper(), jumper()])
    ticket.pieces.update(promised_at=timezone.now() - timedelta(hours=1))
    path = f"/tickets/{ticket.number}/"
    assert text_of(back.get(path)).count("Late") == 1
    ticket.pieces.filter(position=1).update(promised_at=timezone.now() + timedelta(days=9))
    assert text_of(back.get(path)).count("Late") == 2


def test_a_piece_that_is_ready_no_longer_says_how_to_load_it(back: Client, crew: User) -> None:
    piece = make_ticket(crew, [jumper()]).pieces.get()
    assert "do-load" in back.get(f"/pieces/{piece.code}/").content.decode()
    make_ready(piece.ticket, crew, "A2")
    assert "do-load" not in back.get(f"/pieces/{piece.code}/").content.decode()


def test_a_ticket_page_costs_the_same_for_2_and_20_pieces(back: Client, crew: User) -> None:
    def cost(ticket: Ticket) -> int:
        back.get(f"/tickets/{ticket.number}/")
        with CaptureQueriesContext(connection) as seen:
            back.get(f"/tickets/{ticket.number}/")
        return len(seen)

    assert cost(make_ticket(crew, [jumper()] * 2)) == cost(make_ticket(crew, [jumper()] * 20))
