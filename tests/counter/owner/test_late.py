"""The late list and what is at risk: when, held up by what, and what would rescue it."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from counter.owner.wording import span_words
from tests.counter.rows import act, piece_at, ticket_of
from tests.markup import text
from tickets.models import OpeningHours
from tickets.tracking import services as tracking


def test_the_late_list_is_a_table_of_when_who_where_and_what_helps(
    office: Client, oz: User
) -> None:
    now = timezone.now()
    late = ticket_of(oz, opened=now - timedelta(days=2), promised=now - timedelta(hours=1))
    html = office.get("/owner/figures/late/").content
    said = text(html)
    assert "Promised Customer Stands at Expected What helps Phone Number" in said
    assert f"{late.customer.name} , {late.number}" in said
    station = late.pieces.get().get_station_display()
    assert f"{late.number} {station} " in said
    assert "Call the customer soonest" in said
    assert said.count("01632 960123") == 1
    assert "Expected: the work left in the lines of now (what may wait least first)" in said


def test_no_row_of_the_late_list_is_a_sentence(office: Client, oz: User) -> None:
    """A cell has a few words; how they are reckoned is said once, under the table."""
    now = timezone.now()
    for _ in range(3):
        ticket_of(oz, opened=now - timedelta(days=2), promised=now - timedelta(hours=1))
    html = office.get("/owner/figures/late/").content.decode()
    cells = re.findall(r"<td.*?</td>", html, flags=re.S)
    assert len(cells) == 3 * 6
    said = [text(cell.encode()) for cell in cells]
    assert [cell for cell in said if "." in cell or len(cell.split()) > 12] == []


def test_a_ticket_at_risk_is_shown_with_its_ways_out(office: Client, oz: User) -> None:
    """Five hours of queue on a day that never closes."""
    OpeningHours.objects.update(opens="00:00", closes="23:59:59")
    now = timezone.now()
    for _ in range(5):
        ticket_of(oz, stations=("bench",), minutes=60, promised=now + timedelta(hours=7))
    asked = ticket_of(oz, stations=("bench",), minutes=60, promised=now + timedelta(hours=7.1))
    html = office.get("/owner/figures/at-risk/").content.decode()
    assert "At risk 1" in text(html.encode())
    doors = dict(re.findall(r'<a class="door" href="([^"]+)">([^<]+)</a>', html))
    assert doors[f"/tickets/{asked.number}/"] == "Carry by hand"
    assert doors["/plan/crew/"] == "One more at Bench"
    assert "Call the customer" not in html


def test_a_shop_that_never_opens_still_lists_what_is_late(office: Client, oz: User) -> None:
    now = timezone.now()
    late = ticket_of(oz, opened=now - timedelta(days=2), promised=now - timedelta(hours=1))
    OpeningHours.objects.all().delete()
    said = text(office.get("/owner/figures/late/").content)
    assert f"{late.customer.name} , {late.number} The shop has no open day" in said
    assert "There is none." in text(office.get("/owner/figures/at-risk/").content)


def test_a_held_ticket_names_its_question_and_where_it_is_answered(
    office: Client, oz: User
) -> None:
    now = timezone.now()
    held = ticket_of(oz, opened=now - timedelta(days=2), promised=now - timedelta(hours=1))
    piece = piece_at(held, 1)
    tracking.hold(piece.code, "Which thread?", oz, timezone.localdate(), act(oz))
    html = office.get("/owner/figures/late/").content
    said = text(html)
    assert "Which thread?" in said
    assert "late if answered now" in said
    assert f'<a class="door" href="/pieces/{piece.code}/">Answer the question</a>' in html.decode()
    assert "Answer the question Call the customer" in said


@pytest.mark.parametrize(
    ("minutes", "said"),
    [(40, "40 min"), (200, "3 h 20 min"), (180, "3 h"), (3120, "2 days 4 h"), (1440, "1 day")],
)
def test_spans_of_time_are_said_as_people_say_them(minutes: int, said: str) -> None:
    assert span_words(timedelta(minutes=minutes)) == said
