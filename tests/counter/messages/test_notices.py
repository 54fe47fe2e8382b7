"""Messages to customers: written once, sent for real, kept when the mail server is away."""

from __future__ import annotations

import socket
import socketserver
import threading
from collections.abc import Iterator
from datetime import timedelta
from email import message_from_bytes, policy

import pytest
from django.contrib.auth.models import User
from django.core.management import CommandError, call_command
from django.test import Client
from django.utils import timezone

from counter.messages import services as notices
from counter.models import Notice, Pickup
from tests.building import make_customer, make_shop, make_user
from tests.counter.rows import act, piece_at, rack, ticket_of
from tickets.errors import Refused
from tickets.models import Customer, Ticket
from tickets.tracking import services as tracking

pytestmark = pytest.mark.django_db


class MailBox(socketserver.ThreadingTCPServer):
    """A small mail server on the loopback address: takes letters by RFC 5321 and keeps them."""

    allow_reuse_address = True
    daemon_threads = True

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), _Talk)
        self.letters: list[tuple[list[str], bytes]] = []
        self.refuses = ""

    @property
    def port(self) -> int:
        return int(self.server_address[1])


class _Talk(socketserver.StreamRequestHandler):
    server: MailBox

    def handle(self) -> None:
        self.say("220 loopback ready")
        to: list[str] = []
        for raw in self.rfile:
            line = raw.decode("ascii", "replace").strip()
            word = line.split(" ")[0].split(":")[0].upper()
            if word in ("EHLO", "HELO"):
                self.say("250 loopback")
            elif word == "MAIL":
                to = []
                self.say("250 ok")
            elif word == "RCPT":
                if self.server.refuses and self.server.refuses in line:
                    self.say("550 no such box")
                else:
                    to.append(line[line.index("<") + 1 : line.rindex(">")])
                    self.say("250 ok")
            elif word == "DATA":
                self.say("354 go on")
                self.server.letters.append((to, self._letter()))
                self.say("250 kept")
            elif word == "QUIT":
                self.say("221 bye")
                return
            else:
                self.say("250 ok")

    def _letter(self) -> bytes:
        lines: list[bytes] = []
        for raw in self.rfile:
            if raw.rstrip(b"\r\n") == b".":
                break
            lines.append(raw[1:] if raw.startswith(b"..") else raw)
        return b"".join(lines)

    def say(self, text: str) -> None:
        self.wfile.write(text.encode("ascii") + b"\r\n")


@pytest.fixture
def mailbox(settings: object) -> Iterator[MailBox]:
    box = MailBox()
    thread = threading.Thread(target=box.serve_forever, daemon=True)
    thread.start()
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"  # type: ignore[attr-defined]
    settings.EMAIL_HOST = "127.0.0.1"  # type: ignore[attr-defined]
    settings.EMAIL_PORT = box.port  # type: ignore[attr-defined]
    yield box
    box.shutdown()
    box.server_close()
    thread.join()


@pytest.fixture
def ada() -> User:
    make_shop()
    return make_user("counter", "ada")


@pytest.fixture
def reader() -> Customer:
    customer = make_customer("Zoë Brook")
    customer.email, customer.may_message = "zoe@example.org", True
    customer.save()
    return customer


@pytest.fixture
def ticket(ada: User, reader: Customer) -> Ticket:
    return rack(ticket_of(ada, 2, customer=reader), ada)


def states() -> list[str]:
    return list(Notice.objects.order_by("pk").values_list("state", flat=True))


def test_a_part_of_a_ticket_writes_no_message(ada: User, reader: Customer) -> None:
    ticket = ticket_of(ada, 2, customer=reader)
    rack(ticket, ada, only=[1])
    assert states() == []
    rack(ticket, ada, only=[2])
    assert states() == ["waiting"]


def test_the_letter_arrives_and_is_marked_sent(ticket: Ticket, mailbox: MailBox) -> None:
    call_command("send_notices")
    assert states() == ["sent"]
    [(to, raw)] = mailbox.letters
    letter = message_from_bytes(raw, policy=policy.default)
    assert to == ["zoe@example.org"]
    assert letter["Subject"] == f"Test Counter: ticket {ticket.number} is ready"
    body = letter.get_content()
    assert "Hello Zoë Brook" in body
    assert f"all pieces of ticket {ticket.number} are ready" in body


def test_a_letter_is_sent_once_however_often_the_command_runs(
    ticket: Ticket, mailbox: MailBox
) -> None:
    for _ in range(3):
        call_command("send_notices")
    assert len(mailbox.letters) == 1


def test_with_the_server_down_the_message_is_kept_and_tried_again(
    ticket: Ticket, mailbox: MailBox, settings: object
) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))  # bound and not listening: connections are refused
        settings.EMAIL_PORT = taken.getsockname()[1]  # type: ignore[attr-defined]
        with pytest.raises(CommandError, match="1 messages stay in the outbox"):
            call_command("send_notices")
    notice = Notice.objects.get()
    assert notice.state == Notice.State.FAILED
    assert "refused" in notice.fault
    assert mailbox.letters == []
    settings.EMAIL_PORT = mailbox.port  # type: ignore[attr-defined]
    call_command("send_notices")
    notice.refresh_from_db()
    assert (notice.state, notice.fault, len(mailbox.letters)) == ("sent", "", 1)


