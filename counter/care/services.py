"""The doors of the house's rules, which are only ever stricter, and of the owner's overrides."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

import care_rules
from counter.care.house_rules import key_of, must_fit
from counter.care.overrides import Liftable, must_be_owner, seal_of
from counter.care.queries import ever, rules_in_force, same_house_rule
from counter.care.wording import told_at_opening
from counter.models import HouseRule, IntakeDraft, RecordedOverride
from tickets import house_book
from tickets.acting import Act
from tickets.errors import Kind, Refused
from tickets.house_book import read_anew
from tickets.models import Piece
from tickets.writing import atomic_write


def connect() -> None:
    """Hand the rules to the floor below. Called when the project starts."""
    house_book.register(house_book.HouseBook(rules_in_force, ever))


def add_rule(
    name: str,
    about: str,
    reason: str,
    act: Act,
    *,
    limits: str = "",
    level: str = "",
    says: str = "",
    do: str = "",
) -> HouseRule:
    """Add a rule and let it bind from now on. Pieces decided already keep their decision.

    ``about`` and ``limits`` are as in ``care_rules.HouseRule``. The same rule sent twice is kept
    once. Raises ``Refused`` for a rule looser than the tables, for one that says nothing or names
    what the tables don't hold, and for a name that was used before.
    """
    fields = {
        "about": about.strip(),
        "reason": " ".join(reason.split()),
        "limits": limits.strip(),
        "level": level,
        "says": " ".join(says.split()),
        "do": " ".join(do.split()),
    }
    name = " ".join(name.split())
    key = key_of(name)
    if key == "house.":
        raise Refused(
            "no_name",
            _("The short name “%(name)s” has no letter or figure in it.") % {"name": name},
            _("Name the rule in a few words, such as: no wool in dryers."),
            kind=Kind.INVALID,
        )
    must_fit({"name": name, **fields})
    try:
        care_rules.check_house_rule(care_rules.HouseRule(key=key, **fields))
    except care_rules.FactsError as error:
        fault = error.faults[0]
        raise Refused(
            "bad_house_rule",
            _("House rule, %(field)s: “%(value)s” can't be kept.")
            % {"field": fault.field, "value": fault.value},
            f"{fault.cure[:1].upper()}{fault.cure[1:]}.",
        ) from error
    with atomic_write():
        if same := same_house_rule(key, fields):
            return same
        try:
            with transaction.atomic():
                row = HouseRule.objects.create(
                    key=key, name=name, added_by=act.by, added_at=act.at, **fields
                )
        except IntegrityError as error:
            raise Refused(
                "name_used",
                _("A house rule named “%(name)s” is or was there already.") % {"name": name},
                _("Choose another name: old decisions still point at that one."),
            ) from error
    read_anew()
    return row


def retire(pk: int, reason: str, act: Act) -> HouseRule:
    """Let a rule bind no more. It stays in the records. A retired one is left as it is.

    Raises ``Refused`` for an unknown rule and for a missing reason.
    """
    reason = " ".join(reason.split())[:300]
    with atomic_write():
        row = HouseRule.objects.select_for_update(of=("self",)).filter(pk=pk).first()
        if row is None:
            raise Refused(
                "unknown_house_rule",
                _("There is no house rule number %(number)d.") % {"number": pk},
                _("Load the page again."),
                kind=Kind.NOT_FOUND,
            )
        if not row.in_force:
            return row
        if not reason:
            raise Refused(
                "no_reason",
                _("Retiring “%(name)s” needs a reason.") % {"name": row.name},
                _("Say why the house keeps it no more."),
                kind=Kind.INVALID,
            )
        row.retired_by, row.retired_at, row.retired_reason = act.by, act.at, reason
        row.save(update_fields=["retired_by", "retired_at", "retired_reason"])
    return row


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
            reason=told_at_opening(),
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
