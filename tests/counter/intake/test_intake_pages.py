"""The pages of an intake: every address works, refuses, and may be pressed twice."""

from __future__ import annotations

import re
import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.conf import settings as project
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from counter.intake import services, views
from counter.intake.judge import judge
from counter.intake.queries import read_draft
from counter.intake.services import drafting
from counter.models import IntakeDraft
from tests.building import jumper, make_user
from tests.counter.intake.intaking import (
    HTMX,
    LOOKED_OVER,
    SHIRT,
    beaded_dress,
    fill,
    holds_of,
    petrol_towel,
    piece_of,
    url,
)
from tests.markup import flat, text
from tickets.errors import Refused
from tickets.models import Piece, Ticket
from tickets.promise.open_work import forget_open_work

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("media")]


def test_a_shirt_goes_from_the_form_to_an_open_ticket(counter: Client, draft: IntakeDraft) -> None:
    done = counter.post(url(draft, "pieces/1/"), {**SHIRT, "do": "done"})
    assert (done.status_code, done["Location"]) == (302, url(draft))
    piece = piece_of(draft)
    assert piece["facts"] == {
        "kind": "shirt_cotton",
        "construction": "woven",
        "colour": "white",
        "components": [{"part": "shell", "fibres": [{"fibre": "cotton", "percent": 100}]}],
        "services": ["clean", "press"],
        "stains": [{"stain": "red wine"}],
        "label": {
            "state": "read",
            "edition": "unknown",
            "market": "unknown",
            "symbols": ["wash_60", "bleach_any", "tumble_normal", "iron_200", "dry_clean_p"],
            "terms": [],
        },
    }
    opened = counter.post(
        url(draft, "open/"), {"note": "ring first", "rush": "on", "rush_shown": "yes"}
    )
    ticket = Ticket.objects.get()
    assert opened["Location"] == f"/tickets/{ticket.number}/"
    assert (ticket.note, ticket.rush, ticket.client_key) == ("ring first", True, draft.pk)


def test_opening_again_leads_to_the_same_ticket(counter: Client, draft: IntakeDraft) -> None:
    fill(draft, facts=jumper(), inspection=LOOKED_OVER)
    first = counter.post(url(draft, "open/"))
    again = counter.post(url(draft, "open/"))
    assert first["Location"] == again["Location"]
    assert Ticket.objects.count() == Piece.objects.count() == 1
    for address in ("", "pieces/1/"):
        assert counter.get(url(draft, address))["Location"] == first["Location"]
    assert counter.post(url(draft, "pieces/1/"), SHIRT)["Location"] == first["Location"]
    assert counter.post(url(draft, "discard/"))["Location"] == url(draft)
    assert IntakeDraft.objects.count() == 1


def test_an_intake_that_another_window_opened_meanwhile_leads_to_its_ticket(
    counter: Client, draft: IntakeDraft, monkeypatch: pytest.MonkeyPatch
) -> None:
    fill(draft, facts=jumper(), inspection=LOOKED_OVER)
    really_open = services.open_from_draft

    def beaten(*args: Any, **kwargs: Any) -> Ticket:
        really_open(*args, **kwargs)
        raise Refused("busy", "Many tickets are being opened at once.", "Press again.")

    monkeypatch.setattr(views, "open_from_draft", beaten)
    answer = counter.post(url(draft, "open/"))
    assert answer["Location"] == url(draft)
    assert counter.get(url(draft))["Location"] == f"/tickets/{Ticket.objects.get().number}/"


def test_a_piece_with_open_questions_keeps_the_ticket_shut(
    counter: Client, draft: IntakeDraft
) -> None:
    answers = {name: value for name, value in SHIRT.items() if name != "inspection-damage"}
    counter.post(url(draft, "pieces/1/"), answers)
    page = counter.post(url(draft, "open/"))
    assert (page.status_code, Ticket.objects.count()) == (422, 0)
    assert "Piece 1, cotton shirt: Damage? Look at the piece, then choose" in page.content.decode()


