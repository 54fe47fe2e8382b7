"""Tags: one for each piece, on rolls, strips or label sheets.

A tag answers, in this order: which piece is this (figures, bars, square code), whose and
by when, and what must never be exceeded. It uses words and temperatures; care symbols are
registered marks in many countries and stay off the paper.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from tickets.numbers import PieceCode, parse_code
from tickets.printing.canvas import Sheet
from tickets.printing.layouts import LAYOUTS
from tickets.printing.sizes import PaperError, first_slot, tag_size

MOST_LIMITS = 3


@dataclass(frozen=True, slots=True)
class TagData:
    """What one tag says; every text is already in the shop's language.

    ``code`` is the piece's ten digits, ``promise_day`` a day in words, ``limits`` up to
    three short sentences, strongest first, ``set_mark`` the letter that ties a set or "".
    Raises PaperError or NumberError when a value cannot stand on a tag.
    """

    code: str
    customer_short: str
    promise_day: str
    limits: tuple[str, ...]
    set_mark: str
    position: int
    count: int
    kind: str
    shop_name: str

    def __post_init__(self) -> None:
        if not isinstance(parse_code(self.code), PieceCode) or "-" in self.code:
            raise PaperError(
                _("Tag number “%(code)s”: a tag needs the ten digits of a piece.")
                % {"code": self.code}
            )
        if len(self.limits) > MOST_LIMITS:
            raise PaperError(
                _("Tag %(code)s has %(count)s limits. Give the three strongest only.")
                % {"code": self.code, "count": len(self.limits)}
            )
        if not 1 <= self.position <= self.count:
            raise PaperError(
                _("Tag %(code)s is piece %(position)s of %(count)s. Count the pieces again.")
                % {"code": self.code, "position": self.position, "count": self.count}
            )


def build_tags(tags: Sequence[TagData], size: str, dpi: int = 203, start_at: int = 1) -> bytes:
    """Return a PDF with one tag for each entry, in order.

    ``size`` is a key of TAG_SIZES; ``dpi`` the printer's dots per inch; ``start_at`` the
    first free place, from 1, on a partly used sheet. Raises PaperError for an unknown
    size, a place outside the sheet, or no tags at all.
    """
    stock = tag_size(size)
    slot = first_slot(stock, start_at)
    if not tags:
        raise PaperError(_("There is no tag to print. Add a piece to the ticket first."))
    sheet = Sheet(
        stock.page_w,
        stock.page_h,
        dpi=dpi,
        title=_("Tags %(first)s") % {"first": tags[0].code},
        author=tags[0].shop_name,
    )
    draw = LAYOUTS[stock.layout]
    for tag in tags:
        if slot == stock.per_page:
            sheet.new_page()
            slot = 0
        left, top = stock.place(slot)
        with sheet.frame(left, top, stock.label_w, turned=stock.turned):
            draw(sheet, tag, *stock.reading_size)
        slot += 1
    return sheet.finish()
