"""What the pages' filters make of decisions, names and money."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest

from care_rules import decide, parse_facts
from counter.intake.wording.choice_labels import short_symbol
from counter.models import Shop
from counter.templatetags import owner_tags
from counter.templatetags import shop as filters
from tests.building import jumper, shirt

pytestmark = pytest.mark.django_db
SHOP = Shop(currency="GBP", currency_sign="£")


def test_each_line_of_limits_names_the_rules_behind_it_once() -> None:
    decision = decide(parse_facts(jumper()))
    lines = filters.limit_lines(decision.limits, SHOP)
    named = {line.name: [rule.key for rule in filters.because(decision, line)] for line in lines}
    assert any(named.values())
    for line in lines:
        keys = [key for path in line.paths for key in decision.because.get(path, ())]
        assert named[line.name] == list(dict.fromkeys(keys))


def test_money_is_shown_in_the_shops_sign_and_nothing_for_nothing() -> None:
    assert filters.money(None, SHOP) == ""
    assert filters.money(0, SHOP) == "£0.00"
    assert filters.money(Decimal("12.5"), SHOP) == "£12.50"


@pytest.mark.parametrize(
    ("key", "name"),
    [("fibre.wool", "wool"), ("fibre.no_such", "no_such"), ("odd", "")],
)
def test_a_rule_has_a_name(key: str, name: str) -> None:
    assert filters.rule_name(key) == name


@pytest.mark.parametrize(
    ("station", "name"), [("counter", "Intake"), ("press", "Press"), ("send_out", "Send-out")]
)
def test_a_station_of_the_contract_is_named_as_staff_call_it(station: str, name: str) -> None:
    assert filters.station_name(station) == name


def test_cautions_stand_by_gravity_notes_included() -> None:
    decision = decide(parse_facts(shirt(colour="dark")))
    cautions = filters.by_gravity(decision)
    assert len(cautions) == len(decision.cautions) > 0
    assert "info" in {caution.level for caution in cautions}


@pytest.mark.parametrize(
    ("key", "short"),
    [
        ("", "none"),
        ("no_tumble", "never"),
        ("wash_40_mild", "40"),
        ("hand_wash", "hand"),
        ("iron_110", "1 dot"),
        ("tumble_normal", "2 dots"),
        ("dry_flat", "flat"),
        ("line_dry_shade", "line"),
        ("dry_clean_p", "P"),
        ("dry_clean_f_mild", "F"),
        ("wet_clean_mild", "W"),
        ("other", ""),
    ],
)
def test_a_symbol_has_one_short_word_for_the_strip_of_the_label(key: str, short: str) -> None:
    assert short_symbol(key) == short


@pytest.mark.parametrize(
    ("time", "words"),
    [(None, "–"), (timedelta(hours=5), "5.0 h"), (timedelta(days=3, hours=12), "3.5 days")],
)
def test_what_a_ticket_took_is_told_in_hours_or_days_or_not_at_all(
    time: timedelta | None, words: str
) -> None:
    assert owner_tags.took(time) == words


def test_a_key_that_is_not_there_is_nothing() -> None:
    assert filters.at({"a": 1}, "a") == 1
    assert filters.at({"a": 1}, "b") == ""
