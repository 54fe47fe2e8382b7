"""The owner's word that a maker's finish is known: usual limits rise to the label, for one piece.

A draft piece keeps it as ``overrides`` (rule key -> seal). The seal is a digest of what the owner
looked at; when the cloth or the label is changed later, the override falls away by itself.
"""

from __future__ import annotations

import hashlib
import json
import uuid
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

import care_rules
from care_rules import JsonMapping
from counter.models import IntakeDraft, RecordedOverride, Shop
from counter.roles import OWNER, roles_of
from tickets.acting import Act
from tickets.errors import Kind, Refused
from tickets.models import Ticket
from tickets.writing import atomic_write

_SEALED = ("kind", "construction", "colour", "components", "label", "trims")


@dataclass(frozen=True)
class Liftable:
    """A rule with usual limits that hold the piece below its label; ``paths`` are the limits."""

    rule: care_rules.Rule
    paths: tuple[str, ...]
    lifted: bool


def seal_of(facts: JsonMapping) -> str:
    """A digest of the cloth and the label as they are now."""
    seen = {name: facts.get(name) for name in _SEALED}
    return hashlib.sha256(json.dumps(seen, sort_keys=True).encode()).hexdigest()


def in_force(piece: JsonMapping) -> list[str]:
    """The rules recorded as lifted for a draft piece, as long as its facts are those seen then."""
    seal = seal_of(piece["facts"])
    return sorted(key for key, seen in piece.get("overrides", {}).items() if seen == seal)


def fallen_away(piece: JsonMapping) -> list[str]:
    """The rules that were lifted for other facts than the piece has now."""
    return sorted(set(piece.get("overrides", {})) - set(in_force(piece)))


def choices(piece: JsonMapping, shop: Shop) -> list[Liftable]:
    """What the owner may lift on a draft piece; nothing while its facts can't be read."""
    facts = {name: value for name, value in piece["facts"].items() if value not in ("", None)}
    try:
        known = care_rules.parse_facts({**facts, "shop": shop.abilities})
    except care_rules.FactsError:
        return []
    lifted = in_force(piece)
    return [
        Liftable(care_rules.rule(key), paths, key in lifted)
        for key, paths in care_rules.liftable(known).items()
    ]


def records(draft: IntakeDraft, piece: JsonMapping) -> list[RecordedOverride]:
    """What was recorded for a draft piece, oldest first. No query where nothing was."""
    if "overrides" not in piece:
        return []
    rows = RecordedOverride.objects.filter(draft=draft, piece_mark=piece["id"])
    return list(rows.select_related("by"))


def record(
    key: uuid.UUID, piece_id: str, wanted: Collection[str], reason: str, act: Act
) -> IntakeDraft:
    """Record which rules are lifted on a draft piece: ``wanted`` and no others.

    Each change is one row of the record with the owner's name and reason; what stands so already
    is left alone. Raises ``Refused`` for anyone but the owner, for a change without a reason, and
    for a rule that does not hold this piece below its label.
    """
    from counter.intake import drafts

    if OWNER not in roles_of(act.by):
        raise Refused(
            "not_owner",
            _("Only the owner records that a maker's finish is known."),
            _("Ask the owner to sign in here."),
        )
    reason = " ".join(reason.split())[:300]
    with atomic_write():
        draft = IntakeDraft.objects.select_for_update(of=("self",)).filter(pk=key).first()
        piece = drafts.find_piece(draft, piece_id) if draft else None
        if draft is None or piece is None:
            raise Refused(
                "piece_gone",
                _("This piece was taken off in another window."),
                _("Go back to the list of pieces."),
            )
        offered = {each.rule.key: each for each in choices(piece, Shop.current())}
        for asked in sorted(wanted):
            if asked not in offered:
                raise Refused(
                    "not_liftable",
                    _("%(rule)s does not hold this piece below its label.") % {"rule": asked},
                    _("Choose from the list on the piece's page."),
                )
        before = {each for each, choice in offered.items() if choice.lifted}
        changed = before ^ set(wanted)
        if not changed:
            return draft
        if not reason:
            raise Refused(
                "no_reason",
                _("Lifting a limit, or taking that back, needs a reason."),
                _("Write how the maker's finish is known."),
                kind=Kind.INVALID,
            )
        seal = seal_of(piece["facts"])
        RecordedOverride.objects.bulk_create(
            RecordedOverride(
                draft=draft,
                piece_mark=piece_id,
                rule=each,
                says=offered[each].rule.says[:300],
                seal=seal,
                lifted=each in wanted,
                reason=reason,
                by=act.by,
                at=act.at,
            )
            for each in sorted(changed)
        )
        return drafts.save_piece(key, piece_id, {"overrides": dict.fromkeys(wanted, seal)})


def unrecorded(
    facts: Sequence[JsonMapping], recorded: Sequence[Collection[str]], act: Act
) -> list[list[str]]:
    """For each piece, the overrides in its facts that nobody recorded yet.

    Raises ``Refused`` where there are any and it isn't the owner who opens the ticket.
    """
    found = []
    for number, told in enumerate(facts):
        known = recorded[number] if number < len(recorded) else ()
        new = [key for key in told.get("overrides", ()) if key not in known]
        if new and OWNER not in roles_of(act.by):
            raise Refused(
                "not_recorded",
                _("Piece %(position)d: nobody recorded that %(rule)s is lifted.")
                % {"position": number + 1, "rule": new[0]},
                _("The owner records it on the piece's page, with a reason."),
            )
        found.append(new)
    return found


def record_at_opening(ticket: Ticket, new: Sequence[Sequence[str]], act: Act) -> None:
    """Record what the owner lifted by opening the ticket himself or herself."""
    if not any(new):
        return
    pieces = {piece.position: piece for piece in ticket.pieces.all()}
    RecordedOverride.objects.bulk_create(
        RecordedOverride(
            piece=pieces[position],
            rule=key,
            says=care_rules.rule(key).says[:300],
            seal=seal_of(pieces[position].facts),
            reason=_("told by the owner when the ticket was opened"),
            by=act.by,
            at=act.at,
        )
        for position, keys in enumerate(new, 1)
        for key in keys
    )


def keep_with_pieces(draft: IntakeDraft, ticket: Ticket) -> None:
    """Tie the records of a draft to the pieces that came of it. No query where there are none."""
    marks = {
        piece["id"]: position
        for position, piece in enumerate(draft.pieces, 1)
        if "overrides" in piece
    }
    if not marks:
        return
    pieces = {piece.position: piece for piece in ticket.pieces.all()}
    for mark, position in marks.items():
        rows = RecordedOverride.objects.filter(draft=draft, piece_mark=mark)
        rows.update(piece=pieces[position])
