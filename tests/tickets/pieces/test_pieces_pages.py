"""The page of one piece, the forms on it, and the papers of the back room."""

from __future__ import annotations

import html
import io
import re
import uuid
from typing import Any

import pypdfium2
import pytest
import zxingcpp
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from PIL import Image

from tests.building import jumper, make_ticket, shirt, trousers, work_until
from tickets.acting import Act
from tickets.choices import MoveKind, PieceState, Station
from tickets.models import Acceptance, Hold, Move, PaperPrint, Piece, RackPlace
from tickets.shop.calendar import business_day
from tickets.tracking import services as tracking

pytestmark = pytest.mark.django_db


def text_of(response: Any) -> str:
    plain = re.sub(r"<(script|style).*?</\1>|<[^>]+>", " ", response.content.decode(), flags=re.S)
    return re.sub(r"\s+", " ", html.unescape(plain))


def key() -> str:
    return str(uuid.uuid4())


@pytest.fixture
def piece(crew: User) -> Piece:
    return make_ticket(crew, [jumper()]).pieces.get()


def fresh(piece: Piece) -> Piece:
    return Piece.objects.get(pk=piece.pk)


def holding(crew: User, **changes: Any) -> dict[str, Any]:
    return {
        "key": key(),
        "reason": "brass zip?",
        "owner": crew.pk,
        "ask_again_on": business_day().isoformat(),
        **changes,
    }


def test_the_page_of_a_piece_tells_everything_the_crew_needs(back: Client, crew: User) -> None:
    piece = work_until(make_ticket(crew, [shirt()]).pieces.get(), Station.SPOTTING, crew)
    Acceptance.objects.create(
        piece=piece,
        caution="x",
        says="The dye may run.",
        accepted_by="Ada Brook",
        recorded_by=crew,
        at=timezone.now(),
    )
    page = text_of(back.get(f"/pieces/{piece.code}/"))
    for step in piece.steps.all():
        assert step.says in page
    for words in (
        "waits at Spotting",
        "Do now",
        "red wine",
        "at most 60 °C",
        "Outside: 100 % cotton",
        "The dye may run. Ada Brook",
        "Taken in Intake",
        "Work done Intake → Spotting",
        "Decided with tables",
        "Forbidden here: soap, hot iron, rubbing.",
    ):
        assert words in page
    # The drawing of a symbol is named in words for those who do not see it.
    assert 'aria-label="wash 60' in back.get(f"/pieces/{piece.code}/").content.decode().lower()


def test_a_spoken_number_leads_to_the_page_of_its_digits(back: Client, piece: Piece) -> None:
    answer = back.get(f"/pieces/{piece.spoken}/")
    assert answer.headers["Location"] == f"/pieces/{piece.code}/"
    answer = back.get(f"/pieces/{piece.ticket.number}/")
    assert answer.headers["Location"] == f"/tickets/{piece.ticket.number}/"


@pytest.mark.parametrize(
    "path",
    [
        "/pieces/1000001010/",
        "/pieces/rubbish/",
        "/pieces/9000000018/",
        "/tickets/9000000/",
        "/pieces/9000000018/photo/",
    ],
)
def test_what_is_not_there_is_not_found(back: Client, crew: User, path: str) -> None:
    assert back.get(path).status_code == 404


def test_a_hold_is_put_on_and_ended_through_the_page(
    back: Client, crew: User, piece: Piece
) -> None:
    done = back.post(f"/pieces/{piece.code}/hold/", holding(crew), follow=True)
    assert f"{piece.spoken} is on hold." in text_of(done)
    assert "brass zip?" in text_of(done)
    assert fresh(piece).state == PieceState.HELD
    sent = {"key": key(), "outcome": "brass it is"}
    done = back.post(f"/pieces/{piece.code}/release/", sent, follow=True)
    assert "has ended; it waits at Intake" in text_of(done)
    assert Hold.objects.get().outcome == "brass it is"


def test_a_redo_and_a_return_go_through_the_page(
    back: Client, desk: Client, crew: User, piece: Piece
) -> None:
    work_until(piece, Station.CHECK, crew)
    sent = {"key": key(), "station": Station.WASH, "reason": "grey cuffs"}
    done = back.post(f"/pieces/{piece.code}/redo/", sent, follow=True)
    assert f"{piece.spoken} goes back to Wash." in text_of(done)
    sent = {"key": key(), "reason": "changed her mind"}
    done = desk.post(f"/pieces/{piece.code}/return/", sent, follow=True)
    assert "back to the customer undone" in text_of(done)
    assert fresh(piece).state == PieceState.RETURNED


