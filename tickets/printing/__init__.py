"""Tags and scan cards as PDF bytes, and the drawing that every paper shares."""

from tickets.printing.scan_cards import CardData, CardError, build_cards
from tickets.printing.sizes import TAG_SIZES, PaperError, TagSize
from tickets.printing.tag_data import TagData
from tickets.printing.tags import build_tags

__all__ = [
    "TAG_SIZES",
    "CardData",
    "CardError",
    "PaperError",
    "TagData",
    "TagSize",
    "build_cards",
    "build_tags",
]
