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
from django.utils import timezone

import care_rules
from counter import intake
from counter.intake import drafts
from counter.intake.inspection import inspection_faults
from counter.models import IntakeDraft, PriceItem, TicketLine
from tests.building import jumper, make_customer, make_shop, make_user, shirt, trousers
from tickets.errors import Refused
from tickets.models import Acceptance, Move, Piece, RouteStep, Ticket
from tickets.pieces import AcceptedCaution, PieceSpec
from tickets.tracking import Act

LOOKED_OVER = {"pockets": "empty", "stains": "none", "damage": "none", "fastenings": "work"}
STAINED = {**LOOKED_OVER, "stains": "listed"}

pytestmark = pytest.mark.django_db


@pytest.fixture
def user() -> User:
    make_shop()
    return make_user("counter")


def beaded_dress() -> dict[str, Any]:
    """Glued rhinestones need a named yes before anything is done."""
    return {
        "kind": "evening_dress",
        "construction": "woven",
        "colour": "dark",
        "components": [{"part": "shell", "fibres": [{"fibre": "polyester", "percent": 100}]}],
        "label": {"state": "read", "symbols": ["wash_30_very_mild"], "terms": []},
        "trims": ["rhinestones_glued"],
        "services": ["clean"],
    }


def petrol_towel() -> dict[str, Any]:
    return {
        "kind": "towel_bath_70x140",
        "colour": "white",
        "components": [{"part": "shell", "fibres": [{"fibre": "cotton", "percent": 100}]}],
        "label": {"state": "missing"},
        "hazards": ["fire.fuel_clothes"],
        "services": ["clean"],
    }


def counted() -> dict[str, int]:
    models = (Ticket, Piece, RouteStep, Move, Acceptance, TicketLine)
    return {model.__name__: model.objects.count() for model in models}


def draft_of(user: User, *pieces: dict[str, Any]) -> IntakeDraft:
    """A draft with these pieces; each names the fields of a draft piece."""
    draft = drafts.start(make_customer(), user)
    for number, piece in enumerate(pieces):
        drafts.add_piece(draft.pk, number)
        draft.refresh_from_db()
        drafts.save_piece(draft.pk, draft.pieces[-1]["id"], piece)
    draft.refresh_from_db()
    return draft


def holds_of(facts: dict[str, Any]) -> list[dict[str, Any]]:
    cautions = care_rules.decide_json(facts)["cautions"]
    return [caution for caution in cautions if caution["level"] == "hold"]


def test_a_ticket_opens_with_price_lines_and_a_promise_worked_out_from_the_queues(
    user: User,
) -> None:
    spec = PieceSpec(jumper(), LOOKED_OVER)
    ticket = intake.open_ticket(make_customer(), [spec], None, Act(by=user))
    lines = [(line.text, line.amount, line.piece.position) for line in ticket.lines.all()]
    assert lines == [("Clean and press", Decimal("6.00"), 1)]
    earliest = intake.earliest_promise(
        [(piece.facts, piece.decision) for piece in ticket.pieces.all()], ticket.opened_at
    )
    # Its own steps have joined the queue since, so the next customer waits at least as long.
    assert ticket.opened_at < ticket.promised_at <= earliest.ready_at


def test_a_piece_is_decided_with_the_shops_own_machines_and_the_usual_weight_of_its_kind(
    user: User,
) -> None:
    told = jumper(shop={"wet_cleaning": True, "dry_cleaning": ["P"], "send_out": []})
    ticket = intake.open_ticket(make_customer(), [PieceSpec(told, LOOKED_OVER)], None, Act(by=user))
    piece = ticket.pieces.get()
    assert piece.facts["shop"] == {
        "wet_cleaning": False,
        "dry_cleaning": [],
        "send_out": ["dry_clean", "wet_clean", "leather"],
    }
    # 450 g for a wool sweater: row weight.sweater_wool of the process table (an estimate).
    assert piece.weight_g == 450


