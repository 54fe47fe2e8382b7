"""Pickup: who may leave with what, under which number, and only once."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.utils import timezone

from counter.models import Pickup
from counter.money import services as payments
from counter.money.queries import balance
from counter.pickup import services as pickup
from counter.pickup.queries import counted_out, find
from tests.building import make_customer, make_shop, make_user
from tests.counter.rows import act, piece_at, rack, ticket_of
from tickets.choices import MoveKind, PieceState
from tickets.errors import Refused
from tickets.models import Move, Ticket
from tickets.tracking import services as tracking

pytestmark = pytest.mark.django_db


@pytest.fixture
def ada() -> User:
    make_shop()
    return make_user("counter", "ada")


@pytest.fixture
def ticket(ada: User) -> Ticket:
    """Three pieces at 6.00, all racked at A1."""
    return rack(ticket_of(ada, 3), ada)


def paid(ticket: Ticket, by: User) -> Ticket:
    owed = balance(ticket).to_pay
    payments.take(ticket, "payment", "card", owed, act(by), f"all-{ticket.number}")
    return ticket


def scan(ticket: Ticket, by: User, *positions: int) -> Pickup:
    for position in positions:
        pickup.scan(ticket.number, piece_at(ticket, position).code, act(by))
    return ticket.pickups.get(done_at__isnull=True)


def scan_refusal(ticket: Ticket, code: str, by: User) -> str:
    with pytest.raises(Refused) as refused:
        pickup.scan(ticket.number, code, act(by))
    assert refused.value.says
    return refused.value.code


def hand_over(open_pickup: Pickup, by: User, **more: object) -> Pickup:
    words = {"collector": "Ada Brook", "proof": "slip", **more}
    return pickup.hand_over(open_pickup.pk, act=act(by), **words)  # type: ignore[arg-type]


def refusal(open_pickup: Pickup, by: User, **more: object) -> str:
    moves = Move.objects.count()
    with pytest.raises(Refused) as refused:
        hand_over(open_pickup, by, **more)
    assert Move.objects.count() == moves
    assert Pickup.objects.get(pk=open_pickup.pk).done_at is None
    assert refused.value.cure
    return refused.value.code


# Finding


def test_a_scanned_slip_opens_its_ticket(ticket: Ticket, ada: User) -> None:
    assert find(str(ticket.number), act(ada)).only == ticket


def test_a_scanned_tag_opens_its_ticket(ticket: Ticket, ada: User) -> None:
    piece = piece_at(ticket, 2)
    assert find(piece.code, act(ada)).only == ticket
    assert find(piece.spoken, act(ada)).only == ticket


@pytest.mark.parametrize("words", ["0123", "960123", "bro", "ada", "Brook Ada", "01632 960123"])
def test_phone_digits_and_parts_of_the_name_find_it(ticket: Ticket, ada: User, words: str) -> None:
    assert find(words, act(ada)).only == ticket


def test_two_tickets_are_listed_ready_ones_first(ticket: Ticket, ada: User) -> None:
    waiting = ticket_of(ada, customer=ticket.customer, promised=timezone.now())
    matches = find("brook", act(ada))
    assert (matches.only, list(matches.tickets)) == (None, [ticket, waiting])


def test_a_ticket_collected_lately_is_found_and_an_old_one_is_not(
    ticket: Ticket, ada: User
) -> None:
    hand_over(scan(paid(ticket, ada), ada, 1, 2, 3), ada)
    assert list(find("brook", act(ada)).tickets) == [ticket]
    later = act(ada, timezone.now() + timedelta(days=31))
    matches = find("brook", later)
    assert (list(matches.tickets), matches.says) == ([], "Nothing of Ada Brook is in the shop.")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("", ""),
        ("a", "“a” is too short: type three digits or two letters at least."),
        ("12", "“12” is too short: type three digits or two letters at least."),
        ("nobody", "Nobody and no ticket is known by “nobody”. Try a part of the name."),
        ("1999999", "There is no ticket 1999999."),
    ],
)
def test_a_search_without_a_hit_says_why(ada: User, words: str, says: str) -> None:
    matches = find(words, act(ada))
    assert (list(matches.tickets), matches.only, matches.says) == ([], None, says)


def test_a_mistyped_tag_number_is_named_as_such(ticket: Ticket, ada: User) -> None:
    code = piece_at(ticket, 1).code
    wrong = code[:-1] + str((int(code[-1]) + 1) % 10)
    assert "does not fit the nine before it" in find(wrong, act(ada)).says


# Scanning out


def test_a_ready_piece_goes_on_the_counter_once(ticket: Ticket, ada: User) -> None:
    code = piece_at(ticket, 1).code
    first, again = (pickup.scan(ticket.number, code, act(ada)) for _ in range(2))
    assert (first.repeated, again.repeated) == (False, True)
    now = counted_out(ticket)
    assert [len(now.scanned), len(now.ready), len(now.missing)] == [1, 2, 0]
    assert now.places == ["A1"]


def test_a_piece_of_another_ticket_is_refused(ticket: Ticket, ada: User) -> None:
    other = rack(ticket_of(ada, customer=make_customer("Bo Field", "01632 960124")), ada)
    assert scan_refusal(ticket, piece_at(other, 1).code, ada) == "other_ticket"


def test_an_unfinished_piece_is_refused_with_its_station(ada: User) -> None:
    ticket = ticket_of(ada)
    with pytest.raises(Refused, match="it waits at Intake") as refused:
        pickup.scan(ticket.number, piece_at(ticket, 1).code, act(ada))
    assert refused.value.code == "unfinished"


def test_a_held_piece_is_refused_with_the_reason(ticket: Ticket, ada: User) -> None:
    code = piece_at(ticket, 1).code
    tracking.hold(code, "button not found", ada, date(2999, 1, 1), act(ada))
    with pytest.raises(Refused, match="button not found") as refused:
        pickup.scan(ticket.number, code, act(ada))
    assert refused.value.code == "held"


def test_a_piece_that_left_is_refused(ticket: Ticket, ada: User) -> None:
    hand_over(scan(paid(ticket, ada), ada, 1, 2, 3), ada)
    assert scan_refusal(ticket, piece_at(ticket, 1).code, ada) == "gone"


@pytest.mark.parametrize(
    ("code", "why"),
    [("", "bad_code"), ("abc", "bad_code"), ("1000001", "claim_slip"), ("1999999", "claim_slip")],
)
def test_what_is_no_tag_is_refused(ticket: Ticket, ada: User, code: str, why: str) -> None:
    assert scan_refusal(ticket, code, ada) == why
    assert not Pickup.objects.exists()


def test_a_claim_slip_is_told_apart_from_that_of_another_ticket(ticket: Ticket, ada: User) -> None:
    for number, said in ((ticket.number, "of this ticket"), (1999999, "of ticket 1999999")):
        with pytest.raises(Refused) as refused:
            pickup.scan(ticket.number, str(number), act(ada))
        assert refused.value.says == f"This is the claim slip {said}."


def test_a_tag_of_no_piece_is_refused(ticket: Ticket, ada: User) -> None:
    assert scan_refusal(ticket, f"{ticket.number}-09", ada) == "unknown_piece"


def test_a_piece_is_put_back_once_or_twice(ticket: Ticket, ada: User) -> None:
    scan(ticket, ada, 1, 2)
    for _ in range(2):
        pickup.unscan(ticket.number, piece_at(ticket, 1).code)
    assert [piece.position for piece in counted_out(ticket).scanned] == [2]


# Handing over


def test_all_pieces_leave_in_one_go(ticket: Ticket, ada: User) -> None:
    done = hand_over(scan(paid(ticket, ada), ada, 1, 2, 3), ada)
    ticket.refresh_from_db()
    assert {piece.state for piece in ticket.pieces.all()} == {PieceState.COLLECTED}
    assert ticket.closed_at == done.done_at
    assert (done.collector, done.proof, done.part, done.owed_reason) == (
        "Ada Brook",
        "slip",
        False,
        "",
    )
    assert done.done_by == ada


def test_handing_over_twice_moves_nothing_twice(ticket: Ticket, ada: User) -> None:
    open_pickup = scan(paid(ticket, ada), ada, 1, 2, 3)
    first = hand_over(open_pickup, ada)
    again = hand_over(open_pickup, ada, collector="Somebody Else")
    assert (again.collector, again.done_at) == (first.collector, first.done_at)
    assert Move.objects.filter(kind=MoveKind.COLLECTED).count() == 3


def test_nothing_leaves_while_money_is_owed(ticket: Ticket, ada: User) -> None:
    assert refusal(scan(ticket, ada, 1, 2, 3), ada) == "unpaid"


def test_money_may_stay_owed_with_a_reason(ticket: Ticket, ada: User) -> None:
    done = hand_over(scan(ticket, ada, 1, 2, 3), ada, owed_reason="monthly account")
    assert done.owed_reason == "monthly account"
    assert balance(ticket).owed == Decimal("18.00")


def test_a_reason_is_not_kept_where_nothing_is_owed(ticket: Ticket, ada: User) -> None:
    done = hand_over(scan(paid(ticket, ada), ada, 1, 2, 3), ada, owed_reason="not needed")
    assert done.owed_reason == ""


def test_no_card_number_is_kept_as_a_reason_or_a_name(ticket: Ticket, ada: User) -> None:
    open_pickup = scan(ticket, ada, 1, 2, 3)
    assert refusal(open_pickup, ada, owed_reason="4111 1111 1111 1111") == "card_number"
    assert refusal(open_pickup, ada, collector="4111111111111111") == "card_number"


def test_a_part_leaves_only_when_that_is_said(ticket: Ticket, ada: User) -> None:
    open_pickup = scan(paid(ticket, ada), ada, 1, 2)
    assert refusal(open_pickup, ada) == "pieces_stay"
    assert refusal(open_pickup, ada, part_of=2) == "pieces_stay"
    done = hand_over(open_pickup, ada, part_of=3)
    ticket.refresh_from_db()
    assert (done.part, ticket.closed_at) == (True, None)
    assert piece_at(ticket, 3).state == PieceState.READY


def test_the_rest_of_a_part_leaves_later(ticket: Ticket, ada: User) -> None:
    hand_over(scan(paid(ticket, ada), ada, 1), ada, part_of=3)
    done = hand_over(scan(ticket, ada, 2, 3), ada)
    ticket.refresh_from_db()
    assert (done.part, ticket.closed_at is not None) == (False, True)
    assert ticket.pickups.count() == 2


def test_a_part_may_leave_while_another_piece_is_unfinished(ada: User) -> None:
    ticket = ticket_of(ada, 2)
    rack(ticket, ada, only=[1])
    done = hand_over(scan(paid(ticket, ada), ada, 1), ada, part_of=2)
    assert done.part is True
    assert piece_at(ticket, 2).state == PieceState.WAITING


@pytest.mark.parametrize(
    ("words", "why"),
    [
        ({"collector": "  "}, "no_collector"),
        ({"proof": ""}, "no_proof"),
        ({"proof": "face"}, "no_proof"),
    ],
)
def test_collector_and_proof_are_needed(
    ticket: Ticket, ada: User, words: dict[str, str], why: str
) -> None:
    assert refusal(scan(paid(ticket, ada), ada, 1, 2, 3), ada, **words) == why


def test_an_empty_counter_hands_nothing_over(ticket: Ticket, ada: User) -> None:
    open_pickup = scan(paid(ticket, ada), ada, 1)
    pickup.unscan(ticket.number, piece_at(ticket, 1).code)
    assert refusal(open_pickup, ada) == "nothing_scanned"


def test_an_unknown_pickup_is_refused(ada: User) -> None:
    with pytest.raises(Refused) as refused:
        pickup.hand_over(999, "Ada Brook", "slip", act(ada))
    assert refused.value.code == "no_pickup"


def test_a_piece_put_on_hold_after_its_scan_does_not_leave(ticket: Ticket, ada: User) -> None:
    open_pickup = scan(paid(ticket, ada), ada, 1, 2, 3)
    tracking.hold(piece_at(ticket, 2).code, "customer asks", ada, date(2999, 1, 1), act(ada))
    assert refusal(open_pickup, ada) == "pieces_stay"
    done = hand_over(open_pickup, ada, part_of=3)
    assert [row.piece.position for row in done.scanned.all()] == [1, 3]
    assert piece_at(ticket, 2).state == PieceState.HELD
