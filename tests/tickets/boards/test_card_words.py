"""A card is read from a step away: at most sixty words, its number and foot with them.

Sixty, and forty-five in the middle, are the house's own rule; no published source.
"""

from __future__ import annotations

import re
from datetime import datetime
from statistics import median
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client

from tests.building import decide_pieces, jumper, make_ticket, shirt, trousers, work_until
from tests.counter.rows import ticket_of
from tests.markup import flat, text
from tests.tickets.busy_shop import busy_shop
from tickets.acting import Act
from tickets.boards.cards import is_safety
from tickets.boards.wording.on_cards import shortened, step_lines, with_minutes
from tickets.choices import BOARD_STATIONS, Station
from tickets.loads import services as loadbook
from tickets.models import Customer, Partner, Piece, Ticket
from tickets.pieces.decisions import AcceptedCaution, PieceSpec
from tickets.shop.queries import read_calendar

pytestmark = pytest.mark.django_db

MOST, MEDIAN = 60, 45
_CARD = re.compile(r'<li id="card-.*?</article>', re.DOTALL)
_UNSEEN = re.compile(
    r'<ul class="why-lines">.*?</ul>|<div class="card-acts">.*?</footer>'
    r'|<span class="unseen">.*?</span>|<svg.*?</svg>',
    re.DOTALL,
)


def visible_words(page: str) -> list[int]:
    """Words of each card in the queue; the piece in hand shows its buttons beside them."""
    return [len(text(_UNSEEN.sub(" ", card).encode()).split()) for card in _CARD.findall(page)]


def counts_of(back: Client) -> list[int]:
    return [
        count
        for station in BOARD_STATIONS
        for count in visible_words(back.get(f"/boards/{station}/?show=600").content.decode())
    ]


def test_every_card_of_a_busy_shop_has_sixty_words_and_half_have_forty_five(
    back: Client, crew: User
) -> None:
    busy_shop(crew, read_calendar().next_open(datetime.fromisoformat("2026-06-17T08:00:00+01:00")))
    counts = counts_of(back)
    assert len(counts) > 30
    assert max(counts) <= MOST
    assert median(counts) <= MEDIAN


def test_every_card_of_a_busy_shop_has_one_figure(back: Client, crew: User) -> None:
    busy_shop(crew, read_calendar().next_open(datetime.fromisoformat("2026-06-17T08:00:00+01:00")))
    figures: dict[str, set[int]] = {}
    for station in BOARD_STATIONS:
        page = back.get(f"/boards/{station}/?show=600").content.decode()
        counts = {card.count('class="fig"') for card in _CARD.findall(page)}
        figures |= {station: counts} if counts else {}
    assert len(figures) > 5
    assert figures == {station: {1} for station in figures}


@pytest.mark.parametrize(
    ("facts", "station", "said", "unsaid"),
    [
        (jumper(), Station.PRESS, ["110 °C at most, through a cloth", "Never steam"], ["no steam"]),
        (shirt(stains=[]), Station.PRESS, ["200 °C at most, damp, with steam"], ["Press damp"]),
        (
            jumper(),
            Station.DRY,
            ["Flat", "hang while wet, dry in the sun"],
            ["Dry flat", "in shade"],
        ),
        (jumper(), Station.WASH, ["30 °C at most"], ["only"]),
        (
            shirt(),
            Station.SPOTTING,
            ["Red wine 60 °C water, at most", "Blot and flush it", "detergent 5 min"],
            ["Red wine: "],
        ),
        (shirt(stains=[]), Station.CHECK, ["1 min"], []),
        (shirt(), Station.CHECK, ["1 mark noted at intake red wine Note in good light"], []),
    ],
)
def test_a_card_says_a_limit_once_and_only_what_its_station_does(
    back: Client,
    crew: User,
    facts: dict[str, Any],
    station: Station,
    said: list[str],
    unsaid: list[str],
) -> None:
    work_until(make_ticket(crew, [facts]).pieces.get(), station, crew)
    page = back.get(f"/boards/{station}/").content.decode()
    [card] = [text(_UNSEEN.sub(" ", shown).encode()) for shown in _CARD.findall(page)]
    assert [words for words in said if words not in card] == [], card
    assert [words for words in unsaid if words in card] == [], card


