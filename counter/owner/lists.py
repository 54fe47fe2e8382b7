"""Behind every figure: the tickets, pieces or payments that were counted, by the same rules."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from datetime import date, datetime

from counter.money.queries import owed_by
from counter.owner import now as present
from counter.owner import queries
from counter.owner.figure_rows import FigureList, FigureRow, of_piece, of_ticket
from counter.owner.late import late_list
from counter.owner.wording import (
    ask_day,
    band_words,
    days_ready_note,
    due_note,
    first_pass_note,
    heading,
    in_hours,
    minutes_note,
    move_note,
    since_note,
    unpaid_note,
    waits_note,
)
from counter.owner.work_waiting import minutes_here
from tickets.choices import Station
from tickets.models import Move, Piece
from tickets.promise.expected import Outlook
from tickets.promise.open_work import open_work
from tickets.shop.queries import read_calendar
from tickets.tracking.wording import name_of, say_when

_STATION_FIGURE = re.compile(r"^(came|left|process|jam)-([a-z_]+)$")
_BAND_FIGURE = re.compile(r"^unclaimed-(.+)$")


def figure_list(figure: str, day: date, now: datetime) -> FigureList | None:
    """The list behind a figure, or None for a figure that does not exist."""
    if named := _NAMED.get(figure):
        return named(day, now)
    if (match := _STATION_FIGURE.match(figure)) and match[2] in Station.values:
        if match[1] in _NOW_BY_STATION:
            return _NOW_BY_STATION[match[1]](Station(match[2]), now)
        return _BY_STATION[match[1]](Station(match[2]), day)
    if match := _BAND_FIGURE.match(figure):
        band = next((candidate for candidate in _bands() if candidate.key == match[1]), None)
        return _unclaimed(band, now) if band else None
    return None


def _bands() -> list[present.Band]:
    return [present.Band(*ends) for ends in present.BANDS]


# Now


def _late(day: date, now: datetime) -> FigureList:
    return late_list(*heading("late"), now, Outlook.late)


def _at_risk(day: date, now: datetime) -> FigureList:
    return late_list(*heading("at-risk"), now, Outlook.at_risk)


def _holds(day: date, now: datetime) -> FigureList:
    rows = [
        of_piece(hold.piece, hold.reason, name_of(hold.owner), ask_day(hold.ask_again_on))
        for hold in queries.open_holds()
    ]
    return FigureList(*heading("holds"), rows)


def _in_process(day: date, now: datetime) -> FigureList:
    return _pieces_now(heading("in-process"), queries.in_process_pieces())


def _process_at(station: Station, now: datetime) -> FigureList:
    """With the minutes of work that each piece waits for there, as the bar of the day adds them."""
    work = open_work(now).by_key
    rows = [
        of_piece(piece, waits_note(piece, minutes_here(work[piece.pk]) if piece.pk in work else 0))
        for piece in queries.in_process_pieces(station)
    ]
    return FigureList(*heading("process", station=station.label), rows)


def _jam(station: Station, now: datetime) -> FigureList:
    loads = present.tomorrows_load(now, read_calendar())[1]
    load = next((load for load in loads if load.station == station), None)
    minutes = dict(load.pieces) if load else {}
    rows = [
        of_piece(piece, minutes_note(piece, minutes[piece.pk]))
        for piece in queries.pieces_by_promise(minutes)
    ]
    return FigureList(*heading("jam", station=station.label), rows)


def _unclaimed(band: present.Band, now: datetime) -> FigureList:
    ready = [(ticket, present.days_ready(ticket, now)) for ticket in queries.unclaimed()]
    return FigureList(
        *heading("unclaimed", band=band_words(band.first, band.last)),
        [
            of_ticket(ticket, days_ready_note(days), owed_by(ticket))
            for ticket, days in ready
            if band.holds(days)
        ],
    )


def _unpaid(day: date, now: datetime) -> FigureList:
    return FigureList(
        *heading("unpaid"),
        [of_ticket(ticket, unpaid_note(ticket), owed_by(ticket)) for ticket in queries.unpaid()],
    )


# The day


def _came(station: Station, day: date) -> FigureList:
    return _moves(heading("came", station=station.label), queries.moves_to(station, day))


def _left(station: Station, day: date) -> FigureList:
    return _moves(heading("left", station=station.label), queries.moves_from(station, day))


def _finished(day: date, now: datetime) -> FigureList:
    return _moves(heading("finished"), queries.finished_moves(day, day), once=True)


def _redo(day: date, now: datetime) -> FigureList:
    return _moves(heading("redo"), queries.moves_back(day))


def _first_pass(day: date, now: datetime) -> FigureList:
    inspected = queries.DayMoves.read(day).inspected()
    right = queries.right_first_time(inspected)
    pieces = sorted(
        queries.pieces_by_promise(inspected), key=lambda piece: (piece.pk in right, piece.code)
    )
    rows = [of_piece(piece, first_pass_note(piece.pk in right)) for piece in pieces]
    return FigureList(*heading("first-pass"), rows)


def _due(day: date, now: datetime) -> FigureList:
    rows = [of_ticket(ticket, due_note(ticket, now)) for ticket in queries.due_on(day)]
    return FigureList(*heading("due"), rows)


def _turnaround(day: date, now: datetime) -> FigureList:
    tickets = queries.racked_on(day)
    took = [(ticket.ready_at - ticket.opened_at, ticket) for ticket in tickets if ticket.ready_at]
    return FigureList(
        *heading("turnaround"),
        [
            of_ticket(ticket, in_hours(time))
            for time, ticket in sorted(took, key=lambda pair: (pair[0], pair[1].number))
        ],
    )


def _booked(day: date, now: datetime) -> FigureList:
    return FigureList(
        *heading("booked"),
        [
            of_ticket(ticket, say_when(ticket.opened_at), value)
            for ticket, value in queries.opened_on(day)
        ],
    )


def _takings(day: date, now: datetime) -> FigureList:
    rows = [
        FigureRow(
            who=row.ticket.customer.name,
            what=f"{row.get_kind_display()}, {row.get_means_display()}",
            note=" · ".join(filter(None, [say_when(row.at), name_of(row.by), row.reason])),
            ticket=row.ticket.number,
            spoken=str(row.ticket.number),
            amount=row.signed,
        )
        for row in queries.taken_on(day)
    ]
    return FigureList(*heading("takings"), rows)


# Rows


def _pieces_now(heads: tuple[str, str], pieces: Iterable[Piece]) -> FigureList:
    return FigureList(*heads, [of_piece(piece, since_note(piece, piece.since)) for piece in pieces])


def _moves(heads: tuple[str, str], moves: Iterable[Move], once: bool = False) -> FigureList:
    rows, seen = [], set[int]()
    for move in moves:
        if once and move.piece_id in seen:
            continue
        seen.add(move.piece_id)
        rows.append(of_piece(move.piece, move_note(move, move.kind in queries.SENT_BACK)))
    return FigureList(*heads, rows)


_NAMED: dict[str, Callable[[date, datetime], FigureList]] = {
    "late": _late,
    "at-risk": _at_risk,
    "holds": _holds,
    "in-process": _in_process,
    "unpaid": _unpaid,
    "finished": _finished,
    "redo": _redo,
    "first-pass": _first_pass,
    "due": _due,
    "turnaround": _turnaround,
    "booked": _booked,
    "takings": _takings,
}
_BY_STATION: dict[str, Callable[[Station, date], FigureList]] = {
    "came": _came,
    "left": _left,
}
_NOW_BY_STATION: dict[str, Callable[[Station, datetime], FigureList]] = {
    "process": _process_at,
    "jam": _jam,
}
