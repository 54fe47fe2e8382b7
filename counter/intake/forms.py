"""What the intake pages send: field shapes only; the rules live in ``counter.intake``."""

from __future__ import annotations

import re
from datetime import datetime

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from care_rules import JsonObject
from care_rules.fibre_words import shares_typed
from counter.intake.choice_lists import (
    BESIDE_OTHERS,
    FIBRES,
    HAZARDS,
    KINDS,
    STAINS,
    TERMS,
    TRIMS,
    WORK,
    Chooser,
    mix_of,
    mixes_for,
)
from counter.intake.drafts import DraftPiece, PieceChanges
from counter.intake.inspection import LONGEST_NOTE, QUESTIONS
from counter.intake.wording.choice_labels import MIX_NAMES, SYMBOL_GROUPS
from tickets.wording import PART_NAMES

MOST_PARTS = 8
MOST_FIBRES = 10
PICKS: dict[str, Chooser] = {
    "stains": STAINS,
    "trims": TRIMS,
    "work": WORK,
    "hazards": HAZARDS,
    "terms": TERMS,
}
"""Field -> list, for fields that take many choices and a typed one."""

_ROW = re.compile(r"fibre-(\d+)-(\d+)")


class TicketForm(forms.Form):
    rush = forms.BooleanField(label=_("Rush"), required=False)
    note = forms.CharField(label=_("Note on the ticket"), max_length=500, required=False)
    promised_at = forms.DateTimeField(
        label=_("Promise another time"),
        required=False,
        input_formats=["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M"],
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
    )
    promise_reason = forms.CharField(
        label=_("Why it can be done earlier"), max_length=200, required=False
    )

    @property
    def promise(self) -> datetime | None:
        when: datetime | None = self.cleaned_data.get("promised_at")
        return when


def read_piece(sent: QueryDict, do: str = "") -> PieceChanges:
    """The fields of a draft piece from the editor's form. Never raises.

    What cannot be right is kept as it was typed, so that the decision can name it and nobody has
    to type it again. ``do`` is the button pressed: it may add a part or put in a fibre mix.
    """
    return {
        **_read_washes(sent),
        "facts": _read_facts(sent, do),
        "inspection": _read_inspection(sent),
        "description": _text(sent, "description"),
        "set_mark": _text(sent, "set_mark").upper(),
        "weight_g": _number(_text(sent, "weight_g")) or 0,
        "prices": {
            name.removeprefix("price-"): _text(sent, name)
            for name in sent
            if name.startswith("price-") and _text(sent, name)
        },
    }


def _read_washes(sent: QueryDict) -> PieceChanges:
    """The counts of a piece whose washes are counted; they stay as they are where not asked."""
    if not sent.get("washes_asked"):
        return {}
    return {
        "washes_before": _text(sent, "washes_before")[:12],
        "washes_allowed": _text(sent, "washes_allowed")[:12],
    }


def read_names(sent: QueryDict) -> dict[str, dict[str, str]]:
    """Names typed under the cautions: piece id -> caution key -> name."""
    names: dict[str, dict[str, str]] = {}
    for field in sent:
        kind, _dash, rest = field.partition("-")
        piece_id, _dash, caution = rest.partition("-")
        if kind == "accept" and caution:
            names.setdefault(piece_id, {})[caution] = _text(sent, field)
    return names


def _read_facts(sent: QueryDict, do: str) -> JsonObject:
    facts: JsonObject = {
        "kind": _read_kind(sent),
        "construction": _text(sent, "construction"),
        "colour": _text(sent, "colour"),
        "wearer": _text(sent, "wearer"),
        "components": _read_parts(sent, do),
        "services": sent.getlist("services"),
        "damage": sent.getlist("damage"),
        "stains": [{"stain": key} for key in _picked(sent, "stains")],
        "trims": _picked(sent, "trims"),
        "hazards": _picked(sent, "hazards"),
        "work": _picked(sent, "work"),
    }
    facts = {name: value for name, value in facts.items() if value not in ("", [])}
    if sent.get("colour_tested"):
        facts["colour_tested"] = True
    if label := _read_label(sent):
        facts["label"] = label
    return facts


def _read_kind(sent: QueryDict) -> str:
    tapped, typed = _text(sent, "kind"), _text(sent, "kind_other")
    newly_typed = typed and typed != _text(sent, "kind_other_was")
    if tapped and tapped != "more" and not newly_typed:
        return tapped
    return KINDS.key(typed) if typed else ""


def _read_label(sent: QueryDict) -> JsonObject:
    symbols = _read_symbols(sent)
    # Who taps a symbol has read the label, and need not say so as well.
    state = _text(sent, "label_state") or ("read" if symbols else "")
    if not state:
        return {}
    label: JsonObject = {"state": state}
    if state == "read":
        label |= {
            "edition": _text(sent, "edition") or "unknown",
            "market": _text(sent, "market") or "unknown",
            "symbols": symbols,
            "terms": _picked(sent, "terms"),
        }
    return label


