"""Care rules: what may be done with a garment, and why. Standard library only."""

from __future__ import annotations

from collections.abc import Sequence

from care_rules.checks import reading_notes
from care_rules.deciding import Ruling, decide, rule_on
from care_rules.decision import (
    AirDryLimit,
    Caution,
    Decision,
    DryCleanLimit,
    IronLimit,
    LoadLimit,
    Settings,
    Step,
    TreatmentLimits,
    WashLimit,
    WetCleanLimit,
)
from care_rules.errors import DecisionError, FactsError, Fault, TableError
from care_rules.house import EVERY_PIECE, HouseRule, check_house_rule
from care_rules.jsons import Json, JsonMapping, JsonObject
from care_rules.loads import may_share_load
from care_rules.parse import parse_facts
from care_rules.rulebook import TABLES_VERSION, review_cells, rule
from care_rules.stored import read_decision, read_facts
from care_rules.vocabulary import (
    Component,
    Entry,
    Facts,
    FibreShare,
    Label,
    Rule,
    ShopAbilities,
)
from care_rules.why import LimitRow, Mark, liftable, why
from care_rules.wording import home_care, strongest_limits

__all__ = [
    "EVERY_PIECE",
    "TABLES_VERSION",
    "AirDryLimit",
    "Caution",
    "Component",
    "Decision",
    "DecisionError",
    "DryCleanLimit",
    "Entry",
    "Facts",
    "FactsError",
    "Fault",
    "FibreShare",
    "HouseRule",
    "IronLimit",
    "Json",
    "JsonMapping",
    "JsonObject",
    "Label",
    "LimitRow",
    "LoadLimit",
    "Mark",
    "Rule",
    "Ruling",
    "Settings",
    "ShopAbilities",
    "Step",
    "TableError",
    "TreatmentLimits",
    "WashLimit",
    "WetCleanLimit",
    "check_house_rule",
    "decide",
    "decide_json",
    "home_care",
    "liftable",
    "may_share_load",
    "parse_facts",
    "read_decision",
    "read_facts",
    "reading_notes",
    "review_cells",
    "rule",
    "rule_on",
    "strongest_limits",
    "why",
]


def decide_json(obj: JsonMapping, house_rules: Sequence[HouseRule] = ()) -> JsonObject:
    """Decide on facts given as JSON values; raises FactsError naming every fault."""
    return decide(parse_facts(obj), house_rules).as_json()
