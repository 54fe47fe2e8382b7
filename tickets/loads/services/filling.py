"""A load or bag is opened, and pieces are put into it and taken off it."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.translation import gettext as _

from tickets.acting import Act
from tickets.choices import Station
from tickets.errors import Kind, Refused
from tickets.loads import queries, wording
from tickets.loads.planned_pieces import load_piece
from tickets.loads.refusals import Drops, must_be, must_be_free
from tickets.loads.services.booking import (
    Booked,
    booked_before,
    lock_load,
    note_event,
    refigure,
    take_out,
)
from tickets.loads.together import effect_of_adding, programme_for, why_not_run
from tickets.models import Load, LoadPiece, Machine, Partner, Piece
from tickets.models.machines import NO_DRUM, LeftHow, LoadEventKind, LoadState
from tickets.shop.machines import station_of
from tickets.tracking.services import lock_piece
from tickets.writing import atomic_write


def open_load(machine_pk: int, codes: Sequence[str], act: Act) -> Booked:
    """Open a load for a machine with these pieces, or an empty one."""
    with atomic_write():
        pieces = [lock_piece(code) for code in sorted(set(codes))]
        if known := booked_before(act):
            return known
        machine = (
            Machine.objects.select_for_update()
            .filter(pk=machine_pk, in_use=True)
            .exclude(kind__in=NO_DRUM)
            .first()
        )
        if machine is None:
            raise Refused(
                "unknown_machine",
                _("There is no such machine in use."),
                _("Choose one that the page of loads shows."),
                kind=Kind.NOT_FOUND,
            )
        load = Load(machine=machine, station=station_of(machine.kind), opened_at=act.at)
        return _opened(load, pieces, act)


def open_bag(partner_pk: int, codes: Sequence[str], act: Act) -> Booked:
    """Open a bag for a partner with these pieces, or an empty one."""
    with atomic_write():
        pieces = [lock_piece(code) for code in sorted(set(codes))]
        if known := booked_before(act):
            return known
        partner = Partner.objects.select_for_update().filter(pk=partner_pk, in_use=True).first()
        if partner is None:
            raise Refused(
                "unknown_partner",
                _("There is no such partner in use."),
                _("Choose one that the page of bags shows."),
                kind=Kind.NOT_FOUND,
            )
        return _opened(
            Load(partner=partner, station=Station.SEND_OUT, opened_at=act.at), pieces, act
        )


def _opened(load: Load, pieces: Sequence[Piece], act: Act) -> Booked:
    wanted = []
    for piece in pieces:
        must_be_free(piece, load)
        wanted.append(load_piece(piece, Station(load.station)))
    if wanted and (why := why_not_run(wanted, queries.drum_of_load(load))):
        raise Refused("not_together", why, _("Look at the proposals again."))
    load.save()
    LoadPiece.objects.bulk_create(
        LoadPiece(load=load, piece=piece, in_at=act.at) for piece in pieces
    )
    refigure(load)
    return Booked(load, note_event(load, LoadEventKind.OPENED, act))


def add(load_pk: int, code: str, act: Act, agreed: str = "") -> Booked:
    """Count a piece in. Raises ``Drops`` unless ``agreed`` names the programme this leads to."""
    with atomic_write():
        piece, load = lock_piece(code), lock_load(load_pk)
        if known := booked_before(act):
            return known
        must_be(load, LoadState.FILLING)
        must_be_free(piece, load)
        station = Station(load.station)
        there = [load_piece(inside, station) for inside in queries.inside(load)]
        new, machine = load_piece(piece, station), queries.drum_of_load(load)
        effect = effect_of_adding(there, new, machine)
        if not effect.may:
            raise Refused(
                "not_together",
                _("%(piece)s may not go into this load. %(why)s")
                % {"piece": piece.spoken, "why": effect.says},
                _("Leave it for another load."),
            )
        before, after = programme_for(there, machine), programme_for([*there, new], machine)
        if there and after != before and after is not None and after.key != agreed:
            raise Drops(f"{piece.spoken}: {effect.says}", wording.add_anyway(), after.key)
        LoadPiece.objects.create(load=load, piece=piece, in_at=act.at)
        refigure(load)
        return Booked(load, note_event(load, LoadEventKind.ADDED, act, piece), effect.steps)


def take_off(load_pk: int, code: str, act: Act) -> Booked:
    """Take a piece out of a load that is still being filled; it waits here as before."""
    with atomic_write():
        piece, load = lock_piece(code), lock_load(load_pk)
        if known := booked_before(act):
            return known
        must_be(load, LoadState.FILLING)
        take_out(load, piece, LeftHow.TAKEN_OFF, act)
        refigure(load)
        return Booked(load, note_event(load, LoadEventKind.TAKEN_OFF, act, piece))
