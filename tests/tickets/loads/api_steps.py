"""Pieces that wait for a washer, and short ways to send the steps of a load."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.models import User
from rest_framework.test import APIClient

from counter.models import Shop
from tests import building
from tests.api_calls import V1, fresh_key
from tickets.choices import Station
from tickets.models import Load, Piece


def white(**changes: Any) -> dict[str, Any]:
    """Facts of a white cotton shirt without a stain: washes at 60 °C."""
    return building.shirt(stains=[], **changes)


def tender() -> dict[str, Any]:
    """A white shirt whose label asks for 30 °C, very mild."""
    label = {**white()["label"], "symbols": ["wash_30_very_mild", "no_bleach", "tumble_low"]}
    return white(label=label)


def dry_only() -> dict[str, Any]:
    """A wool jacket whose label allows dry cleaning alone: it goes to a partner."""
    label = {
        **building.jumper()["label"],
        "symbols": ["no_wash", "no_bleach", "no_tumble", "dry_clean_p"],
    }
    shop = Shop.current().abilities
    return building.jumper(kind="suit_jacket", construction="woven", label=label, shop=shop)


def at_wash(by: User, *facts: dict[str, Any]) -> list[Piece]:
    ticket = building.make_ticket(by, facts)
    pieces = ticket.pieces.order_by("position")
    return [building.work_until(piece, Station.WASH, by) for piece in pieces]


def post(client: APIClient, path: str, **sent: Any) -> Any:
    return client.post(f"{V1}/{path}", {"client_key": fresh_key(), **sent})


def step(client: APIClient, load: Load, *names: str) -> None:
    for name in names:
        response = post(client, f"loads/{load.pk}/{name}/")
        assert response.status_code == 201, response.content
