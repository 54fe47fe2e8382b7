"""The API of the boards: what waits at a station, and one scan as its scan box does it."""

from __future__ import annotations

from django.db.models import QuerySet
from django.utils import timezone
from django.utils.http import quote_etag
from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_field
from rest_framework import generics, serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from tickets.api.addresses import piece_code_of, station_in
from tickets.api.facts import DECISION
from tickets.api.filters import StrictFilters
from tickets.api.once import ONE_TIME_KEY, checked, kept, key_used, keyed_act
from tickets.api.shapes import (
    FINDING,
    WRITING,
    OnceSerializer,
    PieceSerializer,
    RouteStepSerializer,
    errors,
)
from tickets.boards.board_scans import scan
from tickets.boards.queries import in_order_of, rows_of, station_counts, waiting_at
from tickets.choices import BOARD_STATIONS, Station
from tickets.errors import Refused
from tickets.models import Piece
from tickets.promise.open_work import current_mark, open_work
from tickets.promise.urgency import AT_RISK, DONE, DUE, LATE, Urgency, urgency_of
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
            kept(ScannedSerializer).to_representation(
                {
                    "tone": scanned.tone,
                    "says": scanned.says,
                    "cure": scanned.cure,
                    "asks": scanned.pending.kind if scanned.pending else "",
                    "piece": scanned.moved or find_piece(code),
                    "repeated": scanned.repeated,
                }
            )
        )


# Boards


class BoardList(APIView):
    @extend_schema(
        operation_id="boards_list",
        responses={200: StationSerializer(many=True), **errors()},
    )
    def get(self, request: Request) -> Response:
        """Every station that has a board, in route order, with its counts."""
        now = timezone.now()
        counts = station_counts(now, open_work(now))
        return Response(StationSerializer(counts, many=True).data)


class BoardDetail(generics.ListAPIView[Piece]):
    serializer_class = BoardPieceSerializer
    queryset = tracked.pieces_in_the_shop()  # what it lists, for the document
    filter_backends = [StrictFilters]

    def get_queryset(self) -> QuerySet[Piece]:
        return super().get_queryset().none()  # the open work knows which, and in which order

    @extend_schema(
        operation_id="boards_read",
        parameters=[OpenApiParameter("station", str, OpenApiParameter.PATH)],
        responses={200: BoardPieceSerializer(many=True), **FINDING},
    )
    def get(self, request: Request, *args: object, **kwargs: object) -> Response:
        """What to do at a station, the most urgent first, with limits and cautions.

        The answer has an `ETag`: sent back in `If-None-Match`, it brings 304 while nothing of the
        open work has changed, for five minutes at most.
        """
        station, now = station_in(self.kwargs["station"], BOARD_STATIONS), timezone.now()
        self.filter_queryset(self.get_queryset())  # refuses a filter that is not known
        tag = quote_etag(current_mark(now))
        if request.headers.get("If-None-Match") == tag:
            return Response(status=304, headers={"ETag": tag})
        work = open_work(now)
        page = self.paginate_queryset(waiting_at(station, work)) or []
        rows = in_order_of(page, tracked.with_everything(rows_of(page)))
        context = {**self.get_serializer_context(), "urgency": urgency_of(work, now)}
        response = self.get_paginated_response(
            BoardPieceSerializer(rows, many=True, context=context).data
        )
        response["ETag"] = quote_etag(work.mark)
        return response