def test_the_button_stays_calm_and_the_first_open_question_is_linked(
    counter: Client, draft: IntakeDraft
) -> None:
    answers = {name: value for name, value in SHIRT.items() if name != "inspection-damage"}
    counter.post(url(draft, "pieces/1/"), answers)
    page = counter.get(url(draft)).content.decode()
    bar = flat(page[page.index('id="open-bar"') :])
    assert f'href="{url(draft, "pieces/1/")}#group-damage">1 ·' in bar
    assert "1 · cotton shirt: Damage?" in text(bar.encode())
    assert 'class="quiet not-yet big" id="open-button"' in bar
    editor = counter.get(url(draft, "pieces/1/")).content.decode()
    assert 'class="group question asked" id="group-damage"' in flat(editor)
    assert '<a href="#group-damage">1 left: Damage?' in flat(editor)
    counter.post(url(draft, "pieces/1/"), SHIRT)
    live = counter.post(url(draft), {}, headers={**HTMX, "HX-Target": "sums"}).content.decode()
    assert 'class="act big" id="open-button"' in flat(live)
    assert "Before it opens" not in live


def test_nothing_asked_is_ticked_beforehand_and_the_ticket_says_what_is_missing(
    counter: Client, draft: IntakeDraft
) -> None:
    editor = counter.get(url(draft, "pieces/1/")).content.decode()
    services = re.findall(r'name="services" value="([a-z]+)"( checked)?', flat(editor))
    assert services == [("clean", ""), ("press", ""), ("mend", ""), ("alter", "")]
    unasked = {name: value for name, value in SHIRT.items() if name != "services"}
    shown = counter.post(url(draft, "pieces/1/"), {**unasked, "do": "look"}).content.decode()
    assert "Shown as for cleaning, until it is chosen what is asked." in shown
    page = counter.post(url(draft, "open/"))
    assert (page.status_code, Ticket.objects.count()) == (422, 0)
    assert (
        "Piece 1, cotton shirt: What is asked? "
        "Choose one or more of: Clean, Press, Mend, Alter." in page.content.decode()
    )


def test_a_hold_needs_a_name_and_opens_with_it(counter: Client, draft: IntakeDraft) -> None:
    fill(draft, facts=beaded_dress(), inspection=LOOKED_OVER)
    page = counter.get(url(draft)).content.decode()
    fields = re.findall(r'name="(accept-[^"]+)"', page)
    assert len(fields) == len(holds_of(beaded_dress()))
    assert counter.post(url(draft, "open/"), dict.fromkeys(fields, " ")).status_code == 422
    assert Ticket.objects.count() == 0
    assert counter.post(url(draft, "open/"), dict.fromkeys(fields, "Ada Brook")).status_code == 302
    assert {row.accepted_by for row in Piece.objects.get().acceptances.all()} == {"Ada Brook"}


def test_a_refused_piece_is_never_opened_and_says_why(counter: Client, draft: IntakeDraft) -> None:
    fill(draft, facts=petrol_towel(), inspection=LOOKED_OVER)
    sent = {f"accept-{piece_of(draft)['id']}-fire.fuel_clothes": "Ada Brook"}
    page = counter.post(url(draft, "open/"), sent)
    assert (page.status_code, Ticket.objects.count()) == (422, 0)
    assert "Piece 1 can&#x27;t be taken in" in page.content.decode()


def test_an_early_promise_is_refused_beside_the_field_until_it_has_a_reason(
    counter: Client, draft: IntakeDraft
) -> None:
    fill(draft, facts=jumper(), inspection=LOOKED_OVER)
    soon = timezone.localtime() + timedelta(minutes=2)
    sent = {"promised_at": soon.strftime("%Y-%m-%dT%H:%M"), "promise_reason": ""}
    page = counter.post(url(draft, "open/"), sent)
    assert (page.status_code, Ticket.objects.count()) == (422, 0)
    assert "is earlier than the queue allows" in page.content.decode()
    assert counter.post(url(draft, "open/"), {**sent, "promise_reason": "idle"}).status_code == 302


