"""The API of the back room: pieces, scans, boards and the care decision.

Each operation calls the same function as the page for it. Who may call it stands in the project's
role table; how errors look is the project's exception handler.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable
from typing import Any

from django.contrib.auth.models import User
from django.db.models import Prefetch, QuerySet, prefetch_related_objects
from django.utils import timezone
from django.utils.translation import gettext as _
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework import generics
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

import care_rules
from care_rules import FactsError, Fault
from tickets import houserules, numbers, queries, scanning, tracking
from tickets.api_facts import DECISION, FACTS, MOST_AT_ONCE, one_or_many
from tickets.api_shapes import (
    FINDING,
    WRITING,
    BoardPieceSerializer,
    HoldRequestSerializer,
    MovedSerializer,
    PieceDetailSerializer,
    PieceFilterSerializer,
    PieceSerializer,
    RedoRequestSerializer,
    ReleaseRequestSerializer,
    ScannedSerializer,
    ScanSerializer,
    StationSerializer,
    errors,
)
from tickets.choices import BOARD_STATIONS, MoveKind, Station
from tickets.errors import Refused
from tickets.models import Hold, Move, Piece
from tickets.tracking import Act, Moved

ONE_TIME_KEY = OpenApiParameter(
    "Idempotency-Key",
    OpenApiTypes.UUID,
    OpenApiParameter.HEADER,
    description="One-time key of this request; the field client_key does the same.",
)
CODE = OpenApiParameter(
    "code", str, OpenApiParameter.PATH, description="Ten digits, or spoken: 1004821-07."
)


def one_time_key(request: Request, given: uuid.UUID | None) -> uuid.UUID:
    """The key from the header or the field; one of them must be there."""
    header = request.headers.get("Idempotency-Key", "").strip().strip('"')
    if header:
        try:
            named = uuid.UUID(header)
        except ValueError:
            raise ValidationError(
                {"Idempotency-Key": [_("%(value)s is not a UUID.") % {"value": header[:60]}]}
            ) from None
        if given is not None and given != named:
            raise ValidationError({"client_key": [_("It differs from the header's key.")]})
        return named
    if given is None:
        raise ValidationError(
            {"client_key": [_("Send a fresh UUID, so that a repeat does nothing twice.")]}
        )
    return given


def act_of(request: Request, data: dict[str, Any]) -> Act:
    """Who does it, with which key."""
    key = one_time_key(request, data.get("client_key"))
    return Act(by=person_of(request), device=data.get("device", ""), client_key=str(key))


def person_of(request: Request) -> User:
    assert isinstance(request.user, User)  # no role lets nobody through
    return request.user


def piece_code_of(text: str) -> str:
    """Digits of a piece code as typed or scanned; NumberError for anything else."""
    code = numbers.parse_code(text)
    if isinstance(code, numbers.TicketCode):
        raise Refused(
            "unknown_piece",
            _("%(ticket)s is a ticket, not a piece.") % {"ticket": code.spoken},
            _("Add the piece's number, for example %(ticket)s-01.") % {"ticket": code.spoken},
        )
    return code.digits


def answer(moved: Moved, code: str, *kinds: MoveKind) -> Response:
    """201 for a new move, 200 for a repeated key; a key of something else is refused."""
    if moved.repeated and (moved.piece.code != code or moved.move.kind not in kinds):
        raise _key_used(f"{moved.piece.spoken}, {moved.move.get_kind_display()}")
    return Response(MovedSerializer(moved).data, status=200 if moved.repeated else 201)


class PieceList(generics.ListAPIView[Piece]):
    serializer_class = PieceSerializer

    def get_queryset(self) -> QuerySet[Piece]:
        wanted = PieceFilterSerializer(data=self.request.query_params)
        wanted.is_valid(raise_exception=True)
        found = Piece.objects.select_related("ticket", "rack_place").order_by("promised_at", "pk")
        asked = wanted.validated_data
        if "station" in asked:
            found = found.filter(station=asked["station"])
        if "state" in asked:
            found = found.filter(state=asked["state"])
        if asked["late"] is not None:
            late = queries.late_pieces(timezone.now()).order_by().values("pk")
            found = found.filter(pk__in=late) if asked["late"] else found.exclude(pk__in=late)
        return found

    def get_serializer_context(self) -> dict[str, Any]:
        return {**super().get_serializer_context(), "now": timezone.now()}

    @extend_schema(
        operation_id="pieces_list",
        parameters=[PieceFilterSerializer],
        responses={200: PieceSerializer(many=True), **FINDING},
    )
    def get(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Pieces, the earliest promise first."""
        return super().get(request, *args, **kwargs)


class PieceDetail(APIView):
    @extend_schema(
        operation_id="pieces_read",
        parameters=[CODE],
        responses={200: PieceDetailSerializer, **FINDING},
    )
    def get(self, request: Request, code: str) -> Response:
        """One piece with its decision, route, moves, holds and accepted cautions."""
        piece = _find(piece_code_of(code))
        prefetch_related_objects(
            [piece],
            "steps",
            "acceptances",
            Prefetch("moves", Move.objects.select_related("by")),
            Prefetch("holds", Hold.objects.select_related("owner")),
        )
        return Response(PieceDetailSerializer(piece).data)


