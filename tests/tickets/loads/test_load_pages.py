"""The pages of loads: what they show, who may do what, and that twice is once."""

from __future__ import annotations

import re
import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from tests.building import known, make_load, make_machine, make_ticket
from tests.bulk import copies
from tests.markup import flat
from tests.tickets.floor import at_wash, count_queries, running, tender, text_of, white
from tests.tickets.printing import reading
from tickets.acting import Act
from tickets.choices import MoveKind, Station
from tickets.loads import services as loadbook
from tickets.models import Load, LoadEvent, LoadPiece, Machine, Move, Partner, Piece, Programme
from tickets.models.machines import LoadState

pytestmark = pytest.mark.django_db


def scan(client: Client, load: Load, line: str, key: str | None = None, **more: Any) -> str:
    """What the load's page says after a line."""
    path = f"/load/{load.pk}/scan/"
    answer = client.post(path, {"line": line, "key": key or str(uuid.uuid4())}, **more)
    assert answer.status_code == 302
    return text_of(client.get(f"/load/{load.pk}/"))


def key_of_proposal(page: str) -> dict[str, str]:
    form = re.search(r"<form[^>]*action=\"/loads/wash/open/\">(.*?name=\"codes\".*?)</form>", page)
    assert form, "no proposal on the page"
    return dict(re.findall(r'name="(key|machine|codes)" value="([^"]*)"', form[1]))


def test_the_page_proposes_a_load_with_reason_programme_fill_and_estimates(
    back: Client, crew: User
) -> None:
    sturdy, gentle = at_wash(crew, white(), tender())
    make_machine()
    page = text_of(back.get("/loads/wash/"))
    assert "To run now Washer 1 2 pieces" in page
    assert "30 °C Wool 30, very mild" in page
    assert re.search(r"\d+ % full, 0[.]4 of about \d+ kg dry", page)
    # 0.44 kg at 15 l a kg; 8 l a kg of it warmed by 18 K with the cloth: 0.074 and 0.003 kWh.
    assert "about 35 minutes · 7 litres · 0.08 kWh" in page
    assert f"30 °C, very mild because of {gentle.spoken}." in page
    assert "estimates from trade figures, not measured" in page
    assert "Washer 1 Free" in page
    assert sturdy.spoken in page


def test_late_is_said_at_the_late_piece_alone(back: Client, crew: User) -> None:
    late, due = at_wash(crew, white(), white())
    make_machine()
    Piece.objects.filter(pk=late.pk).update(promised_at=timezone.now() - timedelta(hours=1))
    page = back.get("/loads/wash/").content.decode()
    rows = re.findall(r'<li class="load-piece">.*?</li>', page, flags=re.S)
    marked = {late.spoken: True, due.spoken: False}
    assert {code: "Late" in row for row in rows for code in marked if code in row} == marked


def test_the_boards_of_wash_and_dry_lead_to_their_loads(back: Client, crew: User) -> None:
    for station, leads in (("wash", True), ("dry", True), ("press", False)):
        page = back.get(f"/boards/{station}/").content.decode()
        assert (f'href="/loads/{station}/"' in page) is leads
    answer = back.post("/boards/wash/scan/", {"line": "loads", "key": str(uuid.uuid4())})
    assert answer.headers["Location"] == "/loads/wash/"


def test_a_station_without_machines_says_who_adds_them(back: Client, crew: User) -> None:
    at_wash(crew, white())
    page = text_of(back.get("/loads/wash/"))
    assert "The owner adds machines under Shop." in page
    assert back.get("/loads/press/").status_code == 404
    assert back.get("/load/7/").status_code == 404


def test_a_proposal_opens_by_its_button_once(back: Client, crew: User) -> None:
    pieces = at_wash(crew, white(), white())
    make_machine()
    sent = key_of_proposal(flat(back.get("/loads/wash/").content.decode()))
    assert sorted(sent["codes"].split()) == sorted(piece.code for piece in pieces)
    for _ in range(2):
        answer = back.post("/loads/wash/open/", sent)
        assert answer.headers["Location"] == f"/load/{Load.objects.get().pk}/"
    page = text_of(back.get(answer.headers["Location"]))
    assert "is open: 2 pieces." in page
    assert "Being filled" in page
    assert "2 pieces in it" in page


def test_a_scanned_tag_opens_the_load_it_is_proposed_for(back: Client, crew: User) -> None:
    pieces = at_wash(crew, white(), white())
    make_machine()
    for _ in range(2):  # the second scan leads to the load that is open
        sent = {"line": pieces[1].spoken, "key": str(uuid.uuid4())}
        answer = back.post("/loads/wash/scan/", sent)
        assert answer.headers["Location"] == f"/load/{Load.objects.get().pk}/"
    assert set(LoadPiece.objects.values_list("piece", flat=True)) == {p.pk for p in pieces}


