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
from counter.roles import OWNER, roles_of
from tickets.acting import Act
from tickets.errors import Refused

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


def overrides_in_force(facts: JsonMapping, *, recorded: Mapping[str, str]) -> list[str]:
    """The rules recorded as lifted (rule -> seal), as long as the facts are those seen then."""
    if not recorded:
        return []
    seal = seal_of(facts)
    return sorted(rule for rule, seen in recorded.items() if seen == seal)


def fallen_away(facts: JsonMapping, recorded: Mapping[str, str]) -> list[str]:
    """The rules that were lifted for other facts than the piece has now."""
    return sorted(set(recorded) - set(overrides_in_force(facts, recorded=recorded)))


def choices(
    facts: JsonMapping, recorded: Mapping[str, str], abilities: JsonMapping
) -> list[Liftable]:
    """What the owner may lift on a draft piece; nothing while its facts can't be read."""
    told_facts = {name: value for name, value in facts.items() if value not in ("", None)}
    try:
        known = care_rules.parse_facts({**told_facts, "shop": dict(abilities)})
    except care_rules.FactsError:
        return []
    lifted = overrides_in_force(facts, recorded=recorded)
    return [
        Liftable(care_rules.rule(key), paths, key in lifted)
        for key, paths in care_rules.liftable(known).items()
    ]


def must_be_owner(act: Act) -> None:
    if OWNER not in roles_of(act.by):
        raise Refused(
            "not_owner",
            _("Only the owner records that a maker's finish is known."),
            _("Ask the owner to sign in here."),
        )


def unrecorded(
    facts: Sequence[JsonMapping], recorded: Sequence[Collection[str]], act: Act
) -> list[list[str]]:
    """For each piece, the overrides in its facts that nobody recorded yet.

    Raises ``Refused`` where there are any and it isn't the owner who opens the ticket.
    """
    new_keys = []
    for number, piece_facts in enumerate(facts):
        known = recorded[number] if number < len(recorded) else ()
        new = [key for key in piece_facts.get("overrides", ()) if key not in known]
        if new and OWNER not in roles_of(act.by):
            raise Refused(
                "not_recorded",
                _("Piece %(position)d: nobody recorded that %(rule)s is lifted.")
                % {"position": number + 1, "rule": new[0]},
                _("The owner records it on the piece's page, with a reason."),
            )
        new_keys.append(new)
    return new_keys
