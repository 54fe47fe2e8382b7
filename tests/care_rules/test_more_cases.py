"""The pieces of more_cases.txt: what must come of each, and what must hold for all of them.

The table says how a piece is written. What must hold is one of, parted by semicolons:
``outcome``, ``process`` and ``where`` with the words that will do; a limit with ``=`` or ``<=``;
``says`` a caution, with its level and scope where they matter, or ``silent``; ``order`` of steps,
``without`` steps; ``step`` with one of its settings; ``never`` spotting agents; and ``parted``,
that no two agents meet which must not. Sources stand in the table above each group.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from care_rules import decide_json
from care_rules.tables import book
from tests.care_rules.builders import SHOP, steps
from tests.care_rules.severity import flat, strictness

SHOPS: dict[str, dict[str, Any]] = {
    "all here": {"wet_cleaning": True, "dry_cleaning": ["P", "F"], "send_out": ["leather"]},
    "nothing": {"wet_cleaning": False, "dry_cleaning": [], "send_out": []},
}
PARTS = ("lining", "filling", "coating", "trim")
WORDS = ("kind", "construction", "colour", "wearer")
LISTS = ("trims", "damage", "hazards", "work", "accepted", "services")
#: Agents that never meet without a rinse. US transport safety bulletin, Iowa State; general
#: chemistry from memory.
APART = [
    ("chlorine", "acid"), ("chlorine", "ammonia"), ("chlorine", "peroxide"),
    ("chlorine", "alcohol"), ("chlorine", "acetone"), ("chlorine", "reducer"),
    ("acetone", "peroxide"), ("acid", "peroxide"), ("reducer", "peroxide"), ("acid", "ammonia"),
]  # fmt: skip
EARLIER_FIRST = [
    ("test", "pre_spot"), ("pre_spot", "wash"), ("remove_trim", "wash"), ("stabilise", "wash"),
    ("unpick", "wash"), ("wash", "wet_check"), ("wet_check", "dry"), ("wet_check", "press"),
    ("dry", "cool_down"), ("dry", "press"), ("unpick", "mend"), ("mend", "press"),
    ("press", "inspect"), ("inspect", "assemble"),
]  # fmt: skip


def read() -> Iterator[tuple[str, dict[str, Any], list[str]]]:
    table = Path(__file__).with_name("more_cases.txt").read_text(encoding="utf-8")
    for line in table.splitlines():
        if line and not line.startswith("#"):
            name, words, wanted = line.split(" | ")
            yield name, piece_of(words), wanted.split("; ")


def fibres_of(text: str) -> list[dict[str, Any]]:
    shares = []
    for share in text.split(", "):
        fibre, _, percent = share.partition(" ")
        shares.append({"fibre": fibre, "percent": float(percent or 100)})
    return shares


def piece_of(words: str) -> dict[str, Any]:
    shell, *rest = words.split("; ")
    label: dict[str, Any] = {"state": "missing"}
    facts: dict[str, Any] = {"colour": "white", "construction": "woven", "label": label}
    facts |= {"wearer": "adult", "services": ["clean"], "shop": SHOP, "components": []}
    parts = [("shell", shell)] if shell != "-" else []
    for item in rest:
        name, _, value = item.partition(" ")
        if name in PARTS:
            parts.append((name, value))
        elif name == "label":
            label |= {"state": "read", "symbols": value.split()}
        elif name == "terms":
            label |= {"state": "read", "terms": value.split(" + ")}
        elif name in ("state", "edition", "market"):
            label[name] = value
        elif name == "stains":
            facts["stains"] = [{"stain": stain} for stain in value.split(" + ")]
        elif name == "shop":
            facts["shop"] = SHOPS.get(value) or shop_of(value.split(", "))
        elif name in LISTS:
            facts[name] = value.split()
        else:
            assert name in WORDS, item
            facts[name] = value
    facts["components"] = [{"part": part, "fibres": fibres_of(text)} for part, text in parts]
    return facts


def shop_of(words: list[str]) -> dict[str, Any]:
    return {
        "wet_cleaning": "W" in words,
        "dry_cleaning": [word for word in words if word in ("P", "F")],
        "send_out": [word.removeprefix("to ") for word in words if word.startswith("to ")],
    }


def value_of(path: str, text: str) -> Any:
    if path.endswith(("max_c", "minutes")):
        return int(text)
    if path.endswith("solvents"):
        return [] if text == "none" else list(text)
    return {"yes": True, "no": False}.get(text, text)


def agents(step: dict[str, Any]) -> set[str]:
    settings = step["settings"]
    return {
        *settings.get("agents", ()),
        *(["peroxide"] if settings.get("bleach") == "oxygen" else []),
    }


def meetings(decision: dict[str, Any]) -> list[tuple[str, str]]:
    """Agents on the piece at the same time that must never meet."""
    on_it: set[str] = set()
    pairs = []
    for step in decision["steps"]:
        on_it = set() if step["step"] == "rinse" else on_it | agents(step)
        pairs += [pair for pair in APART if set(pair) <= on_it]
        on_it = set() if step["step"] == "wash" else on_it
    return pairs


def in_order(decision: dict[str, Any], names: list[str]) -> bool:
    left = iter(steps(decision))
    return all(name in left for name in names)


def compare(path: str, value: Any, sign: str, wanted: Any) -> bool:
    if sign == "=":
        return bool(value == wanted)
    if path.endswith("solvents"):
        return set(value) <= set(wanted)
    return strictness(path, value) >= strictness(path, wanted)


def holds(decision: dict[str, Any], claim: str) -> bool:
    first, _, rest = claim.partition(" ")
    words = rest.split()
    cautions = {caution["key"]: caution for caution in decision["cautions"]}
    if first in ("outcome", "process", "where"):
        return decision[first] in words
    if first == "silent":
        return rest not in cautions
    if first == "says":
        key, _, grade = rest.partition(": ")
        level, _, scope = grade.partition("/")
        said = cautions.get(key, {"level": None, "scope": None})
        return key in cautions and level in ("", said["level"]) and scope in ("", said["scope"])
    if first == "order":
        return in_order(decision, words)
    if first == "without":
        return not set(words) & set(steps(decision))
    if first == "never":
        return not any(set(words) & agents(step) for step in decision["steps"])
    if first == "parted":
        return bool(decision["steps"]) and not meetings(decision)
    if first == "step":
        name, setting, sign, text = words
        chosen = [s["settings"] for s in decision["steps"] if s["step"] == name]
        values = [settings[setting] for settings in chosen if setting in settings]
        wanted = value_of(setting, text)
        return bool(values) and all(compare(setting, value, sign, wanted) for value in values)
    sign, text = words
    limits = flat(decision) | {"load.colour_group": decision["load"]["colour_group"]}
    return compare(first, limits[first], sign, value_of(first, text))


CASES = list(read())
NAMES = [name for name, _, _ in CASES]


def test_no_piece_stands_in_the_table_under_the_name_of_another() -> None:
    assert sorted(set(NAMES)) == sorted(NAMES)
    assert len(NAMES) > 300


@pytest.mark.parametrize("case", CASES, ids=NAMES)
def test_what_comes_of_the_piece(case: tuple[str, dict[str, Any], list[str]]) -> None:
    _, facts, wanted = case
    decision = decide_json(facts)
    assert [claim for claim in wanted if not holds(decision, claim)] == []


def test_steps_of_every_piece_stand_in_their_order() -> None:
    for name, facts, _ in CASES:
        names = steps(decide_json(facts))
        for before, after in EARLIER_FIRST:
            if before in names and after in names:
                assert names.index(before) < names.index(after), (name, names)
        if names:
            assert (names[0], names[-2:]) == ("check", ["inspect", "assemble"]), name
        if "remove_trim" in names:
            assert "mend" in names, name


def test_a_tumbled_piece_cools_down_before_it_is_folded() -> None:
    """UK fire services' warnings on tumble-dried laundry."""
    tumbled = 0
    for name, facts, _ in CASES:
        decision = decide_json(facts)
        for step in decision["steps"]:
            if step["step"] == "dry" and step["settings"]["tumble"] != "none":
                tumbled += 1
                assert "cool_down" in steps(decision), name
    assert tumbled > 50


