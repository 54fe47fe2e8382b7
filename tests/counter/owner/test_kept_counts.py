"""Counts of days are kept only while nothing is written for them."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test.utils import CaptureQueriesContext

from counter.owner import queries
from counter.owner.kept_counts import KeptCounts
from tests.bulk import copies
from tests.counter.rows import DAY, act, at, before, piece_at, rack, ticket_of
from tickets.choices import Station
from tickets.tracking import services as tracking

MONDAY, TUESDAY = date(2026, 6, 15), date(2026, 6, 16)


def test_a_day_for_which_a_row_was_written_is_not_kept() -> None:
    kept = KeptCounts()
    kept.keep({MONDAY: (3, 0, 4), TUESDAY: (1, 1, 2)}, newest=500)
    assert kept.since == 400
    assert kept.of([MONDAY, TUESDAY], 501, {TUESDAY}) == {MONDAY: (3, 0, 4)}
    assert kept.of([TUESDAY], 501, ()) == {}


def test_nothing_is_kept_of_rows_that_are_gone() -> None:
    kept = KeptCounts()
    kept.keep({MONDAY: (3, 0, 4)}, newest=500)
    assert kept.of([MONDAY], 499, ()) == {}
    kept.keep({MONDAY: (3, 0, 4)}, newest=500)
    assert kept.of([MONDAY], 500, None) == {}


def test_a_count_made_before_another_is_asked_for_again() -> None:
    kept = KeptCounts()
    kept.keep({MONDAY: (3, 0, 4)}, newest=900)
    kept.keep({MONDAY: (2, 0, 4)}, newest=500)
    assert kept.since == 400


def test_the_days_counted_first_go_from_a_thousand_on() -> None:
    kept = KeptCounts()
    days = [MONDAY + timedelta(days=number) for number in range(1001)]
    kept.keep(dict.fromkeys(days, (1, 0, 1)), newest=500)
    assert [*kept.of(days, 500, ())] == days[1:]


MORE_THAN_ARE_LOOKED_AT = 101


@pytest.fixture
def busy(oz: User) -> list[str]:
    """Codes of two pieces racked yesterday, before more moves than are looked at again."""
    ticket = ticket_of(oz, 2, opened=at(9, before(1)), promised=at(17, before(1)))
    rack(ticket, oz, at=at(12, before(1)))
    copies(piece_at(ticket_of(oz, opened=at(8), promised=at(17)), 1), MORE_THAN_ARE_LOOKED_AT)
    return [piece_at(ticket, position).code for position in (1, 2)]


@pytest.mark.django_db
def test_a_look_counts_only_what_was_written_since(oz: User, busy: list[str]) -> None:
    def look() -> tuple[list[tuple[date, int, int, int]], bool]:
        """The counts, and whether yesterday was counted for them."""
        with CaptureQueriesContext(connection) as asked:
            counts = queries.pieces_by_day(before(89), DAY)
        return counts, str(before(1)) in str(asked.captured_queries)

    yesterday = (before(1), 2, 0, 2)
    assert look() == ([yesterday], True)
    assert look() == ([yesterday], False)

    tracking.send_back(busy[0], Station.WASH, "not clean", act(oz, at(9)))
    assert look()[0] == [yesterday, (DAY, 0, 1, 1)]
    # A clock that was set back writes for a day that is over.
    tracking.send_back(busy[1], Station.WASH, "not clean", act(oz, at(18, before(1))))
    assert look()[0] == [(before(1), 2, 1, 2), (DAY, 0, 1, 1)]
    kept = look()[0]
    queries.forget_counts()
    assert look()[0] == kept
