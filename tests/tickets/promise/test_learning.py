"""The margin is learned aside, once for all processes, and no promise waits for it."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from datetime import datetime, timedelta
from decimal import Decimal
from io import StringIO
from pathlib import Path

import pytest
from django.conf import settings
from django.contrib.auth.models import User
from django.core.management import call_command
from django.db import connection
from django.db.backends.base.base import BaseDatabaseWrapper
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from counter.site import learning
from tests.building import make_shop, make_ticket, make_user, queued_work, trousers
from tickets.models import Move, RouteStep, StationCrew, Ticket
from tickets.promise import history, queries
from tickets.promise.margin import Margin, MarginLine
from tickets.promise.services import learn_margin
from tickets.writing import sample_indexes

DAY = timedelta(days=1)


@pytest.fixture
def ada(db: object) -> User:
    make_shop()
    return make_user("owner", "ada")


@pytest.fixture
def late_tickets(ada: User) -> list[Ticket]:
    """As many as teach, each ready two days after it came, nine days ago."""
    came = timezone.now() - 9 * DAY
    tickets = [make_ticket(ada, [trousers()], at=came) for _ in range(30)]
    RouteStep.objects.update(done_at=came + 2 * DAY)
    Ticket.objects.update(ready_at=came + 2 * DAY)
    return tickets


def test_a_shop_that_has_not_learned_promises_by_the_cautious_default(ada: User) -> None:
    assert queued_work().margin == Margin()


def test_what_was_learned_is_stored_as_it_was_and_counts_for_every_promise(
    late_tickets: list[Ticket],
) -> None:
    learned = learn_margin(timezone.now())
    assert learned is not None
    assert learned == history.look_back(timezone.now())
    assert learned.tickets == 30
    assert queries.learned_margin() == learned
    assert queued_work().margin == learned


def test_a_line_without_a_usual_way_comes_back_without_one(
    ada: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    margin = Margin({"at once": MarginLine(12.5, 0.3)}, 40)
    monkeypatch.setattr(history, "look_back", lambda now: margin)
    learn_margin(timezone.now())
    assert queries.learned_margin() == margin


def test_it_is_learned_once_a_day_and_anew_for_another_crew(late_tickets: list[Ticket]) -> None:
    now = timezone.now()
    assert queries.learning_is_due(now)
    assert learn_margin(now) is not None
    assert not queries.learning_is_due(now)
    assert learn_margin(now + timedelta(minutes=1)) is None
    StationCrew.objects.filter(station="bench").update(people=Decimal(3))
    assert queries.learning_is_due(now)
    assert learn_margin(now + timedelta(minutes=2)) is not None
    assert queries.learning_is_due(now + DAY)
    assert learn_margin(now + DAY) is not None


def test_of_two_processes_one_learns(
    late_tickets: list[Ticket], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The other one comes while the first is at it; after half an hour it would take over."""
    first_look, others = history.look_back, []

    def look_back(now: datetime) -> Margin:
        monkeypatch.setattr(history, "look_back", first_look)
        others.append(learn_margin(now + timedelta(minutes=1)))
        others.append(learn_margin(now + timedelta(minutes=30, seconds=-1)))
        return first_look(now)

    monkeypatch.setattr(history, "look_back", look_back)
    assert learn_margin(timezone.now()) is not None
    assert others == [None, None]


def test_a_learning_that_broke_off_is_begun_again(
    late_tickets: list[Ticket], monkeypatch: pytest.MonkeyPatch
) -> None:
    now = timezone.now()

    def broken(moment: datetime) -> Margin:
        raise RuntimeError("the machine lost its power")

    with monkeypatch.context() as patched:
        patched.setattr(history, "look_back", broken)
        with pytest.raises(RuntimeError):
            learn_margin(now)
    assert learn_margin(now + timedelta(minutes=29)) is None
    assert queries.learned_margin() == Margin()
    assert learn_margin(now + timedelta(minutes=31)) is not None


def test_no_promise_looks_back(late_tickets: list[Ticket], monkeypatch: pytest.MonkeyPatch) -> None:
    """It reads one row of what was learned, and of the steps those of open pieces."""

    def never(now: datetime) -> Margin:
        raise AssertionError("a request waited for the look back")

    monkeypatch.setattr(history, "look_back", never)
    with CaptureQueriesContext(connection) as made:
        backlog = queued_work()
    asked = [query["sql"] for query in made]
    assert sum("tickets_learnedmargin" in sql for sql in asked) == 1
    assert all("state" in sql for sql in asked if 'FROM "tickets_routestep"' in sql)
    assert backlog.margin == Margin()


