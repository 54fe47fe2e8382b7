"""A shop that was opened with the first tables comes through every later change of them."""

from __future__ import annotations

from datetime import time, timedelta

import pytest
from django.core.management import call_command
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.utils import timezone

from counter.models import TicketLine
from tests import building
from tickets.models import Customer, OpeningHours, Ticket

FIRST = [("counter", "0001_initial"), ("tickets", "0001_initial")]


@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
def test_what_later_tables_ask_for_is_filled_and_mended_in_the_rows_that_are_there(
    capsys: pytest.CaptureFixture[str],
) -> None:
    building.make_shop()
    ticket = building.make_ticket(building.make_user("owner"), [building.jumper()])
    piece = ticket.pieces.get()
    TicketLine.objects.create(ticket=ticket, piece=piece, text="Clean", amount="12.50")
    before = list(ticket.pieces.values_list("code", "facts", "decision"))
    OpeningHours.objects.filter(weekday=1).update(break_from=time(12), break_until=time(13))
    try:
        first = MigrationExecutor(connection).migrate(FIRST).apps
        hours = first.get_model("tickets", "OpeningHours").objects
        hours.filter(weekday=2).update(break_from=time(12))
        hours.filter(weekday=3).update(break_until=time(13))
        came = timezone.now() - timedelta(days=400)
        first.get_model("tickets", "Customer").objects.update(created_at=came)
    finally:
        executor = MigrationExecutor(connection)
        executor.migrate(executor.loader.graph.leaf_nodes())
    ticket = Ticket.objects.get()
    assert ticket.owed_minor == 1250
    assert list(ticket.pieces.values_list("code", "facts", "decision")) == before
    breaks = OpeningHours.objects.filter(weekday__range=(1, 3)).order_by("weekday")
    assert list(breaks.values_list("break_from", "break_until")) == [
        (time(12), time(13)),
        (None, None),
        (None, None),
    ]
    assert Customer.objects.get().changed_at == came
    call_command("check_balances")
    assert capsys.readouterr().out == "All balances agree.\n"
