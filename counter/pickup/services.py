"""Pickup: scan out the pieces, settle the balance, hand over, once and for all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from counter.models import Pickup, PickupPiece, Shop
from counter.money.amounts import format_money
from counter.money.card_numbers import refuse_card_number
from counter.money.queries import balance
from counter.pickup import wording
from counter.pickup.queries import CountedOut, counted_out, has_others, pickup_begun, pickups_done
from tickets import numbers
from tickets.acting import Act
from tickets.errors import Kind, Refused
from tickets.models import Piece, Ticket
from tickets.scanning.lines import number_of, read_line
from tickets.tracking import services as tracking
from tickets.tracking.queries import find_ticket
from tickets.tracking.refusals import refuse_hand_over
from tickets.writing import atomic_write


@dataclass(frozen=True)
class ScannedOut:
    """``repeated`` means the piece lay on the counter already and nothing new was written."""

    piece: Piece
    repeated: bool = False


def scan(ticket_number: int, code: str, act: Act) -> ScannedOut:
    """Lay a piece on the counter for this ticket's pickup; refuses what may not leave."""
    piece_code = _piece_code(ticket_number, code)
    with atomic_write():
        ticket = tracking.lock_ticket(ticket_number)
        piece = _piece(piece_code)
        refuse_hand_over(piece, ticket_number)
        pickup, _made = Pickup.objects.get_or_create(
            ticket=ticket,
            done_at=None,
            defaults={"started_at": act.at, "started_by": act.by},
        )
        _row, created = PickupPiece.objects.get_or_create(
            pickup=pickup, piece=piece, defaults={"at": act.at}
        )
    return ScannedOut(piece, repeated=not created)


def unscan(ticket_number: int, code: str) -> Piece:
    """Take a piece off the counter again; taking it off twice is the same as once."""
    piece_code = _piece_code(ticket_number, code)
    with atomic_write():
        tracking.lock_ticket(ticket_number)
        piece = _piece(piece_code)
        PickupPiece.objects.filter(
            piece=piece, pickup__ticket__number=ticket_number, pickup__done_at__isnull=True
        ).delete()
    return piece


def hand_over(
    pickup_id: int,
    collector: str,
    proof: str,
    act: Act,
    *,
    owed_reason: str = "",
    part_of: int = 0,
) -> Pickup:
    """All scanned pieces leave the shop in one transaction; a done pickup is returned unchanged.

    ``part_of`` is how many open pieces the person handing over was told the ticket has, when only
    a part of them goes; 0 means "all of them". Raises ``Refused`` when nothing is scanned, the
    collector or the proof is missing, pieces stay behind without that being said, or money is
    owed without a reason.
    """
    collector, owed_reason = " ".join(collector.split()), " ".join(owed_reason.split())
    with atomic_write():
        opened = Pickup.objects.select_related("ticket").filter(pk=pickup_id).first()
        if opened is None:
            raise Refused(
                "no_pickup",
                _("This pickup no longer exists."),
                _("Open the ticket and scan its pieces again."),
            )
        ticket = tracking.lock_ticket(opened.ticket.number)
        pickup = Pickup.objects.get(pk=pickup_id)
        if pickup.done_at is not None:
            return pickup
        now = counted_out(ticket)
        _check_person(collector, proof)
        _check_count(now, part_of)
        owed = _check_money(ticket, owed_reason)
        for piece in now.scanned:
            once = replace(act, client_key=f"pickup-{pickup.pk}").for_piece(piece.code)
            tracking.hand_over(piece.code, ticket.number, once)
        pickup.scanned.exclude(piece__in=now.scanned).delete()
        pickup.collector, pickup.proof = collector[:120], proof
        pickup.part = bool(now.staying)
        pickup.owed_reason = owed_reason[:200] if owed else ""
        pickup.done_at, pickup.done_by = act.at, act.by
        pickup.save()
    return pickup


