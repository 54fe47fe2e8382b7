"""What a label's word for a fibre may mean: looked up in the tables.

A word with several meanings keeps them all: the strictest of them binds until somebody asks.
"""

from __future__ import annotations

import difflib
import re
import unicodedata

from care_rules.meanings import Meaning, fold
from care_rules.tables import Book


def fibres_meant(word: str, tables: Book, market: str = "unknown") -> tuple[str, ...]:
    """The fibre keys that a label's word may mean, sorted; empty when no fibre has that name."""
    return tuple(sorted({f for m in meanings(word, tables, market) for f in m.fibres}))


def fibres_named(named: str, tables: Book) -> tuple[str, ...]:
    """The fibre keys that the field ``fibre`` of stored facts stands for: a key, or a word."""
    return (named,) if named in tables["fibres"] else fibres_meant(named, tables)


def meanings(word: str, tables: Book, market: str = "unknown") -> tuple[Meaning, ...]:
    """The meanings of a word on a label of this market."""
    every = tables.meanings.get(fold(word), ())
    here = tuple(meaning for meaning in every if meaning.market and meaning.market == market)
    return here or tuple(every)


_PERCENT = r"(?:%|\u066a|per ?cent\b|pct\b)"
_NUMBER = r"(\d{1,3}(?:[.,]\d{1,3})?)"
#: A share with its sign behind it, or before it as Turkish labels have it.
_SHARE = re.compile(rf"{_NUMBER} ?{_PERCENT}|% ?{_NUMBER}", re.IGNORECASE)
_BETWEEN = " ,;:/+&-"
#: How alike a typed word and a known one must be to be asked about, of 1.
_ALIKE = 0.75


def shares_typed(text: str) -> tuple[tuple[str, float], ...]:
    """``60 % cotton, 40% linen`` or ``cotton 60%`` as words and shares in percent.

    Empty where the text is no such list: no share in it, or a share without a word of its own.
    """
    plain = " ".join(unicodedata.normalize("NFKC", text).split())
    shares = [*_SHARE.finditer(plain)]
    if not shares:
        return ()
    ends = [0, *(share.end() for share in shares)]
    starts = [*(share.start() for share in shares), len(plain)]
    words = [plain[end:start].strip(_BETWEEN) for end, start in zip(ends, starts, strict=True)]
    # The shares stand all before their fibres, or all behind them.
    if not words[0]:
        words = words[1:]
    elif not words[-1]:
        words = words[:-1]
    if len(words) != len(shares) or not all(words):
        return ()
    figures = [(share[1] or share[2]).replace(",", ".") for share in shares]
    return tuple((word, float(figure)) for word, figure in zip(words, figures, strict=True))


def near_fibre_words(typed: str, tables: Book) -> list[str]:
    """Up to three fibre keys or words of labels that look like the typed one.

    Keys come first; of the words only those that mean another fibre than what is named already.
    """
    plain = fold(typed)
    near = difflib.get_close_matches(plain, tables["fibres"], 3, _ALIKE)
    named: set[tuple[str, ...]] = {(key,) for key in near}
    words = [word for word, known in tables.meanings.items() if any(m.fibres for m in known)]
    for word in difflib.get_close_matches(plain, words, 6, _ALIKE):
        fibres = fibres_meant(word, tables)
        if fibres not in named:
            named.add(fibres)
            near.append(word)
    return near[:3]
