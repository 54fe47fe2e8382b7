"""A yes at a load answers the question that is open, and no other."""

from __future__ import annotations

from uuid import uuid4

from django.contrib.auth.models import User
from django.test import Client

from tests.building import known, make_load, make_ticket, trousers
from tests.counter.rows import act
from tests.tickets.floor import at_wash, white
from tickets.loads.load_scans import scan_load
from tickets.loads.queries import inside
from tickets.scanning.results import ASK, BAD


def test_the_tag_of_another_piece_closes_the_question_even_when_it_is_refused(crew: User) -> None:
    [piece] = at_wash(crew, white())
    elsewhere = make_ticket(crew, [trousers()]).pieces.get()
    load = make_load(crew, [piece])
    asked = scan_load(load.pk, piece.code, act(crew))
    assert asked.tone == ASK
    again = scan_load(load.pk, "YEES", act(crew), asked.pending)
    assert (again.tone, again.pending) == (BAD, asked.pending)  # no tag: the question stays
    refused = scan_load(load.pk, elsewhere.code, act(crew), asked.pending)
    assert (refused.tone, refused.pending) == (BAD, None)
    late = scan_load(load.pk, "YES", act(crew), refused.pending)
    assert (late.tone, late.code) == (BAD, "no_question")
    assert inside(load) == [piece]


def test_a_tap_under_an_earlier_question_does_nothing_and_says_so(crew: User, back: Client) -> None:
    """Two windows of one tablet: the question of the first was replaced in the second."""
    first, second = at_wash(crew, white(), white())
    load = make_load(crew, [first, second])

    def send(line: str, about: str = "") -> str:
        sent = {"line": line, "about": about, "key": str(uuid4())}
        return back.post(f"/load/{load.pk}/scan/", sent, follow=True).content.decode()

    send(first.code)
    old = known(back.get(f"/load/{load.pk}/").context["box"].pending).about
    send(second.code)
    new = known(back.get(f"/load/{load.pk}/").context["box"].pending).about
    assert "That question is no longer open here. Nothing was done." in send("YES", old)
    assert inside(load) == [first, second]
    send("YES", new)
    assert inside(load) == [first]