@pytest.mark.parametrize(
    ("name", "sent", "kind"),
    [
        ("hold", {"reason": "zip?"}, MoveKind.HELD),
        ("redo", {"station": "wash", "reason": "grey"}, MoveKind.REDO),
    ],
)
def test_a_form_sent_twice_moves_once(
    back: Client, crew: User, piece: Piece, name: str, sent: dict[str, str], kind: str
) -> None:
    work_until(piece, Station.CHECK, crew)
    body = holding(crew, **sent)
    for _ in range(2):
        assert back.post(f"/pieces/{piece.code}/{name}/", body).status_code == 302
    assert Move.objects.filter(kind=kind).count() == 1


def test_release_and_return_sent_twice_move_once(
    back: Client, desk: Client, crew: User, piece: Piece
) -> None:
    tracking.hold(piece.code, "zip", crew, business_day(), Act(by=crew))
    for client, name, body in (
        (back, "release", {"key": key(), "outcome": "fine"}),
        (desk, "return", {"key": key(), "reason": "no time"}),
    ):
        for _ in range(2):
            assert client.post(f"/pieces/{piece.code}/{name}/", body).status_code == 302
    kinds = list(Move.objects.filter(piece=piece).values_list("kind", flat=True))
    assert (kinds.count(MoveKind.RELEASED), kinds.count(MoveKind.RETURNED)) == (1, 1)


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"reason": ""}, "This field is required."),
        ({"ask_again_on": "2020-01-01"}, "The day to ask again, 2020-01-01, is past."),
        ({"owner": "999999"}, "Select a valid choice."),
        ({"key": "not a key"}, "came back without its one-time key"),
    ],
)
def test_a_faulty_hold_comes_back_with_the_fault_and_what_was_typed(
    back: Client, crew: User, piece: Piece, changes: dict[str, str], says: str
) -> None:
    answer = back.post(f"/pieces/{piece.code}/hold/", holding(crew, **changes))
    assert answer.status_code in (409, 422)
    assert says in text_of(answer)
    if "reason" not in changes:
        assert 'value="brass zip?"' in answer.content.decode()
    assert fresh(piece).state == PieceState.WAITING


def test_a_redo_offers_only_stations_where_work_is_done(
    back: Client, crew: User, piece: Piece
) -> None:
    work_until(piece, Station.DRY, crew)
    page = back.get(f"/pieces/{piece.code}/").content.decode()
    assert re.findall(r'name="station" value="(\w+)"', page) == ["intake", "wash"]
    for station, status, says in (
        ("press", 409, "has not been through Press yet"),
        ("send_out", 422, "send_out is not one of the available choices"),
    ):
        sent = {"key": key(), "station": station, "reason": "x"}
        answer = back.post(f"/pieces/{piece.code}/redo/", sent)
        assert answer.status_code == status
        assert says in text_of(answer)


def test_a_state_that_forbids_a_form_answers_with_the_reason(
    back: Client, crew: User, piece: Piece
) -> None:
    answer = back.post(f"/pieces/{piece.code}/release/", {"key": key(), "outcome": "x"})
    assert answer.status_code == 409
    assert "so this cannot be done: Hold ended" in text_of(answer)


FORMS = ["hold", "release", "redo", "return"]


@pytest.mark.parametrize("name", FORMS)
def test_forms_are_sent_and_never_fetched(boss: Client, piece: Piece, name: str) -> None:
    assert boss.get(f"/pieces/{piece.code}/{name}/").status_code == 405
    assert boss.post("/pieces/9000000018/hold/", {}).status_code == 404


@pytest.mark.parametrize("name", FORMS)
def test_forms_need_a_role(crew: User, piece: Piece, name: str) -> None:
    nobody = Client()
    nobody.force_login(User.objects.create_user("no-role"))
    assert nobody.post(f"/pieces/{piece.code}/{name}/", {"key": key()}).status_code == 403
    assert Client().post(f"/pieces/{piece.code}/{name}/", {}).status_code == 302


def test_only_the_counter_gives_a_piece_back(back: Client, piece: Piece) -> None:
    sent = {"key": key(), "reason": "x"}
    assert back.post(f"/pieces/{piece.code}/return/", sent).status_code == 403
    assert "Give back undone" not in text_of(back.get(f"/pieces/{piece.code}/"))


@pytest.mark.parametrize("path", ["/pieces/{code}/", "/tickets/{number}/", "/pieces/{code}/photo/"])
def test_pages_are_read_only(back: Client, piece: Piece, path: str) -> None:
    target = path.format(code=piece.code, number=piece.ticket.number)
    assert back.post(target).status_code == 405


