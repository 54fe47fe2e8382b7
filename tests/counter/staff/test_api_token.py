"""Signing in for a token, and what stops guessing."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.cache import cache
from rest_framework.test import APIClient

from tests.api_calls import V1


@pytest.fixture(autouse=True)
def _no_earlier_guesses() -> Iterator[None]:
    cache.clear()
    yield
    cache.clear()


def ask(name: str = "test-counter", said: str = "pw", **more: Any) -> Any:
    return APIClient().post(f"{V1}/token/", {"username": name, "password": said}, **more)


def test_a_right_password_gives_a_token_that_opens_the_api(api_staff: dict[str, User]) -> None:
    response = ask()
    assert response.status_code == 200
    client = APIClient(HTTP_AUTHORIZATION=f"Token {response.json()['token']}")
    assert client.get(f"{V1}/tickets/").status_code == 200


def test_asking_twice_gives_the_same_token(api_staff: dict[str, User]) -> None:
    assert ask().json() == ask().json()


def test_a_token_writes_without_a_csrf_token(api_staff: dict[str, User]) -> None:
    client = APIClient(
        enforce_csrf_checks=True, HTTP_AUTHORIZATION=f"Token {ask().json()['token']}"
    )
    assert client.post(f"{V1}/decide/", {}).status_code == 200


def test_a_token_keeps_its_owner_to_their_role(api_staff: dict[str, User]) -> None:
    token = ask("test-backroom").json()["token"]
    client = APIClient(HTTP_AUTHORIZATION=f"Token {token}")
    assert client.get(f"{V1}/customers/").status_code == 403


def test_a_token_of_somebody_who_left_opens_nothing(api_staff: dict[str, User]) -> None:
    token = ask().json()["token"]
    User.objects.filter(username="test-counter").update(is_active=False)
    client = APIClient(HTTP_AUTHORIZATION=f"Token {token}")
    assert client.get(f"{V1}/tickets/").status_code == 401
    assert ask().status_code == 401


@pytest.mark.parametrize("token", ["", "Token", "Token nothing", "Token a b", "Token \xff"])
def test_a_wrong_token_is_401(db: None, token: str) -> None:
    response = APIClient(HTTP_AUTHORIZATION=token).get(f"{V1}/tickets/")
    assert response.status_code == 401


def test_a_wrong_password_says_no_more_than_that(api_staff: dict[str, User]) -> None:
    wrong, stranger = ask(said="no"), ask(name="nobody")
    assert wrong.status_code == stranger.status_code == 401
    assert wrong.json() == stranger.json()
    assert wrong.json()["says"] == "The name or the password is not right."


def test_a_missing_field_is_named(db: None) -> None:
    response = APIClient().post(f"{V1}/token/", {"username": "x"})
    assert response.status_code == 400
    assert response.json()["fields"] == [
        {"field": "password", "value": None, "cure": "This field is required."}
    ]


def test_a_password_is_never_sent_back(db: None) -> None:
    response = ask(said="secret" * 30)
    assert response.status_code == 400
    assert [(fault["field"], fault["value"]) for fault in response.json()["fields"]] == [
        ("password", None)
    ]
    assert "secret" not in response.content.decode()


def test_getting_is_no_way_to_a_token(db: None) -> None:
    assert APIClient().get(f"{V1}/token/").status_code == 405


def test_eight_wrong_passwords_lock_the_name_and_no_other(
    api_staff: dict[str, User], settings: Any
) -> None:
    settings.AXES_ENABLED = True
    for _attempt in range(7):
        assert ask(said="no").status_code == 401
    assert ask(said="no").status_code in (401, 429)  # the eighth closes the door
    locked = ask()
    assert locked.status_code == 429
    assert locked.json()["code"] == "throttled"
    assert ask("test-backroom").status_code == 200


def test_one_address_has_thirty_tries_a_minute_over_all_names(api_staff: dict[str, User]) -> None:
    answers = [ask(name=f"nobody-{number}").status_code for number in range(31)]
    assert answers == [401] * 30 + [429]
