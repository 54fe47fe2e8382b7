"""Loads through their one door: what may go in, in which order, and that no piece stays behind."""

from __future__ import annotations

import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.utils import timezone

from tests.building import jumper, make_machine, make_ticket, shirt, work_until
from tickets import loadbook, loadfloor, loadpieces, tracking
from tickets.choices import MoveKind, PieceState, Station
from tickets.errors import Refused
from tickets.loads import facts
from tickets.machinery import save_machine
from tickets.models import Load, LoadEvent, LoadPiece, Machine, Move, Piece, Programme
from tickets.models.machines import LeftHow, LoadState
from tickets.tracking import Act

pytestmark = pytest.mark.django_db


def white(**changes: Any) -> dict[str, Any]:
    """A white cotton shirt without a stain: washes at 60 °C."""
    return shirt(stains=[], **changes)


def tender(**changes: Any) -> dict[str, Any]:
    """A white shirt whose label asks for 30 °C, very mild."""
    label = {**shirt()["label"], "symbols": ["wash_30_very_mild", "no_bleach", "tumble_low"]}
    return white(label=label, **changes)


def at_wash(crew: User, *facts_of_pieces: dict[str, Any]) -> list[Piece]:
    ticket = make_ticket(crew, facts_of_pieces)
    return [work_until(piece, Station.WASH, crew) for piece in ticket.pieces.all()]


def room(piece: facts.LoadPiece) -> int:
    """Millilitres of drum that it takes in cotton at 60 °C."""
    [programme] = [each for each in facts.usual_programmes() if each.key == "cotton_60"]
    return facts.room_taken(piece, programme)


def act(crew: User) -> Act:
    return Act(by=crew, client_key=str(uuid.uuid4()))


def opened(crew: User, pieces: list[Piece], machine: Machine | None = None) -> Load:
    machine = machine or Machine.objects.first() or make_machine()
    return loadbook.open_load(machine.pk, [each.code for each in pieces], act(crew)).load


def running(crew: User, pieces: list[Piece]) -> Load:
    load = opened(crew, pieces)
    loadbook.close(load.pk, act(crew))
    return loadbook.start(load.pk, act(crew)).load


def state_of(load: Load) -> str:
    return Load.objects.get(pk=load.pk).state


def code_of(refused: pytest.ExceptionInfo[Refused]) -> str:
    return refused.value.code


def test_the_first_machine_of_a_kind_brings_the_usual_programmes(crew: User) -> None:
    make_machine()
    usual = {each.key: each.minutes for each in facts.usual_programmes()}
    assert dict(Programme.objects.values_list("key", "minutes")) == usual
    Programme.objects.filter(key="cotton_60").update(minutes=70)
    make_machine("Washer 2")
    assert Programme.objects.count() == len(usual)
    assert Programme.objects.get(key="cotton_60").minutes == 70  # the shop's own clock stays


def test_the_pieces_decide_the_programme_and_its_estimates(crew: User) -> None:
    """Wash water is 15 litres for a kg (common trade practice, row ``water.total``)."""
    load = opened(crew, at_wash(crew, white(), white()))
    each = loadpieces.load_piece(load.contents.first().piece, Station.WASH)
    assert (load.programme.key, load.grams) == ("cotton_60", 2 * each.grams)
    assert float(load.water_litres) == pytest.approx(15 * 2 * each.grams / 1000, abs=0.05)
    assert load.fill_percent == round(100 * 2 * room(each) / 100_000)  # of a drum of 100 litres
    assert load.minutes == 55  # common trade practice, row ``time.wash.cotton_60``


def test_a_weighed_piece_counts_by_the_scale(crew: User) -> None:
    [piece] = at_wash(crew, white())
    Piece.objects.filter(pk=piece.pk).update(weight_g=1234)
    assert opened(crew, [piece]).grams == 1234


def test_adding_a_tender_piece_is_told_before_it_is_done(crew: User) -> None:
    sturdy, gentle = at_wash(crew, white(), tender())
    load = opened(crew, [sturdy])
    with pytest.raises(loadbook.Drops) as told:
        loadbook.add(load.pk, gentle.code, act(crew))
    assert told.value.says == (f"{gentle.spoken}: Adding this drops the load to 30 °C, very mild.")
    assert LoadPiece.objects.filter(load=load).count() == 1
    after = loadbook.add(load.pk, gentle.code, act(crew), agreed=told.value.programme).load
    assert after.programme.key == "wool_30"
    back = loadbook.take_off(load.pk, gentle.code, act(crew)).load
    assert back.programme.key == "cotton_60"


def test_agreeing_to_one_programme_is_no_yes_to_another(crew: User) -> None:
    sturdy, gentle = at_wash(crew, white(), tender())
    load = opened(crew, [sturdy])
    with pytest.raises(loadbook.Drops):
        loadbook.add(load.pk, gentle.code, act(crew), agreed="cotton_40")


def test_what_may_not_share_is_refused_with_the_sentence(crew: User) -> None:
    light, dark = at_wash(crew, white(), white(colour="dark"))
    load = opened(crew, [light])
    with pytest.raises(Refused) as no:
        loadbook.add(load.pk, dark.code, act(crew))
    assert code_of(no) == "not_together"
    assert f"Not with {light.spoken}:" in no.value.says
    with pytest.raises(Refused) as no:
        opened(crew, [dark, *at_wash(crew, white())])
    assert code_of(no) == "not_together"
    assert Load.objects.count() == 1


