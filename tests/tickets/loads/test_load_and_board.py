"""A load and the board beside it: a piece in a drum is counted there, and no page falls over."""

from __future__ import annotations

import re
import uuid

import pytest
from django.contrib.auth.models import User
from django.test import Client

from tests import building
from tickets.acting import Act
from tickets.choices import Station
from tickets.loads import services as loadbook
from tickets.loads.queries import inside
from tickets.models import Load, LoadPiece, Machine, Partner, Piece
from tickets.models.machines import LoadState
from tickets.tracking.services import answer_wet_check, finish_work


def at_wash(by: User, *facts: dict[str, object]) -> list[Piece]:
    pieces = list(building.make_ticket(by, list(facts)).pieces.order_by("position"))
    return [building.work_until(piece, Station.WASH, by) for piece in pieces]


def white(**changes: object) -> dict[str, object]:
    return building.shirt(**{"stains": [], **changes})


def text_of(answer: object) -> str:
    plain = re.sub(r"<[^>]+>", " ", answer.content.decode())  # type: ignore[attr-defined]
    return " ".join(plain.split())


def on_board(back: Client, line: str, station: str = "wash") -> str:
    sent = {"line": line, "key": str(uuid.uuid4())}
    return text_of(back.post(f"/boards/{station}/scan/", sent, follow=True))


def run(load: Load, by: User, until: str) -> None:
    for name in ("close", "start", "finish"):
        getattr(loadbook, name)(load.pk, Act(by=by))
        if name == until:
            return


# A scan on the board of a piece that lies in a load


@pytest.mark.parametrize(
    ("until", "state", "cure"),
    [
        ("", "Being filled", "Scan pieces into it, then CLOSE."),
        ("close", "Closed", "START it, or UNDO to change it."),
        ("start", "Running", "FINISH it when the run is over."),
    ],
)
def test_the_board_does_not_finish_a_piece_that_lies_in_a_drum(
    back: Client, crew: User, until: str, state: str, cure: str
) -> None:
    [piece] = at_wash(crew, white())
    load = building.make_load(crew, [piece])
    if until:
        run(load, crew, until)
    page = on_board(back, piece.code)
    assert f"{piece.spoken} lies in Washer 1. Load {load.pk} is: {state}. {cure}" in page
    piece.refresh_from_db()
    assert piece.station == Station.WASH
    assert LoadPiece.objects.get().left_at is None


def test_after_the_run_a_scan_on_the_board_counts_the_piece_out(back: Client, crew: User) -> None:
    first, second = at_wash(crew, white(), white())
    load = building.make_load(crew, [first, second])
    run(load, crew, "finish")
    assert f"{first.spoken}: Wash done. Next: Dry." in on_board(back, first.code)
    assert [piece.pk for piece in inside(load)] == [second.pk]
    assert Load.objects.get().state == LoadState.FINISHED
    on_board(back, second.code)
    assert Load.objects.get().state == LoadState.EMPTIED
    assert "was done" in on_board(back, second.code)


def test_a_stained_piece_counted_out_on_the_board_is_asked_about(back: Client, crew: User) -> None:
    [piece] = at_wash(crew, building.shirt())
    run(building.make_load(crew, [piece]), crew, "finish")
    assert "had a stain (red wine). Is it gone?" in on_board(back, piece.code)
    assert Load.objects.get().state == LoadState.EMPTIED


def test_a_bag_counts_out_on_the_board_too(back: Client, crew: User) -> None:
    suit = building.jumper(
        kind="suit_jacket",
        label={
            "state": "read",
            "edition": "unknown",
            "market": "iso",
            "symbols": ["no_wash", "no_bleach", "no_tumble", "iron_110", "dry_clean_p"],
            "terms": [],
        },
    )
    piece = building.make_ticket(crew, [suit]).pieces.get()
    building.work_until(piece, Station.SEND_OUT, crew)
    partner = Partner.objects.get()
    bag = loadbook.open_bag(partner.pk, [piece.code], Act(by=crew)).load
    run(bag, crew, "start")
    assert f"{piece.spoken} lies in Partner." in on_board(back, piece.code, "send_out")
    loadbook.finish(bag.pk, Act(by=crew))
    assert f"{piece.spoken}: Send-out done." in on_board(back, piece.code, "send_out")
    assert Load.objects.get().state == LoadState.EMPTIED


