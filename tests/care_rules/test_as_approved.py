"""What comes of many pieces, whole, as a person last looked at it.

Whoever changes a table or a rule sees here which pieces it changes, and how. Rules with a source
are stated by the tests beside; this holds all that comes along with them: settings and order of
steps, what is said, and which rules are named as the reason.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from care_rules import Decision, decide, home_care, liftable, parse_facts, strongest_limits, why
from care_rules.jsons import Json
from care_rules.wording import crew_lines, load_words, treatment_lines
from tests.approved import assert_approved
from tests.care_rules.builders import SHOP
from tests.care_rules.test_more_cases import SHOPS, read

APPROVED = Path(__file__).with_name("approved")
GARMENTS = Path(__file__).parents[2] / "fixtures" / "demo" / "garments.json"


def flat(values: Mapping[str, Json], prefix: str = "") -> Iterator[str]:
    for name, value in values.items():
        if isinstance(value, dict):
            yield from flat(value, f"{prefix}{name}.")
        else:
            words = " ".join(map(str, value)) if isinstance(value, list) else value
            yield f"{prefix}{name}={words}"


def decision_lines(decision: Decision) -> Iterator[str]:
    yield f"  {decision.outcome} {decision.process} {decision.where}"
    limits = [value.partition("=")[2] for value in flat(decision.limits.as_json())]
    load = [value.partition("=")[2] for value in flat(decision.load.as_json())]
    yield f"  limits {' '.join(limits)}; load {' '.join(load)}"
    for step in decision.steps:
        settings = ", ".join(flat(step.as_json()["settings"]))
        yield f"  {step.step} at {step.station} {settings} [{' '.join(step.because)}]"
    for caution in decision.cautions:
        reasons = " ".join(caution.because)
        yield f"  {caution.key} {caution.level} {caution.scope} {caution.defer_to} [{reasons}]"


def word_lines(facts: dict[str, Any]) -> Iterator[str]:
    """All that is said of a piece to customer, counter and crew, and the picture of the why."""
    known = parse_facts(facts)
    decision = decide(known)
    yield from (f"  home: {words}" for words in home_care(decision))
    yield from (f"  strongest: {words}" for words in strongest_limits(decision))
    celsius = [*_orders(decision, fahrenheit=False)]
    yield from celsius
    yield from (line for line in _orders(decision, fahrenheit=True) if line not in celsius)
    yield from (f"  load: {words}" for words in load_words(decision.load))
    yield from (f"  step: {step.says}" for step in decision.steps)
    yield from (f"  caution: {caution.says} {caution.do}" for caution in decision.cautions)
    for row in why(known):
        yield f"  why {row.path} {row.value} at {row.place:.3f}"
        for mark in row.marks:
            standing = f"{'decides ' * mark.decides}{'set aside' * mark.set_aside}"
            yield f"    {mark.key} {mark.name}: {mark.value} at {mark.place:.3f} {standing}"
    yield f"  liftable {liftable(known)}"


def _orders(decision: Decision, *, fahrenheit: bool) -> Iterator[str]:
    for line in treatment_lines(decision.limits, fahrenheit=fahrenheit):
        yield f"  counter {' '.join(line.paths)}: {line.name} {line.words}{' never' * line.never}"
    for order in crew_lines(decision.limits, fahrenheit=fahrenheit):
        yield f"  crew {order.path}: {order.says}{', closed' * order.closed}"


def test_the_pieces_of_more_cases_are_decided_as_approved() -> None:
    lines = []
    for name, facts, _wanted in read():
        lines += [name, *decision_lines(decide(parse_facts(facts)))]
    assert_approved(lines, APPROVED / "more-cases.txt")


def test_the_garments_of_the_demo_are_decided_and_put_into_words_as_approved() -> None:
    lines = []
    garments = json.loads(GARMENTS.read_text(encoding="utf-8"))
    for shop in (SHOP, SHOPS["all here"]):
        for garment in garments:
            facts = {**garment["facts"], "shop": shop}
            lines += [garment["description"], *decision_lines(decide(parse_facts(facts)))]
            if shop is SHOP:
                lines += word_lines(facts)
            else:
                lines += [f"  step: {step.says}" for step in decide(parse_facts(facts)).steps]
    assert_approved(lines, APPROVED / "demo-garments.txt")
