"""A load that changed since it was closed does not start, and what is out of use takes none."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from django.contrib.auth.models import User
from django.utils import timezone

from tests.building import make_machine
from tests.tickets.floor import act, at_wash, opened, state_of, tender, white
from tickets.errors import Refused
from tickets.loads import services as loadbook
from tickets.models import Load, Machine, Partner, Piece, Programme
from tickets.pieces.services import decide_again
from tickets.tracking import services as tracking

pytestmark = pytest.mark.django_db


@contextmanager
def refused(code: str) -> Iterator[None]:
    with pytest.raises(Refused) as no:
        yield
    assert no.value.code == code


def closed(crew: User, inside: list[Piece]) -> Load:
    return loadbook.close(opened(crew, inside).pk, act(crew)).load


def test_a_load_does_not_start_with_a_piece_put_on_hold_since_it_closed(crew: User) -> None:
    stays, held = at_wash(crew, white(), white())
    load = closed(crew, [stays, held])
    tracking.hold(held.code, "a seam opened", crew, timezone.localdate(), act(crew))
    with pytest.raises(Refused) as no:
        loadbook.start(load.pk, act(crew))
    assert (no.value.code, held.spoken in no.value.says) == ("left_the_load", True)
    assert stays.spoken not in no.value.says
    assert no.value.cure == "Undo to filling, then scan the piece at the load to take it off."
    assert state_of(load) == "closed"


def test_a_load_does_not_start_with_another_programme_than_it_was_closed_with(crew: User) -> None:
    sturdy, read_again = at_wash(crew, white(), white())
    load = closed(crew, [sturdy, read_again])
    decide_again(read_again.code, tender(), "the label says mild", act(crew))
    for piece in (sturdy, read_again):
        piece.refresh_from_db()
    with pytest.raises(Refused) as no:
        loadbook.start(load.pk, act(crew))
    assert (no.value.code, state_of(load)) == ("programme_changed", "closed")
    assert str(Programme.objects.get(key="wool_30")) in no.value.says


def test_a_load_does_not_start_with_what_may_not_share_it_any_more(crew: User) -> None:
    light, read_again = at_wash(crew, white(), white())
    load = closed(crew, [light, read_again])
    decide_again(read_again.code, white(colour="dark"), "it is navy", act(crew))
    with refused("not_together"):
        loadbook.start(load.pk, act(crew))
    assert state_of(load) == "closed"


def test_a_machine_out_of_use_takes_no_load(crew: User) -> None:
    [piece] = at_wash(crew, white())
    machine = make_machine()
    Machine.objects.filter(pk=machine.pk).update(in_use=False)
    with refused("unknown_machine"):
        loadbook.open_load(machine.pk, [piece.code], act(crew))


@pytest.mark.parametrize("kind", ["rail", "flat"])
def test_a_drying_place_takes_no_load(crew: User, kind: str) -> None:
    place = make_machine("Place", kind, 0, most_pieces=9)
    with refused("unknown_machine"):
        loadbook.open_load(place.pk, [], act(crew))


def test_a_partner_out_of_use_takes_no_bag(crew: User) -> None:
    partner = Partner.objects.get()
    assert loadbook.open_bag(partner.pk, [], act(crew)).load.partner == partner
    Partner.objects.update(in_use=False)
    with refused("unknown_partner"):
        loadbook.open_bag(partner.pk, [], act(crew))


def test_a_machine_without_a_programme_in_use_takes_no_load(crew: User) -> None:
    machine = make_machine()
    Programme.objects.filter(kind="washer").update(in_use=False)
    with refused("no_programme"):
        loadbook.open_load(machine.pk, [], act(crew))
