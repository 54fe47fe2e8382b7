"""Send-out bags: packed, gone, back, and counted out until every piece is there or named."""

from __future__ import annotations

import re
import uuid
from datetime import time, timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.db import IntegrityError, connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from counter.models import Shop
from tests.building import jumper, make_machine, make_ticket, work_until
from tests.markup import flat
from tests.tickets.floor import text_of
from tickets.acting import Act
from tickets.choices import MoveKind, PieceState, Station
from tickets.errors import Refused
from tickets.loads import proposals, queries
from tickets.loads import services as loadbook
from tickets.loads.queries import inside
from tickets.loads.wording.reasons import moment_words
from tickets.models import Hold, Load, LoadEvent, LoadPiece, Move, Partner, Piece
from tickets.models.machines import LeftHow, LoadState
from tickets.shop.calendar import business_day
from tickets.shop.queries import read_calendar
from tickets.shop.rounds import Round
from tickets.shop.services import save_partner

pytestmark = pytest.mark.django_db


def dry_only(**changes: object) -> dict[str, object]:
    """A wool jacket whose label allows dry cleaning alone."""
    label = {**jumper()["label"], "symbols": ["no_wash", "no_bleach", "no_tumble", "dry_clean_p"]}
    shop = Shop.current().abilities
    return jumper(kind="suit_jacket", construction="woven", label=label, shop=shop, **changes)


def hide() -> dict[str, object]:
    """A leather jacket without a label."""
    return jumper(
        kind="other",
        construction="skin",
        components=[{"part": "shell", "fibres": [{"fibre": "leather", "percent": 100}]}],
        label={**jumper()["label"], "state": "missing", "symbols": []},
        shop=Shop.current().abilities,
        services=["clean"],
    )


def packed(crew: User, *facts: dict[str, object]) -> list[Piece]:
    """Pieces that wait at send-out."""
    ticket = make_ticket(crew, facts)
    return [work_until(piece, Station.SEND_OUT, crew) for piece in ticket.pieces.all()]


def act(crew: User) -> Act:
    return Act(by=crew, client_key=str(uuid.uuid4()))


def bag_of(crew: User, pieces: list[Piece], partner: Partner | None = None) -> Load:
    partner = partner or Partner.objects.get(name="Partner")
    return loadbook.open_bag(partner.pk, [piece.code for piece in pieces], act(crew)).load


def back_again(crew: User, bag: Load) -> Load:
    for step in (loadbook.close, loadbook.start, loadbook.finish):
        bag = step(bag.pk, act(crew)).load
    return bag


def test_a_bag_goes_out_comes_back_and_its_pieces_go_on(crew: User) -> None:
    pieces = packed(crew, dry_only(), dry_only())
    bag = bag_of(crew, pieces[:1])
    loadbook.add(bag.pk, pieces[1].code, act(crew))
    loadbook.close(bag.pk, act(crew))
    gone = loadbook.start(bag.pk, act(crew)).load
    trip = Round.of(Partner.objects.get())
    assert gone.started_at is not None
    assert gone.ends_at == trip.home(gone.started_at, read_calendar().open_on)
    assert gone.programme is None
    assert (gone.water_litres, gone.energy_kwh) == (Decimal(0), Decimal(0))
    loadbook.finish(bag.pk, act(crew))
    for piece in pieces:
        assert loadbook.count_out(bag.pk, piece.code, act(crew)).load.station == "send_out"
    bag.refresh_from_db()
    assert (bag.state, bag.contents.filter(how=LeftHow.COUNTED_OUT).count()) == ("emptied", 2)
    moved = Move.objects.filter(kind=MoveKind.WORKED, from_station=Station.SEND_OUT)
    assert moved.count() == 2
    assert {Piece.objects.get(pk=p.pk).station for p in pieces} != {"send_out"}
    kinds = list(LoadEvent.objects.values_list("kind", flat=True))
    assert kinds == ["opened", "added", "closed", "started", "finished", "out", "out"]