def test_the_note_of_a_ticket_stands_at_the_bench_alone(back: Client, crew: User) -> None:
    piece = make_ticket(crew, [trousers()]).pieces.get()
    Ticket.objects.update(note="Hem by hand, thread lies in the pocket")
    seen = {}
    while piece.station != Station.ASSEMBLY:
        [card] = page_words(back, piece)
        seen[piece.station] = "Hem by hand" in card
        work_until(piece, following(piece), crew)
        piece.refresh_from_db()
    assert seen.pop("bench")
    assert not any(seen.values())


def test_the_degrees_of_a_second_bath_stay_in_its_step() -> None:
    """The figure stands for one of them alone."""
    says = "Wash at 40 °C at most, with whites."
    assert step_lines(says, {"max_c": 40}, shown_c=30) == ([says.rstrip(".")], [])
    assert step_lines(says, {"max_c": 40}, shown_c=40) == (["With whites"], [])


def test_the_minutes_of_a_line_stand_by_themselves() -> None:
    order = "Soak it in oxygen bleach, 15 min, then rinse"
    assert with_minutes(order) == ("Soak it in oxygen bleach, then rinse", "15 min")
    assert with_minutes("Blot it") == ("Blot it", "")


def test_an_odd_piece_has_sixty_words_at_every_station(back: Client, crew: User) -> None:
    """A long name, long words about it, many stains, a set and three redos."""
    stains = [{"stain": name} for name in ("red wine", "grass", "chocolate", "berries")]
    facts = shirt(stains=stains)
    ticket = make_ticket(crew, [facts, jumper(), trousers()])
    Piece.objects.update(
        description="white shirt with a long collar and pearl buttons on both cuffs",
        set_mark="A",
        redo_count=3,
    )
    Customer.objects.update(
        name="Wilhelmina Featherstonhaugh-Montgomery", fragrance_free=True, no_softener=True
    )
    first = ticket.pieces.get(position=1)
    seen = set()
    while first.station != Station.ASSEMBLY:
        counts = visible_words(back.get(f"/boards/{first.station}/").content.decode())
        assert max(counts) <= MOST, page_words(back, first)
        seen.add(first.station)
        work_until(first, following(first), crew)
        first.refresh_from_db()
    assert {"spotting", "wash", "check"} <= seen


def agreed(crew: User, facts: dict[str, Any]) -> Piece:
    """A piece taken in with everything that was said of it agreed by name."""
    [decided] = decide_pieces([PieceSpec(facts=facts)])
    accepted = [AcceptedCaution(c.key, c.says, "Ada") for c in decided.decision.cautions]
    return make_ticket(crew, [facts], accepted=accepted).pieces.get()


def test_an_odd_piece_to_be_packed_has_sixty_words_too(back: Client, crew: User) -> None:
    """Stained all over, with a long name: before it is packed, in the bag, gone and back."""
    facts = shirt(
        kind="suit_jacket",
        stains=[{"stain": name} for name in ("red wine", "grass", "blood", "chocolate", "berries")],
        label={**shirt()["label"], "symbols": ["no_wash", "no_bleach", "dry_clean_p_mild"]},
    )
    piece = agreed(crew, facts)
    Piece.objects.update(
        description="white dinner jacket with silk lapels and covered buttons on both cuffs",
        set_mark="A",
        redo_count=3,
    )
    Customer.objects.update(name="Wilhelmina Featherstonhaugh-Montgomery", no_softener=True)
    work_until(piece, Station.SEND_OUT, crew)
    bag = None
    for step in (None, loadbook.close, loadbook.start, loadbook.finish):
        [words] = page_words(back, Piece.objects.get())
        assert len(words.split()) <= MOST, words
        if bag is None:
            bag = loadbook.open_bag(Partner.objects.get().pk, [piece.code], Act(by=crew)).load
        if step:
            step(bag.pk, Act(by=crew))


