"""The page of one piece at the intake: what is typed, tapped and photographed there."""

from __future__ import annotations

import io
import re
from typing import Any

import pytest
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from counter.models import IntakeDraft
from tests.building import jumper
from tests.counter.intake.intaking import HTMX, LOOKED_OVER, SHIRT, fill, piece_of, url
from tests.markup import flat
from tickets.models import Piece, Ticket

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("media")]


def test_each_change_is_saved_and_only_the_decision_comes_back(
    counter: Client, draft: IntakeDraft
) -> None:
    answer = counter.post(url(draft, "pieces/1/"), SHIRT, headers={**HTMX, "HX-Target": "decision"})
    text = answer.content.decode()
    assert "<html" not in text
    assert "Machine wash, in house" in text
    assert "£6.00" in text
    assert piece_of(draft)["description"] == "blue stripe"


def test_another_kind_asks_anew_what_it_can_have_and_offers_its_fibre(
    counter: Client, draft: IntakeDraft
) -> None:
    headers = {**HTMX, "HX-Target": "decision"}
    napkin = SHIRT | {"kind": "more", "kind_other": "serviette", "kind_was": "shirt_cotton"}
    napkin = {name: given for name, given in napkin.items() if name != "inspection-pockets"}
    text = flat(counter.post(url(draft, "pieces/1/"), napkin, headers=headers).content.decode())
    assert 'data-questions="pockets fastenings"' in text
    assert 'id="mix-0-linen"' in text
    assert 'id="add-lining"' not in text
    assert "Pockets?" not in text
    same = counter.post(url(draft, "pieces/1/"), napkin | {"kind_was": "napkin"}, headers=headers)
    assert 'id="left-out"' not in same.content.decode()


def test_without_script_the_whole_page_comes_back_with_the_decision(
    counter: Client, draft: IntakeDraft
) -> None:
    page = counter.post(url(draft, "pieces/1/"), {**SHIRT, "do": "look"}).content.decode()
    assert "<html" in page
    assert "at most 60 °C" in page
    assert 'value="wash_60" data-name="wash 60 °C" checked' in flat(page)


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


def test_nonsense_gets_a_sentence_in_its_place_and_never_an_error(
    counter: Client, draft: IntakeDraft
) -> None:
    """Field by field, each in the draft as it was begun, and all of them at once."""
    untouched = draft.pieces
    for field in [*NONSENSE, "all of them"]:
        IntakeDraft.objects.update(pieces=untouched)
        wrong = NONSENSE if field == "all of them" else {field: NONSENSE[field]}
        for headers in ({}, {**HTMX, "HX-Target": "decision"}):
            answer = counter.post(url(draft, "pieces/1/"), {**SHIRT, **wrong}, headers=headers)
            assert answer.status_code == 200, field
            assert "<script>" not in answer.content.decode().replace("<script src", ""), field
        assert counter.get(url(draft)).status_code == 200, field
        if field not in ("colour", "fibre-99-99", "price-clean"):  # empty, past the end, listed
            assert counter.post(url(draft, "open/")).status_code == 422, field
            assert Ticket.objects.count() == 0, field


def test_a_typed_choice_comes_back_as_a_tap_and_an_unknown_one_gets_near_names(
    counter: Client, draft: IntakeDraft
) -> None:
    headers = {**HTMX, "HX-Target": "pick-stains"}
    sent = {**SHIRT, "more-stains": "Mustard"}
    text = counter.post(url(draft, "pieces/1/"), sent, headers=headers).content.decode()
    assert 'name="stains" value="mustard" checked' in flat(text)
    sent = {**SHIRT, "more-stains": "mustrd"}
    text = counter.post(url(draft, "pieces/1/"), sent, headers=headers).content.decode()
    assert "“mustrd” is not on the list. Did you mean: mustard" in text


def test_a_piece_has_eight_parts_at_most(counter: Client, draft: IntakeDraft) -> None:
    rows = {f"part-{at}": "lining" for at in range(8)} | {f"fibre-{at}-0": "" for at in range(8)}
    path = url(draft, "pieces/1/")
    page = counter.post(path, {**rows, "do": "part:lining"}).content.decode()
    assert ('name="fibre-7-0"' in page, 'name="fibre-8-0"' in page) == (True, False)


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
    kept = Image.open(io.BytesIO(shown.getvalue()))
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


def test_an_answer_given_while_a_photo_is_on_its_way_is_kept_without_complaint(
    counter: Client, draft: IntakeDraft
) -> None:
    answer = counter.post(url(draft, "pieces/1/photo/"), {**SHIRT, "colour": "dark"}, headers=HTMX)
    assert (answer.status_code, piece_of(draft)["facts"]["colour"]) == (200, "dark")
    assert "No photo was chosen" not in counter.get(url(draft)).content.decode()


def test_a_photo_sent_with_the_form_keeps_what_was_answered_there(
    counter: Client, draft: IntakeDraft
) -> None:
    upload = SimpleUploadedFile("a.png", picture())
    counter.post(url(draft, "pieces/1/photo/"), {**SHIRT, "photo": upload})
    piece = piece_of(draft)
    assert (piece["description"], piece["facts"]["colour"]) == ("blue stripe", SHIRT["colour"])
    assert default_storage.exists(piece["photo"])


@pytest.mark.parametrize("state", ["read", "unreadable", "missing", "not_needed"])
def test_the_answer_about_the_label_stays_tapped(
    counter: Client, draft: IntakeDraft, state: str
) -> None:
    counter.post(url(draft, "pieces/1/"), {**SHIRT, "label_state": state})
    page = counter.get(url(draft, "pieces/1/")).content.decode()
    chosen = re.findall(r'<input[^>]*name="label_state"[^>]*>', page)
    assert [tap for tap in chosen if " checked" in tap] == [
        tap for tap in chosen if f'value="{state}"' in tap
    ]
    assert len(chosen) == 4
