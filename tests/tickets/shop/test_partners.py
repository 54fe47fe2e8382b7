"""Partners of the shop: what the care decision offers, and what the promise makes of their days."""

from __future__ import annotations

import math
from datetime import datetime, time, timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.utils import timezone

from care_rules import Decision
from counter.models import Shop
from tests.building import (
    earliest_promise,
    jumper,
    make_machine,
    make_ticket,
    queued_work,
    shirt,
    trousers,
    work_of,
    work_until,
)
from tickets.choices import Station
from tickets.errors import Refused
from tickets.loads.planned_pieces import due_minute
from tickets.models import Machine, OpeningHours, Partner, Piece, RouteStep, StationCrew
from tickets.pieces.decisions import planned_route
from tickets.plan.shop_day import _Floor
from tickets.promise import quote
from tickets.promise.queries import shop_capacity
from tickets.promise.tasks import ASSEMBLY, Task
from tickets.shop import partners
from tickets.shop.queries import read_calendar, sent_out_for
from tickets.shop.services import save_partner

pytestmark = pytest.mark.django_db


def suit(crew: User) -> tuple[dict[str, object], Decision]:
    """A wool jacket for dry cleaning only: its facts and its decision."""
    [piece] = make_ticket(crew, [dry_only()]).pieces.all()
    return piece.facts, piece.care_decision


def dry_only() -> dict[str, object]:
    label = {**jumper()["label"], "symbols": ["no_wash", "no_bleach", "no_tumble", "dry_clean_p"]}
    return jumper(
        kind="suit_jacket", construction="woven", label=label, shop=Shop.current().abilities
    )


def a_monday(hour: int) -> datetime:
    """A Monday to come, in the shop's time."""
    local = timezone.localtime(timezone.now()) + timedelta(days=7)
    monday = local - timedelta(days=local.weekday())
    return monday.replace(hour=hour, minute=0, second=0, microsecond=0)


def only(**days: object) -> Partner:
    """The one partner of the shop, with these days."""
    partner = Partner.objects.get()
    for name, value in days.items():
        setattr(partner, name, value)
    return save_partner(partner)


def test_partners_in_use_say_what_the_shop_can_send_out(crew: User) -> None:
    assert sent_out_for() == ["dry_clean", "wet_clean", "leather"]
    only(services=["leather"])
    save_partner(Partner(name="Other", services=["dry_clean"]))
    assert Shop.current().abilities["send_out"] == ["dry_clean", "leather"]
    only_leather = Partner.objects.get(name="Partner")
    only_leather.in_use = False
    save_partner(only_leather)
    assert sent_out_for() == ["dry_clean"]


@pytest.mark.parametrize(
    ("changes", "code"),
    [({"services": []}, "no_service"), ({"collect_days": [6]}, "partner_never")],
)
def test_a_partner_of_no_use_is_refused(crew: User, changes: dict[str, object], code: str) -> None:
    OpeningHours.objects.filter(weekday=6).delete()
    with pytest.raises(Refused) as no:
        only(**changes)
    assert (no.value.code, "Partner" in no.value.says) == (code, True)
    assert Partner.objects.get().services == ["dry_clean", "wet_clean", "leather"]


def test_the_promise_takes_the_partners_days(crew: User) -> None:
    """Out on Wednesday at noon, back on Friday at four; nothing else waits in this shop."""
    only(collect_days=[2], days_away=2, return_days=[4], return_at=time(16))
    jacket = suit(crew)
    friday = a_monday(9) + timedelta(days=4)
    ready_at = earliest_promise([jacket], a_monday(9)).ready_at
    assert friday.replace(hour=16) < ready_at < friday + timedelta(days=1, hours=9)
    # Taken in on Wednesday after the pick-up: a week later.
    late = earliest_promise([jacket], a_monday(12) + timedelta(days=2)).ready_at
    assert friday + timedelta(days=7) < late


def test_the_route_of_a_piece_says_what_it_goes_out_for(crew: User) -> None:
    jacket = suit(crew)
    assert [(t.partner, t.waits) for t in planned_route(*jacket) if t.station == "send_out"] == [
        ("dry_clean", 4320.0)  # three days; common trade practice, row ``wait.send_out``
    ]


def test_without_a_partner_the_flat_figure_stands(crew: User) -> None:
    jacket, monday = suit(crew), a_monday(9)
    only(days_away=1)
    quick = earliest_promise([jacket], monday).ready_at
    Partner.objects.update(in_use=False)
    flat = earliest_promise([jacket], monday).ready_at
    assert (quick - monday).days < 3 <= (flat - monday).days


def test_open_steps_wait_for_the_partner_too(crew: User) -> None:
    [piece] = make_ticket(crew, [dry_only()]).pieces.all()
    backlog = queued_work()
    assert "send_out" in backlog.queue.ahead()
    work_until(piece, Station.SEND_OUT, crew)
    assert partners.service_of(piece) == "dry_clean"


