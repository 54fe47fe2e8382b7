"""House rules in the shop: added by the owner, only ever stricter, kept for good."""

from __future__ import annotations

from typing import Any

import pytest
from django.conf import settings as project
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from counter.care import house_rules
from counter.care.services import add_rule, retire
from counter.intake.drafts import Draft, DraftPiece
from counter.intake.judge import judge
from counter.intake.queries import read_draft
from counter.intake.services import open_ticket, start_draft
from counter.models import HouseRule
from tests.building import jumper, make_customer, make_user, shirt
from tests.counter.intake.intaking import LOOKED_OVER
from tickets import wording
from tickets.acting import Act
from tickets.errors import Refused
from tickets.house_book import read_anew
from tickets.models import Piece
from tickets.promise.open_work import forget_open_work

pytestmark = pytest.mark.django_db


def act(user: User) -> Act:
    return Act(by=user, at=timezone.now())


def cool_wool(owner: User, **changes: Any) -> HouseRule:
    words = {"name": "Wool stays cool", "about": "fibre.wool", "reason": "a cardigan felted"}
    return add_rule(**words, act=act(owner), limits="wash.max_c=20", **changes)


def signed_in(user: User) -> Client:
    client = Client()
    client.force_login(user, backend=project.AUTHENTICATION_BACKENDS[1])
    return client


def open_jumper(owner: User) -> Piece:
    ticket = open_ticket(
        make_customer(), Draft((DraftPiece(jumper(), LOOKED_OVER),)), None, act(owner)
    )
    return ticket.pieces.get()


def test_a_rule_binds_on_tickets_opened_from_now_on(owner: User) -> None:
    before = open_jumper(owner)
    cool_wool(owner)
    after = open_jumper(owner)
    assert before.decision["limits"]["wash"]["max_c"] == 30
    assert after.decision["limits"]["wash"]["max_c"] == 20
    assert after.decision["because"]["wash.max_c"] == ["house.wool-stays-cool"]
    assert "+house-" not in before.tables_version
    assert after.tables_version.startswith(f"{before.tables_version}+house-")


def test_a_rule_binds_in_the_draft_and_in_the_api_too(owner: User) -> None:
    cool_wool(owner)
    draft = start_draft(make_customer(), owner)
    draft.pieces = [DraftPiece(jumper()).as_json()]
    draft.save()
    look = judge(read_draft(draft), timezone.now())
    assert look.pieces[0].decision is not None
    assert look.pieces[0].decision.limits.wash.max_c == 20
    answer = signed_in(owner).post(
        "/api/v1/decide/", [jumper(), shirt()], content_type="application/json"
    )
    assert [decision["limits"]["wash"]["max_c"] for decision in answer.json()] == [20, 60]
    single = signed_in(owner).post("/api/v1/decide/", jumper(), content_type="application/json")
    assert single.json()["limits"]["wash"]["max_c"] == 20


def test_a_house_refusal_stops_the_ticket_in_the_house_s_words(owner: User) -> None:
    add_rule(
        "No red wine",
        "stain.red wine",
        "spotter on leave",
        act(owner),
        level="refuse",
        says="The house takes in no red wine this month.",
        do="Name the laundry across the street.",
    )
    with pytest.raises(Refused) as refused:
        open_ticket(
            make_customer(),
            Draft((DraftPiece(shirt(), {**LOOKED_OVER, "stains": "listed"}),)),
            None,
            act(owner),
        )
    assert refused.value.code == "declined"
    assert "The house takes in no red wine this month." in refused.value.says
    assert refused.value.cure == "Name the laundry across the street."


def test_a_retired_rule_binds_no_more_but_old_decisions_still_speak(owner: User) -> None:
    rule = cool_wool(owner)
    piece = open_jumper(owner)
    retire(rule.pk, "the new machine is gentle", act(owner))
    read_anew()
    assert open_jumper(owner).decision["limits"]["wash"]["max_c"] == 30
    page = signed_in(owner).get(f"/pieces/{piece.code}/")
    assert "House rule: a cardigan felted" in page.content.decode()
    assert wording.reason("house.wool-stays-cool") == "House rule: a cardigan felted"
    rule.refresh_from_db()
    assert (rule.retired_by, rule.retired_reason) == (owner, "the new machine is gentle")


def test_a_looser_rule_is_refused_with_value_place_and_cure(owner: User) -> None:
    with pytest.raises(Refused) as refused:
        add_rule("Hot wool", "fibre.wool", "why not", act(owner), limits="wash.max_c=60")
    assert refused.value.code == "bad_house_rule"
    assert refused.value.says == "House rule, limits: “wash.max_c=60” can't be kept."
    assert refused.value.cure == (
        "Looser than fibre.wool, which allows wash.max_c=30 at most; "
        "a house rule may only be stricter: write that or less."
    )
    assert not HouseRule.objects.exists()


def test_a_rule_sent_twice_is_kept_once_and_a_name_is_used_once(owner: User) -> None:
    assert cool_wool(owner).pk == cool_wool(owner).pk
    with pytest.raises(Refused) as refused:
        add_rule("Wool stays COOL", "fibre.silk", "x", act(owner), limits="wash.max_c=20")
    assert refused.value.code == "name_used"
    assert HouseRule.objects.count() == 1


def test_a_retired_name_is_never_given_again(owner: User) -> None:
    retire(cool_wool(owner).pk, "x", act(owner))
    with pytest.raises(Refused) as refused:
        cool_wool(owner)
    assert refused.value.code == "name_used"