def hand_over_once(
    ticket_number: int,
    codes: Sequence[str],
    collector: str,
    proof: str,
    act: Act,
    *,
    owed_reason: str = "",
    part_of: int = 0,
) -> tuple[Pickup, bool]:
    """Scan out the pieces with these ten digits and hand them over, all or nothing.

    Gives the pickup, and True where they left together before: then nothing is done. Raises
    ``Refused`` as ``scan`` and ``hand_over`` do, and while other pieces of the ticket lie on the
    counter.
    """
    with atomic_write():
        ticket = find_ticket(ticket_number)
        for earlier in pickups_done(ticket):
            if {row.piece.code for row in earlier.scanned.all()} == set(codes):
                return earlier, True
        for code in codes:
            scan(ticket_number, code, act)
        begun = pickup_begun(ticket)
        if has_others(begun, codes):
            raise Refused(
                "pickup_under_way",
                _("A pickup of ticket %(ticket)s is under way at the counter with other pieces.")
                % {"ticket": ticket_number},
                _("Finish it there, or take its pieces off the counter."),
            )
        done = hand_over(begun.pk, collector, proof, act, owed_reason=owed_reason, part_of=part_of)
    return done, False


def _piece_code(ticket_number: int, text: str) -> str:
    try:
        code = number_of(read_line(text))
    except numbers.NumberError as error:
        raise Refused("bad_code", str(error)) from error
    if isinstance(code, numbers.TicketCode):
        what = wording.claim_slip(code.ticket == ticket_number, code.ticket)
        raise Refused("claim_slip", what, _("Scan the tag on each piece."))
    return code.digits


def _piece(code: str) -> Piece:
    piece = (
        Piece.objects.select_for_update(of=("self",))
        .select_related("ticket", "rack_place")
        .filter(code=code)
        .first()
    )
    if piece is None:
        raise Refused(
            "unknown_piece",
            _("There is no piece %(code)s.") % {"code": numbers.spoken(code)},
            _("Scan the tag again, or type the number under the bars."),
            kind=Kind.NOT_FOUND,
        )
    return piece


def _check_person(collector: str, proof: str) -> None:
    if not collector:
        raise Refused(
            "no_collector",
            _("The name of the person who collects is missing."),
            _("Ask for it and write it down."),
        )
    refuse_card_number(collector, _("Collected by"))
    if proof not in Pickup.Proof.values:
        raise Refused(
            "no_proof",
            _("How the collector was proved is missing."),
            _("Choose one of: %(offered)s.")
            % {"offered": ", ".join(str(label) for label in Pickup.Proof.labels)},
        )


def _check_count(now: CountedOut, part_of: int) -> None:
    if not now.scanned:
        raise Refused(
            "nothing_scanned",
            _("No piece of ticket %(ticket)s is scanned out.") % {"ticket": now.ticket.number},
            _("Scan each piece that leaves, or tap it in the list."),
        )
    if now.staying and part_of != now.open_count:
        raise Refused(
            "pieces_stay",
            ngettext(
                "%(count)d of %(all)d pieces would stay here: %(which)s.",
                "%(count)d of %(all)d pieces would stay here: %(which)s.",
                len(now.staying),
            )
            % {
                "count": len(now.staying),
                "all": now.open_count,
                "which": ", ".join(piece.spoken for piece in now.staying),
            },
            _("Scan them too, or say that a part is handed over."),
        )


def _check_money(ticket: Ticket, owed_reason: str) -> bool:
    """Whether something stays owed; refuses when it does and nobody says why."""
    refuse_card_number(owed_reason, _("Why the balance stays open"))
    owed = balance(ticket).to_pay
    if owed and not owed_reason:
        raise Refused(
            "unpaid",
            _("%(owed)s is still to pay on ticket %(ticket)s.")
            % {"owed": format_money(owed, Shop.current()), "ticket": ticket.number},
            _("Take the money, or write why it stays owed."),
        )
    return bool(owed)
