"""One shape for every error of the API: code, what is wrong, what to do, and the fields."""

from __future__ import annotations

import json
from collections.abc import Iterator

from rest_framework import status
from rest_framework.exceptions import APIException, ErrorDetail, ValidationError
from rest_framework.response import Response
from rest_framework.views import exception_handler

from care_rules import FactsError, Json, JsonObject
from counter.site import wording
from tickets.errors import Kind, Refused
from tickets.loads.refusals import Drops
from tickets.numbers import NumberError

_STATUSES = {
    Kind.INVALID: status.HTTP_400_BAD_REQUEST,
    Kind.NOT_FOUND: status.HTTP_404_NOT_FOUND,
    Kind.CONFLICT: status.HTTP_409_CONFLICT,
}
_LONGEST_VALUE = 120
_NEVER_SHOWN = {"password"}


def handle(error: Exception, context: JsonObject) -> Response | None:
    """Give refusals of the rules and the framework's own errors the same shape."""
    if isinstance(error, Refused):
        shown: JsonObject = {"code": error.code, "says": error.says, "cure": error.cure}
        if isinstance(error, Drops):
            agree = wording.agree_with(error.programme)
            sent = _look_up(_sent(context), ("programme",))
            shown["fields"] = [{"field": "programme", "value": _short(sent), "cure": agree}]
        return Response(shown, status=_STATUSES[error.kind])
    if isinstance(error, FactsError):
        faults = [(fault.field, fault.value, str(fault.cure)) for fault in error.faults]
        return _bad_fields("bad_facts", faults)
    if isinstance(error, NumberError):
        return Response(
            {
                "code": "unknown_number",
                "says": str(error),
                "cure": wording.read_again(),
            },
            status=_STATUSES[error.kind],
        )
    response = exception_handler(error, context)
    if response is None:
        return None
    if isinstance(error, ValidationError):
        sent = _sent(context)
        faults = [
            (path, _look_up(sent, keys), str(detail)) for keys, path, detail in _flat(error.detail)
        ]
        return _bad_fields("invalid", faults)
    code = error.get_codes() if isinstance(error, APIException) else None
    response.data = plain(
        response.status_code,
        str(response.data["detail"]),
        code=code if isinstance(code, str) else "",
    )
    return response


def plain(number: int, says: str, *, code: str = "", cure: str = "") -> dict[str, str]:
    """An error with no fields; code and cure follow from the HTTP status unless they are given.

    Also for what fails before or outside the framework's views, see ``counter.site.trouble``.
    """
    return {
        "code": code or _code_of(number),
        "says": says,
        "cure": cure or _cure_of(number, says),
    }


def _bad_fields(code: str, faults: list[tuple[str, Json, str]]) -> Response:
    says, cure = wording.bad_fields(path for path, _value, _cure in faults)
    return Response(
        {
            "code": code,
            "says": says,
            "cure": cure,
            "fields": [
                {"field": path, "value": _short(value), "cure": field_cure}
                for path, value, field_cure in faults
            ],
        },
        status=status.HTTP_400_BAD_REQUEST,
    )


def _sent(context: JsonObject) -> Json:
    request = context["request"]
    return request.query_params if request.method in ("GET", "HEAD") else request.data


def _flat(
    detail: Json, keys: tuple[str | int, ...] = ()
) -> Iterator[tuple[tuple[str | int, ...], str, ErrorDetail]]:
    """Every message of a validation error with the path of its field, as ``pieces[0].facts``."""
    if isinstance(detail, dict):
        for key, value in detail.items():
            own = keys if key == "non_field_errors" else (*keys, key)
            yield from _flat(value, own)
    elif isinstance(detail, list):
        for index, value in enumerate(detail):
            nested = isinstance(value, (dict, list))
            yield from _flat(value, (*keys, index) if nested else keys)
    else:
        yield keys, _written(keys), detail


def _written(keys: tuple[str | int, ...]) -> str:
    path = "".join(f"[{key}]" if isinstance(key, int) else f".{key}" for key in keys)
    return path.removeprefix(".") or "body"


def _look_up(sent: Json, keys: tuple[str | int, ...]) -> Json:
    if _NEVER_SHOWN.intersection(keys):
        return None
    for key in keys:
        try:
            sent = sent[key]
        except (KeyError, IndexError, TypeError):
            return None
    return sent


def _short(value: Json) -> Json:
    """The value as it came if it is short, else the beginning of its JSON text."""
    if isinstance(value, (bool, int, float)) or value is None:
        return value
    text = value if isinstance(value, str) else json.dumps(value, default=str, ensure_ascii=False)
    return text if len(text) <= _LONGEST_VALUE else text[: _LONGEST_VALUE - 1] + "…"


def _code_of(number: int) -> str:
    codes = {400: "bad_request", 403: "permission_denied", 404: "not_found", 500: "server_error"}
    return codes.get(number, "error")


def _cure_of(number: int, says: str) -> str:
    if number == status.HTTP_403_FORBIDDEN and "CSRF" in says:
        return wording.send_the_token()
    return wording.cure_of_status(number)
