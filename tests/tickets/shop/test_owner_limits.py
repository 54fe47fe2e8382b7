"""Numbers out of their limits on the owner's pages: the sentence names the value and the cure."""

from __future__ import annotations

import pytest
from django.test import Client

from tests import building
from tickets.models import Machine, Partner, Programme

MACHINE = {
    "name": "New",
    "kind": "washer",
    "litres": "60",
    "spin_g": "0",
    "turnaround": "10",
    "most_pieces": "0",
    "in_use": "on",
}


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"litres": "0"}, "0 is too little. Write a number greater than or equal to 1."),
        ({"litres": "9000"}, "9000 is too much. Write a number less than or equal to 5000."),
        (
            {"litres": "", "rated_kg": "-3"},
            "-3 is too little. Write a number greater than or equal to 0.1.",
        ),
        ({"spin_g": "-1"}, "-1 is too little. Write a number greater than or equal to 0."),
        ({"spin_g": "5000"}, "5000 is too much. Write a number less than or equal to 1000."),
        ({"turnaround": "999"}, "999 is too much. Write a number less than or equal to 240."),
    ],
)
def test_a_machine_out_of_its_limits(boss: Client, changes: dict[str, str], says: str) -> None:
    answer = boss.post("/shop/machines/", {**MACHINE, **changes})
    assert answer.status_code == 422
    assert answer.content.decode().count(says) == 1
    assert not Machine.objects.exists()


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"minutes": "-5"}, "-5 is too little. Write a number greater than or equal to 1."),
        ({"minutes": "0"}, "0 is too little. Write a number greater than or equal to 1."),
        ({"minutes": "601"}, "601 is too much. Write a number less than or equal to 600."),
        ({"litres_per_kg": "0"}, "0 is too little. Write a number greater than or equal to 5."),
        ({"max_c": "200"}, "200 is too much. Write a number less than or equal to 95."),
    ],
)
def test_a_programme_out_of_its_limits(boss: Client, changes: dict[str, str], says: str) -> None:
    building.make_machine()
    row = Programme.objects.get(key="cotton_60")
    sent = {
        "name": row.name,
        "max_c": "60",
        "action": "normal",
        "spin": "normal",
        "minutes": "50",
        "litres_per_kg": "10",
        "in_use": "on",
    }
    answer = boss.post(f"/shop/programmes/{row.pk}/", {**sent, **changes})
    assert answer.status_code == 422
    assert answer.content.decode().count(says) == 1
    row.refresh_from_db()
    assert (row.minutes, row.max_c) == (55, 60)


def test_a_partner_out_of_its_limits(boss: Client) -> None:
    before = Partner.objects.count()
    sent = {
        "name": "Rowan",
        "services": ["leather"],
        "collect_at": "12:00",
        "days_away": "61",
        "return_at": "16:00",
        "in_use": "on",
    }
    answer = boss.post("/shop/partners/", sent)
    assert answer.status_code == 422
    assert "61 is too much. Write a number less than or equal to 60." in answer.content.decode()
    assert Partner.objects.count() == before
