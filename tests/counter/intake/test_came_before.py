"""A garment that comes again: the pages that offer it, and what comes along."""

from __future__ import annotations

import io
from datetime import timedelta
from typing import Any

import pytest
from django.conf import settings as project
from django.contrib.auth.models import User
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from PIL import Image

from counter.intake import came_before, services
from counter.intake.services import start_draft
from counter.models import IntakeDraft, Shop
from counter.papers.data import slip_data
from counter.papers.queries import slip_rows
from tests.building import (
    decide_pieces,
    hand_over_all,
    hivis_jacket,
    jumper,
    make_customer,
    make_ticket,
    shirt,
    work_until,
)
from tests.markup import flat
from tickets.acting import Act
from tickets.choices import Station
from tickets.garments.queries import garments_of
from tickets.models import Customer, Piece, Ticket
from tickets.pieces.decisions import AcceptedCaution, PieceSpec
from tickets.pieces.services import open_ticket
from tickets.promise.open_work import forget_open_work

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("media")]

HTMX = {"HX-Request": "true"}
JACKET = {
    "kind": "more",
    "kind_other": "high-visibility jacket",
    "colour": "bright",
    "construction": "woven",
    "part-0": "shell",
    "fibre-0-0": "Polyester",
    "percent-0-0": "100",
    "label_state": "read",
    "symbol-wash": "wash_40",
    "symbol-bleach": "no_bleach",
    "symbol-tumble_dry": "tumble_low",
    "symbol-iron": "iron_110",
    "symbol-dry_clean": "no_dry_clean",
    "trims": ["reflective_tape"],
    "services": ["clean"],
    "inspection-pockets": "empty",
    "inspection-stains": "none",
    "inspection-damage": "none",
    "inspection-fastenings": "work",
    "description": "orange, back print",
}


@pytest.fixture
def ada(owner: User) -> Customer:
    return make_customer()


def visit(by: User, customer: Customer, facts: dict[str, Any], **counts: Any) -> Piece:
    """A piece that was here: taken in, worked and handed over."""
    act = Act(by=by)
    spec = PieceSpec(facts=facts, **counts)
    ticket = open_ticket(customer, decide_pieces([spec]), act.at + timedelta(days=3), act)
    hand_over_all(ticket, by)
    return Piece.objects.get(ticket=ticket)


def picture() -> str:
    out = io.BytesIO()
    Image.new("RGB", (8, 8), "orange").save(out, "JPEG")
    return default_storage.save("pieces/old.jpg", ContentFile(out.getvalue()))


def draft_of(customer: Customer) -> IntakeDraft:
    return IntakeDraft.objects.get(customer=customer, ticket__isnull=True)


def test_what_the_garment_is_comes_along_and_what_was_seen_or_asked_does_not(
    owner: User, ada: Customer
) -> None:
    facts = hivis_jacket(
        stains=[{"stain": "coffee, tea black"}],
        damage=["loose_button"],
        hazards=["hivis.washcount", "mould"],
        wearer="adult",
        work=["button_replace"],
        services=["clean", "mend"],
    )
    names = [AcceptedCaution(key, "x", "Ada Brook") for key in ("mould", "damage.loose_button")]
    piece = visit(
        owner,
        ada,
        facts,
        description="orange",
        set_mark="A",
        photo=picture(),
        accepted=names,
        washes_before=4,
        washes_allowed=25,
        inspection={"pockets": "found", "found": "pen"},
    )
    (garment,) = garments_of(ada)
    taken = came_before.taken_over(garment)
    photo = taken.pop("photo")
    kept = ("kind", "construction", "colour", "components", "label", "trims", "wearer")
    assert taken == {
        "facts": {name: facts[name] for name in kept} | {"hazards": ["hivis.washcount"]},
        "description": "orange",
        "set_mark": "A",
        "earlier": piece.code,
        "washes_allowed": "25",
    }
    assert photo != piece.photo.name
    with default_storage.open(photo) as copied, piece.photo.open() as kept_photo:
        assert copied.read() == kept_photo.read()


