"""Every way of writing a setting counts as a change of its kind, and nothing else does."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, time
from decimal import Decimal

import pytest
from django.apps import apps

from counter.models import PriceItem, Shop
from tests.building import make_shop
from tickets.models import ClosedDay, KindWeight, OpeningHours, RackPlace, Revision, Setting

pytestmark = pytest.mark.django_db


def revisions() -> dict[str, int]:
    return dict(Revision.objects.values_list("name", "number"))


def add_price() -> None:
    PriceItem.objects.create(service="press", amount=Decimal(3))


def change_price() -> None:
    price = PriceItem.objects.get(service="clean")
    price.amount += 1
    price.save()


def drop_price() -> None:
    PriceItem.objects.get(service="clean").delete()


def close_two_days() -> None:
    ClosedDay.objects.bulk_create([ClosedDay(day=date(2026, 12, day)) for day in (25, 26)])


def open_earlier() -> None:
    OpeningHours.objects.filter(weekday=0).update(opens=time(7))


def close_mondays() -> None:
    OpeningHours.objects.filter(weekday=0).delete()


def open_all_later() -> None:
    days = list(OpeningHours.objects.all())
    for hours in days:
        hours.opens = time(9)
    OpeningHours.objects.bulk_update(days, ["opens"])


def weigh() -> None:
    KindWeight.objects.update_or_create(kind="other", defaults={"grams": 300})


def rename_shop() -> None:
    Shop.objects.update_or_create(pk=1, defaults={"name": "Other"})


@pytest.mark.parametrize(
    ("change", "kind"),
    [
        (add_price, "prices"),
        (change_price, "prices"),
        (drop_price, "prices"),
        (close_two_days, "hours"),
        (open_earlier, "hours"),
        (close_mondays, "hours"),
        (open_all_later, "hours"),
        (weigh, "weights"),
        (rename_shop, "shop"),
    ],
)
def test_a_change_of_settings_is_counted_under_its_kind(
    change: Callable[[], None], kind: str
) -> None:
    make_shop()
    before = revisions()
    change()
    after = revisions()
    assert {name for name in after if after[name] != before.get(name)} == {kind}
    assert after[kind] > before.get(kind, 0)


def test_what_no_decision_hangs_on_is_not_counted() -> None:
    make_shop()
    before = revisions()
    RackPlace.objects.create(code="Z9")
    assert revisions() == before


def test_every_table_that_the_owner_sets_names_its_kind() -> None:
    kinds = {
        model.__name__: model.revision for model in apps.get_models() if issubclass(model, Setting)
    }
    assert kinds == {
        "ClosedDay": "hours",
        "CrewDay": "crews",
        "HouseRule": "rules",
        "KindWeight": "weights",
        "Machine": "machines",
        "OpeningHours": "hours",
        "Partner": "partners",
        "PriceItem": "prices",
        "Programme": "machines",
        "Shop": "shop",
        "StationCrew": "crews",
    }
