"""Tags: one for each piece, on rolls, strips or label sheets.

A tag answers, in this order: which piece is this (figures, bars, square code), whose and
by when, and what must never be exceeded. It uses words and temperatures; care symbols are
registered marks in many countries and stay off the paper.
"""

from collections.abc import Sequence

from django.utils.translation import gettext as _

from tickets.printing.canvas import Sheet
from tickets.printing.layouts import LAYOUTS
from tickets.printing.sizes import PaperError, first_slot, tag_size
from tickets.printing.tag_data import TagData


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
