"""Sizes of tags and papers, all in millimetres.

Roll widths and label grids follow stock that is commonly sold (common practice, no
source); A4, A5 and Letter follow ISO 216 and ANSI/ASME Y14.1. A shop whose label sheets
differ adds a row here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

if TYPE_CHECKING:
    from django.utils.functional import _StrPromise


class PaperError(ValueError):
    """A size that does not exist or a sheet place outside its grid."""


@dataclass(frozen=True, slots=True)
class TagSize:
    """One kind of tag stock; every length in millimetres.

    ``turned`` tags are read along the roll: the page keeps the roll's width, so the
    printer has nothing to rotate, and the bars lie across the feed, where one dead dot
    of the print head only nicks them instead of wiping one out.
    """

    key: str
    title: _StrPromise
    page_w: float
    page_h: float
    label_w: float
    label_h: float
    columns: int = 1
    rows: int = 1
    left: float = 0
    top: float = 0
    pitch_x: float = 0
    pitch_y: float = 0
    turned: bool = False
    layout: str = "upright"

    @property
    def per_page(self) -> int:
        """How many tags one page holds."""
        return self.columns * self.rows

    @property
    def reading_size(self) -> tuple[float, float]:
        """Width and height of the tag as the eye reads it."""
        return (self.label_h, self.label_w) if self.turned else (self.label_w, self.label_h)

    def place(self, slot: int) -> tuple[float, float]:
        """Left and top of label number ``slot``, counted from 0 along the rows."""
        row, column = divmod(slot, self.columns)
        return self.left + column * self.pitch_x, self.top + row * self.pitch_y


@dataclass(frozen=True, slots=True)
class PaperStock:
    """A paper for slips and receipts; ``height`` is None where a roll is cut to length."""

    key: str
    title: _StrPromise
    width: float
    height: float | None
    margin: float
    base: float


_TAGS = (
    TagSize("roll-62", gettext_lazy("62 mm roll"), 62, 50, 62, 50),
    TagSize(
        "roll-29",
        gettext_lazy("29 mm roll, read along the roll"),
        29,
        92,
        29,
        92,
        turned=True,
        layout="along",
    ),
    TagSize(
        "strip",
        gettext_lazy("strip tag, 25.4 mm wide"),
        25.4,
        140,
        25.4,
        140,
        turned=True,
        layout="strip",
    ),
    TagSize(
        "sheet-a4",
        gettext_lazy("A4 sheet, 21 labels of 63.5 × 38.1 mm"),
        210,
        297,
        63.5,
        38.1,
        columns=3,
        rows=7,
        left=7.25,
        top=15.15,
        pitch_x=66,
        pitch_y=38.1,
    ),
    TagSize(
        "sheet-letter",
        gettext_lazy("Letter sheet, 10 labels of 4 × 2 inches"),
        215.9,
        279.4,
        101.6,
        50.8,
        columns=2,
        rows=5,
        left=3.96,
        top=12.7,
        pitch_x=106.38,
        pitch_y=50.8,
        layout="wide",
    ),
)
TAG_SIZES: dict[str, TagSize] = {size.key: size for size in _TAGS}

_PAPERS = (
    PaperStock("a4", gettext_lazy("A4"), 210, 297, 18, 11),
    PaperStock("letter", gettext_lazy("Letter"), 215.9, 279.4, 18, 11),
    PaperStock("a5", gettext_lazy("A5"), 148, 210, 12, 10),
    PaperStock("roll-80", gettext_lazy("80 mm receipt roll"), 80, None, 4, 10),
)
PAPERS: dict[str, PaperStock] = {paper.key: paper for paper in _PAPERS}


def tag_size(key: str) -> TagSize:
    """Return the tag size of that name, or raise PaperError with the names that exist."""
    if key not in TAG_SIZES:
        raise PaperError(
            _("Tag size “%(key)s” is not known. Choose one of: %(names)s.")
            % {"key": key, "names": ", ".join(TAG_SIZES)}
        )
    return TAG_SIZES[key]


def paper_stock(key: str) -> PaperStock:
    """Return the paper of that name, or raise PaperError with the names that exist."""
    if key not in PAPERS:
        raise PaperError(
            _("Paper “%(key)s” is not known. Choose one of: %(names)s.")
            % {"key": key, "names": ", ".join(PAPERS)}
        )
    return PAPERS[key]


def first_slot(size: TagSize, start_at: int) -> int:
    """Return the slot for a start place counted from 1, or raise PaperError."""
    if not 1 <= start_at <= size.per_page:
        raise PaperError(
            _("Start place %(start)s on %(size)s: choose a place from 1 to %(last)s.")
            % {"start": start_at, "size": size.title, "last": size.per_page}
        )
    return start_at - 1
