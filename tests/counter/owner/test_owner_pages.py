"""The owner's pages: every figure links to its list, for the owner alone, at a fixed price."""

from __future__ import annotations

import re
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from counter.money import services as payments
from tests.building import make_user
from tests.bulk import copies
from tests.counter.rows import act, piece_at, rack, ticket_of, work
from tests.markup import text
from tickets.choices import Station
from tickets.models import ClosedDay
from tickets.shop.calendar import business_day
from tickets.tracking import services as tracking

pytestmark = pytest.mark.django_db


def fill(oz: User, pieces: int) -> None:
    """Some pieces in every list."""
    now = timezone.now()
    late = ticket_of(oz, opened=now - timedelta(days=2), promised=now - timedelta(hours=1))
    work(piece_at(late, 1), oz, until="check")
    tracking.send_back(piece_at(late, 1).code, Station.WASH, "spot", act(oz))
    held = ticket_of(oz, opened=now, promised=now + timedelta(minutes=1))
    tracking.hold(piece_at(held, 1).code, "ask", oz, business_day(), act(oz))
    plain = ticket_of(oz, opened=now, promised=now + timedelta(minutes=1))
    racked = rack(ticket_of(oz, opened=now - timedelta(hours=3)), oz)
    for ticket in (late, held, plain, racked):
        copies(piece_at(ticket, 1), pieces - 1, a_ticket=1)


def test_every_figure_on_the_page_leads_to_a_list(office: Client, oz: User) -> None:
    fill(oz, 1)
    html = office.get("/owner/").content.decode()
    links = sorted(set(re.findall(r'href="(/owner/figures/[^"]+)"', html)))
    assert len(links) > 40
    assert html.count('href="/owner/figures/finished/?day=') == 1 + 14  # each day of the table
    assert html.count('href="/owner/figures/redo/?day=') == 1 + 1  # the station sent back to
    for link in links:
        assert office.get(link).status_code == 200, link


@pytest.mark.parametrize("pieces", [1, 25])
def test_the_page_costs_the_same_for_4_and_100_pieces(
    office: Client, oz: User, pieces: int, django_assert_num_queries: object
) -> None:
    fill(oz, pieces)
    with django_assert_num_queries(QUERIES):  # type: ignore[operator]
        office.get("/owner/")


QUERIES = 32


@pytest.mark.parametrize("figure", ["late", "in-process", "holds", "redo", "due", "unclaimed-0-7"])
def test_a_list_costs_the_same_for_any_number_of_rows(
    office: Client, oz: User, figure: str, django_assert_max_num_queries: object
) -> None:
    fill(oz, 12)
    with django_assert_max_num_queries(16):  # type: ignore[operator]
        assert office.get(f"/owner/figures/{figure}/").status_code == 200


def test_a_long_list_is_shown_in_pages(office: Client, oz: User) -> None:
    ticket_of(oz, 99)
    ticket_of(oz, 2)
    first = office.get("/owner/figures/in-process/").content.decode()
    second = office.get("/owner/figures/in-process/?page=2").content.decode()
    assert (first.count("<tr>"), second.count("<tr>")) == (101, 2)
    assert "Page 2 of 2" in second


def test_another_day_is_shown_by_its_date(office: Client) -> None:
    answer = office.get("/owner/", {"day": "2026-03-10"})
    html = answer.content.decode()
    assert "Tuesday 10 March 2026" in html
    assert "Week of 2 Mar 0 pieces" in html
    assert "Last week 0 pieces" in office.get("/owner/").content.decode()


@pytest.mark.parametrize(
    ("day", "says"),
    [
        ("soon", "soon is not a day. Write it like"),
        ("2026-13-01", "2026-13-01 is not a day."),
        ("2999-01-01", "There are no figures of 1 Jan 2999."),
        ("0001-01-01", "There are no figures of"),
    ],
)
def test_a_day_that_can_not_be_shown_is_named(office: Client, day: str, says: str) -> None:
    answer = office.get("/owner/", {"day": day})
    assert answer.status_code == 200
    assert says in answer.content.decode()
    assert office.get("/owner/figures/late/", {"day": day}).status_code == 200


def test_a_figure_that_is_none_is_not_found(office: Client) -> None:
    assert office.get("/owner/figures/nothing/").status_code == 404


