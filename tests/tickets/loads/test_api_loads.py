"""Loads over the API: proposed, opened, filled, run and counted out."""

from __future__ import annotations

from datetime import datetime
from functools import partial
from typing import Any

from django.contrib.auth.models import User
from rest_framework.test import APIClient

from tests import building
from tests.api_calls import V1, queries_of
from tests.bulk import copies
from tests.tickets.loads.api_steps import at_wash, dry_only, post, step, tender, white
from tickets.choices import Station
from tickets.models import Load, LoadEvent, LoadPiece, Machine, Partner, Piece
from tickets.shop.queries import read_calendar
from tickets.shop.rounds import Round

KEY = "6f0c4d52-6f3d-4f6c-9c35-0d9a4d1f2b11"


# Looking


def test_a_station_proposes_loads_and_one_of_them_opens(
    api_back: APIClient, white_shirts: list[Piece]
) -> None:
    floor = api_back.get(f"{V1}/boards/wash/loads/").json()
    assert (floor["waiting"], floor["apart"]) == (2, [])
    assert [(row["load"], row["minutes_left"]) for row in floor["machines"]] == [(None, 0)]
    [proposal] = floor["proposals"]
    assert proposal["now"] is True
    assert {row["code"] for row in proposal["pieces"]} == {row.code for row in white_shirts}
    codes = [row["code"] for row in proposal["pieces"]]
    opened = post(api_back, "loads/", machine=proposal["machine"]["id"], codes=codes)
    assert opened.status_code == 201, opened.content
    shown = opened.json()["load"]
    assert (shown["programme"], shown["fill_percent"], shown["minutes"]) == (
        proposal["programme"],
        proposal["fill_percent"],
        proposal["minutes"],
    )
    assert api_back.get(f"{V1}/boards/wash/loads/").json()["proposals"] == []


def test_only_stations_with_machines_have_loads(api_back: APIClient, db: None) -> None:
    response = api_back.get(f"{V1}/boards/press/loads/")
    assert (response.status_code, response.json()["code"]) == (404, "unknown_station")
    assert "press" in response.json()["says"]
    assert "wash, dry" in response.json()["cure"]


def test_a_load_shows_what_is_in_it_what_left_it_and_what_was_done(
    api_back: APIClient, shirt_load: Load, white_shirts: list[Piece]
) -> None:
    first, second = white_shirts
    post(api_back, f"loads/{shirt_load.pk}/off/", code=second.spoken, device="tablet 1")
    shown = api_back.get(f"{V1}/loads/{shirt_load.pk}/").json()
    assert (shown["id"], shown["station"], shown["state"]) == (shirt_load.pk, "wash", "filling")
    machine = Machine.objects.get()
    assert shown["machine"] == {"id": machine.pk, "name": "Washer 1", "kind": "washer"}
    assert shown["partner"] is None
    assert (shown["piece_count"], [row["code"] for row in shown["pieces"]]) == (1, [first.code])
    assert [(row["piece"], row["how"]) for row in shown["left"]] == [(second.code, "off")]
    assert [(e["kind"], e["piece"], e["by"], e["device"]) for e in shown["events"]] == [
        ("opened", None, "Test Backroom", ""),
        ("off", second.code, "Test Backroom", "tablet 1"),
    ]


def test_a_load_whose_piece_was_decided_anew_can_still_be_read(
    api_back: APIClient, shirt_load: Load, white_shirts: list[Piece]
) -> None:
    decision = {**white_shirts[0].decision, "outcome": "ask"}
    Piece.objects.filter(pk=white_shirts[0].pk).update(decision=decision)
    response = api_back.get(f"{V1}/loads/{shirt_load.pk}/")
    assert response.status_code == 200
    [says] = response.json()["steps"]
    assert white_shirts[0].spoken in says


def test_the_list_filters_by_station_state_machine_and_openness(
    api_back: APIClient, shirt_load: Load, api_staff: dict[str, User]
) -> None:
    second = building.make_load(api_staff["backroom"])
    step(api_back, second, "undo")

    def found(**filters: Any) -> list[int]:
        return [row["id"] for row in api_back.get(f"{V1}/loads/", filters).json()["results"]]

    machine = Machine.objects.get()
    assert found() == [second.pk, shirt_load.pk]
    assert found(station="wash") == [second.pk, shirt_load.pk]
    assert found(station="dry") == []
    assert found(state="undone") == [second.pk]
    assert found(open="true") == [shirt_load.pk]
    assert found(open="false") == [second.pk]
    assert found(machine=machine.pk) == [second.pk, shirt_load.pk]
    assert found(machine=machine.pk + 1) == []
    for name, value in (("state", "lost"), ("station", "moon"), ("machine", "x"), ("at", "1")):
        response = api_back.get(f"{V1}/loads/", {name: value})
        assert response.status_code == 400
        assert [(f["field"], f["value"]) for f in response.json()["fields"]] == [(name, value)]


