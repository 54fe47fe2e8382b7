"""An intake is judged once: decisions, quote and promise are counted, and made before the lock."""

from __future__ import annotations

import re
import threading
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

import care_rules
from counter.intake import judge as judging
from counter.intake import services
from counter.intake.drafts import Draft, DraftPiece
from counter.intake.queries import read_draft
from counter.intake.services import open_from_draft, open_ticket, opening, start_draft
from counter.models import IntakeDraft, PriceItem, TicketLine
from counter.money import prices
from tests.building import jumper, make_customer, make_shop, make_user, shirt
from tests.counter.intake.intaking import (
    HTMX,
    LOOKED_OVER,
    SHIRT,
    STAINED,
    beaded_dress,
    draft_of,
    fill,
    url,
)
from tickets.acting import Act
from tickets.errors import Refused
from tickets.models import LearnedMargin, OpeningHours, Piece, Ticket
from tickets.promise.open_work import forget_open_work
from tickets.writing import atomic_write

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock", "media")]


class Counted:
    """How often each of the three was asked for, and how often inside the write lock."""

    def __init__(self) -> None:
        self.decide = self.quote = self.promise = self.inside = 0
        self.locked = False

    def watch(self, patch: pytest.MonkeyPatch) -> None:
        for module, name, counter in (
            (care_rules, "decide", "decide"),
            (prices, "quote", "quote"),
            (judging, "earliest_ready", "promise"),
        ):
            patch.setattr(module, name, self._counting(getattr(module, name), counter))
        write = atomic_write

        @contextmanager
        def locked() -> Iterator[None]:
            with write():
                self.locked = True
                yield
            self.locked = False

        patch.setattr(opening, "atomic_write", locked)

    def _counting(self, real: Callable[..., Any], counter: str) -> Callable[..., Any]:
        def call(*args: Any, **options: Any) -> Any:
            setattr(self, counter, getattr(self, counter) + 1)
            self.inside += self.locked
            return real(*args, **options)

        return call

    @property
    def all(self) -> tuple[int, int, int, int]:
        return self.decide, self.quote, self.promise, self.inside


@pytest.fixture
def counted(monkeypatch: pytest.MonkeyPatch) -> Counted:
    """Starts to count when the test asks ``watch``."""
    return Counted()


def three_pieces(draft: IntakeDraft) -> None:
    fill(draft, facts=jumper(), inspection=LOOKED_OVER)
    for number, facts in enumerate((shirt(), beaded_dress()), 1):
        services.add_piece(draft.pk, number)
        draft.refresh_from_db()
        seen = STAINED if facts.get("stains") else LOOKED_OVER
        services.save_piece(draft.pk, draft.pieces[-1]["id"], {"facts": facts, "inspection": seen})


def test_a_tap_that_opens_three_pieces_decides_each_once(
    counter: Client, draft: IntakeDraft, counted: Counted, monkeypatch: pytest.MonkeyPatch
) -> None:
    three_pieces(draft)
    page = counter.get(url(draft)).content.decode()
    names = dict.fromkeys(re.findall(r'name="(accept-[^"]+)"', page), "Ada Brook")
    assert names  # the dress opens only with a name
    counted.watch(monkeypatch)
    with CaptureQueriesContext(connection) as made:
        opened = counter.post(url(draft, "open/"), names)
    assert (opened.status_code, Piece.objects.count()) == (302, 3)
    assert counted.all == (3, 1, 1, 0)
    assert len(made) <= 40
    assert {row.accepted_by for row in Piece.objects.get(position=3).acceptances.all()} == {
        "Ada Brook"
    }


@pytest.mark.parametrize("learned", [False, True])
def test_the_api_opens_three_pieces_with_as_little(
    counter: Client, counted: Counted, monkeypatch: pytest.MonkeyPatch, learned: bool
) -> None:
    """In a shop that has learned from its history too, and where nothing was read before."""
    if learned:
        LearnedMargin.objects.create(
            pk=1, learned_at=timezone.now(), lines={"at once": [30.0, 0.2, 300.0]}, tickets=400
        )
    holds = [
        caution["key"]
        for caution in care_rules.decide_json(beaded_dress())["cautions"]
        if caution["level"] == "hold"
    ]
    sent = {
        "new_customer": {"name": "Iris Marlow", "phone": "01632 960777"},
        "client_key": str(uuid.uuid4()),
        "pieces": [
            {"facts": jumper(), "inspection": LOOKED_OVER},
            {"facts": shirt(), "inspection": STAINED},
            {
                "facts": beaded_dress(),
                "inspection": LOOKED_OVER,
                "accepted": [{"key": key, "by_name": "Iris Marlow"} for key in holds],
            },
        ],
    }
    counted.watch(monkeypatch)
    with CaptureQueriesContext(connection) as made:
        opened = counter.post("/api/v1/tickets/", sent, content_type="application/json")
    assert (opened.status_code, Piece.objects.count()) == (201, 3)
    assert counted.all == (3, 1, 1, 0)
    assert len(made) <= 40


