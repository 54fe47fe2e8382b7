"""Customers over the API: found by the end of the phone or a part of the name, made once."""

from __future__ import annotations

import pytest
from rest_framework.test import APIClient

from tests import building
from tests.api_calls import V1
from tickets.models import Customer

NEW = {"name": "  Zoë   Marlow ", "phone": "07700 900123", "email": "zoe@example.org"}


def test_a_customer_is_made_and_read_back(api_counter: APIClient) -> None:
    response = api_counter.post(f"{V1}/customers/", NEW)
    assert response.status_code == 201
    assert response.json() == {
        "id": response.json()["id"],
        "name": "Zoë Marlow",
        "phone": "+447700900123",
        "email": "zoe@example.org",
        "address_line": "",
        "may_message": False,
        "fragrance_free": False,
        "no_softener": False,
        "notes": "",
    }
    assert api_counter.get(f"{V1}/customers/{response.json()['id']}/").json() == response.json()


def test_the_very_same_customer_is_not_doubled(api_counter: APIClient) -> None:
    first, second = (
        api_counter.post(f"{V1}/customers/", NEW),
        api_counter.post(f"{V1}/customers/", NEW),
    )
    assert (first.status_code, second.status_code) == (201, 200)
    assert first.json() == second.json()
    assert Customer.objects.count() == 1


def test_a_namesake_with_another_phone_is_somebody_else(api_counter: APIClient) -> None:
    api_counter.post(f"{V1}/customers/", NEW)
    assert api_counter.post(f"{V1}/customers/", {**NEW, "phone": "07700 900124"}).status_code == 201


@pytest.mark.parametrize("query", ["0123", "zoe", "Marl", "zo mar"])
def test_a_part_of_phone_or_name_finds_them(api_counter: APIClient, query: str) -> None:
    api_counter.post(f"{V1}/customers/", NEW)
    building.make_customer("Bob Ashdown", "07700 900456")
    listing = api_counter.get(f"{V1}/customers/", {"search": query}).json()
    assert [row["name"] for row in listing["results"]] == ["Zoë Marlow"]


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"phone": "12"}, "bad_phone"),
        ({"name": "…"}, "no_name"),
        ({"name": ""}, "invalid"),
        ({"email": "at home"}, "invalid"),
        ({"name": ["a"]}, "invalid"),
        ({"name": "x" * 121}, "invalid"),
        ({"may_message": "perhaps"}, "invalid"),
    ],
)
def test_what_makes_no_customer_is_refused(
    api_counter: APIClient, changes: dict[str, object], code: str
) -> None:
    response = api_counter.post(f"{V1}/customers/", {**NEW, **changes})
    assert (response.status_code, response.json()["code"]) == (400, code)
    assert Customer.objects.count() == 0


def test_an_unknown_customer_is_404(api_counter: APIClient) -> None:
    for pk in (999, 10**30):
        for response in (
            api_counter.get(f"{V1}/customers/{pk}/"),
            api_counter.patch(f"{V1}/customers/{pk}/", {"name": "Ada"}),
        ):
            assert response.status_code == 404
            assert response.json() == {
                "code": "unknown_customer",
                "says": f"There is no customer {pk}.",
                "cure": "Search by phone or name in customers/.",
            }


def test_a_change_touches_what_is_sent_and_is_found_again(api_counter: APIClient) -> None:
    made = api_counter.post(f"{V1}/customers/", NEW).json()
    path, sent = f"{V1}/customers/{made['id']}/", {"name": "Zoë Ashdown", "may_message": True}
    first, second = api_counter.patch(path, sent), api_counter.patch(path, sent)
    assert (first.status_code, second.status_code) == (200, 200)
    assert first.json() == second.json() == {**made, **sent}
    assert api_counter.patch(path, {"phone": "07700 900124"}).json()["phone"] == "+447700900124"

    def found(query: str) -> int:
        return int(api_counter.get(f"{V1}/customers/", {"search": query}).json()["count"])

    assert [found(query) for query in ("ashdown", "marlow", "0124", "0123")] == [1, 0, 1, 0]


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"phone": "12"}, "bad_phone"),
        ({"name": "…"}, "no_name"),
        ({"email": "at home"}, "invalid"),
        ({"may_mesage": True}, "invalid"),
    ],
)
def test_a_change_that_cannot_be_changes_nothing(
    api_counter: APIClient, changes: dict[str, object], code: str
) -> None:
    made = api_counter.post(f"{V1}/customers/", NEW).json()
    response = api_counter.patch(f"{V1}/customers/{made['id']}/", {"notes": "new", **changes})
    assert (response.status_code, response.json()["code"]) == (400, code)
    assert api_counter.get(f"{V1}/customers/{made['id']}/").json() == made


def test_wishes_for_the_wash_are_kept_and_changed(api_counter: APIClient) -> None:
    wishes = {"fragrance_free": True, "no_softener": True}
    made = api_counter.post(f"{V1}/customers/", {**NEW, **wishes})
    assert (made.status_code, made.json() | wishes) == (201, made.json())
    path = f"{V1}/customers/{made.json()['id']}/"
    changed = api_counter.patch(path, {"no_softener": False}).json()
    assert (changed["fragrance_free"], changed["no_softener"]) == (True, False)
    kept = Customer.objects.get()
    assert (kept.fragrance_free, kept.no_softener) == (True, False)


def test_a_search_finds_more_than_one_page(api_counter: APIClient) -> None:
    for number in range(30):
        building.make_customer(phone=f"01632 9602{number:02d}")
    page = api_counter.get(f"{V1}/customers/", {"search": "ada", "page_size": "25"}).json()
    assert (page["count"], len(page["results"])) == (30, 25)
    assert len(api_counter.get(page["next"]).json()["results"]) == 5
