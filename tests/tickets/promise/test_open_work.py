"""Open work is read once and kept until a move: what is kept is as if it were read anew."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.counter.rows import piece_at, ticket_of
from tests.tickets.busy_shop import act, busy_shop
from tickets.choices import Station
from tickets.errors import Refused
from tickets.loads import services as loadbook
from tickets.models import Load, OpeningHours, StationCrew, Ticket
from tickets.models.machines import LoadState
from tickets.promise.changes import Newest, Rows, keys_since
from tickets.promise.expected import Outlook
from tickets.promise.open_work import (
    _whole,
    current_mark,
    forget_open_work,
    last_read,
    open_work,
)
from tickets.promise.queries import newest_changes
from tickets.shop.queries import read_calendar
from tickets.tracking import services as tracking

# Which pieces to read again


@pytest.mark.parametrize(
    ("earlier", "newest", "keys"),
    [
        (((2, 20), (1, 10)), ((2, 20), (1, 10)), set()),
        (((1, 10),), ((3, 30), (2, 20), (1, 10)), {20, 30}),
        # A number taken early and written late: several write at once.
        (((3, 30), (1, 10)), ((3, 30), (2, 20), (1, 10)), {20}),
        # What was there is gone, or is another piece's: its transaction was given up.
        (((2, 20), (1, 10)), ((1, 10),), None),
        (((2, 20), (1, 10)), ((2, 21), (1, 10)), None),
        ((), ((1, 10),), None),
        (((1, 10),), (), None),
        # What has left the window by age is not missed; what may have passed it unseen is.
        (((5, 50), (1, 10)), ((104, 99), (5, 50)), {99}),
        (((5, 50), (1, 10)), ((105, 99), (6, 60)), None),
    ],
)
def test_keys_are_those_of_the_rows_written_since(
    earlier: Rows, newest: Rows, keys: set[int] | None
) -> None:
    assert keys_since(newest, earlier) == keys


def test_the_mark_is_another_one_after_any_change() -> None:
    marks = {
        Newest(moves, events, settings).mark
        for moves in ((), ((1, 10),))
        for events in ((), ((1, 10),))
        for settings in ((), (("crews", 1),), (("crews", 2),))
    }
    assert len(marks) == 12


# What is kept


@pytest.fixture
def morning(crew: User) -> datetime:
    """Eight o'clock of a Wednesday, in the shop's time."""
    return read_calendar().next_open(datetime.fromisoformat("2026-06-17T08:00:00+01:00"))


Deed = Callable[[datetime], object]


def deeds(crew: User, tickets: dict[str, Ticket]) -> Iterator[tuple[str, Deed]]:
    """One of everything that changes open work."""

    def piece(word: str, position: int = 1) -> str:
        return piece_at(tickets[word], position).code

    def running() -> int:
        return Load.objects.get(state=LoadState.RUNNING).pk

    yield "work done", lambda at: tracking.finish_work(piece("check"), Station.CHECK, act(crew, at))
    yield "hung up", lambda at: tracking.finish_work(piece("hung"), Station.DRY, act(crew, at))
    yield (
        "held",
        lambda at: tracking.hold(piece("plain"), "zip?", crew, at.date(), act(crew, at)),
    )
    yield "released", lambda at: tracking.release(piece("plain"), "mend it", act(crew, at))
    yield (
        "given back",
        lambda at: tracking.return_undone(piece("long"), "too weak", act(crew, at)),
    )
    yield "run over", lambda at: loadbook.finish(running(), act(crew, at))
    yield "a new ticket", lambda at: ticket_of(crew, 2, opened=at, promised=at + timedelta(days=1))
    yield (
        "load begun",
        lambda at: loadbook.close(Load.objects.get(state=LoadState.FILLING).pk, act(crew, at)),
    )
    yield (
        "load runs",
        lambda at: loadbook.start(Load.objects.get(state=LoadState.CLOSED).pk, act(crew, at)),
    )
    yield "matched", lambda at: tracking.assemble(piece("check"), act(crew, at))
    yield "nothing but time", lambda at: None
    yield (
        "another crew",
        lambda at: StationCrew.objects.filter(station="bench").update(people=Decimal(4)),
    )


def test_after_each_deed_what_is_kept_is_as_if_all_were_read_anew(
    crew: User, morning: datetime
) -> None:
    """The first reading is the only whole one: from then on only what was touched is read."""
    tickets = busy_shop(crew, morning)
    now = morning
    open_work(now)
    for number, (word, deed) in enumerate(deeds(crew, tickets)):
        now += timedelta(minutes=7)
        before = last_read()
        deed(now)
        kept = open_work(now)
        fresh = _whole(now, newest_changes())
        assert kept.pieces == fresh.pieces, word
        assert kept.capacity == fresh.capacity, word
        assert kept.outlook.tickets == fresh.outlook.tickets, word
        assert kept.outlook.pieces == fresh.outlook.pieces, word
        assert kept.mark != (before.mark if before else ""), (number, word)


def queries_of(action: Callable[[], object]) -> int:
    with CaptureQueriesContext(connection) as made:
        action()
    return len(made)


def test_unchanged_work_costs_one_query_and_is_the_same_to_everybody(
    crew: User, morning: datetime
) -> None:
    busy_shop(crew, morning)
    work = open_work(morning)
    later = morning + timedelta(minutes=5, seconds=-1)
    assert queries_of(lambda: open_work(later)) == 1
    assert queries_of(lambda: current_mark(later)) == 1
    assert open_work(later) is work
    assert current_mark(later) == work.mark
    assert current_mark(morning + timedelta(minutes=5)) != work.mark
    assert open_work(morning + timedelta(minutes=5)) is not work


def test_a_move_has_its_ticket_read_again_and_no_other(crew: User, morning: datetime) -> None:
    """As many queries in a small shop as in a large one, and the others keep their turns."""

    def after_a_move(ticket: Ticket, position: int) -> int:
        open_work(morning)
        tracking.finish_work(piece_at(ticket, position).code, Station.CHECK, act(crew, morning))
        return queries_of(lambda: open_work(morning))

    first = ticket_of(crew, 3, stations=("check", "press"))
    alone = after_a_move(first, 1)
    for _ in range(20):
        ticket_of(crew, 3, stations=("check", "press"))
    before = {piece.code: piece for piece in open_work(morning).pieces}
    assert after_a_move(first, 2) == alone
    after = {piece.code: piece for piece in open_work(morning).pieces}
    again = {code for code, piece in after.items() if piece is not before[code]}
    assert again == {piece.code for piece in first.pieces.all()}


def test_a_setting_that_changes_has_the_calendar_read_again(crew: User, morning: datetime) -> None:
    first = open_work(morning)
    StationCrew.objects.filter(station="bench").update(people=Decimal(7))
    assert (first.capacity.people["bench"], open_work(morning).capacity.people["bench"]) == (1, 7)


def test_who_asks_of_an_earlier_day_gets_what_was_read_for_it(
    crew: User, morning: datetime
) -> None:
    ticket_of(crew)
    open_work(morning + timedelta(days=3))
    assert [piece.goes_on for piece in open_work(morning).pieces] == [morning]


def test_a_ticket_is_reckoned_when_somebody_asks_for_it(
    crew: User, morning: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A board that shows one card forecasts one ticket, however many wait."""
    tickets = [ticket_of(crew) for _ in range(12)]
    reckoned: list[int] = []
    reckon = Outlook._reckon

    def counted(outlook: Outlook, case: object) -> object:
        reckoned.append(case.ticket.number)  # type: ignore[attr-defined]
        return reckon(outlook, case)  # type: ignore[arg-type]

    monkeypatch.setattr(Outlook, "_reckon", counted)
    outlook = open_work(morning).outlook
    assert reckoned == []
    piece = tickets[4].pieces.get()
    assert outlook.piece_ready(piece.pk) == outlook.piece_ready(piece.pk)
    assert reckoned == [tickets[4].number]
    forget_open_work()
    assert last_read() is None
    assert outlook.piece_ready(piece.pk + 1000) is None


def test_a_shop_that_opens_no_more_has_no_outlook_and_keeps_its_pieces(
    crew: User, morning: datetime
) -> None:
    ticket_of(crew)
    OpeningHours.objects.all().delete()
    work = open_work(morning)
    assert len(work.pieces) == 1
    with pytest.raises(Refused):
        _outlook = work.outlook