def test_the_customers_page_puts_a_garment_on_the_intake_with_one_tap_made_twice(
    counter: Client, owner: User, ada: Customer
) -> None:
    piece = visit(owner, ada, hivis_jacket(), description="orange", washes_before=4)
    page = counter.get(f"/customers/{ada.pk}/").content.decode()
    assert "Came before" in page
    assert f'name="earlier" value="{piece.code}"' in page
    for _ in range(2):
        answer = counter.post(f"/intake/start/{ada.pk}/", {"earlier": piece.code})
        assert answer.status_code == 302
        assert answer["Location"] == f"/intake/{draft_of(ada).pk}/pieces/1/"
    (taken,) = draft_of(ada).pieces
    assert (taken["earlier"], taken["description"]) == (piece.code, "orange")
    assert (taken["inspection"], taken["accepted"], taken["prices"]) == ({}, {}, {})
    assert "services" not in taken["facts"]


def test_the_intake_page_offers_what_is_not_on_it_yet_and_a_second_tap_adds_none(
    counter: Client, owner: User, ada: Customer
) -> None:
    first = visit(owner, ada, hivis_jacket())
    second = visit(owner, ada, jumper())
    counter.post(f"/intake/start/{ada.pk}/")
    draft = draft_of(ada)
    page = counter.get(f"/intake/{draft.pk}/").content.decode()
    assert [page.count(f'value="{piece.code}"') for piece in (first, second)] == [1, 1]
    for _ in range(2):
        answer = counter.post(
            f"/intake/{draft.pk}/pieces/add/", {"expected": "0", "earlier": second.code}
        )
        assert answer["Location"] == f"/intake/{draft.pk}/pieces/1/"
    assert [piece["earlier"] for piece in draft_of(ada).pieces] == [second.code]
    page = counter.get(f"/intake/{draft.pk}/").content.decode()
    assert f"Came before as {second.spoken}" in page
    offered = [f'name="earlier" value="{piece.code}"' in page for piece in (first, second)]
    assert offered == [True, False]


def test_a_blank_piece_is_filled_and_not_left_behind(owner: User, ada: Customer) -> None:
    piece = visit(owner, ada, jumper())
    draft = start_draft(ada, owner)
    services.add_piece(draft.pk, 0)
    assert services.add_earlier(draft.pk, piece.code) == 1
    assert [row["earlier"] for row in draft_of(ada).pieces] == [piece.code]


def test_a_customer_who_never_came_is_offered_nothing(counter: Client, ada: Customer) -> None:
    counter.post(f"/intake/start/{ada.pk}/")
    for page in (f"/customers/{ada.pk}/", f"/intake/{draft_of(ada).pk}/"):
        assert "Came before" not in counter.get(page).content.decode()


def test_another_customers_garment_and_one_still_here_are_refused_by_name(
    counter: Client, owner: User, ada: Customer
) -> None:
    theirs = visit(owner, make_customer("Bo Reed"), jumper())
    here = make_ticket(owner, [jumper()], customer=ada).pieces.get()
    for code, says in (
        (theirs.code, f"{theirs.spoken} belongs to another customer."),
        (here.code, f"{here.spoken} is still here, at Intake."),
        ("9999999", "There is no piece 9999999."),
    ):
        page = counter.post(f"/intake/start/{ada.pk}/", {"earlier": code}, follow=True)
        assert says in page.content.decode()
        assert draft_of(ada).pieces == []


def test_a_garment_that_came_again_at_another_till_does_not_open_twice(
    counter: Client, owner: User, ada: Customer
) -> None:
    piece = visit(owner, ada, jumper())
    counter.post(f"/intake/start/{ada.pk}/", {"earlier": piece.code})
    draft = draft_of(ada)
    answers = {
        "pockets": "empty",
        "stains": "none",
        "damage": "none",
        "fastenings": "work",
    }
    (taken,) = draft.pieces
    services.save_piece(
        draft.pk,
        taken["id"],
        {"facts": {**taken["facts"], "services": ["clean"]}, "inspection": answers},
    )
    again = visit(owner, ada, jumper(), earlier=piece)
    page = counter.post(f"/intake/{draft.pk}/open/", {"note": ""})
    assert page.status_code == 422
    assert f"{piece.spoken} came again already, as {again.spoken}." in page.content.decode()
    assert draft_of(ada).ticket is None


