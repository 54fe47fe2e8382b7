"""What the pages of a long list ask the database, whatever rows it has."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.db.models import Q, QuerySet


def counted_up_to(rows: QuerySet[Any], most: int) -> int:
    """How many rows a list has, or ``most`` where it has that many or more."""
    return rows.order_by().values("pk")[:most].count()


def order_of(rows: QuerySet[Any]) -> list[tuple[str, bool]]:
    """The fields a list is ordered by, the last of them unique, and whether each falls."""
    names = [str(name) for name in rows.query.order_by]
    return [(name.lstrip("-"), name.startswith("-")) for name in names]


def rows_after(rows: QuerySet[Any], values: Sequence[object]) -> QuerySet[Any]:
    """The rows of a list behind the one with these values in the fields of its order.

    The first field is narrowed to a range, which an index serves; rows that share its value are
    then told apart by those that follow.
    """
    order = order_of(rows)
    first, falls = order[0]
    behind, same = Q(), Q()
    for (name, down), value in zip(order, values, strict=True):
        behind |= same & Q(**{f"{name}__{'lt' if down else 'gt'}": value})
        same &= Q(**{name: value})
    return rows.filter(Q(**{f"{first}__{'lte' if falls else 'gte'}": values[0]}) & behind)