def test_an_unknown_load_is_404(api_back: APIClient, white_shirts: list[Piece]) -> None:
    code = white_shirts[0].code
    answers = [api_back.get(f"{V1}/loads/99/"), post(api_back, "loads/99/in/", code=code)]
    answers += [
        post(api_back, f"loads/99/{name}/") for name in ("close", "start", "finish", "undo")
    ]
    answers += [
        post(api_back, f"loads/99/{name}/", code=code) for name in ("off", "out", "never-in")
    ]
    assert {(answer.status_code, answer.json()["code"]) for answer in answers} == {
        (404, "unknown_load")
    }
    assert LoadEvent.objects.count() == 0


# A whole run


def test_a_load_runs_from_its_opening_until_the_last_piece_is_out(
    api_back: APIClient, white_shirts: list[Piece]
) -> None:
    first, second = white_shirts
    machine = Machine.objects.get()
    opened = post(api_back, "loads/", machine=machine.pk)
    assert (opened.status_code, opened.json()["load"]["pieces"]) == (201, [])
    load = Load.objects.get()
    for piece in white_shirts:
        counted = post(api_back, f"loads/{load.pk}/in/", code=piece.spoken)
        assert (counted.status_code, counted.json()["event"]["piece"]) == (201, piece.code)
    step(api_back, load, "close", "start")
    busy = api_back.get(f"{V1}/boards/wash/loads/").json()["machines"]
    assert [row["load"] for row in busy] == [load.pk]
    step(api_back, load, "finish")
    out = post(api_back, f"loads/{load.pk}/out/", code=first.code)
    assert (out.status_code, out.json()["load"]["state"]) == (201, "finished")
    lost = post(api_back, f"loads/{load.pk}/never-in/", code=second.code)
    assert (lost.status_code, lost.json()["load"]["state"]) == (201, "emptied")
    first.refresh_from_db()
    second.refresh_from_db()
    assert (first.station, second.station) == ("dry", "wash")  # the lost one still waits
    shown = api_back.get(f"{V1}/loads/{load.pk}/").json()
    assert [(row["piece"], row["how"]) for row in shown["left"]] == [
        (first.code, "out"),
        (second.code, "never_in"),
    ]
    assert [row["kind"] for row in shown["events"]] == [
        "opened", "added", "added", "closed", "started", "finished", "out", "never_in",
    ]  # fmt: skip


def test_undo_takes_one_step_back_at_a_time(api_back: APIClient, shirt_load: Load) -> None:
    step(api_back, shirt_load, "close", "start", "finish")
    states = []
    for _ in range(4):
        states.append(post(api_back, f"loads/{shirt_load.pk}/undo/").json()["load"]["state"])
    assert states == ["running", "closed", "filling", "undone"]
    again = post(api_back, f"loads/{shirt_load.pk}/undo/")
    assert (again.status_code, again.json()["code"]) == (409, "wrong_state")


def test_a_piece_that_changes_the_programme_goes_in_only_when_that_is_agreed(
    api_back: APIClient, shirt_load: Load, api_staff: dict[str, User]
) -> None:
    [mild] = at_wash(api_staff["backroom"], tender())
    before = api_back.get(f"{V1}/loads/{shirt_load.pk}/").json()
    asked = post(api_back, f"loads/{shirt_load.pk}/in/", code=mild.code)
    assert (asked.status_code, asked.json()["code"]) == (409, "drops_programme")
    [fault] = asked.json()["fields"]
    assert fault["field"] == "programme"
    key = fault["cure"].removeprefix("Send ").removesuffix(" here to agree.")
    assert api_back.get(f"{V1}/loads/{shirt_load.pk}/").json() == before
    wrong = post(api_back, f"loads/{shirt_load.pk}/in/", code=mild.code, programme="cotton_90")
    assert (wrong.status_code, wrong.json()["fields"][0]["value"]) == (409, "cotton_90")
    agreed = post(api_back, f"loads/{shirt_load.pk}/in/", code=mild.code, programme=key)
    assert (agreed.status_code, agreed.json()["load"]["programme"]["key"]) == (201, key)
    assert before["programme"]["key"] != key


def test_a_bag_opens_for_a_partner_once(api_back: APIClient, api_staff: dict[str, User]) -> None:
    partner = Partner.objects.get()
    first = post(api_back, "loads/", partner=partner.pk, client_key=KEY)
    second = post(api_back, "loads/", partner=partner.pk, client_key=KEY)
    assert (first.status_code, second.status_code) == (201, 200), first.content
    shown = first.json()["load"]
    assert (shown["station"], shown["state"], shown["machine"]) == ("send_out", "filling", None)
    assert shown["partner"] == {"id": partner.pk, "name": partner.name}
    assert (shown["programme"], shown["steps"]) == (None, [])
    assert second.json() == {**first.json(), "repeated": True}
    [listed] = api_back.get(f"{V1}/loads/", {"station": "send_out"}).json()["results"]
    assert listed["partner"] == shown["partner"]
    empty = post(api_back, f"loads/{shown['id']}/close/")
    assert (empty.status_code, empty.json()["code"]) == (409, "empty_load")
    unknown = post(api_back, "loads/", partner=partner.pk + 1)
    assert (unknown.status_code, unknown.json()["code"]) == (404, "unknown_partner")
    assert Load.objects.count() == 1


