"""How much the desk shows, and in which order."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from counter.models import IntakeDraft
from tests.building import make_customer
from tests.counter.rows import rack, ticket_of
from tickets.wording import shown_moment

pytestmark = pytest.mark.django_db


def test_a_search_is_cut_at_eighty_characters(counter: Client) -> None:
    for typed, kept in (("x" * 80, "x" * 80), ("x" * 81, "x" * 80), (" a   b ", "a b")):
        assert counter.get("/desk/", {"q": typed}).context["query"] == kept
        carried = counter.get("/customers/new/", {"q": typed}).context["form"].initial
        assert carried == {"name": kept}
    assert counter.get("/customers/new/", {"q": "01632 960"}).context["form"].initial == {
        "phone": "01632 960"
    }
    assert counter.get("/customers/new/").context["form"].initial == {}


def test_the_desk_shows_thirty_tickets_due_today_soonest_first(counter: Client, user: User) -> None:
    soon = timezone.now() + timedelta(hours=1)
    due = [
        ticket_of(user, promised=soon + timedelta(minutes=31 - number), stations=("check",))
        for number in range(31)
    ]
    ticket_of(user, promised=soon + timedelta(days=1))
    groups = counter.get("/desk/").context["due"]
    shown = sorted(ticket.number for group in groups for ticket, _standing in group.rows)
    assert shown == sorted(ticket.number for ticket in due[1:])
    for group in groups:
        promises = [ticket.promised_at for ticket, _standing in group.rows]
        assert promises == sorted(promises)


def test_a_late_list_longer_than_the_desk_says_how_long_it_is(counter: Client, user: User) -> None:
    for number in range(31):
        ticket_of(user, promised=timezone.now() - timedelta(hours=number + 1))
    [late] = counter.get("/desk/").context["due"]
    assert (late.level, late.count, len(late.rows)) == ("late", 31, 30)


def test_late_at_risk_and_today_each_stand_in_their_own_group(counter: Client, user: User) -> None:
    now = timezone.now()
    late = ticket_of(user, promised=now - timedelta(hours=1))
    risky = ticket_of(user, stations=("press",), minutes=600, promised=now + timedelta(minutes=30))
    ready = rack(ticket_of(user, promised=now + timedelta(minutes=20)), user)
    calm = ticket_of(user, stations=("check",), minutes=1, promised=now + timedelta(hours=7))
    groups = counter.get("/desk/").context["due"]
    shown = {group.level: [ticket.number for ticket, _ in group.rows] for group in groups}
    assert shown == {
        "late": [late.number],
        "risk": [risky.number],
        "today": [ready.number, calm.number],
    }


def test_an_empty_desk_names_the_next_promise(counter: Client, user: User) -> None:
    assert "Nothing is late or promised for today." in counter.get("/desk/").content.decode()
    ticket = ticket_of(user, promised=timezone.now() + timedelta(days=2))
    page = counter.get("/desk/")
    assert page.context["next_promise"] == ticket.promised_at
    assert f"The next promise is {shown_moment(ticket.promised_at)}." in page.content.decode()


def test_the_desk_shows_the_twenty_drafts_changed_last(counter: Client, user: User) -> None:
    customer = make_customer()
    drafts = [
        IntakeDraft.objects.create(customer=customer, started_by=user) for _number in range(21)
    ]
    shown = list(counter.get("/desk/").context["drafts"])
    assert len(shown) == 20
    changed = sorted((draft.changed_at for draft in drafts), reverse=True)[:20]
    assert [draft.changed_at for draft in shown] == changed


def test_the_page_of_a_customer_shows_the_thirty_newest_tickets(
    counter: Client, user: User
) -> None:
    customer = make_customer()
    now = timezone.now()
    tickets = [
        ticket_of(user, customer=customer, opened=now - timedelta(days=number))
        for number in range(31)
    ]
    shown = counter.get(f"/customers/{customer.pk}/").context["tickets"]
    assert [ticket.number for ticket, _standing in shown] == [
        ticket.number for ticket in tickets[:30]
    ]