def test_a_repeated_key_returns_the_first_ticket_and_writes_nothing(user: User) -> None:
    key, customer = uuid.uuid4(), make_customer()
    spec = PieceSpec(jumper(), LOOKED_OVER)
    first = intake.open_ticket(customer, [spec], None, Act(by=user), client_key=key)
    before = counted()
    again = intake.open_ticket(customer, [spec, spec], None, Act(by=user), client_key=key)
    assert (again, counted()) == (first, before)


@pytest.mark.parametrize(
    ("spec", "code"),
    [
        (PieceSpec(jumper(services=[]), LOOKED_OVER), "no_service"),
        (PieceSpec(jumper(), {}), "not_inspected"),
        (PieceSpec(shirt(), LOOKED_OVER), "not_inspected"),
        (PieceSpec(jumper(), STAINED), "not_inspected"),
        (PieceSpec(petrol_towel(), LOOKED_OVER), "declined"),
        (PieceSpec(beaded_dress(), LOOKED_OVER), "needs_acceptance"),
        (PieceSpec(trousers(), LOOKED_OVER), "no_price"),
        (PieceSpec(jumper(kind="space_suit"), LOOKED_OVER), "bad_facts"),
    ],
)
def test_a_refused_piece_leaves_nothing_of_the_ticket_behind(
    user: User, spec: PieceSpec, code: str
) -> None:
    customer, before = make_customer(), counted()
    good = PieceSpec(jumper(), LOOKED_OVER)
    with pytest.raises(Refused) as refusal:
        intake.open_ticket(customer, [good, spec], None, Act(by=user))
    assert (refusal.value.code, counted()) == (code, before)
    assert refusal.value.cure


def test_a_hold_opens_with_the_name_under_it_and_the_name_is_kept(user: User) -> None:
    accepted = [
        AcceptedCaution(hold["key"], hold["says"], "Ada Brook") for hold in holds_of(beaded_dress())
    ]
    spec = PieceSpec(beaded_dress(), LOOKED_OVER, accepted=accepted)
    ticket = intake.open_ticket(make_customer(), [spec], None, Act(by=user))
    kept = Acceptance.objects.filter(piece__ticket=ticket).values_list("caution", "accepted_by")
    assert sorted(kept) == sorted((item.key, "Ada Brook") for item in accepted)
    assert len(accepted) > 0


def test_an_earlier_promise_needs_a_reason_and_a_later_one_does_not(user: User) -> None:
    spec, now = PieceSpec(jumper(), LOOKED_OVER), timezone.now()
    act = Act(by=user, at=now)
    with pytest.raises(Refused) as refusal:
        intake.open_ticket(make_customer(), [spec], now + timedelta(minutes=5), act)
    assert refusal.value.code == "promise_early"
    early = intake.open_ticket(
        make_customer(),
        [spec],
        now + timedelta(minutes=5),
        act,
        promise_reason="The machine is free",
    )
    late = intake.open_ticket(make_customer(), [spec], now + timedelta(days=20), act)
    assert (early.promised_at, early.promise_reason) == (
        now + timedelta(minutes=5),
        "The machine is free",
    )
    assert late.promised_at == now + timedelta(days=20)


def test_a_promise_in_the_past_is_refused_with_a_reason_too(user: User) -> None:
    now = timezone.now()
    with pytest.raises(Refused) as refusal:
        intake.open_ticket(
            make_customer(),
            [PieceSpec(jumper(), LOOKED_OVER)],
            now - timedelta(hours=1),
            Act(by=user, at=now),
            promise_reason="please",
        )
    assert refusal.value.code == "promise_past"


def test_rush_work_waits_only_behind_rush_work(user: User) -> None:
    spec, now = PieceSpec(jumper(), LOOKED_OVER), timezone.now()
    for _ in range(60):
        intake.open_ticket(make_customer(), [spec], None, Act(by=user, at=now))
    ordinary = intake.open_ticket(make_customer(), [spec], None, Act(by=user, at=now))
    rushed = intake.open_ticket(make_customer(), [spec], None, Act(by=user, at=now), rush=True)
    assert rushed.promised_at < ordinary.promised_at