# A piece that can no longer run, while it lies in a load


def test_the_page_of_a_load_names_a_piece_that_may_not_run_any_more(
    back: Client, crew: User
) -> None:
    bad, worse, good = at_wash(crew, white(), white(), white())
    load = building.make_load(crew, [bad, worse, good])
    for piece in (bad, worse):
        Piece.objects.filter(pk=piece.pk).update(decision={**piece.decision, "outcome": "ask"})
    answer = back.get(f"/load/{load.pk}/")
    assert answer.status_code == 200
    assert f"{bad.spoken} has a question open in its care decision." in text_of(answer)
    sent = {"line": "CLOSE", "key": str(uuid.uuid4())}
    closed = text_of(back.post(f"/load/{load.pk}/scan/", sent, follow=True))
    assert "NO" in closed
    for piece in (bad, worse):
        loadbook.take_off(load.pk, piece.code, Act(by=crew))
    load.refresh_from_db()
    assert (load.grams, load.state) == (good.weight_g, LoadState.FILLING)
    loadbook.close(load.pk, Act(by=crew))


def test_a_piece_washed_by_hand_meanwhile_does_not_break_the_page(back: Client, crew: User) -> None:
    [stained] = at_wash(crew, building.shirt())
    load = building.make_load(crew, [stained])
    finish_work(stained.code, Station.WASH, Act(by=crew))
    answer = back.get(f"/load/{load.pk}/")
    assert answer.status_code == 200
    assert "is washed and waits for its wet check" in text_of(answer)
    answer_wet_check(stained.code, True, Act(by=crew))
    assert back.get(f"/load/{load.pk}/").status_code == 200


# Count out equals count in, or it is not said


def test_a_missing_piece_is_never_called_an_equal_count(back: Client, crew: User) -> None:
    first, lost = at_wash(crew, white(), white())
    load = building.make_load(crew, [first, lost])
    run(load, crew, "finish")
    loadbook.never_in(load.pk, lost.code, Act(by=crew))
    sent = {"line": first.code, "key": str(uuid.uuid4())}
    page = text_of(back.post(f"/load/{load.pk}/scan/", sent, follow=True))
    assert f"{first.spoken} is out. Washer 1 is free, and was missing: {lost.spoken}." in page
    assert "1 piece was not in the drum." in page
    assert "Not in the drum" in page
    assert "equals count in" not in page


# What the estimates stand on


def test_a_wash_load_says_what_its_estimates_stand_on(back: Client, crew: User) -> None:
    """15 litres for a kilogram: row ``water.total`` of the load figures, trade practice."""
    pieces = at_wash(crew, white(), white())
    load = building.make_load(crew, pieces)
    page = text_of(back.get(f"/load/{load.pk}/"))
    assert "How this is estimated" in page
    assert "Water: 6.6 litres for 0.4 kg dry, rinses included." in page
    assert "from 12 to 60 °C" in page
    assert "(practice)" in page


def test_a_dryer_load_says_the_moisture_after_the_spin(back: Client, crew: User) -> None:
    """Plain woven cotton: 50 % after 350 G (``spin.rmc.cotton_sheet.350G``, common trade
    practice); dry at 8.5 % (ASTM D1909 commercial moisture regain, from memory)."""
    [shirt] = at_wash(crew, white())
    building.make_machine("Dryer", "dryer", 200)
    building.work_until(shirt, Station.DRY, crew)
    dryer = Machine.objects.get(kind="dryer")
    load = loadbook.open_load(dryer.pk, [shirt.code], Act(by=crew)).load
    page = text_of(back.get(f"/load/{load.pk}/"))
    assert (
        "White cotton, 0.2 kg dry: 50 % of the dry weight is water after a spin of 350 G; dried to "
        "8.5 %, 0.1 litres go."
    ) in page
    assert "ASTM D1909 commercial moisture regain (from memory)" in page
    assert "ISO 15797" in page
