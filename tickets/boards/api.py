"""The API of the boards: what waits at a station, and one scan as its scan box does it."""

from __future__ import annotations

from django.db.models import QuerySet
from django.utils import timezone
from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_field
from rest_framework import generics, serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from tickets.api.addresses import piece_code_of, station_in
from tickets.api.facts import DECISION
from tickets.api.filters import StrictFilters
from tickets.api.once import ONE_TIME_KEY, checked, key_used, keyed_act
from tickets.api.shapes import (
    FINDING,
    WRITING,
    OnceSerializer,
    PieceSerializer,
    RouteStepSerializer,
    errors,
)
from tickets.boards.board_scans import scan
from tickets.boards.queries import station_counts, waiting_at
from tickets.choices import BOARD_STATIONS, Station
from tickets.errors import Refused
from tickets.models import Piece
from tickets.promise.urgency import AT_RISK, DONE, DUE, LATE, Urgency, urgency_at
from tickets.scanning.lines import NO, PLACE_PREFIX, YES
from tickets.scanning.results import ASK, BAD, GOOD, RACK, SAME, WET_CHECK, Pending
from tickets.tracking import queries as tracked
from tickets.tracking.open_steps import at_station
from tickets.tracking.queries import find_piece

BOARDS = [(station.value, station.label) for station in BOARD_STATIONS]
URGENCIES = (LATE, AT_RISK, DUE, DONE)


class BoardPieceSerializer(PieceSerializer):
    """A piece on a board: how urgent, what to do here, what never to do, and why."""

    rush = serializers.BooleanField(source="ticket.rush")
    urgency = serializers.SerializerMethodField()
    to_do = serializers.SerializerMethodField()
    limits = serializers.DictField(source="decision.limits")
    cautions = serializers.SerializerMethodField()

    class Meta(PieceSerializer.Meta):
        fields = [
            *PieceSerializer.Meta.fields,
            "rush", "urgency", "to_do", "limits", "cautions",
        ]  # fmt: skip

    @extend_schema_field(serializers.ChoiceField(list(URGENCIES)))
    def get_urgency(self, piece: Piece) -> str:
        urgency: Urgency = self.context["urgency"]
        return urgency(piece)

    @extend_schema_field(RouteStepSerializer(many=True))
    def get_to_do(self, piece: Piece) -> object:
        return RouteStepSerializer(at_station(piece), many=True).data

    @extend_schema_field(DECISION["properties"]["cautions"])
    def get_cautions(self, piece: Piece) -> object:
        return piece.decision["cautions"]


class ScanSerializer(OnceSerializer):
    code = serializers.CharField(max_length=40, help_text="ten digits, or spoken: 1004821-07")
    station = serializers.ChoiceField(BOARDS)
    answer = serializers.BooleanField(
        required=False,
        allow_null=True,
        default=None,
        help_text="to a wet check: is the stain gone?",
    )
    place = serializers.CharField(max_length=8, required=False, default="", allow_blank=True)


class ScannedSerializer(serializers.Serializer[object]):
    """What came of a scan. The tone is good, same (nothing new to do) or ask (one more line)."""

    tone = serializers.ChoiceField([GOOD, SAME, ASK])
    says = serializers.CharField()
    cure = serializers.CharField(allow_blank=True)
    asks = serializers.ChoiceField([WET_CHECK, RACK], allow_blank=True)
    piece = PieceSerializer()
    repeated = serializers.BooleanField()


class StationSerializer(serializers.Serializer[object]):
    station = serializers.ChoiceField(Station.choices)
    name = serializers.CharField(source="station.label")
    waiting = serializers.IntegerField()
    matched = serializers.IntegerField()
    held = serializers.IntegerField()
    late = serializers.IntegerField()


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
            line, kind = (YES if data["answer"] else NO), WET_CHECK
        elif data["place"]:
            line, kind = PLACE_PREFIX + data["place"], RACK
        pending = Pending(kind, (code,), act.at.isoformat()) if kind else None
        scanned = scan(Station(data["station"]), line, act, pending)
        if scanned.tone == BAD:
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
                    "piece": scanned.moved or find_piece(code),
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
        counts = station_counts(timezone.now())
        return Response(StationSerializer(counts, many=True).data)


class BoardDetail(generics.ListAPIView[Piece]):
    serializer_class = BoardPieceSerializer
    queryset = Piece.objects.none()  # what it lists, for the document
    filter_backends = [StrictFilters]

    def get_queryset(self) -> QuerySet[Piece]:
        station = station_in(self.kwargs["station"], BOARD_STATIONS)
        return tracked.with_everything(waiting_at(station, timezone.now()))

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
