"""The late list and what is at risk: when, held up by what, and what would rescue it."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from counter.owner.late import span_words
from tests.counter.rows import act, piece_at, ticket_of
from tests.markup import text
from tickets.models import OpeningHours
from tickets.tracking import services as tracking


def test_the_late_list_says_when_what_holds_up_and_what_would_rescue(
    office: Client, oz: User
) -> None:
    now = timezone.now()
    late = ticket_of(oz, opened=now - timedelta(days=2), promised=now - timedelta(hours=1))
    said = text(office.get("/owner/figures/late/").content)
    assert f"{late.number} {late.customer.name} LATE" in said
    for part in ("Expected ready", "After the promise", "Held up by", "01632 960123"):
        assert part in said
    assert "Nothing in the shop brings it back: call the customer. Carried by hand" in said
    assert "Expected: the work left in the lines of now (what may wait least first)" in said


def test_a_ticket_at_risk_is_shown_with_its_way_out(office: Client, oz: User) -> None:
    """Five hours of queue on a day that never closes."""
    OpeningHours.objects.update(opens="00:00", closes="23:59:59")
    now = timezone.now()
    for _ in range(5):
        ticket_of(oz, stations=("bench",), minutes=60, promised=now + timedelta(hours=7))
    ticket_of(oz, stations=("bench",), minutes=60, promised=now + timedelta(hours=7.1))
    said = text(office.get("/owner/figures/at-risk/").content)
    assert "AT RISK" in said
    assert "Each of these brings it back: Carry it by hand" in said


def test_a_shop_that_never_opens_still_lists_what_is_late(office: Client, oz: User) -> None:
    now = timezone.now()
    late = ticket_of(oz, opened=now - timedelta(days=2), promised=now - timedelta(hours=1))
    OpeningHours.objects.all().delete()
    said = text(office.get("/owner/figures/late/").content)
    assert f"{late.number} {late.customer.name} The shop has no open day" in said
    assert "There is none." in text(office.get("/owner/figures/at-risk/").content)


def test_a_held_ticket_names_its_question(office: Client, oz: User) -> None:
    now = timezone.now()
    held = ticket_of(oz, opened=now - timedelta(days=2), promised=now - timedelta(hours=1))
    tracking.hold(piece_at(held, 1).code, "Which thread?", oz, timezone.localdate(), act(oz))
    said = text(office.get("/owner/figures/late/").content)
    assert "Held up by On hold: Which thread?" in said
    assert "Expected, if answered now" in said


@pytest.mark.parametrize(
    ("minutes", "said"),
    [(40, "40 min"), (200, "3 h 20 min"), (180, "3 h"), (3120, "2 days 4 h"), (1440, "1 day")],
)
def test_spans_of_time_are_said_as_people_say_them(minutes: int, said: str) -> None:
    assert span_words(timedelta(minutes=minutes)) == said
