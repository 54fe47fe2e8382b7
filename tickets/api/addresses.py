"""What stands in an address of the API: a piece, a ticket or a station, read and found."""

from __future__ import annotations

from django.utils.translation import gettext as _
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter

from tickets import numbers
from tickets.choices import Station
from tickets.errors import Kind, Refused

CODE = OpenApiParameter(
    "code", str, OpenApiParameter.PATH, description="Ten digits, or spoken: 1004821-07."
)
NUMBER = OpenApiParameter("number", OpenApiTypes.INT, OpenApiParameter.PATH)


def piece_code_of(text: str) -> str:
    """Digits of a piece code as typed or scanned; NumberError for anything else."""
    code = numbers.parse_code(text)
    if isinstance(code, numbers.TicketCode):
        raise Refused(
            "unknown_piece",
            _("%(ticket)s is a ticket, not a piece.") % {"ticket": code.spoken},
            _("Add the piece's number, for example %(ticket)s-01.") % {"ticket": code.spoken},
            kind=Kind.NOT_FOUND,
        )
    return code.digits


def station_in(name: str, offered: tuple[Station, ...]) -> Station:
    """The station of an address; ``Refused`` unless it is one of those offered there."""
    if name not in offered:
        raise Refused(
            "unknown_station",
            _("There is no station %(station)s here.") % {"station": name[:40]},
            _("Choose one of: %(stations)s.") % {"stations": ", ".join(offered)},
            kind=Kind.NOT_FOUND,
        )
    return Station(name)
