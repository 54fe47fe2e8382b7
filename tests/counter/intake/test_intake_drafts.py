"""An intake under way: opened once, with nothing taken for granted, and no change lost."""

from __future__ import annotations

import threading
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.db import connection

from counter.intake import services
from counter.intake.drafts import Draft, DraftPiece
from counter.intake.services import open_from_draft, open_ticket, start_draft
from counter.models import IntakeDraft, PriceItem, TicketLine
from tests.building import jumper, make_customer, make_shop, make_user, shirt, trousers
from tests.counter.intake.intaking import (
    LOOKED_OVER,
    STAINED,
    beaded_dress,
    counted,
    draft_of,
    holds_of,
    petrol_towel,
)
from tickets.acting import Act
from tickets.errors import Refused
from tickets.models import Piece, Ticket

pytestmark = pytest.mark.django_db


def test_a_draft_opens_once_and_points_to_its_ticket(user: User) -> None:
    draft = draft_of(user, {"facts": jumper(), "inspection": LOOKED_OVER})
    first = open_from_draft(draft, None, Act(by=user))
    before = counted()
    again = open_from_draft(draft, None, Act(by=user))
    draft.refresh_from_db()
    assert (again, draft.ticket, first.client_key) == (first, first, draft.key)
    assert counted() == before


def test_a_draft_whose_key_opened_a_ticket_elsewhere_points_to_that_one(user: User) -> None:
    draft = draft_of(user, {"facts": jumper(), "inspection": LOOKED_OVER})
    other = Draft((DraftPiece(shirt(), STAINED),) * 2)
    first = open_ticket(draft.customer, other, None, Act(by=user), client_key=draft.key)
    before = counted()
    assert open_from_draft(draft, None, Act(by=user)) == first
    draft.refresh_from_db()
    assert (draft.ticket, counted()) == (first, before)


def test_a_draft_with_an_open_question_names_the_piece_and_stays_as_it_was(user: User) -> None:
    draft = draft_of(
        user,
        {"facts": jumper(), "inspection": LOOKED_OVER},
        {"facts": {**jumper(), "kind": ""}, "inspection": LOOKED_OVER},
    )
    before = counted()
    with pytest.raises(Refused) as refusal:
        open_from_draft(draft, None, Act(by=user))
    draft.refresh_from_db()
    assert refusal.value.says == "Piece 2, New piece: What is it?"
    assert (draft.ticket, counted()) == (None, before)


def test_nothing_is_taken_for_granted_and_a_piece_of_which_nothing_is_asked_is_named(
    user: User,
) -> None:
    untold = {name: value for name, value in jumper().items() if name != "services"}
    draft = draft_of(user, {"facts": jumper(), "inspection": LOOKED_OVER}, {"facts": untold})
    assert DraftPiece.blank().facts == {}
    services.save_piece(draft.pk, draft.pieces[1]["id"], {"inspection": LOOKED_OVER})
    with pytest.raises(Refused) as refusal:
        open_from_draft(draft, None, Act(by=user))
    assert refusal.value.says == "Piece 2, wool jumper: What is asked?"
    assert refusal.value.cure == "Choose one or more of: Clean, Press, Mend, Alter."
    with pytest.raises(Refused) as refusal:
        open_ticket(make_customer(), Draft((DraftPiece(untold, LOOKED_OVER),)), None, Act(by=user))
    assert str(refusal.value) == (
        "Piece 1, wool jumper: nothing is asked. Choose one or more of: Clean, Press, Mend, Alter."
    )
    assert Ticket.objects.count() == 0


def test_a_name_counts_only_for_the_words_it_said_yes_to(user: User) -> None:
    holds = holds_of(beaded_dress())
    draft = draft_of(user, {"facts": beaded_dress(), "inspection": LOOKED_OVER})
    piece_id = draft.pieces[0]["id"]
    for words, opens in (("other words", False), (None, True)):
        names = {hold["key"]: ("Ada Brook", words or hold["says"]) for hold in holds}
        services.save_ticket_part(draft.pk, rush=False, note="", accepted={piece_id: names})
        if opens:
            ticket = open_from_draft(draft, None, Act(by=user))
            assert ticket.pieces.get().acceptances.count() == len(holds)
            continue
        with pytest.raises(Refused) as refusal:
            open_from_draft(draft, None, Act(by=user))
        assert refusal.value.code == "needs_acceptance"


