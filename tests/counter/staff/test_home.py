"""Signing in, switching by PIN, signing out, and the door that each role enters by."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.test import Client
from time_machine import Traveller

from counter.models import StaffProfile
from counter.staff.services import add_person, pins
from tests import building
from tickets.errors import Refused

RIGHT, WRONG = "2468", "1111"


@pytest.fixture
def staff(db: Any) -> dict[str, User]:
    building.make_shop()
    return {role: building.make_user(role) for role in ("counter", "backroom", "owner")}


@pytest.fixture
def tablet(staff: dict[str, User]) -> Client:
    """A shared tablet where the back room is signed in."""
    client = Client()
    client.force_login(staff["backroom"])
    return client


def who(client: Client) -> str:
    return User.objects.get(pk=client.session["_auth_user_id"]).username


def refusal_of(person: User, pin: str) -> str:
    with pytest.raises(Refused) as refusal:
        pins.check(person, pin)
    return refusal.value.code


def sign_in(client: Client, name: str = "test-counter", said: str = "pw", **more: str) -> Any:
    return client.post("/login/", {"username": name, "password": said, **more})


@pytest.mark.parametrize(
    ("role", "door"), [("counter", "/desk/"), ("backroom", "/boards/"), ("owner", "/owner/")]
)
def test_each_role_comes_home_to_its_own_door(staff: dict[str, User], role: str, door: str) -> None:
    client = Client()
    assert sign_in(client, f"test-{role}")["Location"] == "/"
    assert client.get("/")["Location"] == door


def test_signing_in_leads_to_the_page_that_was_asked_for(staff: dict[str, User]) -> None:
    assert sign_in(Client(), next="/customers/new/")["Location"] == "/customers/new/"
    assert sign_in(Client(), next="https://evil.example.org/")["Location"] == "/"


def test_a_wrong_password_signs_nobody_in(staff: dict[str, User]) -> None:
    client = Client()
    response = sign_in(client, said="no")
    assert response.status_code == 200
    assert "_auth_user_id" not in client.session


def test_eight_wrong_passwords_lock_the_name_and_no_other(
    staff: dict[str, User], settings: Any
) -> None:
    settings.AXES_ENABLED = True
    answers = [sign_in(Client(), said="no").status_code for _ in range(8)]
    assert answers[:7] == [200] * 7
    locked = sign_in(Client())
    assert locked.status_code == 429
    assert "counter/staff/locked_out.html" in [template.name for template in locked.templates]
    assert sign_in(Client(), "test-owner")["Location"] == "/"


def test_a_person_without_a_password_signs_in_by_pin_only(staff: dict[str, User]) -> None:
    add_person("pin-only", "backroom", pin=RIGHT)
    assert sign_in(Client(), "pin-only", said="").status_code == 200
    pins.check(User.objects.get(username="pin-only"), RIGHT)


def test_anybody_signed_in_can_sign_out_even_without_a_role(db: None) -> None:
    client = Client()
    client.force_login(User.objects.create_user("new"))
    assert client.get("/").status_code == 403
    assert client.post("/logout/")["Location"] == "/login/"
    assert "_auth_user_id" not in client.session
    assert client.post("/logout/")["Location"] == "/login/"  # done twice


def test_the_switch_page_offers_active_people_with_a_role_and_a_pin(
    tablet: Client, staff: dict[str, User]
) -> None:
    add_person("no-pin", "counter")
    gone = add_person("gone", "counter", pin=RIGHT)
    User.objects.filter(pk=gone.pk).update(is_active=False)
    User.objects.create_user("no-role")
    offered = tablet.get("/switch/").context["people"]
    assert sorted(user.username for user in offered) == [
        "test-backroom",
        "test-counter",
        "test-owner",
    ]


def test_people_stand_by_their_first_names(tablet: Client, staff: dict[str, User]) -> None:
    names = {"counter": "Cleo", "backroom": "Abel", "owner": "Bea"}
    for role, name in names.items():
        User.objects.filter(pk=staff[role].pk).update(first_name=name)
    offered = tablet.get("/switch/").context["people"]
    assert [user.first_name for user in offered] == ["Abel", "Bea", "Cleo"]


def test_a_right_pin_switches_the_person(tablet: Client, staff: dict[str, User]) -> None:
    response = tablet.post(f"/switch/{staff['counter'].pk}/", {"pin": RIGHT, "next": "/boards/"})
    assert response["Location"] == "/boards/"
    assert who(tablet) == "test-counter"
    assert "You are Test Counter now." in tablet.get("/boards/").content.decode()


def test_switching_twice_to_the_same_person_is_as_good_as_once(
    tablet: Client, staff: dict[str, User]
) -> None:
    for _ in range(2):
        assert tablet.post(f"/switch/{staff['owner'].pk}/", {"pin": RIGHT})["Location"] == "/"
    assert who(tablet) == "test-owner"


def test_the_way_on_after_a_switch_stays_in_the_shop(
    tablet: Client, staff: dict[str, User]
) -> None:
    path = f"/switch/{staff['counter'].pk}/"
    for target in ("https://evil.example.org/", "//evil.example.org/", "javascript:alert(1)"):
        assert tablet.post(path, {"pin": RIGHT, "next": target})["Location"] == "/"


@pytest.mark.parametrize("pin", [WRONG, "", "12", "123456789", "２４６８", "24 68", "a' OR 1"])
def test_a_wrong_pin_changes_nobody(tablet: Client, staff: dict[str, User], pin: str) -> None:
    response = tablet.post(f"/switch/{staff['counter'].pk}/", {"pin": pin})
    assert response.status_code == 200
    assert response.context["form"].errors["pin"]
    assert who(tablet) == "test-backroom"


def test_nobody_and_strangers_cannot_be_switched_to(tablet: Client, staff: dict[str, User]) -> None:
    stranger = add_person("no-pin", "owner")
    for pk in (stranger.pk, 10**9):
        assert tablet.post(f"/switch/{pk}/", {"pin": RIGHT})["Location"] == "/switch/"
    assert who(tablet) == "test-backroom"


def test_signed_out_no_pin_opens_anything(staff: dict[str, User]) -> None:
    client = Client()
    response = client.post(f"/switch/{staff['owner'].pk}/", {"pin": RIGHT})
    assert response["Location"].startswith("/login/")
    assert "_auth_user_id" not in client.session


def test_five_wrong_pins_lock_that_person_for_ten_minutes_and_no_other(
    tablet: Client, staff: dict[str, User]
) -> None:
    path = f"/switch/{staff['owner'].pk}/"
    said = [str(tablet.post(path, {"pin": WRONG}).context["form"].errors) for _ in range(5)]
    assert ["not right" in words for words in said] == [True] * 4 + [False]
    assert "locked until" in said[4]

    refused = tablet.post(path, {"pin": RIGHT})  # the right one comes too late
    assert "locked until" in str(refused.context["form"].errors)
    assert who(tablet) == "test-backroom"

    other = tablet.post(f"/switch/{staff['counter'].pk}/", {"pin": RIGHT})
    assert other["Location"] == "/"


def test_after_ten_minutes_five_tries_are_free_again(
    staff: dict[str, User], clock: Traveller
) -> None:
    owner = staff["owner"]
    codes = [refusal_of(owner, WRONG) for _ in range(5)]
    assert codes == ["wrong_pin"] * 4 + ["pin_locked"]
    clock.shift(timedelta(minutes=9, seconds=55))
    assert refusal_of(owner, RIGHT) == "pin_locked"
    clock.shift(timedelta(seconds=6))
    assert [refusal_of(owner, WRONG) for _ in range(4)] == ["wrong_pin"] * 4
    pins.check(owner, RIGHT)
    profile = StaffProfile.objects.get(user=owner)
    assert (profile.failed_pins, profile.locked_until) == (0, None)


def test_a_person_without_a_pin_is_sent_to_the_password(staff: dict[str, User]) -> None:
    assert refusal_of(add_person("no-pin", "owner"), RIGHT) == "no_pin"
    assert refusal_of(User.objects.create_user("no-profile"), RIGHT) == "no_pin"


def test_a_right_pin_forgets_earlier_failures(staff: dict[str, User]) -> None:
    for _ in range(3):
        for _ in range(4):
            with pytest.raises(Refused):
                pins.check(staff["owner"], WRONG)
        pins.check(staff["owner"], RIGHT)


@pytest.mark.parametrize("pin", ["123", "123456789", "12a4", "", "１２３４", " 1234"])
def test_a_pin_is_four_to_eight_digits(pin: str) -> None:
    with pytest.raises(ValidationError):
        StaffProfile().set_pin(pin)


def test_a_pin_is_kept_as_a_hash_only(staff: dict[str, User]) -> None:
    assert RIGHT not in StaffProfile.objects.get(user=staff["owner"]).pin_hash
