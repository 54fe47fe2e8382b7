"""Steps of a load over the API: made once, refused out of turn, and nothing half-saved."""

from __future__ import annotations

from typing import Any

import pytest
from django.contrib.auth.models import User
from rest_framework.test import APIClient

from tests import building
from tests.api_calls import V1, fresh_key
from tests.tickets.loads.api_steps import post, step, white
from tickets.models import Load, LoadEvent, Machine, Piece

KEY = "6f0c4d52-6f3d-4f6c-9c35-0d9a4d1f2b11"


def state(load: Load) -> str:
    return Load.objects.get(pk=load.pk).state


@pytest.mark.parametrize(
    ("name", "before", "sends_code"),
    [
        ("close", (), False),
        ("start", ("close",), False),
        ("finish", ("close", "start"), False),
        ("undo", ("close",), False),
        ("off", (), True),
        ("out", ("close", "start", "finish"), True),
        ("never-in", ("close", "start", "finish"), True),
    ],
)
def test_a_step_sent_twice_is_made_once(
    api_back: APIClient,
    shirt_load: Load,
    white_shirts: list[Piece],
    name: str,
    before: tuple[str, ...],
    sends_code: bool,
) -> None:
    step(api_back, shirt_load, *before)
    events = LoadEvent.objects.count()
    sent = {"code": white_shirts[0].code} if sends_code else {}
    first = post(api_back, f"loads/{shirt_load.pk}/{name}/", client_key=KEY, **sent)
    second = post(api_back, f"loads/{shirt_load.pk}/{name}/", client_key=KEY, **sent)
    assert (first.status_code, second.status_code) == (201, 200), first.content
    assert second.json() == {**first.json(), "repeated": True}
    assert LoadEvent.objects.count() == events + 1
    moves = {"out": 1}.get(name, 0)
    assert white_shirts[0].moves.filter(client_key=KEY).count() == moves


def test_opening_and_counting_in_twice_are_done_once(
    api_back: APIClient, white_shirts: list[Piece]
) -> None:
    machine = Machine.objects.get()
    sent = {"machine": machine.pk, "codes": [white_shirts[0].code], "client_key": KEY}
    first, second = post(api_back, "loads/", **sent), post(api_back, "loads/", **sent)
    assert (first.status_code, second.status_code) == (201, 200)
    assert second.json() == {**first.json(), "repeated": True}
    [load] = Load.objects.all()
    path, key = f"loads/{load.pk}/in/", fresh_key()
    first = post(api_back, path, code=white_shirts[1].code, client_key=key)
    second = post(api_back, path, code=white_shirts[1].code, client_key=key)
    assert (first.status_code, second.status_code) == (201, 200)
    assert load.contents.count() == 2
    anew = post(api_back, path, code=white_shirts[1].code)
    assert (anew.status_code, anew.json()["code"]) == (409, "in_a_load")


def test_a_key_of_something_else_is_refused(
    api_back: APIClient, shirt_load: Load, white_shirts: list[Piece], api_staff: dict[str, User]
) -> None:
    other = building.make_load(api_staff["backroom"])
    assert post(api_back, f"loads/{shirt_load.pk}/close/", client_key=KEY).status_code == 201
    held = fresh_key()
    assert (
        post(
            api_back,
            f"pieces/{white_shirts[0].code}/hold/",
            reason="r",
            ask_again_on="2999-01-01",
            client_key=held,
        ).status_code
        == 201
    )
    path = f"loads/{shirt_load.pk}"
    answers = [
        post(api_back, f"loads/{other.pk}/close/", client_key=KEY),
        post(api_back, f"{path}/undo/", client_key=KEY),
        post(api_back, f"{path}/off/", code=white_shirts[0].code, client_key=KEY),
        post(api_back, "loads/", machine=shirt_load.machine_id, client_key=KEY),
        post(api_back, f"{path}/undo/", client_key=held),  # the key of a move
    ]
    assert {(answer.status_code, answer.json()["code"]) for answer in answers} == {
        (409, "key_used")
    }
    assert (state(shirt_load), state(other)) == ("closed", "filling")


# Refused


