"""Behind every figure: the tickets, pieces or payments that were counted, by the same rules."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, datetime
from decimal import Decimal

from django.db.models import QuerySet, Sum
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from counter.models import Payment
from counter.money.queries import owed_by
from counter.owner import day as days
from counter.owner import now as present
from counter.owner.figure_rows import FigureList, FigureRow, of_piece, of_ticket
from counter.owner.late import late_list
from counter.owner.queries import (
    SENT_BACK,
    DayMoves,
    due_on,
    finished_moves,
    racked_on,
    right_first_time,
)
from tickets.choices import CLOSED_STATES, PieceState, Station
from tickets.models import Move, Piece, Ticket
from tickets.promise.expected import Outlook
from tickets.shop.queries import read_calendar
from tickets.tracking.wording import name_of, say_when

_STATION_FIGURE = re.compile(r"^(came|left|process|jam)-([a-z_]+)$")
_BAND_FIGURE = re.compile(r"^unclaimed-(.+)$")


def figure_list(figure: str, day: date, now: datetime) -> FigureList | None:
    """The list behind a figure, or None for a figure that does not exist."""
    if named := _NAMED.get(figure):
        return named(day, now)
    if (match := _STATION_FIGURE.match(figure)) and match[2] in Station.values:
        if match[1] == "jam":
            return _jam(Station(match[2]), now)
        return _BY_STATION[match[1]](Station(match[2]), day)
    if match := _BAND_FIGURE.match(figure):
        band = next((one for one in _bands() if one.key == match[1]), None)
        return _unclaimed(band, now) if band else None
    return None


def _bands() -> list[present.Band]:
    return [present.Band(*ends) for ends in present.BANDS]


# Now


def _late(day: date, now: datetime) -> FigureList:
    return late_list(
        _("Late now"),
        _("Tickets not fully racked whose promise is past, oldest first."),
        now,
        Outlook.late,
    )


def _at_risk(day: date, now: datetime) -> FigureList:
    return late_list(
        _("At risk"),
        _("Tickets whose promise is to come, and that are expected after it."),
        now,
        Outlook.at_risk,
    )


def _holds(day: date, now: datetime) -> FigureList:
    rows = [
        of_piece(
            hold.piece,
            _("%(reason)s; %(owner)s asks again %(day)s")
            % {
                "reason": hold.reason,
                "owner": name_of(hold.owner),
                "day": date_format(hold.ask_again_on, "D j M"),
            },
        )
        for hold in present.open_holds()
    ]
    return FigureList(
        _("On hold"), _("Pieces stopped with a question that has no answer yet."), rows
    )


def _in_process(day: date, now: datetime) -> FigureList:
    return _pieces_now(
        _("In process now"),
        _("Pieces tagged, and not yet racked, collected or gone back."),
        present.in_process_pieces(),
    )


def _process_at(station: Station, day: date) -> FigureList:
    return _pieces_now(
        _("In process now: %(station)s") % {"station": station.label},
        _("Pieces that wait at this station now, held ones too."),
        present.in_process_pieces().filter(station=station),
    )


def _jam(station: Station, now: datetime) -> FigureList:
    loads = present.tomorrows_load(now, read_calendar())[1]
    load = next((load for load in loads if load.station == station), None)
    minutes = dict(load.pieces) if load else {}
    pieces = Piece.objects.filter(pk__in=list(minutes)).select_related("ticket__customer")
    rows = [
        of_piece(
            piece,
            _("%(minutes)d min here, now at %(station)s, promised %(when)s")
            % {
                "minutes": minutes[piece.pk],
                "station": piece.get_station_display(),
                "when": say_when(piece.promised_at),
            },
        )
        for piece in pieces.order_by("promised_at", "code")
    ]
    return FigureList(
        _("Still to come to %(station)s") % {"station": station.label},
        _(
            "Pieces that are expected at this station by the end of the next open day, held ones "
            "left out, with their crew minutes."
        ),
        rows,
    )


def _unclaimed(band: present.Band, now: datetime) -> FigureList:
    ready = [(one, present.days_ready(one, now)) for one in present.unclaimed()]
    return FigureList(
        _("Unclaimed for %(band)s days") % {"band": band_words(band)},
        _("Ready tickets nobody fetched, by days since the last piece was racked; what is owed."),
        [
            of_ticket(
                one,
                ngettext("ready for %(days)d day", "ready for %(days)d days", days)
                % {"days": days},
                owed_by(one),
            )
            for one, days in ready
            if band.holds(days)
        ],
    )


def band_words(band: present.Band) -> str:
    if band.last is None:
        return _("more than %(days)d") % {"days": band.first - 1}
    return f"{band.first}–{band.last}"


def _unpaid(day: date, now: datetime) -> FigureList:
    return FigureList(
        _("Work done, not paid"),
        _("Balances of tickets that were fully racked, whether collected or not."),
        [
            of_ticket(
                one,
                _("collected") if one.closed_at else _("still here"),
                owed_by(one),
            )
            for one in present.unpaid()
        ],
    )


# The day


def _came(station: Station, day: date) -> FigureList:
    moves = Move.objects.filter(business_day=day, to_station=station).exclude(from_station=station)
    return _moves(
        _("Came to %(station)s") % {"station": station.label},
        _("Moves of the day that brought a piece here; one that came twice stands twice."),
        moves,
    )


def _left(station: Station, day: date) -> FigureList:
    moves = Move.objects.filter(business_day=day, from_station=station)
    gone = moves.filter(to_station=station, to_state__in=CLOSED_STATES)
    return _moves(
        _("Left %(station)s") % {"station": station.label},
        _("Moves of the day that took a piece from here; one that left twice stands twice."),
        moves.exclude(to_station=station) | gone,
    )


def _finished(day: date, now: datetime) -> FigureList:
    return _moves(
        _("Finished"),
        _("Pieces racked on the day; hanging one at another place is not counted."),
        finished_moves(day, day),
        once=True,
    )


def _redo(day: date, now: datetime) -> FigureList:
    return _moves(
        _("Sent back"),
        _("Moves of the day that sent a piece back to a station, with the reason."),
        Move.objects.filter(business_day=day, kind__in=SENT_BACK),
    )


def _first_pass(day: date, now: datetime) -> FigureList:
    inspected = DayMoves.read(day).inspected()
    right = right_first_time(inspected)
    pieces = Piece.objects.filter(pk__in=list(inspected)).select_related("ticket__customer")
    rows = [
        of_piece(
            piece, _("right first time") if piece.pk in right else _("not right the first time")
        )
        for piece in pieces.order_by("code")
    ]
    return FigureList(
        _("Inspected"),
        _("Pieces right first time / pieces inspected: passed or sent back at the check today."),
        sorted(rows, key=lambda row: row.note == _("right first time")),
    )


def _due(day: date, now: datetime) -> FigureList:
    rows = []
    for ticket in due_on(day).select_related("customer"):
        if ticket.ready_at is not None and ticket.ready_at <= ticket.promised_at:
            note = _("on time: racked %(when)s") % {"when": say_when(ticket.ready_at)}
        elif ticket.ready_at is not None:
            note = _("missed: racked %(when)s") % {"when": say_when(ticket.ready_at)}
        elif ticket.promised_at >= now:
            note = _("to come: promised %(when)s") % {"when": say_when(ticket.promised_at)}
        else:
            note = _("missed: not racked yet, promised %(when)s") % {
                "when": say_when(ticket.promised_at)
            }
        rows.append(of_ticket(ticket, note))
    return FigureList(
        _("Due on the day"),
        _("Tickets fully racked by their promise / tickets due that day."),
        rows,
    )


def _turnaround(day: date, now: datetime) -> FigureList:
    tickets = racked_on(day).select_related("customer")
    took = [(one.ready_at - one.opened_at, one) for one in tickets if one.ready_at]
    return FigureList(
        _("Turnaround"),
        _("Racked time minus intake time of the tickets fully racked on the day, shortest first."),
        [
            of_ticket(one, days.in_hours(time))
            for time, one in sorted(took, key=lambda pair: (pair[0], pair[1].number))
        ],
    )


def _booked(day: date, now: datetime) -> FigureList:
    tickets = Ticket.objects.filter(business_day=day).select_related("customer")
    values = tickets.annotate(value=Sum("lines__amount")).order_by("number")
    return FigureList(
        _("Booked work"),
        _("Value of the tickets opened on the day, as priced at intake."),
        [of_ticket(one, say_when(one.opened_at), one.value or Decimal(0)) for one in values],
    )


def _takings(day: date, now: datetime) -> FigureList:
    payments = Payment.objects.filter(business_day=day).select_related("ticket__customer", "by")
    rows = [
        FigureRow(
            who=row.ticket.customer.name,
            what=f"{row.get_kind_display()}, {row.get_means_display()}",
            note=" · ".join(filter(None, [say_when(row.at), name_of(row.by), row.reason])),
            ticket=row.ticket.number,
            spoken=str(row.ticket.number),
            amount=row.signed,
        )
        for row in payments
    ]
    return FigureList(
        _("Takings"),
        _("Money received on the day less money given back; not the value of new tickets."),
        rows,
    )


# Rows


def _pieces_now(title: str, formula: str, pieces: QuerySet[Piece]) -> FigureList:
    found = pieces.select_related("ticket__customer").order_by("promised_at", "code")
    return FigureList(
        title,
        formula,
        [
            of_piece(
                piece,
                _("%(state)s at %(station)s since %(when)s")
                % {
                    "state": PieceState(piece.state).label,
                    "station": piece.get_station_display(),
                    "when": say_when(piece.since),
                },
            )
            for piece in found
        ],
    )


def _moves(title: str, formula: str, moves: QuerySet[Move], once: bool = False) -> FigureList:
    found = moves.select_related("piece__ticket__customer", "by").order_by("at", "pk")
    rows, seen = [], set[int]()
    for move in found:
        if once and move.piece_id in seen:
            continue
        seen.add(move.piece_id)
        words = [say_when(move.at), name_of(move.by), move.get_kind_display()]
        if move.to_station and move.kind in SENT_BACK:
            words.append(_("to %(station)s") % {"station": move.get_to_station_display()})
        rows.append(of_piece(move.piece, " · ".join(filter(None, [*words, move.reason]))))
    return FigureList(title, formula, rows)


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
    "process": _process_at,
}