def test_retiring_needs_a_reason_and_is_done_once(owner: User) -> None:
    rule = cool_wool(owner)
    with pytest.raises(Refused) as refused:
        retire(rule.pk, "  ", act(owner))
    assert refused.value.code == "no_reason"
    first = retire(rule.pk, "first", act(owner))
    again = retire(rule.pk, "second", act(owner))
    assert (again.retired_reason, again.retired_at) == ("first", first.retired_at)
    with pytest.raises(Refused) as refused:
        retire(rule.pk + 99, "x", act(owner))
    assert refused.value.code == "unknown_house_rule"


def test_words_that_do_not_fit_are_refused_and_not_cut(owner: User) -> None:
    with pytest.raises(Refused) as refused:
        add_rule("x", "fibre.wool", "y" * 301, act(owner), limits="wash.max_c=20")
    assert refused.value.code == "too_long"
    assert "has 301 characters" in refused.value.says


@pytest.mark.parametrize(
    ("name", "key"),
    [
        ("No wool in dryers", "house.no-wool-in-dryers"),
        ("Größe  2!", "house.groe-2"),
        ("  Ça va ", "house.ca-va"),
    ],
)
def test_a_key_is_made_of_the_short_name(name: str, key: str) -> None:
    assert house_rules.key_of(name) == key


def test_a_name_without_a_letter_is_refused(owner: User) -> None:
    with pytest.raises(Refused) as refused:
        add_rule("!!!", "fibre.wool", "x", act(owner), limits="wash.max_c=20")
    assert refused.value.code == "no_name"


def test_a_draft_costs_as_many_queries_with_one_rule_as_with_five(owner: User) -> None:
    draft = start_draft(make_customer(), owner)
    draft.pieces = [DraftPiece(jumper(), id=str(n)).as_json() for n in range(4)]
    draft.save()

    def cost() -> int:
        forget_open_work()
        with CaptureQueriesContext(connection) as seen:
            judge(read_draft(draft), timezone.now())
        return len(seen)

    cool_wool(owner)
    with_one = cost()
    for number in range(4):
        add_rule(f"r{number}", "fibre.wool", "x", act(owner), limits="wash.max_c=20")
    assert cost() == with_one


# The page


def sent(**changes: str) -> dict[str, str]:
    return {
        "what": "add",
        "name": "Wool stays cool",
        "about": "Wool (fibre)",
        "limit-wash.max_c": "20",
        "limit-tumble": "none",
        "reason": "a cardigan felted",
        **changes,
    }


def test_the_owner_adds_and_retires_a_rule_on_the_page(owner: User) -> None:
    client = signed_in(owner)
    assert client.get("/shop/house-rules/").status_code == 200
    assert client.post("/shop/house-rules/", sent())["Location"] == "/shop/house-rules/"
    rule = HouseRule.objects.get()
    assert (rule.about, rule.limits) == ("fibre.wool", "wash.max_c=20; tumble=none")
    assert rule.added_by == owner
    page = client.get("/shop/house-rules/").content.decode()
    assert "Water: at most 20 °C" in page
    assert "Test Owner" in page
    client.post(
        "/shop/house-rules/", {"what": "retire", "rule": str(rule.pk), "reason": "new machine"}
    )
    rule.refresh_from_db()
    assert rule.retired_reason == "new machine"


def test_water_of_nought_degrees_means_no_water_at_all(owner: User) -> None:
    signed_in(owner).post("/shop/house-rules/", sent(**{"limit-wash.max_c": "0"}))
    assert HouseRule.objects.get().limits == "wash.allowed=false; tumble=none"


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"limit-wash.max_c": "60"}, "Looser than fibre.wool"),
        ({"about": "wol (fibre)"}, "is not in the tables. Did you mean: Wool (fibre)"),
        ({"limit-wash.max_c": "20000"}, "95"),
        ({"limit-tumble": "sometimes"}, "sometimes"),
        ({"limit-tumble": "", "limit-wash.max_c": ""}, "it changes nothing"),
        ({"level": "hold"}, "Say the caution in one sentence"),
        ({"reason": ""}, "This field is required"),
        ({"what": "paint"}, "The form was not complete"),
    ],
)
def test_a_form_that_can_t_be_kept_comes_back_with_what_was_typed(
    owner: User, changes: dict[str, str], says: str
) -> None:
    answer = signed_in(owner).post("/shop/house-rules/", sent(**changes))
    assert answer.status_code == 422
    page = answer.content.decode().replace("&#x27;", "'")
    assert says in page
    if changes.get("what") is None:
        assert "a cardigan felted" in page or "reason" in changes
    assert not HouseRule.objects.exists()


def test_an_every_piece_rule_may_be_written_by_its_key_or_its_words(owner: User) -> None:
    client = signed_in(owner)
    client.post("/shop/house-rules/", sent(about="Every piece", name="one"))
    client.post("/shop/house-rules/", sent(about="fibre.silk", name="two"))
    client.post("/shop/house-rules/", sent(about="silk", name="three"))
    rows = HouseRule.objects.order_by("pk").values_list("about", flat=True)
    assert list(rows) == ["every piece", "fibre.silk", "fibre.silk"]


@pytest.mark.parametrize("role", ["counter", "backroom"])
def test_nobody_but_the_owner_writes_house_rules(owner: User, role: str) -> None:
    client = signed_in(make_user(role))
    assert client.get("/shop/house-rules/").status_code == 403
    assert client.post("/shop/house-rules/", sent()).status_code == 403
    assert not HouseRule.objects.exists()
