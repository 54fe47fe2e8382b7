"""Overrides: the owner alone records that a maker's finish is known, and never past the label."""

from __future__ import annotations

from typing import Any

import pytest
from django.conf import settings as project
from django.contrib.auth.models import User
from django.test import Client

from care_rules import WashLimit
from counter.care import overrides
from counter.care.overrides import overrides_in_force
from counter.intake import services
from counter.intake.drafts import Draft, DraftPiece
from counter.intake.queries import read_draft
from counter.intake.services import open_from_draft, open_ticket, start_draft
from counter.models import IntakeDraft, RecordedOverride, Shop
from tests.building import jumper, make_customer, make_user
from tests.counter.intake.intaking import LOOKED_OVER
from tests.markup import flat
from tickets.acting import Act
from tickets.errors import Refused

pytestmark = pytest.mark.django_db

PARSED = {"state": "read", "edition": "unknown", "market": "unknown", "terms": []}


def washable(symbol: str = "wash_40") -> dict[str, Any]:
    """A wool jumper whose label allows more than careful practice allows wool."""
    symbols = [symbol, "no_bleach", "no_tumble", "flat_dry", "iron_110", "dry_clean_p_mild"]
    return jumper(label={**PARSED, "symbols": symbols})


@pytest.fixture
def draft(owner: User) -> IntakeDraft:
    draft = start_draft(make_customer(), owner)
    piece = DraftPiece(washable(), LOOKED_OVER, id="p1").as_json()
    draft.pieces = [piece]
    draft.save()
    return draft


def signed_in(user: User) -> Client:
    client = Client()
    client.force_login(user, backend=project.AUTHENTICATION_BACKENDS[1])
    return client


def url(draft: IntakeDraft, rest: str = "") -> str:
    return f"/intake/{draft.pk}/pieces/1/{rest}"


def lift(client: Client, draft: IntakeDraft, *rules: str, reason: str = "maker's letter") -> Any:
    sent = {"piece": "p1", "lift": list(rules), "reason": reason}
    return client.post(url(draft, "overrides/"), sent, follow=True)


def water(client: Client, draft: IntakeDraft) -> int:
    degrees: int = client.get(url(draft)).context["look"].decision.limits.wash.max_c
    return degrees


def test_the_page_offers_the_owner_what_holds_the_piece_below_its_label(
    owner: User, draft: IntakeDraft
) -> None:
    offered = signed_in(owner).get(url(draft)).context["liftable"]
    # The habit with knits gives way to the label by itself; nothing else holds the piece below it.
    assert {offer.rule.key for offer in offered} == {"fibre.wool"}
    wool = next(offer for offer in offered if offer.rule.key == "fibre.wool")
    assert "wash.max_c" in wool.paths
    page = signed_in(owner).get(url(draft)).content.decode()
    assert 'name="lift" value="fibre.wool"' in flat(page)


def test_nothing_is_offered_where_the_label_is_gentle_or_missing(owner: User) -> None:
    gentle, missing = jumper(), jumper(label={"state": "missing"})
    abilities = Shop.current().abilities
    assert overrides.choices(missing, {}, abilities) == []
    assert overrides.choices(gentle, {}, abilities) == []


def test_recording_lifts_the_limit_to_the_label_and_names_who_when_and_why(
    owner: User, draft: IntakeDraft
) -> None:
    client = signed_in(owner)
    assert water(client, draft) == 30
    page = lift(client, draft, "fibre.wool").content.decode().replace("&#x27;", "'")
    assert water(client, draft) == 40
    row = RecordedOverride.objects.get()
    assert (row.rule, row.by, row.reason, row.lifted) == (
        "fibre.wool",
        owner,
        "maker's letter",
        True,
    )
    assert row.at is not None
    assert "Lifted up to the label: wool" in page
    assert "maker's letter" in page
    assert "Test Owner" in page


def test_nothing_rises_past_the_label(owner: User, draft: IntakeDraft) -> None:
    client = signed_in(owner)
    lift(client, draft, "fibre.wool")
    limits = client.get(url(draft)).context["look"].decision.limits
    assert limits.wash == WashLimit(
        allowed=True, max_c=40, action="normal", hand_only=False, spin="normal"
    )
    assert limits.tumble == "none"  # crossed on the label
    assert limits.iron.max_c == 110
    assert limits.air_dry.hang is False


def test_the_record_goes_with_the_piece_and_its_page_shows_it(
    owner: User, draft: IntakeDraft
) -> None:
    client = signed_in(owner)
    lift(client, draft, "fibre.wool")
    ticket = open_from_draft(IntakeDraft.objects.get(), None, Act(by=make_user("counter")))
    piece = ticket.pieces.get()
    assert piece.facts["overrides"] == ["fibre.wool"]
    assert piece.decision["limits"]["wash"]["max_c"] == 40
    assert RecordedOverride.objects.get().piece == piece
    page = client.get(f"/pieces/{piece.code}/").content.decode().replace("&#x27;", "'")
    assert "Lifted up to the label: wool" in page
    assert "maker's letter" in page


