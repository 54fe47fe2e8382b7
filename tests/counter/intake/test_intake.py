"""Opening a ticket: all of it or nothing, once, inspected, accepted by name, and priced."""

from __future__ import annotations

import threading
import uuid
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.utils import timezone

from counter.intake.drafts import Draft, DraftPiece
from counter.intake.inspection import inspection_faults
from counter.intake.judge import judge
from counter.intake.services import open_ticket
from counter.models import TicketLine
from tests.building import (
    earliest_promise,
    jumper,
    known,
    make_customer,
    make_shop,
    make_user,
    shirt,
    trousers,
)
from tests.counter.intake.intaking import (
    LOOKED_OVER,
    STAINED,
    beaded_dress,
    counted,
    holds_of,
    petrol_towel,
)
from tickets.acting import Act
from tickets.errors import Refused
from tickets.garments.customers import checked_customer
from tickets.models import Acceptance, Customer, Piece, Ticket

pytestmark = pytest.mark.django_db


def test_a_ticket_opens_with_price_lines_and_a_promise_worked_out_from_the_queues(
    user: User,
) -> None:
    spec = DraftPiece(jumper(), LOOKED_OVER)
    ticket = open_ticket(make_customer(), Draft((spec,)), None, Act(by=user))
    lines = [(line.text, line.amount, known(line.piece).position) for line in ticket.lines.all()]
    assert lines == [("Clean and press", Decimal("6.00"), 1)]
    earliest = earliest_promise(
        [(piece.facts, piece.care_decision) for piece in ticket.pieces.all()], ticket.opened_at
    )
    # Its own steps have joined the queue since, so the next customer waits at least as long.
    assert ticket.opened_at < ticket.promised_at <= earliest.ready_at


def test_a_piece_is_decided_with_the_shops_own_machines_and_the_usual_weight_of_its_kind(
    user: User,
) -> None:
    facts = jumper(shop={"wet_cleaning": True, "dry_cleaning": ["P"], "send_out": []})
    ticket = open_ticket(
        make_customer(), Draft((DraftPiece(facts, LOOKED_OVER),)), None, Act(by=user)
    )
    piece = ticket.pieces.get()
    assert piece.facts["shop"] == {
        "wet_cleaning": False,
        "dry_cleaning": [],
        "send_out": ["dry_clean", "wet_clean", "leather"],
    }
    # 450 g for a wool jumper: row weight.sweater_wool of the process table (an estimate).
    assert piece.weight_g == 450


def test_a_repeated_key_returns_the_first_ticket_and_writes_nothing(user: User) -> None:
    key, customer = uuid.uuid4(), make_customer()
    spec = DraftPiece(jumper(), LOOKED_OVER)
    first = open_ticket(customer, Draft((spec,)), None, Act(by=user), client_key=key)
    before = counted()
    again = open_ticket(
        customer,
        Draft(
            (
                spec,
                spec,
            )
        ),
        None,
        Act(by=user),
        client_key=key,
    )
    assert (again, counted()) == (first, before)


@pytest.mark.parametrize(
    ("spec", "code"),
    [
        (DraftPiece(jumper(services=[]), LOOKED_OVER), "no_service"),
        (DraftPiece(jumper(), {}), "not_inspected"),
        (DraftPiece(shirt(), LOOKED_OVER), "not_inspected"),
        (DraftPiece(jumper(), STAINED), "not_inspected"),
        (DraftPiece(petrol_towel(), LOOKED_OVER), "declined"),
        (DraftPiece(beaded_dress(), LOOKED_OVER), "needs_acceptance"),
        (DraftPiece(trousers(), LOOKED_OVER), "no_price"),
        (DraftPiece(jumper(kind="space_suit"), LOOKED_OVER), "bad_facts"),
    ],
)
def test_a_refused_piece_leaves_nothing_of_the_ticket_behind(
    user: User, spec: DraftPiece, code: str
) -> None:
    customer, before = make_customer(), counted()
    good = DraftPiece(jumper(), LOOKED_OVER)
    with pytest.raises(Refused) as refusal:
        open_ticket(
            customer,
            Draft(
                (
                    good,
                    spec,
                )
            ),
            None,
            Act(by=user),
        )
    assert (refusal.value.code, counted()) == (code, before)
    assert refusal.value.cure


def test_a_hold_opens_with_the_name_under_it_and_the_name_is_kept(user: User) -> None:
    holds = holds_of(beaded_dress())
    accepted = {hold["key"]: "Ada Brook" for hold in holds}
    heard = {hold["key"]: hold["says"] for hold in holds}
    spec = DraftPiece(beaded_dress(), LOOKED_OVER, accepted=accepted, heard=heard)
    ticket = open_ticket(make_customer(), Draft((spec,)), None, Act(by=user))
    kept = Acceptance.objects.filter(piece__ticket=ticket).values_list("caution", "accepted_by")
    assert sorted(kept) == sorted((key, "Ada Brook") for key in accepted)
    assert len(accepted) > 0


