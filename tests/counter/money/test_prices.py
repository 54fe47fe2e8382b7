"""Quotes: a line for each service, and nothing free by accident. Sums worked out by hand."""

from __future__ import annotations

from decimal import Decimal

import pytest

from counter.models import PriceItem, Shop
from counter.money.amounts import format_money, parse_money
from counter.money.prices import quote
from tests.building import jumper, shirt, trousers
from tickets.errors import Refused

pytestmark = pytest.mark.django_db


def price(service: str, amount: str, **which: str) -> None:
    PriceItem.objects.create(service=service, amount=Decimal(amount), **which)


def lines(shop: Shop, *pieces: dict[str, object], **options: object) -> list[tuple[object, ...]]:
    asked = quote(pieces, shop=shop, **options)  # type: ignore[arg-type]
    return [(line.position, line.text, line.amount) for line in asked.lines]


def test_the_kinds_own_price_comes_before_the_price_for_any_kind() -> None:
    price("clean", "6.00")
    price("clean", "3.50", kind="shirt_cotton")
    assert lines(Shop(), shirt(), jumper()) == [
        (1, "Clean and press", Decimal("3.50")),
        (2, "Clean and press", Decimal("6.00")),
    ]


def test_pressing_is_charged_only_where_nothing_is_cleaned() -> None:
    price("clean", "6.00")
    price("press", "2.50")
    assert lines(Shop(), jumper(services=["press"]), jumper(services=["clean", "press"])) == [
        (1, "Press only", Decimal("2.50")),
        (2, "Clean and press", Decimal("6.00")),
    ]


def test_the_line_says_what_was_asked_at_the_same_price() -> None:
    price("clean", "6.00")
    asked = lines(Shop(), jumper(services=["clean"]), jumper(services=["press", "clean"]))
    assert asked == [(1, "Clean", Decimal("6.00")), (2, "Clean and press", Decimal("6.00"))]


def test_each_operation_is_a_line_under_its_trade_name() -> None:
    price("press", "2.50")
    price("alter", "14.00", work="trouser_hem_plain")
    price("mend", "3.00", work="button_replace")
    worked = trousers(work=["trouser_hem_plain", "button_replace"])
    assert lines(Shop(), worked) == [
        (1, "Press only", Decimal("2.50")),
        (1, "Shorten trousers, plain hem", Decimal("14.00")),
        (1, "Replace a missing or loose button", Decimal("3.00")),
    ]


@pytest.mark.parametrize("services", [("mend", "alter"), ("alter", "mend")])
def test_an_operation_under_two_services_costs_the_dearer(services: tuple[str, str]) -> None:
    price("press", "2.50")
    for service, amount in zip(services, ("9.00", "14.00"), strict=True):
        price(service, amount, work="trouser_hem_plain")
    assert lines(Shop(), trousers(work=["trouser_hem_plain"]))[1:] == [
        (1, "Shorten trousers, plain hem", Decimal("14.00"))
    ]
    PriceItem.objects.filter(service=services[0]).update(amount=Decimal("20.00"))
    assert lines(Shop(), trousers(work=["trouser_hem_plain"]))[1][2] == Decimal("20.00")


def test_a_service_without_a_price_is_missing_and_never_free() -> None:
    asked = quote([trousers()], shop=Shop())
    assert [line.text for line in asked.missing] == ["Press only", "Shorten trousers, plain hem"]
    assert asked.total == 0


def test_a_typed_price_fills_a_gap_but_never_beats_the_list() -> None:
    price("clean", "6.00")
    typed = [{"clean": Decimal("1.00"), "work/button_replace": Decimal("4.50")}]
    piece = jumper(services=["clean", "mend"], work=["button_replace"])
    asked = quote([piece], shop=Shop(), typed=typed)
    assert [(line.amount, line.typed) for line in asked.lines] == [
        (Decimal("6.00"), False),
        (Decimal("4.50"), True),
    ]


def test_rush_is_a_share_of_the_sum_and_the_minimum_charge_fills_up_the_rest() -> None:
    price("clean", "3.33")
    shop = Shop(rush_percent=50, minimum_charge=Decimal("8.00"))
    # 3.33 / 2 = 1.665, which rounds to 1.67; 8.00 - 3.33 - 1.67 = 3.00.
    assert lines(shop, jumper(), rush=True) == [
        (1, "Clean and press", Decimal("3.33")),
        (None, "Rush, 50 %", Decimal("1.67")),
        (None, "Up to the minimum charge", Decimal("3.00")),
    ]
    assert quote([jumper()], shop=shop, rush=True).total == Decimal("8.00")


@pytest.mark.parametrize(("least", "more"), [("6.00", []), ("6.01", [Decimal("0.01")])])
def test_the_minimum_charge_is_no_line_where_the_sum_reaches_it(
    least: str, more: list[Decimal]
) -> None:
    price("clean", "6.00")
    asked = lines(Shop(minimum_charge=Decimal(least)), jumper())
    assert [amount for _position, _text, amount in asked] == [Decimal("6.00"), *more]


def test_mending_without_a_named_operation_has_the_price_of_its_service() -> None:
    price("mend", "4.00")
    asked = lines(Shop(), jumper(services=["mend", "alter"]))
    assert asked == [(1, "Mend", Decimal("4.00")), (1, "Alter", None)]


def test_a_draft_without_pieces_costs_nothing() -> None:
    assert lines(Shop(minimum_charge=Decimal("8.00"))) == []


@pytest.mark.parametrize(
    ("amount", "currency", "sign", "shown"),
    [
        ("1234.5", "GBP", "£", "£1,234.50"),
        ("-3", "GBP", "£", "−£3.00"),
        ("12", "SEK", "kr", "12.00\N{NO-BREAK SPACE}kr"),
        ("1250", "JPY", "¥", "¥1,250"),  # ISO 4217: the yen has no minor unit
    ],
)
def test_amounts_read_as_people_write_them(
    amount: str, currency: str, sign: str, shown: str
) -> None:
    shop = Shop(currency=currency, currency_sign=sign)
    assert format_money(Decimal(amount), shop) == shown


@pytest.mark.parametrize("text", ["12,50", "12.50", "£12.50", " 12.5 "])
def test_a_typed_amount_is_read_with_comma_or_point(text: str) -> None:
    assert parse_money(text, Shop(), "Price") == Decimal("12.50")


@pytest.mark.parametrize("text", ["", "twelve", "-1", "1.234", "NaN", "Infinity"])
def test_what_is_no_amount_is_named(text: str) -> None:
    with pytest.raises(Refused) as refusal:
        parse_money(text, Shop(), "Price")
    assert refusal.value.says == f"Price: {text} is not an amount."


@pytest.mark.parametrize("text", ["1e9", "100000", "£100000.00"])
def test_more_than_anything_costs_is_told_the_most(text: str) -> None:
    with pytest.raises(Refused) as refusal:
        parse_money(text, Shop(), "Price")
    assert refusal.value.says == f"Price: {text} is too much."
    assert refusal.value.cure == "Write at most £99,999.99."
