"""A card of a board: what a step away is read of one piece, or at the table of one ticket."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import groupby

from care_rules import Caution
from care_rules.catalogue import stain_danger
from care_rules.wording import load_words
from tickets.boards.wording import on_cards as wording
from tickets.boards.work_tags import TagStep, WorkTag
from tickets.choices import PieceState, Station
from tickets.models import Piece, RouteStep, Ticket
from tickets.models.machines import LoadState
from tickets.wording import look_of, name_in

MOST_WORDS = 56
MOST_STEPS = 4
_LONGEST_DESCRIPTION = 5
_LONGEST_NOTE = 10
_SAFETY = ("body.", "fire.", "sharps.", "chem.")
_WORDS_OF_FRAME, _WORDS_OF_LOAD, _WORDS_OF_NOTES = 8, 7, 6
"""Number, urgency and the doors of the foot; load, holder and state; set, and sent back."""


@dataclass(frozen=True)
class Card:
    """What a card shows of ``tag``. ``look`` adds to its kind; ``lead`` is the stain of a spotter;
    ``figure`` with the words ``beside`` it, ``steps`` with their minutes and ``more`` that stand
    under Why, ``note`` the ticket's, ``never`` as one sentence and ``also_never`` those that stand
    first under Why, ``why_steps`` the work in whole sentences, ``care`` for the safety of the crew;
    ``done`` of ``total`` stitches of its way; ``action`` finishes the work here by one scan, and
    ``next_at`` says where a piece goes whose work here is done."""

    tag: WorkTag
    look: str
    lead: str
    figure: str
    beside: str
    steps: list[tuple[str, str]]
    more: str
    note: str
    load: str
    never: str
    also_never: list[str]
    why_steps: list[str]
    care: list[str]
    done: int
    total: int
    way: str
    action: str
    next_at: str

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


def done_card(done: WorkTag, after: WorkTag | None, *, fahrenheit: bool) -> Card:
    """The card of a piece as it was worked here, with where it goes. ``after``: its tag there,
    where more work waits for it."""
    station = Station(done.piece.station)
    settings = [task.step.settings for task in after.tasks] if after else []
    figure, _beside = wording.figure_words(station, settings, fahrenheit=fahrenheit)
    next_at = wording.goes_to_words(station, figure)
    return replace(card(done, fahrenheit=fahrenheit), action="", next_at=next_at)


def card(tag: WorkTag, *, fahrenheit: bool) -> Card:
    done, total = stitches(list(tag.piece.steps.all()))
    way = wording.way_words(Station(tag.piece.station), done, total)
    figure, beside = _figure_of(tag, fahrenheit=fahrenheit)
    load = ", ".join(_load_words(tag))
    work = _lines_of_work(tag)
    orders = _orders(tag, [order for lines, _never in work for order in lines])
    lead = _lead(tag)
    room = MOST_WORDS - _WORDS_OF_FRAME
    room -= wording.number_of_words(
        tag.kind,
        tag.customer,
        tag.promise,
        tag.washes,
        lead,
        figure,
        beside,
        load,
        way,
        *(line.path for line in tag.never),
    )
    bidden = [] if tag.question else _bidden_never(tag.tasks, work)
    room -= wording.number_of_words(*bidden[:1])
    room -= _WORDS_OF_LOAD if tag.in_load else 0
    room -= _WORDS_OF_NOTES if tag.piece.set_mark or tag.piece.redo_count else 0
    first = wording.number_of_words(*orders[:MOST_STEPS])
    care, room = _care_lines(tag.cautions, room - first)
    look = wording.shortened(
        look_of(tag.piece.description, tag.kind), min(room, _LONGEST_DESCRIPTION)
    )
    room += first - wording.number_of_words(look)
    steps, hidden, room = _fitting(orders, room, least=0 if tag.in_load else 1)
    note = ""
    if tag.station == Station.BENCH:
        note = wording.shortened(tag.piece.ticket.note, min(room, _LONGEST_NOTE))
        room -= wording.number_of_words(note)
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
        look=look,
        lead=lead,
        figure=figure,
        beside=beside,
        steps=[wording.with_minutes(step) for step in steps],
        more=wording.more_steps(hidden) if hidden else "",
        note=note,
        load=load[:1].upper() + load[1:],
        never=never_line,
        also_never=[wording.never_again(never) for never in bidden if never not in on_card],
        why_steps=[wording.without_never(task.step.says) for task in tag.tasks],
        care=care,
        done=done,
        total=total,
        way=way,
        action=wording.done_at(tag.station) if _is_done_by_scan(tag) else "",
        next_at="",
    )


def _figure_of(tag: WorkTag, *, fahrenheit: bool) -> tuple[str, str]:
    """The one figure: the question, the place, what is set, the marks to look for or the time."""
    if tag.question:
        return wording.gone_words(), ", ".join(tag.stains)
    if tag.station == Station.RACK:
        return wording.rack_figure(tag.places)
    settings = [task.step.settings for task in tag.tasks]
    figure, beside = wording.figure_words(tag.station, settings, fahrenheit=fahrenheit)
    pressing = (task.step for task in tag.tasks if "press_cloth" in task.step.settings)
    if beside and (step := next(pressing, None)):
        beside = wording.press_words(step.says, _said_by_never(tag))
    if not figure and tag.station == Station.CHECK and (marks := _marks(tag)):
        return str(len(marks)), wording.marks_words(len(marks))
    minutes = sum(float(task.step.minutes) for task in tag.tasks)
    return (figure, beside) if figure else (wording.minutes_words(minutes), "")


def _marks(tag: WorkTag) -> list[str]:
    """Stains and damages that were told at intake, by name."""
    damage = tag.piece.care_facts.damage
    return [*tag.stains, *(name_in("damage", key) for key in damage)]


def _said_by_never(tag: WorkTag) -> list[str]:
    return wording.said_by_never(line.path for line in tag.never if line.closed)


def _lead(tag: WorkTag) -> str:
    """At spotting the stain comes first; where there are several, each stands in its own step."""
    if tag.station != Station.SPOTTING or len(tag.stains) != 1:
        return ""
    [stain] = tag.stains
    return stain[:1].upper() + stain[1:]


def _lines_of_work(tag: WorkTag) -> list[tuple[list[str], list[str]]]:
    """Of each step its orders, without what stands elsewhere on the card, and its Nevers."""
    temperatures = (task.step.settings.get("max_c") for task in tag.tasks)
    shown_c = next(filter(None, temperatures), None)
    said = _said_by_never(tag)
    return [
        wording.step_lines(task.step.says, task.step.settings, shown_c=shown_c, said=said)
        for task in tag.tasks
    ]


def _orders(tag: WorkTag, orders: list[str]) -> list[str]:
    """The lines of work that a card shows. A question has none, nor has a run that is under way;
    at the check the marks to look for come first."""
    begun = tag.in_load is not None and tag.in_load.state != LoadState.FILLING
    if tag.question or begun:
        return []
    if tag.station == Station.CHECK:
        return [*_marks(tag), *orders]
    if lead := _lead(tag):
        cut = (order.removeprefix(f"{lead}: ") for order in orders)
        return [order[:1].upper() + order[1:] for order in cut]
    return orders


def _load_words(tag: WorkTag) -> list[str]:
    """How it goes into a machine, but for what the sentence of its bath says: softener and wishes
    at the wash, the rest in a dryer."""
    limits = tag.piece.care_decision.load
    company = load_words(replace(limits, softener=True))
    if tag.question:
        return []
    if tag.station == Station.WASH:
        return [words for words in tag.load if words not in company]
    tumbles = any(task.step.settings.get("method") == "tumble" for task in tag.tasks)
    return [words for words in tag.load if words in company] if tumbles else []


def _is_done_by_scan(tag: WorkTag) -> bool:
    """Whether a scan of the piece is what comes next: of one in a load or bag, when that is to be
    counted out; of one that goes out, never before it was packed."""
    if tag.in_load is None:
        return tag.station != Station.SEND_OUT
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


def _bidden_never(
    tasks: Sequence[TagStep], work: Sequence[tuple[list[str], list[str]]]
) -> list[str]:
    """What the steps bid never, each once: the most dangerous first, then as they come."""
    pairs = zip(tasks, work, strict=True)
    ranked = sorted(pairs, key=lambda pair: stain_danger(pair[0].step.settings.get("stain", "")))
    return list(dict.fromkeys(never for _task, (_lines, nevers) in ranked for never in nevers))


def _fitting(orders: Sequence[str], room: int, *, least: int) -> tuple[list[str], int, int]:
    """The first lines that have room, from ``least`` to ``MOST_STEPS``, how many are left, and the
    room. In a load the work is begun: its card may do without."""
    steps: list[str] = []
    for order in orders:
        left = room - wording.number_of_words(order)
        if len(steps) == MOST_STEPS or (left < 0 and len(steps) >= least):
            break
        steps.append(order)
        room = left
    return steps, len(orders) - len(steps), room


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
    figure: str

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
        completes=not to_match and not away and tag.station == Station.ASSEMBLY,
        figure=wording.share_words(len(come), len(pieces)),
    )


def _lies_here(piece: Piece) -> bool:
    return (piece.state, piece.station) == (PieceState.WAITING, Station.ASSEMBLY)
