"""Which typeface prints which letter, how wide it is, and what cannot be printed.

Atkinson Hyperlegible sets everything it can. DejaVu Sans takes the rest of Latin with
all its diacritics (Vietnamese too), Greek, Cyrillic, Armenian, Georgian, Hebrew and
Arabic. DroidSansFallback takes Chinese, Japanese kana and kanji, and Korean.

Arabic letters are joined by arabic-reshaper (presentation forms) and right-to-left text
is ordered by python-bidi after the Unicode Bidirectional Algorithm (UAX 9).

What does not print as it should:

* Indic scripts, Thai, Lao, Khmer, Burmese, Tibetan, Ethiopic, emoji, four disused kana
  (U+30F7 to U+30FA) and rare Han characters outside the 20,902 of Unicode 1.1: each
  prints as a visible box (U+25A1), and :func:`missing` names it beforehand.
* Han characters have one shape for Chinese, Japanese and Korean readers alike.
* Chinese, Japanese and Korean have no bold cut.
* Arabic letters used only for languages other than Arabic, Persian and Urdu may stand
  unjoined, and vowel marks sit near, not exactly on, their letters.
* Text copied out of the PDF gives joined Arabic forms in visual order.
"""

import re
import unicodedata
from functools import cache, lru_cache
from pathlib import Path

import arabic_reshaper
from bidi import get_display
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

FONT_DIR = Path(__file__).parent / "fontfiles"
MISSING_BOX = "\u25a1"
ELLIPSIS = "…"
_EVEN_MM = 0.5