@pytest.mark.parametrize(
    ("promised", "out"),
    [
        (timedelta(days=7, hours=-1), timedelta(days=2, hours=3)),
        (timedelta(days=4, hours=7), timedelta(days=-5, hours=3)),
    ],
    ids=["Sunday after: out by Wednesday", "Friday, as it comes back: the Wednesday before"],
)
def test_a_piece_must_be_out_for_the_last_pick_up_that_brings_it_back_in_time(
    crew: User, promised: timedelta, out: timedelta
) -> None:
    """Out on Wednesday at noon, back on Friday at four: what comes after must fit behind that."""
    only(collect_days=[2], days_away=2, return_days=[4], return_at=time(16))
    monday = a_monday(9)
    [piece] = make_ticket(crew, [dry_only()], promised_at=monday + promised).pieces.all()
    later = [step for step in piece.steps.all() if step.station != piece.station]
    place = next(n for n, step in enumerate(later) if step.station == Station.SEND_OUT)
    until_out = sum(float(step.minutes) for step in later[: place + 1])
    assert len(later) > place + 1
    calendar = read_calendar()
    clock = calendar.open_minutes(monday, monday + out) or -calendar.open_minutes(
        monday + out, monday
    )
    assert due_minute(piece, monday, calendar) == math.floor(clock - until_out)


def test_without_a_partner_the_flat_figure_says_when_a_piece_must_be_out(crew: User) -> None:
    monday = a_monday(9)
    promised = monday + timedelta(days=6)
    [piece] = make_ticket(crew, [dry_only()], promised_at=promised).pieces.all()
    later = [step for step in piece.steps.all() if step.station != piece.station]
    crew_time = sum(float(step.minutes) for step in later) + ASSEMBLY.crew
    Partner.objects.update(in_use=False)
    # Three days of clock time for the partner: row ``wait.send_out`` (common trade practice).
    open_time = read_calendar().open_minutes(monday, promised - timedelta(days=3))
    assert due_minute(piece, monday, read_calendar()) == math.floor(open_time - crew_time)


def test_the_reason_of_a_promise_names_the_day_when_the_partner_brings_it_back(
    crew: User,
) -> None:
    only(collect_days=[2], days_away=2, return_days=[4], return_at=time(16))
    jacket, monday = suit(crew), a_monday(9)
    promise = earliest_promise([jacket], monday)
    assert promise.hangs_on == Station.SEND_OUT
    assert promise.reason == "Most of the time goes to: Send-out, back from the partner on Friday."
    friday = monday + timedelta(days=11)
    late = earliest_promise([jacket], monday + timedelta(days=3)).reason
    assert late.endswith(f"back from the partner on Friday {friday.day} {friday:%B}.")
    Partner.objects.update(in_use=False)
    assert earliest_promise([jacket], monday).reason == "Most of the time goes to: Send-out."


def test_after_the_cut_off_the_promise_says_from_when_it_counts(crew: User) -> None:
    hem = [Task(Station.BENCH, 20.0)]
    OpeningHours.objects.update(cut_off=time(16))
    calendar = read_calendar()
    before = quote.earliest_ready([hem], a_monday(16), calendar, queued_work())
    after = quote.earliest_ready([hem], a_monday(17), calendar, queued_work())
    assert "counts from" not in before.reason
    tuesday = a_monday(8) + timedelta(days=1)
    assert f"counts from Tuesday {tuesday.day} {tuesday:%B}." in after.reason
    assert after.ready_at == quote.earliest_ready([hem], tuesday, calendar, queued_work()).ready_at


# Presses


def test_no_more_people_press_than_there_are_presses(crew: User) -> None:
    StationCrew.objects.create(station=Station.PRESS, people=Decimal(3))
    assert shop_capacity().people["press"] == 3.0
    press = make_machine("Press", "press", 0)
    assert shop_capacity().people["press"] == 1.0
    make_machine("Ironer", "ironer", 0)
    assert shop_capacity().people["press"] == 2.0
    press.in_use = False
    press.save()
    Machine.objects.filter(kind="ironer").update(in_use=False)
    assert shop_capacity().people["press"] == 3.0


def test_a_press_holds_no_load_and_a_drum_needs_litres(crew: User) -> None:
    make_ticket(crew, [trousers()])
    press = make_machine("Press", "press", 70)
    assert (press.litres, press.most_pieces) == (Decimal(0), 1)
    with pytest.raises(Refused) as no:
        make_machine("Washer", "washer", 0)
    assert no.value.code == "no_drum"
    with pytest.raises(IntegrityError), transaction.atomic():
        Machine.objects.create(name="Hollow", kind="washer", litres=0)


def test_the_days_plan_has_a_machines_work_done_for_the_last_pick_up_in_time(crew: User) -> None:
    """Washed here, then out on Wednesday at noon, and back on Friday at four."""
    only(collect_days=[2], days_away=2, return_days=[4], return_at=time(16))
    make_machine("Washer 1")
    monday = a_monday(9)
    [piece] = make_ticket(crew, [shirt()], promised_at=monday + timedelta(days=7)).pieces.all()
    steps = RouteStep.objects.filter(piece=piece)
    wash = steps.get(step="wash")
    steps.filter(order__lt=wash.order).update(done_at=monday)
    steps.filter(order__gt=wash.order).delete()
    RouteStep.objects.create(
        piece=piece,
        order=wash.order + 1,
        step="send_out",
        station=Station.SEND_OUT,
        minutes=2,
        settings={"to": "dry_clean"},
        says="To the partner.",
    )
    Piece.objects.filter(pk=piece.pk).update(station=Station.WASH)
    [job] = _Floor(work_of(monday), monday, monday).jobs()
    until_pick_up = read_calendar().open_minutes(monday, monday + timedelta(days=2, hours=3))
    assert [part.out_by for part in job.parts if part.run] == [(until_pick_up - 2) * 60]
