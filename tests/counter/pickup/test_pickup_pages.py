"""The pickup pages and the papers of the counter, as a browser meets them."""

from __future__ import annotations

import re
from datetime import timedelta
from decimal import Decimal

import pypdfium2
import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from counter.models import Pickup
from counter.money import services as payments
from counter.money.queries import balance
from tests.building import jumper, make_customer, make_shop, make_ticket, make_user
from tests.counter.rows import act, piece_at, rack, ticket_of
from tests.markup import flat
from tickets.choices import MoveKind
from tickets.models import Acceptance, Move, PaperPrint, Ticket

pytestmark = pytest.mark.django_db
HTMX = {"HX-Request": "true"}


@pytest.fixture
def ada() -> User:
    make_shop()
    return make_user("counter", "ada")


@pytest.fixture
def till(client: Client, ada: User) -> Client:
    client.force_login(ada)
    return client


@pytest.fixture
def ticket(ada: User) -> Ticket:
    return rack(ticket_of(ada, 3), ada)


def page(answer: object) -> str:
    """The words of a page, with all white space as one blank."""
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())  # type: ignore[attr-defined]


def done_form(ticket: Ticket, **changes: str) -> dict[str, str]:
    open_pickup = ticket.pickups.filter(done_at__isnull=True).first()
    pk = str(open_pickup.pk) if open_pickup else ""
    return {"pickup_id": pk, "who": "customer", "name": "", "proof": "slip", **changes}


def scan_all(till: Client, ticket: Ticket) -> None:
    for piece in ticket.pieces.all():
        till.post(f"/pickup/{ticket.number}/scan/", {"line": piece.code})


def pay_all(ticket: Ticket, by: User) -> None:
    owed = balance(ticket).to_pay
    payments.take(ticket, "payment", "card", owed, act(by), "all")


def test_the_find_page_is_empty_at_first(till: Client) -> None:
    answer = till.get("/pickup/")
    assert answer.status_code == 200
    assert "Nothing is waiting on the counter." in page(answer)


def test_one_hit_opens_at_once(till: Client, ticket: Ticket) -> None:
    answer = till.get("/pickup/", {"q": str(ticket.number)})
    assert answer.headers["Location"] == f"/pickup/{ticket.number}/"


def test_several_hits_are_listed_with_place_and_state(
    till: Client, ticket: Ticket, ada: User
) -> None:
    ticket_of(ada, customer=ticket.customer)
    words = page(till.get("/pickup/", {"q": "brook"}))
    assert "2 tickets" in words
    assert "Ready at A1" in words
    assert "Not begun" in words


def test_a_search_without_a_hit_says_so(till: Client) -> None:
    assert "Nobody and no ticket is known by “zz top”" in page(
        till.get("/pickup/", {"q": "zz top"})
    )


def test_the_pickup_page_shows_places_what_is_missing_and_what_is_owed(
    till: Client, ada: User
) -> None:
    ticket = ticket_of(ada, 3)
    rack(ticket, ada, only=[1, 2])
    words = page(till.get(f"/pickup/{ticket.number}/"))
    assert "0 of 2" in words
    assert words.count("Take out") == 2
    assert words.count("Not ready") == 2  # at the head, and of the one piece
    assert "Last seen" in words
    assert "by Test Counter" in words
    assert "To pay £18.00" in words
    assert "missing" not in words


@pytest.mark.parametrize(("hours", "word"), [(-1, "Late promised"), (30, "Not ready promised")])
def test_is_it_ready_is_answered_before_anything_else(
    till: Client, ada: User, hours: int, word: str
) -> None:
    due = timezone.now() + timedelta(hours=hours)
    waiting = ticket_of(ada, opened=due - timedelta(days=3), promised=due)
    shown = page(till.get(f"/pickup/{waiting.number}/"))
    local = timezone.localtime(due)
    said = f"{word} {local:%a} {local.day} {local:%b}, {local:%H:%M}"
    assert shown.index(said) < shown.index("Scan each piece that leaves")


