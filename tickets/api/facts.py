"""Facts and decisions of the care contract, described for the OpenAPI document.

The engine itself reads and refuses facts (``care_rules.parse_facts``); nothing is checked twice
here. The closed lists come from its vocabulary, so that the document follows the engine.
"""

from __future__ import annotations

from collections.abc import Sequence

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from care_rules import JsonObject
from care_rules import vocabulary as words

_TEXT = {"type": "string"}
_YES_NO = {"type": "boolean"}
_TEXTS = {"type": "array", "items": _TEXT}


def _one_of(choices: Sequence[str]) -> JsonObject:
    return {"type": "string", "enum": list(choices)}


def _some_of(choices: Sequence[str]) -> JsonObject:
    return {"type": "array", "items": _one_of(choices)}


def _object(**properties: object) -> JsonObject:
    return {"type": "object", "properties": properties}


_FIBRE = {
    **_object(fibre=_TEXT, percent={"type": "number", "minimum": 0, "maximum": 100}),
    "required": ["fibre"],
}
FACTS: JsonObject = {
    **_object(
        id=_TEXT,
        kind=_TEXT,
        construction=_one_of(words.CONSTRUCTIONS),
        colour=_one_of(words.COLOURS),
        colour_tested=_YES_NO,
        components={
            "type": "array",
            "items": _object(part=_one_of(words.PARTS), fibres={"type": "array", "items": _FIBRE}),
        },
        label=_object(
            state=_one_of(words.LABEL_STATES),
            edition=_one_of(words.EDITIONS),
            market=_one_of(words.MARKETS),
            symbols=_TEXTS,
            terms=_TEXTS,
        ),
        trims=_TEXTS,
        stains={"type": "array", "items": _object(stain=_TEXT)},
        damage=_some_of(words.DAMAGES),
        hazards=_TEXTS,
        services=_some_of(words.SERVICES),
        work=_TEXTS,
        wearer=_one_of(words.WEARERS),
        shop=_object(
            wet_cleaning=_YES_NO,
            dry_cleaning=_some_of(words.SOLVENTS),
            send_out=_some_of(words.SEND_OUT),
        ),
        accepted=_TEXTS,
    ),
    "description": "Facts of one piece as the care contract names them; absent means not stated.",
}

_BECAUSE = {"type": "object", "additionalProperties": _TEXTS}
DECISION: JsonObject = {
    **_object(
        id=_TEXT,
        tables=_TEXT,
        outcome=_one_of(("accept", "ask", "decline")),
        process=_TEXT,
        where=_TEXT,
        limits=_object(
            wash={"type": "object"},
            bleach=_one_of(("none", "oxygen", "any")),
            tumble=_one_of(("none", "no_heat", "low", "normal")),
            air_dry={"type": "object"},
            iron={"type": "object"},
            dry_clean={"type": "object"},
            wet_clean={"type": "object"},
        ),
        load={"type": "object"},
        steps={
            "type": "array",
            "items": _object(
                step=_TEXT,
                station=_TEXT,
                settings={"type": "object"},
                says=_TEXT,
                because=_TEXTS,
            ),
        },
        cautions={
            "type": "array",
            "items": _object(
                key=_TEXT,
                level=_one_of(words.LEVELS),
                scope=_one_of(("piece", "step")),
                says=_TEXT,
                do=_TEXT,
                defer_to=_TEXT,
                because=_TEXTS,
            ),
        },
        because=_BECAUSE,
    ),
    "required": ["id", "tables", "outcome", "process", "where", "limits", "steps", "cautions"],
}

MOST_AT_ONCE = 200


def one_or_many(schema: JsonObject) -> JsonObject:
    many = {"type": "array", "items": schema, "minItems": 1, "maxItems": MOST_AT_ONCE}
    return {"oneOf": [schema, many]}


@extend_schema_field(FACTS)
class FactsField(serializers.DictField):
    """Facts of one piece: an object here, and the engine checks the rest."""


@extend_schema_field(DECISION)
class DecisionField(serializers.JSONField):
    """A decision as it was made and stored."""
