"""What a board says of a piece that is in a load or in a partner's bag."""

from __future__ import annotations

import re

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from tests.building import jumper, make_load, make_ticket, work_until
from tests.tickets.floor import bring, count_queries, send, text_of
from tickets.acting import Act
from tickets.choices import Station
from tickets.loads import services as loadbook
from tickets.models import Load, LoadPiece, Partner, Piece
from tickets.models.machines import LoadState

pytestmark = pytest.mark.django_db


def test_a_tag_says_which_load_its_piece_is_in_and_leads_there(back: Client, crew: User) -> None:
    inside, outside = bring(crew, Station.WASH, 2)
    load = make_load(crew, [inside])
    page = back.get("/boards/wash/")
    says = f"In load {load.pk}, {load.holder.name} Being filled"
    assert text_of(page).count("In load") == 1
    assert says in text_of(page)
    tag = page.content.decode().split(f'id="piece-{inside.code}"')[1].split("</article>")[0]
    assert f'href="/load/{load.pk}/"' in tag
    assert says in text_of(back.get(f"/pieces/{inside.code}/"))
    assert "In load" not in text_of(back.get(f"/pieces/{outside.code}/"))
    loadbook.close(load.pk, Act(by=crew))
    loadbook.start(load.pk, Act(by=crew))
    assert f"In load {load.pk}, {load.holder.name} Running" in text_of(back.get("/boards/wash/"))


def test_a_piece_taken_off_its_load_is_in_none(back: Client, crew: User) -> None:
    piece = bring(crew, Station.WASH, 1)[0]
    load = make_load(crew, [piece])
    loadbook.take_off(load.pk, piece.code, Act(by=crew))
    assert "In load" not in text_of(back.get("/boards/wash/"))


def test_a_board_costs_the_same_for_1_and_60_pieces_in_loads(back: Client, crew: User) -> None:
    def cost(count: int) -> int:
        ticket = make_ticket(crew, [jumper()] * count)
        ticket.pieces.update(station=Station.WASH)
        LoadPiece.objects.bulk_create(
            LoadPiece(load=load, piece=piece, in_at=load.opened_at) for piece in ticket.pieces.all()
        )
        path = "/boards/wash/?show=200"
        assert text_of(back.get(path)).count("In load") == LoadPiece.objects.count()
        return count_queries(back, path)

    load = make_load(crew)
    assert cost(1) == cost(59)


def test_a_tag_names_the_bag_its_piece_went_out_in(back: Client, crew: User) -> None:
    partner = Partner.objects.create(name="Harbour Dry Cleaning", services=["dry_clean"])
    piece = make_ticket(crew, [jumper()]).pieces.get()
    Piece.objects.filter(pk=piece.pk).update(station=Station.SEND_OUT)
    bag = Load.objects.create(
        partner=partner,
        station=Station.SEND_OUT,
        state=LoadState.RUNNING,
        opened_at=timezone.now(),
    )
    LoadPiece.objects.create(load=bag, piece=piece, in_at=bag.opened_at)
    page = text_of(back.get("/boards/send_out/"))
    assert f"In bag {bag.pk}, Harbour Dry Cleaning Gone" in page


def test_what_is_to_be_packed_is_packed_first_and_done_when_its_bag_is_back(
    back: Client, crew: User
) -> None:
    """The red of its card is the next thing to do: pack it, look into its bag, count it out."""
    label = {**jumper()["label"], "symbols": ["no_wash", "no_bleach", "no_tumble", "dry_clean_p"]}
    piece = make_ticket(crew, [jumper(label=label)]).pieces.get()
    work_until(piece, Station.SEND_OUT, crew)

    def red() -> str:
        page = back.get("/boards/send_out/").content.decode()
        [words] = re.findall(r'class="act big"[^>]*>(.*?)</(?:a|button)>', page, re.DOTALL)
        return " ".join(words.split())

    assert red() == "Pack a bag"
    assert 'href="/loads/send_out/"' in back.get("/boards/send_out/").content.decode()
    bag = loadbook.open_bag(Partner.objects.get().pk, [piece.code], Act(by=crew)).load
    for step in (loadbook.close, loadbook.start):
        assert red() == f"Open bag {bag.pk}"
        step(bag.pk, Act(by=crew))
    assert red() == f"Open bag {bag.pk}"
    loadbook.finish(bag.pk, Act(by=crew))
    assert red() == "Send-out done"
    send(back, "send_out", piece.code)
    assert Piece.objects.get().station != Station.SEND_OUT
