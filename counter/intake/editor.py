"""What the editor of one piece shows: every choice, and which of them is taken."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from care_rules import JsonMapping, JsonObject
from care_rules.pictograms import SPRITE_PREFIX
from counter.intake import choice_lists
from counter.intake.drafts import DraftPiece
from counter.intake.forms import PICKS, addable_parts, shown_parts
from counter.intake.inspection import QUESTIONS, questions_left_out
from counter.intake.judge import JudgedPiece
from counter.intake.wording import PICK_TITLES, choice_labels
from counter.intake.wording.corrections import ASKED
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
    symbol_groups = _symbol_groups(label.get("symbols", ()))
    return {
        "piece": piece,
        "kinds": [Tap(e.key, e.name, e.key == kind) for e in choice_lists.KINDS.usual],
        "kind_other": choice_lists.KINDS.name(kind) if kind and kind not in usual_kinds else "",
        "all_kinds": choice_lists.KINDS.entries,
        "all_fibres": choice_lists.FIBRES.entries,
        "colours": _taps(choice_labels.COLOUR_NAMES, [facts.get("colour", "")]),
        "constructions": _taps(choice_labels.CONSTRUCTION_NAMES, [facts.get("construction", "")]),
        "services": _taps(SERVICE_NAMES, facts.get("services", ())),
        "label_states": _taps(choice_labels.LABEL_NAMES, [label.get("state", "")]),
        "symbol_groups": symbol_groups,
        "symbols_said": [group["chosen"] for group in symbol_groups if group["chosen"]],
        "strip_open": _first_open(symbol_groups),
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
        "editions": _taps(choice_labels.EDITION_NAMES, [label.get("edition", "unknown")]),
        "markets": _taps(choice_labels.MARKET_NAMES, [label.get("market", "unknown")]),
        "wearers": _taps(choice_labels.WEARER_NAMES, [facts.get("wearer", "")]),
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
        "addable": addable_parts(kind),
        "left_out": " ".join(questions_left_out(kind)),
    }


def _taps(names: JsonMapping, chosen: Iterable[str]) -> list[Tap]:
    taken = set(chosen)
    return [Tap(key, str(name), key in taken) for key, name in names.items()]


def _symbol_groups(chosen: Iterable[str]) -> list[JsonObject]:
    taken = set(chosen)
    groups = []
    for group, title in choice_labels.SYMBOL_GROUPS.items():
        taps = [
            Tap(entry.key, entry.name, entry.key in taken, SPRITE_PREFIX + entry.key, entry.says)
            for entry in choice_lists.SYMBOLS.entries
            if entry.group == group and entry.key not in choice_lists.BESIDE_OTHERS
        ]
        chosen_tap = next((tap for tap in taps if tap.chosen), None)
        short = choice_labels.short_symbol(chosen_tap.value if chosen_tap else "")
        groups.append(
            {"key": group, "title": title, "taps": taps, "chosen": chosen_tap, "short": short}
        )
    return groups


def _first_open(groups: Sequence[JsonObject]) -> str:
    """The group whose row of symbols stands open: the first without a symbol, or the first."""
    return next((str(group["key"]) for group in groups if not group["chosen"]), "wash")


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
        **{name: bool(facts.get(name)) for name in ("stains", "damage", "trims", "hazards")},
        "more": bool(facts.get("wearer") or facts.get("colour_tested"))
        or any(getattr(piece, name) for name in ("description", "set_mark", "weight_g", "photo")),
    }