def test_a_draft_opens_once_and_points_to_its_ticket(user: User) -> None:
    draft = draft_of(user, {"facts": jumper(), "inspection": LOOKED_OVER})
    first = intake.open_from_draft(draft, None, Act(by=user))
    before = counted()
    again = intake.open_from_draft(draft, None, Act(by=user))
    draft.refresh_from_db()
    assert (again, draft.ticket, first.client_key) == (first, first, draft.key)
    assert counted() == before


def test_a_draft_with_an_open_question_names_the_piece_and_stays_as_it_was(user: User) -> None:
    draft = draft_of(
        user,
        {"facts": jumper(), "inspection": LOOKED_OVER},
        {"facts": {**jumper(), "kind": ""}, "inspection": LOOKED_OVER},
    )
    before = counted()
    with pytest.raises(Refused) as refusal:
        intake.open_from_draft(draft, None, Act(by=user))
    draft.refresh_from_db()
    assert refusal.value.says == "Piece 2, New piece: What is it?"
    assert (draft.ticket, counted()) == (None, before)


def test_nothing_is_taken_for_granted_and_a_piece_of_which_nothing_is_asked_is_named(
    user: User,
) -> None:
    untold = {name: value for name, value in jumper().items() if name != "services"}
    draft = draft_of(user, {"facts": jumper(), "inspection": LOOKED_OVER}, {"facts": untold})
    assert drafts.blank_piece()["facts"] == {}
    drafts.save_piece(draft.pk, draft.pieces[1]["id"], {"inspection": LOOKED_OVER})
    with pytest.raises(Refused) as refusal:
        intake.open_from_draft(draft, None, Act(by=user))
    assert refusal.value.says == "Piece 2, wool sweater: What is asked?"
    assert refusal.value.cure == "Choose one or more of: Clean, Press, Mend, Alter."
    with pytest.raises(Refused) as refusal:
        intake.open_ticket(make_customer(), [PieceSpec(untold, LOOKED_OVER)], None, Act(by=user))
    assert str(refusal.value) == (
        "Piece 1, wool sweater: nothing is asked. Choose one or more of: Clean, Press, Mend, Alter."
    )
    assert Ticket.objects.count() == 0


def test_a_name_counts_only_for_the_words_it_said_yes_to(user: User) -> None:
    holds = holds_of(beaded_dress())
    draft = draft_of(user, {"facts": beaded_dress(), "inspection": LOOKED_OVER})
    piece_id = draft.pieces[0]["id"]
    for words, opens in (("other words", False), (None, True)):
        names = {hold["key"]: ("Ada Brook", words or hold["says"]) for hold in holds}
        drafts.save_ticket_part(draft.pk, rush=False, note="", accepted={piece_id: names})
        if opens:
            ticket = intake.open_from_draft(draft, None, Act(by=user))
            assert ticket.pieces.get().acceptances.count() == len(holds)
            continue
        with pytest.raises(Refused) as refusal:
            intake.open_from_draft(draft, None, Act(by=user))
        assert refusal.value.code == "needs_acceptance"


def test_a_name_never_passes_a_refusal(user: User) -> None:
    draft = draft_of(user, {"facts": petrol_towel(), "inspection": LOOKED_OVER})
    names = {"fire.fuel_clothes": ("Ada Brook", "whatever")}
    piece = draft.pieces[0]["id"]
    drafts.save_ticket_part(draft.pk, rush=False, note="", accepted={piece: names})
    with pytest.raises(Refused) as refusal:
        intake.open_from_draft(draft, None, Act(by=user))
    assert refusal.value.code == "declined"
    assert Ticket.objects.count() == 0


def test_a_typed_price_opens_what_the_list_does_not_know(user: User) -> None:
    draft = draft_of(
        user,
        {
            "facts": trousers(),
            "inspection": LOOKED_OVER,
            "prices": {"work/trouser_hem_plain": "12,50"},
        },
    )
    PriceItem.objects.create(service="press", amount=Decimal("2.50"))
    ticket = intake.open_from_draft(draft, None, Act(by=user))
    assert [(line.text, line.amount) for line in ticket.lines.all()] == [
        ("Press only", Decimal("2.50")),
        ("Shorten trousers, plain hem", Decimal("12.50")),
    ]


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


