"""How the API reads what it is sent: JSON of a bounded size."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from typing import IO

from django.utils.translation import gettext as _
from rest_framework import status
from rest_framework.exceptions import APIException, ParseError
from rest_framework.parsers import JSONParser

from care_rules import Json

MOST_BYTES = 1024 * 1024


class TooLarge(APIException):
    status_code = status.HTTP_413_REQUEST_ENTITY_TOO_LARGE
    default_code = "too_large"


class BoundedJSONParser(JSONParser):
    """JSON as RFC 8259 has it, up to one megabyte, holding only text that every database keeps.

    Python's own reader lets through three things that would fail later: numbers beyond a float,
    halves of surrogate pairs, and nesting deeper than the interpreter's stack.
    """

    def parse(
        self,
        stream: IO[bytes],
        media_type: str | None = None,
        parser_context: Mapping[str, object] | None = None,
    ) -> Json:
        raw = stream.read(MOST_BYTES + 1)
        if len(raw) > MOST_BYTES:
            raise TooLarge(_("The request is larger than %(most)d bytes.") % {"most": MOST_BYTES})
        try:
            value = json.loads(
                raw.decode("utf-8"), parse_constant=_no_constant, parse_float=_finite
            )
        except RecursionError:
            raise ParseError(_("The JSON is nested too deeply.")) from None
        except ValueError as fault:
            raise ParseError(_("This is not JSON: %(fault)s") % {"fault": fault}) from fault
        _refuse_unkept_text(value)
        return value


def _no_constant(word: str) -> Json:
    raise ValueError(f"{word} is no JSON number")


def _finite(digits: str) -> float:
    number = float(digits)
    if math.isinf(number):
        raise ValueError(f"{digits[:20]} is too large")
    return number


def _refuse_unkept_text(value: Json) -> None:
    waiting = [value]
    while waiting:
        item = waiting.pop()
        if isinstance(item, dict):
            waiting += [*item, *item.values()]
        elif isinstance(item, list):
            waiting += item
        elif isinstance(item, str):
            for letter in item:
                if letter == "\0" or "\ud800" <= letter <= "\udfff":
                    raise ParseError(
                        _("The character U+%(code)04X can't be kept.") % {"code": ord(letter)}
                    )
