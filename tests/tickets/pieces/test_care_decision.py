"""A piece gives its stored decision and facts in their types."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User

from care_rules import decide, parse_facts
from tests.building import jumper, make_ticket
from tickets.models import Piece

pytestmark = pytest.mark.django_db


@pytest.fixture
def piece(user: User) -> Piece:
    return make_ticket(user, [jumper()]).pieces.get()


def test_the_decision_is_the_one_that_was_made_of_the_facts(piece: Piece) -> None:
    assert piece.care_decision == decide(parse_facts(piece.facts))
    assert piece.care_decision.as_json() == piece.decision
    assert (piece.care_facts.kind, piece.care_facts.colour) == ("sweater_wool", jumper()["colour"])


def test_it_is_read_once_and_anew_when_the_field_holds_another(piece: Piece) -> None:
    first = piece.care_decision
    assert piece.care_decision is first
    piece.decision = {**piece.decision, "outcome": "ask"}
    assert piece.care_decision.outcome == "ask"
    piece.refresh_from_db()
    assert piece.care_decision == first
