"""The pages of an intake: every address works, refuses, and may be pressed twice."""

from __future__ import annotations

import io
import re
import uuid
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings as project
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from PIL import Image

from counter.intake import drafts
from counter.models import IntakeDraft
from tests.building import jumper, make_customer, make_shop, make_user
from tests.counter.test_intake import LOOKED_OVER, beaded_dress, holds_of, petrol_towel
from tickets.models import Piece, Ticket

pytestmark = pytest.mark.django_db

HTMX = {"HX-Request": "true"}
SHIRT = {
    "kind": "shirt_cotton",
    "colour": "white",
    "construction": "woven",
    "part-0": "shell",
    "fibre-0-0": "Cotton",
    "percent-0-0": "100",
    "label_state": "read",
    "symbol-wash": "wash_60",
    "symbol-bleach": "bleach_any",
    "symbol-tumble_dry": "tumble_normal",
    "symbol-natural_dry": "",
    "symbol-iron": "iron_200",
    "symbol-dry_clean": "dry_clean_p",
    "symbol-wet_clean": "",
    "stains": ["red wine"],
    "services": ["clean", "press"],
    "inspection-pockets": "empty",
    "inspection-stains": "listed",
    "inspection-damage": "none",
    "inspection-fastenings": "work",
    "description": "blue stripe",
}


