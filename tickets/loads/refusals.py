"""What must hold before a load may change: raised with what stands against it, and the cure."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.translation import gettext as _

from tickets.choices import PieceState, Station
from tickets.errors import Refused
from tickets.loads import queries, wording
from tickets.loads.planned_pieces import load_piece
from tickets.loads.together import why_not_run
from tickets.models import Load, Machine, Piece
from tickets.models.machines import LoadState
from tickets.shop import partners
from tickets.tracking.queries import last_seen
from tickets.tracking.refusals import refuse_not_here
from tickets.tracking.wording import say_where


class Drops(Refused):
    """Adding the piece would change the load's programme; ``programme`` is the key to agree to."""

    def __init__(self, says: str, cure: str, programme: str) -> None:
        super().__init__("drops_programme", says, cure)
        self.programme = programme


def must_be(load: Load, state: LoadState) -> None:
    if load.state != state:
        raise Refused(
            "wrong_state",
            _("%(title)s is: %(now)s.")
            % {"title": wording.title(load), "now": wording.state_words(load)},
            wording.next_words(load),
        )


def must_be_free(piece: Piece, load: Load) -> None:
    """The piece waits at the load's station and is in no open load."""
    if piece.station != load.station or piece.state != PieceState.WAITING:
        refuse_not_here(piece, Station(load.station))
    if (other := queries.open_load_with(piece.code)) is not None:
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
            % {"pieces": "; ".join(say_where(piece, last_seen(piece)) for piece in gone)},
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
    wanted = [load_piece(other, Station(load.station)) for other in pieces]
    if why := why_not_run(wanted, queries.drum_of_load(load)):
        raise Refused("not_together", why, _take_off(load))


def must_be_empty(machine: Machine) -> None:
    held = queries.load_in_drum(machine)
    if held is None:
        return
    named = ", ".join(piece.spoken for piece in queries.inside(held))
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
