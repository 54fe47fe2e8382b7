"""What stands on a card: its figure, its steps, what never, and how far the piece has come."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from care_rules import Caution, Settings
from care_rules.speech import gettext as care_words
from care_rules.wording import action_word, degrees
from tickets.choices import PieceState, Station
from tickets.models import Piece
from tickets.wording import LimitLine

_SENTENCE_END = re.compile(r"(?<=[.!?])\s+")
_NUMBER = re.compile(r"(?:^|[:;]\s*)\d+\)\s*")
_MINUTES = re.compile(r", (\d+ min)\b")
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
    if settings.get("max_c") == 0 and station == Station.PRESS:
        return _("No iron"), ""
    treatment = settings.get("to") or settings.get("process")
    if treatment == "dry_clean":
        letters = settings.get("solvents") or [settings.get("solvent", "")]
        return ", ".join(letters), _gently(_("dry-clean"), settings)
    if treatment == "wet_clean":
        return "W", _gently(_("wet-clean"), settings)
    if settings.get("to"):
        return _("Specialist"), ""
    figures = {
        "flat": _("Flat"),
        "hang": _("Hanger"),
        "normal": _("Normal heat"),
        "low": _("Low heat"),
        "no_heat": _("No heat"),
    }
    method = settings.get("method", "")
    return figures.get(settings.get("tumble", "") if method == "tumble" else method, ""), ""


def _gently(treatment: str, settings: Settings) -> str:
    """The treatment of a partner with its action, where that is gentler than usual. What is done
    in the house has it in its step."""
    action = settings.get("action", "normal")
    if action == "normal" or not settings.get("to"):
        return treatment
    return f"{treatment}, {action_word(action)}"


def minutes_words(minutes: float) -> str:
    """What the work at a station takes of a person; empty for none."""
    return _("%(n)d min") % {"n": math.ceil(minutes)} if minutes else ""


def marks_words(count: int) -> str:
    """Beside the number of stains and damages that were told at intake."""
    return ngettext("mark noted at intake", "marks noted at intake", count)


def gone_words() -> str:
    """The figure of a wet check."""
    return _("Gone?")


def rack_figure(places: Sequence[str]) -> tuple[str, str]:
    """Where a piece is hung: beside the others of its ticket, or anywhere."""
    if places:
        return ", ".join(places), _("where its others hang")
    return _("Any"), _("free place")


def press_words(says: str, said: Iterable[str]) -> str:
    """How the iron is used, in the clauses of its sentence that nothing else on the card says."""
    first = _SENTENCE_END.split(says.strip())[0].rstrip(".")
    clauses = [clause for clause in first.split(", ")[1:] if clause not in said]
    damp = _("damp")
    if damp in first.partition(",")[0].split():
        clauses.insert(0, damp)
    return ", ".join([_("at most"), *clauses])


def said_by_never(closed: Iterable[str]) -> list[str]:
    """Clauses of a step that say no more than a limit which stands under Never."""
    iron = care_words("Press up to {c} °C, no steam")
    clauses = {
        "iron.steam": iron.partition(", ")[2],
        "air_dry.shade": care_words("in shade"),
        "air_dry.drip": care_words("dripping wet, never wrung"),
    }
    return [clauses[path] for path in closed if path in clauses]


def step_lines(
    says: str, settings: Settings, *, shown_c: float | None = None, said: Iterable[str] = ()
) -> tuple[list[str], list[str]]:
    """The sentences of a step without what its figure says, and what it bids never.

    ``shown_c``: the degrees that stand as figure; ``said``: clauses that stand elsewhere.
    """
    sentences = _SENTENCE_END.split(says.strip())
    for clause in said:
        sentences[0] = sentences[0].replace(f", {clause}", "")
    sentences[0] = _beside_figure(sentences[0], settings, shown_c)
    never = _never_words()
    orders = [line for line in sentences if line and not line.startswith(never)]
    if shown_c and settings.get("max_c") == shown_c:
        again = re.compile(rf", [^,;:]* {shown_c:g} °C[^,;:.]*")
        orders = [again.sub("", order) for order in orders]
    closed = [
        sentence.removeprefix(start).rstrip(".")
        for sentence in sentences
        for start in never
        if sentence.startswith(start)
    ]
    return [line for order in orders for line in _numbered(order.rstrip("."))], closed


def _beside_figure(first: str, settings: Settings, shown_c: float | None) -> str:
    """The first sentence of a step without the part for which its figure stands."""
    if settings.get("to") in ("dry_clean", "wet_clean"):
        return ""
    head, _comma, rest = first.partition(", ")
    as_degrees = bool(shown_c) and settings.get("max_c") == shown_c and f" {shown_c:g} °C" in head
    if as_degrees and "press_cloth" in settings:
        return ""
    as_word = settings.get("method") or settings.get("process") in ("dry_clean", "wet_clean")
    if ":" not in head and (as_degrees or as_word):
        return rest[:1].upper() + rest[1:]
    return first


def with_minutes(order: str) -> tuple[str, str]:
    """A line of work, and the minutes that it takes, which stand on the edge of the card."""
    minutes = _MINUTES.search(order)
    if minutes is None:
        return order, ""
    return order[: minutes.start()] + order[minutes.end() :], minutes[1]


def goes_to_words(station: Station, figure: str) -> str:
    """Where a piece goes whose work here is done, and the figure that waits for it there."""
    words = {"station": station.label, "figure": figure}
    return (_("Next: %(station)s, %(figure)s") if figure else _("Next: %(station)s")) % words


def _never_words() -> tuple[str, ...]:
    """How the sentence of a step begins that says what is never done: today, and in decisions
    that are kept from before."""
    sentences = care_words("Forbidden here: {what}."), care_words("Never: {what}.")
    return tuple(sentence.partition("{")[0] for sentence in sentences)


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
    return " ".join(line for line in sentences if not line.startswith(_never_words()))


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


def share_words(matched: int, total: int) -> str:
    """The figure of a ticket at the table."""
    return _("%(matched)d of %(total)d") % {"matched": matched, "total": total}


def pieces_matched(matched: int, total: int) -> str:
    return _("%(matched)d of %(total)d matched") % {"matched": matched, "total": total}
