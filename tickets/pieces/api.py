"""The API of the back room: pieces, tickets on the assembly table, scans and boards.

Each operation calls the same function as the page for it. Who may call it stands in the project's
role table; how errors look is the project's exception handler.
"""

from __future__ import annotations

from django.db.models import Prefetch, QuerySet, prefetch_related_objects
from django.utils import timezone
from django.utils.translation import gettext as _
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import generics
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from tickets import numbers
from tickets.acting import Act
from tickets.api.once import ONE_TIME_KEY, OnceView, Validated, checked, key_used, keyed_act, once
from tickets.api.shapes import (
    FINDING,
    WRITING,
    BoardPieceSerializer,
    CompletedSerializer,
    CompleteRequestSerializer,
    FilterSerializer,
    HoldRequestSerializer,
    MovedSerializer,
    PieceDetailSerializer,
    PieceFilterSerializer,
    PieceSerializer,
    RedoRequestSerializer,
    ReleaseRequestSerializer,
    ReturnRequestSerializer,
    ScannedSerializer,
    ScanSerializer,
    StationSerializer,
    errors,
)
from tickets.choices import BOARD_STATIONS, CLOSED_STATES, MoveKind, Station
from tickets.errors import Kind, Refused
from tickets.models import Hold, Move, Piece
from tickets.promise.urgency import urgency_at
from tickets.scanning import lines
from tickets.tracking import queries
from tickets.tracking import services as tracking
from tickets.tracking.services import Moved

CODE = OpenApiParameter(
    "code", str, OpenApiParameter.PATH, description="Ten digits, or spoken: 1004821-07."
)
NUMBER = OpenApiParameter("number", OpenApiTypes.INT, OpenApiParameter.PATH)


def piece_code_of(text: str) -> str:
    """Digits of a piece code as typed or scanned; NumberError for anything else."""
    code = numbers.parse_code(text)
    if isinstance(code, numbers.TicketCode):
        raise Refused(
            "unknown_piece",
            _("%(ticket)s is a ticket, not a piece.") % {"ticket": code.spoken},
            _("Add the piece's number, for example %(ticket)s-01.") % {"ticket": code.spoken},
            kind=Kind.NOT_FOUND,
        )
    return code.digits


def find_piece(code: str) -> Piece:
    """The piece with these ten digits; ``Refused`` for none."""
    piece = lines.find_piece(code)
    if piece is None:
        raise Refused(
            "unknown_piece",
            _("There is no piece %(code)s.") % {"code": numbers.spoken(code)},
            _("Scan the tag again, or type the number under the bars."),
            kind=Kind.NOT_FOUND,
        )
    return piece


# Pieces


class PieceList(generics.ListAPIView[Piece]):
    serializer_class = PieceSerializer

    def get_queryset(self) -> QuerySet[Piece]:
        asked = checked(PieceFilterSerializer, self.request.query_params)
        found = Piece.objects.select_related("ticket", "rack_place").order_by("promised_at", "pk")
        for name, path in _PIECE_PATHS.items():
            if name in asked:
                found = found.filter(**{path: asked[name]})
        if asked["open"] is not None:
            closed = {"state__in": CLOSED_STATES}
            found = found.exclude(**closed) if asked["open"] else found.filter(**closed)
        if asked["late"] is not None:
            late = queries.late_pieces(timezone.now()).order_by().values("pk")
            found = found.filter(pk__in=late) if asked["late"] else found.exclude(pk__in=late)
        return found

    def get_serializer_context(self) -> dict[str, object]:
        return {**super().get_serializer_context(), "now": timezone.now()}

    @extend_schema(
        operation_id="pieces_list",
        parameters=[PieceFilterSerializer],
        responses={200: PieceSerializer(many=True), **FINDING},
    )
    def get(self, request: Request, *args: object, **kwargs: object) -> Response:
        """Pieces, the earliest promise first."""
        return super().get(request, *args, **kwargs)


_PIECE_PATHS = {
    "station": "station",
    "state": "state",
    "ticket": "ticket__number",
    "customer": "ticket__customer",
    "promise_day": "ticket__promise_day",
}


class PieceDetail(APIView):
    @extend_schema(
        operation_id="pieces_read",
        parameters=[CODE],
        responses={200: PieceDetailSerializer, **FINDING},
    )
    def get(self, request: Request, code: str) -> Response:
        """One piece with its decision, route, moves, holds and accepted cautions."""
        piece = find_piece(piece_code_of(code))
        prefetch_related_objects(
            [piece],
            "steps",
            "acceptances",
            Prefetch("moves", Move.objects.select_related("by")),
            Prefetch("holds", Hold.objects.select_related("owner")),
        )
        return Response(PieceDetailSerializer(piece).data)


class PieceMove(OnceView):
    """A move of one piece by name. A subclass says which one, and makes it in ``move``."""

    kind: MoveKind

    def move(self, code: str, data: Validated, act: Act) -> Moved:
        raise NotImplementedError

    def done(self, data: Validated, act: Act, code: str) -> Response:
        digits = piece_code_of(code)
        moved = self.move(digits, data, act)
        if moved.repeated and (moved.piece.code, moved.move.kind) != (digits, self.kind):
            raise key_used(f"{moved.piece.spoken}, {moved.move.get_kind_display()}")
        return Response(MovedSerializer(moved).data, status=200 if moved.repeated else 201)