def test_each_chart_says_what_it_shows_and_has_a_table_and_no_script(
    office: Client, oz: User
) -> None:
    rack(ticket_of(oz, 3), oz)
    html = office.get("/owner/").content.decode()
    drawings = re.findall(r'<svg class="chart[^>]*role="img"[^>]*>', html)
    assert len(drawings) == 3
    assert all("aria-label" in drawing for drawing in drawings)
    weeks = html[html.index('aria-labelledby="weeks-name"') :]
    weeks = weeks[: weeks.index('class="base"')]
    assert weeks.count("<rect") == 13
    assert ">3</text>" in weeks
    assert "style=" not in html
    table = html[html.index("The 14 days as a table") :]
    assert table.count("<tr>", 0, table.index("</table>")) == 15


def test_a_closed_day_is_a_dash_under_the_takings(office: Client, oz: User) -> None:
    for day in (date(2026, 3, 1), date(2026, 3, 8)):
        ClosedDay.objects.create(day=day)
    html = office.get("/owner/?day=2026-03-10").content.decode()
    chart = html[html.index("Takings of 14 days") :]
    days = re.findall(r"<text class=\"middle[^>]*>\s*(\S)\s*</text>", chart[: chart.index("</ul>")])
    assert "".join(days) == "WTFS–MTWTFS–MT"  # from Wednesday 25 February


def test_the_promises_stand_across_and_downwards_with_names(office: Client, oz: User) -> None:
    fill(oz, 1)
    html = office.get("/owner/").content.decode()
    across = html[html.index('class="chart across"') : html.index('class="down"')]
    down = html[html.index('class="down"') : html.index('class="key"')]
    for standing in ("kept", "come", "risk", "missed"):
        drawn = across.count(f'class="{standing}"')
        assert down.count(f'<li class="{standing}"') == drawn, standing
    assert "Ada Brook" in down
    assert "Promises on a line of hours: " in across


def test_the_axis_of_the_takings_says_its_currency(office: Client, oz: User) -> None:
    ticket = ticket_of(oz, price="120.00")
    payments.take(ticket, "deposit", "card", Decimal(120), act(oz), "a")
    chart = office.get("/owner/").content.decode()
    assert "Takings of 14 days" in chart
    assert re.search(r">£100</text>", chart)


def test_a_day_without_takings_says_so_and_no_sum_of_nothing(office: Client, oz: User) -> None:
    assert "Takings Nothing taken yet As a list" in text(office.get("/owner/").content)
    before = text(office.get("/owner/", {"day": "2026-03-10"}).content)
    assert "Takings Nothing taken As a list" in before
    payments.take(ticket_of(oz, price="9.00"), "deposit", "cash", Decimal(9), act(oz), "a")
    said = text(office.get("/owner/").content)
    assert "Takings £9.00: cash £9.00, card £0.00 As a list" in said


def test_a_question_stands_short_on_the_day_and_whole_one_door_further(
    office: Client, oz: User
) -> None:
    reason = "Horn button: may a near match replace it?"
    held = ticket_of(oz, opened=timezone.now() - timedelta(days=2), promised=timezone.now())
    tracking.hold(piece_at(held, 1).code, reason, oz, business_day(), act(oz))
    html = office.get("/owner/").content.decode()
    said = text(html[html.index('id="to-settle"') :].encode())
    assert said.count("Horn button") == 2
    assert reason not in said
    assert 'href="/owner/figures/holds/"' in html
    assert reason in text(office.get("/owner/figures/holds/").content)


@pytest.mark.parametrize("address", ["/owner/", "/owner/figures/late/"])
def test_only_the_owner_gets_in_and_only_to_read(client: Client, oz: User, address: str) -> None:
    assert client.get(address).status_code == 302
    for role in ("counter", "backroom"):
        client.force_login(make_user(role))
        assert client.get(address).status_code == 403
    client.force_login(oz)
    assert client.post(address).status_code == 405


def test_a_hold_in_the_list_says_who_asks_and_the_day_under_their_own_head(
    office: Client, oz: User
) -> None:
    piece = piece_at(ticket_of(oz), 1)
    tracking.hold(piece.code, "brass zip?", oz, date(2026, 6, 18), act(oz))
    page = text(office.get("/owner/figures/holds/").content)
    assert "Question Asks again Number" in page
    assert "brass zip? Test Owner Thu 18 Jun" in page


def test_a_share_of_nothing_is_not_said(office: Client) -> None:
    html = office.get("/owner/").content.decode()
    for says in ("no ticket ready yet", "none inspected yet", "none worked on yet"):
        assert says in html
    assert "0 of 0" not in html
    assert "9 of 10 within" not in html
