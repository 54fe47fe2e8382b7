"""Second looks at what was typed from a label: notes for the person at the counter.

Unlike a decision these depend on the order in which things were typed, since an order that is
off the usual one is often a misread label. They change no limit.
"""

from __future__ import annotations

from care_rules.rulebook import rule
from care_rules.tables import book
from care_rules.told import told
from care_rules.vocabulary import GROUPS, Facts, Rule

_OLD_ORDER = ("wash", "bleach", "iron", "dry_clean")


def reading_notes(facts: Facts) -> list[Rule]:
    """The rules that the label as typed does not keep to, most telling first."""
    keys = [*_symbol_order(facts), *_fibre_order(facts), *_incomplete(facts), *_not_told(facts)]
    return [rule(key) for key in keys]


def _symbol_order(facts: Facts) -> list[str]:
    """Symbols run wash, bleach, tumble, air dry, iron, dry clean, wet clean (JIS L 0001)."""
    symbols = book()["symbols"]
    typed = [symbols[key].cells["group"] for key in facts.label.symbols]
    if typed == sorted(typed, key=GROUPS.index):
        return []
    old = [group for group in _OLD_ORDER if group in typed]
    if [group for group in typed if group in _OLD_ORDER] == old and "iron" in typed:
        return ["label_rule.old_jp_order"]
    return ["label_rule.iso_order"]


def _fibre_order(facts: Facts) -> list[str]:
    """Fibres run from the largest share down; unnamed ones may stand last."""
    unnamed = "other_fibres"
    for component in facts.components:
        shares = [s.percent for s in component.fibres if s.percent and s.fibre != unnamed]
        if shares != sorted(shares, reverse=True):
            us = ["composition_rule.us_order"] if facts.label.market == "us" else []
            return ["composition_rule.descending_order", *us]
    return []


def _incomplete(facts: Facts) -> list[str]:
    """A US label names washing or dry cleaning, and with washing also a way to dry."""
    if facts.label.market != "us" or facts.label.state != "read":
        return []
    tables = book()
    groups = {tables["symbols"][key].cells["group"] for key in facts.label.symbols}
    for term in facts.label.terms:
        for row in tables.terms[term]:
            groups |= {tables["symbols"][key].cells["group"] for key in row.listed("symbols")}
    if not groups & {"wash", "dry_clean"}:
        return ["label_rule.us_wash_or_dryclean_needed"]
    if "wash" in groups and not groups & {"tumble_dry", "natural_dry", "dry_clean"}:
        return ["label_rule.us_dry_method_needed"]
    return []


def _not_told(facts: Facts) -> list[str]:
    """Parts and finishes that such a piece often has and that were not noted."""
    tables = book()
    known = told(facts, tables)
    missing = {
        when.row.key
        for fact in known & tables.notes.keys()
        for when in tables.notes[fact]
        if when.holds(known)
    }
    return sorted(missing)