@pytest.mark.parametrize("promise", ["tomorrow", "2030-13-01T10:00", "2001-01-01T10:00"])
def test_a_promise_that_cannot_be_kept_opens_nothing(
    counter: Client, draft: IntakeDraft, promise: str
) -> None:
    fill(draft, facts=jumper(), inspection=LOOKED_OVER)
    page = counter.post(url(draft, "open/"), {"promised_at": promise})
    assert (page.status_code, Ticket.objects.count()) == (422, 0)
    assert b'class="fault"' in page.content


@pytest.mark.parametrize("rest", ["", "pieces/1/"])
def test_a_page_costs_the_same_for_one_piece_and_for_twenty(
    counter: Client, draft: IntakeDraft, rest: str
) -> None:
    fill(draft, facts=jumper(), inspection=LOOKED_OVER)
    forget_open_work()
    with CaptureQueriesContext(connection) as with_one:
        counter.get(url(draft, rest))
    for number in range(1, 20):
        services.add_piece(draft.pk, number, like=piece_of(draft)["id"])
    assert len(IntakeDraft.objects.get().pieces) == 20
    forget_open_work()
    with CaptureQueriesContext(connection) as with_twenty:
        counter.get(url(draft, rest))
    assert len(with_twenty) == len(with_one)


def test_starting_adding_removing_and_discarding_twice_does_it_once(
    counter: Client, draft: IntakeDraft
) -> None:
    again = counter.post(f"/intake/start/{draft.customer_id}/")
    assert (again["Location"], IntakeDraft.objects.count()) == (url(draft), 1)
    fill(draft, description="first")
    for _ in range(2):
        counter.post(url(draft, "pieces/add/"), {"expected": "1"})
    assert len(IntakeDraft.objects.get().pieces) == 2
    first = piece_of(draft)["id"]
    for _ in range(2):
        counter.post(url(draft, "pieces/1/remove/"), {"piece": first})
    assert len(IntakeDraft.objects.get().pieces) == 1
    assert counter.post(url(draft, "discard/"))["Location"] == "/desk/"
    assert counter.post(url(draft, "discard/"))["Location"] == "/desk/"
    assert IntakeDraft.objects.count() == 0


