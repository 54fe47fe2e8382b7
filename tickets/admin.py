"""A window on the back room's rows. Pieces change through their doors, so this is for reading."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import admin
from django.db.models import Model
from django.http import HttpRequest

from tickets.models import (
    Acceptance,
    ClosedDay,
    CrewDay,
    Customer,
    Hold,
    Load,
    LoadEvent,
    LoadPiece,
    Machine,
    Move,
    OpeningHours,
    PaperPrint,
    Partner,
    Piece,
    Programme,
    RackPlace,
    RouteStep,
    StationCrew,
    Ticket,
)

if TYPE_CHECKING:
    _Admin = admin.ModelAdmin[Model]
    _Inline = admin.TabularInline[Model, Model]
else:
    _Admin, _Inline = admin.ModelAdmin, admin.TabularInline


class _Reading:
    """Nobody adds, changes or deletes here: each row belongs to a door or to the record."""

    def has_add_permission(self, request: HttpRequest, obj: object = None) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: object = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: object = None) -> bool:
        return False


class PieceInline(_Reading, _Inline):
    model = Piece
    fields = ["position", "code", "kind", "state", "station", "rack_place"]
    show_change_link = True


class StepInline(_Reading, _Inline):
    model = RouteStep
    fields = ["order", "step", "station", "says", "minutes", "done_at", "done_by"]


class MoveInline(_Reading, _Inline):
    model = Move
    fields = ["number", "kind", "from_station", "to_station", "to_state", "at", "by", "reason"]


class AcceptanceInline(_Reading, _Inline):
    model = Acceptance
    fields = ["caution", "says", "accepted_by", "recorded_by", "at"]


class LoadPieceInline(_Reading, _Inline):
    model = LoadPiece
    fields = ["piece", "in_at", "left_at", "how"]


class LoadEventInline(_Reading, _Inline):
    model = LoadEvent
    fields = ["kind", "piece", "at", "by", "device"]


@admin.register(Customer)
class CustomerAdmin(_Reading, _Admin):
    list_display = ["name", "phone", "email", "may_message"]
    search_fields = ["name", "phone"]


@admin.register(Ticket)
class TicketAdmin(_Reading, _Admin):
    list_display = ["number", "customer", "opened_at", "promised_at", "ready_at", "closed_at"]
    list_filter = ["rush", "promise_day"]
    list_select_related = ["customer"]
    search_fields = ["number", "customer__name"]
    inlines = [PieceInline]


@admin.register(Piece)
class PieceAdmin(_Reading, _Admin):
    list_display = ["code", "ticket", "kind", "state", "station", "rack_place", "redo_count"]
    list_filter = ["state", "station"]
    list_select_related = ["ticket", "rack_place"]
    search_fields = ["code"]
    inlines = [StepInline, MoveInline, AcceptanceInline]


@admin.register(Move)
class MoveAdmin(_Reading, _Admin):
    list_display = ["piece", "number", "kind", "from_station", "to_station", "at", "by", "device"]
    list_filter = ["kind", "business_day"]
    list_select_related = ["piece", "by"]
    search_fields = ["piece__code"]


@admin.register(Hold)
class HoldAdmin(_Reading, _Admin):
    list_display = ["piece", "reason", "owner", "ask_again_on", "ended_at"]
    list_select_related = ["piece", "owner"]


@admin.register(Acceptance)
class AcceptanceAdmin(_Reading, _Admin):
    list_display = ["piece", "caution", "accepted_by", "recorded_by", "at"]
    list_select_related = ["piece", "recorded_by"]


@admin.register(Machine)
class MachineAdmin(_Reading, _Admin):
    list_display = ["name", "kind", "litres", "spin_g", "in_use"]


@admin.register(Programme)
class ProgrammeAdmin(_Reading, _Admin):
    list_display = ["name", "kind", "max_c", "action", "spin", "minutes", "in_use"]
    list_filter = ["kind"]


@admin.register(Partner)
class PartnerAdmin(_Reading, _Admin):
    list_display = ["name", "services", "collect_at", "days_away", "return_at", "in_use"]


@admin.register(Load)
class LoadAdmin(_Reading, _Admin):
    list_display = [
        "pk",
        "machine",
        "partner",
        "programme",
        "station",
        "state",
        "opened_at",
        "emptied_at",
    ]
    list_filter = ["station", "state"]
    list_select_related = ["machine", "partner", "programme"]
    inlines = [LoadPieceInline, LoadEventInline]


@admin.register(PaperPrint)
class PaperPrintAdmin(_Reading, _Admin):
    list_display = ["ticket", "paper", "size", "copy", "at", "by"]
    list_select_related = ["ticket", "by"]


@admin.register(RackPlace)
class RackPlaceAdmin(_Reading, _Admin):
    list_display = ["code", "in_use"]


@admin.register(OpeningHours)
class OpeningHoursAdmin(_Admin):
    list_display = ["weekday", "opens", "closes"]


@admin.register(ClosedDay)
class ClosedDayAdmin(_Admin):
    list_display = ["day", "note"]


@admin.register(CrewDay)
class CrewDayAdmin(_Admin):
    list_display = ["day", "station", "people"]


@admin.register(StationCrew)
class StationCrewAdmin(_Admin):
    list_display = ["station", "people"]
