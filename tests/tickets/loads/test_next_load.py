"""Which load the page of loads points at: one that waits for hands, before one to be opened."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from tests.building import make_load, make_machine
from tests.markup import flat
from tests.tickets.floor import at_wash, text_of, white
from tickets.acting import Act
from tickets.loads import services as loadbook
from tickets.models import Load, Piece

pytestmark = pytest.mark.django_db


def test_one_load_is_next_and_the_others_are_not_red(back: Client, crew: User) -> None:
    """A load that waits to be started comes before one that waits to be opened."""
    [packed, *_rest] = at_wash(crew, white(), white())
    make_machine()
    opened = back.get("/loads/wash/").content.decode()
    assert (opened.count('class="act"'), "Open this load" in opened) == (1, True)
    load = make_load(crew, [packed])
    loadbook.close(load.pk, Act(by=crew))
    page = flat(back.get("/loads/wash/").content.decode())
    reds = re.findall(r'<(?:a|button) class="act"[^>]*> ?(.*?) ?<', page)
    assert reds == [f"Start load {load.pk}"]


def test_an_open_load_with_a_late_piece_says_so(back: Client, crew: User) -> None:
    load = make_load(crew, at_wash(crew, white()))
    line = f"Load {load.pk} Being filled"
    assert f"{line} Late" not in text_of(back.get("/loads/wash/"))
    Piece.objects.update(promised_at=timezone.now() - timedelta(hours=1))
    assert f"{line} Late" in text_of(back.get("/loads/wash/"))


def test_a_run_whose_time_is_over_asks_to_be_finished_and_then_emptied(
    back: Client, crew: User
) -> None:
    load = make_load(crew, at_wash(crew, white()))
    loadbook.close(load.pk, Act(by=crew))
    loadbook.start(load.pk, Act(by=crew))
    assert f"Busy Load {load.pk}" in text_of(back.get("/loads/wash/"))
    Load.objects.update(ends_at=timezone.now() - timedelta(minutes=1))
    assert f"Time is over Finish load {load.pk}" in text_of(back.get("/loads/wash/"))
    loadbook.finish(load.pk, Act(by=crew))
    assert f"Run is over Empty load {load.pk}" in text_of(back.get("/loads/wash/"))
