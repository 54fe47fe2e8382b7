"""Payments over the API: money taken once."""

from __future__ import annotations

import pytest
from rest_framework.test import APIClient

from counter.models import Payment, TicketLine
from tests.api_calls import V1
from tickets.models import Ticket

KEY = "6f0c4d52-6f3d-4f6c-9c35-0d9a4d1f2b11"


def test_a_payment_is_taken_once(api_counter: APIClient, jumper_ticket: Ticket) -> None:
    TicketLine.objects.create(
        ticket=jumper_ticket, text="Clean", amount="6.00", piece=jumper_ticket.pieces.get()
    )
    sent = {"means": "cash", "amount": "4.00", "client_key": KEY}
    first = api_counter.post(f"{V1}/tickets/{jumper_ticket.number}/payments/", sent)
    second = api_counter.post(f"{V1}/tickets/{jumper_ticket.number}/payments/", sent)
    assert (first.status_code, second.status_code) == (201, 200)
    assert first.json() == second.json()
    assert (first.json()["payment"]["amount"], first.json()["balance"]) == ("4.00", "2.00")
    assert Payment.objects.count() == 1
    shown = api_counter.get(f"{V1}/tickets/{jumper_ticket.number}/").json()
    assert (shown["paid"], shown["balance"], len(shown["payments"])) == ("4.00", "2.00", 1)


@pytest.mark.parametrize(
    ("changes", "status", "code"),
    [
        ({"amount": "99.00"}, 409, "overpaid"),
        ({"amount": "0"}, 400, "invalid"),
        ({"amount": "-1"}, 400, "invalid"),
        ({"amount": "1e400"}, 400, "invalid"),
        ({"means": "shells"}, 400, "invalid"),
        ({"kind": "refund"}, 400, "no_reason"),
        ({"reason": "4111 1111 1111 1111"}, 409, "card_number"),
        ({"knd": "refund"}, 400, "invalid"),
    ],
)
def test_a_payment_that_cannot_be_is_refused(
    api_counter: APIClient, jumper_ticket: Ticket, changes: dict[str, str], status: int, code: str
) -> None:
    TicketLine.objects.create(
        ticket=jumper_ticket, text="Clean", amount="6.00", piece=jumper_ticket.pieces.get()
    )
    sent = {"means": "cash", "amount": "4.00", "client_key": KEY, **changes}
    response = api_counter.post(f"{V1}/tickets/{jumper_ticket.number}/payments/", sent)
    assert (response.status_code, response.json()["code"]) == (status, code)
    assert Payment.objects.count() == 0


def test_the_key_of_one_payment_is_no_key_of_another(
    api_counter: APIClient, jumper_ticket: Ticket
) -> None:
    TicketLine.objects.create(
        ticket=jumper_ticket, text="Clean", amount="6.00", piece=jumper_ticket.pieces.get()
    )
    sent = {"means": "cash", "amount": "4.00", "client_key": KEY}
    path = f"{V1}/tickets/{jumper_ticket.number}/payments/"
    assert api_counter.post(path, sent).status_code == 201
    other = api_counter.post(path, {**sent, "amount": "2.00"})
    assert (other.status_code, other.json()["code"]) == (409, "key_used")
    assert Payment.objects.count() == 1


def test_a_payment_for_an_unknown_ticket_is_404(api_counter: APIClient) -> None:
    sent = {"means": "cash", "amount": "4.00", "client_key": KEY}
    response = api_counter.post(f"{V1}/tickets/1000009/payments/", sent)
    assert (response.status_code, response.json()["code"]) == (404, "unknown_ticket")
