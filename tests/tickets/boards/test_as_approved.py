"""What stands on every board of the busy shop, in its order, as a person last looked at it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest
from django.contrib.auth.models import User

from tests.approved import assert_approved
from tests.building import work_of
from tests.tickets.busy_shop import busy_shop
from tickets.boards.queries import (
    in_order_of,
    rows_of,
    station_counts,
    tally_of,
    waiting_at,
    with_card,
)
from tickets.boards.work_tags import WorkTag, work_tags
from tickets.choices import BOARD_STATIONS, Station
from tickets.garments.queries import counted_washes
from tickets.promise.urgency import urgency_at
from tickets.shop.queries import read_calendar

APPROVED = Path(__file__).with_name("approved")


@pytest.fixture
def morning(crew: User) -> datetime:
    return read_calendar().next_open(datetime.fromisoformat("2026-06-17T08:00:00+01:00"))


def tag_lines(tag: WorkTag) -> Iterator[str]:
    yield (
        f"{tag.piece.spoken} {tag.kind} of {tag.customer}, {tag.piece.state}, {tag.urgency}, "
        f"{tag.promise}, asks {tag.question}, held {tag.hold.reason if tag.hold else '-'}, "
        f"in a load {tag.in_load is not None}"
    )
    for task in tag.tasks:
        yield f"  {task.step.order} {task.step.says} {[*map(str, task.settings)]}"
    yield f"  never {[*map(str, tag.never)]}, load {tag.load}"
    yield f"  stains {tag.stains}, washes {tag.washes}"
    cautions = [f"{caution.level} {caution.says}" for caution in tag.cautions]
    yield f"  cautions {cautions} and {tag.more_cautions} more, why {tag.why}"
    beside = [other.spoken for other in tag.beside]
    elsewhere = [other.spoken for other in tag.elsewhere]
    yield f"  beside {beside}, elsewhere {elsewhere}, completes {tag.completes}, at {tag.places}"


def test_the_boards_are_as_approved(crew: User, morning: datetime) -> None:
    busy_shop(crew, morning)
    lines, work = [], work_of(morning)
    for count in station_counts(morning, work):
        first = count.first.spoken if count.first else "-"
        lines.append(
            f"{count.station}: {count.waiting} waiting, {count.matched} matched, {count.held} "
            f"held, {count.late} late, first {first}"
        )
    for station in map(Station, BOARD_STATIONS):
        lines.append(f"{station.label}: {tally_of(station, morning)}")
        line = waiting_at(station, work)
        pieces = in_order_of(line, with_card(rows_of(line), station))
        for tag in work_tags(
            pieces,
            morning,
            urgency_at(morning),
            washes=counted_washes(pieces),
            fahrenheit=False,
        ):
            lines += tag_lines(tag)
    assert_approved(lines, APPROVED / "boards.txt")
