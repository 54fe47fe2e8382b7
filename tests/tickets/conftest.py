from __future__ import annotations

from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client

from counter.roles import BACKROOM, COUNTER, OWNER
from tests import building


@pytest.fixture
def crew(db: Any) -> User:
    """A person of the back room, in a shop that stands ready."""
    building.make_shop()
    return building.make_user(BACKROOM)


@pytest.fixture
def back(crew: User) -> Client:
    """A signed-in tablet of the back room."""
    client = Client()
    client.force_login(crew)
    return client


@pytest.fixture
def desk(crew: User) -> Client:
    client = Client()
    client.force_login(building.make_user(COUNTER))
    return client


@pytest.fixture
def boss(crew: User) -> Client:
    client = Client()
    client.force_login(building.make_user(OWNER))
    return client


@pytest.fixture
def user(db: Any) -> User:
    """The owner, in a shop that stands ready."""
    building.make_shop()
    return building.make_user(OWNER)
