"""Each move of a piece: what it does, when it is refused, and that it happens once."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.utils import timezone

from tests.building import jumper, known, make_ready, make_ticket, shirt, trousers, work_until
from tickets import signals
from tickets.acting import Act
from tickets.choices import MoveKind, PieceState, Station
from tickets.errors import Refused
from tickets.models import Hold, Move, Piece, Ticket
from tickets.shop.calendar import business_day
from tickets.tracking import replay
from tickets.tracking import services as tracking
from tickets.tracking.open_steps import at_station, open_steps

pytestmark = pytest.mark.django_db


def fresh(piece: Piece) -> Piece:
    return Piece.objects.get(pk=piece.pk)


def kinds(piece: Piece) -> list[str]:
    return list(piece.moves.values_list("kind", flat=True))


def place(piece: Piece) -> tuple[str, str]:
    row = fresh(piece)
    return row.state, row.station


def refusal(call: Any, *arguments: Any) -> str:
    before = Move.objects.count()
    with pytest.raises(Refused) as caught:
        call(*arguments)
    assert Move.objects.count() == before
    assert caught.value.says
    assert caught.value.cure
    return caught.value.code


@pytest.fixture
def piece(crew: User) -> Piece:
    return make_ticket(crew, [jumper()]).pieces.get()


@pytest.fixture
def stained(crew: User) -> Piece:
    return make_ticket(crew, [shirt()]).pieces.get()


def test_finished_work_sends_a_piece_to_the_station_of_its_next_step(
    piece: Piece, crew: User
) -> None:
    stations = [step.station for step in piece.steps.all()]
    following = next(s for s in stations if s != Station.INTAKE)
    moved = tracking.finish_work(piece.code, Station.INTAKE, Act(by=crew))
    assert moved.piece.station == following
    assert (moved.move.from_station, moved.move.to_station) == (Station.INTAKE, following)
    done = [step for step in fresh(piece).steps.all() if step.done_at]
    assert {step.station for step in done} == {Station.INTAKE}
    assert moved.move.steps == [step.order for step in done]


def test_work_at_another_station_is_refused_and_says_where_the_piece_waits(
    piece: Piece, crew: User
) -> None:
    with pytest.raises(Refused) as caught:
        tracking.finish_work(piece.code, Station.PRESS, Act(by=crew))
    assert caught.value.code == "not_here"
    assert "Intake" in caught.value.says
    assert "Test Backroom" in caught.value.says
    assert caught.value.cure == "Take it to Intake."


@pytest.mark.parametrize("station", [Station.ASSEMBLY, Station.RACK, Station.PICKUP])
def test_no_work_is_finished_where_none_is_done(piece: Piece, crew: User, station: Station) -> None:
    work_until(piece, Station.ASSEMBLY, crew)
    assert refusal(tracking.finish_work, piece.code, station, Act(by=crew)) == "no_work_here"


def test_a_repeated_key_returns_the_first_result_and_writes_nothing(
    piece: Piece, crew: User
) -> None:
    first = tracking.finish_work(piece.code, Station.INTAKE, Act(by=crew, client_key="k1"))
    again = tracking.finish_work(piece.code, Station.INTAKE, Act(by=crew, client_key="k1"))
    assert (first.repeated, again.repeated) == (False, True)
    assert again.move == first.move
    assert kinds(piece) == [MoveKind.OPENED, MoveKind.WORKED]


def test_an_unknown_piece_is_refused(crew: User) -> None:
    assert refusal(tracking.finish_work, "1000001017", Station.WASH, Act(by=crew)) == (
        "unknown_piece"
    )


def test_a_stained_piece_gets_no_heat_before_the_wet_check(stained: Piece, crew: User) -> None:
    waiting = work_until(stained, Station.DRY, crew)
    answered = [m.kind for m in waiting.moves.all() if m.kind == MoveKind.STAIN_GONE]
    assert answered == [MoveKind.STAIN_GONE]
    orders = {step.step: step.order for step in waiting.steps.all()}
    assert orders["wet_check"] < orders["dry"]


def to_wet_check(piece: Piece, crew: User) -> Piece:
    piece = fresh(piece)
    for _ in range(20):
        steps = at_station(piece)
        if steps[0].step == "wet_check":
            return piece
        piece = tracking.finish_work(piece.code, Station(piece.station), Act(by=crew)).piece
        piece = fresh(piece)
    raise AssertionError("no wet check on this route")


def test_scanning_on_past_a_wet_check_is_refused_until_it_is_answered(
    stained: Piece, crew: User
) -> None:
    waiting = to_wet_check(stained, crew)
    station = Station(waiting.station)
    assert refusal(tracking.finish_work, waiting.code, station, Act(by=crew)) == "wet_check_first"
    tracking.answer_wet_check(waiting.code, True, Act(by=crew))
    assert refusal(tracking.answer_wet_check, waiting.code, True, Act(by=crew)) == "no_wet_check"


def test_a_stain_that_is_still_there_sends_the_piece_back_to_spotting(
    stained: Piece, crew: User
) -> None:
    waiting = to_wet_check(stained, crew)
    moved = tracking.answer_wet_check(waiting.code, False, Act(by=crew))
    assert place(waiting) == (PieceState.WAITING, Station.SPOTTING)
    assert moved.move.kind == MoveKind.STAIN_STILL_THERE
    assert fresh(waiting).redo_count == 1
    open_now = [step.step for step in open_steps(fresh(waiting))]
    assert {"pre_spot", "wash", "wet_check", "dry"} <= set(open_now)


def test_without_spotting_a_stain_that_is_still_there_means_another_wash(
    stained: Piece, crew: User
) -> None:
    stained.steps.filter(station=Station.SPOTTING).delete()
    waiting = to_wet_check(stained, crew)
    tracking.answer_wet_check(waiting.code, False, Act(by=crew))
    assert place(waiting) == (PieceState.WAITING, Station.WASH)
    assert "wash" in [step.step for step in open_steps(fresh(waiting))]


def test_a_stain_that_a_partner_left_goes_back_to_the_partner(stained: Piece, crew: User) -> None:
    stained.steps.filter(station=Station.SPOTTING).delete()
    stained.steps.filter(step="wash").update(station=Station.SEND_OUT)
    stained.steps.filter(step="wet_check").update(station=Station.CHECK)
    waiting = to_wet_check(stained, crew)
    assert waiting.station == Station.CHECK
    tracking.answer_wet_check(waiting.code, False, Act(by=crew))
    assert place(waiting) == (PieceState.WAITING, Station.SEND_OUT)


def test_a_redo_reopens_the_named_station_and_all_that_follows(piece: Piece, crew: User) -> None:
    at_check = work_until(piece, Station.CHECK, crew)
    moved = tracking.send_back(at_check.code, Station.WASH, "grey cuffs", Act(by=crew))
    assert place(piece) == (PieceState.WAITING, Station.WASH)
    assert moved.move.reason == "grey cuffs"
    assert fresh(piece).redo_count == 1
    first_open = open_steps(fresh(piece))[0]
    assert first_open.station == Station.WASH
    assert moved.move.steps == [order for order in moved.move.steps if order >= first_open.order]
    assert work_until(piece, Station.CHECK, crew).redo_count == 1


def test_a_redo_at_the_bench_after_washing_does_not_ask_for_another_wash(
    crew: User,
) -> None:
    piece = make_ticket(crew, [trousers()]).pieces.get()
    steps = list(piece.steps.all())
    for step in reversed(steps):  # give the route bench work before everything as well
        type(step).objects.filter(pk=step.pk).update(order=step.order + 1)
    bench = next(step for step in steps if step.station == Station.BENCH)
    first = type(bench)(
        piece=piece, order=1, step="unpick", station=Station.BENCH, says="Unpick the hem."
    )
    first.save()
    Piece.objects.filter(pk=piece.pk).update(station=Station.BENCH)
    tracking.finish_work(piece.code, Station.BENCH, Act(by=crew))
    work_until(piece, Station.CHECK, crew)
    tracking.send_back(piece.code, Station.BENCH, "hem uneven", Act(by=crew))
    assert "unpick" not in [step.step for step in open_steps(fresh(piece))]
    assert "mend" in [step.step for step in open_steps(fresh(piece))]


def test_a_redo_is_refused_without_reason_off_the_route_and_ahead_of_the_work(
    piece: Piece, crew: User
) -> None:
    act = Act(by=crew)
    assert refusal(tracking.send_back, piece.code, Station.WASH, "  ", act) == "no_reason"
    assert refusal(tracking.send_back, piece.code, Station.SEND_OUT, "x", act) == "not_on_route"
    assert refusal(tracking.send_back, piece.code, Station.WASH, "x", act) == "not_done_yet"


def test_a_hold_keeps_reason_owner_and_day_and_ends_with_an_outcome(
    piece: Piece, crew: User
) -> None:
    today = business_day()
    tracking.hold(piece.code, "zip to be chosen", crew, today, Act(by=crew))
    assert place(piece) == (PieceState.HELD, Station.INTAKE)
    held = Hold.objects.get(piece=piece)
    assert (held.reason, held.owner, held.ask_again_on, held.ended_at) == (
        "zip to be chosen",
        crew,
        today,
        None,
    )
    assert refusal(tracking.finish_work, piece.code, Station.INTAKE, Act(by=crew)) == "not_here"
    tracking.release(piece.code, "brass zip agreed", Act(by=crew))
    assert place(piece) == (PieceState.WAITING, Station.INTAKE)
    held.refresh_from_db()
    assert (held.outcome, held.ended_by) == ("brass zip agreed", crew)


def test_a_hold_needs_a_reason_and_a_day_that_is_not_past(piece: Piece, crew: User) -> None:
    today, act = business_day(), Act(by=crew)
    assert refusal(tracking.hold, piece.code, " ", crew, today, act) == "no_reason"
    yesterday = today - timedelta(days=1)
    assert refusal(tracking.hold, piece.code, "zip", crew, yesterday, act) == "date_past"
    tracking.hold(piece.code, "zip", crew, today, act)
    assert refusal(tracking.hold, piece.code, "zip", crew, today, act) == "wrong_state"
    assert refusal(tracking.release, piece.code, "", act) == "no_reason"


def test_a_hold_on_the_rack_unreadies_the_ticket_and_a_release_means_matching_again(
    crew: User,
) -> None:
    ticket = make_ready(make_ticket(crew, [jumper(), trousers()]), crew)
    piece = ticket.pieces.get(position=1)
    tracking.hold(piece.code, "customer rang: button", crew, business_day(), Act(by=crew))
    ticket.refresh_from_db()
    assert ticket.ready_at is None
    assert fresh(piece).rack_place is None
    tracking.release(piece.code, "button is fine", Act(by=crew))
    assert place(piece) == (PieceState.WAITING, Station.ASSEMBLY)
    tracking.assemble(piece.code, Act(by=crew))
    tracking.complete_ticket(ticket.number, Act(by=crew))
    tracking.rack(piece.code, "A2", Act(by=crew))
    ticket.refresh_from_db()
    assert ticket.ready_at is not None


def test_a_ticket_is_completed_only_when_every_piece_is_matched(crew: User) -> None:
    ticket = make_ticket(crew, [jumper(), trousers()])
    first, second = ticket.pieces.all()
    work_until(first, Station.ASSEMBLY, crew)
    tracking.assemble(first.code, Act(by=crew))
    assert refusal(tracking.assemble, first.code, Act(by=crew)) == "already_matched"
    with pytest.raises(Refused) as caught:
        tracking.complete_ticket(ticket.number, Act(by=crew))
    assert caught.value.code == "incomplete"
    assert f"{second.spoken}: Waiting at Intake, last seen" in caught.value.says
    assert first.spoken not in caught.value.says
    work_until(second, Station.ASSEMBLY, crew)
    tracking.assemble(second.code, Act(by=crew))
    tracking.complete_ticket(ticket.number, Act(by=crew))
    assert [place(first), place(second)] == [(PieceState.ASSEMBLED, Station.RACK)] * 2


def test_a_part_goes_ahead_only_with_a_reason_and_leaves_the_ticket_unready(crew: User) -> None:
    ticket = make_ticket(crew, [jumper(), trousers()])
    first, second = ticket.pieces.all()
    work_until(first, Station.ASSEMBLY, crew)
    tracking.assemble(first.code, Act(by=crew))
    act = Act(by=crew, client_key="part")
    moved = tracking.complete_ticket(ticket.number, act, "customer travels")
    assert [(m.piece.pk, m.move.reason) for m in moved] == [(first.pk, "customer travels")]
    again = tracking.complete_ticket(ticket.number, act, "customer travels")
    assert [m.repeated for m in again] == [True]
    tracking.rack(first.code, "A1", Act(by=crew))
    ticket.refresh_from_db()
    assert ticket.ready_at is None
    assert place(second) == (PieceState.WAITING, Station.INTAKE)


def test_completing_an_empty_table_or_an_unknown_ticket_is_refused(
    piece: Piece, crew: User
) -> None:
    number, act = piece.ticket.number, Act(by=crew)
    assert refusal(tracking.complete_ticket, number, act, "why not") == "nothing_to_complete"
    assert refusal(tracking.complete_ticket, 9_000_000, act) == "unknown_ticket"


def test_the_last_racked_piece_makes_the_ticket_ready_and_says_so_once(crew: User) -> None:
    heard: list[int] = []

    def listen(ticket: Ticket, **_: Any) -> None:
        heard.append(ticket.number)

    signals.ticket_ready.connect(listen)
    try:
        ticket = make_ticket(crew, [jumper(), trousers()])
        make_ready(ticket, crew)
        tracking.rack(ticket.pieces.all()[0].code, "A2", Act(by=crew))
    finally:
        signals.ticket_ready.disconnect(listen)
    assert heard == [ticket.number]


def test_a_piece_is_racked_once_at_a_place_and_may_move_to_another(crew: User) -> None:
    ticket = make_ready(make_ticket(crew, [jumper()]), crew, "A1")
    piece = ticket.pieces.get()
    before = piece.move_count
    assert tracking.rack(piece.code, "a1", Act(by=crew)).repeated
    assert fresh(piece).move_count == before
    assert tracking.rack(piece.code, "A2", Act(by=crew)).repeated is False
    assert known(fresh(piece).rack_place).code == "A2"
    assert refusal(tracking.rack, piece.code, "Z9", Act(by=crew)) == "unknown_place"


def test_a_piece_whose_ticket_is_not_complete_may_not_be_racked(crew: User) -> None:
    ticket = make_ticket(crew, [jumper(), trousers()])
    first = ticket.pieces.get(position=1)
    work_until(first, Station.ASSEMBLY, crew)
    assert refusal(tracking.rack, first.code, "A1", Act(by=crew)) == "not_here"
    tracking.assemble(first.code, Act(by=crew))
    assert refusal(tracking.rack, first.code, "A1", Act(by=crew)) == "not_here"


def test_handing_over_refuses_strangers_the_unfinished_the_held_and_the_gone(
    crew: User,
) -> None:
    ticket = make_ready(make_ticket(crew, [jumper(), trousers()]), crew)
    first, second = ticket.pieces.all()
    act = Act(by=crew)
    assert refusal(tracking.hand_over, first.code, 9_000_000, act) == "other_ticket"
    tracking.send_back(second.code, Station.PRESS, "crease", act)
    assert refusal(tracking.hand_over, second.code, ticket.number, act) == "unfinished"
    tracking.hold(second.code, "ask", crew, business_day(), act)
    assert refusal(tracking.hand_over, second.code, ticket.number, act) == "held"
    tracking.hand_over(first.code, ticket.number, act)
    assert refusal(tracking.hand_over, first.code, ticket.number, act) == "gone"
    ticket.refresh_from_db()
    assert (ticket.ready_at, ticket.closed_at) == (None, None)
    tracking.return_undone(second.code, "changed her mind", act)
    ticket.refresh_from_db()
    assert ticket.closed_at is not None
    assert not Hold.objects.filter(ended_at__isnull=True).exists()


def test_a_returned_piece_lets_the_rest_of_the_ticket_become_ready(crew: User) -> None:
    ticket = make_ticket(crew, [jumper(), trousers()])
    first, second = ticket.pieces.all()
    assert refusal(tracking.return_undone, second.code, "", Act(by=crew)) == "no_reason"
    tracking.return_undone(second.code, "customer took it along", Act(by=crew))
    make_one_ready(first, crew)
    ticket.refresh_from_db()
    assert ticket.ready_at is not None
    assert ticket.closed_at is None


def make_one_ready(piece: Piece, crew: User) -> None:
    work_until(piece, Station.ASSEMBLY, crew)
    tracking.assemble(piece.code, Act(by=crew))
    tracking.complete_ticket(piece.ticket.number, Act(by=crew))
    tracking.rack(piece.code, "A1", Act(by=crew))


def test_a_move_stores_the_shops_own_day_and_who_did_it_from_where(
    piece: Piece, crew: User
) -> None:
    at = timezone.now()
    moved = tracking.finish_work(piece.code, Station.INTAKE, Act(by=crew, device="tablet", at=at))
    assert (moved.move.by, moved.move.device, moved.move.business_day, moved.move.at) == (
        crew,
        "tablet",
        business_day(at),
        at,
    )


def test_a_whole_life_leaves_nothing_for_the_replay_to_complain_about(crew: User) -> None:
    ticket = make_ready(make_ticket(crew, [jumper(), shirt(), trousers()]), crew)
    for piece in ticket.pieces.all():
        tracking.hand_over(piece.code, ticket.number, Act(by=crew))
    ticket.refresh_from_db()
    assert ticket.closed_at is not None
    assert list(map(str, replay.differences())) == []
