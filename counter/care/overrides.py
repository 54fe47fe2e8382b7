"""The owner's word that a maker's finish is known: usual limits rise to the label, for one piece.

A draft piece keeps it as ``overrides`` (rule key -> seal). The seal is a digest of what the owner
looked at; when the cloth or the label is changed later, the override falls away by itself.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

import care_rules
from care_rules import JsonMapping
from counter.models import IntakeDraft, RecordedOverride
from counter.roles import OWNER, roles_of
from tickets.acting import Act
from tickets.errors import Kind, Refused
from tickets.models import Piece

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


def overrides_in_force(facts: JsonMapping, recorded: Mapping[str, str]) -> list[str]:
    """The rules recorded as lifted (rule -> seal), as long as the facts are those seen then."""
    if not recorded:
        return []
    seal = seal_of(facts)
    return sorted(rule for rule, seen in recorded.items() if seen == seal)


def fallen_away(facts: JsonMapping, recorded: Mapping[str, str]) -> list[str]:
    """The rules that were lifted for other facts than the piece has now."""
    return sorted(set(recorded) - set(overrides_in_force(facts, recorded)))


def choices(
    facts: JsonMapping, recorded: Mapping[str, str], abilities: JsonMapping
) -> list[Liftable]:
    """What the owner may lift on a draft piece; nothing while its facts can't be read."""
    told = {name: value for name, value in facts.items() if value not in ("", None)}
    try:
        known = care_rules.parse_facts({**told, "shop": dict(abilities)})
    except care_rules.FactsError:
        return []
    lifted = overrides_in_force(facts, recorded)
    return [
        Liftable(care_rules.rule(key), paths, key in lifted)
        for key, paths in care_rules.liftable(known).items()
    ]


def records(draft: IntakeDraft, mark: str) -> list[RecordedOverride]:
    """What was recorded for the draft piece of that mark, oldest first."""
    rows = RecordedOverride.objects.filter(draft=draft, piece_mark=mark)
    return list(rows.select_related("by"))


def must_be_owner(act: Act) -> None:
    if OWNER not in roles_of(act.by):
        raise Refused(
            "not_owner",
            _("Only the owner records that a maker's finish is known."),
            _("Ask the owner to sign in here."),
        )


def record(
    draft: IntakeDraft,
    mark: str,
    offered: Sequence[Liftable],
    seal: str,
    wanted: Collection[str],
    reason: str,
    act: Act,
) -> bool:
    """Record which of the ``offered`` rules are lifted on a draft piece, ``wanted`` and no others:
    one row for each change, with the owner's name and reason. Inside a transaction.

    False where all stands so already. Raises ``Refused`` for anyone but the owner, for a change
    without a reason, and for a rule that does not hold this piece below its label.
    """
    must_be_owner(act)
    reason = " ".join(reason.split())[:300]
    rules = {choice.rule.key: choice.rule for choice in offered}
    for asked in sorted(wanted):
        if asked not in rules:
            raise Refused(
                "not_liftable",
                _("%(rule)s does not hold this piece below its label.") % {"rule": asked},
                _("Choose from the list on the piece's page."),
            )
    changed = {choice.rule.key for choice in offered if choice.lifted} ^ set(wanted)
    if not changed:
        return False
    if not reason:
        raise Refused(
            "no_reason",
            _("Lifting a limit, or taking that back, needs a reason."),
            _("Write how the maker's finish is known."),
            kind=Kind.INVALID,
        )
    RecordedOverride.objects.bulk_create(
        RecordedOverride(
            draft=draft,
            piece_mark=mark,
            rule=rule,
            says=rules[rule].says[:300],
            seal=seal,
            lifted=rule in wanted,
            reason=reason,
            by=act.by,
            at=act.at,
        )
        for rule in sorted(changed)
    )
    return True


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


def record_at_opening(pieces: Sequence[Piece], new: Sequence[Sequence[str]], act: Act) -> None:
    """Record what the owner lifted by opening the ticket himself or herself, for each piece."""
    if not any(new):
        return
    RecordedOverride.objects.bulk_create(
        RecordedOverride(
            piece=piece,
            rule=key,
            says=care_rules.rule(key).says[:300],
            seal=seal_of(piece.facts),
            reason=_("told by the owner when the ticket was opened"),
            by=act.by,
            at=act.at,
        )
        for piece, keys in zip(pieces, new, strict=True)
        for key in keys
    )


def keep_with_pieces(draft: IntakeDraft, pieces: Mapping[str, Piece]) -> None:
    """Tie the records of a draft to the pieces that came of it, by their marks. No query where
    there are none."""
    for mark, piece in pieces.items():
        RecordedOverride.objects.filter(draft=draft, piece_mark=mark).update(piece=piece)
