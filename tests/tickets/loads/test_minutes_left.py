"""The page of a running load says the minutes left, and after them the minutes over."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from tests.tickets.floor import at_wash, running, white
from tickets.models import Load


@pytest.mark.parametrize(
    ("seconds", "left", "over"),
    [(600, 10, 0), (630, 11, 0), (30, 1, 0), (0, 0, 0), (-59, 0, 0), (-60, 0, 1), (-600, 0, 10)],
)
def test_minutes_left_and_over(
    back: Client, crew: User, seconds: int, left: int, over: int
) -> None:
    load = running(crew, at_wash(crew, white()))
    Load.objects.filter(pk=load.pk).update(
        ends_at=timezone.now() + timedelta(seconds=seconds), state="running"
    )
    page = back.get(f"/load/{load.pk}/").context
    assert (page["left"], page["over"]) == (left, over)
