"""What the API of the back room takes and gives, field by field."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import TypeVar

from django.utils import timezone
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail

from care_rules import Json, JsonObject
from tickets.api import wording
from tickets.api.facts import DecisionField
from tickets.choices import PieceState, Station
from tickets.garments import washes
from tickets.garments.queries import wash_count
from tickets.models import Acceptance, Hold, Move, Piece, RouteStep
from tickets.tracking.queries import active_people
from tickets.tracking.wording import name_of

MOST_ID = 2**63 - 1


Shown = TypeVar("Shown")


class FieldFaultSerializer(serializers.Serializer[object]):
    field = serializers.CharField(help_text="path of the field, as pieces[0].facts.colour")
    value = serializers.JSONField(allow_null=True, help_text="what stood there, shortened")
    cure = serializers.CharField()


class ErrorSerializer(serializers.Serializer[object]):
    code = serializers.CharField(help_text="stable and short, for programs")
    says = serializers.CharField(help_text="what is wrong")
    cure = serializers.CharField(allow_blank=True, help_text="what to do")
    fields = FieldFaultSerializer(many=True, required=False)  # type: ignore[assignment]


def errors(*numbers: int) -> dict[int, type[ErrorSerializer]]:
    """Answers of an operation that are errors; every one may find nobody signed in."""
    return dict.fromkeys((401, 403, 406, *numbers), ErrorSerializer)


FINDING = errors(400, 404)
WRITING = errors(400, 404, 409, 413, 415)


class StrictSerializer(serializers.Serializer[Shown]):
    """A field that is not known here is refused, never passed over."""

    # A slip such as "knd" for "kind" would otherwise book a refund as a payment.

    def to_internal_value(self, data: Json) -> Json:
        faults = unknown_names(data, tuple(self.fields)) if _is_object(data) else {}
        try:
            value = super().to_internal_value(data)
        except serializers.ValidationError as error:
            if not isinstance(error.detail, dict):
                raise
            details = {
                name: choices_told(self.fields.get(name), says)
                for name, says in error.detail.items()
            }
            raise serializers.ValidationError({**details, **faults}) from error
        if faults:
            raise serializers.ValidationError(faults)
        return value


def unknown_names(sent: Iterable[str], known: Sequence[str]) -> JsonObject:
    """What is wrong with each name that was sent and is not known."""
    return {name: [wording.unknown_here(known)] for name in sent if name not in known}


def choices_told(field: object, says: Json) -> Json:
    """A value that is no choice is told the choices; the framework names only the value."""
    if not isinstance(field, serializers.ChoiceField) or not isinstance(says, list):
        return says
    known = wording.known_are(map(str, field.choices))
    return [
        ErrorDetail(f"{detail} {known}", detail.code)
        if getattr(detail, "code", "") == "invalid_choice"
        else detail
        for detail in says
    ]


def _is_object(data: object) -> bool:
    return isinstance(data, Mapping)


class OnceSerializer(StrictSerializer):
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


class WashCountSerializer(serializers.Serializer[object]):
    """Washes of a counted garment over all of its visits. ``told`` is false where nobody knows
    what came before the first one: ``done`` is then the least."""

    done = serializers.IntegerField(min_value=0)
    allowed = serializers.IntegerField(
        allow_null=True, help_text="what its label certifies; null where that is not known"
    )
    told = serializers.BooleanField()
    state = serializers.ChoiceField(["within", "due", "over", "no_count"])


class PieceDetailSerializer(PieceSerializer):
    """Everything about one piece: what was decided, its route and its history."""

    earlier = serializers.CharField(
        source="earlier.code",
        default=None,
        allow_null=True,
        help_text="the same garment at its visit before",
    )
    wash_count = serializers.SerializerMethodField(
        help_text="null for a piece whose washes are not counted"
    )

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
            "earlier", "wash_count",
            "services", "inspection", "decision", "steps", "moves", "holds", "acceptances",
        ]  # fmt: skip

    @extend_schema_field(WashCountSerializer(allow_null=True))
    def get_wash_count(self, piece: Piece) -> object:
        if not washes.is_counted(piece.care_decision):
            return None
        return WashCountSerializer(wash_count(piece)).data


class MovedSerializer(serializers.Serializer[object]):
    """What a move did. ``repeated`` means that its key was known and nothing new was written."""

    piece = PieceSerializer()
    move = MoveSerializer()
    repeated = serializers.BooleanField()


class HoldRequestSerializer(OnceSerializer):
    reason = serializers.CharField(max_length=300)
    owner = serializers.SlugRelatedField(
        slug_field="username",
        queryset=active_people(),
        required=False,
        help_text="user name of the person who asks; the caller where it is left out",
    )
    ask_again_on = serializers.DateField()


class ReleaseRequestSerializer(OnceSerializer):
    outcome = serializers.CharField(max_length=300)


class RedoRequestSerializer(OnceSerializer):
    station = serializers.ChoiceField(Station.choices)
    reason = serializers.CharField(max_length=300)


class ReturnRequestSerializer(OnceSerializer):
    reason = serializers.CharField(max_length=300)


class CompleteRequestSerializer(OnceSerializer):
    part_reason = serializers.CharField(
        max_length=300,
        required=False,
        default="",
        allow_blank=True,
        help_text="why a part goes ahead while pieces are missing",
    )


class MovedPieceSerializer(serializers.Serializer[object]):
    piece = PieceSerializer()
    move = MoveSerializer(source="*")


class CompletedSerializer(serializers.Serializer[object]):
    """The pieces of a ticket that went to the rack together."""

    ticket = serializers.IntegerField()
    moved = MovedPieceSerializer(many=True)
    repeated = serializers.BooleanField()
