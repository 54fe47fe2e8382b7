"""Filters that show the shop's money and names as its people write them.

Money follows the shop's choices: ``{{ amount|money:shop }}``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal

from django import template

import care_rules
from care_rules import Caution, Decision, TreatmentLimits
from care_rules.rows import row_name
from care_rules.tables import book
from care_rules.texts import in_words
from care_rules.vocabulary import Rule
from care_rules.wording import TreatmentLine, limit_name, treatment_lines
from counter.care import wording as care_words
from counter.care.queries import overrides_of
from counter.intake.choice_lists import KINDS
from counter.intake.wording.choice_labels import short_symbol
from counter.models import RecordedOverride, Shop
from counter.money.amounts import format_money
from tickets.choices import Station
from tickets.garments.customers import show_phone
from tickets.garments.wording import washes_done
from tickets.house_book import rules_of
from tickets.models import Customer, Piece
from tickets.wording import cautions

register = template.Library()
register.filter("in_words", in_words)
register.filter("limit_name", limit_name)
register.filter("short_symbol", short_symbol)
register.filter("washes_done", washes_done)


@register.filter
def money(amount: Decimal | int | None, shop: Shop) -> str:
    """``£12.00``; nothing for None."""
    return "" if amount is None else format_money(amount, shop)


@register.filter
def round_money(amount: Decimal, shop: Shop) -> str:
    """A whole sum, as on an axis: ``£200``."""
    return format_money(amount, shop, places=0)


@register.filter
def limit_lines(limits: TreatmentLimits, shop: Shop) -> list[TreatmentLine]:
    """``decision.limits`` as lines with ``name``, ``words``, ``never``."""
    return treatment_lines(limits, fahrenheit=shop.fahrenheit)


@register.filter
def never_words(lines: Iterable[TreatmentLine]) -> str:
    """``Never: bleach, tumble``; empty where every treatment has some place."""
    names = [line.name for line in lines if line.never]
    return care_words.out_of_question(names) if names else ""


@register.filter
def because(decision: Decision, line: TreatmentLine) -> list[Rule]:
    """The rules behind a limit line."""
    keys = dict.fromkeys(key for path in line.paths for key in decision.because.get(path, ()))
    return rules_of(keys)


@register.filter
def rules(keys: list[str]) -> list[Rule]:
    """Rule keys as rows with ``says``, ``source`` and ``status``."""
    return rules_of(keys)


@register.filter
def rule_name(key: str) -> str:
    """What people call a rule of the tables: ``wool`` for ``fibre.wool``."""
    row = book().rules.get(key)
    return row_name(row) if row else key.partition(".")[2]


@register.filter
def recorded_overrides(piece: Piece) -> list[RecordedOverride]:
    """What the owner recorded about the maker's finish of a piece, oldest first."""
    return overrides_of(piece)


@register.filter
def phone_of(customer: Customer, shop: Shop) -> str:
    """The customer's whole phone number as people of the shop's country write it."""
    return show_phone(customer.phone, shop.country)


@register.filter
def kind_name(key: str) -> str:
    return KINDS.name(key)


@register.filter
def process_words(decision: Decision) -> str:
    """``Machine wash, in house``."""
    process = care_words.PROCESSES.get(decision.process, decision.process)
    return f"{process}, {care_words.PLACES.get(decision.where, decision.where)}"


@register.filter
def station_name(contract_station: str) -> str:
    """A station of the care contract as staff call it; its counter is the intake."""
    return str(Station("intake" if contract_station == "counter" else contract_station).label)


@register.filter
def strongest(decision: Decision) -> list[str]:
    """The limits that go on the tag, strongest first."""
    return care_rules.strongest_limits(decision)


@register.filter
def by_gravity(decision: Decision) -> list[Caution]:
    """All cautions of a decision, the gravest first."""
    return cautions(decision, least="info")


@register.filter
def at(mapping: Mapping[str, object], key: str) -> object:
    """The value under a key that a template cannot spell; empty where there is none."""
    return mapping.get(key, "")