def test_each_step_is_undone_in_turn(crew: User) -> None:
    [piece] = packed(crew, dry_only())
    bag = back_again(crew, bag_of(crew, [piece]))
    states = [loadbook.undo(bag.pk, act(crew)).load.state for _ in range(4)]
    assert states == ["running", "closed", "filling", "undone"]
    assert queries.open_load_with(piece.code) is None


def test_a_missing_piece_is_named_and_put_on_hold_to_ask_the_partner(crew: User) -> None:
    there, missing = packed(crew, dry_only(), dry_only())
    bag = back_again(crew, bag_of(crew, [there, missing]))
    loadbook.count_out(bag.pk, there.code, act(crew))
    assert inside(bag) == [missing]
    key = act(crew)
    for _ in range(2):
        assert loadbook.never_in(bag.pk, missing.code, key).load.state == LoadState.EMPTIED
    hold = Hold.objects.get()
    assert (hold.piece, hold.reason) == (
        missing,
        f"Not in bag {bag.pk}: it did not come back in it. Ask Partner.",
    )
    assert hold.ask_again_on == business_day(timezone.now()) + timedelta(days=1)
    assert Piece.objects.get(pk=missing.pk).state == PieceState.HELD


def test_a_piece_goes_only_to_a_partner_who_takes_it_in(crew: User) -> None:
    leather = save_partner(Partner(name="Hides", services=["leather"]))
    [piece] = packed(crew, dry_only())
    with pytest.raises(Refused) as no:
        bag_of(crew, [piece], leather)
    assert (no.value.code, no.value.says) == (
        "wrong_partner",
        f"{piece.spoken} is to go out for: dry cleaning. Hides does not take that in.",
    )
    bag = bag_of(crew, [], leather)
    with pytest.raises(Refused) as no:
        loadbook.add(bag.pk, piece.code, act(crew))
    assert no.value.code == "wrong_partner"
    assert not LoadPiece.objects.exists()


def test_a_partner_who_gives_a_service_up_is_seen_before_the_bag_goes(crew: User) -> None:
    bag = bag_of(crew, packed(crew, dry_only()))
    loadbook.close(bag.pk, act(crew))
    Partner.objects.update(services=["leather"])
    with pytest.raises(Refused) as no:
        loadbook.start(bag.pk, act(crew))
    assert no.value.code == "wrong_partner"
    assert Load.objects.get().state == LoadState.CLOSED


def test_pieces_that_keep_apart_in_a_drum_for_hygiene_keep_apart_in_a_bag(crew: User) -> None:
    plain, soiled = packed(crew, dry_only(), dry_only(stains=[{"stain": "mildew"}]))
    with pytest.raises(Refused) as no:
        bag_of(crew, [plain, soiled])
    assert no.value.code == "not_together"


def test_a_bag_is_no_heavier_than_one_person_lifts(crew: User) -> None:
    """12 kg a bag: common practice, row ``load.bag_kg``."""
    pieces = packed(crew, *[dry_only()] * 3)
    Piece.objects.update(weight_g=5000)
    bag = bag_of(crew, pieces[:2])
    with pytest.raises(Refused) as no:
        loadbook.add(bag.pk, pieces[2].code, act(crew))
    assert "The bag would weigh 15000 g; one person lifts 12 kg at most." in no.value.says
    assert (bag.grams, bag.fill_percent) == (10_000, 83)


def test_several_bags_may_be_gone_to_one_partner(crew: User) -> None:
    first, second = packed(crew, dry_only(), dry_only())
    for piece in (first, second):
        bag = bag_of(crew, [piece])
        loadbook.close(bag.pk, act(crew))
        assert loadbook.start(bag.pk, act(crew)).load.state == LoadState.RUNNING