@pytest.fixture(autouse=True)
def media(settings: Any, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def counter() -> Client:
    make_shop()
    client = Client()
    client.force_login(make_user("counter"), backend=project.AUTHENTICATION_BACKENDS[1])
    return client


@pytest.fixture
def draft(counter: Client) -> IntakeDraft:
    """An intake with one new piece, begun through the pages."""
    customer = make_customer()
    page = counter.post(f"/intake/start/{customer.pk}/")
    counter.post(page.url + "pieces/add/", {"expected": "0"})
    return IntakeDraft.objects.get()


def url(draft: IntakeDraft, rest: str = "") -> str:
    return f"/intake/{draft.pk}/{rest}"


def piece_of(draft: IntakeDraft, number: int = 1) -> dict[str, Any]:
    draft.refresh_from_db()
    piece: dict[str, Any] = draft.pieces[number - 1]
    return piece


def fill(draft: IntakeDraft, **fields: Any) -> None:
    drafts.save_piece(draft.pk, piece_of(draft)["id"], fields)


def test_a_shirt_goes_from_the_form_to_an_open_ticket(counter: Client, draft: IntakeDraft) -> None:
    done = counter.post(url(draft, "pieces/1/"), {**SHIRT, "do": "done"})
    assert (done.status_code, done.url) == (302, url(draft))
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
    assert opened.url == f"/tickets/{ticket.number}/"
    assert (ticket.note, ticket.rush, ticket.client_key) == ("ring first", True, draft.pk)


def test_opening_again_leads_to_the_same_ticket(counter: Client, draft: IntakeDraft) -> None:
    fill(draft, facts=jumper(), inspection=LOOKED_OVER)
    first = counter.post(url(draft, "open/"))
    again = counter.post(url(draft, "open/"))
    assert first.url == again.url
    assert Ticket.objects.count() == Piece.objects.count() == 1
    for address in ("", "pieces/1/"):
        assert counter.get(url(draft, address)).url == first.url
    assert counter.post(url(draft, "pieces/1/"), SHIRT).url == first.url
    assert counter.post(url(draft, "discard/")).url == url(draft)
    assert IntakeDraft.objects.count() == 1


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
    bar = page[page.index('id="open-bar"') :]
    assert f'href="{url(draft, "pieces/1/")}#group-damage">1 · cotton shirt: Damage?</a>' in bar
    assert 'class="button quiet" id="open-button"' in bar
    editor = counter.get(url(draft, "pieces/1/")).content.decode()
    assert 'id="group-damage"' in editor
    assert 'class="next-open" href="#group-damage"' in editor
    counter.post(url(draft, "pieces/1/"), SHIRT)
    live = counter.post(url(draft), {}, headers={**HTMX, "HX-Target": "sums"}).content.decode()
    assert 'class="button" id="open-button"' in live
    assert "Before it opens" not in live


def test_nothing_asked_is_ticked_beforehand_and_the_ticket_says_what_is_missing(
    counter: Client, draft: IntakeDraft
) -> None:
    editor = counter.get(url(draft, "pieces/1/")).content.decode()
    services = re.findall(r'name="services" value="([a-z]+)"( checked)?', editor)
    assert services == [("clean", ""), ("press", ""), ("mend", ""), ("alter", "")]
    unasked = {name: value for name, value in SHIRT.items() if name != "services"}
    told = counter.post(url(draft, "pieces/1/"), {**unasked, "do": "look"}).content.decode()
    assert "Shown as for cleaning, until it is chosen what is asked." in told
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


def test_each_change_is_saved_and_only_the_decision_comes_back(
    counter: Client, draft: IntakeDraft
) -> None:
    answer = counter.post(url(draft, "pieces/1/"), SHIRT, headers={**HTMX, "HX-Target": "decision"})
    text = answer.content.decode()
    assert "<html" not in text
    assert "Machine wash, in house" in text
    assert "£6.00" in text
    assert piece_of(draft)["description"] == "blue stripe"


def test_without_script_the_whole_page_comes_back_with_the_decision(
    counter: Client, draft: IntakeDraft
) -> None:
    page = counter.post(url(draft, "pieces/1/"), {**SHIRT, "do": "look"}).content.decode()
    assert "<html" in page
    assert "at most 60 °C" in page
    assert 'value="wash_60" data-name="wash 60 °C" checked' in page


NONSENSE = {
    "kind": ["more"],
    "kind_other": "space suit",
    "colour": "\x00",
    "construction": "jelly",
    "part-0": "sleeve",
    "fibre-0-0": "woool",
    "percent-0-0": "abc",
    "fibre-99-99": "x",
    "label_state": "maybe",
    "symbol-wash": "wash_1000",
    "stains": ["", "nothing"],
    "more-trims": "x" * 500,
    "hazards": ["<script>"],
    "work": ["juggle"],
    "services": ["fly"],
    "damage": ["sad"],
    "wearer": "dog",
    "weight_g": "-5",
    "description": "d" * 400,
    "set_mark": "ABC",
    "price-clean": "twelve",
    "inspection-pockets": "perhaps",
}


@pytest.mark.parametrize("field", [*NONSENSE, "all of them"])
def test_nonsense_gets_a_sentence_in_its_place_and_never_an_error(
    counter: Client, draft: IntakeDraft, field: str
) -> None:
    wrong = NONSENSE if field == "all of them" else {field: NONSENSE[field]}
    for headers in ({}, {**HTMX, "HX-Target": "decision"}):
        answer = counter.post(url(draft, "pieces/1/"), {**SHIRT, **wrong}, headers=headers)
        assert answer.status_code == 200
        assert "<script>" not in answer.content.decode().replace("<script src", "")
    assert counter.get(url(draft)).status_code == 200
    if field not in ("colour", "fibre-99-99", "price-clean"):  # empty, past the last row, listed
        assert counter.post(url(draft, "open/")).status_code == 422
        assert Ticket.objects.count() == 0


def test_a_typed_choice_comes_back_as_a_tap_and_an_unknown_one_gets_near_names(
    counter: Client, draft: IntakeDraft
) -> None:
    headers = {**HTMX, "HX-Target": "pick-stains"}
    sent = {**SHIRT, "more-stains": "Mustard"}
    text = counter.post(url(draft, "pieces/1/"), sent, headers=headers).content.decode()
    assert 'name="stains" value="mustard" checked' in text
    sent = {**SHIRT, "more-stains": "mustrd"}
    text = counter.post(url(draft, "pieces/1/"), sent, headers=headers).content.decode()
    assert "“mustrd” is not on the list. Did you mean: mustard" in text


def test_a_mix_and_a_lining_are_put_in_with_one_tap_each(
    counter: Client, draft: IntakeDraft
) -> None:
    path = url(draft, "pieces/1/")
    counter.post(path, {"part-0": "shell", "fibre-0-0": "", "do": "mix:0:polycotton"})
    rows = {"part-0": "shell", "fibre-0-0": "polyester", "percent-0-0": "65"}
    rows |= {"fibre-0-1": "cotton", "percent-0-1": "35"}
    page = counter.post(path, {**rows, "do": "part:lining"}).content.decode()
    assert 'name="fibre-1-0"' in page
    lined = {**rows, "part-1": "lining", "fibre-1-0": "", "do": "mix:1:acetate"}
    counter.post(path, lined)
    assert piece_of(draft)["facts"]["components"] == [
        {
            "part": "shell",
            "fibres": [
                {"fibre": "polyester", "percent": 65},
                {"fibre": "cotton", "percent": 35},
            ],
        },
        {"part": "lining", "fibres": [{"fibre": "acetate", "percent": 100}]},
    ]


def test_shares_that_do_not_make_a_whole_are_named(counter: Client, draft: IntakeDraft) -> None:
    page = counter.post(url(draft, "pieces/1/"), {**SHIRT, "percent-0-0": "90"}).content.decode()
    assert "Outside: the fibres add up to 90 %." in page


def test_shares_out_of_their_usual_order_ask_for_a_second_look_at_the_label(
    counter: Client, draft: IntakeDraft
) -> None:
    def page_of(first: str, second: str) -> str:
        shares = {"fibre-0-0": "polyester", "percent-0-0": first}
        shares |= {"fibre-0-1": "cotton", "percent-0-1": second}
        return counter.post(url(draft, "pieces/1/"), {**SHIRT, **shares}).content.decode()

    note = "Read the label once more"
    assert note in page_of("20", "80")
    assert note not in page_of("80", "20")


@pytest.mark.parametrize("rest", ["", "pieces/1/"])
def test_a_page_costs_the_same_for_one_piece_and_for_twenty(
    counter: Client, draft: IntakeDraft, rest: str
) -> None:
    fill(draft, facts=jumper(), inspection=LOOKED_OVER)
    with CaptureQueriesContext(connection) as one:
        counter.get(url(draft, rest))
    for number in range(1, 20):
        drafts.add_piece(draft.pk, number, like=piece_of(draft)["id"])
    assert len(IntakeDraft.objects.get().pieces) == 20
    with CaptureQueriesContext(connection) as twenty:
        counter.get(url(draft, rest))
    assert len(twenty) == len(one)


def test_starting_adding_removing_and_discarding_twice_does_it_once(
    counter: Client, draft: IntakeDraft
) -> None:
    again = counter.post(f"/intake/start/{draft.customer_id}/")
    assert (again.url, IntakeDraft.objects.count()) == (url(draft), 1)
    fill(draft, description="first")
    for _ in range(2):
        counter.post(url(draft, "pieces/add/"), {"expected": "1"})
    assert len(IntakeDraft.objects.get().pieces) == 2
    first = piece_of(draft)["id"]
    for _ in range(2):
        counter.post(url(draft, "pieces/1/remove/"), {"piece": first})
    assert len(IntakeDraft.objects.get().pieces) == 1
    assert counter.post(url(draft, "discard/")).url == "/desk/"
    assert counter.post(url(draft, "discard/")).url == "/desk/"
    assert IntakeDraft.objects.count() == 0


def test_a_discarded_intake_is_not_found(counter: Client, draft: IntakeDraft) -> None:
    counter.post(url(draft, "discard/"))
    assert counter.get(url(draft)).status_code == 404
    assert counter.post(url(draft, "open/")).status_code == 404
    assert counter.get(f"/intake/{uuid.uuid4()}/pieces/1/").status_code == 404


def picture(form: str = "PNG", size: tuple[int, int] = (60, 40), **options: Any) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, "#446688").save(out, form, **options)
    return out.getvalue()


