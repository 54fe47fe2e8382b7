"""Every way in which the house says no is met by a test, and says what kind of no it is."""

from __future__ import annotations

import ast
from collections import defaultdict
from datetime import timedelta
from decimal import Decimal
from functools import cache
from importlib import import_module
from pathlib import Path

from tests.test_structure import FLOORS, ROOT, modules_of
from tickets.errors import Kind

NO_FIGURES = {
    "care_rules.limits.COUNT",
    "care_rules.limits.DEFAULT",
    "care_rules.limits.FIRM",
    "care_rules.limits.SOLVENTS",
    "care_rules.limits.USUAL",
    "tickets.plan.values.MINUTE",
}
"""Places in an order and a unit: nothing that could as well be another number."""


@cache
def refusals() -> list[tuple[str, str, str]]:
    """Code, kind and place of each refusal that the source spells out."""
    places = []
    for path in (path for floor in FLOORS for path in modules_of(floor)):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call) or not node.args:
                continue
            name, code = ast.unparse(node.func), node.args[0]
            if not isinstance(code, ast.Constant) or not isinstance(code.value, str):
                continue
            if code.value.isidentifier() and name in ("Refused", "super().__init__"):
                kinds = [ast.unparse(word.value) for word in node.keywords]
                place = f"{path.relative_to(ROOT)}:{node.lineno}"
                places.append((code.value, (kinds or ["Kind.CONFLICT"])[0], place))
    return places


def words_of_tests() -> set[str]:
    """Every whole string that a test holds."""
    trees = (
        ast.parse(path.read_text(encoding="utf-8"))
        for path in (ROOT / "tests").rglob("test_*.py")
        if path != Path(__file__)
    )
    return {
        node.value
        for tree in trees
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }


def test_every_refusal_is_met_by_a_test_that_names_its_code() -> None:
    known = words_of_tests()
    raised = refusals()
    assert len({code for code, _kind, _place in raised}) > 130
    assert [f"{code} ({place})" for code, _kind, place in raised if code not in known] == []


def test_a_code_is_of_one_kind_wherever_it_is_raised() -> None:
    kinds: dict[str, set[str]] = defaultdict(set)
    for code, kind, _place in refusals():
        kinds[code].add(kind)
    assert {code: names for code, names in kinds.items() if len(names) > 1} == {}
    # A number that can't be right carries its own kind.
    assert set().union(*kinds.values()) == {"no.kind", *(f"Kind.{kind.name}" for kind in Kind)}


def test_what_is_unknown_is_not_found() -> None:
    for code, kind, place in refusals():
        if code.startswith("unknown_") and code not in ("unknown_kind", "unknown_number"):
            assert kind == "Kind.NOT_FOUND", (code, place)


def test_no_test_takes_a_figure_from_the_product_that_it_checks() -> None:
    """A figure taken over changes with the product, and the test still passes."""
    taken = []
    for path in sorted((ROOT / "tests").rglob("test_*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.ImportFrom) or node.module is None:
                continue
            if node.module.split(".")[0] not in FLOORS:
                continue
            for alias in node.names:
                dotted = f"{node.module}.{alias.name}"
                if not alias.name.isupper() or dotted in NO_FIGURES:
                    continue
                value = getattr(import_module(node.module), alias.name)
                if isinstance(value, (int, float, Decimal, timedelta)):
                    taken.append(f"{path.relative_to(ROOT)}: {dotted}")
    assert taken == []