def test_send_out_proposes_bags_and_one_of_them_runs_until_it_is_counted_out(
    api_back: APIClient, api_staff: dict[str, User]
) -> None:
    partner, crew = Partner.objects.get(), api_staff["backroom"]
    ticket = building.make_ticket(crew, [dry_only(), dry_only()])
    pieces = [building.work_until(p, Station.SEND_OUT, crew) for p in ticket.pieces.all()]
    floor = api_back.get(f"{V1}/boards/send_out/loads/").json()
    assert [floor[name] for name in ("machines", "proposals", "apart")] == [[], [], []]
    assert floor["waiting"] == 2
    [now] = floor["partners"]
    assert (now["partner"], now["gone"]) == ({"id": partner.pk, "name": "Partner"}, [])
    assert now["services"] == ["dry_clean", "wet_clean", "leather"]
    calendar = read_calendar()
    goes = datetime.fromisoformat(now["goes"])
    home = Round.of(partner).home(goes, calendar.open_on)
    assert datetime.fromisoformat(now["back"]) == home
    [bag] = floor["bags"]
    codes = [row["code"] for row in bag["pieces"]]
    assert (bag["partner"]["id"], sorted(codes)) == (partner.pk, sorted(p.code for p in pieces))
    late = [piece.code for piece in pieces if piece.promised_at < home]
    assert (sorted(bag["too_late"]), len(bag["steps"])) == (sorted(late), 2)
    opened = post(api_back, "loads/", partner=bag["partner"]["id"], codes=codes)
    assert opened.status_code == 201, opened.content
    load = Load.objects.get()
    assert opened.json()["load"]["piece_count"] == 2
    assert opened.json()["load"]["steps"] == bag["steps"]
    assert api_back.get(f"{V1}/boards/send_out/loads/").json()["bags"] == []
    step(api_back, load, "close", "start")
    [now] = api_back.get(f"{V1}/boards/send_out/loads/").json()["partners"]
    assert now["gone"] == [load.pk]
    step(api_back, load, "finish")
    for code in codes:
        assert post(api_back, f"loads/{load.pk}/out/", code=code).status_code == 201
    assert api_back.get(f"{V1}/loads/{load.pk}/").json()["state"] == "emptied"
    assert Piece.objects.filter(station=Station.SEND_OUT).count() == 0


def test_a_partner_that_never_comes_has_no_moments(api_back: APIClient, db: None) -> None:
    Partner.objects.update(collect_days=[9])
    [now] = api_back.get(f"{V1}/boards/send_out/loads/").json()["partners"]
    assert (now["goes"], now["back"]) == (None, None)


# What it costs


def test_the_bags_of_send_out_cost_the_same_for_1_and_for_10(
    api_back: APIClient, api_staff: dict[str, User]
) -> None:
    def packed(count: int) -> None:
        for piece in building.make_ticket(api_staff["backroom"], [dry_only()] * count).pieces.all():
            building.work_until(piece, Station.SEND_OUT, api_staff["backroom"])

    def cost() -> int:
        return queries_of(lambda: api_back.get(f"{V1}/boards/send_out/loads/"))

    packed(1)
    with_one = cost()
    packed(9)
    assert cost() == with_one


def test_loads_cost_the_same_for_1_and_for_30(
    api_back: APIClient, api_staff: dict[str, User]
) -> None:
    building.make_machine()
    few = building.make_load(api_staff["backroom"], at_wash(api_staff["backroom"], white()))
    paths = ("loads/", f"loads/{few.pk}/", "boards/wash/loads/")
    for_one = [queries_of(partial(api_back.get, f"{V1}/{path}")) for path in paths]
    building.make_machine("Washer 2", litres=1000)
    [piece] = at_wash(api_staff["backroom"], white())
    pieces = [piece, *copies(piece, 29)]
    full = Load.objects.create(
        machine=Machine.objects.get(name="Washer 2"), station="wash", opened_at=few.opened_at
    )
    LoadEvent.objects.create(load=full, kind="opened", at=full.opened_at, by=api_staff["backroom"])
    LoadPiece.objects.bulk_create(
        LoadPiece(load=full, piece=piece, in_at=full.opened_at) for piece in pieces
    )
    LoadEvent.objects.bulk_create(
        LoadEvent(load=full, kind="added", piece=piece, at=full.opened_at, by=api_staff["backroom"])
        for piece in pieces
    )
    for _ in range(28):
        building.make_load(api_staff["backroom"])
    assert len(api_back.get(f"{V1}/loads/").json()["results"]) == 30
    assert len(api_back.get(f"{V1}/loads/{full.pk}/").json()["pieces"]) == 30
    paths = ("loads/", f"loads/{full.pk}/", "boards/wash/loads/")
    assert [queries_of(partial(api_back.get, f"{V1}/{path}")) for path in paths] == for_one