def test_a_piece_in_a_bag_is_in_no_other(crew: User) -> None:
    [piece] = packed(crew, dry_only())
    bag = bag_of(crew, [piece])
    with pytest.raises(Refused) as no:
        bag_of(crew, [piece])
    assert no.value.says == f"{piece.spoken} is in bag {bag.pk}, Partner."
    partner = Partner.objects.get()
    partner.in_use = False
    with pytest.raises(Refused) as no:
        save_partner(partner)
    assert (no.value.code, f"bag {bag.pk}" in no.value.says) == ("partner_busy", True)


def test_a_load_is_in_a_machine_or_in_a_bag(crew: User) -> None:
    machine, partner, now = make_machine(), Partner.objects.get(), timezone.now()
    for given in ({}, {"machine": machine, "partner": partner}):
        with pytest.raises(IntegrityError), transaction.atomic():
            Load.objects.create(station="wash", opened_at=now, **given)


# What to pack


def test_the_floor_packs_each_partners_pieces_and_says_when_they_are_back(crew: User) -> None:
    partner = Partner.objects.get()
    partner.services = ["dry_clean", "wet_clean"]
    save_partner(partner)
    save_partner(Partner(name="Hides", services=["leather"], days_away=7))
    jackets = packed(crew, dry_only(), dry_only())
    [leather] = packed(crew, hide())
    floor = proposals.floor(Station.SEND_OUT, timezone.now())
    assert [(bag.partner.name, len(bag.pieces)) for bag in floor.bags] == [
        ("Hides", 1),
        ("Partner", 2),
    ]
    assert (floor.bags[0].pieces, floor.machines, floor.proposals) == ([leather], [], [])
    assert floor.bags[1].pieces == jackets
    now = floor.partners[1]
    assert now.goes is not None
    assert now.back is not None
    days = f"Picked up {moment_words(now.goes)}, back by "
    assert any(reason.startswith(days) for reason in floor.bags[1].reasons)
    # They are promised in two days and the partner keeps them three.
    assert floor.bags[1].too_late == jackets
    steps = [step for step in floor.bags[1].steps if jackets[0].spoken in step]
    assert len(steps) == 1
    assert steps[0].startswith(f"{jackets[0].spoken}: Have it dry cleaned in ")


def test_a_piece_that_nobody_takes_in_is_told_apart(crew: User) -> None:
    [piece] = packed(crew, dry_only())
    Partner.objects.update(services=["leather"])
    [apart] = proposals.floor(Station.SEND_OUT, timezone.now()).apart
    assert apart.piece == piece
    assert apart.why == (
        "No partner in use takes in: dry cleaning. The owner adds partners under Shop."
    )


def test_of_two_partners_the_one_that_is_back_first_gets_the_piece(crew: User) -> None:
    save_partner(Partner(name="Quick", services=["dry_clean"], days_away=1))
    packed(crew, dry_only())
    [bag] = proposals.floor(Station.SEND_OUT, timezone.now()).bags
    assert bag.partner.name == "Quick"


def test_heavy_pieces_fill_as_few_bags_as_they_need(crew: User) -> None:
    packed(crew, *[dry_only()] * 5)
    Piece.objects.update(weight_g=4000)
    bags = proposals.floor(Station.SEND_OUT, timezone.now()).bags
    assert sorted(len(bag.pieces) for bag in bags) == [2, 3]
    assert max(bag.grams for bag in bags) <= 12_000


# The pages


def scan(client: Client, bag: Load, line: str) -> str:
    path = f"/load/{bag.pk}/"
    client.post(f"{path}scan/", {"line": line, "key": str(uuid.uuid4())})
    return text_of(client.get(path))


