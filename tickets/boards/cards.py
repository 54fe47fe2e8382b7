"""A card of a board: what a step away is read of one piece, or at the table of one ticket."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

from care_rules import Caution
from care_rules.catalogue import stain_danger
from tickets.boards.wording import on_cards as wording
from tickets.boards.work_tags import TagStep, WorkTag
from tickets.choices import PieceState, Station
from tickets.models import Piece, RouteStep, Ticket
from tickets.models.machines import LoadState
from tickets.wording import look_of

MOST_WORDS = 56
MOST_STEPS = 4
_LONGEST_DESCRIPTION = 5
_SAFETY = ("body.", "fire.", "sharps.", "chem.")
_WORDS_OF_FRAME, _WORDS_OF_LOAD, _WORDS_OF_NOTES = 8, 7, 6
"""Number, urgency and the doors of the foot; load, holder and state; set, and sent back."""


@dataclass(frozen=True)
class Card:
    """What a card shows of ``tag``. ``figure`` with the words ``beside`` it, ``steps`` with
    ``more`` that stand under Why, ``never`` as one sentence and ``also_never`` those that stand
    first under Why, ``why_steps`` the work in whole sentences, ``care`` for the safety of the crew;
    ``done`` of ``total`` stitches of its way; ``action`` finishes the work here by one scan."""

    tag: WorkTag
    description: str
    figure: str
    beside: str
    steps: list[str]
    more: str
    load: str
    never: str
    also_never: list[str]
    why_steps: list[str]
    care: list[str]
    done: int
    total: int
    way: str
    action: str

    @property
    def name(self) -> str:
        """Tells it from the other cards of its board."""
        return self.tag.piece.code

    @property
    def is_to_pack(self) -> bool:
        """Goes to a partner and lies in no bag yet."""
        return self.tag.piece.station == Station.SEND_OUT and self.tag.in_load is None


def cards(tags: Iterable[WorkTag], *, fahrenheit: bool) -> list[Card]:
    """Cards in the order of their tags; no query."""
    return [card(tag, fahrenheit=fahrenheit) for tag in tags]


def card(tag: WorkTag, *, fahrenheit: bool) -> Card:
    station = Station(tag.piece.station)
    done, total = stitches(list(tag.piece.steps.all()))
    load, way = ", ".join(tag.load), wording.way_words(station, done, total)
    settings = [task.step.settings for task in tag.tasks]
    figure, beside = wording.figure_words(station, settings, fahrenheit=fahrenheit)
    room = MOST_WORDS - _WORDS_OF_FRAME
    room -= wording.number_of_words(
        tag.kind,
        tag.customer,
        tag.promise,
        tag.washes,
        figure,
        beside,
        load,
        way,
        *(line.path for line in tag.never),
    )
    bidden = [] if tag.question else _bidden_never(tag.tasks)
    room -= wording.number_of_words(*bidden[:1])
    room -= _WORDS_OF_LOAD if tag.in_load else 0
    room -= _WORDS_OF_NOTES if tag.piece.set_mark or tag.piece.redo_count else 0
    care, room = _care_lines(tag.cautions, room - _words_of_first(tag.tasks))
    description = wording.shortened(
        look_of(tag.piece.description, tag.kind), min(room, _LONGEST_DESCRIPTION)
    )
    room += _words_of_first(tag.tasks) - wording.number_of_words(description)
    steps, hidden, room = _fitting(tag.tasks, room, least=0 if tag.in_load else 1)
    if tag.question:
        steps, hidden = [wording.wet_check_asked(tag.stains)], 0
    on_card = bidden[:1]
    for never in bidden[1:]:
        room -= wording.number_of_words(never)
        on_card += [never] if room >= 0 else []
    limits = tag.piece.care_decision.limits
    never_line = wording.never_sentence(
        tag.never, on_card, bleach=limits.bleach, solvent=bool(limits.dry_clean.solvents)
    )
    return Card(
        tag=tag,
        description=description,
        figure=figure,
        beside=beside,
        steps=steps,
        more=wording.more_steps(hidden) if hidden else "",
        load=load[:1].upper() + load[1:],
        never=never_line,
        also_never=[wording.never_again(never) for never in bidden if never not in on_card],
        why_steps=[wording.without_never(task.step.says) for task in tag.tasks],
        care=care,
        done=done,
        total=total,
        way=way,
        action=wording.done_at(station) if _is_done_by_scan(tag) else "",
    )


def _is_done_by_scan(tag: WorkTag) -> bool:
    """Whether a scan of the piece is what comes next: of one in a load or bag, when that is to be
    counted out; of one that goes out, never before it was packed."""
    if tag.in_load is None:
        return tag.piece.station != Station.SEND_OUT
    return tag.in_load.state == LoadState.FINISHED


def is_safety(key: str, level: str) -> bool:
    """Whether a caution guards the crew or must not be passed over."""
    return level in ("hold", "refuse") or key.startswith(_SAFETY)


def _care_lines(cautions: Iterable[Caution], room: int) -> tuple[list[str], int]:
    """What guards the crew, always; then what was agreed with the customer, while it has room.
    With the room that is left."""
    warned = [caution for caution in cautions if is_safety(caution.key, caution.level)]
    warned.sort(key=lambda caution: not caution.key.startswith(_SAFETY))
    lines: list[str] = []
    for caution in warned:
        line = wording.care_line(caution)
        length = wording.number_of_words(line)
        if line in lines or not (caution.key.startswith(_SAFETY) or length <= room):
            continue
        lines.append(line)
        room -= length
    return lines, room


def _words_of_first(tasks: Sequence[TagStep]) -> int:
    """Words that the first step takes, which stands on the card before its description."""
    if not tasks:
        return 0
    orders, _never = wording.step_lines(tasks[0].step.says, tasks[0].step.settings)
    return wording.number_of_words(*orders[:1])


def _bidden_never(tasks: Sequence[TagStep]) -> list[str]:
    """What the steps bid never, each once: the most dangerous first, then as they come."""
    ranked = sorted(tasks, key=lambda task: stain_danger(task.step.settings.get("stain", "")))
    said = (wording.step_lines(task.step.says, task.step.settings)[1] for task in ranked)
    return list(dict.fromkeys(never for nevers in said for never in nevers))


def _fitting(tasks: Sequence[TagStep], room: int, *, least: int) -> tuple[list[str], int, int]:
    """The first steps that have room, from ``least`` to ``MOST_STEPS``, how many steps are left,
    and the room. In a load the work is begun: its card may do without."""
    steps: list[str] = []
    hidden = 0
    for task in tasks:
        orders, _never = wording.step_lines(task.step.says, task.step.settings)
        for order in orders:
            left = room - wording.number_of_words(order)
            if hidden or len(steps) == MOST_STEPS or (left < 0 and len(steps) >= least):
                hidden += 1
                continue
            steps.append(order)
            room = left
    return steps, hidden, room


def stitches(steps: Iterable[RouteStep]) -> tuple[int, int]:
    """Stretches of a route at one station that are done, and all there are."""
    stretches = [list(group) for _station, group in groupby(steps, key=lambda step: step.station)]
    done = sum(all(step.done_at for step in stretch) for stretch in stretches)
    return done, len(stretches)


@dataclass(frozen=True)
class TicketCard:
    """What the assembly table shows of a ticket: its pieces as dots, what lies to match, and what
    is not ready with its place."""

    ticket: Ticket
    tag: WorkTag
    states: list[str]
    matched: str
    beside: list[Piece]
    elsewhere: list[tuple[Piece, str]]
    completes: bool

    @property
    def name(self) -> str:
        """Tells it from the other cards of the table."""
        return str(self.ticket.number)


_DOTS = {
    PieceState.ASSEMBLED: "ok",
    PieceState.READY: "ok",
    PieceState.HELD: "hold",
}


def ticket_cards(tags: Iterable[WorkTag]) -> list[TicketCard]:
    """One card a ticket, late ones first, then as they were promised; of pieces that were read
    ``with_siblings``. A complete one is told by its button and not by its place."""
    firsts: dict[int, WorkTag] = {}
    for tag in sorted(tags, key=_standing):
        firsts.setdefault(tag.piece.ticket_id, tag)
    return [_ticket_card(tag) for tag in firsts.values()]


def _standing(tag: WorkTag) -> tuple[bool, datetime, str]:
    return tag.urgency != "late", tag.piece.promised_at, tag.piece.code


def _ticket_card(tag: WorkTag) -> TicketCard:
    pieces = [piece for piece in tag.piece.ticket.pieces.all() if piece.is_open]
    to_match = [piece for piece in pieces if _lies_here(piece)]
    come = [piece for piece in pieces if piece.state in (PieceState.ASSEMBLED, PieceState.READY)]
    away = [piece for piece in pieces if piece not in to_match and piece not in come]
    return TicketCard(
        ticket=tag.piece.ticket,
        tag=tag,
        states=[_DOTS.get(PieceState(piece.state), "go") for piece in pieces],
        matched=wording.pieces_matched(len(come), len(pieces)),
        beside=to_match,
        elsewhere=[(piece, wording.where_not_ready(piece)) for piece in away],
        completes=not to_match and not away,
    )


def _lies_here(piece: Piece) -> bool:
    return (piece.state, piece.station) == (PieceState.WAITING, Station.ASSEMBLY)