def test_a_plain_scan_comes_back_to_the_page(till: Client, ticket: Ticket) -> None:
    answer = till.post(
        f"/pickup/{ticket.number}/scan/", {"line": piece_at(ticket, 1).code}, follow=True
    )
    assert f"{ticket.number}-01 goes out" in page(answer)
    assert "Only a part leaves: 2 pieces stay here Hand over 1 piece" in page(answer)


def test_a_scan_by_script_answers_with_fragments(till: Client, ticket: Ticket) -> None:
    answer = till.post(
        f"/pickup/{ticket.number}/scan/", {"line": piece_at(ticket, 1).code}, headers=HTMX
    )
    html = answer.content.decode()
    assert "<html" not in html
    assert 'data-result="good"' in html
    assert '<div id="pickup-pieces" hx-swap-oob="innerHTML">' in html
    assert '<div id="pickup-count" class="stack"' not in html


def test_a_refused_scan_names_the_reason_and_the_cure(till: Client, ticket: Ticket) -> None:
    answer = till.post(f"/pickup/{ticket.number}/scan/", {"line": "123"}, headers=HTMX)
    assert 'data-result="bad"' in answer.content.decode()
    assert "123 has 3 digits" in page(answer)


def test_the_last_five_results_stay_in_sight(till: Client, ticket: Ticket) -> None:
    for code in ("1", "12", "123", "1234", "12345", "123456"):
        answer = till.post(f"/pickup/{ticket.number}/scan/", {"line": code}, headers=HTMX)
    shown = re.findall(r"(\d+) has \d+ digits", page(answer))
    assert shown == ["123456", "12345", "1234", "123", "12"]


def test_results_of_another_ticket_are_not_shown(till: Client, ticket: Ticket, ada: User) -> None:
    till.post(f"/pickup/{ticket.number}/scan/", {"line": "123"})
    other = rack(ticket_of(ada, customer=make_customer("Bo Field", "01632 960124")), ada)
    assert "123 has" not in page(till.get(f"/pickup/{other.number}/"))


def test_a_piece_is_put_back_by_a_tap(till: Client, ticket: Ticket) -> None:
    scan_all(till, ticket)
    answer = till.post(
        f"/pickup/{ticket.number}/unscan/", {"code": piece_at(ticket, 2).code}, follow=True
    )
    assert f"{ticket.number}-02 stays here" in page(answer)
    assert "2 of 3" in page(answer)


def test_handing_over_all_closes_the_ticket_and_offers_the_receipt(
    till: Client, ticket: Ticket, ada: User
) -> None:
    scan_all(till, ticket)
    pay_all(ticket, ada)
    answer = till.post(f"/pickup/{ticket.number}/done/", done_form(ticket), follow=True)
    done = Pickup.objects.get()
    assert "3 pieces handed to Ada Brook." in page(answer)
    form = f'action="/tickets/{ticket.number}/receipt.pdf" target="_blank"'
    html = answer.content.decode()
    assert form in html
    assert f'name="pickup" value="{done.pk}"' in html
    ticket.refresh_from_db()
    assert ticket.closed_at is not None


def test_the_done_form_sent_twice_hands_over_once(till: Client, ticket: Ticket, ada: User) -> None:
    scan_all(till, ticket)
    pay_all(ticket, ada)
    form = done_form(ticket)
    for _ in range(2):
        assert till.post(f"/pickup/{ticket.number}/done/", form).status_code == 302
    assert Move.objects.filter(kind=MoveKind.COLLECTED).count() == 3
    assert Pickup.objects.count() == 1


def test_somebody_else_collects_under_their_own_name(
    till: Client, ticket: Ticket, ada: User
) -> None:
    scan_all(till, ticket)
    pay_all(ticket, ada)
    form = done_form(ticket, who="other", name="Cy Marsh", proof="document")
    till.post(f"/pickup/{ticket.number}/done/", form)
    assert Pickup.objects.get().collector == "Cy Marsh"


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"who": ""}, "Say who collects."),
        ({"who": "other", "name": ""}, "name of the person who collects is missing"),
        ({"proof": ""}, "Say how the collector was proved."),
        ({"proof": "face"}, "face is no choice"),
        ({"pickup_id": ""}, "No piece is scanned out."),
        ({"pickup_id": "999999"}, "This pickup no longer exists."),
        ({}, "£18.00 is still to pay"),
        ({"owed_reason": "4111111111111111"}, "looks like a card number"),
    ],
)
def test_the_done_form_says_what_is_wrong_and_keeps_nothing(
    till: Client, ticket: Ticket, changes: dict[str, str], says: str
) -> None:
    scan_all(till, ticket)
    answer = till.post(f"/pickup/{ticket.number}/done/", done_form(ticket, **changes))
    assert answer.status_code == 422
    assert says in page(answer)
    assert Pickup.objects.get().done_at is None


