"""The day played forward: days that can be counted by hand.

Pure facts, no database: the shop's own rows are in ``test_dayplan_shop``.
"""

from __future__ import annotations

import pytest

from tests.tickets.plan.played_days import (
    DRYER,
    HOUR,
    MACHINES,
    TEN_HOURS,
    WASHER,
    WITH_BREAK,
    blocks_of,
    faults,
    hand,
    in_machine,
    job,
)
from tickets.choices import Station
from tickets.loads.together import shares
from tickets.plan.play import play
from tickets.plan.values import (
    AWAY,
    EMPTY,
    FILL,
    HELD,
    MATCH,
    MINUTE,
    NEVER,
    NO_TIME,
    REST,
    RUN,
    SIBLING,
    WORK,
    Day,
    Job,
    Part,
    StandingLoad,
)

# Days that can be counted by hand


def test_what_may_wait_least_goes_first_then_rush_then_the_number() -> None:
    """The piece with the longer way and the later promise must begin first: 90 - 85 < 20 - 10."""
    waiting = [
        job("10-01", hand("press", 1, 10), due=50),
        job("11-01", hand("press", 1, 10), due=20),
        job("12-01", hand("press", 1, 10), due=50, rush=True),
        job("09-01", hand("press", 1, 10), due=50),
        job("13-01", hand("press", 1, 10), due=90, rush=True),
        job("14-01", hand("press", 1, 10), hand("check", 2, 75), due=90),
    ]
    played = play(Day(TEN_HOURS), waiting)
    at_press = [(b.codes[0], b.start // MINUTE) for b in blocks_of(played, WORK)
                if b.lane.station == "press"]  # fmt: skip
    assert at_press == [
        ("14-01", 0),
        ("11-01", 10),
        ("12-01", 20),
        ("09-01", 30),
        ("10-01", 40),
        ("13-01", 50),
    ]


def test_two_people_at_the_press_work_side_by_side_and_one_and_a_half_a_quarter_slower() -> None:
    waiting = [job(f"1{n}-01", hand("press", 1, 30)) for n in range(4)]

    def ends(people: float) -> list[int]:
        played = play(Day(TEN_HOURS, {"press": people}), waiting)
        return sorted(block.end // MINUTE for block in blocks_of(played, WORK))

    assert ends(2) == [30, 30, 60, 60]
    assert ends(1.5) == [40, 40, 80, 80]
    assert ends(0.5) == [60, 120, 180, 240]


def test_a_piece_is_matched_when_the_last_of_its_ticket_is_through() -> None:
    waiting = [job("10-01", hand("bench", 1, 30)), job("10-02", hand("bench", 1, 20))]
    [match] = blocks_of(play(Day(TEN_HOURS), waiting), MATCH)
    assert (match.codes, match.start, match.end) == (("10-01", "10-02"), 50 * MINUTE, 60 * MINUTE)


def test_whites_and_darks_wait_for_two_runs_and_dry_together() -> None:
    waiting = [
        job(
            f"1{n}-01",
            in_machine(f"1{n}-01", Station.WASH, 1, 0, colour_group=group),
            in_machine(f"1{n}-01", Station.DRY, 2, 0),
        )
        for n, group in enumerate(("white", "dark", "white", "dark"))
    ]
    day = Day(TEN_HOURS, {}, {Station.WASH: (WASHER,), Station.DRY: (DRYER,)})
    played = play(day, waiting)
    assert faults(day, waiting, played) == []
    washes = [b for b in blocks_of(played, RUN) if b.lane.station == Station.WASH]
    assert sorted(b.codes for b in washes) == [("10-01", "12-01"), ("11-01", "13-01")]
    first, second = washes
    # Two pieces of two minutes are filled in four; the drum turns over in its ten.
    assert first.start == 4 * MINUTE
    assert second.start == first.end + 10 * MINUTE
    assert not shares(waiting[0].parts[0].run, waiting[1].parts[0].run)  # type: ignore[arg-type]


def test_a_load_is_filled_so_that_it_is_ready_when_its_machine_is() -> None:
    running = StandingLoad(3, Station.WASH, "Washer 1", "x", 3600, (), -600, ends=30 * MINUTE)
    waiting = [job("10-01", in_machine("10-01", Station.WASH, 1, 0))]
    played = play(Day(TEN_HOURS, {}, {Station.WASH: (WASHER,)}), waiting, [running])
    [fill], run = blocks_of(played, FILL), blocks_of(played, RUN)[-1]
    assert (fill.start, fill.end, run.start) == (38 * MINUTE, 40 * MINUTE, 40 * MINUTE)


def test_a_thin_washer_load_waits_for_what_is_still_to_come_unless_it_presses() -> None:
    def washes(out_by: float) -> list[int]:
        waiting = [
            job("10-01", in_machine("10-01", Station.WASH, 1, out_by)),
            job("11-01", hand("bench", 1, 60), in_machine("11-01", Station.WASH, 2, out_by)),
        ]
        played = play(Day(TEN_HOURS, {}, {Station.WASH: (WASHER,)}), waiting)
        return [len(block.codes) for block in blocks_of(played, RUN)]

    assert washes(2000) == [2]
    assert washes(0) == [1, 1]


def test_wet_cloth_does_not_wait_for_company_at_the_dryer() -> None:
    waiting = [
        job("10-01", in_machine("10-01", Station.DRY, 1, 2000)),
        job("11-01", hand("bench", 1, 60), in_machine("11-01", Station.DRY, 2, 2000)),
    ]
    played = play(Day(TEN_HOURS, {}, {Station.DRY: (DRYER,)}), waiting)
    assert next(block.start for block in blocks_of(played, RUN)) == 2 * MINUTE


def test_the_runs_of_open_loads_keep_their_machines_and_their_pieces() -> None:
    def one(code: str, load: int) -> Job:
        return job(code, in_machine(code, Station.WASH, 1), hand("press", 2, 5), inside=load)

    loads = [
        StandingLoad(1, Station.WASH, "Washer 1", "x", 3600, ("10-01",), -600, ends=30 * MINUTE),
        StandingLoad(2, Station.WASH, "Washer 1", "x", 3600, ("11-01",)),
        StandingLoad(3, Station.WASH, "Washer 2", "x", 3600, ("12-01",), -9000, over=True),
    ]
    waiting = [one("10-01", 1), one("11-01", 2), one("12-01", 3)]
    day = Day(TEN_HOURS, {}, MACHINES)
    played = play(day, waiting, loads)
    assert faults(day, waiting, played) == []
    at = {b.load: (b.kind, b.start // MINUTE, b.end // MINUTE) for b in played.blocks if b.load}
    assert at == {1: (RUN, -10, 30), 2: (RUN, 40, 100), 3: (EMPTY, 0, 10)}
    pressed = {b.codes[0]: b.start // MINUTE for b in blocks_of(played, WORK)}
    assert pressed == {"10-01": 30, "11-01": 100, "12-01": 10}


@pytest.mark.parametrize(
    ("waiting", "reasons"),
    [
        (job("10-01", hand("bench", 1, 5), held="Ask."), [("bench", HELD)]),
        (job("10-01", hand("bench", 1, 5), start=11 * HOUR), [("bench", AWAY)]),
        (job("10-01", hand("bench", 1, 700), hand("press", 2, 5)),
         [("bench", NO_TIME), ("press", REST)]),
        (job("10-01", hand("dry", 1, 3, waits=720), hand("press", 2, 5)), [("press", AWAY)]),
        (job("10-01", Part("wash", (1,), ("wash",), 60, never="Nobody may.")), [("wash", NEVER)]),
        (job("10-01", hand("press", 1, 595)), [("assembly", NO_TIME)]),
    ],
)  # fmt: skip
def test_what_the_day_does_not_reach_says_why(waiting: Job, reasons: list[tuple[str, str]]) -> None:
    left = play(Day(TEN_HOURS), [waiting]).left
    assert [(row.station, row.reason) for row in left] == reasons


def test_a_piece_that_is_through_waits_for_the_rest_of_its_ticket() -> None:
    waiting = [job("10-01", hand("press", 1, 5)), job("10-02", hand("press", 1, 5), held="Ask.")]
    left = {row.code: row.reason for row in play(Day(TEN_HOURS), waiting).left}
    assert left == {"10-01": SIBLING, "10-02": HELD}


def test_work_goes_on_after_the_break_where_it_was_laid_down() -> None:
    played = play(Day(WITH_BREAK), [job("10-01", hand("bench", 1, 300))])
    [work] = blocks_of(played, WORK)
    assert (work.start, work.end) == (0, 6 * HOUR)


def test_a_run_begun_before_the_break_ends_in_it_and_none_is_begun_in_it() -> None:
    day = Day(((0, 30 * MINUTE), (2 * HOUR, 10 * HOUR)), {}, {Station.WASH: (WASHER,)})
    waiting = [
        job("10-01", in_machine("10-01", Station.WASH, 1, 0)),
        job("11-01", in_machine("11-01", Station.WASH, 1, 0, colour_group="dark")),
    ]
    first, second = blocks_of(play(day, waiting), RUN)
    assert first.start == 2 * MINUTE
    assert first.end > 30 * MINUTE
    assert second.start == 2 * HOUR + 2 * MINUTE  # filled when the crew is back