@pytest.mark.parametrize(
    ("name", "before", "code"),
    [
        ("start", (), "wrong_state"),
        ("finish", ("close",), "wrong_state"),
        ("close", ("close",), "wrong_state"),
        ("out", (), "wrong_state"),
        ("never-in", ("close", "start"), "wrong_state"),
        ("off", ("close",), "wrong_state"),
        ("in", ("close",), "wrong_state"),
    ],
)
def test_a_step_out_of_turn_changes_nothing(
    api_back: APIClient,
    shirt_load: Load,
    white_shirts: list[Piece],
    name: str,
    before: tuple[str, ...],
    code: str,
) -> None:
    step(api_back, shirt_load, *before)
    shown = api_back.get(f"{V1}/loads/{shirt_load.pk}/").json()
    sent = {"code": white_shirts[0].code} if name in ("in", "off", "out", "never-in") else {}
    response = post(api_back, f"loads/{shirt_load.pk}/{name}/", **sent)
    assert (response.status_code, response.json()["code"]) == (409, code)
    assert str(shirt_load.pk) in response.json()["says"]
    assert response.json()["cure"]
    assert api_back.get(f"{V1}/loads/{shirt_load.pk}/").json() == shown


@pytest.mark.parametrize(
    ("changes", "fields"),
    [
        ({"machine": "big"}, [("machine", "big")]),
        ({"machine": 0}, [("machine", 0)]),
        ({"codes": ["shirt"]}, [("codes[0]", "shirt")]),
        ({"codes": ["1000001-01", "1000001", "1"]}, [("codes[1]", "1000001"), ("codes[2]", "1")]),
        ({"codes": "1000001-01"}, [("codes", "1000001-01")]),
        ({"client_key": "k"}, [("client_key", "k")]),
        ({"machin": 1}, [("machin", 1)]),
    ],
)
def test_a_load_of_wrong_input_is_not_opened(
    api_back: APIClient,
    white_shirts: list[Piece],
    changes: dict[str, Any],
    fields: list[tuple[str, Any]],
) -> None:
    sent = {"machine": Machine.objects.get().pk, "codes": [], **changes}
    response = post(api_back, "loads/", **sent)
    assert response.status_code == 400, response.content
    assert [(f["field"], f["value"]) for f in response.json()["fields"]] == fields
    assert all(fault["cure"] for fault in response.json()["fields"])
    assert Load.objects.count() == 0


def test_a_load_goes_into_a_machine_or_to_a_partner_never_both(
    api_back: APIClient, white_shirts: list[Piece]
) -> None:
    machine = Machine.objects.get().pk
    response = post(api_back, "loads/", machine=machine, partner=1, codes=[])
    assert response.status_code == 400
    fields = response.json()["fields"]
    assert [(fault["field"], fault["value"]) for fault in fields] == [("machine", machine)]
    assert fields[0]["cure"]
    assert Load.objects.count() == 0


def test_a_load_opens_with_all_its_pieces_or_not_at_all(
    api_back: APIClient, white_shirts: list[Piece], api_staff: dict[str, User]
) -> None:
    machine = Machine.objects.get()
    early = building.make_ticket(api_staff["counter"], [white()]).pieces.get()
    answers = [
        post(api_back, "loads/", machine=machine.pk, codes=[white_shirts[0].code, early.code]),
        post(api_back, "loads/", machine=machine.pk, codes=[white_shirts[0].code, "1999999-01"]),
        post(api_back, "loads/", machine=machine.pk + 1, codes=[white_shirts[0].code]),
    ]
    assert [(answer.status_code, answer.json()["code"]) for answer in answers] == [
        (409, "not_here"),
        (404, "unknown_piece"),
        (404, "unknown_machine"),
    ]
    assert (Load.objects.count(), LoadEvent.objects.count()) == (0, 0)


def test_a_piece_that_cannot_be_read_is_404(api_back: APIClient, shirt_load: Load) -> None:
    for code, expected in (("shirt", "unknown_number"), ("1999999-01", "unknown_piece")):
        response = post(api_back, f"loads/{shirt_load.pk}/in/", code=code)
        assert (response.status_code, response.json()["code"]) == (404, expected)
    missing = post(api_back, f"loads/{shirt_load.pk}/in/")
    assert [fault["field"] for fault in missing.json()["fields"]] == ["code"]
