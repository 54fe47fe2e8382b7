"""Refusals of the counter's doors and pages that no other test meets, each with its code."""

from __future__ import annotations

import io
import uuid
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image
from pytest_django import Settings

from counter.intake import photos, services
from counter.intake.services import open_from_draft
from counter.models import IntakeDraft
from counter.money import services as payments
from counter.papers.services import print_receipt
from counter.shop import services as shop_door
from tests.building import jumper, make_ticket
from tests.counter.intake.intaking import draft_of, piece_of
from tickets.acting import Act
from tickets.choices import Station
from tickets.errors import Refused
from tickets.models import ClosedDay

pytestmark = pytest.mark.django_db

PERSON = {"full_name": "Kim Ash", "role": "counter", "username": "kim", "password": "", "pin": ""}


@pytest.mark.parametrize(
    ("address", "form", "code"),
    [
        ("/shop/hours/", {"what": "dance"}, "bad_form"),
        ("/shop/hours/", {"what": "open", "id": "x"}, "bad_form"),
        ("/shop/house-rules/", {"what": "retire", "rule": "x"}, "bad_form"),
        ("/shop/hours/", {"what": "week", "open-0": "on", "opens-0": "9h"}, "bad_time"),
        ("/shop/holidays/", {"country": "GB"}, "no_day"),
        ("/shop/weights/", {"grams-shirt_cotton": "heavy"}, "bad_weight"),
        ("/shop/staff/", {**PERSON, "username": "OZ", "pin": "2468"}, "name_taken"),
        ("/shop/staff/", PERSON, "no_way_in"),
    ],
)
def test_a_page_of_the_owner_refuses_what_can_t_be(
    office: Client, refusals: list[str], address: str, form: dict[str, str], code: str
) -> None:
    answer = office.post(address, form)
    assert (answer.status_code, refusals) == (422, [code])
    assert not ClosedDay.objects.exists()
    assert not User.objects.filter(username="kim").exists()


def test_an_intake_that_was_thrown_away_takes_no_change(counter: Client) -> None:
    with pytest.raises(Refused) as no:
        services.add_piece(uuid.uuid4(), 0)
    assert no.value.code == "draft_gone"


def test_an_intake_takes_99_pieces(user: User) -> None:
    draft = draft_of(user, {"facts": jumper()})
    first = piece_of(draft)["id"]
    for number in range(1, 99):
        services.add_piece(draft.pk, number, like=first)
    with pytest.raises(Refused) as no:
        services.add_piece(draft.pk, 99, like=first)
    draft.refresh_from_db()
    assert (no.value.code, len(draft.pieces)) == ("too_many_pieces", 99)


def test_a_draft_with_an_open_question_becomes_no_ticket(user: User) -> None:
    draft = draft_of(user, {"facts": jumper()})  # nobody has looked it over
    with pytest.raises(Refused) as no:
        open_from_draft(draft, None, Act(by=user))
    assert no.value.code == "piece_open"


def test_only_what_holds_a_piece_below_its_label_is_lifted(owner: User) -> None:
    draft = draft_of(owner, {"facts": jumper()})
    with pytest.raises(Refused) as no:
        services.record_overrides(
            draft.pk, piece_of(draft)["id"], ["fibre.silk"], "x", Act(by=owner)
        )
    assert no.value.code == "not_liftable"


def test_a_photo_needs_a_file(counter: Client, draft: IntakeDraft, refusals: list[str]) -> None:
    counter.post(f"/intake/{draft.pk}/pieces/1/photo/", {})
    assert refusals == ["no_photo"]


def photo(content: bytes | None = None) -> SimpleUploadedFile:
    out = io.BytesIO()
    Image.new("RGB", (60, 40)).save(out, "PNG")
    return SimpleUploadedFile("a.png", out.getvalue() if content is None else content)


@pytest.mark.parametrize(
    ("limits", "content", "code"),
    [
        ({}, b"no picture", "photo_unreadable"),
        ({"PHOTO_MAX_BYTES": 10}, b"no picture!", "photo_too_large"),
        ({"PHOTO_MAX_PIXELS": 2399}, None, "photo_too_many_dots"),
    ],
)
def test_a_photo_that_can_t_be_kept_is_refused(
    settings: Settings, limits: dict[str, int], content: bytes | None, code: str
) -> None:
    for name, limit in limits.items():
        setattr(settings, name, limit)
    with pytest.raises(Refused) as no:
        photos.clean_photo(photo(content))
    assert no.value.code == code


def test_a_photo_on_its_limits_is_kept(settings: Settings) -> None:
    upload = photo()
    settings.PHOTO_MAX_BYTES, settings.PHOTO_MAX_PIXELS = upload.size, 2400
    assert photos.clean_photo(upload).startswith(b"\xff\xd8")


def test_a_ticket_without_payment_and_pickup_has_no_receipt(user: User) -> None:
    with pytest.raises(Refused) as no:
        print_receipt(make_ticket(user), Act(by=user))
    assert no.value.code == "no_receipt"


@pytest.mark.parametrize("key", ["", "k" * 65])
def test_a_payment_needs_a_key_of_its_own(user: User, key: str) -> None:
    ticket = make_ticket(user)
    ticket.lines.create(piece=ticket.pieces.get(), text="Clean", amount=Decimal("6.00"))
    with pytest.raises(Refused) as no:
        payments.take(ticket, "payment", "cash", Decimal("6.00"), Act(by=user), key)
    assert no.value.code == "no_key"
    taken = payments.take(ticket, "payment", "cash", Decimal("6.00"), Act(by=user), "k" * 64)
    assert taken.payment.amount == 6


@pytest.mark.parametrize("minutes", [0, 1441])
def test_nobody_works_no_minutes_or_more_than_a_day_has(oz: User, minutes: int) -> None:
    shop_door.set_crews({}, {Station.WASH: None})
    with pytest.raises(Refused) as no:
        shop_door.set_crews({}, {Station.WASH: minutes})
    assert no.value.code == "bad_crew_minutes"
