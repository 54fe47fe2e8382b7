"""The ``decide`` command: facts from a file or standard input, decisions out as JSON.

Exit status 0 when every object was decided, 2 when any was refused; then nothing is written to
standard output and each fault is one line on standard error.
"""

from __future__ import annotations

import gc
import json
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import lru_cache
from typing import TextIO

from care_rules.deciding import decide
from care_rules.errors import FactsError
from care_rules.jsons import Json
from care_rules.parse import parse_facts
from care_rules.speech import one_language
from care_rules.tables import Book, book
from care_rules.vocabulary import Facts
from care_rules.written import body, named

USAGE = "use: decide FILE, or decide - to read standard input"
_LONGEST = 120
_MOST_DIGITS = 20


class _Unreadable(ValueError):
    """Input that is no JSON; the text names place and cure."""


def run(argv: Sequence[str], stdin: TextIO, stdout: TextIO, stderr: TextIO) -> int:
    """Decide on every object of the input; returns the exit status.

    ``argv`` is ``["decide", FILE]`` or ``[FILE]``, with ``-`` for standard input.
    """
    names = list(argv[1:] if argv and argv[0] == "decide" else argv)
    if len(names) != 1:
        print(f"arguments {' '.join(names)!r}: {USAGE}", file=stderr)
        return 2
    try:
        with _collector_at_rest(), one_language():
            return _answer(_read(names[0], stdin), stdout, stderr)
    except _Unreadable as error:
        print(error, file=stderr)
        return 2


def _answer(given: Json, stdout: TextIO, stderr: TextIO) -> int:
    many = isinstance(given, list)
    facts: list[Facts] = []
    refused = False
    for index, item in enumerate(given if many else [given]):
        try:
            facts.append(parse_facts(item))
        except FactsError as error:
            refused = True
            for fault in error.faults:
                value = _shown(fault.value)
                print(
                    f"object {index}: field {fault.field}: value {value}: {fault.cure}", file=stderr
                )
    if refused:
        return 2
    # Each decision turns into text at once: thousands of them never stand in memory together.
    tables = book()
    texts = [named(piece.id, _body(piece, tables)) for piece in facts]
    stdout.writelines(_as_list(texts) if many else [texts[0], "\n"])
    return 0


@lru_cache(maxsize=1024)
def _body(piece: Facts, _tables: Book) -> str:
    """The decision's text for every piece with these facts; the tables are of one language."""
    return body(decide(piece))


def _as_list(texts: Sequence[str]) -> Iterator[str]:
    """The texts as one JSON array, in pieces: joined they would be copied once more."""
    yield "["
    for number, text in enumerate(texts):
        if number:
            yield ", "
        yield text
    yield "]\n"


@contextmanager
def _collector_at_rest() -> Iterator[None]:
    """Facts and decisions hold no reference cycles, so the cycle collector may rest meanwhile.

    It would look through all of them again and again: resting saves half of the time.
    """
    collecting = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collecting:
            gc.enable()


def _read(name: str, stdin: TextIO) -> Json:
    where = "standard input" if name == "-" else f"file {name!r}"
    try:
        if name == "-":
            text = stdin.read().removeprefix("\ufeff")
        else:
            with open(name, encoding="utf-8-sig") as file:
                text = file.read()
    except OSError as error:
        reason = error.strerror or error
        raise _Unreadable(f"{where}: {reason}: name a file that can be read") from error
    except UnicodeDecodeError as error:
        raise _Unreadable(f"{where}: byte {error.start} is not UTF-8: save it as UTF-8") from error
    try:
        return json.loads(text, object_pairs_hook=_unrepeated, parse_int=_whole)
    except json.JSONDecodeError as error:
        place = f"line {error.lineno} column {error.colno}"
        raise _Unreadable(f"{where}: {place}: {error.msg}: mend the JSON there") from error
    except RecursionError as error:
        raise _Unreadable(f"{where}: nested too deeply: give objects as in the contract") from error
    except ValueError as error:
        raise _Unreadable(f"{where}: {error}") from error


def _whole(digits: str) -> int | str:
    """A whole number; one beyond all use stays text, so that its field is named as at fault."""
    return int(digits) if len(digits) <= _MOST_DIGITS else digits


def _unrepeated(pairs: list[tuple[str, Json]]) -> dict[str, Json]:
    values = dict(pairs)
    if len(values) < len(pairs):
        keys = [key for key, _ in pairs]
        twice = sorted({key for key in keys if keys.count(key) > 1})
        raise ValueError(f"field {', '.join(twice)}: given twice in one object: keep one of them")
    return values


def _shown(value: object) -> str:
    """The value on one line, shortened."""
    try:
        text = json.dumps(value, ensure_ascii=True)
    except (TypeError, ValueError):
        text = ascii(value)
    return text if len(text) <= _LONGEST else text[: _LONGEST - 3] + "..."
