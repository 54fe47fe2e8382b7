"""Customers written together with the words by which they are found."""

from __future__ import annotations

from tickets.garments.customers import checked_customer, words_to_find
from tickets.models import Customer, CustomerWord
from tickets.writing import atomic_write


def save_customer(customer: Customer, *, phone: str, region: str) -> Customer:
    """Write a new or changed customer together with its search words."""
    checked_customer(customer, phone=phone, region=region)
    with atomic_write():
        return store_customer(customer)


def store_customer(customer: Customer) -> Customer:
    """Write a checked customer together with its search words, inside a transaction."""
    words = words_to_find(customer.name)
    is_new = customer._state.adding
    customer.save()
    if not is_new:
        customer.words.exclude(word__in=words).delete()
    CustomerWord.objects.bulk_create(
        [CustomerWord(customer=customer, word=word[:120]) for word in words],
        ignore_conflicts=True,
    )
    return customer