def test_taking_it_back_is_a_row_of_its_own(owner: User, draft: IntakeDraft) -> None:
    client = signed_in(owner)
    lift(client, draft, "fibre.wool")
    lift(client, draft, reason="it was another jumper")
    assert water(client, draft) == 30
    rows = RecordedOverride.objects.values_list("rule", "lifted", "reason")
    assert list(rows) == [
        ("fibre.wool", True, "maker's letter"),
        ("fibre.wool", False, "it was another jumper"),
    ]


def test_sent_twice_it_is_recorded_once(owner: User, draft: IntakeDraft) -> None:
    client = signed_in(owner)
    lift(client, draft, "fibre.wool")
    lift(client, draft, "fibre.wool")
    assert RecordedOverride.objects.count() == 1


def test_it_falls_away_when_the_label_or_the_cloth_is_changed(
    owner: User, draft: IntakeDraft
) -> None:
    client = signed_in(owner)
    lift(client, draft, "fibre.wool")
    services.save_piece(draft.pk, "p1", {"facts": washable("wash_60")})
    assert water(client, draft) == 30
    assert "binds again" in client.get(url(draft)).content.decode()
    services.save_piece(draft.pk, "p1", {"facts": {**washable(), "services": ["clean"]}})
    assert water(client, draft) == 40  # what is asked for is no part of what was looked at


def test_it_stays_through_edits_of_the_form_and_is_not_copied_to_the_next_piece(
    owner: User, draft: IntakeDraft
) -> None:
    client = signed_in(owner)
    lift(client, draft, "fibre.wool")
    services.save_piece(draft.pk, "p1", {"description": "green"})
    services.add_piece(draft.pk, 1, like="p1")
    lifted = [
        overrides_in_force(piece.facts, recorded=piece.overrides or {})
        for piece in read_draft(IntakeDraft.objects.get()).pieces
    ]
    assert lifted == [["fibre.wool"], []]


@pytest.mark.parametrize(
    ("rules", "reason", "says"),
    [
        (["fibre.wool"], " ", "needs a reason"),
        (["fibre.silk"], "x", "fibre.silk does not hold this piece below its label"),
        (["label.no_tumble"], "x", "label.no_tumble does not hold this piece below its label"),
        (["nonsense"], "x", "nonsense does not hold this piece below its label"),
    ],
)
def test_what_can_t_be_recorded_is_refused(
    owner: User, draft: IntakeDraft, rules: list[str], reason: str, says: str
) -> None:
    page = lift(signed_in(owner), draft, *rules, reason=reason).content.decode()
    assert says in page
    assert not RecordedOverride.objects.exists()
    assert water(signed_in(owner), draft) == 30


def test_nothing_is_recorded_on_an_intake_that_is_a_ticket_already(
    owner: User, draft: IntakeDraft
) -> None:
    open_from_draft(draft, None, Act(by=owner))
    with pytest.raises(Refused) as refused:
        services.record_overrides(draft.pk, "p1", ["fibre.wool"], "late", Act(by=owner))
    assert refused.value.code == "already_open"
    assert not RecordedOverride.objects.exists()


@pytest.mark.parametrize("role", ["counter", "backroom"])
def test_nobody_but_the_owner_records_it(owner: User, draft: IntakeDraft, role: str) -> None:
    person = make_user(role)
    sent = {"piece": "p1", "lift": ["fibre.wool"], "reason": "x"}
    assert signed_in(person).post(url(draft, "overrides/"), sent).status_code == 403
    with pytest.raises(Refused) as refused:
        services.record_overrides(draft.pk, "p1", ["fibre.wool"], "x", Act(by=person))
    assert refused.value.code == "not_owner"
    assert not RecordedOverride.objects.exists()
    if role == "counter":
        assert 'name="lift"' not in signed_in(person).get(url(draft)).content.decode()


def test_the_form_of_the_piece_can_t_smuggle_an_override_in(
    owner: User, draft: IntakeDraft
) -> None:
    counter = signed_in(make_user("counter"))
    sent = {"piece": "p1", "kind": "sweater_wool", "overrides": "fibre.wool", "lift": "fibre.wool"}
    counter.post(url(draft), sent)
    assert "overrides" not in IntakeDraft.objects.get().pieces[0]
    assert "overrides" not in IntakeDraft.objects.get().pieces[0]["facts"]


def test_a_ticket_with_an_override_that_nobody_recorded_is_refused(owner: User) -> None:
    facts = {**washable(), "overrides": ["fibre.wool"]}
    draft = Draft((DraftPiece(facts, LOOKED_OVER),))
    with pytest.raises(Refused) as refused:
        open_ticket(make_customer(), draft, None, Act(by=make_user("counter")))
    assert refused.value.code == "not_recorded"
    piece = open_ticket(make_customer(), draft, None, Act(by=owner)).pieces.get()
    row = RecordedOverride.objects.get()
    assert (row.piece, row.rule, row.by) == (piece, "fibre.wool", owner)
