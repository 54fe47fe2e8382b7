"""The stored state of a piece is what its moves say, whatever people do in whatever order."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.management import call_command
from hypothesis import HealthCheck, given
from hypothesis import strategies as st

from tests.building import (
    hand_over_all,
    jumper,
    make_ready,
    make_ticket,
    shirt,
    trousers,
    work_until,
)
from tests.examples import examples
from tickets.acting import Act
from tickets.choices import TRANSITIONS, MoveKind, PieceState, Station
from tickets.errors import Refused
from tickets.models import Hold, Move, Piece, RackPlace, RouteStep, Ticket
from tickets.pieces.services import decide_again
from tickets.shop.calendar import business_day
from tickets.tracking import replay
from tickets.tracking import services as tracking

pytestmark = pytest.mark.django_db

ACTIONS = (
    "work",
    "work",
    "work",
    "yes",
    "no",
    "redo",
    "hold",
    "release",
    "assemble",
    "complete",
    "complete_part",
    "rack",
    "rack_other",
    "hand_over",
    "return",
    "decide_again",
)


def do(action: str, piece: Piece, station: Station, key: str | None, by: User) -> None:
    act = Act(by=by, client_key=key)
    number = piece.ticket.number
    if action == "work":
        tracking.finish_work(piece.code, Station(piece.station), act)
    elif action in ("yes", "no"):
        tracking.answer_wet_check(piece.code, action == "yes", act)
    elif action == "redo":
        tracking.send_back(piece.code, station, "not good yet", act)
    elif action == "hold":
        tracking.hold(piece.code, "to ask", by, business_day(), act)
    elif action == "release":
        tracking.release(piece.code, "answered", act)
    elif action == "assemble":
        tracking.assemble(piece.code, act)
    elif action.startswith("complete"):
        reason = "a part goes ahead" if action == "complete_part" else ""
        tracking.complete_ticket(number, act, reason)
    elif action.startswith("rack"):
        tracking.rack(piece.code, "A1" if action == "rack" else "A2", act)
    elif action == "hand_over":
        tracking.hand_over(piece.code, number, act)
    elif action == "return":
        tracking.return_undone(piece.code, "goes back", act)
    else:
        decide_again(piece.code, piece.facts, "looked again", act)


steps_of_a_day = st.lists(
    st.tuples(
        st.sampled_from(ACTIONS),
        st.integers(0, 1),
        st.sampled_from([Station.BENCH, Station.SPOTTING, Station.WASH, Station.PRESS]),
        st.sampled_from([None, None, "a", "b"]),
    ),
    max_size=40,
)


@examples(60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(day=steps_of_a_day)
def test_any_order_of_actions_keeps_moves_and_stored_state_the_same(
    day: list[tuple[str, int, Station, str | None]], crew: User
) -> None:
    ticket = make_ticket(crew, [shirt(), trousers()])
    for action, which, station, key in day:
        piece = ticket.pieces.get(position=which + 1)
        # A real client makes a key for one action only.
        once = f"{ticket.number}-{piece.position}-{action}-{station}-{key}" if key else None
        before = Move.objects.count()
        refused = False
        try:
            do(action, piece, station, once, crew)
        except Refused:
            refused = True
        assert not refused or Move.objects.count() == before
    for move in Move.objects.filter(piece__ticket=ticket).exclude(kind=MoveKind.OPENED):
        allowed_from, to_state = TRANSITIONS[MoveKind(move.kind)]
        assert move.from_state in allowed_from
        assert move.to_state == to_state
    assert list(map(str, replay.differences(ticket.pieces.all()))) == []
    held = ticket.pieces.filter(state=PieceState.HELD).count()
    assert Hold.objects.filter(piece__ticket=ticket, ended_at__isnull=True).count() == held


def test_the_random_days_reach_the_rack_when_everybody_does_the_right_thing(crew: User) -> None:
    """Shows that the actions above are enough to get through a whole day."""
    ticket = make_ticket(crew, [shirt()])
    for action in [*("work", "yes") * 12, "assemble", "complete", "rack", "hand_over"]:
        piece = ticket.pieces.get()
        try:
            do(action, piece, Station.WASH, None, crew)
        except Refused:
            continue
    assert ticket.pieces.get().state == PieceState.COLLECTED


def seen(**changes: Any) -> list[str]:
    if changes:
        Piece.objects.update(**changes)
    return [difference.what for difference in replay.differences()]


PAST = datetime(2026, 1, 5, 9, tzinfo=UTC)


@pytest.mark.parametrize(
    ("changes", "named"),
    [
        ({"state": PieceState.HELD}, ["state"]),
        ({"station": Station.PRESS}, ["station"]),
        ({"since": PAST}, ["since"]),
        ({"redo_count": 3}, ["redo count"]),
        ({"move_count": 9}, ["move count"]),
    ],
)
def test_a_row_changed_past_the_moves_is_found(
    crew: User, changes: dict[str, Any], named: list[str]
) -> None:
    make_ticket(crew, [jumper()])
    assert seen(**changes) == named


def test_a_place_changed_past_the_moves_is_found(crew: User) -> None:
    make_ready(make_ticket(crew, [jumper()]), crew)
    assert seen(rack_place=RackPlace.objects.get(code="A2")) == ["rack place"]


def test_a_hold_ended_past_the_moves_and_one_begun_past_them_are_found(crew: User) -> None:
    piece = make_ticket(crew, [jumper()]).pieces.get()
    tracking.hold(piece.code, "to ask", crew, business_day(), Act(by=crew))
    assert seen() == []
    Hold.objects.update(ended_at=PAST)
    assert seen() == ["open holds"]
    tracking.release(piece.code, "answered", Act(by=crew))
    Hold.objects.update(ended_at=None)
    assert seen() == ["open holds"]


def test_a_ticket_closed_by_hand_and_one_never_closed_are_found(crew: User) -> None:
    ticket = make_ticket(crew, [jumper()])
    Ticket.objects.update(closed_at=PAST)
    assert seen() == ["closed"]
    Ticket.objects.update(closed_at=None)
    hand_over_all(ticket, crew)
    assert seen() == []
    Ticket.objects.update(closed_at=None)
    assert seen() == ["closed"]
    Ticket.objects.update(closed_at=PAST, ready_at=None)
    assert seen() == ["ready"]


def test_a_step_ticked_past_the_moves_is_found(crew: User) -> None:
    piece = make_ticket(crew, [jumper()]).pieces.get()
    work_until(piece, Station.PRESS, crew)
    RouteStep.objects.filter(done_at__isnull=True).update(done_at=piece.since)
    assert [difference.what for difference in replay.differences()] == ["done steps", "next step"]


def test_a_lost_move_is_found(crew: User) -> None:
    piece = make_ticket(crew, [jumper()]).pieces.get()
    work_until(piece, Station.PRESS, crew)
    Move.objects.filter(piece=piece, number=2).delete()
    whats = [difference.what for difference in replay.differences()]
    assert "history" in whats
    assert "move count" in whats


def test_a_ticket_called_ready_by_hand_is_found(crew: User) -> None:
    ticket = make_ticket(crew, [jumper()])
    Ticket.objects.filter(pk=ticket.pk).update(ready_at=ticket.opened_at)
    assert list(map(str, replay.differences())) == [
        f"{ticket.number} ready: stored True, moves say False"
    ]


def test_the_command_says_how_much_agrees(crew: User, capsys: pytest.CaptureFixture[str]) -> None:
    make_ready(make_ticket(crew, [jumper(), trousers()]), crew)
    call_command("check_moves")
    assert capsys.readouterr().out == (f"2 pieces agree with their {Move.objects.count()} moves.\n")


def test_the_command_ends_with_1_and_a_line_for_each_difference(
    crew: User, capsys: pytest.CaptureFixture[str]
) -> None:
    piece = make_ticket(crew, [jumper()]).pieces.get()
    Piece.objects.update(station=Station.PRESS)
    with pytest.raises(SystemExit) as end:
        call_command("check_moves")
    assert end.value.code == 1
    out, err = capsys.readouterr()
    assert out == f"{piece.spoken} station: stored press, moves say intake\n"
    assert err.startswith("1 found.")