def test_the_two_numbers_are_asked_only_of_a_counted_piece_and_go_onto_the_ticket(
    counter: Client, ada: Customer
) -> None:
    counter.post(f"/intake/start/{ada.pk}/")
    draft = draft_of(ada)
    counter.post(f"/intake/{draft.pk}/pieces/add/", {"expected": "0"})
    url = f"/intake/{draft.pk}/pieces/1/"
    assert 'name="washes_allowed"' not in counter.get(url).content.decode()
    answer = counter.post(url, JACKET, headers={**HTMX, "HX-Target": "decision"})
    part = answer.content.decode()
    assert part.count('name="washes_allowed"') == part.count('name="washes_before"') == 1
    sent = {**JACKET, "washes_asked": "1", "washes_allowed": "25", "washes_before": "5"}
    part = counter.post(url, sent, headers={**HTMX, "HX-Target": "decision"}).content.decode()
    assert "Wash 6 of 25 on its label" in part
    assert "washes_allowed" not in part, "what is being typed in is not swapped away"
    counter.post(url, {**sent, "do": "done"})
    assert "Wash 6 of 25 on its label" in counter.get(f"/intake/{draft.pk}/").content.decode()
    counter.post(f"/intake/{draft.pk}/open/", {"note": ""})
    piece = Piece.objects.get()
    assert (piece.washes_before, piece.washes_allowed, piece.earlier) == (5, 25, None)


def test_a_jacket_turned_into_a_shirt_takes_no_count_along(counter: Client, ada: Customer) -> None:
    counter.post(f"/intake/start/{ada.pk}/")
    draft = draft_of(ada)
    counter.post(f"/intake/{draft.pk}/pieces/add/", {"expected": "0"})
    url = f"/intake/{draft.pk}/pieces/1/"
    sent = {**JACKET, "washes_asked": "1", "washes_allowed": "25", "washes_before": "5"}
    counter.post(url, sent)
    plain = {**sent, "kind": "shirt_cotton", "kind_other": "", "trims": [], "do": "done"}
    counter.post(url, plain)
    counter.post(f"/intake/{draft.pk}/open/", {"note": ""})
    piece = Piece.objects.get()
    assert (piece.kind, piece.washes_before, piece.washes_allowed) == ("shirt_cotton", None, None)


@pytest.mark.parametrize("typed", ["2x", "-1", "1001", "٢٥", "2.5"])
def test_a_count_that_is_no_number_is_named_beside_its_field(
    counter: Client, ada: Customer, typed: str
) -> None:
    counter.post(f"/intake/start/{ada.pk}/")
    draft = draft_of(ada)
    counter.post(f"/intake/{draft.pk}/pieces/add/", {"expected": "0"})
    url = f"/intake/{draft.pk}/pieces/1/"
    sent = {**JACKET, "washes_asked": "1", "washes_allowed": typed, "washes_before": ""}
    page = counter.post(url, sent).content.decode()
    assert f"“{typed}” is no count of washes." in page
    assert f'name="washes_allowed" value="{typed}"' in flat(page)
    counter.post(f"/intake/{draft.pk}/open/", {"note": ""})
    assert not Ticket.objects.exists()


def test_a_wash_past_the_label_needs_a_name_on_the_list_of_pieces(
    counter: Client, owner: User, ada: Customer
) -> None:
    first = visit(owner, ada, hivis_jacket(), washes_before=1, washes_allowed=2)
    counter.post(f"/intake/start/{ada.pk}/", {"earlier": first.code})
    draft = draft_of(ada)
    sent = {
        **JACKET,
        "piece": draft.pieces[0]["id"],
        "washes_asked": "1",
        "washes_allowed": "2",
        "washes_before": "",
    }
    page = counter.post(f"/intake/{draft.pk}/pieces/1/", sent).content.decode()
    assert "Wash 3 of 2 on its label" in page
    assert "So far: 2 of 2 washes on its label done." in page
    counter.post(f"/intake/{draft.pk}/open/", {"note": ""})
    assert Ticket.objects.count() == 1
    name = f"accept-{draft.pieces[0]['id']}-hivis.washcount.label_count"
    assert name in counter.get(f"/intake/{draft.pk}/").content.decode()
    answer = counter.post(f"/intake/{draft.pk}/open/", {"note": "", name: "Ada Brook"})
    assert answer.status_code == 302
    piece = Piece.objects.latest("pk")
    assert piece.earlier == first
    assert [(row.caution, row.accepted_by) for row in piece.acceptances.all()] == [
        ("hivis.washcount.label_count", "Ada Brook")
    ]


