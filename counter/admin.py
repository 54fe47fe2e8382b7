"""A window on the counter's rows. Money, pickups and messages are for reading only."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import admin
from django.db.models import Model
from django.http import HttpRequest

from counter.models import (
    HouseRule,
    IntakeDraft,
    Notice,
    Payment,
    Pickup,
    PickupPiece,
    PriceItem,
    RecordedOverride,
    Shop,
    StaffProfile,
    TicketLine,
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


class ScannedInline(_Reading, _Inline):
    model = PickupPiece
    fields = ["piece", "at"]


@admin.register(HouseRule)
class HouseRuleAdmin(_Reading, _Admin):
    list_display = ["name", "about", "limits", "level", "added_by", "added_at", "retired_at"]
    list_select_related = ["added_by"]


@admin.register(RecordedOverride)
class RecordedOverrideAdmin(_Reading, _Admin):
    list_display = ["rule", "piece", "lifted", "reason", "by", "at"]
    list_select_related = ["by", "piece"]


@admin.register(Payment)
class PaymentAdmin(_Reading, _Admin):
    list_display = ["ticket", "kind", "means", "amount", "reason", "at", "by"]
    list_filter = ["kind", "means", "business_day"]
    list_select_related = ["ticket", "by"]


@admin.register(TicketLine)
class TicketLineAdmin(_Reading, _Admin):
    list_display = ["ticket", "piece", "text", "amount"]
    list_select_related = ["ticket", "piece"]


@admin.register(Pickup)
class PickupAdmin(_Reading, _Admin):
    list_display = ["ticket", "collector", "proof", "part", "owed_reason", "done_at", "done_by"]
    list_select_related = ["ticket", "done_by"]
    inlines = [ScannedInline]


@admin.register(Notice)
class NoticeAdmin(_Reading, _Admin):
    list_display = ["ticket", "kind", "state", "address", "created_at", "sent_at", "fault"]
    list_filter = ["state"]
    list_select_related = ["ticket"]


@admin.register(IntakeDraft)
class IntakeDraftAdmin(_Reading, _Admin):
    list_display = ["customer", "started_by", "changed_at", "ticket"]
    list_select_related = ["customer", "started_by", "ticket"]


@admin.register(StaffProfile)
class StaffProfileAdmin(_Reading, _Admin):
    list_display = ["user", "failed_pins", "locked_until"]
    list_select_related = ["user"]


@admin.register(Shop)
class ShopAdmin(_Admin):
    list_display = ["name", "currency", "tag_size"]

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: object = None) -> bool:
        return False


@admin.register(PriceItem)
class PriceItemAdmin(_Admin):
    list_display = ["service", "kind", "work", "amount"]
    list_filter = ["service"]