def send_photo(client: Client, draft: IntakeDraft, content: bytes, name: str = "a.png") -> str:
    upload = SimpleUploadedFile(name, content)
    page = client.post(url(draft, "pieces/1/photo/"), {"photo": upload}, follow=True)
    return page.content.decode()


def test_a_photo_is_kept_as_upright_jpeg_without_the_cameras_notes(
    counter: Client, draft: IntakeDraft
) -> None:
    notes = Image.Exif()
    notes[0x0112] = 6  # orientation: turn a quarter to the right (EXIF 2.3, tag 274)
    notes[0x010F] = "camera maker"
    send_photo(counter, draft, picture("JPEG", (60, 40), exif=notes))
    shown = counter.get(url(draft, "pieces/1/photo/"))
    kept = Image.open(io.BytesIO(b"".join(shown.streaming_content)))  # type: ignore[attr-defined]
    assert (kept.format, kept.size, dict(kept.getexif())) == ("JPEG", (40, 60), {})


def test_a_second_photo_takes_the_place_of_the_first_and_goes_with_the_piece(
    counter: Client, draft: IntakeDraft
) -> None:
    send_photo(counter, draft, picture())
    first = piece_of(draft)["photo"]
    send_photo(counter, draft, picture())
    second = piece_of(draft)["photo"]
    assert (default_storage.exists(first), default_storage.exists(second)) == (False, True)
    fill(draft, facts=jumper(), inspection=LOOKED_OVER)
    counter.post(url(draft, "open/"))
    assert Piece.objects.get().photo.name == second


def test_a_photo_of_a_thrown_away_intake_is_deleted(counter: Client, draft: IntakeDraft) -> None:
    send_photo(counter, draft, picture())
    name = piece_of(draft)["photo"]
    counter.post(url(draft, "discard/"))
    assert not default_storage.exists(name)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "The submitted file is empty|no picture|not a picture|No photo"),
        (b"not a picture", "Photo a.png is not a picture that can be read. Take it again"),
        (picture()[:60], "Photo a.png is not a picture that can be read. Take it again"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "Photo a.png is not a picture"),
    ],
)
def test_a_bad_photo_is_named_and_the_piece_stays(
    counter: Client, draft: IntakeDraft, content: bytes, says: str
) -> None:
    fill(draft, description="navy")
    page = send_photo(counter, draft, content)
    assert re.search(says, page)
    assert (piece_of(draft)["photo"], piece_of(draft)["description"]) == ("", "navy")


def test_a_photo_of_too_many_bytes_or_dots_is_named(
    counter: Client, draft: IntakeDraft, settings: Any
) -> None:
    settings.PHOTO_MAX_PIXELS = 1000
    page = send_photo(counter, draft, picture())
    assert "Photo a.png has 60 by 40 dots" in page
    settings.PHOTO_MAX_BYTES = 50
    assert "at most 0 MB are taken" in send_photo(counter, draft, picture())
    assert piece_of(draft)["photo"] == ""


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