def test_a_full_intake_says_why_on_its_own_page_when_one_more_is_added(
    counter: Client, draft: IntakeDraft, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(drafting, "MOST_PIECES", 1)
    fill(draft, description="the only one")
    answer = counter.post(url(draft, "pieces/add/"), {"expected": "1"})
    assert answer["Location"] == url(draft)
    assert "A ticket takes 1 pieces." in counter.get(url(draft)).content.decode()
    fragment = counter.post(url(draft, "pieces/add/"), {"expected": "1"}, headers=HTMX)
    assert (fragment.status_code, fragment["HX-Redirect"]) == (204, url(draft))


def test_a_discarded_intake_is_not_found(counter: Client, draft: IntakeDraft) -> None:
    counter.post(url(draft, "discard/"))
    page = counter.get(url(draft))
    assert (page.status_code, b"This intake was thrown away." in page.content) == (404, True)
    assert counter.post(url(draft, "open/")).status_code == 404
    assert counter.get(f"/intake/{uuid.uuid4()}/pieces/1/").status_code == 404


POST_ONLY = ["open/", "discard/", "pieces/add/", "pieces/1/remove/"]
PAGES = ["", "pieces/1/", "pieces/1/photo/"]


@pytest.mark.parametrize("rest", POST_ONLY)
def test_what_changes_something_is_never_a_get(
    counter: Client, draft: IntakeDraft, rest: str
) -> None:
    assert counter.get(url(draft, rest)).status_code == 405
    assert counter.get(f"/intake/start/{draft.customer_id}/").status_code == 405


@pytest.mark.parametrize("rest", PAGES)
def test_pages_take_no_other_method(counter: Client, draft: IntakeDraft, rest: str) -> None:
    assert counter.put(url(draft, rest)).status_code == 405
    assert counter.delete(url(draft, rest)).status_code == 405


@pytest.mark.parametrize("rest", [*POST_ONLY, *PAGES])
def test_the_back_room_and_strangers_change_nothing(draft: IntakeDraft, rest: str) -> None:
    back = Client()
    back.force_login(make_user("backroom"), backend=project.AUTHENTICATION_BACKENDS[1])
    assert back.post(url(draft, rest), SHIRT).status_code == 403
    assert Client().post(url(draft, rest), SHIRT).status_code == 302
    assert IntakeDraft.objects.get().pieces[0]["description"] == ""
    assert Ticket.objects.count() == 0


def test_a_piece_that_is_not_there_is_not_found(counter: Client, draft: IntakeDraft) -> None:
    assert counter.get(url(draft, "pieces/2/")).status_code == 404
    assert counter.get(url(draft, "pieces/0/")).status_code == 404
    assert counter.get(url(draft, "pieces/1/photo/")).status_code == 404


def test_a_page_that_no_longer_says_how_the_intake_stands_opens_nothing(
    counter: Client, draft: IntakeDraft
) -> None:
    fill(draft, facts=jumper(), inspection=LOOKED_OVER)
    shown = hidden(counter.get(url(draft)).content.decode())
    services.add_piece(draft.pk, 1, like=piece_of(draft)["id"])  # in another window
    services.save_piece(draft.pk, piece_of(draft, 2)["id"], {"inspection": LOOKED_OVER})
    page = counter.post(url(draft, "open/"), shown)
    assert (page.status_code, Ticket.objects.count()) == (422, 0)
    html = page.content.decode()
    total = judge(read_draft(draft), timezone.now()).quote.total
    assert f"It has 2 pieces for £{total} now: read it to the customer" in html
    assert counter.post(url(draft, "open/"), hidden(html)).status_code == 302
    assert Piece.objects.count() == 2


@pytest.mark.parametrize(
    ("said", "is_told"),
    [
        ({"said_promise": "2026-06-16T10:12+01:00"}, True),
        ({"said_promise": "2026-12-24T10:12+00:00"}, False),
        ({"said_promise": "2026-06-16T10:12"}, False),  # of no zone
        ({"said_promise": "soon"}, False),
        ({}, False),
    ],
)
def test_a_promise_later_than_the_page_said_is_told_after_opening(
    counter: Client, draft: IntakeDraft, said: dict[str, str], is_told: bool
) -> None:
    fill(draft, facts=jumper(), inspection=LOOKED_OVER)
    shown = hidden(counter.get(url(draft)).content.decode())
    page = counter.post(url(draft, "open/"), shown | said, follow=True)
    later = "later than the" in page.content.decode()
    assert (page.status_code, later) == (200, is_told)


def hidden(html: str) -> dict[str, str]:
    """What the bar of the page says, as its form sends it back."""
    fields = dict(re.findall(r'<input type="hidden" name="(said\w*)" value="([^"]+)">', html))
    assert sorted(fields) == ["said", "said_promise"]
    return fields


def test_a_kind_is_offered_by_what_people_call_it_and_kept_by_its_own_name(
    counter: Client, draft: IntakeDraft
) -> None:
    """The list under the field offers the jumper to who types "sweater"."""
    page = counter.get(url(draft, "pieces/1/")).content.decode()
    [offered] = re.findall(r'<option value="([^"]*)"\s+label="[^"]*\bsweater\b[^"]*"', page)
    assert offered == "wool jumper"
    counter.post(url(draft, "pieces/1/"), {**SHIRT, "kind": "more", "kind_other": "Sweater"})
    draft.refresh_from_db()
    assert draft.pieces[0]["facts"]["kind"] == "sweater_wool"