def test_the_photo_is_shown_to_staff_and_to_nobody_else(
    back: Client, piece: Piece, settings: Any, tmp_path: Any
) -> None:
    settings.MEDIA_ROOT = tmp_path
    buffer = io.BytesIO()
    Image.new("RGB", (8, 8), "navy").save(buffer, "PNG")
    piece.photo.save("look.png", SimpleUploadedFile("look.png", buffer.getvalue()))
    shown = back.get(f"/pieces/{piece.code}/photo/")
    assert shown.headers["Content-Type"] == "image/png"
    assert shown.getvalue() == buffer.getvalue()
    page = back.get(f"/pieces/{piece.code}/").content.decode()
    assert f'src="/pieces/{piece.code}/photo/"' in page
    assert Client().get(f"/pieces/{piece.code}/photo/").status_code == 302
    (tmp_path / piece.photo.name).unlink()
    assert back.get(f"/pieces/{piece.code}/photo/").status_code == 404


def test_a_piece_page_costs_the_same_for_a_short_and_a_long_history(
    back: Client, crew: User, piece: Piece
) -> None:
    def cost() -> int:
        back.get(f"/pieces/{piece.code}/")
        with CaptureQueriesContext(connection) as seen:
            back.get(f"/pieces/{piece.code}/")
        return len(seen)

    tracking.hold(piece.code, "a", crew, business_day(), Act(by=crew))
    tracking.release(piece.code, "b", Act(by=crew))
    short = cost()
    for _ in range(10):
        tracking.hold(piece.code, "a", crew, business_day(), Act(by=crew))
        tracking.release(piece.code, "b", Act(by=crew))
    assert cost() == short


def bars_of(pdf: bytes) -> list[str]:
    """Every Code 128 of a PDF, read by an independent reader."""
    codes = []
    for page in pypdfium2.PdfDocument(pdf):
        image = page.render(scale=300 / 72).to_pil()
        codes += [
            bar.text
            for bar in zxingcpp.read_barcodes(image)
            if bar.format == zxingcpp.BarcodeFormat.Code128
        ]
    return sorted(codes)


def test_tags_are_built_logged_and_shown_one_for_each_piece(back: Client, crew: User) -> None:
    ticket = make_ticket(crew, [jumper(), trousers()])
    path = f"/tickets/{ticket.number}/tags.pdf"
    first = back.post(path, {"size": "roll-62", "start_at": "1"})
    assert first.headers["Content-Type"] == "application/pdf"
    assert first.headers["Content-Disposition"] == f'inline; filename="tags-{ticket.number}.pdf"'
    assert bars_of(first.content) == sorted(ticket.pieces.values_list("code", flat=True))
    back.post(path, {"size": "strip"})
    prints = PaperPrint.objects.order_by("copy").values_list("paper", "size", "copy", "by")
    assert list(prints) == [("tags", "roll-62", 1, crew.pk), ("tags", "strip", 2, crew.pk)]
    assert "reprint, copy 2" in text_of(back.get(f"/tickets/{ticket.number}/"))


@pytest.mark.parametrize(
    ("sent", "says"),
    [
        ({"size": "wall"}, "wall is not one of the available choices"),
        ({"size": "sheet-a4", "start_at": "22"}, "choose a place from 1 to 21"),
        ({"size": "sheet-a4", "start_at": "0"}, "greater than or equal to 1"),
    ],
)
def test_a_size_or_place_that_does_not_exist_prints_and_logs_nothing(
    back: Client, piece: Piece, sent: dict[str, str], says: str
) -> None:
    answer = back.post(f"/tickets/{piece.ticket.number}/tags.pdf", sent)
    assert answer.status_code == 422
    assert says in text_of(answer)
    assert PaperPrint.objects.count() == 0


def test_tags_are_never_printed_by_a_link(back: Client, piece: Piece) -> None:
    assert back.get(f"/tickets/{piece.ticket.number}/tags.pdf").status_code == 405
    assert back.post("/tickets/9000000/tags.pdf", {"size": "roll-62"}).status_code == 404


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_scan_cards_carry_answers_stations_and_places(back: Client, paper: str) -> None:
    RackPlace.objects.create(code="12")
    RackPlace.objects.create(code="OLD", in_use=False)
    texts = bars_of(back.get("/papers/cards.pdf", {"paper": paper}).content)
    assert texts == sorted(
        ["YES", "NO", "RACK 12", "RACK A1", "RACK A2"]
        + ["LOADS", "CLOSE", "START", "FINISH", "UNDO"]  # the shop has a partner, and so bags
        + [
            f"STATION {name}"
            for name in (
                "INTAKE",
                "BENCH",
                "SPOTTING",
                "WASH",
                "DRY",
                "PRESS",
                "CHECK",
                "SEND-OUT",
                "ASSEMBLY",
                "RACK",
            )
        ]
    )


def test_cards_are_fetched_on_two_papers_only(back: Client) -> None:
    assert back.post("/papers/cards.pdf").status_code == 405
    assert back.get("/papers/cards.pdf", {"paper": "wall"}).status_code == 404