def test_an_outdated_proposal_is_refused_in_words(back: Client, crew: User) -> None:
    [piece] = at_wash(crew, white())
    load = make_load(crew, [piece])
    sent = {"machine": load.machine_id, "codes": piece.code, "key": str(uuid.uuid4())}
    page = text_of(back.post("/loads/wash/open/", sent, follow=True))
    assert f"{piece.spoken} is in load {load.pk}, Washer 1." in page
    assert Load.objects.count() == 1
    bad = back.post("/loads/wash/open/", {"machine": "x"}, follow=True)
    assert "The form was not complete." in text_of(bad)


def test_a_load_runs_from_filling_to_emptied_without_script(back: Client, crew: User) -> None:
    first, second = at_wash(crew, white(), white())
    load = make_load(crew, [first])
    assert f"{second.spoken} is in: Cotton 60" in scan(back, load, second.code)
    assert "is closed with 2 pieces: Cotton 60." in scan(back, load, "close")
    assert f"Washer 1 runs load {load.pk}" in scan(back, load, "START")
    page = text_of(back.get("/loads/wash/"))
    assert re.search(r"Washer 1 Busy Load \d+ 5[45] min left", page)
    assert "Scan each piece out of the drum: 2 pieces." in scan(back, load, "FINISH")
    page = scan(back, load, first.code)
    assert f"Still in the drum: {second.spoken}." in page
    assert "1 piece still in the drum" in page
    assert "Empty load" in text_of(back.get("/loads/wash/"))
    assert "Count out equals count in: Washer 1 is free." in scan(back, load, second.spoken)
    assert Load.objects.get().state == LoadState.EMPTIED
    assert "Washer 1 Free" in text_of(back.get("/loads/wash/"))


def test_a_drop_is_asked_and_answered(back: Client, crew: User) -> None:
    sturdy, gentle, other = at_wash(crew, white(), tender(), white())
    load = make_load(crew, [sturdy])
    question = f"{gentle.spoken}: Adding this drops the load to 30 °C, very mild."
    page = scan(back, load, gentle.code)
    assert question in page
    assert "Yes, add it" in page
    assert "No, leave it out" in page
    assert f"{gentle.spoken} stays out of this load." in scan(back, load, "NO")
    assert known(Load.objects.get().programme).key == "cotton_60"
    assert question in scan(back, load, gentle.code)
    assert f"{gentle.spoken} is in: Wool 30" in scan(back, load, "YES")
    assert f"{other.spoken} is in: Wool 30" in scan(back, load, other.code)


def test_a_second_scan_asks_before_it_takes_a_piece_off(back: Client, crew: User) -> None:
    first, second = at_wash(crew, white(), white())
    load = make_load(crew, [first, second])
    assert "is in this load. Take it off?" in scan(back, load, first.code)
    assert f"{first.spoken} stays in." in scan(back, load, "no")
    assert "Take it off?" in scan(back, load, first.code)
    assert f"{first.spoken} is off. Now Cotton 60." in scan(back, load, "yes")
    assert "No question is open at this load." in scan(back, load, "YES")


def test_an_incompatible_piece_is_refused_with_the_sentence(back: Client, crew: User) -> None:
    light, dark = at_wash(crew, white(), white(colour="dark"))
    load = make_load(crew, [light])
    page = scan(back, load, dark.code)
    assert f"NO {dark.spoken}" not in page
    assert f"{dark.spoken} may not go into this load. Not with {light.spoken}:" in page
    assert LoadPiece.objects.count() == 1


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("", "Nothing was scanned."),
        ("STATION NOWHERE", "There is no station NOWHERE."),
        ("1000001", "is a whole ticket; loads take piece by piece."),
        ("FINISH", "is: Being filled. Scan pieces into it, then CLOSE."),
        ("X" * 61, "is longer than 60 characters."),
    ],
)
def test_odd_lines_are_answered(back: Client, crew: User, line: str, says: str) -> None:
    load = make_load(crew, at_wash(crew, white()))
    assert says in scan(back, load, line)


def test_cards_lead_from_a_load_to_the_loads_and_to_a_board(back: Client, crew: User) -> None:
    load = make_load(crew)
    for line, target in (("LOADS", "/loads/wash/"), ("STATION DRY", "/boards/dry/")):
        sent = {"line": line, "key": str(uuid.uuid4())}
        answer = back.post(f"/load/{load.pk}/scan/", sent)
        assert answer.headers["Location"] == target
        answer = back.post(f"/load/{load.pk}/scan/", sent, headers={"HX-Request": "true"})
        assert answer.headers["HX-Redirect"] == target