def test_a_bag_runs_from_proposal_to_counted_out_without_script(back: Client, crew: User) -> None:
    first, second = packed(crew, dry_only(), dry_only())
    html = flat(back.get("/loads/send_out/").content.decode())
    assert "To pack now" in html
    form = re.search(r'<form[^>]*action="/loads/send_out/open/">(.*?name="codes".*?)</form>', html)
    assert form
    sent = dict(re.findall(r'name="(key|machine|codes)" value="([^"]*)"', form[1]))
    for _ in range(2):
        answer = back.post("/loads/send_out/open/", sent)
    bag = Load.objects.get()
    assert answer.headers["Location"] == f"/load/{bag.pk}/"
    page = text_of(back.get(f"/load/{bag.pk}/"))
    assert f"Bag {bag.pk} is open: 2 pieces." in page
    assert f"Bag {bag.pk}: Partner" in page
    assert f"Bag {bag.pk} for Partner is closed with 2 pieces." in scan(back, bag, "CLOSE")
    page = scan(back, bag, "START")
    assert f"Bag {bag.pk} is gone to Partner with 2 pieces. Back by" in page
    assert "Gone" in page
    assert f"Bag {bag.pk} Gone" in text_of(back.get("/loads/send_out/"))
    assert "Scan each piece out of the bag: 2 pieces." in scan(back, bag, "FINISH")
    assert f"Still in the bag: {second.spoken}." in scan(back, bag, first.code)
    path = f"/load/{bag.pk}/never-in/{second.code}/"
    page = text_of(back.post(path, {"key": str(uuid.uuid4())}, follow=True))
    assert f"{second.spoken} was not in the bag. It is on hold: ask Partner." in page
    assert "Not in the bag" in page
    assert "Counted out" in page
    assert "1 piece was missing." in page


def test_a_scanned_tag_opens_the_bag_it_is_proposed_for(back: Client, crew: User) -> None:
    pieces = packed(crew, dry_only(), dry_only())
    for _ in range(2):
        sent = {"line": pieces[1].spoken, "key": str(uuid.uuid4())}
        answer = back.post("/loads/send_out/scan/", sent)
        assert answer.headers["Location"] == f"/load/{Load.objects.get().pk}/"
    assert LoadPiece.objects.count() == 2
    bag = Load.objects.get()
    assert "is in this bag. Take it off?" in scan(back, bag, pieces[0].code)
    assert f"{pieces[0].spoken} is off." in scan(back, bag, "YES")
    assert f"{pieces[0].spoken} is in the bag: 2 pieces" in scan(back, bag, pieces[0].code)
    assert "is: Being filled. Scan pieces into it, then CLOSE." in scan(back, bag, "FINISH")


def test_the_board_of_send_out_leads_to_its_bags(back: Client, crew: User) -> None:
    assert 'href="/loads/send_out/"' in back.get("/boards/send_out/").content.decode()
    answer = back.post("/boards/send_out/scan/", {"line": "LOADS", "key": str(uuid.uuid4())})
    assert answer.headers["Location"] == "/loads/send_out/"
    Partner.objects.all().delete()
    assert "The owner adds partners under Shop." in text_of(back.get("/loads/send_out/"))


def test_an_overdue_bag_says_to_call_the_partner(back: Client, crew: User) -> None:
    bag = bag_of(crew, packed(crew, dry_only()))
    loadbook.close(bag.pk, act(crew))
    loadbook.start(bag.pk, act(crew))
    Load.objects.update(ends_at=timezone.now() - timedelta(hours=3))
    assert "call the partner" in text_of(back.get(f"/load/{bag.pk}/"))


def test_the_page_of_bags_costs_the_same_queries_whatever_waits(back: Client, crew: User) -> None:
    def count() -> int:
        with CaptureQueriesContext(connection) as queries:
            assert back.get("/loads/send_out/").status_code == 200
        return len(queries)

    packed(crew, dry_only())
    few = count()
    packed(crew, *[dry_only()] * 6)
    assert count() == few


def test_a_bag_to_a_partner_without_days_goes_all_the_same(crew: User) -> None:
    bag = bag_of(crew, packed(crew, dry_only()))
    loadbook.close(bag.pk, act(crew))
    Partner.objects.update(collect_at=time(11), return_days=[9])
    assert loadbook.start(bag.pk, act(crew)).load.ends_at is None
    [now] = proposals.floor(Station.SEND_OUT, timezone.now()).partners
    assert (now.goes, now.back) == (None, None)
