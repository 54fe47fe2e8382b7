"""What claim slip and receipt share: the head, numbered pieces, sums and footer."""

from collections.abc import Sequence

from tickets.numbers import TicketCode, check_ticket
from tickets.printing.flow import LINE, Flow, Line
from tickets.printing.layouts import CAP

TAG_WIDTH = 47.0
INDENT = 7.0


def ticket_digits(ticket: int) -> str:
    """Return the seven digits of a ticket number; NumberError when it cannot be one."""
    return TicketCode(check_ticket(ticket)).digits


def draw_heading(
    flow: Flow,
    *,
    shop_name: str,
    address: Sequence[str],
    phone: str,
    ticket: int,
    what: str,
    facts: Sequence[tuple[str, str]],
    lead: tuple[str, str] | None = None,
) -> None:
    """Set the shop, the ticket number as a swing tag, the paper's name and its facts.

    ``facts`` are pairs of a word and what it says; an empty one is left out. ``lead`` is
    the one fact that must be seen first.
    """
    digits = ticket_digits(ticket)
    room = flow.room if flow.is_roll else flow.room - TAG_WIDTH - 8
    top = flow.y
    # Lets the shop's capitals start level with the number tag.
    flow.y = top - (flow.base + 5) * (LINE - CAP) / 2
    shop = flow.lines(shop_name, flow.base + 5, bold=True, room=room)
    for text in (*address, phone):
        if text:
            shop += flow.lines(text, flow.base - 0.5, room=room)
    flow.keep(shop)
    if flow.is_roll:
        flow.space(2.5)
        flow.y = flow.number_tag(digits, flow.y, TAG_WIDTH, flow.left + TAG_WIDTH)
        flow.space(1)
    else:
        foot = flow.number_tag(digits, top, TAG_WIDTH, flow.right)
        flow.y = max(flow.y, foot)
    flow.space(3.5)
    lines: list[Line] = flow.lines(what, flow.base + 3, bold=True)
    lines += flow.gap(1)
    label_room = 24.0 if flow.is_roll else 34.0
    for word, text in facts:
        if text:
            lines += _fact(flow, word, text, label_room)
    if lead and lead[1]:
        lines += flow.gap(1.6) + flow.lines(lead[0])
        lines += flow.lines(lead[1], flow.base + 4, bold=True)
    flow.keep(lines)


def numbered(flow: Flow, position: int, text: str, amount: str = "") -> list[Line]:
    """A piece's two-digit number, its kind in bold and an amount on the right."""
    body = flow.pair(text, amount, bold=True, indent=INDENT)
    mark, first = flow.lines(f"{position:02d}")[0], body[0]

    def draw(top: float) -> None:
        mark.draw(top)
        first.draw(top)

    return [Line(first.height, draw), *body[1:]]


def _fact(flow: Flow, word: str, text: str, label_room: float) -> list[Line]:
    label = flow.lines(word, room=label_room)
    value = flow.lines(text, bold=True, indent=label_room)
    rows: list[Line] = []
    for index in range(max(len(label), len(value))):
        parts = [group[index] for group in (label, value) if index < len(group)]

        def draw(top: float, parts: Sequence[Line] = tuple(parts)) -> None:
            for part in parts:
                part.draw(top)

        rows.append(Line(parts[0].height, draw))
    return rows


def draw_sums(
    flow: Flow, extra: Sequence[tuple[str, str]], strong: Sequence[tuple[str, str]]
) -> None:
    """Set the sums under the pieces: plain lines first, then the ones that count."""
    lines = flow.rule()
    for word, amount in extra:
        lines += flow.pair(word, amount)
    for word, amount in strong[:-1]:
        lines += flow.pair(word, amount, bold=True)
    word, amount = strong[-1]
    lines += flow.gap(0.8) + flow.pair(word, amount, flow.base + 3, bold=True)
    flow.keep(lines)


def draw_footer(flow: Flow, texts: Sequence[str]) -> None:
    """Set terms and cautions at the end, in small type."""
    if not texts:
        return
    small = flow.base - 1.5
    flow.keep(flow.rule(2.2, 1.8))
    for text in texts:
        flow.keep(flow.lines(text, small) + flow.gap(0.9))
