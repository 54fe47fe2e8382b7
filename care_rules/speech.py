"""The language of what this package says.

English is the source and needs nothing. A program with translations hands them over once with
``speak_through``; from then on sentences and table rows come out in the reader's language. Rule
keys, setting values and the words of the contract are never translated.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import cache, wraps
from typing import Concatenate, ParamSpec, TypeVar, cast

Given = ParamSpec("Given")
Made = TypeVar("Made")

ENGLISH = "en"


class _Tongue:
    """Whose language is asked for, and how a text is put into it."""

    language: Callable[[], str] = staticmethod(lambda: ENGLISH)
    translate: Callable[[str], str] = staticmethod(str)


def speak_through(language: Callable[[], str], translate: Callable[[str], str]) -> None:
    """From now on ask ``language`` for the reader's language and ``translate`` for each text.

    ``translate`` puts an English text into the language that ``language`` names at that moment;
    its answers are kept, so a language always says the same.
    """
    _Tongue.language, _Tongue.translate = staticmethod(language), staticmethod(translate)


@contextmanager
def one_language() -> Iterator[None]:
    """Ask for the language once for all that is said inside: for a command, not for a server."""
    asked = _Tongue.language
    now = asked()
    _Tongue.language = staticmethod(lambda: now)
    try:
        yield
    finally:
        _Tongue.language = staticmethod(asked)


def translation() -> tuple[Callable[[], str], Callable[[str], str]]:
    """What ``speak_through`` was last told, to be set again after a while in another language."""
    return _Tongue.language, _Tongue.translate


def language() -> str:
    return _Tongue.language()


@cache
def _put(text: str, _language: str) -> str:
    return _Tongue.translate(text) if text else text


def gettext(text: str, /, **values: object) -> str:
    """The text in the reader's language, its ``{names}`` filled from ``values``."""
    sentence = _put(text, _Tongue.language())
    return sentence.format(**values) if values else sentence


def gettext_noop(text: str) -> str:
    """Marks a text for the translators where it stands; ``gettext`` puts it in words later."""
    return text


def listed(words: Sequence[str]) -> str:
    """``a``, ``a and b``, or ``a, b and c``."""
    *first, last = words
    return gettext(" and ").join([", ".join(first), last]) if first else last


def each_language(make: Callable[Given, Made]) -> Callable[Given, Made]:
    """Keep what ``make`` returns for the same arguments, once for each language it is asked in."""

    def made(_language: str, *given: Given.args, **named: Given.kwargs) -> Made:
        return make(*given, **named)

    kept = cast("Callable[Concatenate[str, Given], Made]", cache(made))

    @wraps(make)
    def asked(*given: Given.args, **named: Given.kwargs) -> Made:
        return kept(_Tongue.language(), *given, **named)

    return asked
