"""Cards for the scanner: answers, stations and rack places that are scanned, not typed."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from tickets.printing import fonts
from tickets.printing.bars import check_code_text
from tickets.printing.canvas import Sheet
from tickets.printing.layouts import CAP
from tickets.printing.sizes import PaperError, paper_stock

COLUMNS, ROWS = 2, 5
GAP = 6.0
# From widest to narrowest: the bars are drawn as wide as the card allows.
_MODULES_MM = (0.5, 0.375, 0.25)


class CardError(ValueError):
    """Card text that would be mistaken for a piece when it is scanned."""


@dataclass(frozen=True, slots=True)
class CardData:
    """One card: the text its bars carry, a title in large type and a line below it.

    Raises CodeTextError when Code 128 cannot carry the text and CardError when it holds
    no letter, since figures alone are ticket and piece numbers.
    """

    code_text: str
    title: str
    sub: str = ""

    def __post_init__(self) -> None:
        check_code_text(self.code_text)
        if not re.search("[A-Za-z]", self.code_text):
            raise CardError(
                _(
                    "Card text “%(value)s” holds no letter, so a scan of it would be read as a "
                    "ticket or piece. Put a word before it, as in “RACK 12”."
                )
                % {"value": self.code_text}
            )


def build_cards(cards: Sequence[CardData], size: str = "a4", dpi: int = 300) -> bytes:
    """Return a PDF of cards, ten to a page, on ``a4`` or ``letter`` paper.

    Raises PaperError for another paper or for no cards.
    """
    stock = paper_stock(size)
    if stock.height is None or size not in ("a4", "letter"):
        raise PaperError(_("Cards do not fit on “%(size)s”. Choose a4 or letter.") % {"size": size})
    if not cards:
        raise PaperError(_("There is no card to print. Choose at least one."))
    sheet = Sheet(stock.width, stock.height, dpi=dpi, title=_("Scan cards"), author="")
    edge = 14.0
    card_w = (stock.width - 2 * edge - (COLUMNS - 1) * GAP) / COLUMNS
    card_h = (stock.height - 2 * edge - (ROWS - 1) * GAP) / ROWS
    for index, card in enumerate(cards):
        slot = index % (COLUMNS * ROWS)
        if index and slot == 0:
            sheet.new_page()
        row, column = divmod(slot, COLUMNS)
        with sheet.frame(edge + column * (card_w + GAP), edge + row * (card_h + GAP), card_w):
            _card(sheet, card, card_w, card_h)
    return sheet.finish()


def _card(sheet: Sheet, card: CardData, w: float, h: float) -> None:
    inner = 11.0
    room = w - inner - 4
    sheet.swing_tag(0, 0, w, h)
    y = 6 + 22 * CAP
    sheet.text(inner, y, *fonts.fit(card.title, room, 22, 12, True), bold=True)
    y += 3 + 11 * CAP
    sheet.text(inner, y, *fonts.fit(card.sub, room, 11, 7))
    base = h - 4.5
    sheet.text(inner, base, *fonts.fit(card.code_text, room, 10, 7))
    bar_h = 13.0
    top = base - 10 * CAP - 1.6 - bar_h
    sheet.hairline(inner, (y + top) / 2, w - 4)
    module = next(
        (m for m in _MODULES_MM if sheet.bars_width(card.code_text, m) <= room + 20 * m),
        _MODULES_MM[-1],
    )
    sheet.bars(inner - 10 * module, top, bar_h, card.code_text, module)