_FILES = {
    "PaperText": "AtkinsonHyperlegible-Regular.ttf",
    "PaperText-Bold": "AtkinsonHyperlegible-Bold.ttf",
    "PaperWide": "DejaVuSans.ttf",
    "PaperWide-Bold": "DejaVuSans-Bold.ttf",
    "PaperHan": "DroidSansFallback.ttf",
}
# DejaVu is drawn larger in its square than the house typeface; this evens the x-heights.
_SCALE = {"PaperWide": 0.92, "PaperWide-Bold": 0.92}
_CHAINS = {
    False: ("PaperText", "PaperWide", "PaperHan"),
    True: ("PaperText-Bold", "PaperWide-Bold", "PaperHan"),
}
_INVISIBLE = {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"}
_RESHAPER = arabic_reshaper.ArabicReshaper(
    {
        "delete_harakat": False,
        "delete_tatweel": False,
        # No typeface here has the one-piece form; its letters join well enough.
        "ARABIC LIGATURE ALLAH": False,
    }
)

Run = tuple[str, str]


@cache
def register_fonts() -> dict[str, frozenset[int]]:
    """Make the typefaces known to the PDF library; return each one's character map."""
    known: dict[str, frozenset[int]] = {}
    for name, filename in _FILES.items():
        font = TTFont(name, str(FONT_DIR / filename), shapable=False)
        pdfmetrics.registerFont(font)
        known[name] = frozenset(font.face.charToGlyph)
    return known


def runs(text: str, bold: bool = False) -> list[Run]:
    """Return ``text`` as (font name, text) runs in the order in which they are drawn."""
    return list(_runs(text, bold))


def missing(text: str) -> set[str]:
    """Return the characters of ``text`` that no typeface here can print."""
    known = register_fonts()
    return {
        char
        for char in _visual(text)
        if not char.isspace() and not any(ord(char) in known[name] for name in _CHAINS[False])
    }


def size_in(font: str, size: float) -> float:
    """Return the point size at which ``font`` looks as large as the house typeface."""
    return size * _SCALE.get(font, 1)


@lru_cache(maxsize=8192)
def width(text: str, size: float, bold: bool = False) -> float:
    """Return the drawn width of ``text`` in millimetres at ``size`` points."""
    points = sum(
        pdfmetrics.stringWidth(part, font, size_in(font, size)) for font, part in _runs(text, bold)
    )
    return float(points) * 25.4 / 72


def clip(text: str, room: float, size: float, bold: bool = False) -> str:
    """Return ``text``, shortened with an ellipsis where it is wider than ``room`` mm."""
    if width(text, size, bold) <= room:
        return text
    parts = _clusters(text)
    while parts:
        parts.pop()
        shorter = "".join(parts).rstrip() + ELLIPSIS
        if width(shorter, size, bold) <= room:
            return shorter
    return ""


def fit(
    text: str, room: float, size: float, smallest: float, bold: bool = False
) -> tuple[str, float]:
    """Shrink ``text`` to ``room`` mm, down to ``smallest`` points, and only then shorten it."""
    while size - 0.5 >= smallest and width(text, size, bold) > room:
        size -= 0.5
    return clip(text, room, size, bold), size


def wrap(text: str, room: float, size: float, bold: bool = False) -> list[str]:
    """Break ``text`` into lines no wider than ``room`` mm; overlong words are cut anywhere."""
    lines: list[str] = []
    line = ""
    for word in _break_points(text):
        if width((line + word).rstrip(), size, bold) <= room:
            line += word
            continue
        if line.strip():
            lines.append(line.rstrip())
        line = ""
        for cluster in _clusters(word.lstrip() if not line else word):
            if line and width((line + cluster).rstrip(), size, bold) > room:
                lines.append(line.rstrip())
                line = ""
            line += cluster
    if line.strip():
        lines.append(line.rstrip())
    return lines or [""]


def wrap_evenly(text: str, room: float, size: float, bold: bool = False) -> list[str]:
    """As ``wrap`` and in as few lines, but of much the same length: no word left by itself."""
    lines = wrap(text, room, size, bold)
    longest = max((width(word.strip(), size, bold) for word in _break_points(text)), default=0.0)
    if len(lines) < 2 or longest > room:
        return lines
    narrow, wide = max(longest, room / len(lines)), room
    while wide - narrow > _EVEN_MM:
        middle = (narrow + wide) / 2
        tried = wrap(text, middle, size, bold)
        if len(tried) == len(lines):
            lines, wide = tried, middle
        else:
            narrow = middle
    return lines


def _visual(text: str) -> str:
    """Joined, ordered as drawn, and without characters that have no shape."""
    tidy = re.sub(r"\s+", " ", unicodedata.normalize("NFC", text))
    if any(unicodedata.bidirectional(char) in ("R", "AL", "AN") for char in tidy):
        ordered = get_display(_RESHAPER.reshape(tidy))
        tidy = ordered if isinstance(ordered, str) else ordered.decode()
    return "".join(
        char
        for char in tidy
        if unicodedata.category(char) not in _INVISIBLE and not "\ufe00" <= char <= "\ufe0f"
    )


@lru_cache(maxsize=8192)
def _runs(text: str, bold: bool) -> tuple[Run, ...]:
    known = register_fonts()
    chain = _CHAINS[bold]

    def covering(part: str) -> str | None:
        # The Han face is a last resort: it has no letters of its own design.
        for name in chain[:2]:
            if all(ord(char) in known[name] for char in part):
                return name
        return None

    shown = _visual(text)
    if whole := covering(shown):
        return ((whole, shown),) if shown else ()
    runs: list[Run] = []

    def add(name: str, part: str) -> None:
        if runs and runs[-1][0] == name:
            runs[-1] = (name, runs[-1][1] + part)
        else:
            runs.append((name, part))

    for word in re.findall(r"\S+|\s+", shown):
        if name := covering(word):
            add(name, word)
            continue
        for cluster in _clusters(word):
            if name := covering(cluster):
                add(name, cluster)
                continue
            for char in cluster:
                owner = next((n for n in chain if ord(char) in known[n]), None)
                add(owner or chain[1], char if owner else MISSING_BOX)
    return tuple(runs)


def _clusters(text: str) -> list[str]:
    """Split into letters that must stay together: a base and the marks on it."""
    parts: list[str] = []
    for char in text:
        joins = unicodedata.combining(char) or unicodedata.category(char) in ("Mn", "Me", "Cf")
        if parts and joins:
            parts[-1] += char
        else:
            parts.append(char)
    return parts


def _break_points(text: str) -> list[str]:
    """Split at blanks, and between ideographs, keeping the blanks with what follows.

    A figure stays with its degrees or per cent: "150" at a line's end misleads.
    """
    parts: list[str] = []
    for word in re.findall(r"\s*\S+(?:(?<=\d)\s[°%]\S*)?", text):
        piece = ""
        for cluster in _clusters(word):
            wide = unicodedata.east_asian_width(cluster[0]) == "W"
            if wide and piece.strip():
                parts.append(piece)
                piece = ""
            piece += cluster
        parts.append(piece)
    return parts
