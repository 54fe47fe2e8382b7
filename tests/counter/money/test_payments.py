"""Money of a ticket: taken once, never too much, never with a card number."""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.utils import timezone
from stdnum import luhn

from counter.models import Payment
from counter.money import services as payments
from counter.money.card_numbers import looks_like_card_number
from counter.money.queries import (
    Balance,
    TakingsRow,
    balance,
    balances,
    payments_by_day,
    takings_of,
)
from tests.building import make_shop, make_user
from tests.counter.rows import act, piece_at, rack, ticket_of
from tickets.errors import Refused
from tickets.models import Ticket
from tickets.shop.calendar import business_day
from tickets.tracking import services as tracking

pytestmark = pytest.mark.django_db

D = Decimal


@pytest.fixture
def ada() -> User:
    make_shop()
    return make_user("counter", "ada")


@pytest.fixture
def ticket(ada: User) -> Ticket:
    return ticket_of(ada, 2, price="6.50")


def take(ticket: Ticket, by: User, amount: str, kind: str = "payment", **more: str) -> Payment:
    words = {"means": "cash", "client_key": f"key-{Payment.objects.count()}", **more}
    taken = payments.take(ticket, kind, amount=D(amount), act=act(by), **words)
    return taken.payment


def refusal(ticket: Ticket, by: User, amount: str, kind: str = "payment", **more: str) -> str:
    before = Payment.objects.count()
    with pytest.raises(Refused) as refused:
        take(ticket, by, amount, kind, **more)
    assert Payment.objects.count() == before
    assert refused.value.says
    assert refused.value.cure
    return refused.value.code


def test_a_balance_is_the_lines_less_what_was_paid(ticket: Ticket, ada: User) -> None:
    assert balance(ticket) == Balance(D("13.00"), D(0))
    take(ticket, ada, "5.00", "deposit")
    assert balance(ticket) == Balance(D("13.00"), D("5.00"))
    assert balance(ticket).owed == D("8.00")


def test_a_refund_raises_the_balance_again(ticket: Ticket, ada: User) -> None:
    take(ticket, ada, "13.00")
    take(ticket, ada, "3.00", "refund", reason="a button was lost")
    assert balance(ticket) == Balance(D("13.00"), D("10.00"))


def test_a_key_takes_one_payment_however_often_it_is_sent(ticket: Ticket, ada: User) -> None:
    first = payments.take(ticket, "payment", "card", D("4.00"), act(ada), "same")
    again = payments.take(ticket, "payment", "card", D("4.00"), act(ada), "same")
    assert (first.repeated, again.repeated) == (False, True)
    assert again.payment == first.payment
    assert Payment.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_taps_at_the_same_moment_take_one_payment(ticket: Ticket, ada: User) -> None:
    start = threading.Barrier(4)

    def tap(_number: int) -> bool:
        try:
            start.wait()
            taken = payments.take(ticket, "payment", "card", D("13.00"), act(ada), "same")
            return taken.repeated
        finally:
            connection.close()

    with ThreadPoolExecutor(4) as tills:
        repeated = sorted(tills.map(tap, range(4)))
    assert repeated == [False, True, True, True]
    assert [row.amount for row in Payment.objects.all()] == [D("13.00")]


def test_a_known_key_with_another_amount_is_refused_and_not_swallowed(
    ticket: Ticket, ada: User
) -> None:
    take(ticket, ada, "4.00", client_key="same")
    assert refusal(ticket, ada, "5.00", client_key="same") == "key_used"


def test_more_than_is_owed_is_refused(ticket: Ticket, ada: User) -> None:
    assert refusal(ticket, ada, "13.01") == "overpaid"
    take(ticket, ada, "13.00")
    assert refusal(ticket, ada, "0.01") == "overpaid"


def test_a_refund_is_never_above_what_was_paid(ticket: Ticket, ada: User) -> None:
    take(ticket, ada, "5.00")
    assert refusal(ticket, ada, "5.01", "refund", reason="complaint") == "refund_too_high"


def test_a_refund_needs_a_reason(ticket: Ticket, ada: User) -> None:
    take(ticket, ada, "5.00")
    assert refusal(ticket, ada, "1.00", "refund", reason="  ") == "no_reason"