def test_a_drum_is_never_overfull(crew: User) -> None:
    pieces = at_wash(crew, *[white()] * 3)
    each = room(loadpieces.load_piece(pieces[0], Station.WASH))
    drum = make_machine("Small", litres=round(2 * each / 1000) + 1)
    load = opened(crew, pieces[:2], drum)
    with pytest.raises(Refused) as no:
        loadbook.add(load.pk, pieces[2].code, act(crew))
    assert "l of drum" in no.value.says


def test_a_piece_is_in_one_load_at_a_time(crew: User) -> None:
    [piece] = at_wash(crew, white())
    load = opened(crew, [piece])
    with pytest.raises(Refused) as no:
        opened(crew, [piece])
    assert code_of(no) == "in_a_load"
    with pytest.raises(IntegrityError), transaction.atomic():
        LoadPiece.objects.create(load=load, piece=piece, in_at=timezone.now())


def test_a_piece_that_waits_elsewhere_goes_into_no_load(crew: User) -> None:
    piece = make_ticket(crew, [white()]).pieces.get()
    make_machine()
    with pytest.raises(Refused) as no:
        opened(crew, [piece])
    assert code_of(no) == "not_here"


def test_each_piece_counted_out_is_one_move_and_the_last_frees_the_machine(crew: User) -> None:
    pieces = at_wash(crew, white(), white())
    load = running(crew, pieces)
    loadbook.finish(load.pk, act(crew))
    loadbook.count_out(load.pk, pieces[0].code, act(crew))
    assert state_of(load) == LoadState.FINISHED
    assert [each.spoken for each in loadbook.left_in(load)] == [pieces[1].spoken]
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
    assert loadpieces.waiting_here(Station.WASH) == pieces
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
    assert [(each.piece, "wet check" in each.why) for each in floor.apart] == [(stained, True)]
    with pytest.raises(Refused) as no:
        loadbook.open_load(load.machine.pk, [stained.code], act(crew))
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
    load = None
    for _ in range(2):
        done = loadbook.open_load(machine.pk, [piece.code], keys[0])
        load = load or done.load
        assert done.load == load
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


def test_an_empty_load_cannot_close(crew: User) -> None:
    load = opened(crew, [])
    with pytest.raises(Refused) as no:
        loadbook.close(load.pk, act(crew))
    assert code_of(no) == "empty_load"


def test_a_machine_with_an_open_load_stays_in_use(crew: User) -> None:
    load = opened(crew, at_wash(crew, white()))
    load.machine.in_use = False
    with pytest.raises(Refused) as no:
        save_machine(load.machine)
    assert code_of(no) == "machine_busy"


def test_a_dryer_load_leaves_out_what_no_dryer_may_take(crew: User) -> None:
    ticket = make_ticket(crew, [white(), jumper()])
    dry, wool = (work_until(piece, Station.DRY, crew) for piece in ticket.pieces.all())
    make_machine("Dryer 1", "dryer", 300)
    floor = loadfloor.floor(Station.DRY, timezone.now())
    assert [piece for each in floor.proposals for piece in each.pieces] == [dry]
    assert [(each.piece, each.why) for each in floor.apart] == [
        (
            wool,
            f"{wool.spoken} may go into no dryer. Lay it flat, then scan it on the board.",
        )
    ]
    load = opened(crew, [dry])
    assert load.programme.tumble == "normal"
    assert load.water_litres == 0


def test_the_proposals_hold_each_waiting_piece_once(crew: User) -> None:
    pieces = at_wash(crew, white(), white(), jumper(), tender())
    make_machine()
    taken = opened(crew, [pieces[0]])
    floor = loadfloor.floor(Station.WASH, timezone.now())
    proposed = [piece for each in floor.proposals for piece in each.pieces]
    assert sorted(piece.pk for piece in proposed) == sorted(piece.pk for piece in pieces[1:])
    assert floor.loads == [taken]


def test_a_busy_machine_gets_no_load_for_now(crew: User) -> None:
    first, second = at_wash(crew, white(), white())
    make_machine()
    assert [each.now for each in loadfloor.floor(Station.WASH, timezone.now()).proposals] == [True]
    load = running(crew, [first])
    [proposal] = loadfloor.floor(Station.WASH, timezone.now()).proposals
    assert (proposal.pieces, proposal.now) == ([second], False)
    # 55 minutes of cotton at 60 °C and 10 to empty and fill; common trade practice.
    assert proposal.starts_in == 65
    assert load.ends_at - load.started_at == timedelta(minutes=55)


def test_a_load_that_can_begin_on_an_idle_machine_does(crew: User) -> None:
    """Two loads that may not share: each gets a machine of its own at once."""
    light, dark = at_wash(crew, white(), white(colour="dark"))
    make_machine(), make_machine("Washer 2")
    proposals = loadfloor.floor(Station.WASH, timezone.now()).proposals
    assert sorted(each.machine.name for each in proposals) == ["Washer 1", "Washer 2"]
    assert [each.now for each in proposals] == [True, True]
    assert {piece for each in proposals for piece in each.pieces} == {light, dark}


def test_a_proposal_says_why(crew: User) -> None:
    sturdy, gentle = at_wash(crew, white(), tender())
    soon = timezone.now() + timedelta(hours=3)
    Piece.objects.filter(pk=gentle.pk).update(promised_at=soon)
    make_machine()
    [proposal] = loadfloor.floor(Station.WASH, timezone.now()).proposals
    assert proposal.pieces == [gentle, sturdy]
    assert proposal.reasons[0].startswith(f"Due first: {gentle.spoken}, promised ")
    assert proposal.reasons[-1] == f"30 °C, very mild because of {gentle.spoken}."
