"""What was learned, and the past that it is learned from."""

from __future__ import annotations

import math
from datetime import datetime

from django.db.models import (
    Exists,
    OuterRef,
    Q,
    QuerySet,
)

from tickets.choices import PieceState
from tickets.models import (
    Hold,
    LearnedMargin,
    Revision,
    RouteStep,
    Ticket,
)
from tickets.promise.margin import Margin, MarginLine
from tickets.promise.past import Done, Past
from tickets.promise.tasks import Task
from tickets.shop import minutes as workloads
from tickets.shop.calendar import business_day

_TEACHING_SETTINGS = ("crews", "hours", "machines", "partners")
"""Kinds of settings that a look back reckons with."""


def learned_margin() -> Margin:
    """The margin as it was learned last; the cautious default before that. One query."""
    row = LearnedMargin.objects.filter(learned_at__isnull=False).first()
    if row is None:
        return Margin()
    lines = {
        way: MarginLine(fixed, share, math.inf if usual is None else usual)
        for way, (fixed, share, usual) in row.lines.items()
    }
    return Margin(lines, row.tickets)


def learning_basis(now: datetime) -> str:
    """The day and the settings that a margin learned now stands for."""
    rows = Revision.objects.filter(name__in=_TEACHING_SETTINGS).order_by("name")
    counts = [f"{name} {number}" for name, number in rows.values_list("name", "number")]
    return " ".join([f"{business_day(now):%Y-%m-%d}", *counts])


def margin_to_learn(basis: str, given_up: datetime) -> QuerySet[LearnedMargin]:
    """The margin if it was learned for another basis and nobody began to learn it since then."""
    idle = Q(begun_at__isnull=True) | Q(begun_at__lt=given_up)
    return LearnedMargin.objects.filter(idle, pk=1).exclude(basis=basis)


def learning_is_due(now: datetime) -> bool:
    """Whether the margin stands for another day or other settings: two queries."""
    return not LearnedMargin.objects.filter(basis=learning_basis(now)).exists()


# Past tickets, which teach the margin


def ready_before(moment: datetime, most: int) -> list[Past]:
    """Tickets that were ready before a moment and teach, the newest first."""
    rows = _teaching().filter(ready_at__lt=moment).order_by("-ready_at", "-number")
    names = "number", "opened_at", "ready_at", "promised_at"
    return [
        Past(number, opened, ready, promised)
        for number, opened, ready, promised in rows.values_list(*names)[:most]
        if ready is not None
    ]


def still_open(today: datetime) -> list[Past]:
    """Tickets of earlier days that were not ready when today began."""
    rows = _teaching().filter(
        Q(ready_at__isnull=True, closed_at__isnull=True) | Q(ready_at__gte=today),
        opened_at__lt=today,
    )
    return [
        Past(number, opened, today, promised, ready=False)
        for number, opened, promised in rows.order_by("number").values_list(
            "number", "opened_at", "promised_at"
        )
    ]


def _teaching() -> QuerySet[Ticket]:
    """Rush tickets and tickets with a hold teach nothing: they waited for something else."""
    return Ticket.objects.filter(
        ~Exists(Hold.objects.filter(piece__ticket=OuterRef("pk"))), rush=False
    )


def steps_since(first: datetime) -> list[Done]:
    """Steps that were open at a moment or later, by piece and order; none of a returned piece."""
    rows = (
        RouteStep.objects.filter(Q(done_at__isnull=True) | Q(done_at__gte=first))
        .exclude(piece__state=PieceState.RETURNED)
        .order_by("piece_id", "order")
        .values_list(
            "piece__ticket__number",
            "piece__ticket__opened_at",
            "piece__promised_at",
            "piece_id",
            "station",
            "minutes",
            "step",
            "settings",
            "done_at",
        )
    )
    return [
        Done(
            number,
            opened,
            promised,
            piece,
            Task(
                station,
                float(minutes),
                workloads.waits_by_settings(step, settings),
                partner=workloads.partner_service(step, settings),
            ),
            done,
        )
        for number, opened, promised, piece, station, minutes, step, settings, done in rows
    ]
