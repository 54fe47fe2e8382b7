"""What is owed stands in the ticket's own row, and follows every line, payment and return."""

from __future__ import annotations

import importlib
import io
import random
from decimal import Decimal

import pytest
from django.apps import apps
from django.contrib.auth.models import User
from django.core.management import call_command
from django.db import connection

from counter.intake.drafts import Draft, DraftPiece
from counter.intake.services import open_ticket
from counter.models import PriceItem, Shop
from counter.money import services as money
from counter.money.queries import balance, of_hundredths, owed_by, wrongly_kept
from counter.owner import queries as owner
from tests.building import jumper, make_customer, make_shop, make_user
from tests.counter.intake.intaking import LOOKED_OVER
from tests.counter.rows import act, piece_at, rack, ticket_of
from tickets.models import Ticket
from tickets.tracking import services as tracking

pytestmark = pytest.mark.django_db

D = Decimal


@pytest.fixture
def ada() -> User:
    make_shop()
    return make_user("counter", "ada")


def kept(ticket: Ticket) -> Decimal:
    ticket.refresh_from_db()
    return of_hundredths(ticket.owed_minor)


def take(ticket: Ticket, by: User, amount: str, kind: str = "payment") -> None:
    key = f"key-{ticket.payments.count()}-{ticket.pk}"
    money.take(ticket, kind, "cash", D(amount), act(by), key, reason="agreed at the counter")


@pytest.mark.parametrize(
    ("rush", "minimum", "owed"),
    [(False, "0", 1965), (True, "0", 2613), (True, "60", 6000)],  # 33 % of 19.65 is 6.48
)
def test_a_new_ticket_owes_what_its_lines_come_to(
    ada: User, rush: bool, minimum: str, owed: int
) -> None:
    Shop.objects.update(rush_percent=33, minimum_charge=D(minimum))
    PriceItem.objects.filter(service="clean").update(amount=D("6.55"))
    draft = Draft((DraftPiece(jumper(), LOOKED_OVER),) * 3, rush)
    ticket = open_ticket(make_customer(), draft, None, act(ada))
    assert of_hundredths(ticket.owed_minor) == kept(ticket) == balance(ticket).owed
    assert ticket.owed_minor == owed
    assert wrongly_kept() == []


def test_a_payment_lowers_what_is_owed_and_a_refund_raises_it(ada: User) -> None:
    ticket = ticket_of(ada, 2, price="6.55")
    assert (kept(ticket), ticket.owed_minor) == (D("13.10"), 1310)
    take(ticket, ada, "5.01", "deposit")
    assert kept(ticket) == D("8.09")
    take(ticket, ada, "8.09")
    assert kept(ticket) == 0
    take(ticket, ada, "3.10", "refund")
    assert kept(ticket) == D("3.10")


def test_a_payment_sent_twice_lowers_it_once(ada: User) -> None:
    ticket = ticket_of(ada, 1, price="6.50")
    for _time in range(2):
        money.take(ticket, "payment", "cash", D("2.00"), act(ada), "same")
    assert kept(ticket) == D("4.50")


def test_work_that_went_back_undone_is_owed_no_longer(ada: User) -> None:
    ticket = ticket_of(ada, 2, price="6.50")
    ticket.lines.create(text="Rush", amount=D("5.00"))
    money.keep_balances([ticket.pk])
    take(ticket, ada, "10.00")
    tracking.return_undone(piece_at(ticket, 1).code, "cloth too weak", act(ada))
    assert kept(ticket) == D("1.50")
    tracking.return_undone(piece_at(ticket, 2).code, "cloth too weak", act(ada))
    assert kept(ticket) == D("-10.00")
    assert owed_by(ticket) == 0


def test_whatever_happens_in_whatever_order_the_kept_balance_is_the_sum(ada: User) -> None:
    chance = random.Random(4)
    tickets = [ticket_of(ada, 3, price=f"{chance.randint(1, 9999) / 100:.2f}") for _ in range(6)]
    for _act in range(60):
        ticket = chance.choice(tickets)
        now = balance(ticket)
        amount = D(chance.randint(1, 900)) / 100
        if chance.random() < 0.15 and ticket.pieces.exclude(state="returned").exists():
            piece = ticket.pieces.exclude(state="returned").first()
            assert piece is not None
            tracking.return_undone(piece.code, "cloth too weak", act(ada))
        elif amount <= now.to_pay:
            take(ticket, ada, str(amount))
        elif amount <= now.paid:
            take(ticket, ada, str(amount), "refund")
        assert kept(ticket) == balance(ticket).owed
    assert wrongly_kept() == []
    assert len({ticket.owed_minor for ticket in tickets}) > 3


def test_the_check_names_a_balance_that_something_wrote_past_and_mends_it(ada: User) -> None:
    right, wrong = ticket_of(ada, 1, price="6.50"), ticket_of(ada, 1, price="4.00")
    said = io.StringIO()
    call_command("check_balances", stdout=said)
    assert said.getvalue() == "All balances agree.\n"
    Ticket.objects.filter(pk=wrong.pk).update(owed_minor=12)
    said, warned = io.StringIO(), io.StringIO()
    with pytest.raises(SystemExit) as ended:
        call_command("check_balances", stdout=said, stderr=warned)
    assert ended.value.code == 1
    assert said.getvalue() == (f"{wrong.number} owed: stored £0.12, lines and payments say £4.00\n")
    assert warned.getvalue() == "1 found. Look at them, then mend them with --mend.\n"
    assert kept(wrong) == D("0.12")
    said = io.StringIO()
    call_command("check_balances", "--mend", stdout=said)
    assert said.getvalue().splitlines()[-1] == "1 balances mended."
    assert (kept(wrong), kept(right)) == (D("4.00"), D("6.50"))
    call_command("check_balances", stdout=io.StringIO())


def test_an_older_shop_gets_its_balances_when_the_column_comes(ada: User) -> None:
    plain, paid, back = (ticket_of(ada, 2, price="6.50") for _ in range(3))
    take(paid, ada, "13.00")
    take(paid, ada, "0.75", "refund")
    back.lines.create(text="Rush", amount=D("5.00"))
    take(back, ada, "4.00")
    for position in (1, 2):
        tracking.return_undone(piece_at(back, position).code, "cloth too weak", act(ada))
    due = [kept(ticket) for ticket in (plain, paid, back)]
    assert due == [D("13.00"), D("0.75"), D("-4.00")]
    Ticket.objects.update(owed_minor=0)
    importlib.import_module("counter.migrations.0002_balances_kept").fill(apps, None)
    assert [kept(ticket) for ticket in (plain, paid, back)] == due


def test_the_unpaid_list_reads_only_what_owes(ada: User) -> None:
    owing, paid, unready = (ticket_of(ada, 1, price="6.50") for _ in range(3))
    for ticket in (owing, paid):
        rack(ticket, ada)
    take(paid, ada, "6.50")
    assert [ticket.number for ticket in owner.unpaid()] == [owing.number]
    assert owner.unpaid_sum() == (1, D("6.50"))
    assert kept(unready) == D("6.50")
    if connection.vendor == "sqlite":
        for plan in (owner.unpaid().explain(), owner.unpaid().order_by().values("pk").explain()):
            assert "ticket_that_owes" in plan
            assert "SCAN tickets_ticket\n" not in f"{plan}\n"
