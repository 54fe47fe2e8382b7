"""What goes wrong with wet hands and two tablets: answers that come late, or to another piece."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from counter.models import Notice
from tests.building import (
    hand_over_all,
    jumper,
    known,
    make_ready,
    make_ticket,
    shirt,
    trousers,
    work_of,
    work_until,
)
from tests.markup import flat
from tests.tickets.floor import at_wash, bring, running, send, text_of, white
from tickets.acting import Act
from tickets.boards.board_scans import scan
from tickets.boards.queries import in_order_of, rows_of, station_counts, waiting_at
from tickets.choices import BOARD_STATIONS, MoveKind, PieceState, Station
from tickets.errors import Refused
from tickets.loads import services as loadbook
from tickets.models import Move, Piece, Ticket
from tickets.scanning.results import ASK, BAD, GOOD, SAME, Scanned
from tickets.shop.calendar import business_day
from tickets.tracking import replay
from tickets.tracking import services as tracking

pytestmark = pytest.mark.django_db


def wet(crew: User) -> Piece:
    """A shirt with red wine, washed and not yet looked at."""
    piece = work_until(make_ticket(crew, [shirt()]).pieces.get(), Station.WASH, crew)
    return tracking.finish_work(piece.code, Station.WASH, Act(by=crew)).piece


def ask(crew: User, piece: Piece) -> Scanned:
    asked = scan(Station.WASH, piece.code, Act(by=crew))
    assert asked.tone == ASK
    return asked


def fresh(piece: Piece) -> Piece:
    return Piece.objects.select_related("rack_place", "ticket").get(pk=piece.pk)


def matched(crew: User, count: int, of: int) -> list[Piece]:
    """A ticket with some of its pieces matched on the assembly table."""
    pieces = list(make_ticket(crew, [trousers()] * of).pieces.all())
    for piece in pieces[:count]:
        work_until(piece, Station.ASSEMBLY, crew)
        scan(Station.ASSEMBLY, piece.code, Act(by=crew))
    return pieces


# The wet check's question


def test_the_tag_of_another_piece_closes_a_question_even_when_that_piece_is_refused(
    crew: User,
) -> None:
    piece = wet(crew)
    other = make_ticket(crew, [jumper()]).pieces.get()
    refused = scan(Station.WASH, other.code, Act(by=crew), ask(crew, piece).pending)
    assert (refused.tone, refused.code, refused.pending) == (BAD, "not_here", None)
    late = scan(Station.WASH, "YES", Act(by=crew), refused.pending)
    assert late.code == "no_question"
    assert fresh(piece).station == Station.WASH


def test_a_line_that_is_no_tag_leaves_the_question_open(crew: User) -> None:
    asked = ask(crew, wet(crew))
    assert scan(Station.WASH, "hello", Act(by=crew), asked.pending).pending == asked.pending


def test_a_yes_to_the_first_wet_check_is_not_taken_for_the_second(crew: User) -> None:
    piece = wet(crew)
    asked = ask(crew, piece)
    tracking.answer_wet_check(piece.code, False, Act(by=crew))
    for station in (Station.SPOTTING, Station.WASH):
        tracking.finish_work(piece.code, station, Act(by=crew))
    late = scan(Station.WASH, "YES", Act(by=crew), asked.pending)
    assert (late.tone, late.code, late.pending) == (BAD, "asked_before", None)
    assert fresh(piece).station == Station.WASH
    again = scan(Station.WASH, "YES", Act(by=crew), ask(crew, piece).pending)
    assert again.tone == GOOD


def test_a_tap_under_an_old_question_does_not_answer_the_one_asked_since(
    back: Client, crew: User
) -> None:
    first, second = wet(crew), wet(crew)
    send(back, "wash", first.code)
    old = known(back.get("/boards/wash/").context["box"].pending).about
    send(back, "wash", second.code)
    new = known(back.get("/boards/wash/").context["box"].pending).about
    tap = {"line": "YES", "key": "3a1f0c52-6f5e-4f6b-9d7e-0f6a3c1b2d4e", "about": old}
    page = text_of(back.post("/boards/wash/scan/", tap, follow=True))
    assert "That question is no longer open here. Nothing was done." in page
    assert not Move.objects.filter(kind=MoveKind.STAIN_GONE).exists()
    tap = {**tap, "key": "3a1f0c52-6f5e-4f6b-9d7e-0f6a3c1b2d4f", "about": new}
    back.post("/boards/wash/scan/", tap)
    assert Move.objects.get(kind=MoveKind.STAIN_GONE).piece == second


def test_the_buttons_name_the_piece_they_answer_for(back: Client, crew: User) -> None:
    piece = wet(crew)
    send(back, "wash", piece.code)
    send(back, "wash", "hello")
    page = back.get("/boards/wash/")
    assert f"Answer for {piece.spoken}" in text_of(page)
    assert page.content.decode().count('name="about"') == 2


# Assembly and rack


@pytest.mark.parametrize("line", ["piece", "ticket"])
def test_when_the_missing_piece_is_given_back_one_scan_sends_the_rest_on(
    crew: User, line: str
) -> None:
    first, second, third = matched(crew, 2, of=3)
    assert scan(Station.ASSEMBLY, first.code, Act(by=crew)).tone == SAME
    tracking.return_undone(third.code, "customer took it along", Act(by=crew))
    number = first.ticket.number
    scanned = first.code if line == "piece" else str(number)
    sent = scan(Station.ASSEMBLY, scanned, Act(by=crew, client_key="send"))
    assert (sent.tone, sent.says) == (GOOD, f"Ticket {number} is complete: to the rack.")
    assert {fresh(piece).station for piece in (first, second)} == {Station.RACK}
    assert scan(Station.ASSEMBLY, scanned, Act(by=crew, client_key="send")).repeated
    assert not list(replay.differences())


def test_a_piece_that_was_sent_to_the_rack_says_so_at_the_table(crew: User) -> None:
    (piece,) = matched(crew, 1, of=1)
    again = scan(Station.ASSEMBLY, piece.code, Act(by=crew))
    assert again.tone == SAME
    assert again.says == f"{piece.spoken} is matched and its ticket sent on: to the rack."


def test_a_piece_that_hangs_says_where_before_it_is_moved(crew: User) -> None:
    piece = make_ready(make_ticket(crew, [jumper()]), crew, place="A1").pieces.get()
    asked = scan(Station.RACK, piece.code, Act(by=crew))
    assert f"{piece.spoken} hangs at A1; another place moves it." in asked.cure
    assert scan(Station.RACK, "A2", Act(by=crew), asked.pending).tone == GOOD
    assert known(fresh(piece).rack_place).code == "A2"


def test_what_went_elsewhere_is_put_aside_and_the_place_scanned_again_hangs_the_rest(
    crew: User,
) -> None:
    first, second = matched(crew, 2, of=2)
    asked = scan(Station.RACK, str(first.ticket.number), Act(by=crew))
    tracking.send_back(second.code, Station.PRESS, "crease", Act(by=crew))
    refused = scan(Station.RACK, "A1", Act(by=crew), asked.pending)
    assert (refused.tone, refused.piece) == (BAD, second.code)
    assert f"scan the place again for {first.spoken}." in refused.cure
    assert fresh(first).state == PieceState.ASSEMBLED
    hung = scan(Station.RACK, "A1", Act(by=crew), refused.pending)
    assert (hung.tone, fresh(first).state) == (GOOD, PieceState.READY)
    assert Ticket.objects.get(pk=first.ticket_id).ready_at is None


def test_a_matched_piece_says_everywhere_that_it_only_has_to_be_sent_on(crew: User) -> None:
    first, second = matched(crew, 1, of=2)
    waits = scan(Station.RACK, first.code, Act(by=crew))
    assert waits.cure == "Leave it on the assembly table until the rest is there."
    tracking.return_undone(second.code, "not wanted", Act(by=crew))
    for station in (Station.RACK, Station.PRESS):
        sent = scan(station, first.code, Act(by=crew))
        assert sent.cure == "Scan it at Assembly once more: that sends the ticket to the rack."
    ticket = scan(Station.RACK, str(first.ticket.number), Act(by=crew))
    assert ticket.cure == "1 of 1 matched. Scan it at Assembly: that sends it to the rack."


def test_a_ticket_that_left_the_shop_says_so_at_the_table_and_at_the_rack(crew: User) -> None:
    ticket = hand_over_all(make_ticket(crew, [jumper()]), crew)
    table = scan(Station.ASSEMBLY, str(ticket.number), Act(by=crew))
    assert table.says == f"Ticket {ticket.number}: Every piece has left the shop."
    rack = scan(Station.RACK, str(ticket.number), Act(by=crew))
    assert rack.cure == "Every piece has left the shop."


def test_the_rack_that_asks_for_a_place_knows_yes_and_a_mistyped_place(crew: User) -> None:
    piece = make_ready(make_ticket(crew, [jumper()]), crew).pieces.get()
    asked = scan(Station.RACK, piece.code, Act(by=crew))
    yes = scan(Station.RACK, "YES", Act(by=crew), asked.pending)
    assert yes.says == f"{piece.spoken}: a place is asked for, and yes is no place."
    assert yes.pending == asked.pending
    for line in ("Z99", "rack", "A1X"):
        wrong = scan(Station.RACK, line, Act(by=crew), asked.pending)
        assert (wrong.code, wrong.pending) == ("unknown_place", asked.pending)
        assert wrong.says == f"There is no rack place {line.upper()}."


# What is stopped or gone


def test_a_piece_held_in_a_running_machine_is_not_called_washed(crew: User) -> None:
    piece, other = at_wash(crew, white(), white())
    load = running(crew, [piece, other])
    tracking.hold(piece.code, "colour runs?", crew, business_day(), Act(by=crew))
    lies = scan(Station.WASH, piece.code, Act(by=crew))
    assert "colour runs?" in lies.says
    loadbook.finish(load.pk, Act(by=crew))
    out = scan(Station.WASH, piece.code, Act(by=crew))
    assert out.says == (
        f"{piece.spoken} is out of its load, but Wash is not done for it. On hold: colour runs?"
    )
    assert fresh(piece).state == PieceState.HELD
    assert not [step for step in piece.steps.filter(station=Station.WASH) if step.done_at]
    assert not list(replay.differences())


def test_a_refused_change_says_what_to_do_about_the_state_it_met(crew: User) -> None:
    piece = work_until(make_ticket(crew, [jumper()]).pieces.get(), Station.PRESS, crew)

    def cure(do: Callable[[], object]) -> str:
        with pytest.raises(Refused) as no:
            do()
        assert no.value.code == "wrong_state"
        return no.value.cure

    def back() -> object:
        return tracking.send_back(piece.code, Station.WASH, "spot", Act(by=crew))

    def stop() -> object:
        return tracking.hold(piece.code, "why?", crew, business_day(), Act(by=crew))

    ended = cure(lambda: tracking.release(piece.code, "yes", Act(by=crew)))
    assert ended == "Look at its page: somebody may have changed it meanwhile."
    stop()
    assert {cure(stop), cure(back)} == {"End the hold on the page of the piece first."}
    tracking.return_undone(piece.code, "not wanted", Act(by=crew))
    gone = "It has left the shop. If it is here, ask at the counter to take it in again."
    assert {cure(stop), cure(back)} == {gone}


# The boards


def test_what_was_shown_stays_shown_when_the_board_renews_itself(back: Client, crew: User) -> None:
    pieces = bring(crew, Station.WASH, 26)
    page = back.get("/boards/wash/?show=48", headers={"HX-Request": "true"}).content.decode()
    assert '<input type="hidden" id="shown" name="show" value="48">' in page
    whole = back.get("/boards/wash/").content.decode()
    assert 'hx-include="#shown, #seen" hx-disinherit="hx-include"' in flat(whole)
    assert whole.count('name="show" value="24"') == 1
    assert pieces[-1].code not in whole


@pytest.mark.parametrize("station", BOARD_STATIONS)
def test_the_overview_takes_a_station_card(back: Client, station: Station) -> None:
    answer = back.get("/boards/", {"find": f"station {station.value.replace('_', '-')}"})
    assert answer.headers["Location"] == f"/boards/{station.value}/"


def test_the_overview_says_what_is_wrong_with_a_card_it_does_not_know(back: Client) -> None:
    assert "There is no station CELLAR." in text_of(
        back.get("/boards/", {"find": "STATION CELLAR"})
    )


def test_the_overview_names_the_piece_that_stands_first_on_the_board(crew: User) -> None:
    now = timezone.now()
    soon, later = (
        work_until(
            make_ticket(
                crew, [trousers()] * 2, promised_at=now + timedelta(days=days)
            ).pieces.all()[0],
            Station.ASSEMBLY,
            crew,
        )
        for days in (1, 3)
    )
    tracking.assemble(soon.code, Act(by=crew))
    counts = {count.station: count for count in station_counts(now, work_of(now))}
    assert counts[Station.ASSEMBLY].first == later
    assert waiting_at(Station.ASSEMBLY, work_of(now))[0].pk == later.pk


def test_what_turns_in_a_machine_stands_last_until_it_can_be_taken_out(crew: User) -> None:
    now = timezone.now()
    first, second, third = (
        work_until(
            make_ticket(crew, [white()], promised_at=now + timedelta(days=days)).pieces.get(),
            Station.WASH,
            crew,
        )
        for days in (1, 2, 3)
    )

    def board() -> list[Piece]:
        work = work_of(now)
        counts = {count.station: count.first for count in station_counts(now, work)}
        line = waiting_at(Station.WASH, work)
        stands = in_order_of(line, rows_of(line))
        assert counts[Station.WASH] == stands[0]
        return stands

    assert board() == [first, second, third]
    load = running(crew, [first])
    assert board() == [second, third, first]
    loadbook.finish(load.pk, Act(by=crew))
    assert board() == [first, second, third]


# A ticket that was ready and is not any more


@pytest.mark.parametrize("shown", ["ticket", "piece"])
def test_a_customer_who_was_told_too_early_is_named(back: Client, crew: User, shown: str) -> None:
    ticket = make_ready(make_ticket(crew, [jumper()]), crew)
    piece = ticket.pieces.get()
    path = f"/tickets/{ticket.number}/" if shown == "ticket" else f"/pieces/{piece.code}/"
    ticket.notices.update(state=Notice.State.CALLED, sent_at=timezone.now())
    words = "was told that this ticket is ready, and it is not"
    assert words not in text_of(back.get(path))
    tracking.send_back(piece.code, Station.WASH, "still marked", Act(by=crew))
    assert words in text_of(back.get(path))
    assert fresh(piece).rack_place is None
    assert Ticket.objects.get(pk=ticket.pk).ready_at is None


def test_a_customer_who_was_not_told_yet_needs_no_word(back: Client, crew: User) -> None:
    ticket = make_ready(make_ticket(crew, [jumper()]), crew)
    tracking.send_back(ticket.pieces.get().code, Station.WASH, "still marked", Act(by=crew))
    assert "was told that" not in text_of(back.get(f"/tickets/{ticket.number}/"))
