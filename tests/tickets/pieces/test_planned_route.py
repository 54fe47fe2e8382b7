"""The route that a promise is made for is the route that is stored, minute for minute."""

from __future__ import annotations

from typing import Any

import pytest
from django.contrib.auth.models import User

from care_rules import decide, parse_facts
from tests.building import hivis_jacket, jumper, make_ticket, shirt, trousers
from tickets.pieces.decisions import planned_route
from tickets.promise.step_tasks import task_of

DUVET = shirt(kind="duvet_single", stains=[], construction="filled")
COAT = jumper(kind="coat_wool", construction="woven", services=["clean", "press"])


@pytest.mark.parametrize(
    "facts",
    [shirt(), jumper(), trousers(), hivis_jacket(), DUVET, COAT,
     shirt(services=["press"], stains=[]),
     jumper(services=["clean", "mend"], work=["button_replace"])],
    ids=["shirt", "jumper", "trousers", "jacket", "duvet", "coat", "pressed", "mended"],
)  # fmt: skip
def test_the_route_of_the_promise_is_the_route_of_the_piece(
    crew: User, facts: dict[str, Any]
) -> None:
    piece = make_ticket(crew, [facts]).pieces.get()
    planned = planned_route(facts, decide(parse_facts(facts)))
    stored = [
        task_of(step.station, step.step, step.minutes, step.settings, piece.weight_g)
        for step in piece.steps.order_by("order")
        if step.step != "assemble"
    ]
    assert planned == stored


def test_a_duvet_takes_more_of_a_drum_than_a_shirt(db: object) -> None:
    def litres(facts: dict[str, Any]) -> float:
        return sum(task.machine for task in planned_route(facts, decide(parse_facts(facts))))

    assert litres(DUVET) > 3 * litres(shirt(stains=[])) > 0
