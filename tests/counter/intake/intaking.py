"""Pieces, drafts and forms that the tests of the intake share."""

from __future__ import annotations

from typing import Any, cast

from django.contrib.auth.models import User

import care_rules
from counter.intake import services
from counter.intake.drafts import PieceChanges
from counter.intake.services import start_draft
from counter.models import IntakeDraft, TicketLine
from tests.building import make_customer
from tickets.models import Acceptance, Move, Piece, RouteStep, Ticket

LOOKED_OVER = {"pockets": "empty", "stains": "none", "damage": "none", "fastenings": "work"}
STAINED = {**LOOKED_OVER, "stains": "listed"}


def beaded_dress() -> dict[str, Any]:
    """Glued rhinestones need a named yes before anything is done."""
    return {
        "kind": "evening_dress",
        "construction": "woven",
        "colour": "dark",
        "components": [{"part": "shell", "fibres": [{"fibre": "polyester", "percent": 100}]}],
        "label": {"state": "read", "symbols": ["wash_30_very_mild"], "terms": []},
        "trims": ["rhinestones_glued"],
        "services": ["clean"],
    }


def petrol_towel() -> dict[str, Any]:
    return {
        "kind": "towel_bath_70x140",
        "colour": "white",
        "components": [{"part": "shell", "fibres": [{"fibre": "cotton", "percent": 100}]}],
        "label": {"state": "missing"},
        "hazards": ["fire.fuel_clothes"],
        "services": ["clean"],
    }


def counted() -> dict[str, int]:
    models = (Ticket, Piece, RouteStep, Move, Acceptance, TicketLine)
    return {model.__name__: model.objects.count() for model in models}


def draft_of(user: User, *pieces: PieceChanges) -> IntakeDraft:
    """A draft with these pieces; each names the fields of a draft piece."""
    draft = start_draft(make_customer(), user)
    for number, piece in enumerate(pieces):
        services.add_piece(draft.pk, number)
        draft.refresh_from_db()
        services.save_piece(draft.pk, draft.pieces[-1]["id"], piece)
    draft.refresh_from_db()
    return draft


def holds_of(facts: dict[str, Any]) -> list[dict[str, Any]]:
    cautions = care_rules.decide_json(facts)["cautions"]
    return [caution for caution in cautions if caution["level"] == "hold"]


HTMX = {"HX-Request": "true"}
SHIRT = {
    "kind": "shirt_cotton",
    "colour": "white",
    "construction": "woven",
    "part-0": "shell",
    "fibre-0-0": "Cotton",
    "percent-0-0": "100",
    "label_state": "read",
    "symbol-wash": "wash_60",
    "symbol-bleach": "bleach_any",
    "symbol-tumble_dry": "tumble_normal",
    "symbol-natural_dry": "",
    "symbol-iron": "iron_200",
    "symbol-dry_clean": "dry_clean_p",
    "symbol-wet_clean": "",
    "stains": ["red wine"],
    "services": ["clean", "press"],
    "inspection-pockets": "empty",
    "inspection-stains": "listed",
    "inspection-damage": "none",
    "inspection-fastenings": "work",
    "description": "blue stripe",
}


def url(draft: IntakeDraft, rest: str = "") -> str:
    return f"/intake/{draft.pk}/{rest}"


def piece_of(draft: IntakeDraft, number: int = 1) -> dict[str, Any]:
    draft.refresh_from_db()
    piece: dict[str, Any] = draft.pieces[number - 1]
    return piece


def fill(draft: IntakeDraft, **fields: Any) -> None:
    services.save_piece(draft.pk, piece_of(draft)["id"], cast(PieceChanges, fields))
