"""A decision as JSON text: character for character what ``json.dumps`` makes of its ``as_json``.

Steps, cautions and sets of limits come again from piece to piece. Each is written once and kept by
its value, words included, so that it reads the same in every language it was said in.
"""

from __future__ import annotations

import json
from functools import lru_cache

from care_rules.decision import Caution, Decision, LoadLimit, Need, Step, TreatmentLimits

_write = json.JSONEncoder(ensure_ascii=False).encode
_quote = json.encoder.encode_basestring


@lru_cache(maxsize=8192)
def _part(part: Step | Caution | Need | TreatmentLimits | LoadLimit) -> str:
    return _write(part.as_json())


def _several(parts: tuple[Step, ...] | tuple[Caution, ...] | tuple[Need, ...]) -> str:
    return f"[{', '.join(map(_part, parts))}]"


@lru_cache(maxsize=2048)
def _texts(texts: tuple[str, ...]) -> str:
    return _write(texts)


@lru_cache(maxsize=4096)
def _reason(path: str, keys: tuple[str, ...]) -> str:
    return f"{_write(path)}: {_write(keys)}"


def written(decision: Decision) -> str:
    """The decision as one line of JSON."""
    return named(decision.id, body(decision))


def named(piece_id: str, rest: str) -> str:
    """The line of a piece called so, with what ``body`` gave for its decision."""
    return f'{{"id": {_echoed(piece_id)}, {rest}'


def body(decision: Decision) -> str:
    """All of the line behind the id, which alone tells like pieces apart."""
    reasons = ", ".join([_reason(path, keys) for path, keys in decision.because.items()])
    return (
        f'"tables": {_quote(decision.tables)}, '
        f'"outcome": {_quote(decision.outcome)}, "specialist": {_write(decision.specialist)}, '
        f'"needs": {_several(decision.needs)}, "home": {_texts(decision.home)}, '
        f'"process": {_quote(decision.process)}, "where": {_quote(decision.where)}, '
        f'"limits": {_part(decision.limits)}, "load": {_part(decision.load)}, '
        f'"steps": {_several(decision.steps)}, "cautions": {_several(decision.cautions)}, '
        f'"because": {{{reasons}}}}}'
    )


def _echoed(text: str) -> str:
    """What was handed in, quoted; half a character, which no UTF-8 can hold, stays escaped."""
    return _quote(text).encode("utf-8", "backslashreplace").decode("utf-8")


def forget_written() -> None:
    """Write every part anew from now on: for measuring."""
    for kept in (_part, _texts, _reason):
        kept.cache_clear()