def test_one_line_sent_twice_is_done_once(back: Client, crew: User) -> None:
    first, second = at_wash(crew, white(), white())
    load = running(crew, [first, second])
    loadbook.finish(load.pk, Act(by=crew))
    key = str(uuid.uuid4())
    scan(back, load, first.code, key)
    events = LoadEvent.objects.count()
    scan(back, load, first.code, key)
    other = Client()  # another tablet, where this key was never seen in the session
    other.force_login(crew)
    assert "recorded already (Counted out)" in scan(other, load, first.code, key)
    assert LoadEvent.objects.count() == events
    worked = Move.objects.filter(piece=first, kind=MoveKind.WORKED, from_station="wash")
    assert worked.count() == 1


def test_a_piece_not_in_the_drum_is_said_by_its_button(back: Client, crew: User) -> None:
    first, second = at_wash(crew, white(), white())
    load = running(crew, [first, second])
    loadbook.finish(load.pk, Act(by=crew))
    scan(back, load, first.code)
    path = f"/load/{load.pk}/never-in/{second.code}/"
    page = text_of(back.post(path, {"key": str(uuid.uuid4())}, follow=True))
    assert f"{second.spoken} was not in the drum. It still waits here: look for it." in page
    assert Load.objects.get().state == LoadState.EMPTIED
    page = text_of(back.post(path, {"key": str(uuid.uuid4())}, follow=True))
    assert f"Load {load.pk} is: Emptied." in page
    assert "came back without its key" in text_of(back.post(path, {}, follow=True))


def test_an_htmx_line_gets_the_lists_and_the_result_alone(back: Client, crew: User) -> None:
    [piece] = at_wash(crew, white())
    load = make_load(crew)
    sent = {"line": piece.code, "key": str(uuid.uuid4())}
    page = back.post(f"/load/{load.pk}/scan/", sent, headers={"HX-Request": "true"})
    body = page.content.decode()
    assert "<html" not in body
    assert '<div id="live" hx-swap-oob="innerHTML">' in body
    assert f'data-key="{sent["key"]}"' in body
    part = back.get("/loads/wash/", headers={"HX-Request": "true"}).content.decode()
    assert "<html" not in part


@pytest.mark.parametrize("path", ["/loads/wash/scan/", "/loads/wash/open/", "/load/{pk}/scan/"])
def test_a_change_is_never_a_get(back: Client, crew: User, path: str) -> None:
    load = make_load(crew)
    assert back.get(path.format(pk=load.pk)).status_code == 405
    assert back.post(f"/load/{load.pk}/", {}).status_code == 405
    assert back.post("/loads/wash/", {}).status_code == 405


def test_nobody_without_a_role_comes_in(crew: User) -> None:
    load = make_load(crew)
    visitor = Client()
    sent = {"line": "CLOSE", "key": str(uuid.uuid4())}
    assert visitor.post(f"/load/{load.pk}/scan/", sent).headers["Location"].startswith("/login/")
    visitor.force_login(User.objects.create_user("stranger"))
    assert visitor.post(f"/load/{load.pk}/scan/", sent).status_code == 403
    assert Load.objects.get().state == LoadState.FILLING


def test_the_pages_cost_the_same_for_1_and_60_pieces(back: Client, crew: User) -> None:
    make_machine(litres=2000)
    costs: dict[str, list[int]] = {}
    shirt_at_wash = at_wash(crew, white())[0]
    for more in (0, 59):
        copies(shirt_at_wash, more)
        load = make_load(crew)
        moved = Piece.objects.filter(station="wash", in_loads=None)
        for path, wanted in (("/loads/wash/", None), (f"/load/{load.pk}/", moved)):
            if wanted is not None:
                Load.objects.filter(pk=load.pk).update(programme=Programme.objects.first())
                LoadPiece.objects.bulk_create(
                    LoadPiece(load=load, piece=piece, in_at=load.opened_at) for piece in wanted
                )
            with CaptureQueriesContext(connection) as seen:
                assert back.get(path).status_code == 200
            costs.setdefault(path.split("/")[1], []).append(len(seen))
            if wanted is not None:
                LoadPiece.objects.filter(load=load).delete()
                Load.objects.filter(pk=load.pk).delete()
    assert all(with_one == with_sixty for with_one, with_sixty in costs.values()), costs


