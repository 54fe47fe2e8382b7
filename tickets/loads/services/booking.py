"""What every change of a load is made of: the lock, the one-time key, the event, the figures."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext as _

from tickets.acting import Act
from tickets.choices import Station
from tickets.errors import Kind, Refused
from tickets.loads import estimates, queries
from tickets.loads.planned_pieces import still_planned
from tickets.loads.runs import Run
from tickets.loads.together import programme_for
from tickets.models import Load, LoadEvent, LoadPiece, Piece
from tickets.models.machines import LeftHow, LoadEventKind


@dataclass(frozen=True)
class Booked:
    """Result of a change. ``repeated`` means the key was known and nothing new was written."""

    load: Load
    event: LoadEvent
    steps: tuple[str, ...] = ()
    repeated: bool = False


def lock_load(pk: int) -> Load:
    rows = Load.objects.select_for_update(of=("self",)).select_related("machine", "partner")
    load = rows.filter(pk=pk).first()
    if load is None:
        raise Refused(
            "unknown_load",
            _("There is no load %(load)d.") % {"load": pk},
            _("Choose one on the page of loads."),
            kind=Kind.NOT_FOUND,
        )
    return load


def booked_before(act: Act) -> Booked | None:
    if act.client_key is None:
        return None
    event = queries.event_under(act.client_key)
    return Booked(event.load, event, repeated=True) if event else None


def note_event(load: Load, kind: LoadEventKind, act: Act, piece: Piece | None = None) -> LoadEvent:
    return LoadEvent.objects.create(
        load=load,
        kind=kind,
        piece=piece,
        at=act.at,
        by=act.by,
        device=act.device,
        client_key=act.client_key,
    )


def take_out(load: Load, piece: Piece, how: LeftHow, act: Act) -> None:
    rows = LoadPiece.objects.filter(load=load, piece=piece)
    if rows.filter(left_at__isnull=True).update(left_at=act.at, how=how):
        return
    if rows.filter(how=LeftHow.COUNTED_OUT).exists():
        raise Refused(
            "counted_already",
            _("%(piece)s is counted out already.") % {"piece": piece.spoken},
            _("Scan the next piece."),
        )
    raise Refused(
        "not_in_load",
        _("%(piece)s was not counted into load %(load)d.")
        % {"piece": piece.spoken, "load": load.pk},
        _("Put it aside, look at its page, and say who put it in.")
        if load.is_bag
        else _("Put it aside, look at its page, and say who put it into the drum."),
    )


def refigure(load: Load) -> None:
    """Programme and estimates follow the pieces."""
    pieces = still_planned(queries.inside(load), Station(load.station))
    drum = queries.drum_of_load(load)
    programme = programme_for(pieces, drum) if pieces else None
    load.programme, load.grams, load.fill_percent, load.minutes = None, 0, 0, 0
    load.water_litres = load.energy_kwh = Decimal(0)
    if programme is not None:
        load.grams = sum(piece.grams for piece in pieces)
        load.fill_percent = round(100 * Run(drum, programme, tuple(pieces), 0, 0).fill)
    if programme is not None and load.machine is not None:
        load.programme = queries.programme_of(load.machine, programme.key)
        sums = estimates.run_sums(
            pieces,
            programme,
            drum.litres,
            heat_pump=load.machine.heat_pump,
            gas=load.machine.gas,
            spin_g=queries.shop_spin_g(),
        )
        load.minutes = sums.minutes
        load.water_litres = Decimal(str(round(sums.water_l, 1)))
        load.energy_kwh = Decimal(str(round(sums.energy_kwh, 2)))
    load.save(
        update_fields=[
            "programme",
            "grams",
            "fill_percent",
            "minutes",
            "water_litres",
            "energy_kwh",
        ]
    )