def test_a_name_never_passes_a_refusal(user: User) -> None:
    draft = draft_of(user, {"facts": petrol_towel(), "inspection": LOOKED_OVER})
    names = {"fire.fuel_clothes": ("Ada Brook", "whatever")}
    piece = draft.pieces[0]["id"]
    services.save_ticket_part(draft.pk, rush=False, note="", accepted={piece: names})
    with pytest.raises(Refused) as refusal:
        open_from_draft(draft, None, Act(by=user))
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
    ticket = open_from_draft(draft, None, Act(by=user))
    assert [(line.text, line.amount) for line in ticket.lines.all()] == [
        ("Press only", Decimal("2.50")),
        ("Shorten trousers, plain hem", Decimal("12.50")),
    ]


@pytest.mark.django_db(transaction=True)
def test_two_tills_opening_one_draft_at_once_open_one_ticket() -> None:
    make_shop()
    user = make_user("counter")
    draft = draft_of(user, {"facts": jumper(), "inspection": LOOKED_OVER})
    start, opened = threading.Barrier(4), []

    def open_it() -> None:
        start.wait()
        try:
            opened.append(open_from_draft(draft, None, Act(by=user)).number)
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
    draft = start_draft(customer, user)
    assert start_draft(customer, user) == draft
    assert [services.add_piece(draft.pk, 0), services.add_piece(draft.pk, 0)] == [1, 1]
    draft.refresh_from_db()
    services.save_piece(draft.pk, draft.pieces[0]["id"], {"facts": jumper()})
    like = draft.pieces[0]["id"]
    assert [services.add_piece(draft.pk, 1, like), services.add_piece(draft.pk, 1, like)] == [2, 2]
    draft.refresh_from_db()
    assert len(draft.pieces) == 2


def test_another_like_it_copies_what_it_is_but_not_what_was_seen_on_it(user: User) -> None:
    draft = draft_of(
        user,
        {"facts": shirt(damage=["tear"]), "inspection": STAINED, "description": "blue"},
    )
    services.add_piece(draft.pk, 1, draft.pieces[0]["id"])
    draft.refresh_from_db()
    copy = draft.pieces[1]
    expected = {name: value for name, value in shirt().items() if name != "stains"}
    assert (copy["facts"], copy["inspection"], copy["description"]) == (expected, {}, "")


def test_a_change_from_another_window_never_lands_on_the_wrong_piece(user: User) -> None:
    draft = draft_of(user, {"facts": jumper()}, {"facts": shirt()})
    first, second = (piece["id"] for piece in draft.pieces)
    services.remove_piece(draft.pk, first)
    services.remove_piece(draft.pk, first)
    services.save_piece(draft.pk, second, {"description": "white"})
    with pytest.raises(Refused) as refusal:
        services.save_piece(draft.pk, first, {"description": "navy"})
    draft.refresh_from_db()
    assert refusal.value.code == "piece_gone"
    assert [(piece["id"], piece["description"]) for piece in draft.pieces] == [(second, "white")]


def test_an_opened_draft_takes_no_change_and_is_not_thrown_away(user: User) -> None:
    draft = draft_of(user, {"facts": jumper(), "inspection": LOOKED_OVER})
    piece = draft.pieces[0]["id"]
    open_from_draft(draft, None, Act(by=user))
    for change in (
        lambda: services.save_piece(draft.pk, piece, {"description": "x"}),
        lambda: services.add_piece(draft.pk, 1),
        lambda: services.remove_piece(draft.pk, piece),
        lambda: services.discard(draft.pk),
    ):
        with pytest.raises(Refused) as refusal:
            change()
        assert refusal.value.code == "already_open"
    assert IntakeDraft.objects.count() == 1
