"""What the API of loads takes and gives, field by field."""

from __future__ import annotations

from django.utils.translation import gettext as _
from rest_framework import serializers

from tickets.api.once import Validated
from tickets.api.shapes import (
    MOST_ID,
    OnceSerializer,
    PieceSerializer,
)
from tickets.loads.bags import BagProposal, PartnerNow
from tickets.models import Load, LoadEvent, LoadPiece, Machine, PartnerService, Programme
from tickets.tracking.wording import name_of

MOST_IN_A_LOAD = 500


class MachineSerializer(serializers.ModelSerializer[Machine]):
    class Meta:
        model = Machine
        fields = ["id", "name", "kind"]


class ProgrammeSerializer(serializers.ModelSerializer[Programme]):
    class Meta:
        model = Programme
        fields = ["key", "name"]


class PartnerSerializer(serializers.Serializer[object]):
    id = serializers.IntegerField()
    name = serializers.CharField()


class LoadSerializer(serializers.ModelSerializer[Load]):
    """A load on a list: in a machine, or in a partner's bag. The sums are estimates.

    ``piece_count`` counts what is in it now.
    """

    machine = MachineSerializer(allow_null=True)
    partner = PartnerSerializer(allow_null=True, default=None)
    programme = ProgrammeSerializer(allow_null=True)
    piece_count = serializers.IntegerField()

    class Meta:
        model = Load
        fields = [
            "id", "station", "state", "machine", "partner", "programme", "piece_count",
            "grams", "fill_percent", "minutes", "water_litres", "energy_kwh", "opened_at",
            "started_at", "ends_at", "finished_at", "emptied_at",
        ]  # fmt: skip


class LeftSerializer(serializers.ModelSerializer[LoadPiece]):
    piece = serializers.CharField(source="piece.code")

    class Meta:
        model = LoadPiece
        fields = ["piece", "how", "left_at"]


class LoadEventSerializer(serializers.ModelSerializer[LoadEvent]):
    piece = serializers.CharField(source="piece.code", default=None, allow_null=True)
    by = serializers.SerializerMethodField()

    class Meta:
        model = LoadEvent
        fields = ["kind", "piece", "at", "by", "device"]

    def get_by(self, event: LoadEvent) -> str:
        return name_of(event.by)


class LoadDetailSerializer(LoadSerializer):
    """A load with the pieces in it, those that left it, what to do, and all that was done."""

    pieces = PieceSerializer(many=True)
    left = LeftSerializer(many=True)
    steps = serializers.ListField(
        child=serializers.CharField(), help_text="so that the pieces do each other no harm"
    )
    events = LoadEventSerializer(many=True)

    class Meta(LoadSerializer.Meta):
        fields = [*LoadSerializer.Meta.fields, "pieces", "left", "steps", "events"]


class NewLoadSerializer(OnceSerializer):
    """Either ``machine`` or, for a bag that goes out, ``partner``."""

    machine = serializers.IntegerField(
        min_value=1, max_value=MOST_ID, required=False, help_text="its id"
    )
    partner = serializers.IntegerField(
        min_value=1, max_value=MOST_ID, required=False, help_text="its id"
    )
    codes = serializers.ListField(
        child=serializers.CharField(max_length=40),
        required=False,
        default=list,
        max_length=MOST_IN_A_LOAD,
        help_text="pieces to count in at once; none opens it empty",
    )

    def validate(self, attrs: Validated) -> Validated:
        if ("machine" in attrs) == ("partner" in attrs):
            raise serializers.ValidationError(
                {"machine": [_("Send either machine or partner, by id.")]}
            )
        return attrs


class LoadPieceRequestSerializer(OnceSerializer):
    code = serializers.CharField(max_length=40, help_text="ten digits, or spoken: 1004821-07")


class LoadAddRequestSerializer(LoadPieceRequestSerializer):
    programme = serializers.CharField(
        max_length=40,
        required=False,
        default="",
        allow_blank=True,
        help_text="key of the programme to which the load may change for this piece",
    )


class BookedSerializer(serializers.Serializer[object]):
    """What was done to a load, and the load after it."""

    load = LoadDetailSerializer()
    event = LoadEventSerializer()
    repeated = serializers.BooleanField()


class ProposalSerializer(serializers.Serializer[object]):
    """A load to make: open it with its machine's id and these pieces."""

    machine = MachineSerializer()
    programme = ProgrammeSerializer()
    pieces = PieceSerializer(many=True)
    now = serializers.BooleanField(help_text="false where the machine is busy")
    starts_in = serializers.IntegerField(help_text="open minutes from now")
    grams = serializers.IntegerField()
    fill_percent = serializers.IntegerField()
    minutes = serializers.IntegerField(source="estimate.minutes")
    water_litres = serializers.FloatField(source="estimate.water_l")
    energy_kwh = serializers.FloatField(source="estimate.energy_kwh")
    reasons = serializers.ListField(child=serializers.CharField())
    steps = serializers.ListField(child=serializers.CharField())


class ApartSerializer(serializers.Serializer[object]):
    piece = PieceSerializer()
    why = serializers.CharField()


class MachineNowSerializer(serializers.Serializer[object]):
    machine = MachineSerializer()
    load = serializers.IntegerField(
        source="busy.pk", default=None, allow_null=True, help_text="what keeps it busy"
    )
    minutes_left = serializers.IntegerField(source="left")


class PartnerNowSerializer(serializers.Serializer[object]):
    """A partner's next round; both moments are null where it never comes on an open day."""

    partner = PartnerSerializer()
    services = serializers.ListField(
        child=serializers.ChoiceField(PartnerService.choices), source="partner.services"
    )
    goes = serializers.DateTimeField(allow_null=True, help_text="the next pick-up")
    back = serializers.DateTimeField(allow_null=True, help_text="when what goes then is back")
    gone = serializers.SerializerMethodField(help_text="bags on their way, by load")

    def get_gone(self, now: PartnerNow) -> list[int]:
        return [load.pk for load in now.gone]


class BagProposalSerializer(serializers.Serializer[object]):
    """A bag to pack: open it with its partner's id and these pieces."""

    partner = PartnerSerializer()
    pieces = PieceSerializer(many=True)
    grams = serializers.IntegerField()
    fill_percent = serializers.IntegerField()
    reasons = serializers.ListField(child=serializers.CharField())
    steps = serializers.ListField(child=serializers.CharField())
    too_late = serializers.SerializerMethodField(help_text="codes; back after their promise")

    def get_too_late(self, bag: BagProposal) -> list[str]:
        return [piece.code for piece in bag.too_late]


class FloorSerializer(serializers.Serializer[object]):
    """What waits at a station, and which loads to make: for machines, with what keeps each busy,
    or at ``send_out`` in bags, with the rounds of each partner."""

    waiting = serializers.IntegerField()
    machines = MachineNowSerializer(many=True)
    proposals = ProposalSerializer(many=True)
    partners = PartnerNowSerializer(many=True)
    bags = BagProposalSerializer(many=True)
    apart = ApartSerializer(many=True)