@once("pieces_hold", HoldRequestSerializer, MovedSerializer, CODE)
class PieceHold(PieceMove):
    """Stop a piece, with a reason, a person who asks and the day to ask again."""

    kind = MoveKind.HELD

    def move(self, code: str, data: Validated, act: Act) -> Moved:
        owner = data.get("owner") or act.by
        return tracking.hold(code, data["reason"], owner, data["ask_again_on"], act)


@once("pieces_release", ReleaseRequestSerializer, MovedSerializer, CODE)
class PieceRelease(PieceMove):
    """End a hold with what came of it."""

    kind = MoveKind.RELEASED

    def move(self, code: str, data: Validated, act: Act) -> Moved:
        return tracking.release(code, data["outcome"], act)


@once("pieces_redo", RedoRequestSerializer, MovedSerializer, CODE)
class PieceRedo(PieceMove):
    """Send a piece back to a named station of its route, with a reason."""

    kind = MoveKind.REDO

    def move(self, code: str, data: Validated, act: Act) -> Moved:
        return tracking.send_back(code, Station(data["station"]), data["reason"], act)


@once("pieces_return", ReturnRequestSerializer, MovedSerializer, CODE)
class PieceReturn(PieceMove):
    """Give a piece back to its customer undone, with a reason. It is charged no more."""

    kind = MoveKind.RETURNED

    def move(self, code: str, data: Validated, act: Act) -> Moved:
        return tracking.return_undone(code, data["reason"], act)


# The assembly table


@once("tickets_complete", CompleteRequestSerializer, CompletedSerializer, NUMBER)
class TicketComplete(OnceView):
    """Send the matched pieces of a ticket to the rack: all, or with a reason a part of them."""

    def done(self, data: Validated, act: Act, number: int) -> Response:
        moved = tracking.complete_ticket(number, act, data["part_reason"])
        ticket = moved[0].piece.ticket
        if ticket.number != number:
            raise key_used(_("ticket %(ticket)s is complete.") % {"ticket": ticket.number})
        found = Move.objects.select_related("by", "piece__ticket", "piece__rack_place")
        moves = found.filter(pk__in=[each.move.pk for each in moved]).order_by("piece__position")
        repeated = moved[0].repeated
        shown = {"ticket": number, "moved": moves, "repeated": repeated}
        return Response(CompletedSerializer(shown).data, status=200 if repeated else 201)


# Scans


class Scan(APIView):
    @extend_schema(
        operation_id="scan",
        parameters=[ONE_TIME_KEY],
        request=ScanSerializer,
        responses={200: ScannedSerializer, **WRITING},
    )
    def post(self, request: Request) -> Response:
        """One scan at a station, as in the scan box of its board.

        The tone ``ask`` means that one more request is needed, with a fresh key: the same code
        with ``answer`` for a wet check, or with ``place`` for the rack.
        """
        data = checked(ScanSerializer, request.data)
        act, code = keyed_act(request, data), piece_code_of(data["code"])
        line, kind = code, ""
        if data["answer"] is not None:
            line, kind = (lines.YES if data["answer"] else lines.NO), "wet_check"
        elif data["place"]:
            line, kind = lines.PLACE_PREFIX + data["place"], "rack"
        find_piece(code)
        pending = lines.Pending(kind, (code,), act.at.isoformat()) if kind else None
        scanned = lines.scan(Station(data["station"]), line, act, pending)
        if scanned.tone == lines.BAD:
            raise Refused(scanned.code, scanned.says, scanned.cure, scanned.kind)
        if scanned.repeated and scanned.piece != code:
            raise key_used(scanned.says)
        return Response(
            ScannedSerializer(
                {
                    "tone": scanned.tone,
                    "says": scanned.says,
                    "cure": scanned.cure,
                    "asks": scanned.pending.kind if scanned.pending else "",
                    "piece": find_piece(code),
                    "repeated": scanned.repeated,
                }
            ).data
        )


# Boards


class BoardList(APIView):
    @extend_schema(
        operation_id="boards_list",
        responses={200: StationSerializer(many=True), **errors()},
    )
    def get(self, request: Request) -> Response:
        """Every station that has a board, in route order, with its counts."""
        counts = queries.station_counts(timezone.now())
        return Response(StationSerializer(counts, many=True).data)


class BoardDetail(generics.ListAPIView[Piece]):
    serializer_class = BoardPieceSerializer

    def get_queryset(self) -> QuerySet[Piece]:
        station = station_of(self.kwargs["station"], BOARD_STATIONS)
        checked(FilterSerializer, self.request.query_params)
        return queries.with_everything(queries.waiting_at(station))

    def get_serializer_context(self) -> dict[str, object]:
        now = timezone.now()
        return {**super().get_serializer_context(), "now": now, "urgency": urgency_at(now)}

    @extend_schema(
        operation_id="boards_read",
        parameters=[OpenApiParameter("station", str, OpenApiParameter.PATH)],
        responses={200: BoardPieceSerializer(many=True), **FINDING},
    )
    def get(self, request: Request, *args: object, **kwargs: object) -> Response:
        """What to do at a station, the most urgent first, with limits and cautions."""
        return super().get(request, *args, **kwargs)


def station_of(name: str, offered: tuple[Station, ...]) -> Station:
    """The station of an address; ``Refused`` unless it is one of those offered there."""
    if name not in offered:
        raise Refused(
            "unknown_station",
            _("There is no station %(station)s here.") % {"station": name[:40]},
            _("Choose one of: %(stations)s.") % {"stations": ", ".join(offered)},
            kind=Kind.NOT_FOUND,
        )
    return Station(name)