@pytest.mark.django_db(transaction=True)
def test_two_tills_opening_one_draft_at_once_open_one_ticket() -> None:
    make_shop()
    user = make_user("counter")
    draft = draft_of(user, {"facts": jumper(), "inspection": LOOKED_OVER})
    start, opened = threading.Barrier(4), []

    def open_it() -> None:
        start.wait()
        try:
            opened.append(intake.open_from_draft(draft, None, Act(by=user)).number)
        finally:
            connection.close()

    threads = [threading.Thread(target=open_it) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert opened == [Ticket.objects.get().number] * 4
    assert (Piece.objects.count(), TicketLine.objects.count()) == (1, 1)


@pytest.mark.django_db(transaction=True)
def test_one_key_used_at_once_without_a_draft_opens_one_priced_ticket() -> None:
    make_shop()
    user, customer, key = make_user("counter"), make_customer(), uuid.uuid4()
    spec = PieceSpec(jumper(), LOOKED_OVER)
    start, opened = threading.Barrier(4), []

    def open_it() -> None:
        start.wait()
        try:
            ticket = intake.open_ticket(customer, [spec], None, Act(by=user), client_key=key)
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


def test_a_second_tap_on_start_or_next_piece_makes_no_second_one(user: User) -> None:
    customer = make_customer()
    draft = drafts.start(customer, user)
    assert drafts.start(customer, user) == draft
    assert [drafts.add_piece(draft.pk, 0), drafts.add_piece(draft.pk, 0)] == [1, 1]
    draft.refresh_from_db()
    drafts.save_piece(draft.pk, draft.pieces[0]["id"], {"facts": jumper()})
    like = draft.pieces[0]["id"]
    assert [drafts.add_piece(draft.pk, 1, like), drafts.add_piece(draft.pk, 1, like)] == [2, 2]
    draft.refresh_from_db()
    assert len(draft.pieces) == 2


def test_another_like_it_copies_what_it_is_but_not_what_was_seen_on_it(user: User) -> None:
    draft = draft_of(
        user,
        {"facts": shirt(damage=["tear"]), "inspection": STAINED, "description": "blue"},
    )
    drafts.add_piece(draft.pk, 1, draft.pieces[0]["id"])
    draft.refresh_from_db()
    copy = draft.pieces[1]
    expected = {name: value for name, value in shirt().items() if name != "stains"}
    assert (copy["facts"], copy["inspection"], copy["description"]) == (expected, {}, "")


def test_a_change_from_another_window_never_lands_on_the_wrong_piece(user: User) -> None:
    draft = draft_of(user, {"facts": jumper()}, {"facts": shirt()})
    first, second = (piece["id"] for piece in draft.pieces)
    drafts.remove_piece(draft.pk, first)
    drafts.remove_piece(draft.pk, first)
    drafts.save_piece(draft.pk, second, {"description": "white"})
    with pytest.raises(Refused) as refusal:
        drafts.save_piece(draft.pk, first, {"description": "navy"})
    draft.refresh_from_db()
    assert refusal.value.code == "piece_gone"
    assert [(piece["id"], piece["description"]) for piece in draft.pieces] == [(second, "white")]


def test_an_opened_draft_takes_no_change_and_is_not_thrown_away(user: User) -> None:
    draft = draft_of(user, {"facts": jumper(), "inspection": LOOKED_OVER})
    piece = draft.pieces[0]["id"]
    intake.open_from_draft(draft, None, Act(by=user))
    for change in (
        lambda: drafts.save_piece(draft.pk, piece, {"description": "x"}),
        lambda: drafts.add_piece(draft.pk, 1),
        lambda: drafts.remove_piece(draft.pk, piece),
        lambda: drafts.discard(draft.pk),
    ):
        with pytest.raises(Refused) as refusal:
            change()
        assert refusal.value.code == "already_open"
    assert IntakeDraft.objects.count() == 1