def test_one_refused_address_does_not_stop_the_others(
    ada: User, reader: Customer, mailbox: MailBox
) -> None:
    other = make_customer("Bo Field", "01632 960124")
    other.email, other.may_message = "nobody@example.org", True
    other.save()
    mailbox.refuses = "nobody@"
    rack(ticket_of(ada, customer=other), ada)
    rack(ticket_of(ada, customer=reader), ada)
    with pytest.raises(CommandError):
        call_command("send_notices")
    assert states() == ["failed", "sent"]


def test_a_message_is_not_sent_when_a_piece_went_back(
    ticket: Ticket, ada: User, mailbox: MailBox
) -> None:
    tracking.send_back(piece_at(ticket, 1).code, "wash", "spot seen", act(ada))  # type: ignore[arg-type]
    call_command("send_notices")
    assert mailbox.letters == []
    rack(ticket, ada, only=[1])
    call_command("send_notices")
    assert len(mailbox.letters) == 1
    assert states() == ["waiting", "sent"]


def test_a_message_is_not_sent_when_all_was_collected(
    ticket: Ticket, ada: User, mailbox: MailBox
) -> None:
    for piece in ticket.pieces.all():
        tracking.hand_over(piece.code, ticket.number, act(ada))
    call_command("send_notices")
    assert mailbox.letters == []


@pytest.mark.parametrize(
    ("email", "may_message"), [("", False), ("", True), ("zoe@example.org", False)]
)
def test_without_consent_or_address_the_customer_is_to_be_called(
    ada: User, reader: Customer, mailbox: MailBox, email: str, may_message: bool
) -> None:
    Customer.objects.update(email=email, may_message=may_message)
    reader.refresh_from_db()
    rack(ticket_of(ada, customer=reader), ada)
    notice = Notice.objects.get()
    assert (notice.state, notice.address) == ("to_call", "+441632960123")
    call_command("send_notices")
    assert mailbox.letters == []


def test_a_call_is_marked_once_or_twice(ada: User) -> None:
    rack(ticket_of(ada), ada)
    first, again = (notices.mark_called(Notice.objects.get()) for _ in range(2))
    assert (first.state, again.sent_at) == ("called", first.sent_at)


def test_a_sent_message_is_not_marked_as_called(ticket: Ticket, mailbox: MailBox) -> None:
    call_command("send_notices")
    with pytest.raises(Refused) as refused:
        notices.mark_called(Notice.objects.get())
    assert refused.value.code == "not_to_call"
    assert states() == ["sent"]


def test_a_limit_below_one_is_refused() -> None:
    with pytest.raises(CommandError, match="--limit 0: give a number above zero"):
        call_command("send_notices", "--limit", "0")


# The page


def test_the_outbox_shows_whom_to_call_and_marks_it(client: Client, ada: User) -> None:
    rack(ticket_of(ada), ada)
    client.force_login(ada)
    html = client.get("/messages/").content.decode()
    assert 'href="tel:+441632960123"' in html
    assert "01632 960123" in html
    notice = Notice.objects.get()
    for _ in range(2):
        answer = client.post(f"/messages/{notice.pk}/called/", follow=True)
        assert "Ada Brook was called." in answer.content.decode()
    assert "Nobody waits for a call." in answer.content.decode()


def test_the_outbox_says_why_a_sent_message_takes_no_call(
    client: Client, ticket: Ticket, ada: User, mailbox: MailBox
) -> None:
    call_command("send_notices")
    client.force_login(ada)
    answer = client.post(f"/messages/{Notice.objects.get().pk}/called/", follow=True)
    html = answer.content.decode()
    assert "was called." not in html
    assert "is not waiting for a call" in html


def test_the_outbox_shows_a_fault(client: Client, ticket: Ticket, ada: User) -> None:
    Notice.objects.update(state="failed", fault="[Errno 111] Connection refused")
    client.force_login(ada)
    assert "Connection refused" in client.get("/messages/").content.decode()


def test_a_message_that_is_no_longer_true_is_not_shown_as_due(
    client: Client, ticket: Ticket, ada: User
) -> None:
    Ticket.objects.update(ready_at=timezone.now() + timedelta(hours=1))
    client.force_login(ada)
    assert "zoe@example.org" not in client.get("/messages/").content.decode()


def test_only_the_counter_and_the_owner_open_the_outbox(client: Client, ticket: Ticket) -> None:
    notice = Notice.objects.get()
    assert client.get("/messages/").status_code == 302
    client.force_login(make_user("backroom", "bo"))
    assert client.get("/messages/").status_code == 403
    assert client.post(f"/messages/{notice.pk}/called/").status_code == 403
    client.force_login(make_user("owner", "oz"))
    assert client.get("/messages/").status_code == 200
    assert client.post("/messages/").status_code == 405
    assert client.get(f"/messages/{notice.pk}/called/").status_code == 405
    assert client.post("/messages/999999/called/").status_code == 404
    assert not Pickup.objects.exists()
