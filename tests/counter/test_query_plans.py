"""No page and no call of the API reads a table from end to end that grows with the years."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from datetime import timedelta
from functools import partial
from typing import Any
from urllib.parse import quote

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.db.models import Exists, OuterRef
from django.test import Client
from django.utils import timezone

from counter.messages.queries import due_in, still_true, told_lately
from counter.models import Notice
from counter.owner.queries import unclaimed
from tests import building
from tests.api_calls import V1, fresh_key, new_ticket
from tests.benchmarks import grown
from tests.browser.test_pages import addresses, fill
from tests.query_plans import Query, queries_noted, whole_reads
from tickets.acting import Act
from tickets.choices import BOARD_STATIONS, PieceState, Station
from tickets.models import Load, Move, Piece, Ticket
from tickets.tracking import services as tracking

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.skipif(connection.vendor != "sqlite", reason="the plans are SQLite's"),
]

MOVES, OPEN_TICKETS = 40_000, 60

LEAVING_OUT_FEW = (
    "/tickets/?late=false",
    "/tickets/?open=false",
    "/tickets/?state=closed",
    "/pieces/?late=false",
    "/pieces/?open=false",
)
"""Lists of the API that leave out only what is open. Read in their order they end with the first
page, as does their bounded count; an index would leave out no more."""


@pytest.fixture
def shop(client: Client) -> User:
    """The owner, in a shop with a past of years and much that is open."""
    building.make_shop()
    owner = building.make_user("owner")
    building.make_user("counter")
    building.make_user("backroom")
    fill(owner)
    asked = building.make_ticket(owner).pieces.get()
    tracking.hold(asked.code, "Which button?", owner, timezone.localdate(), Act(by=owner))
    tracking.release(asked.code, "A near match", Act(by=owner))
    building.hand_over_all(asked.ticket, owner)
    connection.ensure_connection()
    grown.grow_past(connection.connection, MOVES)
    grown.grow_open(connection.connection, OPEN_TICKETS)
    grown.analyze(connection.connection)
    return owner


@pytest.fixture
def office(client: Client, shop: User) -> Client:
    client.force_login(shop)
    return client


def api_addresses() -> Iterator[str]:
    """Every list with each of its filters, and one of each row."""
    ticket = Ticket.objects.filter(ready_at=None).latest("number")
    piece = ticket.pieces.earliest("position")
    load = Load.objects.earliest("pk")
    changed = f"updated_since={quote((timezone.now() - timedelta(hours=4)).isoformat())}"
    lists = {
        "tickets": (
            changed, f"{changed}&after=",
            *(f"state={state}" for state in ("open", "ready", "closed")),
            *(f"{name}={yes}" for name in ("open", "late") for yes in ("true", "false")),
            f"customer={ticket.customer_id}", "search=ada", "search=0123",
            f"promise_day={ticket.promise_day}", f"number={ticket.number}",
        ),
        "pieces": (
            changed, f"{changed}&after=",
            *(f"station={station}" for station in Station),
            *(f"state={state}" for state in PieceState),
            *(f"{name}={yes}" for name in ("open", "late") for yes in ("true", "false")),
            f"customer={ticket.customer_id}", f"ticket={ticket.number}",
            f"promise_day={ticket.promise_day}",
        ),
        "customers": ("search=ada", "search=0123"),
        "loads": ("open=true", "open=false", "station=wash", "state=filling", "machine=1"),
    }  # fmt: skip
    for name, filters in lists.items():
        yield f"/{name}/"
        yield f"/{name}/?page_size=20"
        for narrowed in filters:
            yield f"/{name}/?{narrowed}"
    yield from (f"/tickets/{ticket.number}/", f"/pieces/{piece.code}/", f"/loads/{load.pk}/")
    yield from (f"/customers/{ticket.customer_id}/", f"/pickups/{ticket.number}/", "/boards/")
    yield from (f"/boards/{station}/" for station in BOARD_STATIONS)
    yield "/boards/wash/loads/"


def faults_of(acts: Iterable[tuple[str, Callable[[], Any]]]) -> list[str]:
    """Each query that reads a growing table whole, once, with the name of an act that makes it."""
    noted: dict[str, tuple[str, Query]] = {}
    for name, act in acts:
        queries: list[Query] = []
        with queries_noted(queries):
            answer = act()
        assert answer.status_code in (200, 201, 302), (name, answer.content)
        for query in queries:
            noted.setdefault(query[0], (name, query))
    return [
        f"{name}: {step}: {query[0]}"
        for name, query in noted.values()
        for step in whole_reads(*query)
    ]


def asked_for(office: Client, paths: Iterable[str]) -> Iterator[tuple[str, Callable[[], Any]]]:
    for path in paths:
        yield path, partial(office.get, path)


def writing(office: Client, owner: User) -> Iterator[tuple[str, Callable[[], Any]]]:
    """What changes something all day: scans, intakes, payments, pickups, holds."""

    def call(path: str, **sent: object) -> Callable[[], Any]:
        return lambda: office.post(f"{V1}{path}", sent, content_type="application/json")

    def call_once(path: str, **sent: object) -> Callable[[], Any]:
        return call(path, **sent, client_key=fresh_key())

    def tap(path: str, **fields: object) -> Callable[[], Any]:
        return lambda: office.post(path, {"key": fresh_key(), **fields})

    at_intake = iter(Piece.objects.filter(station=Station.INTAKE, state=PieceState.WAITING))
    yield "scan", call_once("/scan/", code=next(at_intake).code, station="intake")
    yield "scan on a page", tap("/boards/intake/scan/", line=next(at_intake).code)
    stopped = next(at_intake).code
    day = (timezone.localdate() + timedelta(days=1)).isoformat()
    yield "hold", call_once(f"/pieces/{stopped}/hold/", reason="Zip", ask_again_on=day)
    yield "release", call_once(f"/pieces/{stopped}/release/", outcome="agreed")
    matched = building.work_until(next(at_intake), Station.ASSEMBLY, owner)
    for piece in matched.ticket.pieces.exclude(pk=matched.pk):
        building.work_until(piece, Station.ASSEMBLY, owner)
        tracking.assemble(piece.code, Act(by=owner))
    yield "match", call_once("/scan/", code=matched.code, station="assembly")
    yield "rack", call_once("/scan/", code=matched.code, station="rack", place="A1")
    yield "intake", call_once("/tickets/", **{**new_ticket(), "promised_at": None})
    payments = f"/tickets/{Ticket.objects.latest('pk').number}/payments/"
    yield "payment", call_once(payments, kind="deposit", means="cash", amount="0.50")
    ready = Ticket.objects.filter(ready_at__isnull=False, closed_at=None).earliest("pk")
    codes = list(ready.pieces.values_list("code", flat=True))
    yield "pickup scan", tap(f"/pickup/{ready.number}/scan/", line=codes[0])
    path = f"/pickups/{ready.number}/"
    yield "pickup", call(path, codes=codes, collector="Ada Brook", proof="slip")


def test_a_table_read_whole_is_noticed_under_any_name(shop: User) -> None:
    by_reason = Move.objects.filter(reason="none")
    for moves in (by_reason, by_reason.order_by("piece"), by_reason.values("by").distinct()):
        assert len(whole_reads(*moves.query.sql_with_params())) == 1
    pieces = Piece.objects.filter(Exists(Move.objects.filter(by=OuterRef("pk"))), code="none")
    assert len(whole_reads(*pieces.query.sql_with_params())) == 1
    for quick in (Move.objects.filter(piece=1), Ticket.objects.filter(closed_at__isnull=True)):
        assert whole_reads(*quick.query.sql_with_params()) == []


def test_what_waits_for_its_customer_is_read_without_what_was_collected(shop: User) -> None:
    """A range over all that was ever ready is no whole read, and yet grows with the years; what is
    ready or open is few at any age."""
    waiting = (unclaimed(), due_in(Notice.State.WAITING), still_true(Notice.objects.all()))
    for rows in waiting:
        plan = rows.explain()
        assert "ticket_to_collect" in plan or "(closed_at=?)" in plan
    assert "notice_sent" in told_lately(30).explain()


def test_no_page_reads_a_growing_table_whole(office: Client) -> None:
    assert faults_of(asked_for(office, (path for _name, path in addresses()))) == []


def test_no_call_that_asks_the_api_reads_a_growing_table_whole(office: Client) -> None:
    paths = [path for path in api_addresses() if path not in LEAVING_OUT_FEW]
    assert faults_of(asked_for(office, (f"{V1}{path}" for path in paths))) == []


def test_nothing_that_is_written_all_day_reads_a_growing_table_whole(
    office: Client, shop: User
) -> None:
    assert faults_of(writing(office, shop)) == []
