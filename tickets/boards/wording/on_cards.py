"""What stands on a card: its figure, its steps, what never, and how far the piece has come."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from care_rules import Caution, Settings
from care_rules.speech import gettext as care_words
from care_rules.wording import degrees
from tickets.choices import PieceState, Station
from tickets.models import Piece
from tickets.wording import LimitLine

_SENTENCE_END = re.compile(r"(?<=[.!?])\s+")
_NUMBER = re.compile(r"(?:^|[:;]\s*)\d+\)\s*")
_CLAUSE_END = re.compile(r"; |(?<=[.!?])\s+")


def number_of_words(*texts: str) -> int:
    """As a reader counts them: what stands between spaces."""
    return sum(len(text.split()) for text in texts)


def shortened(text: str, most: int) -> str:
    """So many words at most, cut behind a whole phrase where there is one."""
    words = text.split()[: max(0, most)]
    if len(words) < len(text.split()):
        ends = [place for place, word in enumerate(words, 1) if word.endswith((",", ";"))]
        words = words[: ends[-1]] if ends else words
    return " ".join(words).rstrip(",;")


def figure_words(
    station: Station, of_steps: Iterable[Settings], *, fahrenheit: bool
) -> tuple[str, str]:
    """The one figure of the steps here and the words beside it; both empty where there is none."""
    said = (_figure(station, settings, fahrenheit) for settings in of_steps)
    return next((words for words in said if words[0]), ("", ""))


def _figure(station: Station, settings: Settings, fahrenheit: bool) -> tuple[str, str]:
    if settings.get("max_c"):
        beside = _("at most")
        if settings.get("process") == "hand_wash":
            beside = _("at most, by hand")
        elif station == Station.SPOTTING:
            beside = _("water, at most")
        elif station == Station.PRESS:
            beside = _("iron, at most")
        return degrees(settings["max_c"], fahrenheit), beside
    figures = {
        "flat": _("Flat"),
        "hang": _("Hanger"),
        "normal": _("Normal heat"),
        "low": _("Low heat"),
        "no_heat": _("No heat"),
    }
    method = settings.get("method", "")
    return figures.get(settings.get("tumble", "") if method == "tumble" else method, ""), ""


def step_lines(says: str, settings: Settings) -> tuple[list[str], list[str]]:
    """The sentences of a step without the clause that its figure says, and what it bids never."""
    sentences = _SENTENCE_END.split(says.strip())
    head, comma, rest = sentences[0].partition(", ")
    if comma and settings.get("max_c") and f" {settings['max_c']} °C" in head and ":" not in head:
        sentences[0] = rest[:1].upper() + rest[1:]
    never = _never_word()
    orders = [sentence for sentence in sentences if not sentence.startswith(never)]
    closed = [
        sentence.removeprefix(never).rstrip(".")
        for sentence in sentences
        if sentence.startswith(never)
    ]
    return [line for order in orders for line in _numbered(order.rstrip("."))], closed


def _never_word() -> str:
    """How the sentence of a step begins that says what is never done."""
    return care_words("Forbidden here: {what}.").partition("{")[0]


def _numbered(order: str) -> list[str]:
    """A sentence that counts its work (``Wine: 1) blot; 2) flush``) as a line for each."""
    head, *work = _NUMBER.split(order)
    if not work:
        return [order]
    first, *others = work
    named = f"{head}: {first}" if head else first[:1].upper() + first[1:]
    return [named, *(line[:1].upper() + line[1:] for line in others)]


def without_never(says: str) -> str:
    """The sentences of a step but for what it bids never, which stands by itself."""
    sentences = _SENTENCE_END.split(says.strip())
    return " ".join(line for line in sentences if not line.startswith(_never_word()))


def never_again(what: str) -> str:
    """One more thing that is never done, in a list."""
    return _("Never %(what)s") % {"what": what}


def _closed_words() -> dict[str, str]:
    return {
        "wash.allowed": _("wash in water"),
        "wash.hand_only": _("wash by machine"),
        "wash.spin": _("spin"),
        "bleach": _("bleach"),
        "tumble": _("tumble dry"),
        "air_dry.hang": _("hang while wet"),
        "air_dry.drip": _("spin or wring"),
        "air_dry.shade": _("dry in the sun"),
        "iron.max_c": _("iron"),
        "iron.steam": _("steam"),
        "dry_clean.solvents": _("dry-clean"),
        "wet_clean.allowed": _("wet-clean"),
    }


def never_sentence(
    limits: Iterable[LimitLine], closed: Iterable[str], *, bleach: str, solvent: bool
) -> str:
    """One sentence that begins with "Never": the treatments that are closed here, and what the
    steps bid never. ``bleach``: what may still be used; ``solvent``: whether any may."""
    words = _closed_words()
    if bleach == "oxygen":
        words["bleach"] = _("chlorine bleach")
    if solvent:
        words["dry_clean.solvents"] = _("perchloroethylene")
    said = [words[limit.path] for limit in limits if limit.closed]
    said = list(dict.fromkeys([*said, *closed]))
    return _("Never %(what)s") % {"what": ", ".join(said)} if said else ""


def care_line(caution: Caution) -> str:
    """What a caution asks of the hands, in its first clause."""
    return _CLAUSE_END.split(caution.do or caution.says)[0].rstrip(".;")


def way_words(station: Station, done: int, total: int) -> str:
    return _("%(station)s, %(step)d of %(total)d") % {
        "station": station.label,
        "step": min(done + 1, total),
        "total": total,
    }


def more_steps(count: int) -> str:
    return ngettext("%(n)d more under Why", "%(n)d more under Why", count) % {"n": count}


def wet_check_asked(stains: Sequence[str]) -> str:
    return _("Is the stain gone? (%(stains)s)") % {"stains": ", ".join(stains)}


def done_at(station: Station) -> str:
    """The action that finishes the work at a station."""
    return {
        Station.INTAKE: _("Intake done"),
        Station.BENCH: _("Bench work done"),
        Station.SPOTTING: _("Spotting done"),
        Station.WASH: _("Wash done"),
        Station.DRY: _("Drying done"),
        Station.PRESS: _("Pressing done"),
        Station.CHECK: _("Check passed"),
        Station.SEND_OUT: _("Send-out done"),
    }.get(station, "")


def where_not_ready(piece: Piece) -> str:
    """Where a piece is that is not ready."""
    place = {"station": piece.get_station_display()}
    if piece.state == PieceState.HELD:
        return _("on hold at %(station)s") % place
    return _("at %(station)s") % place


def pieces_matched(matched: int, total: int) -> str:
    return _("%(matched)d of %(total)d matched") % {"matched": matched, "total": total}
