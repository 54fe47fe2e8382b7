"""What speaks on a piece on any day: label and material, without what happened to it.

Advice for home is made from this. It is taken from what was gathered for today's piece, so that
nothing is read or judged a second time.
"""

from __future__ import annotations

from care_rules.gather import Gather
from care_rules.materials import Materials
from care_rules.rows import Row
from care_rules.vocabulary import Facts

#: Topics of hazards that say what a piece is, not what happened to it.
_LASTING = ("fr", "hivis", "ppe", "child")
_PASSING = frozenset({"stains", "damage"})


def comes_alone(facts: Facts, gather: Gather) -> bool:
    """Whether nothing but label and material spoke: what was gathered lasts as it is."""
    today = facts.stains or facts.damage or facts.work or gather.house
    sewn = "mend" in facts.services or "alter" in facts.services
    return not (today or sewn) and len(_hazards(facts, gather)) == len(facts.hazards)


def _hazards(facts: Facts, gather: Gather) -> tuple[str, ...]:
    """The hazards told of a piece that belong to the piece itself."""
    hazards = gather.tables["hazards"]
    return tuple(key for key in facts.hazards if hazards[key].cells["topic"] in _LASTING)


def lasting_gather(facts: Facts, materials: Materials, gather: Gather) -> tuple[Gather, bool]:
    """The same gathering as if the piece came whole and without a stain, only to be cleaned.

    The second value says whether a rule refuses it even so.
    """
    tables = gather.tables
    kept = gather.of_label()
    roots = {*_hazards(facts, gather), *tables["kinds"][facts.kind].hazards}
    for key, pairs, row in gather.rules[len(kept.rules) :]:
        conditional = row.table == "hazards" or row.cells.get("when")
        if not conditional and row.table not in _PASSING and key not in gather.house:
            named = gather.special.get(row.only, ())
            kept.take(row, pairs, settled=row.key not in named)
            roots.update(row.hazards)
    known = _known(facts, materials, gather)
    spoken: dict[str, Row] = {}
    for fact in known & tables.whens.keys():
        for when in tables.whens[fact]:
            if when.holds(known):
                if when.row.table == "hazards":
                    roots.add(when.row.bare)
                else:
                    spoken[when.row.key] = when.row
    open_ends = list(roots)
    while open_ends:
        row = tables["hazards"][open_ends.pop()]
        if row.key not in spoken:
            spoken[row.key] = row
            open_ends += row.hazards
    for row in spoken.values():
        kept.take(row, row.pairs)
    return kept, any(row.level == "refuse" and row.scope == "piece" for row in spoken.values())


def _known(facts: Facts, materials: Materials, gather: Gather) -> set[str]:
    """The facts of the conditions without those of today and of what is asked."""
    lasting = _hazards(facts, gather)
    passing = {f"stain:{key}" for key in facts.stains}
    passing |= {f"damage:{key}" for key in facts.damage}
    passing |= {f"hazard:{key}" for key in facts.hazards if key not in lasting}
    passing |= {f"service:{key}" for key in facts.services}
    passing |= {f"work:{key}" for key in facts.work}
    return (materials.known - passing - {"sewing:yes", "cuts:yes"}) | {"service:clean"}
