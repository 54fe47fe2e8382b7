"""Rush: what going first costs the others is told before the ticket opens."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from counter.intake.drafts import PieceChanges
from counter.intake.judge import judge
from counter.intake.queries import read_draft
from counter.models import IntakeDraft, PriceItem, Shop
from tests.building import jumper, make_customer, make_ticket, outlook_of, trousers, work_until
from tests.counter.intake.intaking import LOOKED_OVER, draft_of
from tickets.choices import Station
from tickets.models import Ticket
from tickets.promise.open_work import forget_open_work
from tickets.wording import short_name

pytestmark = pytest.mark.django_db

HTMX = {"HX-Request": "true", "HX-Target": "sums"}


@pytest.fixture
def draft(counter: Client) -> IntakeDraft:
    """Trousers to hem, with nothing left to answer."""
    PriceItem.objects.create(service="press", amount=Decimal("2.50"))
    piece: PieceChanges = {
        "facts": trousers(),
        "inspection": LOOKED_OVER,
        "prices": {"work/trouser_hem_plain": "12.50"},
    }
    return draft_of(clerk(), piece)


def clerk() -> User:
    return User.objects.get(username="test-counter")


def tight_tickets(count: int, name: str = "Ada Mary Brook") -> list[Ticket]:
    """Hems of other customers that lie at the bench, each with just a quarter of an hour left."""
    by, now = clerk(), timezone.now()
    customer = make_customer(name, "01632 960777")
    far = now + timedelta(days=60)
    made = [make_ticket(by, [trousers()], customer=customer, promised_at=far) for _ in range(count)]
    for ticket in made:
        work_until(ticket.pieces.get(), Station.BENCH, by)
    expected = outlook_of(now).tickets
    for ticket in made:
        set_promise(ticket, expected[ticket.number].at + timedelta(minutes=15))
    return made


def set_promise(ticket: Ticket, due: datetime) -> None:
    Ticket.objects.filter(pk=ticket.pk).update(promised_at=due)
    ticket.pieces.update(promised_at=due)
    forget_open_work()


def words(html: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def test_a_tick_of_rush_names_who_would_become_late_and_what_it_adds(
    counter: Client, draft: IntakeDraft
) -> None:
    [other] = tight_tickets(1)
    fragment = counter.post(f"/intake/{draft.pk}/", {"rush": "on"}, headers=HTMX).content.decode()
    assert "<html" not in fragment
    due = timezone.localtime(Ticket.objects.get(pk=other.pk).promised_at)
    said = words(fragment)
    assert "1 other ticket would become late:" in said
    assert f"{other.number} Brook A. promised {due:%a} {due.day} {due:%b}, {due:%H:%M}" in said
    # A pressed hem at 12.50 and 2.50; the shop of the tests asks half as much again for rush.
    assert Shop.current().rush_percent == 50
    assert "£7.50 more." in said


def test_it_says_what_is_gained_and_when_nothing_is(counter: Client, draft: IntakeDraft) -> None:
    """In an empty shop rush gains nothing; behind forty hems for tomorrow it gains days."""
    path = f"/intake/{draft.pk}/"
    alone = words(counter.post(path, {"rush": "on"}, headers=HTMX).content.decode())
    assert "Rush makes it no earlier:" in alone
    make_ticket(clerk(), [trousers()] * 40, promised_at=timezone.now() + timedelta(days=1))
    behind = words(counter.post(path, {"rush": "on"}, headers=HTMX).content.decode())
    assert re.search(r"Ready \w{3} \d+ \w{3}, \d\d:\d\d; without rush \w{3} \d+", behind)
    assert "no earlier" not in behind


def test_with_time_to_spare_nobody_is_named(counter: Client, draft: IntakeDraft) -> None:
    make_ticket(clerk(), [jumper()])
    page = words(counter.post(f"/intake/{draft.pk}/", {"rush": "on"}).content.decode())
    assert "No other ticket would become late." in page
    quiet = words(counter.post(f"/intake/{draft.pk}/", {}).content.decode())
    assert "become late" not in quiet


def test_without_script_the_cost_is_shown_first_and_the_next_press_opens(
    counter: Client, draft: IntakeDraft
) -> None:
    [other] = tight_tickets(1)
    path = f"/intake/{draft.pk}/open/"
    shown = counter.post(path, {"rush": "on"})
    html = shown.content.decode()
    assert (shown.status_code, Ticket.objects.count()) == (422, 1)
    assert "Rush: read what it costs, then open the ticket." in words(html)
    assert str(other.number) in words(html)
    [answer] = re.findall(r'name="rush_shown" value="([^"]+)"', html)
    assert counter.post(path, {"rush": "on", "rush_shown": answer}).status_code == 302
    assert Ticket.objects.latest("number").rush is True


def test_a_ticket_without_rush_opens_at_once(counter: Client, draft: IntakeDraft) -> None:
    tight_tickets(1)
    assert counter.post(f"/intake/{draft.pk}/open/", {}).status_code == 302
    assert Ticket.objects.latest("number").rush is False


def test_many_late_ones_are_counted_and_the_first_promised_are_named(
    counter: Client, draft: IntakeDraft
) -> None:
    late = tight_tickets(7)
    draft.rush = True
    cost = judge(read_draft(draft), timezone.now()).rush
    assert cost is not None
    assert (cost.late_count, len(cost.named), cost.more) == (7, 5, 2)
    assert [delayed.number for delayed in cost.named] == [delayed.number for delayed in late[:5]]
    assert {delayed.customer for delayed in cost.named} == {short_name("Ada Mary Brook")}


def test_the_cost_of_rush_takes_the_same_queries_for_one_late_ticket_and_for_many(
    counter: Client, draft: IntakeDraft
) -> None:
    def queries() -> tuple[int, int]:
        forget_open_work()
        with CaptureQueriesContext(connection) as made:
            cost = judge(read_draft(draft), timezone.now()).rush
        assert cost is not None
        return cost.late_count, len(made)

    draft.rush = True
    tight_tickets(1)
    few, once = queries()
    tight_tickets(11, "Bo Finch")
    many, later = queries()
    assert (few, once) == (1, later)
    assert many >= 11