def test_the_command_says_what_it_did(late_tickets: list[Ticket]) -> None:
    said = StringIO()
    call_command("learn", stdout=said)
    call_command("learn", stdout=said)
    assert said.getvalue().splitlines() == [
        "Learned from 30 tickets.",
        "Learned for today already, or being learned by another process.",
    ]


@pytest.mark.skipif(connection.vendor != "sqlite", reason="PostgreSQL samples by itself")
@pytest.mark.django_db(transaction=True)
def test_after_learning_the_kept_connection_of_a_server_plans_for_the_shop_as_it_is(
    ada: User,
) -> None:
    """A few moves of one day are read whole; among thousands they are found by that day."""
    move = Move.objects.filter(piece__ticket=make_ticket(ada, [trousers()] * 4)).earliest("pk")
    sample_indexes()
    server = connection.copy()
    try:
        assert _plan_for_a_day(server, 1).startswith("SCAN")
        Move.objects.bulk_create(
            Move(
                piece=move.piece,
                number=number,
                kind=move.kind,
                to_state=move.to_state,
                to_station=move.to_station,
                at=move.at,
                business_day=move.business_day - number * DAY,
                by=ada,
            )
            for number in range(2, 3000)
        )
        assert _plan_for_a_day(server, 2).startswith("SCAN")
        call_command("learn", stdout=StringIO())
        assert _plan_for_a_day(server, 3).startswith("SEARCH")
    finally:
        server.close()
        with connection.cursor() as cursor:
            cursor.execute("DROP TABLE sqlite_stat1")  # other tests plan without it


def _plan_for_a_day(server: BaseDatabaseWrapper, time: int) -> str:
    """``time`` sets the words apart: an explanation asked for twice is kept as it was."""
    asked = "SELECT count(reason) FROM tickets_move WHERE business_day = '2026-05-04'"
    with server.cursor() as cursor:
        cursor.execute(asked)  # an explanation itself does not look whether anything changed
        cursor.execute("EXPLAIN QUERY PLAN" + " " * time + asked)
        return str(cursor.fetchone()[3])


def test_a_server_learns_where_it_is_due_and_only_there(
    late_tickets: list[Ticket], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Here the other process only leaves a mark; the margin is stored beside."""
    mark = tmp_path / "learned"
    script = f"open({str(mark)!r}, 'a').write('once ')"
    monkeypatch.setattr(learning, "learning_command", lambda: [sys.executable, "-c", script])
    assert learning.learn_where_due()
    learn_margin(timezone.now())
    assert not learning.learn_where_due()
    assert mark.read_text() == "once "


def test_the_learner_beside_a_server_is_the_command_of_this_shop() -> None:
    [python, manage, *words] = learning.learning_command()
    assert (python, Path(manage).name, Path(manage).is_file()) == (
        sys.executable,
        "manage.py",
        True,
    )
    assert words == ["learn", "--beside-a-server"]


def test_a_learner_stops_with_its_server() -> None:
    """The end of its input is the end of the server."""
    script = (
        "import threading; from tickets.management.commands.learn import _stop_with_the_server; "
        "threading.Thread(target=_stop_with_the_server, daemon=True).start(); "
        "print('learning', flush=True); threading.Event().wait(60)"
    )
    script = f"import django; django.setup(); {script}"
    with subprocess.Popen(
        [sys.executable, "-c", script],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=settings.BASE_DIR,
        env={**os.environ, "DJANGO_SETTINGS_MODULE": "tests.settings"},
    ) as learner:
        assert learner.stdin is not None
        assert learner.stdout is not None
        assert learner.stdout.readline() == "learning\n"
        assert learner.poll() is None
        learner.stdin.close()
        # It gives up by itself after a minute, with another code.
        assert learner.wait() == 1


def test_a_learning_that_fails_is_logged_and_the_server_goes_on(
    ada: User, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(
        learning,
        "learning_command",
        lambda: [sys.executable, "-c", "raise SystemExit('no room')"],
    )
    assert learning.learn_where_due()
    assert [record.getMessage() for record in caplog.records] == [
        "The margin was not learned: no room"
    ]


def test_who_stops_the_server_stops_the_looking(ada: User, monkeypatch: pytest.MonkeyPatch) -> None:
    looks: list[int] = []
    monkeypatch.setattr(learning, "learn_where_due", lambda: looks.append(1))
    monkeypatch.setattr(learning, "connection", _Unused())
    stop = threading.Event()
    stop.set()
    learning.keep_learning(stop)
    assert looks == [1]


class _Unused:
    """The test's own connection stays open."""

    def close(self) -> None:
        pass
