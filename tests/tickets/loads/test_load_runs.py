"""A load from its closed door to the empty drum: step by step, and no piece stays behind."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.utils import timezone

from tests.building import known, make_machine, shirt
from tests.tickets.floor import act, at_wash, code_of, opened, running, state_of, white
from tickets.acting import Act
from tickets.choices import MoveKind, PieceState, Station
from tickets.errors import Refused
from tickets.loads import proposals as loadfloor
from tickets.loads import services as loadbook
from tickets.loads.queries import inside, waiting_here
from tickets.models import Load, LoadEvent, LoadPiece, Move
from tickets.models.machines import LeftHow, LoadState
from tickets.tracking import services as tracking

pytestmark = pytest.mark.django_db


def test_each_piece_counted_out_is_one_move_and_the_last_frees_the_machine(crew: User) -> None:
    pieces = at_wash(crew, white(), white())
    load = running(crew, pieces)
    loadbook.finish(load.pk, act(crew))
    loadbook.count_out(load.pk, pieces[0].code, act(crew))
    assert state_of(load) == LoadState.FINISHED
    assert [inside_piece.spoken for inside_piece in inside(load)] == [pieces[1].spoken]
    loadbook.count_out(load.pk, pieces[1].code, act(crew))
    assert state_of(load) == LoadState.EMPTIED
    for piece in pieces:
        piece.refresh_from_db()
        assert piece.station != Station.WASH
        worked = Move.objects.filter(piece=piece, kind=MoveKind.WORKED, from_station=Station.WASH)
        assert worked.count() == 1


def test_a_piece_left_in_the_drum_is_named_and_keeps_the_machine(crew: User) -> None:
    first, second, third = at_wash(crew, white(), white(), white())
    load = running(crew, [first, second])
    following = opened(crew, [third])
    loadbook.close(following.pk, act(crew))
    loadbook.finish(load.pk, act(crew))
    loadbook.count_out(load.pk, first.code, act(crew))
    with pytest.raises(Refused) as no:
        loadbook.start(following.pk, act(crew))
    assert code_of(no) == "machine_busy"
    assert no.value.says == (
        f"Washer 1 is not free: load {load.pk}, Run is over. In the drum: {second.spoken}."
    )
    loadbook.count_out(load.pk, second.code, act(crew))
    assert loadbook.start(following.pk, act(crew)).load.state == LoadState.RUNNING


def test_the_database_itself_keeps_two_runs_out_of_one_machine(crew: User) -> None:
    first, second = at_wash(crew, white(), white())
    load, other = running(crew, [first]), opened(crew, [second])
    assert state_of(load) == LoadState.RUNNING
    with pytest.raises(IntegrityError), transaction.atomic():
        Load.objects.filter(pk=other.pk).update(state=LoadState.RUNNING)


def test_a_piece_that_was_not_in_the_drum_still_waits(crew: User) -> None:
    first, second = at_wash(crew, white(), white())
    load = running(crew, [first, second])
    loadbook.finish(load.pk, act(crew))
    loadbook.count_out(load.pk, first.code, act(crew))
    loadbook.never_in(load.pk, second.code, act(crew))
    assert state_of(load) == LoadState.EMPTIED
    second.refresh_from_db()
    assert (second.station, second.state) == (Station.WASH, PieceState.WAITING)
    assert LoadPiece.objects.get(load=load, piece=second).how == LeftHow.NEVER_IN


def test_a_stranger_in_the_drum_is_refused(crew: User) -> None:
    first, stranger = at_wash(crew, white(), white())
    load = running(crew, [first])
    loadbook.finish(load.pk, act(crew))
    with pytest.raises(Refused) as no:
        loadbook.count_out(load.pk, stranger.code, act(crew))
    assert code_of(no) == "not_in_load"


def test_a_piece_held_or_moved_on_meanwhile_is_only_counted(crew: User) -> None:
    held, gone = at_wash(crew, white(), white())
    load = running(crew, [held, gone])
    tracking.hold(held.code, "a seam opened", crew, timezone.localdate(), Act(by=crew))
    tracking.finish_work(gone.code, Station.WASH, Act(by=crew))
    loadbook.finish(load.pk, act(crew))
    before = Move.objects.count()
    for piece in (held, gone):
        loadbook.count_out(load.pk, piece.code, act(crew))
    assert Move.objects.count() == before
    assert state_of(load) == LoadState.EMPTIED


def test_a_piece_that_left_keeps_its_load_from_closing(crew: User) -> None:
    stays, gone = at_wash(crew, white(), white())
    load = opened(crew, [stays, gone])
    tracking.finish_work(gone.code, Station.WASH, Act(by=crew))
    with pytest.raises(Refused) as no:
        loadbook.close(load.pk, act(crew))
    assert code_of(no) == "left_the_load"
    assert gone.spoken in no.value.says
    assert no.value.cure == "Scan the piece at the load to take it off."
    loadbook.take_off(load.pk, gone.code, act(crew))
    assert loadbook.close(load.pk, act(crew)).load.state == LoadState.CLOSED


def test_undo_goes_back_step_by_step(crew: User) -> None:
    pieces = at_wash(crew, white())
    load = running(crew, pieces)
    loadbook.finish(load.pk, act(crew))
    seen = []
    for _ in range(4):
        loadbook.undo(load.pk, act(crew))
        seen.append(state_of(load))
    assert seen == ["running", "closed", "filling", "undone"]
    assert waiting_here(Station.WASH) == pieces
    with pytest.raises(Refused) as no:
        loadbook.undo(load.pk, act(crew))
    assert code_of(no) == "wrong_state"


def test_a_washed_piece_that_waits_for_its_wet_check_goes_into_no_second_load(crew: User) -> None:
    (stained,) = at_wash(crew, shirt())
    load = running(crew, [stained])
    loadbook.finish(load.pk, act(crew))
    loadbook.count_out(load.pk, stained.code, act(crew))
    floor = loadfloor.floor(Station.WASH, timezone.now())
    assert floor.proposals == []
    assert [(entry.piece, "wet check" in entry.why) for entry in floor.apart] == [(stained, True)]
    with pytest.raises(Refused) as no:
        loadbook.open_load(known(load.machine).pk, [stained.code], act(crew))
    assert code_of(no) == "wet_check_first"


def test_counting_out_is_not_undone(crew: User) -> None:
    first, second = at_wash(crew, white(), white())
    load = running(crew, [first, second])
    loadbook.finish(load.pk, act(crew))
    loadbook.count_out(load.pk, first.code, act(crew))
    with pytest.raises(Refused) as no:
        loadbook.undo(load.pk, act(crew))
    assert code_of(no) == "counting_out"


@pytest.mark.parametrize(
    ("steps", "wrong"),
    [
        ([], "start"),
        ([], "finish"),
        (["close"], "finish"),
        (["close", "start"], "close"),
        (["close", "start"], "count_out"),
        (["close", "start", "finish"], "start"),
    ],
)
def test_no_step_is_skipped(crew: User, steps: list[str], wrong: str) -> None:
    [piece] = at_wash(crew, white())
    load = opened(crew, [piece])
    for step in steps:
        getattr(loadbook, step)(load.pk, act(crew))
    more = (piece.code,) if wrong == "count_out" else ()
    with pytest.raises(Refused) as no:
        getattr(loadbook, wrong)(load.pk, *more, act(crew))
    assert code_of(no) == "wrong_state"


def test_each_change_twice_with_one_key_is_done_once(crew: User) -> None:
    piece, other = at_wash(crew, white(), white())
    machine = make_machine()
    keys = [act(crew) for _ in range(6)]
    load = loadbook.open_load(machine.pk, [piece.code], keys[0]).load
    assert loadbook.open_load(machine.pk, [piece.code], keys[0]).load == load
    changes = [
        lambda key: loadbook.add(load.pk, other.code, key),
        lambda key: loadbook.close(load.pk, key),
        lambda key: loadbook.start(load.pk, key),
        lambda key: loadbook.finish(load.pk, key),
        lambda key: loadbook.count_out(load.pk, piece.code, key),
    ]
    for change, key in zip(changes, keys[1:], strict=True):
        assert not change(key).repeated
        events, moves = LoadEvent.objects.count(), Move.objects.count()
        assert change(key).repeated
        assert (LoadEvent.objects.count(), Move.objects.count()) == (events, moves)
