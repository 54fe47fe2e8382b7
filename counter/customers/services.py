"""Customers of the API: one that is there already is not made twice, and changes of a part."""

from __future__ import annotations

from collections.abc import Mapping

from django.db import transaction

from counter.customers.queries import find_customer, same_in_every_field
from tickets.garments.customers import WRITTEN_FIELDS
from tickets.garments.services import save_customer, store_customer
from tickets.models import Customer
from tickets.writing import atomic_write


def add_once(customer: Customer) -> tuple[Customer, bool]:
    """Write a checked new customer, and True; False with the one that is the same in every field.

    It is written first and looked for then, since two callers may send the same at one time.
    """
    with atomic_write():
        store_customer(customer)
        twin = same_in_every_field(customer)
        if twin is not None:
            transaction.set_rollback(True)
    return (customer, True) if twin is None else (twin, False)


def change_customer(pk: int, changes: Mapping[str, str | bool], region: str) -> Customer:
    """Change the fields that are named; ``region`` is the shop's country. ``Refused`` for none."""
    with atomic_write():
        customer = find_customer(pk, lock=True)
        fields = {"phone": customer.phone, **changes}
        for name in WRITTEN_FIELDS:
            setattr(customer, name, fields.get(name, getattr(customer, name)))
        return save_customer(customer, phone=str(fields["phone"]), region=region)
