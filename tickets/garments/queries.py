"""Customers by a part of name or phone; their garments at visit after visit, and the washes."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from django.db import connection
from django.db.models import QuerySet
from django.utils.translation import gettext as _

from tickets.choices import CLOSED_STATES, MoveKind
from tickets.errors import Refused
from tickets.garments.customers import FEWEST_DIGITS, enough_letters, words_of
from tickets.garments.returning import OFFERED, Garment
from tickets.garments.washes import CLEANING, WashCount, cleans, is_counted
from tickets.garments.wording import right_garment
from tickets.models import Customer, CustomerWord, Move, Piece, RouteStep


def garments_of(customer: Customer, most: int = OFFERED) -> list[Garment]:
    """Garments of a customer that have left the shop, each at its latest visit, newest first."""
    latest = (
        Piece.objects.filter(ticket__customer=customer, state__in=CLOSED_STATES, later__isnull=True)
        .select_related("ticket")
        .order_by("-ticket__opened_at", "-ticket_id", "position")[:most]
    )
    return _garments(latest)


def garments_by_code(codes: Iterable[str]) -> dict[str, Garment]:
    """Garments by the numbers of their pieces; a number that is not known is left out."""
    wanted = [code for code in codes if code]
    if not wanted:
        return {}
    pieces = Piece.objects.filter(code__in=wanted).select_related("ticket", "later")
    return {garment.piece.code: garment for garment in _garments(pieces)}


def _garments(pieces: Iterable[Piece]) -> list[Garment]:
    rows = list(pieces)
    counts = wash_counts(rows)
    return [Garment(piece, counts[piece.pk]) for piece in rows]


def must_come_again(customer: Customer, earlier: Sequence[Piece | None]) -> None:
    """Refuse an earlier piece that can't be the same garment; ``earlier`` is by position.

    It must be this customer's, have left the shop, and not have come again on another piece.
    """
    taken: set[int] = set()
    for position, piece in enumerate(earlier, 1):
        if piece is None:
            continue
        names = {"position": position, "piece": piece.spoken}
        cure = right_garment()
        if piece.ticket.customer_id != customer.pk:
            raise Refused(
                "other_customer",
                _("Piece %(position)d: %(piece)s belongs to another customer.") % names,
                cure,
            )
        if piece.is_open:
            raise Refused(
                "still_here",
                _("Piece %(position)d: %(piece)s is still here, at %(station)s.")
                % {**names, "station": piece.get_station_display()},
                _("Hand it over first, or add this garment as a new one."),
            )
        again = Piece.objects.filter(earlier=piece).first()
        if again is not None:
            raise Refused(
                "came_again",
                _("Piece %(position)d: %(piece)s came again already, as %(again)s.")
                % {**names, "again": again.spoken},
                cure,
            )
        if piece.pk in taken:
            raise Refused(
                "same_garment",
                _("Piece %(position)d: %(piece)s stands on this ticket already.") % names,
                cure,
            )
        taken.add(piece.pk)


def wash_counts(pieces: Iterable[Piece]) -> dict[int, WashCount]:
    """Washes of each piece's garment up to now, by the piece's key: three queries for any number.

    What was told of every visit counts, since a garment may be washed elsewhere between two; the
    label's count is the latest one known.
    """
    chains = _chains([piece.pk for piece in pieces])
    every = {pk for chain in chains.values() for pk, _before, _allowed in chain}
    here = _washed_here(every)
    counts = {}
    for start, chain in chains.items():
        counts[start] = WashCount(
            done=sum(here.get(pk, 0) + (before or 0) for pk, before, _allowed in chain),
            allowed=next((allowed for _pk, _before, allowed in chain if allowed), None),
            told=chain[-1][1] is not None,
        )
    return counts


def counted_washes(pieces: Iterable[Piece]) -> dict[int, WashCount]:
    """As ``wash_counts``, of those pieces alone whose care decision wants them counted."""
    return wash_counts([piece for piece in pieces if is_counted(piece.care_decision)])


def wash_count(piece: Piece) -> WashCount:
    """Washes of one piece's garment up to now."""
    return wash_counts([piece])[piece.pk]


def _chains(starts: Sequence[int]) -> dict[int, list[tuple[int, int | None, int | None]]]:
    """For each piece its chain, itself first: (key, washes told, washes its label certifies)."""
    if not starts:
        return {}
    table = connection.ops.quote_name(Piece._meta.db_table)
    marks = ", ".join(["%s"] * len(starts))
    # A chain has any number of visits; only a recursive query finds all of them at once.
    query = f"""
        WITH RECURSIVE chain(start, piece, visit) AS (
            SELECT id, id, 0 FROM {table} WHERE id IN ({marks})
            UNION ALL
            SELECT chain.start, p.earlier_id, chain.visit + 1
            FROM chain JOIN {table} p ON p.id = chain.piece
            WHERE p.earlier_id IS NOT NULL
        )
        SELECT chain.start, p.id, p.washes_before, p.washes_allowed
        FROM chain JOIN {table} p ON p.id = chain.piece
        ORDER BY chain.start, chain.visit
    """  # noqa: S608 - the table's own name and one mark for each value
    chains: dict[int, list[tuple[int, int | None, int | None]]] = {}
    with connection.cursor() as cursor:
        cursor.execute(query, list(starts))
        for start, *visit in cursor.fetchall():
            chains.setdefault(start, []).append((visit[0], visit[1], visit[2]))
    return chains


def _washed_here(pieces: Iterable[int]) -> dict[int, int]:
    """How often each piece was cleaned here, by the moves that say so."""
    cleaning = {
        (piece, order, station)
        for piece, order, station, step, settings in RouteStep.objects.filter(
            piece__in=pieces, station__in=CLEANING
        ).values_list("piece_id", "order", "station", "step", "settings")
        if cleans(step, settings)
    }
    done: dict[int, int] = {}
    moves = Move.objects.filter(
        piece__in=pieces, kind=MoveKind.WORKED, from_station__in=CLEANING
    ).values_list("piece_id", "from_station", "steps")
    for piece, station, orders in moves:
        times = sum((piece, order, station) in cleaning for order in orders)
        done[piece] = done.get(piece, 0) + times
    return done


# Customers


def find_customers(query: str, limit: int | None = 20) -> QuerySet[Customer]:
    """Customers by the last digits of the phone, or by the start of any words of the name.

    Three digits or two letters are needed, one where it is a Han or Kana sign; less finds nobody
    rather than everybody.
    """
    digits = re.sub(r"\D", "", query)
    if digits and not re.search(r"[^\W\d_]", query):
        if len(digits) < FEWEST_DIGITS:
            return Customer.objects.none()
        digits = digits.lstrip("0") if len(digits) >= 9 else digits
        tail = digits[::-1]
        people = Customer.objects.filter(
            phone_reversed__gte=tail, phone_reversed__lt=tail + "\U0010ffff"
        )
        return people.order_by("name", "pk")[:limit]
    words = words_of(query)
    if not enough_letters(words):
        return Customer.objects.none()
    people = Customer.objects.all()
    for word in words:
        # A range uses the index on every database; "starts with" would scan on SQLite.
        matching = CustomerWord.objects.filter(word__gte=word, word__lt=word + "\U0010ffff")
        people = people.filter(pk__in=matching.values("customer_id"))
    return people.order_by("name", "pk")[:limit]
