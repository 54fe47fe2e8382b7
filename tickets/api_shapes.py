"""What the API of the back room takes and gives, field by field."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib.auth.models import User
from django.utils import timezone
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from tickets import tracking
from tickets.api_facts import DECISION, DecisionField
from tickets.choices import BOARD_STATIONS, PieceState, Station
from tickets.models import Acceptance, Hold, Move, Piece, RouteStep
from tickets.queries import AT_RISK, DONE, DUE, LATE, Queue
from tickets.scanning import ASK, GOOD, SAME

BOARDS = [(station.value, station.label) for station in BOARD_STATIONS]
URGENCIES = (LATE, AT_RISK, DUE, DONE)


class FieldFaultSerializer(serializers.Serializer[Any]):
    field = serializers.CharField(help_text="path of the field, as pieces[0].facts.colour")
    value = serializers.JSONField(allow_null=True, help_text="what stood there, shortened")
    cure = serializers.CharField()


class ErrorSerializer(serializers.Serializer[Any]):
    code = serializers.CharField(help_text="stable and short, for programs")
    says = serializers.CharField(help_text="what is wrong")
    cure = serializers.CharField(allow_blank=True, help_text="what to do")
    fields = FieldFaultSerializer(many=True, required=False)  # type: ignore[assignment]


def errors(*numbers: int) -> dict[int, type[ErrorSerializer]]:
    """Answers of an operation that are errors; every one may find nobody signed in."""
    return dict.fromkeys((401, 403, 406, *numbers), ErrorSerializer)


FINDING = errors(400, 404)
WRITING = errors(400, 404, 409, 413, 415)


class OnceSerializer(serializers.Serializer[Any]):
    """A request that is done once, however often it comes."""

    client_key = serializers.UUIDField(
        required=False,
        help_text="one-time key; it may come in the header Idempotency-Key instead",
    )
    device = serializers.CharField(max_length=60, required=False, default="", allow_blank=True)


class RouteStepSerializer(serializers.ModelSerializer[RouteStep]):
    settings = serializers.DictField()
    because = serializers.ListField(child=serializers.CharField())
    minutes = serializers.FloatField()

    class Meta:
        model = RouteStep
        fields = [
            "order", "step", "station", "settings", "says", "because", "minutes", "done_at",
        ]  # fmt: skip


class MoveSerializer(serializers.ModelSerializer[Move]):
    by = serializers.SerializerMethodField()

    class Meta:
        model = Move
        fields = [
            "number", "kind", "from_state", "to_state", "from_station", "to_station",
            "rack_place", "reason", "at", "by", "device",
        ]  # fmt: skip

    def get_by(self, move: Move) -> str:
        return name_of(move.by)


class HoldSerializer(serializers.ModelSerializer[Hold]):
    owner = serializers.SerializerMethodField()

    class Meta:
        model = Hold
        fields = ["reason", "owner", "ask_again_on", "opened_at", "ended_at", "outcome"]

    def get_owner(self, hold: Hold) -> str:
        return name_of(hold.owner)


class AcceptanceSerializer(serializers.ModelSerializer[Acceptance]):
    class Meta:
        model = Acceptance
        fields = ["caution", "says", "accepted_by", "at"]


class PieceSerializer(serializers.ModelSerializer[Piece]):
    """A piece on a list. ``late`` means open after its promised moment."""

    ticket = serializers.IntegerField(source="ticket.number")
    spoken = serializers.CharField()
    rack_place = serializers.CharField(source="rack_place.code", default="", allow_blank=True)
    late = serializers.SerializerMethodField()

    class Meta:
        model = Piece
        fields = [
            "code", "spoken", "ticket", "position", "kind", "description", "set_mark", "state",
            "station", "since", "promised_at", "late", "rack_place", "redo_count",
        ]  # fmt: skip

    def get_late(self, piece: Piece) -> bool:
        now: datetime = self.context.get("now") or timezone.now()
        return piece.is_open and piece.state != PieceState.READY and piece.promised_at < now


class PieceDetailSerializer(PieceSerializer):
    """Everything about one piece: what was decided, its route and its history."""

    services = serializers.ListField(child=serializers.CharField())
    inspection = serializers.DictField()
    decision = DecisionField()
    steps = RouteStepSerializer(many=True)
    moves = MoveSerializer(many=True)
    holds = HoldSerializer(many=True)
    acceptances = AcceptanceSerializer(many=True)

    class Meta(PieceSerializer.Meta):
        fields = [
            *PieceSerializer.Meta.fields,
            "services", "inspection", "decision", "steps", "moves", "holds", "acceptances",
        ]  # fmt: skip


class BoardPieceSerializer(PieceSerializer):
    """A piece on a board: how urgent, what to do here, what never to do, and why."""

    rush = serializers.BooleanField(source="ticket.rush")
    urgency = serializers.SerializerMethodField()
    to_do = serializers.SerializerMethodField()
    limits = serializers.DictField()
    cautions = serializers.SerializerMethodField()

    class Meta(PieceSerializer.Meta):
        fields = [
            *PieceSerializer.Meta.fields,
            "rush", "urgency", "to_do", "limits", "cautions",
        ]  # fmt: skip

    @extend_schema_field(serializers.ChoiceField(list(URGENCIES)))
    def get_urgency(self, piece: Piece) -> str:
        queue: Queue = self.context["queue"]
        return queue.urgency(piece)

    @extend_schema_field(RouteStepSerializer(many=True))
    def get_to_do(self, piece: Piece) -> Any:
        return RouteStepSerializer(tracking.at_station(piece), many=True).data

    @extend_schema_field(DECISION["properties"]["cautions"])
    def get_cautions(self, piece: Piece) -> Any:
        return piece.decision["cautions"]


class PieceFilterSerializer(serializers.Serializer[Any]):
    station = serializers.ChoiceField(Station.choices, required=False)
    state = serializers.ChoiceField(PieceState.choices, required=False)
    late = serializers.BooleanField(required=False, allow_null=True, default=None)


class MovedSerializer(serializers.Serializer[Any]):
    """What a move did. ``repeated`` means that its key was known and nothing new was written."""

    piece = PieceSerializer()
    move = MoveSerializer()
    repeated = serializers.BooleanField()


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


class ScannedSerializer(serializers.Serializer[Any]):
    """What came of a scan. The tone is good, same (nothing new to do) or ask (one more line)."""

    tone = serializers.ChoiceField([GOOD, SAME, ASK])
    says = serializers.CharField()
    cure = serializers.CharField(allow_blank=True)
    asks = serializers.ChoiceField(["wet_check", "rack"], allow_blank=True)
    piece = PieceSerializer()
    repeated = serializers.BooleanField()


class HoldRequestSerializer(OnceSerializer):
    reason = serializers.CharField(max_length=300)
    owner = serializers.SlugRelatedField(
        slug_field="username",
        queryset=User.objects.filter(is_active=True),
        required=False,
        help_text="user name of the person who asks; the caller where it is left out",
    )
    ask_again_on = serializers.DateField()


class ReleaseRequestSerializer(OnceSerializer):
    outcome = serializers.CharField(max_length=300)


class RedoRequestSerializer(OnceSerializer):
    station = serializers.ChoiceField(Station.choices)
    reason = serializers.CharField(max_length=300)


class StationSerializer(serializers.Serializer[Any]):
    station = serializers.ChoiceField(Station.choices)
    name = serializers.CharField(source="station.label")
    waiting = serializers.IntegerField()
    matched = serializers.IntegerField()
    held = serializers.IntegerField()
    late = serializers.IntegerField()


def name_of(user: User) -> str:
    return user.get_full_name() or user.get_username()
