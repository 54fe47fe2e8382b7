"""What the pages of loads say of a machine that waits and of how full a load is."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from django.test import Client

from tests.building import make_load
from tests.tickets.floor import act, at_wash, text_of, white
from tickets.loads import services as loadbook

pytestmark = pytest.mark.django_db


def test_a_washer_with_a_closed_load_waits_to_start_and_is_not_free(
    back: Client, crew: User
) -> None:
    load = make_load(crew, at_wash(crew, white(), white()))
    assert "Washer 1 Free" in text_of(back.get("/loads/wash/"))
    loadbook.close(load.pk, act(crew))
    page = text_of(back.get("/loads/wash/"))
    assert f"Washer 1 Waits to start Start load {load.pk}" in page
    assert "Washer 1 Free" not in page


def test_how_full_a_load_is_stands_as_a_bar_and_in_words(back: Client, crew: User) -> None:
    """A drum that 440 g fill to so many percent holds about 44 kg parted by that."""
    load = make_load(crew, at_wash(crew, white(), white()))
    load.refresh_from_db()
    about = max(1, round(load.grams / load.fill_percent / 10))
    words = f"{load.fill_percent} % full, 0.4 of about {about} kg dry"
    for path in ("/loads/wash/", f"/load/{load.pk}/"):
        page = back.get(path)
        assert words in text_of(page), path
        bar = page.content.decode().partition('class="fill-bar"')[2].partition("</svg>")[0]
        assert f'class="ink" width="{load.fill_percent}%"' in bar, path
