"""What may go into a load, what it makes of it, and which loads are proposed."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.utils import timezone
from time_machine import Traveller

from tests.building import jumper, known, make_machine, make_ticket, work_until
from tests.tickets.floor import act, at_wash, code_of, opened, running, tender, white
from tickets.choices import Station
from tickets.errors import Refused
from tickets.loads import proposals as loadfloor
from tickets.loads import services as loadbook
from tickets.loads.items import LoadItem, room_taken
from tickets.loads.planned_pieces import load_piece
from tickets.loads.refusals import Drops
from tickets.models import Load, LoadPiece, Piece, Programme
from tickets.shop.machine_facts import usual_programmes
from tickets.shop.services import save_machine

pytestmark = pytest.mark.django_db


def room(piece: LoadItem) -> int:
    """Millilitres of drum that it takes in cotton at 60 °C."""
    [programme] = [usual for usual in usual_programmes() if usual.key == "cotton_60"]
    return room_taken(piece, programme)


def test_the_first_machine_of_a_kind_brings_the_usual_programmes(crew: User) -> None:
    make_machine()
    usual = {programme.key: programme.minutes for programme in usual_programmes()}
    assert dict(Programme.objects.values_list("key", "minutes")) == usual
    Programme.objects.filter(key="cotton_60").update(minutes=70)
    make_machine("Washer 2")
    assert Programme.objects.count() == len(usual)
    assert Programme.objects.get(key="cotton_60").minutes == 70  # the shop's own clock stays


def test_the_pieces_decide_the_programme_and_its_estimates(crew: User) -> None:
    """Wash water is 15 litres for a kg (common trade practice, row ``water.total``)."""
    load = opened(crew, at_wash(crew, white(), white()))
    item = load_piece(load.contents.earliest("pk").piece, Station.WASH)
    assert (known(load.programme).key, load.grams) == ("cotton_60", 2 * item.grams)
    assert float(load.water_litres) == pytest.approx(15 * 2 * item.grams / 1000, abs=0.05)
    assert load.fill_percent == round(100 * 2 * room(item) / 100_000)  # of a drum of 100 litres
    assert load.minutes == 55  # common trade practice, row ``time.wash.cotton_60``


def test_a_weighed_piece_counts_by_the_scale(crew: User) -> None:
    [piece] = at_wash(crew, white())
    Piece.objects.filter(pk=piece.pk).update(weight_g=1234)
    load = opened(crew, [piece])
    assert load.grams == 1234
    # 15 litres for a kg make 18.51; its column, and so what the door hands back, has one place.
    assert load.water_litres == Decimal("18.5")


def test_adding_a_tender_piece_is_told_before_it_is_done(crew: User) -> None:
    sturdy, gentle = at_wash(crew, white(), tender())
    load = opened(crew, [sturdy])
    with pytest.raises(Drops) as drop:
        loadbook.add(load.pk, gentle.code, act(crew))
    assert drop.value.says == (f"{gentle.spoken}: Adding this drops the load to 30 °C, very mild.")
    assert LoadPiece.objects.filter(load=load).count() == 1
    after = loadbook.add(load.pk, gentle.code, act(crew), agreed=drop.value.programme).load
    assert known(after.programme).key == "wool_30"
    back = loadbook.take_off(load.pk, gentle.code, act(crew)).load
    assert known(back.programme).key == "cotton_60"


def test_agreeing_to_one_programme_is_no_yes_to_another(crew: User) -> None:
    sturdy, gentle = at_wash(crew, white(), tender())
    load = opened(crew, [sturdy])
    with pytest.raises(Drops):
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
    litres = room(load_piece(pieces[0], Station.WASH))
    drum = make_machine("Small", litres=round(2 * litres / 1000) + 1)
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


def test_an_empty_load_cannot_close(crew: User) -> None:
    load = opened(crew, [])
    with pytest.raises(Refused) as no:
        loadbook.close(load.pk, act(crew))
    assert code_of(no) == "empty_load"


def test_a_machine_with_an_open_load_stays_in_use(crew: User) -> None:
    load = opened(crew, at_wash(crew, white()))
    machine = known(load.machine)
    machine.in_use = False
    with pytest.raises(Refused) as no:
        save_machine(machine)
    assert code_of(no) == "machine_busy"


def test_a_dryer_load_leaves_out_what_no_dryer_may_take(crew: User) -> None:
    ticket = make_ticket(crew, [white(), jumper()])
    dry, wool = (work_until(piece, Station.DRY, crew) for piece in ticket.pieces.all())
    make_machine("Dryer 1", "dryer", 300)
    floor = loadfloor.floor(Station.DRY, timezone.now())
    assert [piece for entry in floor.proposals for piece in entry.pieces] == [dry]
    assert [(entry.piece, entry.why) for entry in floor.apart] == [
        (
            wool,
            f"{wool.spoken} may go into no dryer. Lay it flat, then scan it on the board.",
        )
    ]
    load = opened(crew, [dry])
    assert known(load.programme).tumble == "normal"
    assert load.water_litres == 0


def test_the_proposals_hold_each_waiting_piece_once(crew: User) -> None:
    pieces = at_wash(crew, white(), white(), jumper(), tender())
    make_machine()
    taken = opened(crew, [pieces[0]])
    floor = loadfloor.floor(Station.WASH, timezone.now())
    proposed = [piece for proposal in floor.proposals for piece in proposal.pieces]
    assert sorted(piece.pk for piece in proposed) == sorted(piece.pk for piece in pieces[1:])
    assert floor.loads == [taken]


def test_a_busy_machine_gets_no_load_for_now(crew: User) -> None:
    first, second = at_wash(crew, white(), white())
    make_machine()
    assert [shown.now for shown in loadfloor.floor(Station.WASH, timezone.now()).proposals] == [
        True
    ]
    load = running(crew, [first])
    [proposal] = loadfloor.floor(Station.WASH, timezone.now()).proposals
    assert (proposal.pieces, proposal.now) == ([second], False)
    # 55 minutes of cotton at 60 °C and 10 to empty and fill; common trade practice.
    assert proposal.starts_in == 65
    assert known(load.ends_at) - known(load.started_at) == timedelta(minutes=55)


def test_a_machine_whose_run_is_long_over_is_still_to_be_emptied(
    crew: User, clock: Traveller
) -> None:
    first, second = at_wash(crew, white(), white())
    running(crew, [first])
    clock.shift(timedelta(hours=3))
    [proposal] = loadfloor.floor(Station.WASH, timezone.now()).proposals
    assert (proposal.pieces, proposal.now, proposal.starts_in) == ([second], False, 10)


def test_a_load_that_can_begin_on_an_idle_machine_does(crew: User) -> None:
    """Two loads that may not share: each gets a machine of its own at once."""
    light, dark = at_wash(crew, white(), white(colour="dark"))
    make_machine(), make_machine("Washer 2")
    proposals = loadfloor.floor(Station.WASH, timezone.now()).proposals
    assert sorted(proposal.machine.name for proposal in proposals) == ["Washer 1", "Washer 2"]
    assert [proposal.now for proposal in proposals] == [True, True]
    assert {piece for proposal in proposals for piece in proposal.pieces} == {light, dark}


def test_a_proposal_says_why(crew: User) -> None:
    sturdy, gentle = at_wash(crew, white(), tender())
    soon = timezone.now() + timedelta(hours=3)
    Piece.objects.filter(pk=gentle.pk).update(promised_at=soon)
    make_machine()
    [proposal] = loadfloor.floor(Station.WASH, timezone.now()).proposals
    assert proposal.pieces == [gentle, sturdy]
    assert proposal.reasons[0].startswith(f"Due first: {gentle.spoken}, promised ")
    assert proposal.reasons[-1] == f"30 °C, very mild because of {gentle.spoken}."