def test_the_cards_hold_the_steps_of_a_load_where_there_are_machines_or_partners(
    back: Client, crew: User
) -> None:
    steps = {"LOADS", "CLOSE", "START", "FINISH", "UNDO"}

    def printed() -> set[str]:
        pdf = back.get("/papers/cards.pdf").content
        images = reading.images(pdf, 203)
        return {text for image in images for kind, text in reading.codes(image)}

    assert steps <= printed()  # a partner takes bags
    Partner.objects.update(in_use=False)
    make_machine("Press", "press", 0)  # one person's place, without loads
    assert not steps & printed()
    make_machine()
    assert steps <= printed()


# The owner's pages


def test_the_owner_adds_a_machine_by_its_rated_kilograms(boss: Client) -> None:
    """A cage of 400 litres is equated with 40 kg: scope of EN 17116-4:2020."""
    sent = {
        "name": "Washer 9",
        "kind": "washer",
        "rated_kg": "40",
        "spin_g": "300",
        "turnaround": "10",
        "most_pieces": "0",
        "in_use": "on",
    }
    page = text_of(boss.post("/shop/machines/", sent, follow=True))
    assert "Washer 9 is set up." in page
    assert "Washer 9 Washer 400 l · 300 G" in page
    assert "Cotton 60" in page
    assert boss.post("/shop/machines/", sent).status_code == 422  # the name is taken
    assert Machine.objects.count() == 1


def test_a_dryer_needs_its_litres(boss: Client) -> None:
    sent = {"name": "D", "kind": "dryer", "rated_kg": "10", "spin_g": 0, "turnaround": 10}
    answer = boss.post("/shop/machines/", {**sent, "most_pieces": 0})
    assert answer.status_code == 422
    assert "A dryer needs the litres of its drum." in text_of(answer)
    answer = boss.post("/shop/machines/", {**sent, "most_pieces": 0, "rated_kg": ""})
    assert "Give the litres of the drum, or the rated kg." in text_of(answer)


def test_the_owner_changes_a_machine_and_a_programme(boss: Client, crew: User) -> None:
    machine = make_machine()
    programme = Programme.objects.get(key="cotton_60")
    sent = {
        "name": "Big washer",
        "kind": "washer",
        "litres": "180",
        "spin_g": "350",
        "turnaround": "5",
        "most_pieces": "0",
        "in_use": "on",
    }
    page = text_of(boss.post(f"/shop/machines/{machine.pk}/", sent, follow=True))
    assert "Big washer is saved." in page
    sent = {
        "name": "Whites",
        "max_c": "60",
        "action": "normal",
        "spin": "normal",
        "minutes": "61",
        "litres_per_kg": "10",
        "in_use": "on",
    }
    page = text_of(boss.post(f"/shop/programmes/{programme.pk}/", sent, follow=True))
    assert "Programme Whites is saved." in page
    assert boss.get("/shop/programmes/washer/new/").status_code == 200
    assert boss.get("/shop/programmes/tractor/new/").status_code == 404
    for _ in range(2):
        boss.post("/shop/programmes/washer/new/", sent)
    keys = list(Programme.objects.filter(name="Whites").order_by("pk").values_list("key", "kind"))
    assert keys == [("cotton_60", "washer"), ("whites", "washer"), ("whites_2", "washer")]
    sent["minutes"] = "0"
    assert boss.post(f"/shop/programmes/{programme.pk}/", sent).status_code == 422


def test_a_machine_in_the_middle_of_a_load_stays_in_use(boss: Client, crew: User) -> None:
    load = make_load(crew)
    sent = {"name": "Washer 1", "kind": "washer", "litres": "100", "spin_g": 0}
    answer = boss.post(
        f"/shop/machines/{load.machine_id}/", {**sent, "turnaround": 10, "most_pieces": 0}
    )
    assert answer.status_code == 422
    assert f"Washer 1 has load {load.pk}, which is not emptied." in text_of(answer)


def test_machines_are_the_owners_alone(back: Client, desk: Client, crew: User) -> None:
    machine = make_machine()
    for client in (back, desk):
        assert client.get("/shop/machines/").status_code == 403
        assert client.post(f"/shop/machines/{machine.pk}/", {}).status_code == 403


def test_the_page_of_loads_costs_the_same_for_1_and_12_proposals(back: Client, crew: User) -> None:
    make_machine(most_pieces=1)  # one piece a run: as many proposals as pieces

    def cost(pieces: int) -> tuple[int, int]:
        make_ticket(crew, [white()] * pieces).pieces.update(station=Station.WASH)
        page = back.get("/loads/wash/").content.decode()
        return page.count('<article class="tag'), count_queries(back, "/loads/wash/")

    shown, queries = cost(1)
    assert shown == 1
    assert cost(11) == (12, queries)