def test_what_was_typed_is_still_there_after_a_refusal(till: Client, ticket: Ticket) -> None:
    scan_all(till, ticket)
    form = done_form(ticket, who="other", name="Cy Marsh", proof="known")
    html = till.post(f"/pickup/{ticket.number}/done/", form).content.decode()
    assert 'value="Cy Marsh"' in html
    assert 'value="known" required checked' in flat(html)


ADDRESSES = [
    ("get", "/pickup/"),
    ("get", "/pickup/{}/"),
    ("post", "/pickup/{}/scan/"),
    ("post", "/pickup/{}/unscan/"),
    ("post", "/pickup/{}/done/"),
    ("post", "/tickets/{}/claim-slip.pdf"),
    ("post", "/tickets/{}/receipt.pdf"),
]


@pytest.mark.parametrize(("method", "address"), ADDRESSES)
def test_the_back_room_and_strangers_do_not_get_in(
    client: Client, ticket: Ticket, method: str, address: str
) -> None:
    call = getattr(client, method)
    assert call(address.format(ticket.number)).status_code == 302
    client.force_login(make_user("backroom", "bo"))
    assert call(address.format(ticket.number)).status_code == 403


@pytest.mark.parametrize(("method", "address"), ADDRESSES)
def test_the_wrong_method_is_refused(
    till: Client, ticket: Ticket, method: str, address: str
) -> None:
    wrong = till.post if method == "get" else till.get
    assert wrong(address.format(ticket.number)).status_code == 405


@pytest.mark.parametrize(("method", "address"), ADDRESSES[1:])
def test_a_ticket_that_is_none_is_not_found(till: Client, method: str, address: str) -> None:
    assert getattr(till, method)(address.format(1999999)).status_code == 404


@pytest.mark.parametrize("pieces", [1, 40])
def test_the_pickup_page_costs_the_same_for_any_number_of_pieces(
    till: Client, ada: User, pieces: int, django_assert_num_queries: object
) -> None:
    ticket = ticket_of(ada, pieces + 1, stations=("intake",))
    rack(ticket, ada, only=range(1, pieces + 1))
    till.post(f"/pickup/{ticket.number}/scan/", {"line": piece_at(ticket, 1).code})
    with django_assert_num_queries(QUERIES):  # type: ignore[operator]
        till.get(f"/pickup/{ticket.number}/")


QUERIES = 19


# Papers


def pdf_text(content: bytes) -> str:
    document = pypdfium2.PdfDocument(content)
    text = " ".join(sheet.get_textpage().get_text_range() for sheet in document)
    return " ".join(text.split())


def test_the_claim_slip_names_pieces_prices_and_accepted_cautions(
    till: Client, ada: User, ticket: Ticket
) -> None:
    payments.take(ticket, "deposit", "cash", Decimal("5.00"), act(ada), "dep")
    Acceptance.objects.create(
        piece=piece_at(ticket, 2),
        caution="trim.beads",
        says="Beads may come loose.",
        accepted_by="Ada Brook",
        recorded_by=ada,
        at=ticket.opened_at,
    )
    answer = till.post(f"/tickets/{ticket.number}/claim-slip.pdf")
    assert answer.headers["Content-Type"] == "application/pdf"
    text = pdf_text(answer.content)
    for words in (
        str(ticket.number),
        "Ada Brook",
        "cotton shirt",
        "£6.00",
        "£18.00",
        "£5.00",
        "£13.00",
        "Beads may come loose.",
        "Accepted by Ada Brook",
    ):
        assert words in text


