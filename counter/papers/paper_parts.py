"""What claim slip and receipt share: their data, the head, numbered pieces, sums and footer."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from tickets.numbers import TicketCode, check_ticket
from tickets.printing.flow import LINE, Flow, TextLine, typeset
from tickets.printing.layouts import CAP
from tickets.printing.sizes import paper_stock

TAG_WIDTH = 47.0
INDENT = 7.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CounterPaper:
    """What every paper of the counter says; dates and amounts are ready to print.

    ``extra_sums`` are lines before the total, such as a discount or the tax inside it.
    ``footer`` holds the shop's terms and general cautions, one paragraph each.
    """

    shop_name: str
    ticket: int
    customer: str
    total: str
    paid: str
    balance: str
    address: tuple[str, ...] = ()
    phone: str = ""
    extra_sums: tuple[tuple[str, str], ...] = ()
    footer: tuple[str, ...] = ()


def build_paper(
    data: CounterPaper,
    paper_key: str,
    dpi: int,
    *,
    what: str,
    facts: Sequence[tuple[str, str]],
    body: Callable[[Flow], None],
    lead: tuple[str, str] | None = None,
) -> bytes:
    """Return a paper of the counter: head and facts, what ``body`` draws, sums and footer.

    ``facts`` are pairs of a word and what it says; an empty one is left out. ``lead`` is
    the one fact that must be seen first. Raises PaperError for an unknown paper and
    NumberError for a ticket number that cannot be one.
    """
    digits = TicketCode(check_ticket(data.ticket)).digits

    def draw(flow: Flow) -> None:
        _shop_and_number(flow, data, digits)
        _facts(flow, what, facts, lead)
        body(flow)
        _sums(flow, data)
        _footer(flow, data.footer)

    return typeset(
        paper_stock(paper_key),
        title=f"{what} {digits}",
        author=data.shop_name,
        running=f"{data.shop_name} · {digits} · {data.customer}",
        dpi=dpi,
        draw=draw,
    )


def _shop_and_number(flow: Flow, data: CounterPaper, digits: str) -> None:
    """Set the shop, and the ticket number as a swing tag."""
    room = flow.room if flow.is_roll else flow.room - TAG_WIDTH - 8
    top = flow.y
    # Lets the shop's capitals start level with the number tag.
    flow.y = top - (flow.base + 5) * (LINE - CAP) / 2
    shop = flow.lines(data.shop_name, flow.base + 5, bold=True, room=room)
    for text in (*data.address, data.phone):
        if text:
            shop += flow.lines(text, room=room)
    flow.keep(shop)
    if flow.is_roll:
        flow.space(2.5)
        flow.y = flow.number_tag(digits, flow.y, TAG_WIDTH, flow.left + TAG_WIDTH)
        flow.space(1)
    else:
        foot = flow.number_tag(digits, top, TAG_WIDTH, flow.right)
        flow.y = max(flow.y, foot)
    flow.space(3.5)


def _facts(
    flow: Flow, what: str, facts: Sequence[tuple[str, str]], lead: tuple[str, str] | None
) -> None:
    """Set the paper's name and its facts."""
    lines: list[TextLine] = flow.lines(what, flow.base + 3, bold=True)
    lines += flow.gap(1)
    label_room = 24.0 if flow.is_roll else 34.0
    for word, text in facts:
        if text:
            lines += _fact(flow, word, text, label_room)
    if lead and lead[1]:
        lines += flow.gap(1.6) + flow.lines(lead[0])
        lines += flow.lines(lead[1], flow.base + 4, bold=True)
    flow.keep(lines)


def numbered(flow: Flow, position: int, text: str, amount: str = "") -> list[TextLine]:
    """A piece's two-digit number, its kind in bold and an amount on the right."""
    body = flow.pair(text, amount, bold=True, indent=INDENT)
    mark, first = flow.lines(f"{position:02d}")[0], body[0]

    def draw(top: float) -> None:
        mark.draw(top)
        first.draw(top)

    return [TextLine(first.height, draw), *body[1:]]


def _fact(flow: Flow, word: str, text: str, label_room: float) -> list[TextLine]:
    label = flow.lines(word, room=label_room)
    value = flow.lines(text, indent=label_room)
    rows: list[TextLine] = []
    for index in range(max(len(label), len(value))):
        parts = [group[index] for group in (label, value) if index < len(group)]

        def draw(top: float, parts: Sequence[TextLine] = tuple(parts)) -> None:
            for part in parts:
                part.draw(top)

        rows.append(TextLine(parts[0].height, draw))
    return rows


def _sums(flow: Flow, data: CounterPaper) -> None:
    """Set the sums under the pieces: plain lines first, then the ones that count."""
    lines = flow.rule()
    for word, amount in data.extra_sums:
        lines += flow.pair(word, amount)
    lines += flow.pair(_("Total"), data.total)
    lines += flow.pair(_("Paid"), data.paid)
    lines += flow.gap(0.8) + flow.pair(_("Balance"), data.balance, flow.base + 3, bold=True)
    flow.keep(lines)


def _footer(flow: Flow, texts: Sequence[str]) -> None:
    """Set terms and cautions at the end."""
    if not texts:
        return
    first, *rest = (flow.lines(text, flow.small) + flow.gap(0.9) for text in texts)
    flow.keep(flow.rule(2.2, 1.8) + first)
    for text in rest:
        flow.keep(text)
