"""Finding people by a few digits or letters, telling namesakes apart, and adding them once."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from counter.customers.queries import look_up, twins_of
from tests.building import (
    jumper,
    make_customer,
    make_ready,
    make_shop,
    make_ticket,
    make_user,
    shirt,
)
from tests.counter.rows import rack, ticket_of
from tickets.acting import Act
from tickets.errors import Refused
from tickets.garments.customers import parse_phone
from tickets.garments.queries import find_customers
from tickets.garments.services import save_customer
from tickets.models import Customer
from tickets.tracking import services as tracking

pytestmark = pytest.mark.django_db


def names(query: str) -> list[str]:
    return [customer.name for customer in find_customers(query)]


@pytest.fixture
def people() -> None:
    make_customer("Ada Brook", "01632 960123")
    make_customer("Zoë Ångström-Łęcka", "07700 900456")
    make_customer("Mary Brookfield", "020 7946 0123")


@pytest.mark.parametrize(
    ("query", "expected"),
    [
        ("0123", ["Ada Brook", "Mary Brookfield"]),
        ("60123", ["Ada Brook", "Mary Brookfield"]),
        ("960123", ["Ada Brook"]),
        ("01632 960123", ["Ada Brook"]),
        ("+44 1632 960123", ["Ada Brook"]),
        ("(020) 7946-0123", ["Mary Brookfield"]),
        ("23", []),
        ("brook", ["Ada Brook", "Mary Brookfield"]),
        ("BROOK ad", ["Ada Brook"]),
        ("rook", []),
        ("b", []),
        ("", []),
        ("   ", []),
        ("%", []),
        ("ang", ["Zoë Ångström-Łęcka"]),
        ("angstrom", ["Zoë Ångström-Łęcka"]),
        ("Łęcka", ["Zoë Ångström-Łęcka"]),
        ("lecka", ["Zoë Ångström-Łęcka"]),
        ("zoe", ["Zoë Ångström-Łęcka"]),
        ("Zo\N{LATIN SMALL LETTER E}\N{COMBINING DIAERESIS}", ["Zoë Ångström-Łęcka"]),
    ],
)
def test_last_digits_or_the_start_of_any_word_find_a_customer(
    people: None, query: str, expected: list[str]
) -> None:
    assert names(query) == expected


@pytest.mark.parametrize(
    ("query", "expected"),
    [
        ("王", ["王小明"]),
        ("小明", ["王小明"]),
        ("明", ["王小明"]),
        ("王明", []),
        ("はなこ", ["やまだはなこ"]),
        ("민수", ["김민수"]),
        ("김", ["김민수"]),
        ("الخوا", ["محمد الخوارزمي"]),
    ],
)
def test_a_name_written_without_spaces_is_found_by_a_part_of_it(
    query: str, expected: list[str]
) -> None:
    for name in ("王小明", "やまだはなこ", "김민수", "محمد الخوارزمي", "Ada Brook"):
        make_customer(name)
    assert names(query) == expected


def test_a_renamed_customer_is_found_by_the_new_name_only() -> None:
    customer = make_customer("Ada Brook")
    customer.name = "Ada Stone"
    save_customer(customer, phone="01632 960123", region="GB")
    assert (names("brook"), names("stone")) == ([], ["Ada Stone"])


def test_a_ticket_or_piece_number_finds_its_customer() -> None:
    make_shop()
    ticket = make_ticket(make_user("counter"))
    piece = ticket.pieces.get()
    for query in (str(ticket.number), piece.code, piece.spoken):
        matches = look_up(query, timezone.now())
        assert [match.customer for match in matches] == [ticket.customer]
    assert look_up("1999999", timezone.now()) == []


def test_the_answer_to_is_it_ready_stands_beside_the_name() -> None:
    make_shop()
    user, now = make_user("counter"), timezone.now()
    customer = make_customer()
    late = make_ticket(user, customer=customer, promised_at=now - timedelta(hours=1))
    make_ticket(user, [jumper(), shirt()], customer=customer, promised_at=now + timedelta(days=9))
    make_ready(make_ticket(user, customer=customer, promised_at=now + timedelta(days=20)), user)
    [match] = look_up("brook", now)
    answers = [(ticket.number, stand.state, stand.words) for ticket, stand in match.open_tickets]
    first = late.number
    assert answers == [
        (first, "late", "Not begun"),
        (first + 1, "waiting", "2 not begun"),
        (first + 2, "ready", "Ready at A1"),
    ]


def test_what_is_owed_from_before_and_what_is_ready_stand_on_the_found_customer(
    counter: Client, user: User
) -> None:
    customer = make_customer()
    gone = rack(ticket_of(user, customer=customer, price="6.00"), user)
    tracking.hand_over(gone.pieces.get().code, gone.number, Act(by=user))
    ready = rack(ticket_of(user, customer=customer), user)
    ticket_of(user, customer=customer)
    [match] = look_up("brook", timezone.now())
    assert [(debt.number, debt.owed_minor) for debt in match.debts] == [(gone.number, 600)]
    assert match.owed_minor == 600
    assert match.to_hand_over == [ready]
    page = counter.get("/desk/?q=brook").content.decode()
    assert "Owes £6.00 since" in page
    assert f'href="/tickets/{gone.number}/pay/"' in page
    assert f'href="/pickup/{ready.number}/"' in page
    assert counter.get(f"/customers/{customer.pk}/").context["debts"] == match.debts


def test_namesakes_and_shared_phones_are_marked() -> None:
    ada = make_customer("Ada Brook", "01632 960001")
    twin = make_customer("ada brook", "01632 960002")
    shared = make_customer("Bo Lind", "01632 960002")
    alone = make_customer("Cy Marsh", "01632 960003")
    assert twins_of([ada, twin, shared, alone]) == {ada.pk, twin.pk, shared.pk}


@pytest.mark.parametrize("phone", ["12", "not a number", "+44 1632 96012345678901"])
def test_a_phone_that_cannot_be_dialled_is_named(phone: str) -> None:
    with pytest.raises(Refused) as refusal:
        parse_phone(phone, "GB")
    assert (refusal.value.code, phone in refusal.value.says) == ("bad_phone", True)


def test_the_desk_costs_the_same_for_one_customer_and_for_twenty(
    counter: Client,
) -> None:
    user = make_user("backroom")
    make_ticket(user, customer=make_customer("Ada One", "01632 960001"))
    with CaptureQueriesContext(connection) as with_one:
        counter.get("/desk/?q=ada")
    for number in range(2, 21):
        customer = make_customer(f"Ada {number}", f"01632 9600{number:02d}")
        make_ticket(user, [jumper(), shirt()], customer=customer)
    with CaptureQueriesContext(connection) as with_twenty:
        page = counter.get("/desk/?q=ada")
    assert page.content.decode().count("found-name") == 20
    assert len(with_twenty) == len(with_one)


def test_the_query_is_carried_over_to_a_new_customer(counter: Client) -> None:
    assert b"/customers/new/?q=zebedee" in counter.get("/desk/?q=zebedee").content
    assert b'value="zebedee"' in counter.get("/customers/new/?q=zebedee").content
    page = counter.get("/customers/new/?q=960999").content.decode()
    assert 'name="phone" value="960999"' in page


NEW = {"name": "Ada Brook", "phone": "01632 960123", "once": "a" * 32}


def test_a_new_customer_is_saved_once_however_often_the_form_is_sent(counter: Client) -> None:
    first = counter.post("/customers/new/", NEW)
    again = counter.post("/customers/new/", NEW)
    customer = Customer.objects.get()
    assert (first["Location"], again["Location"]) == (f"/customers/{customer.pk}/",) * 2
    assert customer.phone == "+441632960123"


def test_the_number_is_shown_large_to_be_read_back(counter: Client) -> None:
    page = counter.post("/customers/new/", NEW, follow=True).content.decode()
    assert "Read the number back" in page
    assert "01632 960123" in page


def test_an_intake_under_way_is_gone_on_with_on_the_customers_page(counter: Client) -> None:
    page = counter.post("/customers/new/", NEW, follow=True)
    assert "Go on with intake" not in page.content.decode()
    customer = Customer.objects.get()
    counter.post(f"/intake/start/{customer.pk}/")
    assert customer.drafts.count() == 1
    assert "Go on with intake" in counter.get(f"/customers/{customer.pk}/").content.decode()


def test_a_namesake_is_shown_before_a_second_record_is_made(counter: Client) -> None:
    counter.post("/customers/new/", NEW)
    other = {**NEW, "once": "b" * 32, "phone": "01632 960777"}
    page = counter.post("/customers/new/", other)
    assert (page.status_code, Customer.objects.count()) == (422, 1)
    assert b"Is it one of these?" in page.content
    assert counter.post("/customers/new/", {**other, "anyway": "1"}).status_code == 302
    assert Customer.objects.count() == 2


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"name": ""}, "This field is required."),
        ({"name": "!!!"}, "The name has no letters."),
        ({"phone": "12"}, "Phone 12 is not a number that can be dialled."),
        ({"email": "ada"}, "Enter a valid email address."),
    ],
)
def test_a_bad_field_is_named_beside_it_and_nothing_is_saved(
    counter: Client, change: dict[str, str], says: str
) -> None:
    page = counter.post("/customers/new/", {**NEW, **change})
    assert (page.status_code, Customer.objects.count()) == (422, 0)
    assert says in page.content.decode()


def test_a_bad_change_leaves_the_record_as_it_was(counter: Client) -> None:
    customer = make_customer()
    page = counter.post(f"/customers/{customer.pk}/", {"name": "Ada Stone", "phone": "12"})
    assert page.status_code == 422
    assert Customer.objects.get().name == "Ada Brook"
    counter.post(f"/customers/{customer.pk}/", {"name": "Ada Stone", "phone": "01632 960124"})
    assert Customer.objects.get().name == "Ada Stone"


@pytest.mark.parametrize("path", ["/desk/", "/customers/new/", "/customers/1/"])
def test_only_the_counter_opens_these_pages(path: str) -> None:
    make_shop()
    make_customer()
    back = Client()
    back.force_login(make_user("backroom"))
    assert back.get(path).status_code == 403
    assert Client().get(path).status_code == 302
    assert back.post(path, NEW).status_code == 403


def test_wrong_methods_are_refused(counter: Client) -> None:
    customer = make_customer()
    assert counter.post("/desk/").status_code == 405
    assert counter.put("/customers/new/").status_code == 405
    assert counter.delete(f"/customers/{customer.pk}/").status_code == 405
    assert counter.get("/customers/999999/").status_code == 404


def test_a_held_ticket_says_its_question_in_a_few_words(client: Client) -> None:
    """The whole of the reason stands with the piece, one tap on."""
    make_shop()
    till = make_user("counter")
    held = make_ticket(till, [jumper(), jumper()])
    reason = "Zip on order: the right length comes from the wholesaler in a week"
    code = held.pieces.earliest("position").code
    tracking.hold(code, reason, till, timezone.localdate(), Act(by=till))
    client.force_login(till)
    shown = client.get("/desk/", {"q": "brook"}).content.decode()
    assert "1 on hold (Zip on order), ask " in shown
    assert "wholesaler" not in shown
    assert reason in client.get(f"/pieces/{code}/").content.decode()