@pytest.mark.parametrize("amount", ["0", "-1", "0.001", "NaN", "Infinity", "100000"])
def test_an_amount_that_is_none_is_refused(ticket: Ticket, ada: User, amount: str) -> None:
    assert refusal(ticket, ada, amount) == "bad_amount"


@pytest.mark.parametrize(("kind", "means"), [("gift", "cash"), ("payment", "cheque"), ("", "")])
def test_an_unknown_kind_or_means_is_refused(
    ticket: Ticket, ada: User, kind: str, means: str
) -> None:
    assert refusal(ticket, ada, "1.00", kind, means=means) == "bad_choice"


@pytest.mark.parametrize(
    "reason",
    [
        "4111111111111111",
        "4111 1111 1111 1111",
        "4111-1111-1111-1111",
        "123456789012",
        "paid with 4111 1111 1111 1111 today",
        "1234567890123456789",
    ],
)
def test_a_reason_that_looks_like_a_card_number_is_refused(
    ticket: Ticket, ada: User, reason: str
) -> None:
    assert refusal(ticket, ada, "1.00", reason=reason) == "card_number"


@pytest.mark.parametrize(
    "reason",
    ["", "piece 1000001-02", "call +44 7700 900123 first", "12345678901", "page 20 of 4111 1111"],
)
def test_other_words_and_figures_are_no_card_number(reason: str) -> None:
    assert not looks_like_card_number(reason)


def test_the_check_digit_agrees_with_an_independent_library() -> None:
    """ISO/IEC 7812-1, formula for the check digit; python-stdnum is the second opinion."""
    for body in ("411111111111111", "550000000000000", "340000000000001", "601100000000000"):
        for digit in "0123456789":
            number = body + digit
            verdict = looks_like_card_number(f"was {number} there")
            assert verdict == luhn.is_valid(number), number


def test_work_that_went_back_undone_is_not_charged(ticket: Ticket, ada: User) -> None:
    take(ticket, ada, "13.00")
    tracking.return_undone(piece_at(ticket, 2).code, "cloth too weak", act(ada))
    assert balance(ticket) == Balance(D("6.50"), D("13.00"))
    assert balance(ticket).to_return == D("6.50")
    assert balance(ticket).to_pay == 0


def test_the_rush_line_falls_away_with_the_last_charged_piece(ticket: Ticket, ada: User) -> None:
    ticket.lines.create(text="Rush", amount=D("5.00"))
    assert balance(ticket).total == D("18.00")
    tracking.return_undone(piece_at(ticket, 1).code, "cloth too weak", act(ada))
    assert balance(ticket).total == D("11.50")
    tracking.return_undone(piece_at(ticket, 2).code, "cloth too weak", act(ada))
    assert balance(ticket).total == 0


def test_change_is_what_is_left_of_the_cash_given() -> None:
    assert payments.change_for(D("20.00"), D("13.00")) == D("7.00")
    with pytest.raises(Refused) as refused:
        payments.change_for(D("10.00"), D("13.00"))
    assert refused.value.code == "too_little_given"


def test_the_takings_of_a_day_add_up_by_kind_and_means(ticket: Ticket, ada: User) -> None:
    take(ticket, ada, "2.00", "deposit", means="cash")
    take(ticket, ada, "3.00", "payment", means="cash")
    take(ticket, ada, "4.00", "payment", means="card")
    take(ticket, ada, "1.00", "payment", means="card")
    take(ticket, ada, "1.50", "refund", means="cash", reason="late")
    yesterday = act(ada, timezone.now() - timedelta(days=1))
    payments.take(ticket, "payment", "cash", D("0.50"), yesterday, "old")
    today = business_day()
    takings = takings_of(row[1:] for row in payments_by_day(today, today))
    assert takings.rows == [
        TakingsRow("deposit", "cash", 1, D("2.00")),
        TakingsRow("payment", "cash", 1, D("3.00")),
        TakingsRow("payment", "card", 2, D("5.00")),
        TakingsRow("refund", "cash", 1, D("-1.50")),
    ]
    assert takings.total == D("8.50")


def test_balances_of_many_tickets_cost_two_queries(
    ada: User, django_assert_num_queries: object
) -> None:
    tickets = [ticket_of(ada, price="2.00") for _ in range(12)]
    with django_assert_num_queries(2):  # type: ignore[operator]
        balance_of = balances([row.pk for row in tickets])
    assert {row.owed for row in balance_of.values()} == {D("2.00")}


