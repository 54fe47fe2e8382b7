from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from tests import building


@pytest.fixture
def oz(db: object) -> User:
    building.make_shop()
    return building.make_user("owner", "oz")


@pytest.fixture
def office(client: Client, oz: User) -> Client:
    """The owner's own browser, signed in."""
    client.force_login(oz)
    return client


@pytest.fixture
def morning() -> datetime:
    """Eight in the shop's morning, on a day to come."""
    local = timezone.localtime(timezone.now()) + timedelta(days=1)
    return local.replace(hour=8, minute=0, second=0, microsecond=0)
