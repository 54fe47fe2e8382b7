"""Washes of a garment over its visits, and which garments may come again."""

from __future__ import annotations

from io import StringIO

import pytest
from django.contrib.auth.models import User
from django.core.management import call_command
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext

from tests.building import (
    hand_over_all,
    hivis_jacket,
    jumper,
    make_customer,
    make_ticket,
    shirt,
    work_until,
)
from tests.tickets.visits import take_in, visit
from tickets.acting import Act
from tickets.choices import Station
from tickets.errors import Refused
from tickets.garments import washes
from tickets.garments.queries import counted_washes, garments_of, wash_count, wash_counts
from tickets.garments.washes import WashCount
from tickets.garments.wording import washes_done
from tickets.models import Customer, Move, Piece, RouteStep
from tickets.pieces.decisions import PieceSpec
from tickets.pieces.services import decide_again
from tickets.tracking import services as tracking
from tickets.tracking.open_steps import at_station

pytestmark = pytest.mark.django_db


# The count


def test_three_visits_count_what_was_told_first_and_each_wash_done_here(user: User) -> None:
    ada = make_customer()
    first = visit(user, ada, washes_before=3, washes_allowed=25)
    second = visit(user, ada, earlier=first)
    third = visit(user, ada, earlier=second)
    assert wash_count(first) == WashCount(4, 25, told=True)
    assert wash_count(second) == WashCount(5, 25, told=True)
    assert wash_count(third) == WashCount(6, 25, told=True)


def test_a_redo_is_a_wash_more_and_a_wet_check_that_says_no_too(user: User) -> None:
    (piece,) = take_in(user, make_customer(), PieceSpec(facts=hivis_jacket(), washes_before=0))
    work_until(piece, Station.DRY, user)
    assert wash_count(piece).done == 1
    tracking.send_back(piece.code, Station.WASH, "still grey", Act(by=user))
    assert wash_count(piece).done == 1, "sent back is not washed yet"
    tracking.finish_work(piece.code, Station.WASH, Act(by=user))
    assert wash_count(piece).done == 2

    stained = shirt()
    (piece,) = take_in(user, make_customer("Bo Reed"), PieceSpec(facts=stained))
    work_until(piece, Station.WASH, user)
    tracking.finish_work(piece.code, Station.WASH, Act(by=user))
    assert at_station(Piece.objects.get(pk=piece.pk))[0].step == "wet_check"
    tracking.answer_wet_check(piece.code, False, Act(by=user))
    work_until(piece, Station.WASH, user)
    tracking.finish_work(piece.code, Station.WASH, Act(by=user))
    assert wash_count(piece).done == 2


def test_the_same_scan_sent_twice_is_one_wash(user: User) -> None:
    (piece,) = take_in(user, make_customer(), PieceSpec(facts=hivis_jacket()))
    work_until(piece, Station.WASH, user)
    for _ in range(2):
        tracking.finish_work(piece.code, Station.WASH, Act(by=user, client_key="one"))
    assert wash_count(piece).done == 1


def test_pressing_alone_and_a_piece_given_back_undone_are_no_wash(user: User) -> None:
    pressed, undone = take_in(
        user,
        make_customer(),
        PieceSpec(facts=hivis_jacket(services=["press"])),
        PieceSpec(facts=hivis_jacket()),
    )
    work_until(pressed, Station.ASSEMBLY, user)
    tracking.return_undone(undone.code, "needed today", Act(by=user))
    counts = wash_counts([pressed, undone])
    assert [counts[piece.pk].done for piece in (pressed, undone)] == [0, 0]


def test_a_partners_cleaning_is_a_wash_and_wiping_the_surface_is_none() -> None:
    assert washes.cleans("send_out", {"to": "dry_clean"})
    assert washes.cleans("send_out", {"to": "wet_clean"})
    assert not washes.cleans("send_out", {"to": "leather"})
    assert washes.cleans("wash", {"process": "machine_wash", "max_c": 40})
    assert washes.cleans("wash", {"process": "dry_clean", "solvent": "F"})
    assert not washes.cleans("wash", {"process": "surface_clean"})
    assert not washes.cleans("rinse", {})


def test_washes_told_on_a_later_visit_are_added_and_a_new_label_count_wins(user: User) -> None:
    ada = make_customer()
    first = visit(user, ada, washes_before=1, washes_allowed=25)
    second = visit(user, ada, earlier=first, washes_before=4, washes_allowed=50)
    assert wash_count(second) == WashCount(7, 50, told=True)
    assert wash_count(first) == WashCount(2, 25, told=True)


def test_where_nobody_tells_the_washes_before_the_count_says_it_is_the_least(user: User) -> None:
    first = visit(user, make_customer(), washes_allowed=25)
    second = visit(user, make_customer("Bo Reed"))
    assert washes_done(wash_count(first)) == (
        "1 of 25 washes on its label done, or more: washes before its first visit are not known"
    )
    assert washes_done(wash_count(second)) == (
        "1 wash counted, no count known from its label, or more: "
        "washes before its first visit are not known"
    )


def test_a_route_decided_anew_keeps_the_count_right(user: User) -> None:
    """The orders in a move speak of the route of its day; only cleaning at its station counts."""
    (piece,) = take_in(user, make_customer(), PieceSpec(facts=hivis_jacket()))
    work_until(piece, Station.SPOTTING, user)
    decide_again(
        piece.code, hivis_jacket(stains=[{"stain": "coffee, tea black"}]), "seen", Act(by=user)
    )
    assert wash_count(piece).done == 0
    work_until(piece, Station.WASH, user)
    tracking.finish_work(piece.code, Station.WASH, Act(by=user))
    assert wash_count(piece).done == 1