def test_more_pieces_cost_no_more_queries(counter: Client, user: User) -> None:
    def queries(count: int) -> int:
        draft = Draft((DraftPiece(jumper(), LOOKED_OVER),) * count)
        forget_open_work()
        with CaptureQueriesContext(connection) as made:
            open_ticket(make_customer(), draft, None, Act(by=user))
        return len(made)

    assert queries(1) == queries(12)


def test_under_the_write_lock_only_the_version_and_the_last_number_are_read(
    user: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    """All else was made before it: whoever waits for the lock waits for the rows alone."""
    write, made = atomic_write, CaptureQueriesContext(connection)

    @contextmanager
    def watched() -> Iterator[None]:
        with write(), made:
            yield

    monkeypatch.setattr(opening, "atomic_write", watched)
    dress = _accepted(DraftPiece(beaded_dress(), LOOKED_OVER))
    draft = Draft((DraftPiece(jumper(), LOOKED_OVER), dress), rush=True)
    open_ticket(make_customer(), draft, None, Act(by=user))
    words = [query["sql"].split()[0] for query in made.captured_queries]
    read = [query["sql"] for query in made.captured_queries if query["sql"].startswith("SELECT")]
    assert ["tickets_revision" in read[0], "MAX(" in read[1], len(read)] == [True, True, 2]
    assert words.count("INSERT") == 6  # ticket, pieces, steps, acceptances, moves, lines
    assert "UPDATE" not in words


def _accepted(piece: DraftPiece) -> DraftPiece:
    holds = judging.judge_piece(piece, 1).holds
    names = {hold.caution.key: "Ada Brook" for hold in holds}
    return replace(piece, heard=None, accepted=names)


def test_a_tap_in_the_editor_decides_each_piece_once_for_the_promise_in_its_bar(
    counter: Client, draft: IntakeDraft, counted: Counted, monkeypatch: pytest.MonkeyPatch
) -> None:
    three_pieces(draft)
    counted.watch(monkeypatch)
    sent = {**SHIRT, "piece": draft.pieces[0]["id"]}
    tap = counter.post(url(draft, "pieces/1/"), sent, headers={**HTMX, "HX-Target": "parts"})
    assert tap.status_code == 200
    assert counted.all == (3, 1, 1, 0)


def test_a_look_at_the_intake_page_decides_each_piece_once(
    counter: Client, draft: IntakeDraft, counted: Counted, monkeypatch: pytest.MonkeyPatch
) -> None:
    three_pieces(draft)
    counted.watch(monkeypatch)
    assert counter.get(url(draft)).status_code == 200
    assert counted.all == (3, 1, 1, 0)
    assert counter.post(url(draft), {"note": "ring"}, headers=HTMX).status_code == 200
    assert counted.all == (6, 2, 2, 0)


# What changes between the judgement and the write lock


@pytest.fixture
def meanwhile(monkeypatch: pytest.MonkeyPatch) -> Callable[[Callable[[], object]], None]:
    """Let something happen once, after the judgement and before the write lock."""

    def between(happens: Callable[[], object]) -> None:
        real, left = opening.terms_of, [happens]

        def terms_of(*args: Any) -> Any:
            terms = real(*args)
            if left:
                left.pop()()
            return terms

        monkeypatch.setattr(opening, "terms_of", terms_of)

    return between


Meanwhile = Callable[[Callable[[], object]], None]


def dearer() -> None:
    PriceItem.objects.filter(service="clean").update(amount=Decimal("7.50"))


def test_a_price_that_changed_after_the_judgement_is_told_before_the_ticket_opens(
    counter: Client, draft: IntakeDraft, meanwhile: Meanwhile
) -> None:
    fill(draft, facts=jumper(), inspection=LOOKED_OVER)
    meanwhile(dearer)
    page = counter.post(url(draft, "open/"), {"note": "ring first"})
    assert (page.status_code, Ticket.objects.count()) == (422, 0)
    assert "It has 1 piece for £7.50 now: read it to the customer" in page.content.decode()
    assert IntakeDraft.objects.get().note == "ring first"
    assert counter.post(url(draft, "open/")).status_code == 302
    assert TicketLine.objects.get().amount == Decimal("7.50")


def test_a_ticket_told_at_another_price_is_refused_as_changed(user: User) -> None:
    draft, act = draft_of(user, {"facts": jumper(), "inspection": LOOKED_OVER}), Act(by=user)
    judged = judging.judge(read_draft(draft), act.at)
    dearer()
    with pytest.raises(Refused) as refusal:
        open_from_draft(draft, None, act, judgement=judged)
    assert (refusal.value.code, Ticket.objects.count()) == ("changed", 0)


def test_a_program_that_was_told_no_price_opens_at_the_one_in_force(
    user: User, meanwhile: Meanwhile
) -> None:
    meanwhile(dearer)
    draft = Draft((DraftPiece(jumper(), LOOKED_OVER),))
    ticket = open_ticket(make_customer(), draft, None, Act(by=user))
    assert ticket.lines.get().amount == Decimal("7.50")


def test_opening_hours_that_changed_meanwhile_move_the_promise_and_refuse_nobody(
    counter: Client, draft: IntakeDraft, meanwhile: Meanwhile
) -> None:
    fill(draft, facts=jumper(), inspection=LOOKED_OVER)
    shown = judging.judge(read_draft(draft), Act(by=User.objects.get()).at).promise
    assert shown is not None
    today = shown.ready_at.weekday()
    meanwhile(lambda: OpeningHours.objects.filter(weekday=today).delete())
    assert counter.post(url(draft, "open/")).status_code == 302
    assert Ticket.objects.get().promised_at.weekday() != today


def test_work_that_moved_meanwhile_refuses_nobody_and_keeps_the_promise_as_told(
    user: User, meanwhile: Meanwhile
) -> None:
    draft = draft_of(user, {"facts": jumper(), "inspection": LOOKED_OVER})
    act = Act(by=user)
    judged = judging.judge(read_draft(draft), act.at)
    other = Draft((DraftPiece(jumper(), LOOKED_OVER),) * 5)
    customer = make_customer("Bo Reed", "01632 960778")
    meanwhile(lambda: open_ticket(customer, other, None, Act(by=user, at=act.at)))
    ticket = open_from_draft(draft, None, act, judgement=judged)
    assert Ticket.objects.count() == 2
    assert judged.promise is not None
    assert ticket.promised_at == judged.promise.ready_at


def test_a_piece_added_in_another_window_meanwhile_is_told_first(
    counter: Client, draft: IntakeDraft, meanwhile: Meanwhile
) -> None:
    fill(draft, facts=jumper(), inspection=LOOKED_OVER)

    def add() -> None:
        services.add_piece(draft.pk, 1)
        draft.refresh_from_db()
        changes = {"facts": jumper(), "inspection": LOOKED_OVER}
        services.save_piece(draft.pk, draft.pieces[1]["id"], changes)  # type: ignore[arg-type]

    meanwhile(add)
    page = counter.post(url(draft, "open/"))
    assert (page.status_code, Ticket.objects.count()) == (422, 0)
    assert "It has 2 pieces for £12.00 now" in page.content.decode()


def test_settings_that_never_stand_still_are_told_as_such(
    user: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    real, amount = opening.terms_of, [Decimal(7)]

    def terms_of(*args: Any) -> Any:
        amount[0] += 1
        PriceItem.objects.filter(service="clean").update(amount=amount[0])
        return real(*args)

    monkeypatch.setattr(opening, "terms_of", terms_of)
    draft = Draft((DraftPiece(jumper(), LOOKED_OVER),))
    with pytest.raises(Refused) as refusal:
        open_ticket(make_customer(), draft, None, Act(by=user))
    assert (refusal.value.code, Ticket.objects.count()) == ("busy", 0)


@pytest.mark.django_db(transaction=True)
def test_two_tills_that_open_at_once_both_succeed() -> None:
    make_shop()
    user = make_user("counter")
    drafts = []
    for name, phone in (("Ada Brook", "01632 960777"), ("Bo Reed", "01632 960778")):
        draft = start_draft(make_customer(name, phone), user)
        services.add_piece(draft.pk, 0)
        fill(draft, facts=jumper(), inspection=LOOKED_OVER)
        draft.refresh_from_db()
        drafts.append(draft)
    start, opened = threading.Barrier(2), []

    def open_it(draft: IntakeDraft) -> None:
        act = Act(by=user)
        judgement = judging.judge(read_draft(draft), act.at)
        start.wait()  # both have judged before either writes
        try:
            opened.append(open_from_draft(draft, None, act, judgement=judgement).number)
        finally:
            connection.close()

    threads = [threading.Thread(target=open_it, args=(draft,)) for draft in drafts]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(opened) == sorted(Ticket.objects.values_list("number", flat=True))
    assert (len(opened), TicketLine.objects.count()) == (2, 2)
