"""The people at the pages of these tests, each in a shop that stands ready."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.conf import settings as project
from django.contrib.auth.models import User
from django.test import Client
from pytest_django import Settings

from counter.models import IntakeDraft
from tests.building import make_customer, make_shop, make_user


@pytest.fixture
def oz(db: None) -> User:
    """The owner, whose name to sign in is oz."""
    make_shop()
    return make_user("owner", "oz")


@pytest.fixture
def owner(db: None) -> User:
    make_shop()
    return make_user("owner")


@pytest.fixture
def office(client: Client, oz: User) -> Client:
    """The owner's own browser, signed in."""
    client.force_login(oz)
    return client


@pytest.fixture
def user(db: None) -> User:
    """Somebody at the counter."""
    make_shop()
    return make_user("counter")


@pytest.fixture
def counter(user: User) -> Client:
    """The counter's browser, signed in."""
    client = Client()
    client.force_login(user, backend=project.AUTHENTICATION_BACKENDS[1])
    return client


@pytest.fixture
def draft(counter: Client) -> IntakeDraft:
    """An intake with one new piece, begun through the pages."""
    customer = make_customer()
    page = counter.post(f"/intake/start/{customer.pk}/")
    counter.post(page["Location"] + "pieces/add/", {"expected": "0"})
    return IntakeDraft.objects.get()


@pytest.fixture
def media(settings: Settings, tmp_path: Path) -> None:
    """Photos go to a folder of the test."""
    settings.MEDIA_ROOT = tmp_path