def test_the_most_dangerous_never_stands_on_the_card_and_the_others_first_under_why(
    back: Client, crew: User
) -> None:
    """Self-heating hurts people and soap hurts cloth, whatever was seen first."""
    names = ("red wine", "grass", "cooking oil", "berries", "mustard")
    facts = shirt(stains=[{"stain": name} for name in names])
    piece = agreed(crew, facts)
    Piece.objects.update(description="white shirt with a long collar")
    work_until(piece, Station.SPOTTING, crew)
    page = back.get("/boards/spotting/").content.decode()
    card, _, why = page.partition('<ul class="why-lines">')
    seen = text(_UNSEEN.sub(" ", card).encode())
    bidden = {
        sentence
        for step in piece.steps.filter(station=Station.SPOTTING)
        for sentence in re.findall(r"Forbidden here: (.*?)[.]", step.says)
    }
    assert len(bidden) > 3
    on_card = {sentence for sentence in bidden if sentence in seen}
    [dangerous] = [sentence for sentence in bidden if "self-heating" in sentence]
    assert dangerous in on_card
    lines = [text(line.encode()) for line in re.findall(r"<li[^>]*>(.*?)</li>", why, re.DOTALL)]
    others = bidden - on_card
    assert others
    assert set(lines[: len(others)]) == {f"Never {sentence}" for sentence in others}
    assert "Forbidden here: " not in text(why.encode())


@pytest.mark.parametrize(
    ("text_of_it", "most", "shown"),
    [
        ("white shirt, wine on the collar", 5, "white shirt"),
        ("white shirt, wine", 5, "white shirt, wine"),
        ("white shirt with a long collar", 5, "white shirt with a long"),
        ("white shirt", 0, ""),
    ],
)
def test_long_words_about_a_piece_end_with_a_whole_phrase(
    text_of_it: str, most: int, shown: str
) -> None:
    assert shortened(text_of_it, most) == shown


@pytest.mark.parametrize("start", ["Forbidden here", "Never"])
def test_work_that_is_counted_in_its_sentence_stands_as_lines(start: str) -> None:
    """The second as decisions have it that were made before."""
    says = f"Red wine: 1) blot it; 2) flush it cool, 2 min. {start}: soap, hot iron."
    assert step_lines(says, {}) == (
        ["Red wine: blot it", "Flush it cool, 2 min"],
        ["soap, hot iron"],
    )


def page_words(back: Client, piece: Piece) -> list[str]:
    page = back.get(f"/boards/{piece.station}/").content.decode()
    return [text(_UNSEEN.sub(" ", card).encode()) for card in _CARD.findall(page)]


def following(piece: Piece) -> Station:
    """The station after the one where a piece lies."""
    rest = piece.steps.filter(done_at__isnull=True).exclude(station=piece.station)
    step = rest.order_by("order").first()
    return Station(step.station) if step else Station.ASSEMBLY


@pytest.mark.parametrize(
    ("key", "level", "stays"),
    [
        ("body.blood", "caution", True),
        ("sharps.pins_after_alter", "caution", True),
        ("label.missing", "hold", True),
        ("colour.dark", "caution", False),
    ],
)
def test_what_guards_the_crew_stays_on_the_card(key: str, level: str, stays: bool) -> None:
    assert is_safety(key, level) is stays


def test_a_card_shows_four_steps_and_says_how_many_follow(back: Client, crew: User) -> None:
    ticket_of(crew, stations=("bench",) * 6)
    page = flat(back.get("/boards/bench/").content.decode())
    [steps] = re.findall(r'<ol class="work-steps">(.*?)</ol>', page)
    assert steps == "".join(f"<li>Step {number}</li>" for number in range(1, 5))
