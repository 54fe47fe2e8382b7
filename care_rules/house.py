"""House rules: what one shop adds to the tables. They only ever make things stricter.

A house rule meets the limits as a table row does, always as firmly as a ``physical`` one, so
there is no way in which it could loosen anything. ``check_house_rule`` refuses at the door a rule
that reads as if it allowed more than the tables do.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from care_rules.errors import FactsError, Fault
from care_rules.gather import Gather
from care_rules.limits import AXES, read_limits, severities, value_at
from care_rules.materials import Materials
from care_rules.provenance import Provenance
from care_rules.rows import Row
from care_rules.speech import gettext as _
from care_rules.tables import Book, book
from care_rules.vocabulary import LEVELS, Facts, Rule

EVERY_PIECE = "every piece"
TABLES = ("fibres", "trims", "colours", "constructions", "kinds", "stains")
"""The tables whose rows a house rule may be about."""

_KEY = re.compile(r"house\.[a-z0-9]+(-[a-z0-9]+)*")
_LONGEST_KEY = 60
_PRACTICE = Provenance("practice")


@dataclass(frozen=True, slots=True)
class HouseRule:
    """One rule of the house.

    ``key`` is ``house.`` and a short name; ``about`` is the rule key of a fibre, trim, colour,
    construction, kind or stain, or ``every piece``. ``limits`` is written as in the tables
    (``wash.max_c=30; tumble=none``) without a strength. With a ``level`` the rule also raises a
    caution, under its own key, which ``says`` and ``do`` put into words.
    """

    key: str
    about: str
    reason: str
    limits: str = ""
    level: str = ""
    says: str = ""
    do: str = ""

    @property
    def words(self) -> str:
        return self.says or _("House rule: {reason}", reason=self.reason)

    def rule(self) -> Rule:
        """The rule as a reader sees it, in the shape of a table row."""
        limits = tuple(
            (path, value, "physical")
            for path, _equals, value in (part.partition("=") for part in _parts(self.limits))
        )
        source = _("house rule: {reason}", reason=self.reason)
        return Rule(self.key, "house", self.words, source, "whole", _PRACTICE, "physical", limits)


def check_house_rule(rule: HouseRule) -> None:
    """Refuse a rule that is looser than the tables, says nothing, or names what they don't hold.

    Raises FactsError with every fault found; each names the field, the value and the cure.
    """
    faults = [*_words_faults(rule)]
    tables = book()
    row = _row_about(rule.about, tables)
    if row is None and rule.about != EVERY_PIECE:
        cure = _(
            "use {every!r} or the key of a {tables} row, such as fibre.wool",
            every=EVERY_PIECE,
            tables=", ".join(TABLES),
        )
        faults.append(Fault("about", rule.about, cure))
    for part in _parts(rule.limits):
        if fault := _limit_fault(part, row):
            faults.append(fault)
    if faults:
        raise FactsError(faults)


def _words_faults(rule: HouseRule) -> Iterable[Fault]:
    if not _KEY.fullmatch(rule.key) or len(rule.key) > _LONGEST_KEY:
        cure = _(
            "write house. and small letters, digits and hyphens, up to {most} in all",
            most=_LONGEST_KEY,
        )
        yield Fault("key", rule.key, cure)
    if rule.level not in ("", *LEVELS):
        cure = _("use one of {levels}, or leave it empty", levels=", ".join(LEVELS))
        yield Fault("level", rule.level, cure)
    elif rule.level and not rule.says.strip():
        yield Fault("says", rule.says, _("say the caution in one sentence"))
    if not rule.reason.strip():
        yield Fault("reason", rule.reason, _("say why the house keeps this rule"))
    if not _parts(rule.limits) and not rule.level:
        cure = _("name a limit or a level of caution: it changes nothing")
        yield Fault("limits", rule.limits, cure)


def _limit_fault(part: str, row: Row | None) -> Fault | None:
    if "@" in part:
        return Fault("limits", part, _("leave the strength out: a house rule is always firm"))
    path, equals, value = part.partition("=")
    if not equals:
        return Fault("limits", part, _("write path=value, such as wash.max_c=30"))
    try:
        wanted = severities(path.strip(), value.strip())
    except ValueError as error:
        return Fault("limits", part, str(error))
    held: dict[int, int] = {}
    for axis, severity, _strength in row.pairs if row else ():
        held[axis] = max(severity, held.get(axis, 0))
    for axis, severity in wanted:
        if severity < held.get(axis, 0):
            assert row is not None
            allowed = value_at(AXES[axis], held[axis])
            cure = _(
                "looser than {rule}, which allows {limit}={allowed} at most; "
                "a house rule may only be stricter: write that or less",
                rule=row.key,
                limit=AXES[axis],
                allowed=allowed,
            )
            return Fault("limits", part, cure)
    if not any(severity for _axis, severity in wanted):
        return Fault("limits", part, _("this is wide open and limits nothing: leave it out"))
    return None


def speak(rules: Iterable[HouseRule], facts: Facts, materials: Materials, gather: Gather) -> None:
    """Let every house rule that is about this piece bind and raise its caution."""
    subjects = _told(facts, materials)
    for rule in sorted(rules, key=lambda house_rule: house_rule.key):
        if rule.about not in subjects:
            continue
        row = _compiled(rule)
        gather.house[row.key] = row
        gather.take(row, row.pairs)
        if row.level:
            gather.warn(row.key)


def mark_of(rows: Iterable[Row]) -> str:
    """What a decision adds to the version of its tables: nothing, or a mark of the rules used.

    The mark changes with any change of what those rules limit, and with nothing else.
    """
    texts = sorted(f"{row.key}|{row.cells['limits']}|{row.level}" for row in rows)
    if not texts:
        return ""
    return f"+house-{hashlib.sha256(chr(10).join(texts).encode()).hexdigest()[:8]}"


def _told(facts: Facts, materials: Materials) -> set[str]:
    """The rule keys of what the piece is made of and carries. A trim that is taken off counts."""
    subjects = {EVERY_PIECE, f"kind.{facts.kind}", f"construction.{facts.construction}"}
    subjects |= {row.key for row in materials.fibres}
    subjects |= {f"colour.{facts.colour}"} | {f"stain.{key}" for key in facts.stains}
    return subjects | {f"{table}.{key}" for key in facts.trims for table in ("trim", "colour")}


def _row_about(about: str, tables: Book) -> Row | None:
    row = tables.rules.get(about)
    return row if row is not None and row.table in TABLES else None


@lru_cache(maxsize=1024)
def _compiled(rule: HouseRule) -> Row:
    cells = {"name": rule.key.removeprefix("house."), "limits": rule.limits, "do": rule.do}
    return Row(
        key=rule.key,
        bare=rule.key.removeprefix("house."),
        table="house",
        pairs=read_limits(rule.limits),
        cells=cells,
        provenance=_PRACTICE,
        level=rule.level,
        scope="piece",
        says=rule.words,
    )


def _parts(limits: str) -> list[str]:
    return [part.strip() for part in limits.split(";") if part.strip()]