def test_the_claim_slip_says_how_to_care_for_the_piece_at_home(till: Client, ada: User) -> None:
    """A wool jumper labelled 30 very mild (ISO 3758 symbol), decided by the care rules."""
    ticket = make_ticket(ada, [jumper()])
    text = pdf_text(till.post(f"/tickets/{ticket.number}/claim-slip.pdf").content)
    assert "At home: Wash on the wool cycle up to 30 °C" in text


def test_the_slip_stays_to_be_printed_until_it_was_whatever_else_was(
    till: Client, ticket: Ticket
) -> None:
    page, ask = f"/tickets/{ticket.number}/", "Print the claim slip"
    till.post(f"{page}tags.pdf", {"size": "roll-62", "start_at": "1"})
    assert ask in till.get(page).content.decode()
    till.post(f"{page}claim-slip.pdf")
    assert ask not in till.get(page).content.decode()
    assert PaperPrint.objects.count() == 2


def test_each_print_is_logged_as_the_next_copy(till: Client, ticket: Ticket) -> None:
    for _ in range(2):
        till.post(f"/tickets/{ticket.number}/claim-slip.pdf")
    prints = PaperPrint.objects.order_by("copy").values_list(
        "paper", "copy", "size", "by__username"
    )
    assert list(prints) == [("claim_slip", 1, "a5", "ada"), ("claim_slip", 2, "a5", "ada")]


@pytest.mark.parametrize(
    ("paper", "button"), [("claim-slip", "Claim slip"), ("receipt", "Receipt")]
)
def test_an_address_typed_in_prints_nothing_and_shows_the_button_that_does(
    till: Client, ada: User, ticket: Ticket, paper: str, button: str
) -> None:
    payments.take(ticket, "deposit", "cash", Decimal("5.00"), act(ada), "dep")
    path = f"/tickets/{ticket.number}/{paper}.pdf"
    answer = till.get(path)
    html = answer.content.decode()
    assert (answer.status_code, answer.headers["Allow"]) == (405, "POST")
    assert "Nothing was printed: each print is counted" in html
    assert f'action="{path}"' in html
    assert f"{button}</button>" in html
    assert PaperPrint.objects.count() == 0
    assert till.post(path).headers["Content-Type"] == "application/pdf"
    assert PaperPrint.objects.count() == 1


def test_the_receipt_lists_what_left_what_stays_and_what_was_paid(
    till: Client, ada: User, ticket: Ticket
) -> None:
    pay_all(ticket, ada)
    for position in (1, 2):
        till.post(f"/pickup/{ticket.number}/scan/", {"line": piece_at(ticket, position).code})
    till.post(f"/pickup/{ticket.number}/done/", done_form(ticket, part_of="3"))
    text = pdf_text(till.post(f"/tickets/{ticket.number}/receipt.pdf").content)
    for words in ("Handed over", "Still with us", "Ada Brook", "Test Counter", "£18.00", "£0.00"):
        assert words in text


def test_a_deposit_alone_has_a_receipt(till: Client, ada: User, ticket: Ticket) -> None:
    payments.take(ticket, "deposit", "cash", Decimal("5.00"), act(ada), "dep")
    text = pdf_text(till.post(f"/tickets/{ticket.number}/receipt.pdf").content)
    assert "£5.00" in text


def test_without_money_and_pickup_there_is_no_receipt(till: Client, ticket: Ticket) -> None:
    answer = till.post(f"/tickets/{ticket.number}/receipt.pdf", follow=True)
    assert "so there is no receipt" in page(answer)
    assert PaperPrint.objects.count() == 0


@pytest.mark.parametrize("asked", ["999999", "abc"])
def test_the_receipt_of_a_pickup_that_is_none_is_not_found(
    till: Client, ticket: Ticket, asked: str
) -> None:
    path = f"/tickets/{ticket.number}/receipt.pdf"
    assert till.post(path, {"pickup": asked}).status_code == 404


def test_a_tap_sends_what_the_scan_box_reads(till: Client, ticket: Ticket) -> None:
    html = " ".join(till.get(f"/pickup/{ticket.number}/").content.decode().split())
    assert html.count('name="line" value="') == 3  # a button for each piece on the rack
