"""What the tests of the boards and of the loads share: pieces brought to a place, pages read."""

from __future__ import annotations

import html
import re
import uuid
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from tests.building import jumper, make_machine, make_ticket, shirt, work_until
from tickets.acting import Act
from tickets.choices import Station
from tickets.errors import Refused
from tickets.loads import services as loadbook
from tickets.models import Load, Machine, Piece


def text_of(response: Any) -> str:
    """What a reader sees: no tags, single spaces."""
    plain = re.sub(r"<(script|style).*?</\1>|<[^>]+>", " ", response.content.decode(), flags=re.S)
    return re.sub(r"\s+", " ", html.unescape(plain))


def send(client: Client, station: str, line: str, key: str | None = None, **more: Any) -> Any:
    return client.post(
        f"/boards/{station}/scan/", {"line": line, "key": key or str(uuid.uuid4())}, **more
    )


def bring(crew: User, station: Station, count: int, **changes: Any) -> list[Piece]:
    pieces = []
    for _ in range(count):
        ticket = make_ticket(crew, [jumper(**changes)])
        pieces.append(work_until(ticket.pieces.get(), station, crew))
    return pieces


def count_queries(client: Client, path: str) -> int:
    client.get(path)  # the session and the role are read once
    with CaptureQueriesContext(connection) as seen:
        assert client.get(path).status_code == 200
    return len(seen)


def white(**changes: Any) -> dict[str, Any]:
    """A white cotton shirt without a stain: washes at 60 °C."""
    return shirt(stains=[], **changes)


def tender(**changes: Any) -> dict[str, Any]:
    """A white shirt whose label asks for 30 °C, very mild."""
    label = {**shirt()["label"], "symbols": ["wash_30_very_mild", "no_bleach", "tumble_low"]}
    return white(label=label, **changes)


def at_wash(crew: User, *facts_of_pieces: dict[str, Any]) -> list[Piece]:
    ticket = make_ticket(crew, facts_of_pieces)
    return [work_until(piece, Station.WASH, crew) for piece in ticket.pieces.all()]


def act(crew: User) -> Act:
    return Act(by=crew, client_key=str(uuid.uuid4()))


def opened(crew: User, pieces: list[Piece], machine: Machine | None = None) -> Load:
    machine = machine or Machine.objects.first() or make_machine()
    return loadbook.open_load(machine.pk, [piece.code for piece in pieces], act(crew)).load


def running(crew: User, pieces: list[Piece]) -> Load:
    load = opened(crew, pieces)
    loadbook.close(load.pk, act(crew))
    return loadbook.start(load.pk, act(crew)).load


def state_of(load: Load) -> str:
    return Load.objects.get(pk=load.pk).state


def code_of(refused: pytest.ExceptionInfo[Refused]) -> str:
    return refused.value.code