MOVE_ANSWERS = {
    201: MovedSerializer,
    200: OpenApiResponse(MovedSerializer, "The key was known; nothing new was written."),
    **WRITING,
}


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
        sent = ScanSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        data = sent.validated_data
        act, code = act_of(request, data), piece_code_of(data["code"])
        line, kind = code, ""
        if data["answer"] is not None:
            line, kind = (scanning.YES if data["answer"] else scanning.NO), "wet_check"
        elif data["place"]:
            line, kind = scanning.PLACE_PREFIX + data["place"], "rack"
        _find(code)
        pending = scanning.Pending(kind, (code,), act.at.isoformat()) if kind else None
        scanned = scanning.scan(Station(data["station"]), line, act, pending)
        if scanned.tone == scanning.BAD:
            raise Refused(scanned.code, scanned.says, scanned.cure)
        if scanned.repeated and scanned.piece != code:
            raise _key_used(scanned.says)
        return Response(
            ScannedSerializer(
                {
                    "tone": scanned.tone,
                    "says": scanned.says,
                    "cure": scanned.cure,
                    "asks": scanned.pending.kind if scanned.pending else "",
                    "piece": _find(code),
                    "repeated": scanned.repeated,
                }
            ).data
        )


def _find(code: str) -> Piece:
    piece = scanning.find_piece(code)
    if piece is None:
        raise Refused(
            "unknown_piece",
            _("There is no piece %(code)s.") % {"code": numbers.spoken(code)},
            _("Scan the tag again, or type the number under the bars."),
        )
    return piece


def _key_used(what: str) -> Refused:
    return Refused(
        "key_used",
        _("This key already stands for something else: %(what)s") % {"what": what},
        _("Send a fresh key for a new request."),
    )


class PieceHold(APIView):
    @extend_schema(
        operation_id="pieces_hold",
        parameters=[CODE, ONE_TIME_KEY],
        request=HoldRequestSerializer,
        responses=MOVE_ANSWERS,
    )
    def post(self, request: Request, code: str) -> Response:
        """Stop a piece, with a reason, a person who asks and the day to ask again."""
        digits = piece_code_of(code)
        sent = HoldRequestSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        data = sent.validated_data
        moved = tracking.hold(
            digits,
            data["reason"],
            data.get("owner") or person_of(request),
            data["ask_again_on"],
            act_of(request, data),
        )
        return answer(moved, digits, MoveKind.HELD)


class PieceRelease(APIView):
    @extend_schema(
        operation_id="pieces_release",
        parameters=[CODE, ONE_TIME_KEY],
        request=ReleaseRequestSerializer,
        responses=MOVE_ANSWERS,
    )
    def post(self, request: Request, code: str) -> Response:
        """End a hold with what came of it."""
        digits = piece_code_of(code)
        sent = ReleaseRequestSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        data = sent.validated_data
        moved = tracking.release(digits, data["outcome"], act_of(request, data))
        return answer(moved, digits, MoveKind.RELEASED)


class PieceRedo(APIView):
    @extend_schema(
        operation_id="pieces_redo",
        parameters=[CODE, ONE_TIME_KEY],
        request=RedoRequestSerializer,
        responses=MOVE_ANSWERS,
    )
    def post(self, request: Request, code: str) -> Response:
        """Send a piece back to a named station of its route, with a reason."""
        digits = piece_code_of(code)
        sent = RedoRequestSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        data = sent.validated_data
        moved = tracking.send_back(
            digits, Station(data["station"]), data["reason"], act_of(request, data)
        )
        return answer(moved, digits, MoveKind.REDO)


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
        name = self.kwargs["station"]
        if name not in {station.value for station in BOARD_STATIONS}:
            raise Refused(
                "unknown_station",
                _("There is no board %(station)s.") % {"station": name[:40]},
                _("Choose one of: %(stations)s.") % {"stations": ", ".join(BOARD_STATIONS)},
            )
        return queries.with_everything(queries.waiting_at(Station(name)))

    def get_serializer_context(self) -> dict[str, Any]:
        now = timezone.now()
        return {**super().get_serializer_context(), "now": now, "queue": queries.Queue(now)}

    @extend_schema(
        operation_id="boards_read",
        parameters=[OpenApiParameter("station", str, OpenApiParameter.PATH)],
        responses={200: BoardPieceSerializer(many=True), **FINDING},
    )
    def get(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """What to do at a station, the most urgent first, with limits and cautions."""
        return super().get(request, *args, **kwargs)


class Decide(APIView):
    @extend_schema(
        operation_id="decide",
        request={"application/json": one_or_many(FACTS)},
        responses={
            (200, "application/json"): one_or_many(DECISION),
            **errors(400, 413, 415),
        },
    )
    def post(self, request: Request) -> Response:
        """The care decision for facts; an array of them gives an array. Nothing is stored."""
        if not isinstance(request.data, list):
            return Response(
                care_rules.decide_json(_facts(request.data, "body"), houserules.current())
            )
        if not 1 <= len(request.data) <= MOST_AT_ONCE:
            raise ValidationError(
                [_("Send 1 to %(most)d pieces at once.") % {"most": MOST_AT_ONCE}]
            )
        return Response(decide_each(request.data, lambda index: f"[{index}]"))


def decide_each(pieces: list[Any], path: Callable[[int], str]) -> list[dict[str, Any]]:
    """Decisions for all pieces, or one FactsError with every fault of every piece."""
    decisions, faults = [], list[Fault]()
    house_rules = houserules.current()
    for index, facts in enumerate(pieces):
        try:
            decisions.append(care_rules.decide_json(_facts(facts, path(index)), house_rules))
        except FactsError as error:
            faults += [
                Fault(_under(path(index), fault.field), fault.value, fault.cure)
                for fault in error.faults
            ]
    if faults:
        raise FactsError(faults)
    return decisions


def _under(path: str, field: str) -> str:
    return field if field.startswith(path) else f"{path}.{field}"


def _facts(value: Any, path: str) -> dict[str, Any]:
    if not isinstance(value, dict):
        raise FactsError([Fault(path, value, _("Send an object of facts."))])
    return value
