"""Public holidays by country and region, proposed as closed days.

The dates are those of the library ``holidays``, which may lag behind the law and marks what it
only estimates. So they are proposals: the owner ticks which days the shop is closed.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache

from django.utils.translation import get_language
from django.utils.translation import gettext as _

from tickets.errors import Kind, Refused

DAYS = 365


@dataclass(frozen=True)
class Country:
    """``regions`` are (code, name); the name is the code where the library knows no other."""

    code: str
    name: str
    regions: tuple[tuple[str, str], ...]


@cache
def countries() -> dict[str, Country]:
    """Every country the library knows, by its two-letter code (ISO 3166-1), in order of names."""
    # Reading the library takes part of a second, which no other page should pay.
    from holidays import list_supported_countries
    from holidays.registry import COUNTRIES

    regions = list_supported_countries(include_aliases=False)
    country_of = {}
    for module, (_class, code, *_more) in sorted(COUNTRIES.items()):
        if code in regions:
            name = module.replace("_", " ").title()
            country_of[code] = Country(code, name, _regions(code, regions[code]))
    return country_of


def _regions(code: str, subdivisions: list[str]) -> tuple[tuple[str, str], ...]:
    from holidays import country_holidays

    names = {
        region: name
        for name, region in getattr(country_holidays(code), "subdivisions_aliases", {}).items()
    }
    return tuple((region, names.get(region, region)) for region in subdivisions)


def coming(place: str, first: date) -> list[tuple[date, str]]:
    """Public holidays of the 365 days from ``first`` on, with their names, in order.

    ``place`` is a country code, and a region's after a hyphen: ``GB-SCT``. Names come in the
    language of the page where the library has it. Raises ``Refused`` for a place it does not know.
    """
    from holidays import country_holidays

    code, _gap, region = place.partition("-")
    country = countries().get(code)
    if country is None or (region and region not in dict(country.regions)):
        raise Refused(
            "unknown_place",
            _("No public holidays are known for %(place)s.") % {"place": place or "–"},
            _("Choose a country and region of the list, or write the closed days by hand."),
            kind=Kind.NOT_FOUND,
        )
    last = first + timedelta(days=DAYS - 1)
    days = country_holidays(
        code,
        subdiv=region or None,
        years=range(first.year, last.year + 1),
        language=_language(code),
    )
    return sorted((day, name) for day, name in days.items() if first <= day <= last)


def _language(code: str) -> str | None:
    """The library's word for the page's language; None for the country's own."""
    from holidays import country_holidays

    offered = getattr(country_holidays(code), "supported_languages", ())
    wanted = (get_language() or "en").replace("-", "_")
    stem = wanted.split("_")[0]
    same = [
        language for language in offered if language == wanted or language.split("_")[0] == stem
    ]
    return same[0] if same else None