@pytest.mark.parametrize(
    ("done", "allowed", "state", "due", "over"),
    [
        (23, 25, "within", False, False),
        (24, 25, "within", False, False),
        (25, 25, "due", True, False),
        (26, 25, "over", False, True),
        (400, None, "no_count", False, False),
    ],
)
def test_the_count_is_due_when_it_reaches_the_label_and_over_past_it(
    done: int, allowed: int | None, state: str, due: bool, over: bool
) -> None:
    count = WashCount(done, allowed, told=True)
    assert (count.state, count.due, count.over) == (state, due, over)


def test_many_chains_cost_as_many_queries_as_one(user: User) -> None:
    ada = make_customer()
    rows = [visit(user, ada, washes_before=0)]
    with CaptureQueriesContext(connection) as for_one:
        wash_counts(rows)
    for _ in range(4):
        rows.append(visit(user, ada, earlier=rows[-1]))
    rows += [visit(user, ada) for _ in range(3)]
    with CaptureQueriesContext(connection) as for_many:
        counts = wash_counts(rows)
    assert [counts[piece.pk].done for piece in rows] == [1, 2, 3, 4, 5, 1, 1, 1]
    assert len(for_one) == len(for_many) == 3
    with CaptureQueriesContext(connection) as none:
        assert counted_washes([make_ticket(user, [jumper()]).pieces.get()]) == {}
    assert [q["sql"] for q in none if "RECURSIVE" in q["sql"]] == []


def test_the_count_agrees_with_a_plain_walk_over_every_move(user: User) -> None:
    """A second, naive sum: follow the links one by one and read each move's steps."""
    ada = make_customer()
    piece = visit(user, ada, washes_before=2)
    (piece,) = take_in(user, ada, PieceSpec(facts=hivis_jacket(), earlier=piece, washes_before=1))
    work_until(piece, Station.DRY, user)
    tracking.send_back(piece.code, Station.WASH, "again", Act(by=user))
    work_until(piece, Station.ASSEMBLY, user)
    total = 0
    earlier: Piece | None = piece
    while earlier is not None:
        total += earlier.washes_before or 0
        names = dict(RouteStep.objects.filter(piece=earlier).values_list("order", "step"))
        for move in Move.objects.filter(piece=earlier, kind="worked"):
            total += sum(names[order] == "wash" for order in move.steps)
        earlier = earlier.earlier
    assert wash_count(piece).done == total == 6


def test_moves_replay_as_before(user: User) -> None:
    ada = make_customer()
    visit(user, ada, earlier=visit(user, ada, washes_before=3, washes_allowed=25))
    out = StringIO()
    call_command("check_moves", stdout=out)
    assert out.getvalue() == f"2 pieces agree with their {Move.objects.count()} moves.\n"


# Coming again


def test_only_garments_that_left_are_offered_each_once_the_newest_first(user: User) -> None:
    ada, bo = make_customer(), make_customer("Bo Reed")
    first = visit(user, ada)
    second = visit(user, ada, earlier=first)
    other = visit(user, ada)
    visit(user, bo)
    take_in(user, ada, PieceSpec(facts=jumper()))  # still here
    assert [garment.piece for garment in garments_of(ada)] == [other, second]


def test_at_most_twelve_are_offered(user: User) -> None:
    ada = make_customer()
    rows = take_in(user, ada, *[PieceSpec(facts=jumper())] * 14)
    hand_over_all(rows[0].ticket, user)
    assert [garment.piece.position for garment in garments_of(ada)] == list(range(1, 13))


def test_a_garment_that_cannot_be_the_same_is_refused_and_named(user: User) -> None:
    ada, bo = make_customer(), make_customer("Bo Reed")
    gone = visit(user, ada)
    (here,) = take_in(user, ada, PieceSpec(facts=hivis_jacket()))

    def refusal(customer: Customer, *earlier: Piece) -> tuple[str, str]:
        with pytest.raises(Refused) as no:
            take_in(user, customer, *(PieceSpec(facts=hivis_jacket(), earlier=e) for e in earlier))
        assert no.value.cure
        return no.value.code, no.value.says

    assert refusal(bo, gone) == (
        "other_customer",
        f"Piece 1: {gone.spoken} belongs to another customer.",
    )
    assert refusal(ada, here) == ("still_here", f"Piece 1: {here.spoken} is still here, at Intake.")
    assert refusal(ada, gone, gone) == (
        "same_garment",
        f"Piece 2: {gone.spoken} stands on this ticket already.",
    )
    again = visit(user, ada, earlier=gone)
    assert refusal(ada, gone) == (
        "came_again",
        f"Piece 1: {gone.spoken} came again already, as {again.spoken}.",
    )


def test_the_database_too_keeps_a_chain_a_line_that_runs_back(user: User) -> None:
    ada = make_customer()
    first, other = visit(user, ada), visit(user, ada)
    visit(user, ada, earlier=first)
    for earlier in (first, Piece.objects.latest("pk")):
        with pytest.raises(IntegrityError), transaction.atomic():
            Piece.objects.filter(pk=other.pk).update(earlier=earlier)
