"""Ceiling and floor of a piece: drawn on one scale, said in words, and read as a table."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.conf import settings as project
from django.test import Client
from django.urls import reverse

import care_rules
from care_rules.heat import heat_spans
from counter.care.scales import HeatScale, scales_of
from counter.care.services import add_rule
from counter.models import Shop
from tests.building import jumper, make_shop, make_ticket, make_user, shirt
from tickets.acting import Act
from tickets.models import Move, Piece
from tickets.pieces.decisions import AcceptedCaution

pytestmark = pytest.mark.django_db

BLOODY = shirt(hazards=["body.blood"], stains=[{"stain": "blood"}])


@pytest.fixture
def client() -> Client:
    """Somebody of the back room: the care book is for all staff."""
    make_shop()
    signed_in = Client()
    signed_in.force_login(make_user("backroom"), backend=project.AUTHENTICATION_BACKENDS[1])
    return signed_in


def scales(facts: dict[str, Any], fahrenheit: bool = False) -> list[HeatScale]:
    spans = heat_spans(care_rules.parse_facts(facts))
    return scales_of(spans, Shop(fahrenheit=fahrenheit))


def text_of(answer: Any) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())


def a_piece(facts: dict[str, Any]) -> Piece:
    """A piece in the house; who brought it has accepted whatever was asked."""
    decision = care_rules.decide_json(facts)
    names = [
        AcceptedCaution(caution["key"], caution["says"], "Ada Brook")
        for caution in decision["cautions"]
        if caution["level"] == "hold"
    ]
    return make_ticket(make_user("counter", "clerk"), [facts], accepted=names).pieces.get()


def page_of(piece: Piece) -> str:
    return reverse("piece_heat", args=[piece.code])


def test_a_ceiling_closes_the_hot_side_and_a_floor_the_cool_one() -> None:
    water, _iron = scales(BLOODY)
    by_standing = {row.standing: row for row in water.rows}
    ceiling, floor = by_standing["decides"], by_standing["met"]
    assert (ceiling.closes.x, ceiling.closes.end) == (ceiling.x, 100)
    assert (floor.closes.x, floor.closes.end) == (0, floor.x)
    assert water.room is not None
    assert (water.room.x, water.room.end) == (floor.x, ceiling.x)
    assert water.missing is None


def test_a_floor_past_the_ceiling_leaves_a_gap_and_no_room() -> None:
    water, _iron = scales(jumper(hazards=["body.blood"]))
    assert water.room is None
    assert water.missing is not None
    assert water.missing.x < water.missing.end
    assert water.finding.startswith("No room: 41 °C needed, ")


def test_hotter_stands_further_right_and_nothing_leaves_the_scale() -> None:
    for facts in (BLOODY, jumper(), shirt(colour="dark")):
        for scale in scales(facts):
            at = [(int(re.sub(r"\D", "", row.limit) or 0), row.x) for row in scale.rows]
            assert sorted(at) == sorted(at, key=lambda pair: (pair[1], pair[0]))
            assert all(0 <= x <= 100 for _degrees, x in at)
            places = [x for x, _words in scale.stops]
            assert places == sorted(places)


@pytest.mark.parametrize(
    ("facts", "water", "iron"),
    [
        (BLOODY, "From 41 °C to 60 °C.", "At most 200 °C; nothing asks for more."),
        (
            jumper(
                label={"state": "read", "symbols": ["no_wash", "no_iron", "dry_clean_p"]},
            ),
            "Never in water.",
            "Never with an iron.",
        ),
    ],
)
def test_the_finding_is_one_short_sentence(facts: dict[str, Any], water: str, iron: str) -> None:
    assert [scale.finding for scale in scales(facts)] == [water, iron]


def test_who_hears_the_page_hears_every_rule_with_its_limit() -> None:
    for scale in scales(BLOODY):
        assert scale.heard.startswith(scale.finding)
        for row in scale.rows:
            assert f"{row.name}: {row.limit}, {row.standing_words}." in scale.heard


def test_both_degrees_are_said_where_the_shop_asks() -> None:
    water, _iron = scales(BLOODY, fahrenheit=True)
    assert water.finding == "From 41 °C / 106 °F to 60 °C / 140 °F."
    assert "at least 41 °C / 106 °F" in {row.limit for row in water.rows}


def test_the_page_of_a_piece_draws_both_scales_and_repeats_them_as_a_table(
    client: Client,
) -> None:
    piece = a_piece(BLOODY)
    answer = client.get(page_of(piece))
    assert answer.status_code == 200
    page, text = answer.content.decode(), text_of(answer)
    assert "From 41 °C to 60 °C." in text
    assert page.count('role="img" aria-label="From 41 °C to 60 °C.') == 1
    table = page[page.index('<table class="heat-table">') :]
    for scale in scales(BLOODY):
        for row in scale.rows:
            assert f"<td>{row.kind}, {row.standing_words}</td>" in table
            assert f"<bdi>{row.limit}</bdi>" in table
    assert reverse("tickets:piece", args=[piece.code]) in page


def test_the_page_of_a_piece_leads_there(client: Client) -> None:
    piece = a_piece(shirt())
    answer = client.get(reverse("tickets:piece", args=[piece.code]))
    assert page_of(piece) in answer.content.decode()


def test_the_what_if_draws_it_too_and_anew_with_each_change(client: Client) -> None:
    sent = {
        "kind": "shirt_cotton",
        "colour": "white",
        "fibre-0-0": "Cotton",
        "percent-0-0": "100",
        "label_state": "read",
        "symbol-wash": "wash_60",
        "services": ["clean"],
    }
    assert "At most 60 °C; nothing asks for more." in text_of(client.post("/care/try/", sent))
    headers = {"HX-Request": "true", "HX-Target": "decision"}
    changed = client.post("/care/try/", sent | {"symbol-wash": "wash_40"}, headers=headers)
    assert 'id="try-heat"' in changed.content.decode()
    assert "At most 40 °C; nothing asks for more." in text_of(changed)


def test_a_rule_of_the_house_stands_on_the_scale_without_a_link(client: Client) -> None:
    piece = a_piece(jumper())
    owner = make_user("owner", "oz")
    rule = add_rule("Cool wool", "fibre.wool", "felted", Act(by=owner), limits="wash.max_c=20")
    page = client.get(page_of(piece)).content.decode()
    assert "house rule, firm, decides" in page
    assert f"/care/about/{rule.key}/" not in page
    assert f"decided with {piece.tables_version}" in text_of(client.get(page_of(piece)))


def test_a_piece_told_by_words_that_the_tables_lost_says_so(client: Client) -> None:
    piece = a_piece(jumper())
    Piece.objects.filter(pk=piece.pk).update(facts=piece.facts | {"trims": ["no_such_trim"]})
    answer = client.get(page_of(piece))
    assert answer.status_code == 200
    assert "The tables no longer hold" in text_of(answer)


def test_an_unknown_piece_is_not_found(client: Client) -> None:
    assert client.get(reverse("piece_heat", args=["1000001999"])).status_code == 404


def test_the_page_is_only_read(client: Client) -> None:
    assert client.post(page_of(a_piece(jumper()))).status_code == 405


def test_nobody_without_a_role_opens_it(client: Client) -> None:
    piece = a_piece(jumper())
    assert Client().get(page_of(piece)).status_code == 302


def test_opened_twice_it_shows_the_same_and_moves_nothing(client: Client) -> None:
    piece = a_piece(BLOODY)
    moves = Move.objects.count()
    first, second = (text_of(client.get(page_of(piece))) for _ in range(2))
    assert first == second
    assert Move.objects.count() == moves