def pay_form(**changes: str) -> dict[str, str]:
    return {
        "kind": "payment",
        "means": "cash",
        "amount": "13.00",
        "given": "",
        "reason": "",
        "key": "form-key",
        **changes,
    }


@pytest.fixture
def till(client: Client, ada: User) -> Client:
    client.force_login(ada)
    return client


def test_the_pay_form_takes_money_and_shows_the_change(till: Client, ticket: Ticket) -> None:
    home = f"/pickup/{ticket.number}/"
    answer = till.post(
        f"/tickets/{ticket.number}/pay/", pay_form(given="20", next=home), follow=True
    )
    assert answer.status_code == 200
    assert "Change to give back: £7.00" in answer.content.decode()
    assert [
        (payment.amount, payment.means, payment.by.username) for payment in Payment.objects.all()
    ] == [(D("13.00"), "cash", "ada")]


def test_the_pay_form_sent_twice_takes_one_payment(till: Client, ticket: Ticket) -> None:
    for _ in range(2):
        form = pay_form(next=f"/pickup/{ticket.number}/")
        answer = till.post(f"/tickets/{ticket.number}/pay/", form, follow=True)
        assert answer.status_code == 200
    assert Payment.objects.count() == 1
    assert "already recorded" in answer.content.decode()


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"amount": "14"}, "more than the £13.00 still to pay"),
        ({"amount": "4O"}, "4O is not an amount"),
        ({"amount": ""}, "required"),
        ({"given": "10"}, "is less than the £13.00 to take"),
        ({"reason": "4111111111111111"}, "looks like a card number"),
        ({"kind": "refund", "amount": "1"}, "A refund needs a reason"),
        ({"means": "cheque"}, "cheque"),
        ({"key": ""}, "one-time key"),
    ],
)
def test_the_pay_form_says_what_is_wrong_and_keeps_nothing(
    till: Client, ticket: Ticket, changes: dict[str, str], says: str
) -> None:
    answer = till.post(f"/tickets/{ticket.number}/pay/", pay_form(**changes))
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert Payment.objects.count() == 0


def test_the_pay_page_opens_by_itself(till: Client, ticket: Ticket) -> None:
    answer = till.get(f"/tickets/{ticket.number}/pay/")
    assert answer.status_code == 200
    page = answer.content.decode()
    assert 'name="kind" value="deposit"' in page
    assert 'value="13.00"' not in page  # a tap too early must not book the whole sum


def test_the_pay_form_of_a_ready_ticket_holds_what_is_owed(till: Client, ticket: Ticket) -> None:
    rack(ticket, ticket.opened_by)
    page = till.get(f"/tickets/{ticket.number}/pay/").content.decode()
    assert 'name="kind" value="payment"' in page
    assert 'value="13.00"' in page


def test_the_pay_page_refuses_other_methods_and_people(client: Client, ticket: Ticket) -> None:
    address = f"/tickets/{ticket.number}/pay/"
    assert client.get(address).status_code == 302
    client.force_login(make_user("backroom", "bo"))
    assert client.post(address, pay_form()).status_code == 403
    client.force_login(make_user("owner", "oz"))
    assert client.put(address).status_code == 405
    assert client.post("/tickets/1999999/pay/", pay_form()).status_code == 404
    assert Payment.objects.count() == 0


def test_paying_comes_back_to_where_it_began_and_to_no_other_house(
    till: Client, ticket: Ticket
) -> None:
    address = f"/tickets/{ticket.number}/pay/"
    rack(ticket, User.objects.get(username="ada"))
    home = till.post(address, pay_form(amount="1", key="a", next=f"/pickup/{ticket.number}/"))
    assert home.headers["Location"] == f"/pickup/{ticket.number}/"
    away = till.post(address, pay_form(amount="1", key="b", next="https://example.org/"))
    assert away.headers["Location"] == f"/tickets/{ticket.number}/"


def test_the_pay_form_remembers_where_it_was_opened(till: Client, ticket: Ticket) -> None:
    address = f"/tickets/{ticket.number}/pay/"
    opened = till.get(address).content.decode()
    assert f'name="next" value="{address}"' in opened
    came_from = f"/pickup/{ticket.number}/"
    refused = till.post(address, pay_form(amount="", next=came_from)).content.decode()
    assert f'name="next" value="{came_from}"' in refused
