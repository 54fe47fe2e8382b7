"""What a piece weighs: the scale at intake, then the shop's own figure, then the trade's."""

from __future__ import annotations

import csv
from datetime import timedelta
from pathlib import Path

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from care_rules import catalogue
from tests import building
from tests.building import decide_pieces
from tests.markup import flat
from tickets.acting import Act
from tickets.choices import Station
from tickets.errors import Refused
from tickets.loads.planned_pieces import load_piece
from tickets.models import KindWeight, Piece
from tickets.pieces.decisions import PieceSpec
from tickets.pieces.services import open_ticket
from tickets.shop import minutes as workloads
from tickets.shop.minutes import crew_minutes
from tickets.shop.queries import usual_weights
from tickets.shop.services import set_weights

TRADE_SHIRT = 220
"""Grams of a cotton shirt by ``kinds.csv``: cloth weight for its area, common trade practice."""


def taken_in(by: User, grams: int = 0) -> Piece:
    spec = PieceSpec(facts=building.shirt(stains=[]), weight_g=grams)
    promised = timezone.now() + timedelta(days=2)
    decided = decide_pieces([spec])
    return open_ticket(building.make_customer(), decided, promised, Act(by=by)).pieces.get()


def test_the_scale_wins_then_the_shop_then_the_trade(crew: User) -> None:
    assert taken_in(crew).weight_g == TRADE_SHIRT
    assert set_weights({"shirt_cotton": 260}) == 1
    assert taken_in(crew).weight_g == 260
    assert taken_in(crew, grams=301).weight_g == 301
    assert set_weights({"shirt_cotton": None}) == 1
    assert taken_in(crew).weight_g == TRADE_SHIRT


def test_the_shops_weight_is_what_the_load_planner_reads(crew: User) -> None:
    set_weights({"shirt_cotton": 260})
    assert load_piece(taken_in(crew), Station.WASH).grams == 260


def test_pieces_in_the_shop_keep_the_weight_they_came_with(crew: User) -> None:
    piece = taken_in(crew)
    set_weights({"shirt_cotton": 900})
    assert Piece.objects.get(pk=piece.pk).weight_g == TRADE_SHIRT


@pytest.mark.parametrize(
    ("wanted", "says"),
    [
        ({"shirt_cotton": 0}, "cotton shirt: 0 g can't be its weight."),
        ({"shirt_cotton": 99_000}, "cotton shirt: 99000 g can't be its weight."),
        ({"spacesuit": 9}, "spacesuit is no kind of piece."),
    ],
)
def test_a_bad_weight_is_refused_and_nothing_is_saved(
    db: object, wanted: dict[str, int], says: str
) -> None:
    with pytest.raises(Refused) as no:
        set_weights({"jeans": 650, **wanted})
    assert no.value.says == says
    assert not KindWeight.objects.exists()


def test_setting_the_same_again_changes_nothing(db: object) -> None:
    assert set_weights({"jeans": 650, "tie": None}) == 1
    assert set_weights({"jeans": 650, "tie": None}) == 0


# The owner's page


def test_the_owner_sees_every_kind_with_the_trades_figure_and_sets_one(boss: Client) -> None:
    page = flat(boss.get("/shop/weights/").content.decode())
    for entry in catalogue.kinds():
        assert f'name="grams-{entry.key}" value="" placeholder="{entry.grams}"' in page
    answer = boss.post("/shop/weights/", {"grams-jeans": "650 g"}, follow=True)
    assert "1 weight changed." in answer.content.decode()
    assert usual_weights()["jeans"] == 650
    assert 'name="grams-jeans" value="650"' in flat(boss.get("/shop/weights/").content.decode())
    boss.post("/shop/weights/", {"grams-jeans": ""})
    assert not KindWeight.objects.exists()


@pytest.mark.parametrize("typed", ["heavy", "-4", "0.7", "1e3", "0", "99000", "٣"])
def test_what_is_no_weight_stays_in_the_form_with_a_sentence(boss: Client, typed: str) -> None:
    answer = boss.post("/shop/weights/", {"grams-jeans": typed})
    assert answer.status_code == 422
    page = flat(answer.content.decode())
    assert "jeans: " in page
    assert f'name="grams-jeans" value="{typed}"' in page
    assert not KindWeight.objects.exists()


def test_only_the_owner_sets_weights(back: Client, desk: Client) -> None:
    assert back.get("/shop/weights/").status_code == 403
    assert desk.post("/shop/weights/", {"grams-jeans": "1"}).status_code == 403
    assert not KindWeight.objects.exists()


# Press minutes by kind


@pytest.mark.parametrize(
    ("kind", "minutes"),
    [
        ("shirt_cotton", 8),
        ("trousers_wool", 5),
        ("wedding_gown", 90),
        ("napkin", 0.7),
        ("apron", 5),
    ],
)
def test_a_press_takes_what_the_kind_takes(kind: str, minutes: float) -> None:
    """Minutes for a piece by hand iron or utility press: common trade practice, no source."""
    assert crew_minutes("press", kind=kind) == minutes


def test_the_route_of_a_shirt_is_stored_with_its_press_minutes(crew: User) -> None:
    assert float(taken_in(crew).steps.get(step="press").minutes) == 8


def test_every_kind_with_press_minutes_of_its_own_is_a_kind_of_the_care_tables() -> None:
    with (Path(workloads.__file__).with_name("minutes.csv")).open(encoding="utf-8") as file:
        keys = {row["key"] for row in csv.DictReader(file) if row["key"].startswith("press.")}
    assert len(keys) > 30
    assert keys <= {f"press.{entry.key}" for entry in catalogue.kinds()}