def test_an_earlier_promise_needs_a_reason_and_a_later_one_does_not(user: User) -> None:
    spec, now = DraftPiece(jumper(), LOOKED_OVER), timezone.now()
    act = Act(by=user, at=now)
    with pytest.raises(Refused) as refusal:
        open_ticket(make_customer(), Draft((spec,)), now + timedelta(minutes=5), act)
    assert refusal.value.code == "promise_early"
    early = open_ticket(
        make_customer(),
        Draft((spec,)),
        now + timedelta(minutes=5),
        act,
        promise_reason="The machine is free",
    )
    late = open_ticket(make_customer(), Draft((spec,)), now + timedelta(days=20), act)
    assert (early.promised_at, early.promise_reason) == (
        now + timedelta(minutes=5),
        "The machine is free",
    )
    assert late.promised_at == now + timedelta(days=20)


def test_what_a_promise_hung_on_is_kept_with_the_ticket_and_shown_on_its_page(
    user: User, counter: Client
) -> None:
    draft = Draft((DraftPiece(jumper(), LOOKED_OVER),))
    ticket = open_ticket(make_customer(), draft, None, Act(by=user, at=timezone.now()))
    assert ticket.promise_basis == "Most of the time goes to: Dry."
    page = counter.get(f"/tickets/{ticket.number}/").content.decode()
    assert "Most of the time goes to: Dry." in page


def test_a_promise_in_the_past_is_refused_with_a_reason_too(user: User) -> None:
    now = timezone.now()
    with pytest.raises(Refused) as refusal:
        open_ticket(
            make_customer(),
            Draft((DraftPiece(jumper(), LOOKED_OVER),)),
            now - timedelta(hours=1),
            Act(by=user, at=now),
            promise_reason="please",
        )
    assert refusal.value.code == "promise_past"


def test_rush_work_waits_only_behind_rush_work(user: User) -> None:
    spec, now = DraftPiece(jumper(), LOOKED_OVER), timezone.now()
    for _ in range(60):
        open_ticket(make_customer(), Draft((spec,)), None, Act(by=user, at=now))
    ordinary = open_ticket(make_customer(), Draft((spec,)), None, Act(by=user, at=now))
    rushed = open_ticket(make_customer(), Draft((spec,), rush=True), None, Act(by=user, at=now))
    assert rushed.promised_at < ordinary.promised_at


@pytest.mark.parametrize(
    ("inspection", "facts", "fields"),
    [
        (LOOKED_OVER, {}, []),
        ({}, {}, ["pockets", "stains", "damage", "fastenings"]),
        ({**LOOKED_OVER, "pockets": "probably"}, {}, ["pockets"]),
        (LOOKED_OVER, {"stains": [{"stain": "egg"}]}, ["stains"]),
        (STAINED, {}, ["stains"]),
        (LOOKED_OVER, {"damage": ["tear"]}, ["damage"]),
        ({**LOOKED_OVER, "damage": "listed"}, {}, ["damage"]),
        ({**LOOKED_OVER, "pockets": "found"}, {}, ["found"]),
        ({**LOOKED_OVER, "pockets": "found", "found": "pen, given back"}, {}, []),
        ({**LOOKED_OVER, "fastenings": "faulty"}, {}, ["fault"]),
        (
            {**LOOKED_OVER, "fastenings": "none", "damage": "listed"},
            {"damage": ["loose_button"]},
            ["fastenings"],
        ),
    ],
)
def test_the_inspection_is_answered_and_agrees_with_the_piece(
    inspection: dict[str, str], facts: dict[str, Any], fields: list[str]
) -> None:
    assert [fault.field for fault in inspection_faults(inspection, facts)] == fields


def test_a_key_that_another_till_used_meanwhile_makes_no_second_customer(user: User) -> None:
    """Both looked for the key before the other had written; each brought the new customer."""
    key, draft = uuid.uuid4(), Draft((DraftPiece(jumper(), LOOKED_OVER),))
    act = Act(by=user)

    def open_it() -> Ticket:
        new = checked_customer(Customer(name="Nora Vale"), phone="", region="GB")
        seen = judge(draft, timezone.now())
        return open_ticket(new, draft, None, act, client_key=key, judgement=seen)

    first, again = open_it(), open_it()
    assert (again.pk, again.customer_id) == (first.pk, first.customer_id)
    assert Customer.objects.count() == Ticket.objects.count() == 1
    assert (Piece.objects.count(), TicketLine.objects.count()) == (1, 1)


@pytest.mark.django_db(transaction=True)
def test_one_key_used_at_once_without_a_draft_opens_one_priced_ticket() -> None:
    make_shop()
    user, customer, key = make_user("counter"), make_customer(), uuid.uuid4()
    spec = DraftPiece(jumper(), LOOKED_OVER)
    start, opened = threading.Barrier(4), []

    def open_it() -> None:
        start.wait()
        try:
            ticket = open_ticket(customer, Draft((spec,)), None, Act(by=user), client_key=key)
            opened.append(ticket.number)
        finally:
            connection.close()

    threads = [threading.Thread(target=open_it) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert opened == [Ticket.objects.get().number] * 4
    assert (Piece.objects.count(), TicketLine.objects.count()) == (1, 1)
