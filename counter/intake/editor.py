"""What the editor of one piece shows: every choice, and which of them is taken."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.translation import gettext_lazy

from care_rules import JsonMapping, JsonObject
from care_rules.pictograms import SPRITE_PREFIX
from counter.intake import choice_lists
from counter.intake.drafts import DraftPiece
from counter.intake.forms import PICKS, shown_parts
from counter.intake.inspection import ASKED, QUESTIONS
from counter.intake.judge import JudgedPiece
from tickets.wording import PART_NAMES, SERVICE_NAMES

FAULT_SLOTS = (
    "kind",
    "colour",
    "construction",
    "components",
    "label",
    "symbols",
    "terms",
    "pockets",
    "found",
    "stains",
    "damage",
    "fastenings",
    "fault",
    "services",
    "work",
    "prices",
    "washes",
    "trims",
    "hazards",
    "description",
    "set_mark",
    "weight_g",
)
"""Groups of the editor that have a place for a fault of their own."""

PICK_TITLES = {
    "stains": gettext_lazy("Stains"),
    "trims": gettext_lazy("Trims and cloth"),
    "work": gettext_lazy("Operations"),
    "hazards": gettext_lazy("Anything dangerous?"),
    "terms": gettext_lazy("Words on the label"),
}


@dataclass(frozen=True)
class Tap:
    """One radio or checkbox of a group. ``care`` names a pictogram."""

    value: str
    label: str
    chosen: bool = False
    care: str = ""
    says: str = ""


def choices_for(piece: DraftPiece, look: JudgedPiece, do: str = "") -> JsonObject:
    """Context of the editor's templates; ``do`` is the button pressed."""
    facts = piece.facts
    label = facts.get("label", {})
    kind = facts.get("kind", "")
    usual_kinds = [entry.key for entry in choice_lists.KINDS.usual]
    return {
        "piece": piece,
        "kinds": [Tap(e.key, e.name, e.key == kind) for e in choice_lists.KINDS.usual],
        "kind_other": choice_lists.KINDS.name(kind) if kind and kind not in usual_kinds else "",
        "all_kinds": choice_lists.KINDS.entries,
        "all_fibres": choice_lists.FIBRES.entries,
        "colours": _taps(choice_lists.COLOUR_NAMES, [facts.get("colour", "")]),
        "constructions": _taps(choice_lists.CONSTRUCTION_NAMES, [facts.get("construction", "")]),
        "services": _taps(SERVICE_NAMES, facts.get("services", ())),
        "label_states": _taps(choice_lists.LABEL_NAMES, [label.get("state", "")]),
        "symbol_groups": _symbol_groups(label.get("symbols", ())),
        "beside": [
            Tap(
                key,
                choice_lists.SYMBOLS.name(key),
                key in label.get("symbols", ()),
                SPRITE_PREFIX + key,
            )
            for key in choice_lists.BESIDE_OTHERS
            if key in choice_lists.SYMBOLS.by_key
        ],
        "editions": _taps(choice_lists.EDITION_NAMES, [label.get("edition", "unknown")]),
        "markets": _taps(choice_lists.MARKET_NAMES, [label.get("market", "unknown")]),
        "wearers": _taps(choice_lists.WEARER_NAMES, [facts.get("wearer", "")]),
        "damage": [
            Tap(e.key, e.name, e.key in facts.get("damage", ()), says=e.says)
            for e in choice_lists.DAMAGE.entries
        ],
        "part_names": PART_NAMES,
        "inspection": [
            {
                "question": question,
                "asked": ASKED[question],
                "answers": [
                    Tap(value, str(words), piece.inspection.get(question) == value)
                    for value, words in answers.choices
                ],
            }
            for question, answers in QUESTIONS.items()
        ],
        "picks": [_pick(field, facts, label) for field in PICKS],
        "rarer": _rarer(piece, facts, label),
        "fault_slots": FAULT_SLOTS,
        "parts": shown_parts(piece, one_more=do == "row"),
    }


def _taps(names: JsonMapping, chosen: Iterable[str]) -> list[Tap]:
    taken = set(chosen)
    return [Tap(key, str(name), key in taken) for key, name in names.items()]


def _symbol_groups(chosen: Iterable[str]) -> list[JsonObject]:
    taken = set(chosen)
    groups = []
    for group, title in choice_lists.SYMBOL_GROUPS.items():
        taps = [
            Tap(entry.key, entry.name, entry.key in taken, SPRITE_PREFIX + entry.key, entry.says)
            for entry in choice_lists.SYMBOLS.entries
            if entry.group == group and entry.key not in choice_lists.BESIDE_OTHERS
        ]
        chosen_tap = next((tap for tap in taps if tap.chosen), None)
        groups.append({"key": group, "title": title, "taps": taps, "chosen": chosen_tap})
    return groups


def _pick(field: str, facts: JsonMapping, label: JsonMapping) -> JsonObject:
    chooser = PICKS[field]
    taken = _taken(field, facts, label)
    usual = [entry.key for entry in chooser.usual]
    keys = [*usual, *(key for key in taken if key not in usual)]
    return {
        "field": field,
        "title": PICK_TITLES[field],
        "taps": [
            Tap(
                key,
                chooser.name(key),
                key in taken,
                says=chooser.by_key[key].says if key in chooser.by_key else "",
            )
            for key in keys
        ],
        "entries": [entry for entry in chooser.entries if entry.key not in keys],
        "count": len(taken),
    }


def _taken(field: str, facts: JsonMapping, label: JsonMapping) -> list[str]:
    if field == "stains":
        return [str(item["stain"]) for item in facts.get("stains", ())]
    return list(label.get("terms", ()) if field == "terms" else facts.get(field, ()))


def _rarer(piece: DraftPiece, facts: JsonMapping, label: JsonMapping) -> dict[str, bool]:
    """Groups that stand open because something in them is taken."""
    return {
        "terms": bool(label.get("terms"))
        or label.get("edition", "unknown") != "unknown"
        or label.get("market", "unknown") != "unknown",
        "trims": bool(facts.get("trims")),
        "hazards": bool(facts.get("hazards")),
        "more": bool(facts.get("wearer") or facts.get("colour_tested"))
        or any(getattr(piece, name) for name in ("description", "set_mark", "weight_g", "photo")),
    }