def _read_symbols(sent: QueryDict) -> list[str]:
    chosen = [_text(sent, f"symbol-{group}") for group in SYMBOL_GROUPS]
    chosen += [key for key in BESIDE_OTHERS if sent.get(f"beside-{key}")]
    return [key for key in chosen if key]


def _read_parts(sent: QueryDict, do: str) -> list[JsonObject]:
    action, _sep, rest = do.partition(":")
    rows: dict[int, list[tuple[str, str]]] = {}
    for match in sorted(
        filter(None, map(_ROW.fullmatch, sent)), key=lambda m: (int(m[1]), int(m[2]))
    ):
        at, row = int(match[1]), int(match[2])
        if at < MOST_PARTS and row < MOST_FIBRES:
            rows.setdefault(at, []).append(
                (_text(sent, match[0]), _text(sent, f"percent-{at}-{row}"))
            )
    parts = []
    for index, typed in rows.items():
        if do == f"drop:{index}":
            continue
        fibres = [fibre for name, percent in typed for fibre in _fibres_of(name, percent)]
        part = _text(sent, f"part-{index}") or "shell"
        for fibre in fibres:
            if fibre["percent"] is None:
                del fibre["percent"]
        parts.append({"part": part, "fibres": fibres})
    if action == "mix":
        index_text, _sep, mix = rest.partition(":")
        index = int(index_text) if index_text.isdigit() else 0
        fibres = [{"fibre": key, "percent": percent} for key, percent in mix_of(mix)]
        if fibres and index < max(len(parts), 1):
            parts = parts or [{"part": "shell", "fibres": []}]
            parts[index]["fibres"] = fibres
    if action == "part" and rest in PART_NAMES and len(parts) < MOST_PARTS:
        return [*parts, {"part": rest, "fibres": []}]
    return [part for part in parts if part["fibres"] or part["part"] != "shell"]


def _fibres_of(name: str, percent: str) -> list[JsonObject]:
    """One typed row as fibres: a whole ``60 % cotton, 40 % linen`` is taken apart."""
    if name and not percent and (shares := shares_typed(name)):
        return [{"fibre": FIBRES.key(word), "percent": _whole(share)} for word, share in shares]
    return [{"fibre": FIBRES.key(name), "percent": _number(percent)}] if name or percent else []


def _whole(share: float) -> float:
    """The share as a whole number where it is one, as a person would type it."""
    return int(share) if share.is_integer() else share


def _picked(sent: QueryDict, field: str) -> list[str]:
    chooser = PICKS[field]
    picked = [*sent.getlist(field), *([chooser.key(_text(sent, f"more-{field}"))])]
    return list(dict.fromkeys(filter(None, picked)))


def _read_inspection(sent: QueryDict) -> dict[str, str]:
    answers = {question: _text(sent, f"inspection-{question}") for question in QUESTIONS}
    answers["found"] = _text(sent, "inspection-found")[:LONGEST_NOTE]
    answers["fault"] = _text(sent, "inspection-fault")[:LONGEST_NOTE]
    if answers["pockets"] != "found":
        answers["found"] = ""
    if answers["fastenings"] != "faulty":
        answers["fault"] = ""
    return {question: answer for question, answer in answers.items() if answer}


def _text(sent: QueryDict, name: str) -> str:
    return " ".join(sent.get(name, "").replace("\x00", "").split())


def _number(text: str) -> int | float | str | None:
    """A typed number as one, nothing as None, and anything else as it was typed."""
    if not text:
        return None
    plain = text.replace(",", ".").removesuffix("%").strip()
    if re.fullmatch(r"\d{1,9}", plain):
        return int(plain)
    if re.fullmatch(r"\d{1,9}\.\d{1,4}", plain):
        return float(plain)
    return text


def shown_parts(piece: DraftPiece, one_more: bool) -> list[JsonObject]:
    """The parts as the editor shows them, with an empty row where fibres may still be missing."""
    parts = piece.facts.get("components") or [{"part": "shell", "fibres": []}]
    kind = str(piece.facts.get("kind", ""))
    shown = []
    for index, part in enumerate(parts):
        fibres = list(part["fibres"])
        if one_more or _total_percent(fibres) != 100:
            fibres.append({})
        rows = [
            {
                "row": row,
                "name": FIBRES.name(str(fibre.get("fibre", ""))),
                "percent": fibre.get("percent", ""),
            }
            for row, fibre in enumerate(fibres)
        ]
        mixes = [(key, _mix_name(key)) for key in mixes_for(part["part"], kind)]
        shown.append({"index": index, "part": part["part"], "fibres": rows, "mixes": mixes})
    return shown


def addable_parts(kind: str) -> list[str]:
    """The parts besides the shell that a kind may have; of a kind not named yet, the usual."""
    entry = KINDS.by_key.get(kind)
    may_have = entry.parts if entry else ("lining", "filling")
    return [part for part in ("lining", "filling", "other") if part in (*may_have, "other")]


def _mix_name(key: str) -> str:
    return str(MIX_NAMES[key]) if key in MIX_NAMES else FIBRES.name(key)


def _total_percent(fibres: list[JsonObject]) -> float:
    shares = [fibre.get("percent") for fibre in fibres]
    return sum(share for share in shares if isinstance(share, int | float))
