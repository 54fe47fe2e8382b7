"""What must hold before a load may change, and the figures that follow its pieces."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from django.utils.translation import gettext as _

from tickets.choices import PieceState, Station
from tickets.errors import Refused
from tickets.loads import estimates, waiting, wording
from tickets.loads.runs import Run
from tickets.loads.together import programme_for, why_not_run
from tickets.models import Load, LoadPiece, Machine, Piece, Programme
from tickets.models.machines import IN_MACHINE, LoadState
from tickets.shop import partners
from tickets.shop.machine_facts import MachineFacts
from tickets.shop.machines import washer_spin_g
from tickets.shop.queries import read_machinery
from tickets.tracking import queries
from tickets.tracking.refusals import refuse_not_here
from tickets.tracking.wording import say_where


def must_be(load: Load, state: LoadState) -> None:
    if load.state != state:
        raise Refused(
            "wrong_state",
            _("%(title)s is: %(now)s.")
            % {"title": wording.title(load), "now": wording.state_words(load)},
            wording.next_words(load),
        )


def open_load_of(piece: Piece) -> Load | None:
    """The load or bag that a piece belongs to now."""
    return open_load_with(piece.code)


def open_load_with(code: str) -> Load | None:
    """The load or bag that the piece with these ten digits belongs to now."""
    rows = LoadPiece.objects.select_related("load__machine", "load__partner")
    row = rows.filter(piece__code=code, left_at__isnull=True).first()
    return row.load if row else None


def must_be_free(piece: Piece, load: Load) -> None:
    """The piece waits at the load's station and is in no open load."""
    if piece.station != load.station or piece.state != PieceState.WAITING:
        refuse_not_here(piece, Station(load.station))
    if (other := open_load_of(piece)) is not None:
        words = (
            _("%(piece)s is in bag %(load)d, %(holder)s.")
            if other.is_bag
            else _("%(piece)s is in load %(load)d, %(holder)s.")
        )
        raise Refused(
            "in_a_load",
            words % {"piece": piece.spoken, "load": other.pk, "holder": other.holder.name},
            _("Take it off there first."),
        )
    if load.partner is not None:
        partners.must_take(load.partner, piece)


def must_all_wait(load: Load, pieces: Sequence[Piece]) -> None:
    gone = [p for p in pieces if p.station != load.station or p.state != PieceState.WAITING]
    if gone:
        raise Refused(
            "left_the_load",
            _("Not waiting here any more: %(pieces)s.")
            % {"pieces": "; ".join(say_where(piece, queries.last_seen(piece)) for piece in gone)},
            _take_off(load),
        )


def _take_off(load: Load) -> str:
    if load.state == LoadState.FILLING:
        return _("Scan the piece at the load to take it off.")
    return _("Undo to filling, then scan the piece at the load to take it off.")


def must_agree(load: Load, pieces: Sequence[Piece]) -> None:
    """A decision made again, or a machine changed, may have parted what was put together."""
    if load.partner is not None:
        for piece in pieces:
            partners.must_take(load.partner, piece)
    wanted = [waiting.load_piece(each, Station(load.station)) for each in pieces]
    if why := why_not_run(wanted, drum_of_load(load)):
        raise Refused("not_together", why, _take_off(load))


def must_be_empty(machine: Machine) -> None:
    held = Load.objects.filter(machine=machine, state__in=IN_MACHINE).first()
    if held is None:
        return
    named = ", ".join(piece.spoken for piece in waiting.inside(held))
    raise Refused(
        "machine_busy",
        _("%(machine)s is not free: load %(load)d, %(state)s. In the drum: %(pieces)s.")
        % {
            "machine": machine.name,
            "load": held.pk,
            "state": wording.state_words(held),
            "pieces": named,
        },
        _("Count that load out first."),
    )


def drum_of_load(load: Load) -> MachineFacts:
    """The load's machine, or its bag, as the planner sees it."""
    if load.machine is None:
        assert load.partner is not None  # the table holds exactly one
        return partners.bag_of(load.partner)
    found = read_machinery(Station(load.station), load.opened_at).facts_of(load.machine)
    if found is None:
        raise Refused(
            "no_programme",
            _("%(machine)s has no programme in use.") % {"machine": load.machine.name},
            _("Ask the owner to set one on the page of machines."),
        )
    return found


def refigure(load: Load) -> None:
    """Programme and estimates follow the pieces."""
    pieces = waiting.still_planned(waiting.inside(load), Station(load.station))
    drum = drum_of_load(load)
    programme = programme_for(pieces, drum) if pieces else None
    load.programme, load.grams, load.fill_percent, load.minutes = None, 0, 0, 0
    load.water_litres = load.energy_kwh = Decimal(0)
    if programme is not None:
        load.grams = sum(piece.grams for piece in pieces)
        load.fill_percent = round(100 * Run(drum, programme, tuple(pieces), 0, 0).fill)
    if programme is not None and load.machine is not None:
        load.programme = Programme.objects.get(kind=load.machine.kind, key=programme.key)
        sums = estimates.run_sums(
            pieces,
            programme,
            drum.litres,
            heat_pump=load.machine.heat_pump,
            gas=load.machine.gas,
            spin_g=washer_spin_g(Machine.objects.all()),
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
