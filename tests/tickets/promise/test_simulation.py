"""The simulated shop that judges the promise: its clock, its own laws, and a short trial."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

import pytest

from tickets.shop.calendar import ShopCalendar

pytest.importorskip("simpy", reason="SimPy is not installed: install the group `oracle`")

from tests.benchmarks.promise import Engine, Hours, two_days
from tests.benchmarks.shopfloor import HOURS, WEEK, Clock, Job, Shop

MONDAY = datetime(2024, 1, 1, tzinfo=UTC)
SHOP_HOURS = ShopCalendar(
    {d: (time(int(o // 60)), time(int(c // 60))) for d, (o, c) in enumerate(HOURS)},
    frozenset({date(2023, 12, 31)}),
)


@pytest.mark.parametrize("start", range(0, 7 * 1440, 487))
@pytest.mark.parametrize("minutes", [0, 1, 95, 600, 601, 4000])
def test_the_simulations_clock_is_the_shops_calendar(start: int, minutes: int) -> None:
    """Both in January, when London keeps UTC."""
    clock, at = Hours(Clock(6)), MONDAY + timedelta(minutes=start)
    ours, shops = clock.add_minutes(at, minutes), SHOP_HOURS.add_minutes(at, minutes)
    assert clock.clock.open_until((ours - MONDAY).total_seconds() / 60) == pytest.approx(
        SHOP_HOURS.open_minutes(MONDAY, shops)
    )
    assert minutes == 0 or ours == shops


@pytest.fixture(scope="module")
def shop() -> Shop:
    return Shop(7, 12, Engine()).run()


@pytest.mark.slow
def test_every_ticket_gets_ready_and_never_before_its_own_work(shop: Shop) -> None:
    assert len(shop.done) == len(shop.jobs) > 3000
    waits = [max(sum(task.waits for task in route) for route in job.routes) for job in shop.done]
    # Rails dry in 0.7 to 1.1 of the planned time, runs take 0.95 to 1.1.
    assert all(
        job.ready - job.came > 0.7 * wait for job, wait in zip(shop.done, waits, strict=True)
    )


@pytest.mark.slow
def test_littles_law_holds_on_the_simulations_own_output(shop: Shop) -> None:
    """L = lambda W (Little 1961): tickets in process, counted by the clock every 13 minutes,
    against arrivals a minute times the mean time in the shop; weeks 3 to 12."""
    first, last = 2 * WEEK, 12 * WEEK
    inside = [job for job in shop.jobs if first <= job.came < last]
    rate = len(inside) / (last - first)
    stay = sum(job.ready - job.came for job in inside) / len(inside)
    moments = [first + 13.0 * step for step in range(int((last - first) / 13))]
    counted = sum(
        sum(job.came <= moment < job.ready for moment in moments) for job in shop.jobs
    ) / len(moments)
    assert counted == pytest.approx(rate * stay, rel=0.03)


@pytest.mark.slow
def test_the_same_seed_gives_the_same_shop() -> None:
    def ends(rule: object) -> list[float]:
        return [job.ready for job in Shop(3, 2, rule).run().jobs]  # type: ignore[arg-type]

    assert ends(two_days) == ends(two_days)
    assert ends(Engine()) == ends(Engine())


@pytest.mark.slow
def test_a_short_trial_keeps_far_more_promises_than_two_days(shop: Shop) -> None:
    """One shop's luck; the figures that count are those of ``tests.benchmarks.promise``."""
    fixed = Shop(7, 12, two_days).run()

    def kept_and_ratio(jobs: list[Job]) -> tuple[float, float]:
        counted = [job for job in jobs if job.came >= 4 * WEEK]
        kept = sum(job.ready <= job.due for job in counted) / len(counted)
        quoted = sum(job.due - job.came for job in counted)
        return kept, quoted / sum(job.ready - job.came for job in counted)

    (kept, ratio), (kept_fixed, _) = kept_and_ratio(shop.jobs), kept_and_ratio(fixed.jobs)
    assert kept > max(0.93, kept_fixed + 0.1)
    assert 1 < ratio < 1.4
