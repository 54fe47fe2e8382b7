"""The owner's tables of a busy shop in words, as a person last looked at them.

Addresses and buttons carry keys, which a database counts on, and so are left out.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone
from time_machine import Traveller

from counter.shop import queries
from counter.shop.shop_tables import RowGroup
from counter.shop.wording import table_rows
from tests.approved import assert_approved
from tests.counter.rows import rack, ticket_of
from tests.page_lines import page_lines
from tests.tickets.busy_shop import busy_shop, held_busy_shop
from tickets.models import Machine, Partner, Programme, RackPlace
from tickets.shop.calendar import business_day
from tickets.shop.queries import all_programmes, crews_since, read_calendar

APPROVED = Path(__file__).with_name("approved")


def machines() -> list[RowGroup]:
    return table_rows.machine_groups(list(queries.machines()), list(all_programmes()))


def partners() -> list[RowGroup]:
    return table_rows.partner_groups(queries.partners(), read_calendar(), timezone.now())


def places() -> list[RowGroup]:
    return table_rows.place_groups(queries.places())


def crew_days() -> list[RowGroup]:
    usual = crews_since(business_day()).usual
    return table_rows.crew_day_groups(queries.crew_days_to_come(), usual)


@pytest.mark.parametrize(
    ("name", "groups"),
    [
        ("machines", machines),
        ("partners", partners),
        ("places", places),
        ("crew-days", crew_days),
    ],
)
def test_a_table_is_as_approved(oz: User, name: str, groups: Callable[[], list[RowGroup]]) -> None:
    empty = groups()
    morning = read_calendar().next_open(datetime.fromisoformat("2026-06-17T08:00:00+01:00"))
    busy_shop(oz, morning)
    Machine.objects.filter(name="Washer 2").update(spin_g=450, heat_pump=True, gas=True)
    Machine.objects.get(name="Washer 1").programmes.set(Programme.objects.filter(max_c=40))
    Partner.objects.create(name="Old partner", services=["leather"], in_use=False, days_away=1)
    RackPlace.objects.create(code="Z9", in_use=False)
    rack(ticket_of(oz, 2, stations=("check",)), oz)
    lines = []
    for group in [*empty, *groups()]:
        heading = f"{group.under}, {group.title}" if group.under else group.title
        lines.append(f"{heading}: {[*map(str, group.columns)]}, figures {group.figures}")
        lines.append(
            f"  empty {group.empty}, note {group.note}, folded {group.folded}, side by side "
            f"{group.side_by_side}, adds {group.add and str(group.add[1])}"
        )
        for row in group.rows:
            button = f", button {row.button.says}" if row.button else ""
            lines.append(f"  {row.name} {[*map(str, row.cells)]}, in use {row.in_use}{button}")
    assert_approved(lines, APPROVED / f"{name}.txt")


def test_the_pages_are_as_approved(office: Client, oz: User, clock: Traveller) -> None:
    held_busy_shop(oz, clock)
    washer = Machine.objects.get(name="Washer 1")
    partner, person = Partner.objects.get(), User.objects.get(username="oz")
    pages = ("", "hours", "holidays", "prices", "weights", "staff", "machines", "partners")
    paths = [
        "/shop/",
        *(f"/shop/{page}/" for page in pages if page),
        *("/shop/places/", "/shop/house-rules/", "/plan/crew/"),
        f"/shop/machines/{washer.pk}/",
        "/shop/programmes/washer/new/",
        f"/shop/partners/{partner.pk}/",
        f"/shop/staff/{person.pk}/",
    ]
    shown = [(path, office.get(path).content) for path in paths]
    assert_approved(page_lines(shown), APPROVED / "pages.txt")