def test_every_question_and_refusal_says_what_to_do() -> None:
    for name, facts, _ in CASES:
        cautions = decide_json(facts)["cautions"]
        hazards = book()["hazards"]
        refused = [c for c in cautions if c["level"] == "refuse" and c["scope"] == "piece"]
        # A hazard that refuses a piece speaks alone: what the others advise would be forbidden.
        refusing = [c for c in refused if c["key"] in hazards]
        for caution in refusing or cautions:
            if caution["level"] in ("hold", "refuse"):
                assert caution["do"], (name, caution["key"])
        if refusing:
            assert not [c for c in cautions if c not in refusing and c["do"]], name


def test_every_rule_row_that_asks_or_refuses_says_what_to_do() -> None:
    asking = [
        row
        for row in book().rules.values()
        if row.level in ("hold", "refuse") or row.cells.get("ask") == "hold"
        if row.table not in ("symbols", "terms")  # these speak through a notice of their own
    ]
    assert [row.key for row in asking if not row.cells.get("do")] == []


def turned(value: Any, order: random.Random) -> Any:
    if isinstance(value, dict):
        return {name: turned(inner, order) for name, inner in value.items()}
    if isinstance(value, list):
        inner_values = [turned(inner, order) for inner in value]
        order.shuffle(inner_values)
        return inner_values
    return value


def test_the_order_of_lists_changes_nothing() -> None:
    order = random.Random(11)
    for name, facts, _ in CASES:
        assert decide_json(facts) == decide_json(turned(facts, order)), name
