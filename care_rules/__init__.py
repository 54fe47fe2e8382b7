"""Care rules: what may be done with a garment, and why. Standard library only."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from care_rules.checks import reading_notes
from care_rules.engine import decide
from care_rules.errors import FactsError, Fault, TableError
from care_rules.explain import home_care, strongest_limits
from care_rules.house import EVERY_PIECE, HouseRule, check_house_rule
from care_rules.loads import may_share_load
from care_rules.parse import parse_facts
from care_rules.rulebook import TABLES_VERSION, review_rows, rule
from care_rules.vocabulary import (
    Caution,
    Component,
    Decision,
    Entry,
    Facts,
    FibreShare,
    Label,
    Rule,
    ShopAbilities,
    Step,
)
from care_rules.why import LimitRow, Mark, liftable, why

__all__ = [
    "EVERY_PIECE",
    "TABLES_VERSION",
    "Caution",
    "Component",
    "Decision",
    "Entry",
    "Facts",
    "FactsError",
    "Fault",
    "FibreShare",
    "HouseRule",
    "Label",
    "LimitRow",
    "Mark",
    "Rule",
    "ShopAbilities",
    "Step",
    "TableError",
    "check_house_rule",
    "decide",
    "decide_json",
    "home_care",
    "liftable",
    "may_share_load",
    "parse_facts",
    "reading_notes",
    "review_rows",
    "rule",
    "strongest_limits",
    "why",
]


def decide_json(obj: Mapping[str, Any], house_rules: Sequence[HouseRule] = ()) -> dict[str, Any]:
    """Decide on facts given as JSON values; raises FactsError naming every fault."""
    return decide(parse_facts(obj), house_rules).as_json()
