"""One full day, as it was played, drawn and printed when a person last looked at it.

Pure facts, no database, but for the last. ``played_days.faults`` says for any day that it is
possible; the listings here hold what no law fixes: who takes what first, and where each bar and
word stands.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import groupby
from pathlib import Path

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone
from time_machine import Traveller

from tests.approved import assert_approved
from tests.building import work_of
from tests.page_lines import page_lines
from tests.tickets.busy_shop import busy_shop, held_busy_shop
from tests.tickets.plan.played_days import (
    DRYER,
    HOUR,
    SECOND,
    WASHER,
    faults,
    hand,
    in_machine,
    job,
)
from tests.tickets.printing.drawn import drawn
from tickets.choices import Station
from tickets.plan.paper import build_plan
from tickets.plan.play import play
from tickets.plan.sheet import PlanSheet, plan_sheet
from tickets.plan.shop_day import DayPlan, PieceName, _Floor
from tickets.plan.values import MINUTE, Day, Job, Part, StandingLoad
from tickets.shop.queries import read_calendar

APPROVED = Path(__file__).with_name("approved")
BEGINS = datetime(2026, 3, 10, 10, 20, tzinfo=UTC)
"""A Tuesday in winter time, when London shows UTC; open from 8 to 18, a break from 13 to 14."""

DAY = Day(
    ((0, 160 * MINUTE), (220 * MINUTE, 460 * MINUTE)),
    {Station.BENCH: 2, Station.PRESS: 1.5, Station.WASH: 1, Station.CHECK: 0.5, Station.INTAKE: 0},
    {Station.WASH: (WASHER, SECOND), Station.DRY: (DRYER,)},
    lambda service, at: at + 4 * HOUR if service == "dry_clean" and at < HOUR else None,
    places={"rail": 2},
    drying={"rail": (30 * MINUTE, 90 * MINUTE)},
)
LOADS = [
    StandingLoad(3, Station.WASH, "Washer 2", "normal", 60 * MINUTE, ("20-01",), -600, 20 * MINUTE),
    StandingLoad(4, Station.DRY, "Dryer 1", "dry", 50 * MINUTE, ("20-02",), -7200, over=True),
    StandingLoad(5, Station.WASH, "Washer 9", "cool", 40 * MINUTE, ("20-03",)),
]
KINDS = ("shirt_cotton", "sweater_wool", "other", "hivis_jacket")


def washed(code: str, group: str, out_by: float, **more: object) -> tuple[Part, ...]:
    """Marked, washed, dried and pressed."""
    return (
        hand(Station.BENCH, 1, 6),
        in_machine(code, Station.WASH, 2, out_by, colour_group=group, **more),
        in_machine(code, Station.DRY, 3, out_by + 60, colour_group=group),
        hand(Station.PRESS, 4, 9),
        hand(Station.CHECK, 5, 3),
    )


def jobs() -> list[Job]:
    """Thirty pieces of fifteen tickets: in drums, on rails, away, held, never and too late."""
    inside = [
        job("20-01", in_machine("20-01", Station.WASH, 1), hand(Station.PRESS, 2, 12), inside=3),
        job("20-02", in_machine("20-02", Station.DRY, 1), hand(Station.PRESS, 2, 5), inside=4),
        job("20-03", in_machine("20-03", Station.WASH, 1), hand(Station.CHECK, 2, 5), inside=5),
    ]
    washes = [
        job(f"{ticket}-{number:02d}", *washed(f"{ticket}-{number:02d}", group, out_by), due=due)
        for ticket, group, out_by, due in (
            (21, "white", 300, 440),
            (22, "dark", 200, 300),
            (23, "white", 900, 1200),
        )
        for number in (1, 2, 3)
    ]
    by_hand = [
        job("24-01", hand(Station.BENCH, 1, 95), hand(Station.PRESS, 2, 20), due=170, rush=True),
        job("24-02", hand(Station.BENCH, 1, 25), hand(Station.PRESS, 2, 4), due=170, rush=True),
        job("25-01", hand(Station.BENCH, 1, 150), due=100),
        *(job(f"26-{n:02d}", hand(Station.PRESS, 1, 4 + n), due=400 + n) for n in (1, 2, 3, 4)),
        job("27-01", hand(Station.PRESS, 1, 30), due=90),
    ]
    hung = [
        job(code, replace(hand(Station.DRY, 1, 4, 120), place="rail"), hand(Station.CHECK, 2, 6))
        for code in ("28-01", "28-02", "29-01", "29-02")
    ]
    sent = replace(hand(Station.SEND_OUT, 1, 5), partner="dry_clean")
    elsewhere = [
        job("30-01", sent, hand(Station.PRESS, 2, 8), due=700),
        job("30-02", replace(sent, partner="leather", waits=9 * HOUR), due=3000),
        job("31-01", hand(Station.PRESS, 1, 8), start=2 * HOUR, away=Station.DRY),
        job("32-01", hand(Station.PRESS, 1, 8), start=9 * HOUR, away=Station.SEND_OUT),
        job("33-01", hand(Station.BENCH, 1, 8), held="Which button?"),
        job("33-02", hand(Station.BENCH, 1, 8)),
        job("34-01", Part(Station.WASH, (1,), ("wash",), 60, never="No machine may."), due=50),
        job("35-01", hand(Station.INTAKE, 1, 3), hand(Station.BENCH, 2, 5)),
        job("36-01", hand(Station.BENCH, 1, 600)),
    ]
    return [*inside, *washes, *by_hand, *hung, *elsewhere]


def full_day(now: datetime = BEGINS - timedelta(minutes=2)) -> DayPlan:
    waiting = jobs()
    played = play(DAY, waiting, LOADS)
    names = {
        garment.code: PieceName(
            garment.code,
            f"10000{garment.code}",
            1_000_000 + garment.ticket,
            KINDS[garment.ticket % 4],
            "Blue, torn at the left cuff" if garment.ticket % 3 == 0 else "",
            BEGINS + timedelta(seconds=garment.due),
            garment.rush,
        )
        for garment in waiting
    }
    spans = tuple((_at(start), _at(end)) for start, end in DAY.spans)
    programmes = {("Washer 2", "normal"): "Normal, 60 °C", ("Dryer 1", "dry"): "Warm"}
    programmes |= {(m.key, p.key): f"Own {p.key}" for m in (WASHER, DRYER) for p in m.programmes}
    opens = BEGINS - timedelta(minutes=140)
    day = date(2026, 3, 10)
    return DayPlan(day, now, BEGINS, opens, _at(DAY.closes), spans, played, names, programmes)


def _at(seconds: int) -> datetime:
    return BEGINS + timedelta(seconds=seconds)


def _clock(seconds: int | None) -> str:
    return "never" if seconds is None else f"{seconds // MINUTE}:{seconds % MINUTE:02d}"


def played_lines(plan: DayPlan) -> Iterator[str]:
    for lane in plan.played.lanes:
        pace = f"{lane.number} of {lane.of} at {lane.pace:g}"
        yield f"lane {lane.station} {lane.machine or pace}"
    for block in plan.played.blocks:
        yield (
            f"{block.lane.station} {block.lane.machine or block.lane.number} {block.kind} "
            f"{_clock(block.start)} to {_clock(block.end)}: {' '.join(block.codes)} "
            f"steps {block.steps} {'/'.join(block.names)} {block.detail} {block.machine} "
            f"load {block.load} ticket {block.ticket}"
        )
    for left in plan.played.left:
        yield (
            f"left {left.code} {left.ticket} {left.station} {left.orders} {left.reason} "
            f"{left.words} {_clock(left.until)}"
        )


def sheet_lines(sheet: PlanSheet) -> Iterator[str]:
    yield f"{sheet.title}, {sheet.day_words}, {sheet.from_words}, late {_any_late(sheet)}"
    yield f"matched {sheet.matched}, {sheet.pieces} pieces, {sheet.left_count} left"
    yield from (f"pause {start:%H:%M} to {end:%H:%M}" for start, end in sheet.pauses)
    for station, rows in groupby(sheet.rows, lambda row: row.station):
        for row in rows:
            yield f"{station} | {row.name} | {row.first} | {row.title}"
            for stretch in row.stretches:
                late = " late" if stretch.late else ""
                yield f"  {stretch.clock} {stretch.kind}{late}: {stretch.says}, {stretch.count}"
                yield f"    {', '.join(stretch.numbers)}"
                yield from (
                    f"    {piece.spoken} {piece.what} {piece.starts:%H:%M}-{piece.ends:%H:%M}"
                    + (" late" if piece.late else "")
                    for piece in stretch.pieces
                )
    for group in sheet.left:
        yield f"left: {group.says}"
        yield from (f"    {piece.spoken} {piece.what} {piece.note}" for piece in group.pieces)


def _any_late(sheet: PlanSheet) -> bool:
    return any(stretch.late for row in sheet.rows for stretch in row.stretches)


def test_the_full_day_is_possible() -> None:
    waiting = jobs()
    assert faults(DAY, waiting, play(DAY, waiting, LOADS)) == []


def test_the_full_day_is_played_as_approved() -> None:
    assert_approved(played_lines(full_day()), APPROVED / "played.txt")


@pytest.mark.parametrize(
    ("name", "now"),
    [
        ("sheet", BEGINS - timedelta(minutes=2)),
        ("sheet-of-tomorrow", BEGINS - timedelta(hours=14)),
    ],
)
def test_the_full_day_is_said_as_approved(name: str, now: datetime) -> None:
    assert_approved(sheet_lines(plan_sheet(full_day(now))), APPROVED / f"{name}.txt")


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_full_day_is_printed_as_approved(paper: str) -> None:
    pdf = build_plan(plan_sheet(full_day()), "Linden Lane Laundry", paper)
    assert_approved(drawn(pdf), APPROVED / f"paper-{paper}.txt")


def test_the_busy_shop_is_read_into_jobs_as_approved(oz: User) -> None:
    """Minutes from eight o'clock; a load is told by its machine, since a database counts its
    number on."""
    morning = read_calendar().next_open(datetime.fromisoformat("2026-06-17T08:00:00+01:00"))
    busy_shop(oz, morning)
    floor = _Floor(work_of(morning), morning, morning)
    machines = {load.number: load.machine for load in floor.standing()}
    lines = [
        f"{load.station} {load.machine} {load.programme} {load.seconds} s, begun {load.begun}, "
        f"ends {load.ends}, over {load.over}: {' '.join(load.codes)}"
        for load in floor.standing()
    ]
    for entry in floor.jobs():
        lines.append(
            f"{entry.code} of {entry.ticket}, rush {entry.rush}, due {_clock(entry.due)}, from "
            f"{_clock(entry.start)} {entry.away} in {machines.get(entry.inside, '-')} {entry.held}"
        )
        lines += [
            f"  {part.station} {part.orders} {'/'.join(part.names)} crew {_clock(part.crew)} waits "
            f"{_clock(part.waits)} {part.partner} begin by {_clock(part.begin_by)} out by "
            f"{_clock(part.out_by)} {part.never} {part.place} {part.run}"
            for part in entry.parts
        ]
    lines += [
        f"{name.spoken} {name.code} of {name.ticket} {name.kind} {name.description}, rush "
        f"{name.rush}, promised {timezone.localtime(name.promised_at):%a %H:%M}"
        for name in floor.names().values()
    ]
    lines += [f"{place} {name}" for place, name in sorted(floor.programme_names().items())]
    lines += [f"back {at}: {floor.back('dry_clean', at)}" for at in (0, 26 * HOUR, 28 * HOUR)]
    assert_approved(lines, APPROVED / "shop.txt")


@pytest.mark.parametrize(
    ("now", "head"),
    [
        (BEGINS - timedelta(minutes=2), "Now, 10:00–11:00"),
        (BEGINS - timedelta(minutes=21), "10:00–11:00"),
        (BEGINS - timedelta(hours=14), "10:00–11:00"),
    ],
)
def test_the_hours_hold_every_stretch_once_and_the_present_one_leads(
    now: datetime, head: str
) -> None:
    sheet = plan_sheet(full_day(now))
    assert sheet.hours[0].says == head
    assert [hour.says for hour in sheet.hours[1:]] == sorted(hour.says for hour in sheet.hours[1:])
    assert not any("Now" in hour.says for hour in sheet.hours[1:])
    shown = [
        (line.row.title, stretch)
        for hour in sheet.hours
        for line in hour.work
        for stretch in line.stretches
    ]
    whole = [(row.title, stretch) for row in sheet.rows for stretch in row.stretches]
    assert len(shown) == len(whole)
    assert all(line in whole for line in shown)
    for hour in sheet.hours[1:]:
        begins = hour.says.partition("–")[0]
        assert all(line.clock[:2] == begins[:2] for line in hour.work)
        titles = [line.row.title for line in hour.work]
        assert len(set(titles)) == len(titles)


def test_the_pages_are_as_approved(office: Client, oz: User, clock: Traveller) -> None:
    held_busy_shop(oz, clock)
    pages = [(path, office.get(path).content) for path in ("/plan/", "/plan/wall/")]
    assert_approved(page_lines(pages), APPROVED / "pages.txt")
