"""What one scanned line means at each station."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.utils import timezone

from tests.building import jumper, known, make_ready, make_ticket, shirt, trousers, work_until
from tickets.acting import Act
from tickets.boards.board_scans import scan
from tickets.choices import BOARD_STATIONS, MoveKind, PieceState, Station
from tickets.models import Move, Piece, RackPlace
from tickets.scanning.results import ASK, BAD, GOOD, SAME, Pending, Scanned
from tickets.shop.calendar import business_day
from tickets.tracking import services as tracking
from tickets.tracking.open_steps import at_station
from tickets.tracking.wording import say_when

pytestmark = pytest.mark.django_db


def fresh(piece: Piece) -> Piece:
    return Piece.objects.get(pk=piece.pk)


def wet(crew: User) -> Piece:
    """A stained shirt that waits for its wet check."""
    piece = make_ticket(crew, [shirt()]).pieces.get()
    for _ in range(20):
        steps = at_station(fresh(piece))
        if steps[0].step == "wet_check":
            return fresh(piece)
        tracking.finish_work(piece.code, Station(fresh(piece).station), Act(by=crew))
    raise AssertionError("no wet check on this route")


@pytest.mark.parametrize("form", ["digits", "spoken", "spaced", "full-width"])
def test_a_piece_is_known_by_bars_and_by_what_people_type(crew: User, form: str) -> None:
    piece = make_ticket(crew, [jumper()]).pieces.get()
    line = {
        "digits": piece.code,
        "spoken": piece.spoken,
        "spaced": f"  {piece.code[:7]} - {piece.position} ",
        "full-width": "".join(chr(ord(d) + 0xFEE0) for d in piece.code),
    }[form]
    result = scan(Station.INTAKE, line, Act(by=crew))
    assert (result.tone, result.piece) == (GOOD, piece.code)
    assert fresh(piece).station != Station.INTAKE


def test_a_second_scan_at_the_same_station_is_calm_and_writes_nothing(crew: User) -> None:
    piece = make_ticket(crew, [jumper()]).pieces.get()
    scan(Station.INTAKE, piece.code, Act(by=crew))
    before = Move.objects.count()
    again = scan(Station.INTAKE, piece.code, Act(by=crew))
    assert again.tone == SAME
    assert "Intake was done" in again.says
    assert "Test Backroom" in again.says
    assert Move.objects.count() == before


def test_a_repeated_key_gives_one_move_and_says_what_was_recorded(crew: User) -> None:
    piece = make_ticket(crew, [jumper()]).pieces.get()
    scan(Station.INTAKE, piece.code, Act(by=crew, client_key="k"))
    again = scan(Station.INTAKE, piece.code, Act(by=crew, client_key="k"))
    assert (again.tone, again.repeated, again.piece) == (SAME, True, piece.code)
    assert Move.objects.filter(kind=MoveKind.WORKED).count() == 1


def test_a_scan_at_the_wrong_station_says_where_since_when_with_whom_and_what_to_do(
    crew: User,
) -> None:
    piece = make_ticket(crew, [jumper()]).pieces.get()
    result = scan(Station.PRESS, piece.code, Act(by=crew))
    when = say_when(piece.since)
    assert (result.tone, result.code) == (BAD, "not_here")
    assert result.says == (
        f"{piece.spoken} does not wait at Press but at Intake since {when} (Test Backroom)."
    )
    assert result.cure == "Take it to Intake."


def test_a_piece_on_hold_is_refused_with_its_reason(crew: User) -> None:
    piece = make_ticket(crew, [jumper()]).pieces.get()
    tracking.hold(piece.code, "brass zip?", crew, business_day(), Act(by=crew))
    result = scan(Station.INTAKE, piece.code, Act(by=crew))
    assert result.tone == BAD
    assert "brass zip?" in result.says


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("", "empty"),
        ("1000001", "unknown_ticket"),
        ("1000001-01", "unknown_piece"),
        ("STATION CELLAR", "unknown_station"),
        ("RACK A1", "not_the_rack"),
        ("yes", "no_question"),
        ("hello", "unknown_number"),
        ("12345", "unknown_number"),
        ("1000001010", "unknown_number"),  # its check digit would be 6
    ],
)
def test_what_cannot_be_meant_here_is_refused_in_words(crew: User, line: str, code: str) -> None:
    result = scan(Station.WASH, line, Act(by=crew))
    assert (result.tone, result.code) == (BAD, code)
    assert result.says
    assert Move.objects.count() == 0


def test_a_whole_ticket_is_no_piece_of_work(crew: User) -> None:
    piece = make_ticket(crew, [jumper()]).pieces.get()
    result = scan(Station.INTAKE, str(piece.ticket.number), Act(by=crew))
    assert result.tone == BAD
    assert piece.spoken in result.cure


@pytest.mark.parametrize("station", BOARD_STATIONS)
def test_a_station_card_leads_to_its_board(crew: User, station: Station) -> None:
    card = f"station {station.value.replace('_', '-')}"
    assert scan(Station.WASH, card, Act(by=crew)).go_to == station


def answer(piece: Piece, word: str, crew: User, key: str | None = None) -> Scanned:
    asked = scan(Station(piece.station), piece.code, Act(by=crew))
    assert (asked.tone, known(asked.pending).codes) == (ASK, (piece.code,))
    return scan(Station(piece.station), word, Act(by=crew, client_key=key), asked.pending)


@pytest.mark.parametrize("word", ["YES", "yes", " Yes "])
def test_yes_lets_a_wet_piece_go_on_to_heat(crew: User, word: str) -> None:
    piece = wet(crew)
    result = answer(piece, word, crew)
    assert (result.tone, result.pending) == (GOOD, None)
    assert fresh(piece).station == Station.DRY


def test_no_sends_a_wet_piece_back_to_spotting(crew: User) -> None:
    piece = wet(crew)
    result = answer(piece, "no", crew)
    assert result.tone == GOOD
    assert "stain still there" in result.says
    assert fresh(piece).station == Station.SPOTTING


def test_the_question_names_the_stain_and_asking_moves_nothing(crew: User) -> None:
    piece = wet(crew)
    before = Move.objects.count()
    asked = scan(Station(piece.station), piece.code, Act(by=crew))
    assert "red wine" in asked.says
    assert Move.objects.count() == before


def test_an_answer_given_elsewhere_meanwhile_closes_the_question(crew: User) -> None:
    piece = wet(crew)
    asked = scan(Station(piece.station), piece.code, Act(by=crew))
    tracking.answer_wet_check(piece.code, True, Act(by=crew))
    late = scan(Station(piece.station), "no", Act(by=crew), asked.pending)
    assert (late.tone, late.pending, late.code) == (BAD, None, "no_wet_check")


def test_a_piece_whose_last_work_was_elsewhere_gets_no_calm_answer_at_a_wrong_station(
    crew: User,
) -> None:
    piece = work_until(make_ticket(crew, [jumper()]).pieces.get(), Station.WASH, crew)
    before = Move.objects.count()
    for station in (Station.PRESS, Station.BENCH, Station.CHECK, Station.SEND_OUT):
        result = scan(station, piece.code, Act(by=crew))
        assert (result.tone, result.code) == (BAD, "not_here")
    assert Move.objects.count() == before


def test_a_piece_sent_back_gets_no_calm_answer_where_its_work_was_done_before(crew: User) -> None:
    piece = work_until(make_ticket(crew, [jumper()]).pieces.get(), Station.CHECK, crew)
    tracking.send_back(piece.code, Station.WASH, "not clean", Act(by=crew))
    result = scan(Station.PRESS, piece.code, Act(by=crew))
    assert (result.tone, result.code) == (BAD, "not_here")


@pytest.mark.parametrize("line", ["A2", "RACK A2"])
def test_nothing_is_hung_at_a_place_out_of_use(crew: User, line: str) -> None:
    RackPlace.objects.filter(code="A2").update(in_use=False)
    [piece] = at_assembly(crew, jumper())
    scan(Station.ASSEMBLY, piece.code, Act(by=crew))
    asked = scan(Station.RACK, piece.code, Act(by=crew))
    refused = scan(Station.RACK, line, Act(by=crew), asked.pending)
    assert (refused.tone, refused.code) == (BAD, "unknown_place")
    assert fresh(piece).state == PieceState.ASSEMBLED


def test_a_question_is_forgotten_after_five_minutes() -> None:
    now = timezone.now()
    asked = Pending("wet_check", ("1000001017",), now.isoformat()).as_json()
    assert Pending.from_json(asked, now + timedelta(minutes=5)) == Pending(
        "wet_check", ("1000001017",), now.isoformat()
    )
    assert Pending.from_json(asked, now + timedelta(minutes=5, seconds=1)) is None
    assert Pending.from_json(None, now) is None


def at_assembly(crew: User, *facts: dict[str, object]) -> list[Piece]:
    ticket = make_ticket(crew, list(facts))
    return [work_until(piece, Station.ASSEMBLY, crew) for piece in ticket.pieces.all()]


def test_assembly_counts_names_what_is_missing_and_completes_by_itself(crew: User) -> None:
    ticket = make_ticket(crew, [jumper(), trousers(), trousers()])
    first, second, third = ticket.pieces.all()
    work_until(first, Station.ASSEMBLY, crew)
    work_until(second, Station.ASSEMBLY, crew)
    answer = scan(Station.ASSEMBLY, first.code, Act(by=crew))
    assert answer.says == (
        f"{first.spoken}: 1 of 3 matched. Not ready: {second.spoken}: Waiting at Assembly; "
        f"{third.spoken}: Waiting at Intake."
    )
    assert re.fullmatch(
        rf"{second.spoken} last seen .+ by Test Backroom; "
        rf"{third.spoken} last seen .+ by Test Backroom\.",
        answer.cure,
    )
    assert scan(Station.ASSEMBLY, first.code, Act(by=crew)).tone == SAME
    scan(Station.ASSEMBLY, second.code, Act(by=crew))
    assert "2 of 3 matched" in scan(Station.ASSEMBLY, str(ticket.number), Act(by=crew)).says
    work_until(third, Station.ASSEMBLY, crew)
    last = scan(Station.ASSEMBLY, third.code, Act(by=crew, client_key="last"))
    assert last.says.endswith("is complete: to the rack.")
    assert {piece.station for piece in ticket.pieces.all()} == {Station.RACK}
    again = scan(Station.ASSEMBLY, third.code, Act(by=crew, client_key="last"))
    assert (again.tone, again.repeated) == (SAME, True)


def test_pieces_gather_until_the_place_is_scanned(crew: User) -> None:
    first, second = at_assembly(crew, jumper(), trousers())
    for piece in (first, second):
        scan(Station.ASSEMBLY, piece.code, Act(by=crew))
    after_one = scan(Station.RACK, first.code, Act(by=crew))
    after_both = scan(Station.RACK, second.code, Act(by=crew), after_one.pending)
    assert known(after_both.pending).codes == (first.code, second.code)
    hung = scan(Station.RACK, "rack a1", Act(by=crew, client_key="hang"), after_both.pending)
    assert hung.says == (
        f"{first.spoken}, {second.spoken}: at A1. Ticket {first.ticket.number} is ready."
    )
    assert {known(fresh(piece).rack_place).code for piece in (first, second)} == {"A1"}
    again = scan(Station.RACK, "rack a1", Act(by=crew, client_key="hang"), after_both.pending)
    assert (again.tone, again.repeated) == (SAME, True)
    assert Move.objects.filter(kind=MoveKind.RACKED).count() == 2


def test_a_whole_ticket_is_hung_by_its_number_and_a_bare_place(crew: User) -> None:
    first, second = at_assembly(crew, jumper(), trousers())
    for piece in (first, second):
        scan(Station.ASSEMBLY, piece.code, Act(by=crew))
    asked = scan(Station.RACK, str(first.ticket.number), Act(by=crew))
    assert known(asked.pending).codes == (first.code, second.code)
    assert scan(Station.RACK, "A2", Act(by=crew), asked.pending).tone == GOOD
    assert fresh(second).state == PieceState.READY


def test_no_forgets_pieces_that_were_to_be_hung(crew: User) -> None:
    ticket = make_ready(make_ticket(crew, [jumper()]), crew)
    asked = scan(Station.RACK, ticket.pieces.get().code, Act(by=crew))
    forgotten = scan(Station.RACK, "no", Act(by=crew), asked.pending)
    assert (forgotten.tone, forgotten.pending) == (SAME, None)


def test_a_place_without_a_piece_and_a_ticket_without_pieces_are_refused(crew: User) -> None:
    piece = make_ticket(crew, [jumper()]).pieces.get()
    assert scan(Station.RACK, "A1", Act(by=crew)).code == "no_piece_yet"
    unready = scan(Station.RACK, str(piece.ticket.number), Act(by=crew))
    assert unready.code == "nothing_to_rack"
    assert scan(Station.RACK, piece.code, Act(by=crew)).code == "not_here"


def test_one_piece_that_may_not_hang_leaves_all_of_them_unhung(crew: User) -> None:
    first, second = at_assembly(crew, jumper(), trousers())
    for piece in (first, second):
        scan(Station.ASSEMBLY, piece.code, Act(by=crew))
    asked = scan(Station.RACK, str(first.ticket.number), Act(by=crew))
    tracking.send_back(second.code, Station.PRESS, "crease", Act(by=crew))
    refused = scan(Station.RACK, "A1", Act(by=crew), asked.pending)
    assert refused.tone == BAD
    assert second.spoken in refused.says
    assert fresh(first).state == PieceState.ASSEMBLED
    unknown = scan(Station.RACK, "RACK Z9", Act(by=crew), asked.pending)
    assert (unknown.code, unknown.pending) == ("unknown_place", asked.pending)
