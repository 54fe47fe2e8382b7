"""What the owner may change: opening, crews, rack places, prices, people. One door for each."""

from counter.shop.services.price_list import PriceKey, save_prices, save_shop
from counter.shop.services.rack import MOST_PLACES_AT_ONCE, add_places, retire_place
from counter.shop.services.staffing import NewPerson, change_person, take_on
from counter.shop.services.week import (
    DayHours,
    close_on,
    close_on_all,
    open_again,
    set_crews,
    set_hours,
    set_week,
)

__all__ = [
    "MOST_PLACES_AT_ONCE",
    "DayHours",
    "NewPerson",
    "PriceKey",
    "add_places",
    "change_person",
    "close_on",
    "close_on_all",
    "open_again",
    "retire_place",
    "save_prices",
    "save_shop",
    "set_crews",
    "set_hours",
    "set_week",
    "take_on",
]
