"""What brings a late ticket back, in words."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from tickets.promise import wording

NOON = datetime(2026, 1, 13, 12, 0, tzinfo=UTC)
"""A Tuesday in winter time, when London shows UTC."""


@pytest.mark.parametrize(
    ("late", "said"),
    [
        ((), ""),
        ((1000001,), "late for it: 1000001"),
        ((1000001, 1000002, 1000003), "late for it: 1000001, 1000002, 1000003"),
        (range(1000001, 1000005), "late for it: 1000001, 1000002, 1000003 and 1 more"),
        (range(1000001, 1000007), "late for it: 1000001, 1000002, 1000003 and 3 more"),
    ],
)
def test_three_of_the_tickets_that_are_late_for_it_are_named(late: range, said: str) -> None:
    assert wording.late_for_it(late) == said


def test_a_way_out_is_said_in_few_words_and_names_another_day() -> None:
    closes, friday = NOON.replace(hour=19), NOON.replace(day=16)
    assert wording.answer() == "Answer the question"
    assert wording.carry() == "Carry by hand"
    assert wording.carry_and_longer(closes) == "Carry, open until 19:00"
    assert wording.one_more("bench", NOON, NOON) == "One more at Bench"
    assert wording.one_more("bench", friday, NOON) == "One more at Bench on Friday"
    assert wording.longer_evening(NOON, closes, NOON) == "Open until 19:00"
    assert wording.longer_evening(friday, closes, NOON) == "Open until 19:00 on Friday"
