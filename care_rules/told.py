"""The facts of a piece, spelled as the conditions of the tables spell them."""

from __future__ import annotations

from functools import lru_cache

from care_rules.fibre_words import fibres_meant
from care_rules.tables import Book
from care_rules.vocabulary import Facts, Label


@lru_cache(maxsize=1024)
def _label(label: Label, tables: Book) -> frozenset[str]:
    """The facts of a label, kept for the next piece with such a one."""
    facts_told = {f"state:{label.state}", f"edition:{label.edition}", f"market:{label.market}"}
    for key in label.symbols:
        facts_told.add(f"symbol:{key}")
        facts_told.add(f"group:{tables['symbols'][key].cells['group']}")
    for term in label.terms:
        for row in tables.terms[term]:
            facts_told.add(f"term:{row.bare}")
            for key in row.listed("symbols"):
                facts_told.add(f"group:{tables['symbols'][key].cells['group']}")
    return frozenset(facts_told)


def told(facts: Facts, tables: Book) -> set[str]:
    """Each fact as ``field:value``."""
    label = facts.label
    facts_told = {
        f"kind:{facts.kind}",
        f"construction:{facts.construction}",
        f"colour:{facts.colour}",
        f"wearer:{facts.wearer}",
        *_label(label, tables),
    }
    for component in facts.components:
        facts_told.add(f"part:{component.part}")
        if len({share.fibre for share in component.fibres}) > 1:
            facts_told.add("blend:yes")
        for share in component.fibres:
            meant = fibres_meant(share.written, tables, label.market) if share.written else ()
            for key in meant or (share.fibre,):
                facts_told.add(f"fibre:{key}")
                facts_told.add(f"family:{tables['fibres'][key].cells['family']}")
    for name, keys in (
        ("trim", facts.trims),
        ("stain", facts.stains),
        ("damage", facts.damage),
        ("service", facts.services),
        ("work", facts.work),
        ("hazard", facts.hazards),
    ):
        for key in keys:
            facts_told.add(f"{name}:{key}")
    if facts.work or "mend" in facts.services or "alter" in facts.services:
        facts_told.add("sewing:yes")
    if any(tables["work"][key].flag("cuts") for key in facts.work):
        facts_told.add("cuts:yes")
    return facts_told