def test_the_crew_sees_the_count_on_the_board_and_on_the_piece(
    counter: Client, owner: User, ada: Customer
) -> None:
    first = visit(owner, ada, hivis_jacket(), washes_before=4, washes_allowed=25)
    act = Act(by=owner)
    ticket = open_ticket(
        ada,
        decide_pieces([PieceSpec(facts=hivis_jacket(), earlier=first), PieceSpec(facts=jumper())]),
        act.at + timedelta(days=3),
        act,
    )
    second, plain = ticket.pieces.order_by("position")
    work_until(second, Station.WASH, owner)
    work_until(plain, Station.WASH, owner)
    client = Client()
    client.force_login(owner, backend=project.AUTHENTICATION_BACKENDS[1])
    board = client.get("/boards/wash/").content.decode()
    assert board.count("Wash 6 of 25 on its label") == 1
    page = client.get(f"/pieces/{second.code}/").content.decode()
    assert "Wash 6 of 25 on its label" in page
    assert f"came before as {first.spoken}" in page
    assert f"came again as {second.spoken}" in client.get(f"/pieces/{first.code}/").content.decode()
    work_until(second, Station.DRY, owner)
    page = client.get(f"/pieces/{second.code}/").content.decode()
    assert "6 of 25 washes on its label done" in page
    assert "on its label" not in client.get(f"/pieces/{plain.code}/").content.decode()


def test_the_claim_slip_says_the_wash_to_come(owner: User, ada: Customer) -> None:
    act = Act(by=owner)
    specs = [
        PieceSpec(facts=hivis_jacket(), washes_before=0, washes_allowed=25),
        PieceSpec(facts=shirt()),
    ]
    ticket = open_ticket(ada, decide_pieces(specs), act.at + timedelta(days=3), act)
    data = slip_data(ticket, slip_rows(ticket), Shop.current())
    assert [piece.washed for piece in data.pieces] == ["Wash 1 of 25 on its label", ""]


def test_pages_cost_the_same_for_one_garment_and_for_ten(
    counter: Client, owner: User, ada: Customer
) -> None:
    def add(count: int) -> None:
        codes = [visit(owner, ada, hivis_jacket()).code for _ in range(count)]
        for code in codes:
            services.add_earlier(draft.pk, code)
            visit(owner, ada, jumper())

    def queries(url: str) -> int:
        forget_open_work()
        with CaptureQueriesContext(connection) as made:
            assert counter.get(url).status_code == 200
        return len(made)

    draft = start_draft(ada, owner)
    pages = [f"/customers/{ada.pk}/", f"/intake/{draft.pk}/", f"/intake/{draft.pk}/pieces/1/"]
    add(1)
    counter.get(pages[0])  # what a process reads once is read now
    with_one = [queries(url) for url in pages]
    add(4)
    assert [queries(url) for url in pages] == with_one


def test_a_wash_board_costs_the_same_for_one_counted_piece_and_for_eight(
    counter: Client, owner: User
) -> None:
    def queries() -> int:
        forget_open_work()
        with CaptureQueriesContext(connection) as made:
            assert counter.get("/boards/wash/").status_code == 200
        return len(made)

    def add(count: int) -> None:
        for piece in make_ticket(owner, [hivis_jacket()] * count).pieces.all():
            work_until(piece, Station.WASH, owner)

    counter.force_login(owner, backend=project.AUTHENTICATION_BACKENDS[1])
    add(1)
    queries()
    with_one = queries()
    add(7)
    assert queries() == with_one
